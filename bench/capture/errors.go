package capture

import (
	"errors"
	"strconv"
	"unicode/utf8"

	"knobwise/bench/fault"
)

// at is a mistake in a line: length bytes from the byte offset from.
func at(name string, number int, line []byte, from, length int, what, instead string) *fault.Error {
	return fault.At(fault.Place{
		File: name, Line: number, Column: utf8.RuneCount(line[:from]) + 1,
		Length: utf8.RuneCount(line[from : from+length]), Source: text(line),
	}, what, instead)
}

// wholeFile is a mistake of the file as a whole.
func wholeFile(name, what, instead string) *fault.Error {
	return fault.At(fault.Place{File: name}, what, instead)
}

// ErrOption is the cause of every mistake in Options, or in what they ask of a file.
var ErrOption = errors.New("an option that does not suit")

// wrongOption is a mistake in Options.
func wrongOption(what, instead string) *fault.Error {
	f := fault.New(fault.Request, what, instead)
	f.Cause = ErrOption
	return f
}

// unreadable is a reader that fails.
func unreadable(name string, cause error) *fault.Error {
	e := fault.New(fault.Missing, "the file cannot be read: "+cause.Error(), "give a file that can be read to its end")
	e.Place.File = name
	e.Cause = cause
	return e
}

// text gives bytes as UTF-8; what is not UTF-8 is taken as ISO 8859-1, which old instruments write.
func text(b []byte) string {
	if utf8.Valid(b) {
		return string(b)
	}
	runes := make([]rune, len(b))
	for i, c := range b {
		runes[i] = rune(c)
	}
	return string(runes)
}

// quoted quotes a piece of the file, shortened where it is long.
func quoted(b []byte) string {
	s := text(b)
	if r := []rune(s); len(r) > 40 {
		s = string(r[:40]) + "…"
	}
	return strconv.Quote(s)
}
