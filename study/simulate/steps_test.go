package simulate_test

import (
	"bytes"
	"math"
	"slices"
	"strings"
	"testing"

	"knobwise/bench/hookup"
	"knobwise/bench/measurement"
	"knobwise/bench/trace"
	"knobwise/study/simulate"
)

// A record through a converter of few bits, with little noise and with more, comes back without a point that the steps falsify: what
// is left is off by no more than its stated noise explains, and the notice tells what is not there.
func TestStepsOfTheConverter(t *testing.T) {
	b, s := resonator(t, 100)
	h, err := hookup.Connect(b, b.Start(), s)
	if err != nil {
		t.Fatal(err)
	}
	over := s.Sweep
	over.Time = 20e-3
	read := func(q simulate.Question) (*trace.Trace, *simulate.Result) {
		q.Hookup, q.Sweep, q.Samples, q.Seed = h, over, 100_000, 5
		r, err := simulate.Run(t.Context(), q)
		if err != nil {
			t.Fatal(err)
		}
		x, err := trace.Read(t.Context(), bytes.NewReader(csv(r)), "c.csv", trace.Spec{Quantity: measurement.Waveform, Sweep: over})
		if err != nil {
			t.Fatal(err)
		}
		return x, r
	}
	exact, clean := read(simulate.Question{})
	peak := slices.Max(exact.Level)
	at := func(f float64) float64 {
		i, _ := slices.BinarySearch(exact.Frequency, f-1)
		i = min(i, len(exact.Frequency)-1)
		if math.Abs(exact.Frequency[i]-f) > 1 {
			// The fit leaves out the first and last points of some records: the curve itself.
			k := int(math.Round((f - over.From) / (over.To - over.From) * float64(len(clean.Envelope)-1)))
			return clean.Envelope[k]
		}
		return exact.Level[i]
	}
	furthest := func(x *trace.Trace) (times, where float64) {
		for i, f := range x.Frequency {
			if off := math.Abs(x.Level[i]-at(f)) / x.Noise; off > times {
				times, where = off, f
			}
		}
		return times, where
	}
	left, rows := 0, 0
	for _, bits := range []int{4, 6, 8, 12} {
		for _, parts := range []float64{0, 0.2, 0.5} {
			full := 2.5 * peak
			step := full / math.Exp2(float64(bits))
			x, _ := read(simulate.Question{Bits: bits, Full: full, Noise: parts * step})
			worst, worstAt := furthest(x)
			// The same noise without steps: what the reading itself is off by.
			smooth, _ := read(simulate.Question{Noise: step * math.Sqrt(parts*parts+1./12)})
			usual, _ := furthest(smooth)
			out := max(0, len(exact.Frequency)-len(x.Frequency))
			left += out
			rows++
			t.Logf("%2d bits, noise %.2f of a step: %4d points out, noise stated %.4f of a step, worst %.2f times it at %.0f Hz (%.2f steps), without steps %.2f times", bits, parts, out, x.Noise/step, worst, worstAt, at(worstAt)/step, usual)
			if worst > max(5.5, 1.3*usual) {
				t.Errorf("%d bits, noise %g of a step: a point is off by %g times its noise", bits, parts, worst)
			}
			told := slices.ContainsFunc(x.Notices, func(n string) bool { return strings.Contains(n, "converter's steps") })
			if told != (out > 0) && out > 30 {
				t.Errorf("%d bits, noise %g of a step: %d points are out, %q", bits, parts, out, x.Notices)
			}
			if parts >= 0.5 && out > 0 {
				t.Errorf("%d bits: noise of %g of a step takes the steps out, and %d points are left out", bits, parts, out)
			}
		}
	}
	if left == 0 || rows != 12 {
		t.Errorf("%d points left out, %d rows", left, rows)
	}
}
