package touchstone

import (
	"bytes"
	"fmt"
	"strings"
	"unicode"
	"unicode/utf8"
)

const (
	maxFile = 64 << 20 // bytes; 64 MiB hold some 300 000 two-port rows at full precision
	maxLine = 16 << 10 // bytes; a two-port row at full precision has about 230
)

// word is a run of characters without blanks. at is its byte offset in the line.
type word struct {
	text string
	at   int
}

// line is one line of the file without its comment and line end.
type line struct {
	number  int    // from 1
	source  string // with its comment
	keyword string // of [Keyword Like This]: lower case, single blanks; empty where there is none
	words   []word // behind the keyword, if there is one
	at      int    // byte offset of the first character that is no blank
	after   int    // byte offset behind the keyword
}

// end is the byte offset behind the last word, or behind the keyword where there is none.
func (l *line) end() int {
	if len(l.words) == 0 {
		return max(l.at, l.after)
	}
	last := l.words[len(l.words)-1]
	return last.at + len(last.text)
}

// scanner cuts a file into lines. LF, CR LF and a lone CR end a line.
type scanner struct {
	file     string
	rest     []byte
	number   int
	comments []string
}

func newScanner(file string, content []byte) (*scanner, error) {
	utf16 := bytes.HasPrefix(content, []byte{0xFF, 0xFE}) || bytes.HasPrefix(content, []byte{0xFE, 0xFF})
	if utf16 {
		return nil, &Error{File: file, Line: 1, Column: 1, What: "the text is UTF-16", Instead: "save it as plain text (ASCII or UTF-8)"}
	}
	content = bytes.TrimPrefix(content, []byte("\xEF\xBB\xBF"))
	content = bytes.TrimRight(content, "\x1A") // the end-of-file mark of CP/M and DOS
	return &scanner{file: file, rest: content}, nil
}

// next returns the next line that holds more than blanks and a comment, or nil at the end of the file.
func (s *scanner) next() (*line, error) {
	for len(s.rest) > 0 {
		s.number++
		raw := s.cut()
		if len(raw) == 0 {
			continue
		}
		l := &line{number: s.number}
		if len(raw) > maxLine {
			l.source = string(raw[:80])
			return nil, s.fail(l, 0, fmt.Sprintf("the line has %d characters, more than the %d allowed", len(raw), maxLine),
				"give a text file with one frequency on each line")
		}
		l.source = string(raw)
		if err := s.split(l); err != nil {
			return nil, err
		}
		if l.keyword != "" || len(l.words) > 0 {
			return l, nil
		}
	}
	return nil, nil
}

// cut takes one line, without its end, from the rest.
func (s *scanner) cut() []byte {
	for i, c := range s.rest {
		if c != '\n' && c != '\r' {
			continue
		}
		raw, rest := s.rest[:i], s.rest[i+1:]
		if c == '\r' && len(rest) > 0 && rest[0] == '\n' {
			rest = rest[1:]
		}
		s.rest = rest
		return raw
	}
	raw := s.rest
	s.rest = nil
	return raw
}

// split takes the comment off and finds keyword and words.
func (s *scanner) split(l *line) error {
	text, comment, hasComment := strings.Cut(l.source, "!")
	if i := strings.IndexByte(comment, 0); i >= 0 {
		return s.binary(l, len(text)+1+i)
	}
	for i := range len(text) {
		if text[i] < ' ' && text[i] != '\t' && text[i] != '\f' || text[i] == 0x7F {
			return s.binary(l, i)
		}
	}
	if hasComment {
		s.comments = append(s.comments, strings.TrimPrefix(readable(comment), " "))
	}
	l.at = len(text) - len(strings.TrimLeftFunc(text, unicode.IsSpace))
	from := l.at
	if strings.HasPrefix(text[from:], "[") {
		n := strings.IndexByte(text[from:], ']')
		if n < 0 {
			return s.fail(l, from, "the keyword has no closing bracket", "write it as in [Network Data]")
		}
		l.keyword = strings.ToLower(strings.Join(strings.Fields(text[from+1:from+n]), " "))
		if l.keyword == "" {
			return s.fail(l, from, "the brackets hold no keyword", "write one as in [Network Data]")
		}
		from += n + 1
		l.after = from
	}
	for {
		skipped := len(text[from:]) - len(strings.TrimLeftFunc(text[from:], unicode.IsSpace))
		from += skipped
		if from == len(text) {
			return nil
		}
		n := strings.IndexFunc(text[from:], unicode.IsSpace)
		if n < 0 {
			n = len(text) - from
		}
		l.words = append(l.words, word{text[from : from+n], from})
		from += n
	}
}

// readable returns a comment as UTF-8; bytes that are none are taken as ISO 8859-1, which old instruments write.
func readable(comment string) string {
	if utf8.ValidString(comment) {
		return comment
	}
	runes := make([]rune, len(comment))
	for i := range len(comment) {
		runes[i] = rune(comment[i])
	}
	return string(runes)
}

func (s *scanner) binary(l *line, at int) error {
	return s.fail(l, at, fmt.Sprintf("byte 0x%02X is no text", l.source[at]), "give a text file, not a binary one")
}

// fail makes the error for the character at a byte offset of a line.
func (s *scanner) fail(l *line, at int, what, instead string) *Error {
	shown := strings.Map(func(r rune) rune {
		if r != '\t' && unicode.IsControl(r) {
			return unicode.ReplacementChar
		}
		return r
	}, l.source)
	return &Error{
		File: s.file, Line: l.number, Column: utf8.RuneCountInString(l.source[:at]) + 1,
		What: what, Instead: instead, SourceLine: shown,
	}
}
