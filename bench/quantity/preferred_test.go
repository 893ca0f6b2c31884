package quantity_test

import (
	"fmt"
	"strings"
	"testing"

	"knobwise/bench/quantity"
	"knobwise/internal/reference"
)

// Every preferred value of IEC 60063 (E3 to E96, eseries.csv), printed on parts from picofarad to megohm, reads as the
// same number whether it is written plainly or in letter code, and prints back as it was written.
func TestPreferredValues(t *testing.T) {
	ledger := reference.Open(t, "eseries.csv")
	for _, row := range ledger.Rows {
		text := row.Text("value") // "4.7" or "4.64"
		value := row.Float("value")
		for _, part := range []struct {
			unit           quantity.Unit
			prefix, letter string
			scale          float64
		}{
			{quantity.Farad, "p", "p", 1e-12},
			{quantity.Farad, "n", "n", 1e-9},
			{quantity.Henry, "u", "u", 1e-6},
			{quantity.Ohm, "", "R", 1},
			{quantity.Ohm, "k", "K", 1e3},
			{quantity.Ohm, "M", "M", 1e6},
		} {
			plain := fmt.Sprintf("%s %s%s", text, part.prefix, part.unit.Symbol())
			code := strings.Replace(text, ".", part.letter, 1)
			fromPlain, err := quantity.ParseValue(plain, part.unit)
			if err != nil {
				t.Fatalf("%s: %v", plain, err)
			}
			fromCode, err := quantity.ParseValue(code, part.unit)
			if err != nil {
				t.Fatalf("%s: %v", code, err)
			}
			ledger.Near(row, plain, fromPlain, value*part.scale, 4e-16) // the product here rounds, the reader does not
			ledger.True(row, code+" is "+plain, fromCode == fromPlain)
			digits := len(strings.Replace(text, ".", "", 1))
			ledger.True(row, plain+" prints back", quantity.Format(fromPlain, part.unit, digits) == plain)
		}
	}
}
