package quantity_test

import (
	"math"
	"testing"

	. "knobwise/bench/quantity"
)

type written struct {
	text string
	unit Unit
	want Quantity // without Unit and Text
}

func exact(v float64) Quantity { return Quantity{Value: v, Form: Exact} }

func within(v, tolerance float64) Quantity {
	return Quantity{Value: v, Low: v * (1 - tolerance), High: v * (1 + tolerance), Tolerance: tolerance, Form: Toleranced}
}

func bounded(q Quantity) Quantity {
	q.Form = Bounds
	return q
}

// writtenForms are all forms of section 1 of the file format, and what stands close to them.
var writtenForms = []written{
	// The table of section 1, word by word.
	{"330 pF", Farad, exact(330e-12)},
	{"330pF", Farad, exact(330e-12)},
	{"0.33 nF", Farad, exact(0.33e-9)},
	{"330p", Farad, exact(330e-12)},
	{"4p7", Farad, exact(4.7e-12)},
	{"4n7", Farad, exact(4.7e-9)},
	{"2u2", Farad, exact(2.2e-6)},
	{"4k7", Ohm, exact(4.7e3)},
	{"4R7", Ohm, exact(4.7)},
	{"R47", Ohm, exact(0.47)},
	{"1M0", Ohm, exact(1e6)},
	{"50 ohm", Ohm, exact(50)},
	{"50 \u03a9", Ohm, exact(50)},
	{"50 \u2126", Ohm, exact(50)},
	{"2.2 kohm", Ohm, exact(2.2e3)},
	{"14 pF .. 390 pF", Farad, Quantity{Low: 14e-12, High: 390e-12, Form: Range}},
	{"330 pF ± 5 %", Farad, within(330e-12, 0.05)},
	{"330 pF +- 5 %", Farad, within(330e-12, 0.05)},
	{"?", Henry, Quantity{Form: Unknown}},
	{"? 22 uH", Henry, Quantity{Value: 22e-6, Form: Guess}},
	{"? 10 uH .. 40 uH", Henry, Quantity{Low: 10e-6, High: 40e-6, Form: Bounds}},
	{"1 V", Volt, exact(1)},
	{"12 uV", Volt, exact(12e-6)},

	// Every prefix.
	{"5 fF", Farad, exact(5e-15)},
	{"5 nF", Farad, exact(5e-9)},
	{"5 uF", Farad, exact(5e-6)},
	{"5 \u00b5F", Farad, exact(5e-6)},
	{"5 \u03bcF", Farad, exact(5e-6)},
	{"5 mF", Farad, exact(5e-3)},
	{"5 F", Farad, exact(5)},
	{"5 kHz", Hertz, exact(5e3)},
	{"5 MHz", Hertz, exact(5e6)},
	{"5 GHz", Hertz, exact(5e9)},
	{"5 Hz", Hertz, exact(5)},
	{"10 Mohm", Ohm, exact(10e6)},
	{"10 mohm", Ohm, exact(10e-3)},
	{"2.2 kΩ", Ohm, exact(2.2e3)},
	{"1 mH", Henry, exact(1e-3)},

	// The unit dropped after a prefix.
	{"4.7k", Ohm, exact(4.7e3)},
	{"4.7 k", Ohm, exact(4.7e3)},
	{"1 m", Henry, exact(1e-3)},
	{"100 m", Second, exact(0.1)},
	{"7.1M", Hertz, exact(7.1e6)},
	{"5\u00b5", Henry, exact(5e-6)},
	{"14 m", Metre, exact(14)}, // the unit itself, not a prefix
	{"14m", Metre, exact(14)},

	// Other numbers and units.
	{"3.3e-10 F", Farad, exact(3.3e-10)},
	{"3.3E2 pF", Farad, exact(330e-12)},
	{".5 mm", Metre, exact(0.5e-3)},
	{"5. mm", Metre, exact(5e-3)},
	{"32 mm", Metre, exact(32e-3)},
	{"3.2 cm", Metre, exact(3.2e-2)},
	{"100 ms", Second, exact(0.1)},
	{"-3 dB", Decibel, exact(-3)},
	{"\u22123 dB", Decibel, exact(-3)},
	{"+3 dB", Decibel, exact(3)},
	{"1 mW", Watt, exact(1e-3)},
	{"180", One, exact(180)},
	{"0.35", One, exact(0.35)},
	{"0 ohm", Ohm, exact(0)},
	{"  330 pF\n", Farad, exact(330e-12)},
	{"330\u00a0pF", Farad, exact(330e-12)},
	{"330\u202fpF", Farad, exact(330e-12)},
	{"4.7 kOhm", Ohm, exact(4.7e3)},
	{"50 ohms", Ohm, exact(50)},
	{"4k7 ohm", Ohm, exact(4.7e3)},
	{"4k7Ω", Ohm, exact(4.7e3)},
	{"4n7 F", Farad, exact(4.7e-9)},
	{"0.1 pF", Farad, exact(0.1e-12)}, // correctly rounded, which 0.1 times 1e-12 need not be

	// Ranges and bounds.
	{"14 .. 390 pF", Farad, Quantity{Low: 14e-12, High: 390e-12, Form: Range}},
	{"14..390p", Farad, Quantity{Low: 14e-12, High: 390e-12, Form: Range}},
	{"14 pF .. 1.2 nF", Farad, Quantity{Low: 14e-12, High: 1.2e-9, Form: Range}},
	{"0 .. 390 pF", Farad, Quantity{Low: 0, High: 390e-12, Form: Range}},
	{"4p7 .. 47p", Farad, Quantity{Low: 4.7e-12, High: 47e-12, Form: Range}},
	{"1 .. 14 m", Metre, Quantity{Low: 1, High: 14, Form: Range}},
	{"1 .. .5e1", One, Quantity{Low: 1, High: 5, Form: Range}},
	{"? 0.1 .. 0.6", One, Quantity{Low: 0.1, High: 0.6, Form: Bounds}},
	{"?22uH", Henry, Quantity{Value: 22e-6, Form: Guess}},

	// Tolerances.
	{"330p±5%", Farad, within(330e-12, 0.05)},
	{"330 pF +/- 5 %", Farad, within(330e-12, 0.05)},
	{"4k7 ± 0.1 %", Ohm, within(4.7e3, 0.001)},
	{"4.7 pF ± 0.25 pF", Farad, within(4.7e-12, 0.25e-12/4.7e-12)},
	{"? 22 uH ± 20 %", Henry, bounded(within(22e-6, 0.2))},
	{"-4 V ± 25 %", Volt, Quantity{Value: -4, Low: -5, High: -3, Tolerance: 0.25, Form: Toleranced}},
}

