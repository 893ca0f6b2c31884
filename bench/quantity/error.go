package quantity

import (
	"strconv"
	"strings"
	"unicode"
	"unicode/utf8"
)

// Error says what is wrong with a text and what to write instead. It is the only error type of this package.
type Error struct {
	What    string // the fact, such as "a value needs its unit"
	Instead string // the remedy, such as "write 330 pF"
	Text    string // the text that was read, untouched
	Offset  int    // where in Text the trouble begins, in bytes
	Length  int    // how many bytes it covers; 0 where something is missing at Offset
	Unit    Unit   // the unit that the field wanted
}

// Error gives fact and remedy on one line.
func (e *Error) Error() string { return e.What + "; " + e.Instead }

// shownRunes bounds how much of the user's text a message repeats.
const shownRunes = 40

// show repeats a piece of the user's text in a message: short, and on one line whatever it holds.
func show(s string) string {
	if utf8.RuneCountInString(s) > shownRunes {
		s = string([]rune(s)[:shownRunes]) + "…"
	}
	odd := func(r rune) bool { return !unicode.IsPrint(r) && !unicode.Is(unicode.Zs, r) }
	if s == "" || strings.ContainsFunc(s, odd) {
		return strconv.QuoteToASCII(s)
	}
	return s
}
