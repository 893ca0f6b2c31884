package tune

import (
	"math"
	"math/rand/v2"
	"testing"

	"knobwise/bench/box"
	"knobwise/bench/setup"
)

// questions are all aims on the demonstration boxes and on random ones.
func questions(t *testing.T) (all []Question) {
	t.Helper()
	random := rand.New(rand.NewPCG(4, 7))
	type bench struct {
		box   *box.Box
		setup *setup.Setup
		f     float64
	}
	var benches []bench
	for _, c := range [][2]string{{"tern-point", "bench-50"}, {"tern-point", "parapet-wire"}, {"harbour-t", "bench-probe"}, {"lamp-room", "short-wire"}} {
		b, st := loaded(t, c[0]+".box.yaml", c[1]+".setup.yaml")
		for _, f := range []float64{0.9e6, 2.3e6} {
			benches = append(benches, bench{b, st, f})
		}
	}
	for i := range 12 {
		s := varied(t, random, i)
		benches = append(benches, bench{s.box, s.setup, s.f})
	}
	for _, b := range benches {
		for _, aim := range Aims {
			q := Question{Box: b.box, Setup: b.setup, Frequencies: []float64{b.f}, Aim: aim}
			switch aim {
			case Rejection:
				q.Reject = []float64{b.f * 0.8, b.f * 1.5}
			case Level:
				q.Level = -12
			case Flat:
				q.Span = &Span{b.f * 0.98, b.f * 1.03}
			}
			all = append(all, q)
		}
	}
	return all
}

// attenuated is the figure of the Level aim: rejection a fifth beside, less four times what is stronger inside beyond 3 dB.
func (s solved) attenuated(f float64) float64 {
	var near []float64
	for _, d := range []float64{0.004, 0.006, 0.009, 0.0135, 0.02, 0.03, 0.046, 0.068, 0.1, 0.15} {
		near = append(near, f*(1-d), f*(1+d))
	}
	stronger := -s.rejection(f, near...) - 10*math.Log10(2)
	return s.rejection(f, 0.8*f, 1.2*f) - 4*math.Max(0, stronger)
}

