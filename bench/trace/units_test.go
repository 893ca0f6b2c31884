package trace_test

import (
	"fmt"
	"math"
	"strings"
	"testing"
	"testing/fstest"

	"knobwise/bench/folder"
	"knobwise/bench/measurement"
	"knobwise/bench/setup"
	"knobwise/bench/trace"
)

// One signal in several units is one trace: 1 mW into 50 ohm is 0 dBm, 223.607 mV rms, 632.456 mV peak to peak and
// 106.99 dB above 1 uV (by P = U²/R).
func TestUnitsOfOneSignal(t *testing.T) {
	rows := 0
	for _, c := range []struct {
		column, unit string
		quantity     measurement.Quantity
		value        float64 // of the first point
	}{
		{"U (V)\n1,0.2236068\n2,0.1118034", "V", measurement.Amplitude, 0.2236068},
		{"U (mVrms)\n1,223.6068\n2,111.8034", "V", measurement.Amplitude, 0.2236068},
		{"U (mVpp)\n1,632.4555\n2,316.2278", "V", measurement.Amplitude, 0.2236068},
		{"U (Vpk)\n1,0.3162278\n2,0.1581139", "V", measurement.Amplitude, 0.2236068},
		{"P (mW)\n1,1\n2,0.25", "dBW", measurement.Decibel, -30},
		{"P (uW)\n1,1000\n2,250\n3,0", "dBW", measurement.Decibel, -30},
		{"L (dBm)\n1,0\n2,-6.0206", "dBm", measurement.Decibel, 0},
		{"L (dBµV)\n1,106.9897\n2,100.9691", "dBuV", measurement.Decibel, 106.9897},
		{"L\n1,0.5\n2,0.25", "", measurement.Amplitude, 0.5},
	} {
		x, err := read(t, "u.csv", "MHz,"+c.column+"\n", trace.Spec{Quantity: measurement.Amplitude})
		if err != nil {
			t.Errorf("%q: %v", c.column, err)
			continue
		}
		ratio := 20 * math.Log10(x.Level[0]/x.Level[1])
		if x.Quantity == measurement.Decibel {
			ratio = x.Level[0] - x.Level[1]
		}
		rows++
		if len(x.Level) != 2 || x.Unit != c.unit || x.Quantity != c.quantity || math.Abs(x.Level[0]-c.value) > 1e-6 || math.Abs(ratio-6.0206) > 1e-4 {
			t.Errorf("%q: %v in %q, %s, a step of %g dB", c.column, x.Level, x.Unit, x.Quantity, ratio)
		}
	}
	if rows != 9 {
		t.Errorf("%d rows", rows)
	}
	// The samples of a waveform are what they are, whatever the scope calls its volts.
	if x, err := read(t, "d.csv", "MHz,level\n1,-3\n2,-4\n", trace.Spec{Quantity: measurement.Decibel}); err != nil || x.Symbol() != "dB" || x.Unit != "" {
		t.Errorf("%+v %v", x, err)
	}
}

