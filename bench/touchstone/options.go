package touchstone

import (
	"fmt"
	"math"
	"strings"
)

// options is what the option line says.
type options struct {
	shift     int    // frequency unit as a power of ten
	parameter byte   // S, Y, Z, G or H
	format    string // DB, MA or RI
	reference []word // as written; at least one number where R stands
	values    []float64
}

var (
	frequencyUnits = map[string]int{"HZ": 0, "KHZ": 3, "MHZ": 6, "GHZ": 9}
	formats        = map[string]bool{"DB": true, "MA": true, "RI": true}
)

// parseOptions reads an option line. Its fields may stand in any order, each at most once; what is missing takes the
// specification's default: GHz, S, MA, R 50. Letters of either case are the same.
func parseOptions(s *scanner, l *line) (options, error) {
	o := options{shift: 9, parameter: 'S', format: "MA", values: []float64{50}}
	seen := map[string]string{}
	words := optionWords(l)
	for i := 0; i < len(words); i++ {
		w := words[i]
		text := strings.ToUpper(w.text)
		field := ""
		unit, isUnit := frequencyUnits[text]
		switch {
		case isUnit:
			field, o.shift = "frequency unit", unit
		case formats[text]:
			field, o.format = "format", text
		case len(text) == 1 && strings.Contains("SYZGH", text):
			field, o.parameter = "parameter", text[0]
		case text == "R":
			field = "reference"
			n := i + 1
			for n < len(words) && startsNumber(words[n].text) {
				n++
			}
			var err error
			if o.values, err = parseReferences(s, l, w, words[i+1:n]); err != nil {
				return o, err
			}
			o.reference = words[i+1 : n]
			i = n - 1
		default:
			return o, s.fail(l, w.at, quoted(w.text)+" is no word of an option line", optionHint(text))
		}
		if before, twice := seen[field]; twice {
			return o, s.fail(l, w.at, fmt.Sprintf("a second %s %s after %s", field, quoted(w.text), quoted(before)), "keep one of them")
		}
		seen[field] = w.text
	}
	return o, nil
}

// optionWords returns the words behind the #, which may touch the first of them.
func optionWords(l *line) []word {
	words := l.words
	first := words[0]
	if first.text == "#" {
		return words[1:]
	}
	touching := word{first.text[1:], first.at + 1}
	return append([]word{touching}, words[1:]...)
}

func startsNumber(s string) bool { return strings.ContainsAny(s[:1], "+-.0123456789") }

func parseReferences(s *scanner, l *line, r word, words []word) ([]float64, error) {
	if len(words) == 0 {
		return nil, s.fail(l, r.at, "R has no resistance behind it", "write the reference in ohm, as in R 50")
	}
	values := make([]float64, len(words))
	for i, w := range words {
		v, err := parseReference(s, l, w)
		if err != nil {
			return nil, err
		}
		values[i] = v
	}
	return values, nil
}

func parseReference(s *scanner, l *line, w word) (float64, error) {
	v, bad := parseNumber(w.text, 0)
	if bad != nil {
		return 0, s.fail(l, w.at, bad.what, bad.instead)
	}
	if !(v > 0) || math.IsInf(v, 0) {
		return 0, s.fail(l, w.at, "the reference "+quoted(w.text)+" ohm is not positive", "write a positive resistance such as 50")
	}
	return v, nil
}

func optionHint(text string) string {
	switch {
	case len(text) > 1 && text[0] == 'R' && startsNumber(text[1:]):
		return "write R " + text[1:]
	case startsNumber(text):
		return "write R before the reference resistance, as in R 50"
	}
	return "use a unit (Hz, kHz, MHz, GHz), a parameter (S, Y, Z, G, H), a format (DB, MA, RI) or R and a resistance"
}
