package quantity

import (
	"strings"
	"unicode"
)

// Letter codes of IEC 60062:2016 (formerly BS 1852): a letter stands for the decimal point and gives the multiplier.
// A tolerance letter may follow. K and M are multipliers and tolerance letters both: the first letter is the multiplier.
// The same letter twice (4K7K) is refused, since a slip of the pen is as likely as a tolerance.

// codeMultipliers holds the letters of a unit and their powers of ten.
//
// Farad: IEC 60062. Ohm: the same, with small k and m as commonly written. Henry: common practice, no standard; there R
// marks the decimal point in microhenry, as printed on moulded chokes.
var codeMultipliers = map[Unit]map[string]int{
	Ohm:   {"L": -3, "m": -3, "R": 0, "K": 3, "k": 3, "M": 6, "G": 9},
	Farad: {"p": -12, "n": -9, "u": -6, "\u00b5": -6, "\u03bc": -6, "m": -3, "F": 0},
	Henry: {"R": -6, "p": -12, "n": -9, "u": -6, "\u00b5": -6, "\u03bc": -6, "m": -3},
}

// codeTolerances are the symmetrical tolerances of IEC 60062.
var codeTolerances = map[string]float64{"F": 0.01, "G": 0.02, "J": 0.05, "K": 0.10, "M": 0.20}

// codeShape is digits, the multiplier, digits, and perhaps a tolerance letter.
var codeShape = pattern(`^([0-9]*)(\pL)([0-9]*)(\pL?)$`)

// code is a letter code taken apart.
type code struct {
	number     number
	exponent   int
	multiplier string
	trailing   string // the tolerance letter; empty where there is none
}

// splitCode takes a text apart as a letter code of the unit, whatever its trailing letter.
func splitCode(text string, u Unit) (c code, ok bool) {
	m := codeShape().FindStringSubmatch(text)
	if m == nil || m[1]+m[3] == "" {
		return code{}, false
	}
	exponent, known := codeMultipliers[u][m[2]]
	if !known {
		return code{}, false
	}
	if m[3] == "" && m[4] != "" && belongsToAnother(m[2]+m[4], u) {
		return code{}, false // "10mF" where ohm belongs is a capacitance, not a resistor of 1 %
	}
	digits := m[1] + "." + m[3]
	n, _ := scanNumber(digits)
	return code{n, exponent, m[2], m[4]}, true
}

// tolerance gives the relative tolerance that the trailing letter stands for, 0 where there is none. why names the
// reason where the letter cannot be taken.
func (c code) tolerance(u Unit) (relative float64, why string) {
	if c.trailing == "" {
		return 0, ""
	}
	relative, known := codeTolerances[c.trailing]
	value, _ := c.number.times(c.exponent)
	switch {
	case value == 0:
		return 0, noToleranceOfZero
	case strings.EqualFold(c.trailing, c.multiplier):
		return 0, "the letter " + c.trailing + " stands twice, as multiplier and as tolerance"
	case !known:
		return 0, c.trailing + " is no tolerance letter (F 1 %, G 2 %, J 5 %, K 10 %, M 20 %)"
	case u == Farad && c.trailing == "F":
		return 0, "F after the code may be the farad or 1 %"
	case u == Farad && c.trailing == "G" && value < 10e-12:
		// Below 10 pF the letters B to G mean picofarads, not percent (IEC 60062, from memory).
		return 0, "below 10 pF the letter G may mean 2 pF or 2 %"
	}
	return relative, ""
}

// readCode reads a letter code with its tolerance.
func readCode(text string, u Unit) (s single, ok bool) {
	if before, found := cutUnitWord(text, u); found {
		text = before
	}
	c, ok := splitCode(text, u)
	if !ok {
		return single{}, false
	}
	relative, why := c.tolerance(u)
	if why != "" {
		return single{}, false
	}
	v, ok := c.number.times(c.exponent)
	return single{value: v, tolerance: relative}, ok
}

// cutUnitWord drops the unit that some write after a code: "4k7 ohm", "4k7Ω". A farad or henry must stand apart, since
// the symbol alone could be a letter of the code.
func cutUnitWord(text string, u Unit) (before string, found bool) {
	for _, symbol := range units[u].spellings {
		if before, found = strings.CutSuffix(text, symbol); found {
			trimmed := strings.TrimRightFunc(before, unicode.IsSpace)
			return trimmed, u == Ohm || trimmed != before
		}
	}
	return text, false
}
