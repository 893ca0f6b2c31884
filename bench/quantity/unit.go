package quantity

import (
	"slices"
	"strings"
	"unicode/utf8"
)

// Unit is the unit that a field is measured in. The zero value is One.
type Unit uint8

// The units of the project's files. percent is no unit of a physical value: only dials and scales are read in it.
const (
	One Unit = iota // dimensionless: Q, turns ratios, factors
	Ohm
	Farad
	Henry
	Hertz
	Metre
	Second
	Volt
	Watt
	Decibel
	percent
)

// unitFacts is what reading and printing must know of a unit.
type unitFacts struct {
	name      string
	quantity  string   // what is measured, with its article, for messages
	example   string   // a value as one would write it, for messages
	spellings []string // accepted symbols; the first one is printed
	written   string   // prefixes accepted before the symbol
	dropped   string   // prefixes that may stand alone, the symbol being understood: those in everyday use
}

var units = [...]unitFacts{
	One:     {"plain number", "a plain number", "180", []string{""}, "", ""},
	Ohm:     {"ohm", "a resistance", "50 ohm", []string{"ohm", "\u03a9", "\u2126", "Ohm", "ohms", "Ohms"}, "fpnumkMG", "umkMG"},
	Farad:   {"farad", "a capacitance", "330 pF", []string{"F"}, "fpnumk", "fpnum"},
	Henry:   {"henry", "an inductance", "22 uH", []string{"H"}, "fpnumk", "pnum"},
	Hertz:   {"hertz", "a frequency", "3 MHz", []string{"Hz"}, "kMG", "kMG"},
	Metre:   {"metre", "a length", "32 mm", []string{"m"}, "fpnumck", "uk"},
	Second:  {"second", "a time", "100 ms", []string{"s"}, "fpnumk", "pnum"},
	Volt:    {"volt", "a voltage", "1 V", []string{"V"}, "fpnumk", "num"},
	Watt:    {"watt", "a power", "1 mW", []string{"W"}, "fpnumk", "pnumk"},
	Decibel: {"decibel", "a ratio", "3 dB", []string{"dB"}, "", ""},
	percent: {"percent", "a percentage", "40 %", []string{"%"}, "", ""},
}

// Symbol is the unit as printed, in ASCII: "ohm", "F", "H", "Hz", "m", "s", "V", "W", "dB"; empty for One.
func (u Unit) Symbol() string { return units[u].spellings[0] }

// Name is the unit in words: "ohm", "farad", "henry", and so on.
func (u Unit) Name() string { return units[u].name }

// prefix is an SI prefix: its printed symbol and the power of ten.
type prefix struct {
	symbol   string
	exponent int
}

// prefixes are those that printing chooses from, in steps of a thousand.
var prefixes = []prefix{{"f", -15}, {"p", -12}, {"n", -9}, {"u", -6}, {"m", -3}, {"", 0}, {"k", 3}, {"M", 6}, {"G", 9}}

// takes reports whether the unit is written with the prefix.
func (u Unit) takes(p prefix) bool { return strings.Contains(units[u].written, p.symbol) }

// prefixExponent reads a prefix that must be one of allowed; the empty text is the empty prefix.
func prefixExponent(text, allowed string) (exponent int, ok bool) {
	switch text {
	case "":
		return 0, true
	case "\u00b5", "\u03bc": // MICRO SIGN, GREEK SMALL LETTER MU
		text = "u"
	}
	if utf8.RuneCountInString(text) != 1 || !strings.Contains(allowed, text) {
		return 0, false
	}
	if text == "c" {
		return -2, true
	}
	i := slices.IndexFunc(prefixes, func(p prefix) bool { return p.symbol == text })
	return prefixes[i].exponent, true
}

// unitExponent reads what follows a number: prefix and symbol, or a prefix alone where the symbol may be dropped.
func unitExponent(text string, u Unit) (exponent int, ok bool) {
	for _, symbol := range units[u].spellings {
		if before, found := strings.CutSuffix(text, symbol); found {
			if exponent, ok := prefixExponent(before, units[u].written); ok {
				return exponent, true
			}
		}
	}
	if text == "" {
		return 0, false
	}
	return prefixExponent(text, units[u].dropped)
}
