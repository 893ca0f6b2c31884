// Package fault is the one form in which a mistake in the user's files, settings or command line is reported, and
// the one table that turns kinds of mistakes into exit codes and HTTP statuses.
//
// A fault is one line: where, what, and what to do instead. Where a file is to blame it also carries the source line,
// for a caret below the place.
package fault

import (
	"errors"
	"fmt"
	"strings"
	"unicode"
	"unicode/utf8"
)

// Kind sorts faults by what the caller can do about them.
type Kind int

const (
	// File is a file whose content is wrong.
	File Kind = iota + 1
	// Missing is a file or folder that cannot be read.
	Missing
	// Setting is a control or a position that the box does not have.
	Setting
	// Request is a question that makes no sense for this box and setup, such as a frequency outside a measured file.
	Request
	// Unsolvable is a circuit without a unique solution.
	Unsolvable
	// Usage is a wrong command line or a malformed request.
	Usage
	// TooLarge is a request of more bytes than it may have.
	TooLarge
	// Output is a result that could not be written.
	Output
	// Stopped is work that the user ended.
	Stopped
)

// answers is the table of exit codes and HTTP statuses (RFC 9110: 400 bad request, 404 not found, 413 content too
// large, 422 unprocessable content, 500 internal error, 503 service unavailable; as numbers, so that the command need not carry a server).
var answers = map[Kind]struct{ exit, status int }{
	File:       {1, 422},
	Missing:    {1, 404},
	Setting:    {1, 422},
	Request:    {1, 422},
	Unsolvable: {1, 422},
	Usage:      {2, 400},
	TooLarge:   {1, 413},
	Output:     {1, 500},
	Stopped:    {1, 503},
}

// answer is the row for an error; one that is no fault of a known kind is a mistake in the program.
func answer(err error) (exit, status int) {
	if f, ok := errors.AsType[*Error](err); ok {
		if a, ok := answers[f.Kind]; ok {
			return a.exit, a.status
		}
	}
	return 1, 500
}

// ExitCode is the exit status of the command for an error: 0 for nil, 1 where the work failed, 2 for a wrong command line.
func ExitCode(err error) int {
	if err == nil {
		return 0
	}
	exit, _ := answer(err)
	return exit
}

// Status is the HTTP status for an error that is not nil.
func Status(err error) int {
	_, status := answer(err)
	return status
}

// Place is a place in a file. Line and Column count from 1, Column in characters; Line 0 means the file as a whole.
// Source is the text of the line, for the caret.
type Place struct {
	File         string
	Line, Column int
	Length       int // of the text at fault, in characters; 0 for a single caret
	Source       string
}

// Error is one mistake.
type Error struct {
	Kind    Kind
	Place   Place  // the zero value where no file is to blame
	What    string // a fact, in lower case, without a full stop
	Instead string // what to write or do instead; may be empty
	Cause   error  // may be nil
}

// New reports a mistake that stands in no file.
func New(kind Kind, what, instead string) *Error {
	return &Error{Kind: kind, What: what, Instead: instead}
}

// At reports a mistake at a place in a file.
func At(place Place, what, instead string) *Error {
	return &Error{Kind: File, Place: place, What: what, Instead: instead}
}

// Error is the fault in one line.
func (e *Error) Error() string {
	var b strings.Builder
	if e.Place.File != "" {
		b.WriteString(e.Place.File)
		if e.Place.Line > 0 {
			fmt.Fprintf(&b, ":%d:%d", e.Place.Line, e.Place.Column)
		}
		b.WriteString(": ")
	}
	b.WriteString(e.What)
	if e.Instead != "" {
		b.WriteString("; ")
		b.WriteString(e.Instead)
	}
	return oneLine(b.String())
}

// Unwrap gives the cause.
func (e *Error) Unwrap() error { return e.Cause }

// widest is the number of characters of a source line that an excerpt shows.
const widest = 120

// Excerpt is the source line with a caret under the place, in two lines, or empty where no line is to blame.
// Of a very long line it shows the part round the place.
func (e *Error) Excerpt() string {
	if e.Place.Line == 0 || e.Place.Source == "" {
		return ""
	}
	runes := []rune(e.Place.Source)
	at := max(0, min(e.Place.Column-1, len(runes)))
	from := 0
	if len(runes) > widest && at > widest/2 {
		from = min(at-widest/2, len(runes)-widest)
	}
	to := min(len(runes), from+widest)
	var pad strings.Builder
	for _, r := range runes[from:at] {
		if r == '\t' {
			pad.WriteRune('\t')
		} else {
			pad.WriteRune(' ')
		}
	}
	carets := max(1, min(e.Place.Length, to-at))
	return "    " + printable(string(runes[from:to])) + "\n    " + pad.String() + strings.Repeat("^", carets)
}

// oneLine keeps a message on one line whatever text it quotes.
func oneLine(s string) string {
	return printable(strings.NewReplacer("\n", " ", "\r", " ", "\t", " ").Replace(s))
}

// printable keeps what would drive a terminal, or reorder the text on it, out of the output.
func printable(s string) string {
	return strings.Map(func(r rune) rune {
		if unicode.IsGraphic(r) || r == '\t' {
			return r
		}
		return utf8.RuneError
	}, s)
}
