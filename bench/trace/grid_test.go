package trace_test

import (
	"errors"
	"fmt"
	"math"
	"slices"
	"strings"
	"testing"

	"knobwise/bench/fault"
	"knobwise/bench/measurement"
	"knobwise/bench/setup"
	"knobwise/bench/trace"
)

// sweepRecord is a record of a linear sweep from 1 to 3 MHz in 20 ms over a resonance at 1.6 MHz, of which keep says which samples
// are in the file.
func sweepRecord(n int, at func(i int) float64, digits int, keep func(i int) bool) string {
	const span, time = 2e6, 20e-3
	var text strings.Builder
	text.WriteString("time (s),CH1 (V)\n")
	for i := range n {
		if !keep(i) {
			continue
		}
		t := at(i) * time / float64(n)
		f := 1e6 + span*t/time
		level := 0.02 + 0.3/(1+math.Pow((f-1.6e6)/1.5e5, 2))
		noise := 1e-3 * math.Sin(float64(i*i)) // as good as random, the same every time
		fmt.Fprintf(&text, "%.*f,%.6f\n", digits, t, level*math.Cos(2*math.Pi*math.Mod(1e6*t+span*t*t/2/time, 1))+noise)
	}
	return text.String()
}

// Samples that are missing move none of the others: beside a hole the trace is that of the whole record, in it there is none, and
// the notice says where it is. By the fit, by the analytic signal, and by the greatest magnitude.
func TestHoles(t *testing.T) {
	spec := trace.Spec{Quantity: measurement.Waveform, Sweep: setup.Sweep{From: 1e6, To: 3e6, Time: 20e-3}}
	late := spec
	late.Start = 2e-3 // said wrongly: nothing but the greatest magnitude reads it
	even := func(i int) float64 { return float64(i) }
	missing := func(from, to int) func(i int) bool { return func(i int) bool { return i < from || i >= to } }
	rows := 0
	for _, c := range []struct {
		name, how string
		n, digits int
		from, to  int
		spec      trace.Spec
		says      string
	}{
		{"few samples", "fit of the carrier", 40_000, 9, 20_000, 30_000, spec, "10000 samples are missing between 10.00 ms and 15.00 ms"},
		{"short", "fit of the carrier", 40_000, 9, 5000, 5400, spec, "400 samples are missing between 2.500 ms and 2.700 ms"},
		{"one", "fit of the carrier", 40_000, 9, 7000, 7001, spec, "1 sample is missing between 3.499 ms and 3.500 ms"},
		{"dense", "", 200_000, 9, 80_000, 90_000, spec, "10000 samples are missing between 8.000 ms and 9.000 ms"},
		{"coarse times", "fit of the carrier", 40_000, 6, 12_000, 16_000, spec, "samples are missing between 6.000 ms and 8.000 ms"},
		{"unfit", "greatest magnitude", 40_000, 9, 20_000, 30_000, late, "10000 samples are missing between 10.00 ms and 15.00 ms"},
	} {
		whole, err := read(t, "w.csv", sweepRecord(c.n, even, c.digits, func(int) bool { return true }), c.spec)
		if err != nil {
			t.Fatal(err)
		}
		x, err := read(t, "h.csv", sweepRecord(c.n, even, c.digits, missing(c.from, c.to)), c.spec)
		if err != nil {
			t.Errorf("%s: %v", c.name, err)
			continue
		}
		rows++
		if !slices.ContainsFunc(x.Notices, func(n string) bool { return strings.Contains(n, c.says) }) {
			t.Errorf("%s: %q", c.name, x.Notices)
		}
		if !strings.Contains(strings.Join(x.Read, " "), c.how) {
			t.Errorf("%s: %q", c.name, x.Read)
		}
		low, high := 1e6+2e6*float64(c.from-1)/float64(c.n), 1e6+2e6*float64(c.to)/float64(c.n)
		shift := 2e6 * c.spec.Start / 20e-3
		inside, compared, worst := 0, 0, 0.0
		for i, f := range x.Frequency {
			if f > low-shift && f < high-shift {
				inside++
			}
			if k, found := slices.BinarySearch(whole.Frequency, f-1); !found && k < len(whole.Frequency) && math.Abs(whole.Frequency[k]-f) < 1 {
				compared++
				worst = max(worst, math.Abs(x.Level[i]-whole.Level[k]))
			}
		}
		t.Logf("%s: %d of %d points, %d compared, at most %.3g V apart", c.name, len(x.Frequency), len(whole.Frequency), compared, worst)
		if inside > 0 || compared < len(x.Frequency)/2 || worst > 2e-3 && c.how != "greatest magnitude" || worst > 6e-3 {
			t.Errorf("%s: %d points in the hole, %d compared, at most %g V apart", c.name, inside, compared, worst)
		}
		if lost := len(whole.Frequency) - len(x.Frequency); float64(lost) > 2001*(float64(c.to-c.from)/float64(c.n)+0.12)+1 || c.to-c.from == 1 && lost > 1 {
			t.Errorf("%s: %d points lost", c.name, lost)
		}
	}
	if rows != 6 {
		t.Errorf("%d records read", rows)
	}
}

