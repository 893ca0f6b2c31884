package tune

import (
	"math"
	"math/rand/v2"
	"testing"

	"knobwise/bench/box"
)

// varied draws boxes of all sorts.
func varied(t *testing.T, random *rand.Rand, i int) sample {
	k := kinds{knobs: true}
	switch i % 6 {
	case 3:
		k.gangs = true
	case 5:
		k.slides = true
	}
	return draw(t, random, k)
}

// An exhaustive search by the full solve finds no stronger signal, not by 1e-6 dB.
func TestNothingIsStronger(t *testing.T) {
	random := rand.New(rand.NewPCG(4, 3))
	tried, settings, proven, gangs, slides, worst := 0, 0, 0, 0, 0, math.Inf(-1)
	for i := range 18 {
		s := varied(t, random, i)
		a := run(t, Question{Box: s.box, Setup: s.setup, Frequencies: []float64{s.f}}).Answers[0]
		best, at, n := exhaustive(s.box, 500, 2, 1e-6, func(x box.Setting) float64 { return solve(t, s.box, x, s.setup).gain(s.f) })
		tried, settings = tried+1, settings+n
		worst = math.Max(worst, best-a.InsertionGain)
		if best > a.InsertionGain+1e-6 {
			t.Errorf("box %d at %g Hz: %.9g dB at %s, %.9g dB at %s found\n%s", i, s.f, a.InsertionGain, s.box.Describe(a.Setting), best, s.box.Describe(at), s.text)
		}
		if a.Proven {
			proven++
			if !(a.Gap <= 1e-6) {
				t.Errorf("box %d: proven with a gap of %g dB", i, a.Gap)
			}
		} else if !s.slide {
			t.Errorf("box %d: not proven, the gap is %g dB\n%s", i, a.Gap, s.text)
		}
		switch i % 6 {
		case 3:
			gangs++
		case 5:
			slides++
		}
	}
	t.Logf("%d boxes (%d with a gang, %d with one that slides), %d settings, %d proven; the best found is stronger by at most %.2g dB", tried, gangs, slides, settings, proven, worst)
	if tried < 18 || proven < 15 || settings < 15_000 {
		t.Error("too few")
	}
}

// Nor does it find a better rejection within the same loss, by 0.05 dB.
func TestNothingRejectsBetter(t *testing.T) {
	random := rand.New(rand.NewPCG(4, 4))
	settings, given, worst := 0, 0, math.Inf(-1)
	for i := range 12 {
		s := varied(t, random, i)
		reject := []float64{s.f * (0.5 + 0.45*random.Float64()), s.f * (1.05 + random.Float64())}[:1+random.IntN(2)]
		within := 0.5 + 5*random.Float64()
		a := run(t, Question{Box: s.box, Setup: s.setup, Frequencies: []float64{s.f}, Aim: Rejection, Reject: reject, Within: &within}).Answers[0]
		best, at, n := exhaustive(s.box, 400, 3, 1e-6, func(x box.Setting) float64 {
			h := solve(t, s.box, x, s.setup)
			if h.gain(s.f) < a.Strongest.InsertionGain-within {
				return math.Inf(-1)
			}
			return h.rejection(s.f, reject...)
		})
		settings, worst = settings+n, math.Max(worst, best-a.Objective)
		if a.InsertionGain < a.Strongest.InsertionGain-within-1e-6 {
			t.Errorf("box %d: %g dB given up, %g allowed", i, a.Strongest.InsertionGain-a.InsertionGain, within)
		}
		if a.InsertionGain < a.Strongest.InsertionGain-0.01 {
			given++
		}
		if best > a.Objective+0.05 {
			t.Errorf("box %d at %g Hz against %v: %.6g dB at %s, %.6g dB at %s found\n%s", i, s.f, reject, a.Objective, s.box.Describe(a.Setting), best, s.box.Describe(at), s.text)
		}
	}
	t.Logf("%d settings; the best found rejects better by at most %.2g dB; %d boxes gave up signal", settings, worst, given)
	if settings < 10_000 || given < 6 {
		t.Error("too few")
	}
}

