package quantity_test

import (
	"math"
	"testing"

	. "knobwise/bench/quantity"
)

var levelTexts = []string{"-73 dBm", "1 V", "1 Vrms", "2 Vpp", "12 uV", "40 dBuV", "40 dBµV", "1 mW", "2 V p-p", "4000 dBm", "-9999 dBuV", "1 Vp", "5e-324 Vpp"}

func near(got, want, relative float64) bool { return math.Abs(got-want) <= relative*math.Abs(want) }

func TestLevels(t *testing.T) {
	for _, c := range []struct {
		text string
		kind LevelKind
		want float64
	}{
		{"1 V", Voltage, 1},
		{"1 Vrms", Voltage, 1},
		{"1 V rms", Voltage, 1},
		{"1 VRMS", Voltage, 1},
		{"2 Vpp", Voltage, 1 / math.Sqrt2}, // a sine of 1 V peak
		{"2 V pp", Voltage, 1 / math.Sqrt2},
		{"2000 mVp-p", Voltage, 1 / math.Sqrt2},
		{"12 uV", Voltage, 12e-6},
		{"12 µV", Voltage, 12e-6},
		{"12 \u03bcVrms", Voltage, 12e-6},
		{"12u", Voltage, 12e-6},
		{"0 dBuV", Voltage, 1e-6}, // by definition
		{"120 dBuV", Voltage, 1},
		{"40 dBµV", Voltage, 100e-6},
		{"40 dB\u03bcV", Voltage, 100e-6},
		{"-6.0206 dBuV", Voltage, 0.5e-6},
		{"0 dBm", Power, 1e-3}, // by definition
		{"30 dBm", Power, 1},
		{"-30dBm", Power, 1e-6},
		{"\u221230 dBm", Power, 1e-6},
		{"5 mW", Power, 5e-3},
		{"1 W", Power, 1},
	} {
		l, err := ParseLevel(c.text)
		if err != nil || l.Kind != c.kind || !near(l.Value, c.want, 1e-7) || l.Text != c.text {
			t.Errorf("%q: got %+v, %v; want %g", c.text, l, err, c.want)
		}
	}
}

// S9 below 30 MHz is -73 dBm, 50 µV across a matched 50 ohm input (IARU Region 1 Recommendation R.1), so the emf of the
// generator is 100 µV or 40 dBµV. The recommendation rounds -73.01 dBm.
func TestS9(t *testing.T) {
	emf, err := emfInto("-73.0103 dBm", 50)
	if err != nil || !near(emf, 100e-6, 1e-6) {
		t.Errorf("emf %g, %v", emf, err)
	}
	rounded, err := emfInto("-73 dBm", 50)
	if err != nil || !near(rounded, 100e-6, 2e-3) {
		t.Errorf("emf %g, %v", rounded, err)
	}
	direct, err := emfInto("40 dBuV", 50)
	if err != nil || !near(direct, 100e-6, 1e-12) {
		t.Errorf("emf %g, %v", direct, err)
	}
}

// The power that a source of emf E and resistance R delivers into R is the available power again.
func TestEMFDeliversTheAvailablePower(t *testing.T) {
	for _, ohms := range []float64{1e-3, 50, 75, 600, 1e9} {
		l, err := ParseLevel("-73 dBm")
		if err != nil {
			t.Fatal(err)
		}
		e, err := l.EMF(ohms)
		if err != nil || !near((e/2)*(e/2)/ohms, l.Value, 1e-14) {
			t.Errorf("%g ohm: emf %g, %v", ohms, e, err)
		}
	}
	if e, err := emfInto("1 V", math.NaN()); err != nil || e != 1 {
		t.Errorf("a voltage needs no resistance: %g, %v", e, err)
	}
	for ohms, named := range map[float64]string{0: "0 ohm", -50: "-50.00 ohm", math.NaN(): "undefined", math.Inf(1): "∞"} {
		_, err := emfInto("-73 dBm", ohms)
		want := "a source of " + named + " has no available power; write the emf as a voltage, like 1 V"
		if err == nil || checkError(t, "-73 dBm", err).Error() != want {
			t.Errorf("%g ohm: %v", ohms, err)
		}
	}
	if _, err := emfInto("3080 dBm", math.MaxFloat64); err != nil {
		t.Errorf("no overflow here: %v", err)
	}
}

func TestLevelAccidents(t *testing.T) {
	for _, c := range []struct{ text, message, marked string }{
		{"1 Vp", "a level is written rms or peak to peak, not peak; write 2 Vpp", "1 Vp"},
		{"2 mVpk", "a level is written rms or peak to peak, not peak; write 4 mVpp", "2 mVpk"},
		{"3 dB", "a level in decibels needs its reference; write 3 dBm or 3 dBuV", "3 dB"},
		{"-73 dbm", "case matters in dbm; write -73 dBm", "-73 dbm"},
		{"40 dBuv", "case matters in dBuv; write 40 dBuV", "40 dBuv"},
		{"1", "a value needs its unit; write 1 V", "1"},
		{"50 ohm", "ohm where volt belongs; write a voltage like 50 V", "ohm"},
		{"5 \u039cV", "\u039cV is no unit of a voltage; write 5 V", "\u039cV"}, // GREEK CAPITAL MU is neither micro nor mega
		{"1,5 V", "the decimal mark is a point, not a comma; write 1.5 V", "1,5 V"},
		{"0 V", "a level of 0 V is no signal; write a level above zero, like 1 V", "0 V"},
		{"-1 V", "a level of -1 V is no signal; write a level above zero, like 1 V", "-1 V"},
		{"0 W", "a level of 0 W is no signal; write a level above zero, like 1 V", "0 W"},
		{"4000 dBm", "4000 dBm is too large or too small for a number; write a voltage like 1 V", "4000 dBm"},
		{"-9999 dBuV", "-9999 dBuV is too large or too small for a number; write a voltage like 1 V", "-9999 dBuV"},
		{"5e-324 Vpp", "5e-324 Vpp is too large or too small for a number; write a voltage like 1 V", "5e-324 Vpp"},
		{"? 1 V", "? 1 V where a known level belongs; write a level like 1 V or -73 dBm", "? 1 V"},
		{"inf V", "inf V is no finite number; write a voltage like 1 V, or ? where it is unknown", "inf V"},
		{"", "nothing is written here; write a voltage like 1 V, or ? where it is unknown", ""},
	} {
		_, err := ParseLevel(c.text)
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

// emfInto reads a level and gives the emf of a source of a resistance that has it.
func emfInto(text string, ohms float64) (float64, error) {
	l, err := ParseLevel(text)
	if err != nil {
		return 0, err
	}
	return l.EMF(ohms)
}
