package chirp

import (
	"errors"
	"math"
	"testing"

	"pgregory.net/rapid"
)

// The limits are kept, and one of them is met: a plan is the shortest. The logarithmic law has the rate f·ln(To/From)/T.
func TestShortestSweep(t *testing.T) {
	cases := 0
	rapid.Check(t, func(t *rapid.T) {
		law := drawLaw(t)
		f := law.Frequency(rapid.Float64Range(0, 1).Draw(t, "part"))
		f = min(max(f, min(law.From, law.To)), max(law.From, law.To))
		b := f / math.Exp(rapid.Float64Range(0, 7).Draw(t, "ln Q"))
		limits := Limits{Shift: b * math.Exp(rapid.Float64Range(-8, 1).Draw(t, "ln shift")), Loss: math.Exp(rapid.Float64Range(-8, 2).Draw(t, "ln loss"))}
		plan, err := ShortestSweep(law, f, b, limits)
		if err != nil {
			t.Fatal(err)
		}
		shift, loss := plan.Passage.Shift()*b/limits.Shift, plan.Passage.Loss()/limits.Loss
		if most := max(shift, loss); !(most <= 1+1e-9) || !(most >= 1-1e-6) {
			t.Fatalf("shift %g and loss %g of their limits", shift, loss)
		}
		law.Time = plan.Time
		if got := math.Abs(law.Rate(f)); math.Abs(got/plan.Rate-1) > 1e-12 || math.Abs(got/(b*b)/plan.Passage.Rho-1) > 1e-12 {
			t.Fatalf("rate %g, planned %g", got, plan.Rate)
		}
		cases++
	})
	if cases < 25 {
		t.Errorf("only %d", cases)
	}
	// By hand: a shift of 1 % of B = 5 kHz is 0.01 = (2/π)·rho within 0.1 %, so 4.5 MHz take 4.5e6/(0.0157·25e6) = 11.46 s.
	plan, err := ShortestSweep(Law{From: 0.5e6, To: 5e6}, 1e6, 5e3, Limits{Shift: 50})
	if err != nil || math.Abs(plan.Time/11.459-1) > 1e-3 {
		t.Errorf("%+v, %v", plan, err)
	}
}

// SteadyWidth undoes NewPassage.
func TestSteadyWidth(t *testing.T) {
	cases := 0
	rapid.Check(t, func(t *rapid.T) {
		rho := math.Exp(rapid.Float64Range(-9, 2.2).Draw(t, "ln rho"))
		b := math.Exp(rapid.Float64Range(0, 12).Draw(t, "ln B"))
		p, err := NewPassage(rho)
		if err != nil {
			t.Fatal(err)
		}
		got, err := SteadyWidth(-rho*b*b, p.Width*b)
		if err != nil || math.Abs(got/b-1) > 1e-6 {
			t.Fatalf("rho %g: B = %g Hz, want %g; %v", rho, got, b, err)
		}
		cases++
	})
	if cases < 25 {
		t.Errorf("only %d", cases)
	}
	if _, err := SteadyWidth(1e6, 880); !isTooFast(err) {
		t.Errorf("0.88·√rate wide: %v", err)
	}
}

func isTooFast(err error) bool {
	_, ok := errors.AsType[*TooFastError](err)
	return ok
}

// The passage follows its own differential equation: the envelope against the drive, E'/π + (1 + 2jρx)E = 1.
func TestPassingSolvesItsEquation(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		rho := math.Exp(rapid.Float64Range(-7, 7).Draw(t, "ln rho"))
		x := rapid.Float64Range(-3, 3).Draw(t, "x") / math.Max(1, math.Sqrt(rho))
		h := 1e-3 / math.Max(1, math.Sqrt(rho)+rho*math.Abs(x))
		slope := (8*(passing(rho, x+h)-passing(rho, x-h)) - passing(rho, x+2*h) + passing(rho, x-2*h)) / complex(12*h, 0)
		left := slope/math.Pi + complex(1, 2*rho*x)*passing(rho, x) - 1
		if off := math.Hypot(real(left), imag(left)); !(off < 1e-8*(1+rho*math.Abs(x))) {
			t.Fatalf("rho %g, x %g: %.2g is left", rho, x, off)
		}
	})
}