// The wanted level is met to 1e-6 dB, and of the settings that meet it (looked for along every knob with the others on a
// grid) none rejects what lies to either side better, by 0.05 dB.
func TestLevel(t *testing.T) {
	random := rand.New(rand.NewPCG(4, 5))
	met, crossings, off, worst := 0, 0, 0.0, math.Inf(-1)
	for i := range 12 {
		s := varied(t, random, i)
		strongest := run(t, Question{Box: s.box, Setup: s.setup, Frequencies: []float64{s.f}}).Answers[0]
		level := strongest.InsertionGain - 20*random.Float64()
		a := run(t, Question{Box: s.box, Setup: s.setup, Frequencies: []float64{s.f}, Aim: Level, Level: level}).Answers[0]
		ks := knobs(s.box)
		const n = 24
		lines := 60
		if len(ks) == 1 {
			lines = 1
		}
		for _, start := range everything(s.box) {
			for line := range ks {
				for range lines {
					part := make([]float64, len(ks))
					for k := range part {
						part[k] = float64(random.IntN(n+1)) / float64(n)
					}
					above := func(x float64) bool {
						part[line] = x
						return solve(t, s.box, turned(start, ks, part), s.setup).gain(s.f) > level
					}
					last := above(0)
					for j := range n {
						low, high := float64(j)/n, float64(j+1)/n
						next := above(high)
						if next == last {
							continue
						}
						for range 40 {
							if m := (low + high) / 2; above(m) == last {
								low = m
							} else {
								high = m
							}
						}
						part[line] = low
						crossings++
						h := solve(t, s.box, turned(start, ks, part), s.setup)
						better := h.attenuated(s.f) - a.Objective
						if worst = math.Max(worst, better); !a.Met || better > 0.05 {
							t.Errorf("box %d at %g Hz, %g dB: met %v with %.6g dB rejection at %s (%s); %.6g dB more at %s\n%s", i, s.f, level, a.Met, a.Objective,
								s.box.Describe(a.Setting), a.Why, better, s.box.Describe(turned(start, ks, part)), s.text)
						}
						last = next
					}
				}
			}
		}
		if a.Met {
			met++
			off = math.Max(off, math.Abs(a.InsertionGain-level))
			if !(math.Abs(a.InsertionGain-level) <= 1e-6) {
				t.Errorf("box %d: %.9g dB for %.9g dB", i, a.InsertionGain, level)
			}
		}
	}
	t.Logf("%d of 12 met, off by at most %.2g dB; %d crossings, at most %.2g dB better", met, off, crossings, worst)
	if met < 7 || crossings < 250 {
		t.Error("too few")
	}
}

// No setting found has a passband wider by 1 %, nor a ripple smaller by 0.05 dB.
func TestNothingIsWiderOrFlatter(t *testing.T) {
	random := rand.New(rand.NewPCG(14, 6))
	settings, wider, flatter, held, ends := 0, math.Inf(-1), math.Inf(-1), 0, 0
	for i := range 7 {
		s := varied(t, random, i)
		q := Question{Box: s.box, Setup: s.setup, Frequencies: []float64{s.f}, Aim: Width}
		a := run(t, q).Answers[0]
		least := a.Strongest.InsertionGain - DefaultWithin
		best, at, n := exhaustive(s.box, 60, 1, 1e-3, func(x box.Setting) float64 {
			h := solve(t, s.box, x, s.setup)
			if h.gain(s.f) < least {
				return math.Inf(-1)
			}
			return h.width(s.f)
		})
		settings, wider = settings+n, math.Max(wider, best/a.Objective-1)
		if a.Objective > 3.7*s.f {
			ends++
		}
		if best > a.Objective*1.01 {
			t.Errorf("box %d at %g Hz: %.6g Hz at %s, %.6g Hz at %s found\n%s", i, s.f, a.Objective, s.box.Describe(a.Setting), best, s.box.Describe(at), s.text)
		}
		part := 0.02 + 0.1*random.Float64()
		q.Aim, q.Span = Flat, &Span{s.f * (1 - part), s.f * (1 + part)}
		a = run(t, q).Answers[0]
		best, at, n = exhaustive(s.box, 120, 1, 1e-4, func(x box.Setting) float64 {
			ripple, low := solve(t, s.box, x, s.setup).ripple(q.Span.From, q.Span.To)
			if low < least {
				return -1000 - (least - low)
			}
			return -ripple
		})
		settings += n
		_, low := solve(t, s.box, a.Setting, s.setup).ripple(q.Span.From, q.Span.To)
		told := -a.Objective
		if a.Met {
			held++
			if low < least-0.02 {
				t.Errorf("box %d: the span falls to %g dB, %g allowed", i, low, least)
			}
		} else {
			told = -1000 - a.Short
			if math.Abs(least-low-a.Short) > 0.02 {
				t.Errorf("box %d: %g dB short told, %g dB found", i, a.Short, least-low)
			}
		}
		flatter = math.Max(flatter, best-told)
		if best > told+0.05 {
			t.Errorf("box %d over %v: %.6g (%v) at %s, %.6g at %s found\n%s", i, *q.Span, told, a.Met, s.box.Describe(a.Setting), best, s.box.Describe(at), s.text)
		}
	}
	t.Logf("%d settings; wider by at most %.2g (relative), flatter by at most %.2g dB; %d of 7 spans held, %d bands without end", settings, wider, flatter, held, ends)
	if settings < 3000 || held < 4 || ends > 2 {
		t.Error("too few")
	}
}

