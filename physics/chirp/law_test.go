package chirp

import (
	"math"
	"testing"

	"pgregory.net/rapid"
)

func drawLaw(t *rapid.T) Law {
	log := func(name string, lo, hi float64) float64 {
		return math.Exp(rapid.Float64Range(math.Log(lo), math.Log(hi)).Draw(t, name))
	}
	l := Law{From: log("from", 1e3, 1e7), To: log("to", 1e3, 1e7), Time: log("time", 1e-3, 100)}
	if rapid.Bool().Draw(t, "logarithmic") {
		l.Spacing = Logarithmic
	}
	if l.Validate() != nil || math.Abs(l.To-l.From) < 1e-3*l.From {
		l.To = 2 * l.From
	}
	return l
}

// Frequency, time, rate and phase of a law agree with one another: At undoes Frequency, Rate is the slope of Frequency,
// and Cycles its integral (Simpson's rule over a short stretch).
func TestLawAgreesWithItself(t *testing.T) {
	cases := 0
	rapid.Check(t, func(t *rapid.T) {
		l := drawLaw(t)
		at := rapid.Float64Range(0.01, 0.98).Draw(t, "part") * l.Time
		f := l.Frequency(at)
		if off := math.Abs(l.At(f)-at) / l.Time; !(off < 1e-12) {
			t.Fatalf("%v: passes %g Hz at %g, not at %g", l, f, l.At(f), at)
		}
		h := 1e-3 * l.Time
		slope := (l.Frequency(at+h) - l.Frequency(at-h)) / (2 * h)
		if off := math.Abs(slope/l.Rate(f) - 1); !(off < 2e-5) { // (kh)²/6 with k·Time = ln ratio up to 9.2
			t.Fatalf("%v: rate %g, slope %g", l, l.Rate(f), slope)
		}
		simpson := h / 6 * (l.Frequency(at) + 4*l.Frequency(at+h/2) + l.Frequency(at+h))
		direct, difference := l.advance(at, h), l.Cycles(at+h)-l.Cycles(at)
		if off := math.Abs(direct/simpson - 1); !(off < 1e-10) {
			t.Fatalf("%v: %g cycles, integral %g", l, direct, simpson)
		}
		if off := math.Abs(difference - direct); !(off < 1e-14*math.Abs(l.Cycles(at))+1e-12*direct) {
			t.Fatalf("%v: cycles differ by %g over a stretch of %g", l, difference, direct)
		}
		cases++
	})
	if cases < 25 {
		t.Errorf("only %d laws", cases)
	}
}

// Outside the sweep the law stands still, and neither frequency nor phase jumps at its ends.
func TestLawOutsideTheSweep(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		l := drawLaw(t)
		if l.Frequency(-1) != l.From || l.Frequency(0) != l.From || l.Frequency(l.Time) != l.To || l.Frequency(l.Time+1) != l.To {
			t.Fatalf("%v does not stand still outside", l)
		}
		for _, end := range []float64{0, l.Time} {
			step := 1e-9 * l.Time
			rise := (l.Cycles(end+step) - l.Cycles(end-step)) / (2 * step * l.Frequency(end))
			if math.Abs(rise-1) > 1e-8*(1+max(l.To/l.From, l.From/l.To))+1e-15*math.Abs(l.Cycles(end))/(step*l.Frequency(end)) {
				t.Fatalf("%v: the phase jumps at %g: %g", l, end, rise)
			}
		}
		if !math.IsNaN(l.At(min(l.From, l.To)/2)) || !math.IsNaN(l.At(2*max(l.From, l.To))) {
			t.Fatal("passes a frequency outside the sweep")
		}
	})
}

func TestPhaseByHand(t *testing.T) {
	// 1 to 3 kHz in 2 s: F = 1000 + 1000 t, 1000 + 500 cycles after 1 s, 4000 after 2 s, then 3000 more per second.
	l := Law{From: 1e3, To: 3e3, Time: 2}
	for at, want := range map[float64]float64{-1: -1000, 0: 0, 1: 1500, 2: 4000, 3: 7000} {
		if got := l.Cycles(at); got != want {
			t.Errorf("linear, %g s: %g cycles, want %g", at, got, want)
		}
	}
	// 1 to e kHz in 1 s: 1000(e-1) cycles.
	l = Law{From: 1e3, To: 1e3 * math.E, Time: 1, Spacing: Logarithmic}
	if got, want := l.Cycles(1), 1e3*(math.E-1); math.Abs(got-want) > 1e-9 {
		t.Errorf("logarithmic: %g cycles, want %g", got, want)
	}
}