// Every figure of every answer is that of the full solve at its setting: gains, objective, peak, width; the runners-up are
// as good as said and set differently; at the limits of a dial the gain is 1 dB off, or the scale ends.
func TestFiguresAreTrue(t *testing.T) {
	half := 10 * math.Log10(2)
	choices, peaks, limits, stops, runners, sacrificed, unmet := 0, 0, 0, 0, 0, 0, 0
	gainOff, limitOff := 0.0, 0.0
	for _, q := range questions(t) {
		a := run(t, q).Answers[0]
		f := q.Frequencies[0]
		where := func() string { return q.Box.Name + ", " + string(q.Aim) + ": " + q.Box.Describe(a.Setting) }
		objective := func(s solved) float64 {
			switch q.Aim {
			case Rejection:
				return s.rejection(f, q.Reject...)
			case Level:
				return s.attenuated(f)
			case Width:
				return s.width(f)
			case Flat:
				r, _ := s.ripple(q.Span.From, q.Span.To)
				return r
			}
			return s.gain(f)
		}
		for _, c := range append([]Choice{a.Choice, a.Strongest}, a.RunnersUp...) {
			choices++
			s := solve(t, q.Box, c.Setting, q.Setup)
			insertion, transducer, _ := s.at(f)
			off := math.Abs(insertion - c.InsertionGain)
			if !math.IsInf(transducer, 0) && !math.IsNaN(transducer) {
				off = math.Max(off, math.Abs(transducer-c.TransducerGain))
			} else if !math.IsNaN(c.TransducerGain) {
				t.Errorf("%s: transducer gain %g does not exist", where(), c.TransducerGain)
			}
			gainOff = math.Max(gainOff, off)
			tolerance := 1e-9
			switch q.Aim {
			case Width:
				tolerance = 0.02 * c.Objective // a turn that grazes the limit between the points of one walk or the other
			case Flat:
				tolerance = 0.01 // between points
			}
			if want := objective(s); !(off < 1e-9) || !(math.Abs(want-c.Objective) <= tolerance) {
				t.Errorf("%s: gain off by %g dB, objective %.9g, %.9g solved", where(), off, c.Objective, want)
			}
		}
		if !a.Met {
			unmet++
		} else if given := a.Strongest.InsertionGain - a.InsertionGain; q.Aim != Level && q.Aim != Signal && given > DefaultWithin+0.001 {
			t.Errorf("%s: %g dB given up", where(), given)
		}
		if len(a.Sacrificed) > 0 {
			sacrificed++
		}

		s := solve(t, q.Box, a.Setting, q.Setup)
		level := func(g float64) float64 { _, _, v := s.at(g); return v }
		if !math.IsNaN(a.Peak) && !math.IsNaN(a.Bandwidth) {
			peaks++
			top := level(a.Peak)
			if !(top >= level(a.Peak*(1-1e-4)) && top >= level(a.Peak*(1+1e-4))) {
				t.Errorf("%s: no peak at %g Hz", where(), a.Peak)
			}
			// Between the half-power points lies the width told: neither end is known, but the distance from where it starts.
			low, high := a.Peak, a.Peak
			for low > a.Peak/8 && level(low) > top-half {
				low -= a.Bandwidth / 2000
			}
			for high < 8*a.Peak && level(high) > top-half {
				high += a.Bandwidth / 2000
			}
			if off := (high-low)/a.Bandwidth - 1; !(off >= 0 && off <= 1.2e-3) || math.Abs(a.LoadedQ*a.Bandwidth/a.Peak-1) > 1e-12 {
				t.Errorf("%s: peak at %g Hz, %g Hz wide, %g Hz walked, loaded Q %g", where(), a.Peak, a.Bandwidth, high-low, a.LoadedQ)
			}
		}
		if len(a.Tolerance) != len(knobs(q.Box)) {
			t.Errorf("%s: tolerances of %d knobs", where(), len(a.Tolerance))
		}
		for _, l := range a.Tolerance {
			k := q.Box.Control(l.Control).Knob
			at := a.Setting[l.Control].Number
			if !(l.Low <= at && at <= l.High) {
				t.Errorf("%s: %s may stand from %g to %g", where(), l.Control, l.Low, l.High)
			}
			gain := func(reading float64) float64 {
				return solve(t, q.Box, a.Setting.With(l.Control, box.Reading{Number: reading}), q.Setup).gain(f)
			}
			for _, limit := range []float64{l.Low, l.High} {
				off := math.Abs(gain(limit) - a.InsertionGain)
				if (limit == k.From || limit == k.To) && off < 1 {
					stops++
					continue
				}
				limits++
				limitOff = math.Max(limitOff, math.Abs(off-1))
				if !(math.Abs(off-1) <= 1e-6) {
					t.Errorf("%s: at %s %.12g the gain is off by %.9g dB", where(), l.Control, limit, off)
				}
			}
			// Inside it stays within.
			for i := 1; i < 40; i++ {
				reading := l.Low + (l.High-l.Low)*float64(i)/40
				if off := math.Abs(gain(reading) - a.InsertionGain); off > 1+1e-6 {
					t.Errorf("%s: inside its limits, at %s %g, the gain is off by %g dB", where(), l.Control, reading, off)
				}
			}
		}
		if len(a.RunnersUp) > 5 {
			t.Errorf("%s: %d runners-up", where(), len(a.RunnersUp))
		}
		for i, c := range a.RunnersUp {
			runners++
			good := false
			switch {
			case q.Aim == Signal, !a.Met:
				good = c.InsertionGain >= a.InsertionGain-0.5
			case q.Aim == Width:
				good = c.Objective >= 0.9*a.Objective
			case q.Aim == Flat:
				good = c.Objective <= a.Objective+0.5
			default:
				good = c.Objective >= a.Objective-0.5
			}
			if !good || (a.Met && q.Aim == Level && math.Abs(c.InsertionGain-q.Level) > 1e-6) {
				t.Errorf("%s: not as good: %+v", where(), c)
			}
			for _, o := range append([]Choice{a.Choice}, a.RunnersUp[:i]...) {
				apart := false
				for _, control := range q.Box.Controls {
					here, there := c.Setting[control.Name], o.Setting[control.Name]
					if control.Switch != nil {
						apart = apart || here != there
					} else {
						apart = apart || math.Abs(here.Number-there.Number) > 0.1*math.Abs(control.Knob.To-control.Knob.From)
					}
				}
				if !apart {
					t.Errorf("%s: %s is the same as %s", where(), q.Box.Describe(c.Setting), q.Box.Describe(o.Setting))
				}
			}
		}
	}
	t.Logf("%d choices, gains off by at most %.2g dB; %d peaks; %d limits, off by at most %.2g dB, %d stops; %d runners-up; %d gave up signal, %d not met",
		choices, gainOff, peaks, limits, limitOff, stops, runners, sacrificed, unmet)
	if choices < 200 || peaks < 30 || limits < 150 || stops < 30 || runners < 30 || sacrificed < 20 || unmet < 2 {
		t.Error("too few")
	}
}
