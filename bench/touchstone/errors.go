package touchstone

import (
	"fmt"
	"strconv"
	"strings"
)

// Error is a fault in a file. Line and Column count from 1, the column in characters; both are 0 where the fault lies
// with the file as a whole (its name, its size).
type Error struct {
	File          string
	Line, Column  int
	What, Instead string // what is wrong, and what to write instead
	SourceLine    string // the line at fault, for showing; control characters replaced one for one
}

// Error gives one line: "file:line:column: what is wrong; what to write instead".
func (e *Error) Error() string {
	var b strings.Builder
	b.WriteString(e.File)
	if e.Line > 0 {
		fmt.Fprintf(&b, ":%d:%d", e.Line, e.Column)
	}
	if b.Len() > 0 {
		b.WriteString(": ")
	}
	return b.String() + e.What + "; " + e.Instead
}

// RangeError says that data were asked for outside the frequencies that a file covers. All are in hertz.
type RangeError struct {
	File             string
	Asked, Low, High float64
}

func (e *RangeError) Error() string {
	covers := "covers " + inHertz(e.Low) + " to " + inHertz(e.High)
	if e.Low == e.High {
		covers = "has data at " + inHertz(e.Low) + " only"
	}
	name := e.File
	if name == "" {
		name = "measured data"
	}
	return name + ": " + inHertz(e.Asked) + " is asked for, but the file " + covers + "; stay inside it or measure further"
}

// inHertz prints a frequency with a prefix and all its digits.
func inHertz(f float64) string {
	for _, p := range []struct {
		factor float64
		unit   string
	}{{1e9, " GHz"}, {1e6, " MHz"}, {1e3, " kHz"}} {
		if f >= p.factor {
			return strconv.FormatFloat(f/p.factor, 'g', -1, 64) + p.unit
		}
	}
	return strconv.FormatFloat(f, 'g', -1, 64) + " Hz"
}