func TestWrittenForms(t *testing.T) {
	for _, w := range writtenForms {
		got, err := Parse(w.text, w.unit)
		if err != nil {
			t.Errorf("%q: %v", w.text, err)
			continue
		}
		got.Text = ""
		w.want.Unit = w.unit
		if got != w.want {
			t.Errorf("%q: got %+v, want %+v", w.text, got, w.want)
		}
	}
}

func TestTextIsKeptTrimmed(t *testing.T) {
	if q, err := Parse("  ? 22 uH ", Henry); err != nil || q.Text != "? 22 uH" {
		t.Errorf("got %q, %v", q.Text, err)
	}
}

func TestParseValueTakesASingleValueOnly(t *testing.T) {
	for _, w := range writtenForms {
		v, err := ParseValue(w.text, w.unit)
		if (err == nil) != (w.want.Form == Exact) || v != w.want.Value && err == nil {
			t.Errorf("%q: got %g, %v", w.text, v, err)
		}
	}
}

func TestSigns(t *testing.T) {
	for _, c := range []struct {
		text string
		unit Unit
		sign Sign
		ok   bool
	}{
		{"330 pF", Farad, Positive, true},
		{"0 pF", Farad, Positive, false},
		{"-0 pF", Farad, Positive, false},
		{"0 pF", Farad, NonNegative, true},
		{"-1 pF", Farad, NonNegative, false},
		{"-1 pF", Farad, Any, true},
		{"0 pF .. 5 pF", Farad, Positive, false},
		{"0 pF .. 5 pF", Farad, NonNegative, true},
		{"-1 pF .. 5 pF", Farad, NonNegative, false},
		{"? -1 pF .. 5 pF", Farad, Positive, false},
		{"? 0 pF", Farad, Positive, false},
		{"?", Farad, Positive, true},
		{"5 pF ± 5 %", Farad, Positive, true},
		{"-5 pF ± 5 %", Farad, Positive, false},
		{"? -5 pF ± 5 %", Farad, Positive, false},
	} {
		_, err := ParseWith(" "+c.text, c.unit, c.sign)
		if (err == nil) != c.ok {
			t.Errorf("%q as %d: %v", c.text, c.sign, err)
		}
		if err != nil {
			checkError(t, " "+c.text, err)
		}
		q, err := Parse(c.text, c.unit)
		if err != nil {
			t.Fatal(err)
		}
		if err := q.Require(c.sign); (err == nil) != c.ok {
			t.Errorf("%q requires %d: %v", c.text, c.sign, err)
		}
	}
}

// Of every unit, name and symbol are there and differ from those of the others; the symbol reads as the unit.
func TestUnits(t *testing.T) {
	seen := map[string]bool{}
	for u := One; u <= Decibel; u++ {
		if u.Name() == "" || seen[u.Name()] || seen["symbol "+u.Symbol()] {
			t.Errorf("unit %d: name %q, symbol %q", u, u.Name(), u.Symbol())
		}
		seen[u.Name()], seen["symbol "+u.Symbol()] = true, true
		if v, err := ParseValue("1 "+u.Symbol(), u); err != nil || v != 1 {
			t.Errorf("unit %d: 1 %s gives %g, %v", u, u.Symbol(), v, err)
		}
	}
	if len(seen) != 2*10 {
		t.Errorf("%d units", len(seen)/2)
	}
}

func TestNoAcceptedFormIsNaN(t *testing.T) {
	for _, w := range writtenForms {
		q, _ := Parse(w.text, w.unit)
		for _, v := range []float64{q.Value, q.Low, q.High, q.Tolerance} {
			if math.IsNaN(v) || math.IsInf(v, 0) {
				t.Errorf("%q: %+v", w.text, q)
			}
		}
	}
}
