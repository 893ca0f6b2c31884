package trace_test

import (
	"context"
	"errors"
	"fmt"
	"math"
	"math/rand/v2"
	"strings"
	"testing"
	"testing/fstest"

	"knobwise/bench/fault"
	"knobwise/bench/folder"
	"knobwise/bench/measurement"
	"knobwise/bench/setup"
	"knobwise/bench/trace"
	"knobwise/physics/chirp"
)

func read(t *testing.T, name, text string, spec trace.Spec) (*trace.Trace, error) {
	t.Helper()
	return trace.Read(t.Context(), strings.NewReader(text), name, spec)
}

// A table over time becomes one over frequency by the law of the sweep, whichever way it runs; what lies outside is told.
func TestTableOverTime(t *testing.T) {
	for _, s := range []setup.Sweep{{From: 1e6, To: 3e6, Time: 0.2}, {From: 3e6, To: 1e6, Time: 0.2}, {From: 1e6, To: 3e6, Time: 0.2, Log: true}} {
		law := chirp.Law{From: s.From, To: s.To, Time: s.Time}
		if s.Log {
			law.Spacing = chirp.Logarithmic
		}
		text := "time (s);amplitude (V)\n"
		for i := -2; i <= 22; i++ {
			text += fmt.Sprintf("%.17g;%d\n", float64(i)*0.01, 100+i)
		}
		x, err := read(t, "t.csv", text, trace.Spec{Quantity: measurement.Amplitude, Sweep: s})
		if err != nil {
			t.Fatal(err)
		}
		if len(x.Frequency) != 21 || x.Frequency[0] != 1e6 || x.Frequency[20] != 3e6 {
			t.Fatalf("%+v: %d points from %g to %g", s, len(x.Frequency), x.Frequency[0], x.Frequency[20])
		}
		for i, f := range x.Frequency {
			if want := 100 + law.At(f)/0.01; math.Abs(x.Level[i]-want) > 1e-6 {
				t.Errorf("%+v: %g at %g Hz, want %g", s, x.Level[i], f, want)
			}
		}
		if len(x.Notices) != 1 || !strings.Contains(x.Notices[0], "4 of 25 points lie before or after the sweep") {
			t.Errorf("%q", x.Notices)
		}
	}
}

// A reference cancels whatever the level of the generator does.
func TestReference(t *testing.T) {
	random := rand.New(rand.NewPCG(7, 7))
	gain := func(f float64) float64 { return 1 / (1 + math.Abs(f-2e6)/1e5) }
	var box, straight, boxDB, straightDB strings.Builder
	for _, b := range []*strings.Builder{&box, &straight, &boxDB, &straightDB} {
		b.WriteString("frequency (MHz),level\n")
	}
	for i := range 101 {
		f := 1 + 0.02*float64(i)
		level := 0.3 + random.Float64()
		fmt.Fprintf(&straight, "%.6f,%.17g\n", f, level)
		fmt.Fprintf(&straightDB, "%.6f,%.17g\n", f, 20*math.Log10(level))
		if i >= 10 {
			fmt.Fprintf(&box, "%.6f,%.17g\n", f, level*gain(f*1e6))
			fmt.Fprintf(&boxDB, "%.6f,%.17g\n", f, 20*math.Log10(level*gain(f*1e6)))
		}
	}
	files := folder.Within(fstest.MapFS{
		"b.csv": {Data: []byte(box.String())}, "r.csv": {Data: []byte(straight.String())},
		"bd.csv": {Data: []byte(boxDB.String())}, "rd.csv": {Data: []byte(straightDB.String())},
	})
	rows := 0
	for _, c := range []struct {
		trace, reference string
		quantity         measurement.Quantity
	}{{"b.csv", "r.csv", measurement.Amplitude}, {"bd.csv", "rd.csv", measurement.Decibel}} {
		x, err := trace.Load(t.Context(), files, &measurement.Measurement{Trace: c.trace, Reference: c.reference, Quantity: c.quantity, Noise: 0.01})
		if err != nil {
			t.Fatal(err)
		}
		if !x.Relative || len(x.Frequency) != 91 || len(x.Read) != 2 {
			t.Fatalf("%+v", x)
		}
		for i, f := range x.Frequency {
			rows++
			want := gain(f)
			if c.quantity == measurement.Decibel {
				want = 20 * math.Log10(want)
			}
			if math.Abs(x.Level[i]-want) > 1e-9 {
				t.Errorf("%s at %g Hz: %g, want %g", c.trace, f, x.Level[i], want)
			}
		}
		if x.NoisePart != 0.01 || x.Unit != "" {
			t.Errorf("noise %g, unit %q", x.NoisePart, x.Unit)
		}
	}
	if rows != 182 {
		t.Errorf("%d rows", rows)
	}
	if _, err := trace.Load(t.Context(), files, &measurement.Measurement{Trace: "gone.csv"}); err == nil || !strings.Contains(err.Error(), "gone.csv: no such file") {
		t.Error(err)
	}
}

