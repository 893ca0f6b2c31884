package quantity_test

import (
	"testing"

	"knobwise/bench/quantity"
	"knobwise/internal/reference"
)

// The letter codes of rkm.csv: IEC 60062:2016 for resistors and capacitors, common practice for inductors.
func TestLetterCodesOfTheStandard(t *testing.T) {
	unitOf := map[string]quantity.Unit{"resistor": quantity.Ohm, "capacitor": quantity.Farad, "inductor": quantity.Henry}
	symbolOf := map[string]string{"resistor": "ohm", "capacitor": "F", "inductor": "H"}
	ledger := reference.Open(t, "rkm.csv")
	rejected := 0
	for _, row := range ledger.Rows {
		code, kind := row.Text("code"), row.Text("kind")
		unit, known := unitOf[kind]
		if !known {
			t.Fatalf("row %d: kind %q", row.Number, kind)
		}
		got, err := quantity.Parse(code, unit)
		if row.Text("value") == "REJECT" {
			rejected++
			ledger.True(row, code+" is refused", err != nil)
			continue
		}
		if err != nil {
			t.Errorf("row %d: %v", row.Number, err)
			continue
		}
		if row.Text("unit") != symbolOf[kind] || got.Form != quantity.Exact {
			t.Errorf("row %d: %q is in %s, read as form %d", row.Number, code, row.Text("unit"), got.Form)
		}
		ledger.Near(row, code, got.Value, row.Float("value"), 0)
	}
	if rejected != 5 {
		t.Errorf("%d rows to refuse, the file has 5", rejected)
	}
}

// Trailing tolerance letters: the head of rkm.csv (IEC 60062, from memory there).
func TestToleranceLetters(t *testing.T) {
	for _, c := range []struct {
		text      string
		unit      quantity.Unit
		value     float64
		tolerance float64
	}{
		{"4K7J", quantity.Ohm, 4.7e3, 0.05},
		{"4K7F", quantity.Ohm, 4.7e3, 0.01},
		{"4K7G", quantity.Ohm, 4.7e3, 0.02},
		{"4R7K", quantity.Ohm, 4.7, 0.10},
		{"4K7M", quantity.Ohm, 4.7e3, 0.20},
		{"470RJ", quantity.Ohm, 470, 0.05},
		{"10KF", quantity.Ohm, 10e3, 0.01},
		{"330pK", quantity.Farad, 330e-12, 0.10},
		{"47pG", quantity.Farad, 47e-12, 0.02},
		{"4R7M", quantity.Henry, 4.7e-6, 0.20},
	} {
		got, err := quantity.Parse(c.text, c.unit)
		want := quantity.Quantity{
			Value: c.value, Low: c.value * (1 - c.tolerance), High: c.value * (1 + c.tolerance),
			Tolerance: c.tolerance, Form: quantity.Toleranced, Unit: c.unit, Text: c.text,
		}
		if err != nil || got != want {
			t.Errorf("%s: got %+v, %v; want %+v", c.text, got, err, want)
		}
	}
}