// With nothing but a knob that is asked one reading after another, every aim is still met between its readings, where the
// peak is far narrower than these lie apart.
func TestSlidingAlone(t *testing.T) {
	const text = `
box: Gang
terminals: {antenna: a, receiver: c}
parts:
  C1: {kind: capacitor, nodes: [a, m], value: 4 pF}
  L1: {kind: inductor, nodes: [m, ground], value: 20 uH, Q: 300}
  G1: {kind: variable capacitor, nodes: [m, ground], range: 20 pF .. 400 pF}
  C2: {kind: capacitor, nodes: [m, c], value: 4 pF}
  G2: {kind: variable capacitor, nodes: [c, ground], range: 5 pF .. 20 pF, law: log}
controls:
  Tune: {knob: [G1, G2], scale: 0 .. 100}
`
	b, st := parse(t, text, ohms)
	const f = 2.5e6
	gain := func(s box.Setting) float64 { return solve(t, b, s, st).gain(f) }
	best, _, _ := exhaustive(b, 4000, 2, 1e-12, gain)
	r := run(t, Question{Box: b, Setup: st, Frequencies: []float64{f}})
	a := r.Answers[0]
	if !(math.Abs(a.InsertionGain-best) <= 1e-6) || a.Proven || !math.IsNaN(a.Gap) || len(r.Notices) != 1 || r.Asked != 33 {
		t.Errorf("%.9g dB, %.9g dB found; proven %v, asked %d, %v", a.InsertionGain, best, a.Proven, r.Asked, r.Notices)
	}
	if w := a.Tolerance[0]; !(w.High-w.Low < 3) {
		t.Errorf("the peak is no test: %v", w)
	}
	for _, level := range []float64{best - 0.5, best - 1, best - 10} {
		a := run(t, Question{Box: b, Setup: st, Frequencies: []float64{f}, Aim: Level, Level: level}).Answers[0]
		if !a.Met || math.Abs(a.InsertionGain-level) > 1e-6 || math.Abs(gain(a.Setting)-level) > 1e-6 {
			t.Errorf("level %g dB: met %v, %.9g dB, %s", level, a.Met, a.InsertionGain, a.Why)
		}
	}
	for _, aim := range []Aim{Rejection, Width, Flat} {
		q := Question{Box: b, Setup: st, Frequencies: []float64{f}, Aim: aim}
		switch aim {
		case Rejection:
			q.Reject = []float64{1.1 * f}
		case Flat:
			q.Span = &Span{0.999 * f, 1.001 * f}
		}
		a := run(t, q).Answers[0]
		better, _, _ := exhaustive(b, 4000, 1, 1e-6, func(s box.Setting) float64 {
			h := solve(t, b, s, st)
			if h.gain(f) < best-3 {
				return math.Inf(-1)
			}
			switch aim {
			case Rejection:
				return h.rejection(f, q.Reject...)
			case Width:
				return 10 * math.Log10(h.width(f)) // 0.05 is a hundredth
			}
			ripple, low := h.ripple(q.Span.From, q.Span.To)
			if low < best-3 {
				return math.Inf(-1)
			}
			return -ripple
		})
		told := map[Aim]float64{Rejection: a.Objective, Width: 10 * math.Log10(a.Objective), Flat: -a.Objective}[aim]
		if !a.Met || better > told+0.05 {
			t.Errorf("%s: met %v (%s), %g told, %g found", aim, a.Met, a.Why, told, better)
		}
	}
}