// The noise is found in a curve with a peak.
func TestNoise(t *testing.T) {
	random := rand.New(rand.NewPCG(1, 2))
	var text strings.Builder
	text.WriteString("Hz,V\n")
	for i := range 2001 {
		x := float64(i-1000) / 100
		fmt.Fprintf(&text, "%d,%.17g\n", 1_000_000+1000*i, 1/math.Sqrt(1+x*x)+0.01*random.NormFloat64()+0.1)
	}
	x, err := read(t, "n.csv", text.String(), trace.Spec{Quantity: measurement.Amplitude})
	if err != nil {
		t.Fatal(err)
	}
	if math.Abs(x.Noise/0.01-1) > 0.1 {
		t.Errorf("noise %g V, want 0.01", x.Noise)
	}
}

func TestChoice(t *testing.T) {
	text := "time,CH1,CH2\ns,V,V\n"
	for i := range 40 {
		text += fmt.Sprintf("%g,%d,%d\n", 0.1*float64(i), 5*(i/8%2), i+1)
	}
	spec := trace.Spec{Quantity: measurement.Amplitude, Sweep: setup.Sweep{From: 1e6, To: 2e6, Time: 4}}
	x, err := read(t, "two.csv", text, spec)
	if err != nil {
		t.Fatal(err)
	}
	if x.Level[9] != 10 || !strings.Contains(strings.Join(x.Notices, "; "), "taken is CH2") {
		t.Errorf("the digital channel was taken: %v %q", x.Level, x.Notices)
	}
	spec.Channel = "CH1"
	if x, err = read(t, "two.csv", text, spec); err != nil || x.Level[9] != 5 {
		t.Errorf("%v %v", x, err)
	}
	spec.Channel = "CH3"
	if _, err = read(t, "two.csv", text, spec); err == nil || !strings.Contains(err.Error(), "CH3") {
		t.Error(err)
	}
	// Points at one frequency count as their mean; a level in decibels is not taken for volts.
	if x, err = read(t, "same.csv", "MHz,dBm\n1,-3\n1,-5\n2,-7\n", trace.Spec{Quantity: measurement.Amplitude}); err != nil || len(x.Level) != 2 || x.Level[0] != -4 || x.Quantity != measurement.Decibel {
		t.Errorf("%+v %v", x, err)
	}
}

func TestTouchstone(t *testing.T) {
	x, err := read(t, "m.s2p", "# MHz S RI R 75\n1 0.1 0 0.9 0 0.9 0 0.1 0\n2 0.1 0 0.8 0 0.8 0 0.1 0\n", trace.Spec{Quantity: measurement.Scattering})
	if err != nil || x.Ports != 2 || x.References[0] != 75 || len(x.S) != 2 || x.S[1][2] != 0.8 {
		t.Errorf("%+v %v", x, err)
	}
}

