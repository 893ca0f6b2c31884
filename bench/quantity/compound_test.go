package quantity_test

import (
	"testing"

	. "knobwise/bench/quantity"
)

func TestParseQ(t *testing.T) {
	for _, c := range []struct {
		text  string
		q, at float64
	}{
		{"180", 180, 0},
		{"180 at 2 MHz", 180, 2e6},
		{" 180  at  500k ", 180, 500e3},
		{"62.5 at 455 kHz", 62.5, 455e3},
	} {
		q, at, err := ParseQ(c.text)
		if err != nil || q != c.q || at != c.at {
			t.Errorf("%q: got %g at %g, %v", c.text, q, at, err)
		}
	}
	q, at, err := ParseQuality("? 60 .. 200 at 2 MHz")
	want := Quantity{Low: 60, High: 200, Form: Bounds, Text: "? 60 .. 200"}
	if err != nil || q != want || at != 2e6 {
		t.Errorf("got %+v at %g, %v", q, at, err)
	}
	if q, at, err := ParseQuality("?"); err != nil || q.Form != Unknown || at != 0 {
		t.Errorf("got %+v at %g, %v", q, at, err)
	}
}

func TestParseLoss(t *testing.T) {
	for _, c := range []struct {
		text     string
		loss, at float64
	}{
		{"4.2 dB/100m at 10 MHz", 0.042, 10e6},
		{"4.2 dB / 100 m at 10 MHz", 0.042, 10e6},
		{"4.2dB/100m at 10M", 0.042, 10e6},
		{"0.1 dB/m at 10 MHz", 0.1, 10e6},
		{"100 dB/km at 10 MHz", 0.1, 10e6},
		{"0 dB/m at 1 MHz", 0, 1e6},
	} {
		loss, at, err := ParseLoss(c.text)
		if err != nil || !near(loss, c.loss, 1e-15) || at != c.at {
			t.Errorf("%q: got %g at %g, %v", c.text, loss, at, err)
		}
	}
}

func TestParseScale(t *testing.T) {
	for _, c := range []struct {
		text     string
		from, to float64
		percent  bool
	}{
		{"0 .. 10", 0, 10, false},
		{"10 .. 0", 10, 0, false},
		{"0 .. 100 %", 0, 100, true},
		{"0 % .. 100 %", 0, 100, true},
		{"100 .. 0%", 100, 0, true},
		{"-5 .. 5", -5, 5, false},
		{"0..1.5", 0, 1.5, false},
	} {
		from, to, percent, err := ParseScale(c.text)
		if err != nil || from != c.from || to != c.to || percent != c.percent {
			t.Errorf("%q: got %g .. %g %t, %v", c.text, from, to, percent, err)
		}
	}
}

func TestParseReading(t *testing.T) {
	for _, c := range []struct {
		text    string
		value   float64
		percent bool
	}{{"4", 4, false}, {"4.5", 4.5, false}, {"40 %", 40, true}, {"40%", 40, true}, {"-2", -2, false}, {"0", 0, false}} {
		v, percent, err := ParseReading(c.text)
		if err != nil || v != c.value || percent != c.percent {
			t.Errorf("%q: got %g %t, %v", c.text, v, percent, err)
		}
	}
	for _, c := range []struct {
		text    string
		want    Quantity
		percent bool
	}{
		{"? 5", Quantity{Value: 5, Form: Guess}, false},
		{"?", Quantity{Form: Unknown}, false},
		{"4.5", Quantity{Value: 4.5, Form: Exact}, false},
		{"? 40 %", Quantity{Value: 40, Form: Guess}, true},
		{"? 30 .. 50 %", Quantity{Low: 30, High: 50, Form: Bounds}, true},
		{"4 ± 5 %", within(4, 0.05), false},
		{"4 +- 5 %", within(4, 0.05), false},
	} {
		q, percent, err := ParseDoubtfulReading(c.text)
		q.Text, q.Unit = "", One
		if err != nil || q != c.want || percent != c.percent {
			t.Errorf("%q: got %+v %t, %v", c.text, q, percent, err)
		}
	}
}