// Slow and fast limits join the rest without a step.
func TestPassageLimits(t *testing.T) {
	for _, rho := range []float64{0, 0.9e-6, 1.1e-6, 1e-5} {
		p, err := NewPassage(rho)
		if err != nil || math.Abs(p.Peak-1) > 1e-9 || math.Abs(p.Delay-2/math.Pi) > 1e-4 || math.Abs(p.Width-1) > 1e-6 {
			t.Errorf("%+v, %v", p, err)
		}
	}
	for _, rho := range []float64{-1, math.NaN(), math.Inf(1), 2e6} {
		if _, err := NewPassage(rho); err == nil {
			t.Errorf("rho %g was taken", rho)
		}
	}
	if _, err := NewPassage(fastest); err != nil {
		t.Error(err)
	}
}

// At each gap the carrier is the stated multiple of half the sampling rate, and samples at the worst phase show
// |sin(π·S·t²)| of the envelope there: whole at the ends of the gap, nothing in its middle.
func TestFalseGaps(t *testing.T) {
	total := 0
	for _, law := range []Law{{From: 0.5e6, To: 5e6, Time: 0.2}, {From: 5e6, To: 0.5e6, Time: 10}, {From: 0.5e6, To: 5e6, Time: 1, Spacing: Logarithmic}} {
		const interval = 1e-6
		gaps, err := FalseGaps(law, interval)
		if err != nil {
			t.Fatal(err)
		}
		if len(gaps) != 10 { // 0.5, 1, ... 5 MHz
			t.Fatalf("%v: %d gaps, want 10", law, len(gaps))
		}
		for i, g := range gaps {
			total++
			if i > 0 && g.Time <= gaps[i-1].Time {
				t.Errorf("gap %d at %g s is out of order", i, g.Time)
			}
			if math.Abs(g.Frequency-float64(g.Multiple)*0.5e6) > 1e-6 || math.Abs(law.Frequency(g.Time)/g.Frequency-1) > 1e-12 {
				t.Errorf("%+v is not at a multiple of half a megahertz", g)
			}
			if g.Time < g.WidthTime || g.Time > law.Time-g.WidthTime {
				continue // at an end of the sweep
			}
			phase := -2*math.Pi*fraction(law.Cycles(g.Time)) + math.Pi/2 // zero of the carrier in the middle
			seen := func(from, to float64) float64 {
				greatest := 0.0
				for k := math.Ceil(from / interval); k*interval < to; k++ {
					at := g.Time + k*interval
					greatest = max(greatest, math.Abs(math.Cos(2*math.Pi*fraction(law.Cycles(at))+phase)))
				}
				return greatest
			}
			if middle := seen(-g.WidthTime/8, g.WidthTime/8); middle > 0.15 {
				t.Errorf("%v: %.2f is seen in the middle of the gap at %g Hz", law, middle, g.Frequency)
			}
			if end := seen(0.4*g.WidthTime, 0.6*g.WidthTime); end < 0.95 {
				t.Errorf("%v: %.2f is seen at the end of the gap at %g Hz", law, end, g.Frequency)
			}
			if math.Abs(g.Width/g.WidthTime/math.Abs(law.Rate(g.Frequency))-1) > 1e-12 {
				t.Errorf("%+v: widths do not agree", g)
			}
		}
	}
	if total != 30 {
		t.Errorf("%d gaps", total)
	}
	for _, interval := range []float64{1e-7, 2e-4} { // no multiple within, and all overlapping
		if gaps, err := FalseGaps(Law{From: 0.5e6, To: 4.9e6, Time: 0.2}, interval); err != nil || len(gaps) != 0 {
			t.Errorf("%g s: %d gaps, %v", interval, len(gaps), err)
		}
	}
}