// A trace over a reference in another unit is refused, and one over a reference in another form of volts is right.
func TestUnitsOfReference(t *testing.T) {
	table := func(head string, values ...float64) *fstest.MapFile {
		text := "MHz," + head + "\n"
		for i, v := range values {
			text += fmt.Sprintf("%d,%g\n", i+1, v)
		}
		return &fstest.MapFile{Data: []byte(text)}
	}
	files := folder.Within(fstest.MapFS{
		"v.csv": table("V", 2, 1), "vpp.csv": table("U (Vpp)", 2*math.Sqrt2, 2*math.Sqrt2), "none.csv": table("level", 4, 1),
		"dbm.csv": table("L (dBm)", 0, 3), "dbuv.csv": table("L (dBuV)", 107, 110), "mw.csv": table("P (mW)", 1, 2), "bad.csv": table("V", 1, -1),
		"two.csv": {Data: []byte("MHz,CH1 (V),CH2 (V)\n1,1,3\n2,2,8\n")}, "other.csv": {Data: []byte("f;a;b\nMHz;V;V\n1;7;1,5\n2;7;4\n")},
		"same.csv": {Data: []byte("s,V,V\n0,1,3\n1,2,8\n")},
	})
	cases := 0
	for _, c := range []struct {
		trace, channel, reference, referenceChannel string
		want                                        []float64
		says                                        string // of the error or of a notice
	}{
		{"v.csv", "", "vpp.csv", "", []float64{2, 1}, "divided by 2.828 for its rms"},
		{"v.csv", "", "none.csv", "", []float64{0.5, 1}, "v.csv is in V, its reference none.csv in a unit that is not said; taken as one unit"},
		{"v.csv", "", "dbm.csv", "", nil, "a trace of amplitude, its reference dbm.csv one of dB"},
		{"dbm.csv", "", "dbuv.csv", "", nil, "dbm.csv is in dBm, its reference dbuv.csv in dBuV; take both in the same unit"},
		{"mw.csv", "", "mw.csv", "", nil, "one column of mw.csv"},
		{"v.csv", "", "bad.csv", "", nil, "reference bad.csv: has the negative amplitude -1"},
		{"v.csv", "", "v2.csv", "", nil, "v2.csv: no such file"},
		{"two.csv", "CH2", "two.csv", "CH1", []float64{3, 4}, ""},
		{"two.csv", "", "two.csv", "CH1", nil, "one column of two.csv; name another column: `reference: {file: two.csv, channel: 3}`"},
		{"two.csv", "CH2", "two.csv", "3", nil, "one column of two.csv"},
		{"two.csv", "CH2", "other.csv", "b", []float64{2, 2}, "other.csv: UTF-8; delimiter semicolon"},
		{"two.csv", "CH2", "other.csv", "c", nil, "reference other.csv: `channel`: there is no column \"c\""},
	} {
		m := &measurement.Measurement{Trace: c.trace, Channel: c.channel, Reference: c.reference, ReferenceChannel: c.referenceChannel, Quantity: measurement.Amplitude}
		x, err := trace.Load(t.Context(), files, m)
		cases++
		switch {
		case c.want == nil:
			if err == nil || !strings.Contains(err.Error(), c.says) {
				t.Errorf("%s over %s: %v, want %s", c.trace, c.reference, err, c.says)
			}
		case err != nil:
			t.Errorf("%s over %s: %v", c.trace, c.reference, err)
		default:
			told := strings.Join(append(x.Read, x.Notices...), "; ")
			if math.Abs(x.Level[0]-c.want[0]) > 1e-9 || math.Abs(x.Level[1]-c.want[1]) > 1e-9 || !strings.Contains(told, c.says) || x.Unit != "" {
				t.Errorf("%s over %s: %v, told %q", c.trace, c.reference, x.Level, told)
			}
		}
	}
	if cases != 12 {
		t.Errorf("%d cases", cases)
	}
}

// Of several columns the one is taken that can be a level: no phase, no trigger with noise on it, whichever comes first.
func TestLikeliestColumn(t *testing.T) {
	sweep := setup.Sweep{From: 1e6, To: 2e6, Time: 4}
	noisy := "Time (s),TRIG (V),CH1 (V)\n"
	bare := "x-axis,1,2\ns,V,V\n"
	units := "s,V,V\n"
	for i := range 400 {
		at := 0.01 * float64(i+10)
		step := 5*float64(min(1, i/40)) + 0.02*math.Sin(float64(7*i))
		noisy += fmt.Sprintf("%g,%g,%d\n", at, step, i+1)
		bare += fmt.Sprintf("%g,%g,%d\n", at, step, i+1)
		units += fmt.Sprintf("%g,%g,%d\n", at, step, i+1)
	}
	cases := 0
	for _, c := range []struct{ name, text, takes string }{
		{"noisy trigger", noisy, "taken is CH1"},
		{"columns with numbers", bare, "taken is 2 "},
		{"columns without names", units, "taken is column 3 (V) (another: `channel`)"},
		{"phase first", "MHz,Phase (deg),Magnitude (dB)\n1,10,-3\n2,20,-4\n3,40,-3\n", "taken is Magnitude"},
		{"phase without a unit", "MHz,Phase,Magnitude\n1,10,3\n2,20,4\n3,40,3\n", "taken is Magnitude"},
		{"real and imaginary part before", "MHz,S21 re,S21 im,|S21|\n1,1,1,3\n2,2,2,4\n3,4,4,3\n", "taken is |S21|"},
		{"trigger by name", "s,EXT (V),CH1 (V)\n0.5,1,3\n1,2,4\n2,4,3\n", "taken is CH1"},
	} {
		x, err := read(t, "c.csv", c.text, trace.Spec{Quantity: measurement.Amplitude, Sweep: sweep})
		if err != nil {
			t.Errorf("%s: %v", c.name, err)
			continue
		}
		told := strings.Join(x.Notices, "; ")
		cases++
		if !strings.Contains(told, c.takes) || x.Level[0] <= 0 && x.Quantity == measurement.Amplitude {
			t.Errorf("%s: %q", c.name, told)
		}
		if c.name == "noisy trigger" && !strings.Contains(told, "the digital TRIG has its first edge at 500.0 ms; if the sweep begins there, say `start: 500.000 ms`") {
			t.Errorf("the edge is not told: %q", told)
		}
	}
	if cases != 7 {
		t.Errorf("%d cases", cases)
	}
}

