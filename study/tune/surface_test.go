package tune

import (
	"context"
	"math"
	"math/rand/v2"
	"testing"
)

// The edge of the passband of a single tuned circuit, whose ratio is 1 + (2Qδ)², is exact between any points; a turn that
// comes out of the range between them ends the band, and one that stays inside does not.
func TestEdge(t *testing.T) {
	random := rand.New(rand.NewPCG(4, 10))
	edges, worst := 0, 0.0
	for range 500 {
		sharp := math.Pow(10, 4*random.Float64()-1)
		growth := 1.05 + 0.4*random.Float64()
		var distance []float64
		for d := 0.3 * random.Float64() / sharp; d < 100/sharp; d *= growth {
			distance = append(distance, d)
		}
		for _, c := range []struct{ centre, want float64 }{
			{0, 1 / sharp},
			{-0.4 / sharp, (math.Sqrt(1+2*0.16) - 0.4) / sharp}, // to one side of the peak: (1 + z²)/(1 + 0.4²) = 2 at z = δ + 0.4
		} {
			at := func(i int) float64 {
				z := sharp * (distance[i] - c.centre)
				return (1 + z*z) / (1 + sharp*sharp*c.centre*c.centre)
			}
			got := edge(distance, at)
			edges++
			worst = math.Max(worst, math.Abs(got/c.want-1))
			if !(math.Abs(got/c.want-1) < 1e-9) {
				t.Errorf("sharpness %g, centre %g: %g, want %g", sharp, c.centre, got, c.want)
			}
		}
	}
	t.Logf("%d edges, off by at most %.2g", edges, worst)
	// A dip whose points lie inside and whose turn does not, and the same a little shallower.
	distance := []float64{1, 2, 3, 4, 5}
	for _, c := range []struct {
		depth float64
		ends  bool
	}{{1.0, true}, {0.93, false}} {
		got := edge(distance, func(i int) float64 { d := distance[i] - 2.5; return 1 + c.depth - 0.2*d*d })
		if (got < 3) != c.ends {
			t.Errorf("a dip to %g: the band reaches %g", 1+c.depth, got)
		}
	}
}

// The ranges of a gang end where its power crosses the threshold, and no other place does: seen on a fine grid.
func TestGangRanges(t *testing.T) {
	random := rand.New(rand.NewPCG(4, 11))
	ends, places := 0, 0
	for range 40 {
		s := draw(t, random, kinds{gangs: true})
		a := tunerFor(t, Question{Box: s.box, Setup: s.setup, Frequencies: []float64{s.f}})
		for _, l := range a.lanes {
			most := l.best.Power
			for _, part := range []float64{0.999999, 0.9, 0.5, 0.1, 0.001} {
				var one line
				one.set(&l.h)
				if one.gang == nil {
					t.Fatal("no gang")
				}
				ranges := one.above(part * most)
				for _, r := range ranges {
					for _, x := range []float64{r.Low, r.High} {
						if math.Abs(x) < 1 {
							if ends++; math.Abs(one.power(x)/(part*most)-1) > 1e-9 {
								t.Errorf("at %g of the largest power, an end has %g times the threshold", part, one.power(x)/(part*most))
							}
						}
					}
				}
				for i := range 400 {
					x := -1 + float64(i)/200
					inside := false
					for _, r := range ranges {
						inside = inside || (x >= r.Low && x <= r.High)
					}
					if p := one.power(x) / (part * most); math.Abs(p-1) > 1e-9 {
						if places++; inside != (p > 1) {
							t.Errorf("at %g: %g times the threshold, inside %v", x, p, inside)
						}
					}
				}
			}
		}
	}
	t.Logf("%d ends, %d places", ends, places)
	if ends < 200 || places < 50_000 {
		t.Error("too few")
	}
}

// tunerFor has its lanes and the strongest signal of each.
func tunerFor(t *testing.T, q Question) *tuner {
	t.Helper()
	w, err := newWork(q)
	if err != nil {
		t.Fatal(err)
	}
	a := &tuner{work: w, f: q.Frequencies[0], threads: 1}
	spots, err := a.signal(t.Context(), &Answer{})
	if err != nil {
		t.Fatal(err)
	}
	a.peak = spots[0]
	return a
}

// On the way from the weakest to the strongest setting every level between is met.
func TestTowards(t *testing.T) {
	random := rand.New(rand.NewPCG(4, 12))
	met := 0
	for i := range 12 {
		s := draw(t, random, kinds{knobs: true, gangs: i%3 == 0})
		a := tunerFor(t, Question{Box: s.box, Setup: s.setup, Frequencies: []float64{s.f}})
		for _, l := range a.lanes {
			a.goal = weakening(s.f)
			w, err := a.surface(l, a.goal)
			if err != nil {
				t.Fatal(err)
			}
			weakest := w.solve(context.Background())
			if len(weakest) == 0 || -weakest[0].score > l.best.Power {
				t.Fatalf("%d weakest settings of %g", len(weakest), l.best.Power)
			}
			a.goal = rejecting(s.f, nil)
			a.goal.floor = math.Sqrt(-weakest[0].score * l.best.Power)
			to, err := a.surface(l, a.goal)
			if err != nil {
				t.Fatal(err)
			}
			x := to.towards(to.reduced(weakest[0].x), to.reduced(l.best.X))
			if met++; math.Abs(l.h.Power(to.expanded(spot{l, x, 0}).x)/a.goal.floor-1) > 1e-9 {
				t.Errorf("%g of %g", l.h.Power(to.expanded(spot{l, x, 0}).x), a.goal.floor)
			}
		}
	}
	if met < 12 {
		t.Errorf("%d lanes", met)
	}
}