// Steps that are no grid are refused with the times between which they stand; times that rounding alone makes uneven are none.
func TestGrid(t *testing.T) {
	spec := trace.Spec{Quantity: measurement.Waveform, Sweep: setup.Sweep{From: 1e6, To: 3e6, Time: 20e-3}}
	all := func(int) bool { return true }
	bent := func(i int) float64 { return float64(i) + 300*math.Pow(math.Max(0, float64(i)-20_000)/20_000, 2) }
	_, err := read(t, "b.csv", sweepRecord(40_000, bent, 9, all), spec)
	if f, ok := errors.AsType[*fault.Error](err); !ok || !strings.Contains(f.What, "b.csv: its samples are not taken in even steps") || !strings.Contains(f.What, ": from 10.") || strings.Contains(err.Error(), "\n") {
		t.Errorf("steps that grow: %v", err)
	}
	_, err = read(t, "c.csv", sweepRecord(40_000, func(i int) float64 { return float64(i) }, 9, func(i int) bool { return i%13 != 0 }), spec)
	if err == nil {
		t.Error("three thousand holes are taken")
	}
	spec.Deconvolve = true
	if _, err = read(t, "d.csv", sweepRecord(200_000, func(i int) float64 { return float64(i) }, 9, func(i int) bool { return i < 50_000 || i > 60_000 }), spec); err == nil || !strings.Contains(err.Error(), "samples are missing, and only a whole record") {
		t.Errorf("a hole is deconvolved: %v", err)
	}
	spec.Deconvolve = false
	for _, digits := range []int{6, 7} {
		x, err := read(t, "r.csv", sweepRecord(40_000, func(i int) float64 { return float64(i) }, digits, all), spec)
		if err != nil {
			t.Errorf("times of %d digits: %v", digits, err)
			continue
		}
		top := slices.Index(x.Level, slices.Max(x.Level))
		if math.Abs(x.Frequency[top]-1.6e6) > 5e3 || slices.ContainsFunc(x.Notices, func(n string) bool { return strings.Contains(n, "missing") }) {
			t.Errorf("times of %d digits: peak at %g Hz, %q", digits, x.Frequency[top], x.Notices)
		}
	}
}

// A file of more ports is none of a table either, before anything is known of it.
func TestSuggestManyPorts(t *testing.T) {
	_, err := trace.Suggest(strings.NewReader("# MHz S RI R 50\n1 1\n"), "a.S4P")
	if err == nil || !strings.Contains(err.Error(), "a.S4P is a file of more ports than a box has; take one that ends in .s1p or .s2p") {
		t.Error(err)
	}
	// Volts below zero are no decibels.
	for text, want := range map[string]measurement.Quantity{
		"Hz,V\n1e6,-1\n2e6,-2\n": measurement.Amplitude, "Hz,level\n1e6,-1\n2e6,-2\n": measurement.Decibel, "Hz,dBm\n1e6,1\n2e6,2\n": measurement.Decibel,
	} {
		if s, err := trace.Suggest(strings.NewReader(text), "a.csv"); err != nil || s.Quantity != want {
			t.Errorf("%q: %v %v", text, s.Quantity, err)
		}
	}
}