// A sweep that begins within the record is read from there on; a table without units by what the sweep says.
func TestStartAndUnits(t *testing.T) {
	sweep := setup.Sweep{From: 6e6, To: 8e6, Time: 0.1}
	text := "t (ms),v (V)\n"
	for i := range 121 {
		text += fmt.Sprintf("%d,%d\n", i, i+1)
	}
	x, err := read(t, "s.csv", text, trace.Spec{Quantity: measurement.Amplitude, Sweep: sweep, Start: 4e-3})
	if err != nil || len(x.Frequency) != 101 || x.Frequency[0] != 6e6 || x.Level[0] != 5 || x.Frequency[100] != 8e6 {
		t.Errorf("%+v %v", x, err)
	}
	for text, f := range map[string]float64{"7.050,0.0123\n7.060,0.0125\n": 7.05e6, "Frequency,Level\n6.9,36\n7.1,30\n": 6.9e6, "7050,0.5\n7060,0.25\n": 7.05e6, "0.050,1.5\n0.1,1\n": 7e6} {
		x, err := read(t, "f.csv", text, trace.Spec{Quantity: measurement.Amplitude, Sweep: sweep})
		if err != nil || math.Abs(x.Frequency[0]/f-1) > 1e-12 || !strings.Contains(strings.Join(x.Notices, "; "), "since that lies within the sweep") {
			t.Errorf("%q: %+v %v", text, x, err)
		}
	}
	// What was guessed is told beside an error.
	x, err = read(t, "g.csv", "7.050,0.0123\n7.060,0.0125\n", trace.Spec{Quantity: measurement.Amplitude})
	if err == nil || x == nil || !strings.Contains(strings.Join(x.Read, ""), "column 1: time") || !strings.Contains(err.Error(), "`units: {1: MHz}`") {
		t.Errorf("%+v %v", x, err)
	}
	// So is a mean over rows at one frequency.
	x, err = read(t, "m.csv", "MHz,V\n1,3\n1,5\n2,7\n", trace.Spec{Quantity: measurement.Amplitude})
	if err != nil || !strings.Contains(strings.Join(x.Notices, "; "), "points at one frequency count as their mean: 2 of 3 are left") {
		t.Errorf("%+v %v", x, err)
	}
}

// A waveform whose sweep begins within the record reads as one that begins at 0; the ends that a method cannot read are told
// as such, and not as a record that is too short.
func TestWaveformWithin(t *testing.T) {
	sweep := setup.Sweep{From: 1e4, To: 4e4, Time: 0.1}
	const interval = 5e-6
	record := func(from float64) string {
		var b strings.Builder
		b.WriteString("s,V\n")
		for i := range int(0.12/interval) + 1 {
			at := float64(i) * interval
			v, u := 0.0, at-from
			if u >= 0 && u <= sweep.Time {
				f := sweep.From + (sweep.To-sweep.From)*u/sweep.Time
				v = math.Cos(2*math.Pi*(sweep.From*u+(sweep.To-sweep.From)*u*u/sweep.Time/2)) / math.Hypot(1, (f-25e3)/2e3)
			}
			fmt.Fprintf(&b, "%.9g,%.9g\n", at, v)
		}
		return b.String()
	}
	top := func(x *trace.Trace) float64 {
		best := 0
		for i := range x.Level {
			if x.Level[i] > x.Level[best] {
				best = i
			}
		}
		return x.Frequency[best]
	}
	spec := trace.Spec{Quantity: measurement.Waveform, Sweep: sweep}
	for _, from := range []float64{0, 4e-3} {
		spec.Start = from
		x, err := read(t, "w.csv", record(from), spec)
		if err != nil || math.Abs(top(x)-25e3) > 50 {
			t.Fatalf("start %g: %v, peak at %g Hz", from, err, top(x))
		}
		if told := strings.Join(x.Notices, "; "); strings.Contains(told, "not covered by the record") {
			t.Errorf("start %g: %q", from, told)
		}
	}
	spec.Start, spec.Deconvolve = 4e-3, true
	x, err := read(t, "w.csv", record(4e-3), spec)
	if err != nil {
		t.Fatal(err)
	}
	if told := strings.Join(x.Notices, "; "); !strings.Contains(told, "not in the trace are the ") || !strings.Contains(told, "a deconvolution needs what rang before and after a point, and costs the ends of the sweep") {
		t.Errorf("%q, from %g to %g Hz", told, x.Frequency[0], x.Frequency[len(x.Frequency)-1])
	}
}