// What cannot be read is told in one line.
func TestRefusals(t *testing.T) {
	amplitude, waveform := trace.Spec{Quantity: measurement.Amplitude}, trace.Spec{Quantity: measurement.Waveform}
	timed := trace.Spec{Quantity: measurement.Waveform, Sweep: setup.Sweep{From: 1e6, To: 2e6, Time: 10}}
	deconvolved, logarithmic := timed, timed
	deconvolved.Deconvolve, deconvolved.Sweep.Time, deconvolved.Sweep.From, deconvolved.Sweep.To = true, 3, 1e6, 2e6
	logarithmic.Deconvolve, logarithmic.Sweep.Log = true, true
	over := "s,V\n0,1\n1,2\n2,3\n3,4\n"
	cases := 0
	for _, c := range []struct {
		name, text, says string
		spec             trace.Spec
	}{
		{"a.s2p", "# MHz S RI R 50\n", "a.s2p holds s-parameters, not a trace of amplitude; write `quantity: s-parameters`", amplitude},
		{"a.csv", over, "a.csv is no Touchstone file", trace.Spec{Quantity: measurement.Scattering}},
		{"a.s4p", "# MHz S RI R 50\n1 1\n", "a.s4p is a file of more ports than a box has; take one that ends in .s1p or .s2p", trace.Spec{Quantity: measurement.Scattering}},
		{"a.csv", over, "nothing says how long the sweep took; give its `time`", amplitude},
		{"a.csv", over, "nothing says how long the sweep took; give its `time`", waveform},
		{"a.csv", over, "a.csv: 5e-07 samples per period at 2.0000 MHz are too few to deconvolve", deconvolved},
		{"a.csv", over, "a.csv: only a linear sweep can be deconvolved; leave out `deconvolve`", logarithmic},
		{"a.csv", "s,V\n1,1\n1,2\n1,3\n", "a.csv: all its samples stand at one time", timed},
		{"a.csv", "s,V\n20,1\n21,2\n22,3\n", "a.csv: the record runs from 20.00 s to 22.00 s of the sweep, which takes 10.00 s; check the sweep's `time` and `start`", timed},
		{"a.csv", "s,V\n-2,1\n-1,2\n0.5,3\n", "the record runs from -2.000 s to 500.0 ms of the sweep", timed},
		{"a.csv", "MHz,Phase (deg)\n1,3\n2,4\n", "a.csv has no column of levels, but Phase; give the magnitude", amplitude},
		{"a.csv", "MHz,S21 Real,S21 Imag\n1,3,1\n2,4,1\n", "a.csv has no column of levels, but S21 Real, S21 Imag; give the magnitude", amplitude},
		{"a.csv", "MHz,Phase (deg),V\n1,3,1\n2,4,1\n", "a.csv: Phase is in deg, which is no level of a signal; name another column as `channel`, or say its unit: `units: {Phase: V}`", trace.Spec{Quantity: measurement.Amplitude, Channel: "phase"}},
		{"a.csv", "MHz,I (mA)\n1,3\n2,4\n", "a.csv has no column of levels, but I;", amplitude},
		{"a.csv", "MHz,U (V)\n1,3\n2,4\n", "a.csv: U is in V, which is no level in dB; write `quantity: amplitude`, or say its unit: `units: {U: dB}`", trace.Spec{Quantity: measurement.Decibel}},
		{"a.csv", "s,L (dBm)\n0,3\n2,4\n", "a.csv: L is in dBm, which the samples of a waveform are not; write `quantity: dB`", timed},
		{"a.csv", "MHz,P (mW)\n1,3\n2,-4\n", "a.csv: P is in mW, and -0.004 W is no power", amplitude},
		{"a.csv", "MHz,P (mW)\n1,0\n2,0\n", "a.csv has no power anywhere", amplitude},
		{"a.csv", "Hz,V\n1e6,1\n2e6,2\n3e6,1\n", "over frequency, not over time as a waveform is", timed},
		{"a.csv", "Hz,V\n1e6,1\n2e6,-2\n3e6,1\n", "negative amplitude -2.000 V at 2.0000 MHz; give magnitudes", amplitude},
		{"a.csv", "Hz,level\n1e6,1\n2e6,-2\n3e6,1\n", "negative amplitude -2 at 2.0000 MHz; write `quantity: dB`", amplitude},
		{"a.csv", "Hz,V\n1e6,0\n2e6,0\n", "a.csv: every amplitude of it is 0; check that the probe", amplitude},
		{"a.csv", "Hz,V\n0,1\n2e6,2\n3e6,1\n", "give frequencies above zero", amplitude},
		{"a.csv", over, "a.csv: ", timed},
		{"a.csv", "s,V\n-3,1\n-2,2\n-1,3\n", "no two points within the sweep's 10.00 s from 0 s on; check the sweep's `time` and `start`", trace.Spec{Quantity: measurement.Amplitude, Sweep: timed.Sweep}},
		{"a.csv", "s,V\n0,1\n1,2\n2,x\n3,4\n4,5\n", "a.csv:4:3", amplitude},
		{"a.csv", "", "a.csv", amplitude},
	} {
		_, err := read(t, c.name, c.text, c.spec)
		cases++
		if f, ok := errors.AsType[*fault.Error](err); !ok || !strings.Contains(err.Error(), c.says) || strings.Contains(f.Error(), "\n") {
			t.Errorf("%q as %s: %v\nwant %s", c.text, c.spec.Quantity, err, c.says)
		}
	}
	if cases != 27 {
		t.Errorf("%d cases", cases)
	}
	ctx, cancel := context.WithCancel(t.Context())
	cancel()
	var text strings.Builder
	text.WriteString("s,V\n")
	for i := range 20000 {
		fmt.Fprintf(&text, "%g,%g\n", float64(i)*1e-6, math.Sin(float64(i)))
	}
	if _, err := trace.Read(ctx, strings.NewReader(text.String()), "w.csv", trace.Spec{Quantity: measurement.Waveform, Sweep: setup.Sweep{From: 1e4, To: 2e5, Time: 0.02}}); !errors.Is(err, context.Canceled) {
		t.Errorf("stopped: %v", err)
	}
}