func TestCompoundAccidents(t *testing.T) {
	q := func(text string) error { _, _, err := ParseQ(text); return err }
	loss := func(text string) error { _, _, err := ParseLoss(text); return err }
	scale := func(text string) error { _, _, _, err := ParseScale(text); return err }
	reading := func(text string) error { _, _, err := ParseReading(text); return err }
	doubtful := func(text string) error { _, _, err := ParseDoubtfulReading(text); return err }
	const aScale = "; write both ends with two dots between, like 0 .. 10 or 0 .. 100 %"
	const usableScale = "the ends of the scale do not differ by a usable step; write it like 0 .. 10 or 0 .. 100 %"
	for _, c := range []struct {
		parse                 func(string) error
		text, message, marked string
	}{
		{q, "180 @ 2 MHz", "the frequency stands behind the word at; write 180 at 2 MHz", "180 @ 2 MHz"},
		{q, "180 at 2", "a value needs its unit; write 2 MHz", "2"},
		{q, "180 at 2 mHz", "2 mHz is millihertz; did you mean 2 MHz?", "2 mHz"},
		{q, "180 at", "the word at needs a value before it and a frequency after it; write it like 180 at 2 MHz", "180 at"},
		{q, "180 at 0 Hz", "a frequency of 0 Hz is not above zero; write it like 180 at 2 MHz", "0 Hz"},
		{q, "180 at ? 2 MHz", "? 2 MHz where a single known value belongs; write a frequency like 3 MHz", "? 2 MHz"},
		{q, "0", "0 is zero; write a plain number above zero, like 180", "0"},
		{q, " -1 at 2 MHz", "-1 is negative; write a plain number above zero, like 180", "-1"},
		{q, "? 60", "? 60 where a single known Q belongs; write it like 180, or 180 at 2 MHz", "? 60"},
		{q, "180 .. 200", "180 .. 200 where a single known Q belongs; write it like 180, or 180 at 2 MHz", "180 .. 200"},
		{q, "", "nothing is written here; write a plain number like 180, or ? where it is unknown", ""},
		{loss, "4.2 dB/100ft at 10 MHz", "feet where metre belongs; write 30.48 m", "100ft"},
		{loss, "4.2 dB/100m", "a line loss holds at one frequency; write 4.2 dB/100m at 10 MHz", "4.2 dB/100m"},
		{loss, "4.2 dB at 10 MHz", "a line loss is decibels per length; write it like 4.2 dB/100m at 10 MHz", "4.2 dB"},
		{loss, "-1 dB/m at 1 MHz", "a loss of -1 dB is a gain; write 1 dB", "-1 dB"},
		{loss, "4.2/100m at 10 MHz", "a value needs its unit; write 4.2 dB", "4.2"},
		{loss, "4.2 dB/0m at 10 MHz", "the length below the stroke is not above zero; write dB/100m or dB/m", "0m"},
		{loss, "? 4 dB/m at 10 MHz", "? 4 dB where a single known value belongs; write a ratio like 3 dB", "? 4 dB"},
		{loss, "1 dB/1e-320 m at 1 MHz", "1 dB/1e-320 m is too large or too small for a number; write a ratio like 3 dB", "1 dB/1e-320 m"},
		{scale, "0 .. 0", usableScale, "0 .. 0"},
		{scale, "-1e308 .. 1e308", usableScale, "-1e308 .. 1e308"},
		{scale, "10", "10 is no scale" + aScale, "10"},
		{scale, "? 0 .. 10", "? 0 .. 10 is no scale" + aScale, "? 0 .. 10"},
		{scale, "0 % .. 100", "the last end of a range needs its unit; write 0 % .. 100 %", "100"},
		{scale, "100 % .. 0", "the last end of a range needs its unit; write 100 % .. 0 %", "0"},
		{reading, "? 5", "? 5 where a single known value belongs; write a plain number like 180", "? 5"},
		{reading, "4,5", "the decimal mark is a point, not a comma; write 4.5", "4,5"},
		{doubtful, "40 % ± 5 %", "the tolerance of a percentage may be percent of either; write its limits, like ? 35 % .. 45 %", "40 % ± 5 %"},
	} {
		err := c.parse(c.text)
		if err == nil {
			t.Errorf("%q was read", c.text)
			continue
		}
		e := checkError(t, c.text, err)
		if e.Error() != c.message || c.text[e.Offset:e.Offset+e.Length] != c.marked {
			t.Errorf("%q:\n got %s, marking %q\nwant %s", c.text, e, c.text[e.Offset:e.Offset+e.Length], c.message)
		}
	}
}
