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
		best, at, n := exhaustive(s.box, 500, 3, 1e-8, func(x box.Setting) float64 { return solve(t, s.box, x, s.setup).gain(s.f) })
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
	for i := range 6 {
		s := varied(t, random, i)
		strongest := run(t, Question{Box: s.box, Setup: s.setup, Frequencies: []float64{s.f}}).Answers[0]
		level := strongest.InsertionGain - 20*random.Float64()
		a := run(t, Question{Box: s.box, Setup: s.setup, Frequencies: []float64{s.f}, Aim: Level, Level: level}).Answers[0]
		ks := knobs(s.box)
		n := 48 / len(ks)
		for _, start := range everything(s.box) {
			for line := range ks {
				for range n * n / len(ks) {
					part := make([]float64, len(ks))
					for k := range part {
						part[k] = float64(random.IntN(n+1)) / float64(n)
					}
					above := func(x float64) bool {
						part[line] = x
						return solve(t, s.box, turned(start, ks, part), s.setup).gain(s.f) > level
					}
					last := above(0)
					for j := range 24 {
						low, high := float64(j)/24, float64(j+1)/24
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
						better := h.rejection(s.f, 0.8*s.f, 1.2*s.f) - a.Objective
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
	t.Logf("%d of 6 met, off by at most %.2g dB; %d crossings, at most %.2g dB better", met, off, crossings, worst)
	if met < 4 || crossings < 250 {
		t.Error("too few")
	}
}
