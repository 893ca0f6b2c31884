package identify

import (
	"cmp"
	"context"
	"fmt"
	"math"
	"slices"
	"strings"

	"knobwise/bench/quantity"
	"knobwise/study/leastsquares"
)

// Degenerate is some values that move together without showing.
type Degenerate struct {
	Parts       []string // names of the values
	Combination string   // what of them is determined, in words; empty where nothing simple is
	Value       float64  // of the combination, SI
	Half        float64  // half of its 95 % interval
	Unit        quantity.Unit
	What        string // sum, difference, product, ratio, parallel
	Text        string // the whole in one sentence
}

// loose is how far values must be able to move, in coordinates (0.1: ten percent), to count as not told.
const loose = 0.12

// tell looks for pairs of which only a combination is determined, and then for the directions in which values move together.
func (r *Result) tell(ctx context.Context) {
	st := r.state
	if len(st.system.vars) == 0 {
		return
	}
	paired := r.pairs(ctx)
	told := map[string]bool{}
	for _, d := range st.information.directions() {
		if r.times(-1)*d.sd*math.Sqrt(st.scale) < loose {
			continue
		}
		var who []int
		most := 0.0
		for i, x := range d.v {
			if !r.Values[i].Determined {
				most = max(most, math.Abs(x))
			}
		}
		for i, x := range d.v {
			if !r.Values[i].Determined && math.Abs(x) > 0.2*most {
				who = append(who, i)
			}
		}
		if len(who) == 0 || !slices.ContainsFunc(who, func(i int) bool { return !paired[i] }) {
			continue
		}
		g := r.combined(who, d)
		if key := fmt.Sprint(g.Parts); !told[key] {
			told[key] = true
			r.Degenerate = append(r.Degenerate, g)
		}
	}
}

// mostPairs bounds how many pairs are looked at.
const mostPairs = 10

// pairs looks at every two values of one unit that are not determined: where one of them has vanished beside the other, the fit is
// taken along the valley to where both count, and what is determined of them there is told.
func (r *Result) pairs(ctx context.Context) map[int]bool {
	st := r.state
	s := st.system
	paired := map[int]bool{}
	tried := 0
	for a := range s.vars {
		for b := a + 1; b < len(s.vars); b++ {
			va, vb := s.vars[a], s.vars[b]
			if r.quick || r.Values[a].Determined || r.Values[b].Determined || va.Unit != vb.Unit || va.Unit == quantity.One || paired[a] || paired[b] {
				continue
			}
			if tried++; tried > mostPairs || ctx.Err() != nil {
				return paired
			}
			if g, ok := r.pair(ctx, a, b); ok {
				r.Degenerate = append(r.Degenerate, g)
				paired[a], paired[b] = true, true
			}
		}
	}
	return paired
}

// pair is what is determined of two values where both count.
func (r *Result) pair(ctx context.Context, a, b int) (Degenerate, bool) {
	st := r.state
	s := st.system
	lower, upper := s.bounds()
	x, y := s.vars[a].value(st.res.P[a]), s.vars[b].value(st.res.P[b])
	rise := r.times(-1) * r.times(-1) / 2 * st.scale
	// Of two equal values the sum, the value side by side and the product are equally well known: only where they differ does it show
	// which of them it is, and it must be the same one wherever in the valley one looks.
	sum, parallel := x+y, x*y/(x+y)
	var all []Degenerate
	for _, split := range [][2]float64{{unequal * sum, (1 - unequal) * sum}, {parallel / unequal, parallel / (1 - unequal)}} {
		p := slices.Clone(st.res.P)
		for i, k := range []int{a, b} {
			p[k] = min(max(s.vars[k].coordinate(split[i]), lower[k]), upper[k])
		}
		res, err := leastsquares.Fit(ctx, s.problem(), p, leastsquares.Options{Loss: robust, MaxEvaluations: refitEvaluations, Reduction: 1e-7, Step: 1e-7})
		if err != nil || res.Cost > st.res.Cost+rise {
			continue
		}
		information, _, err := s.information(res)
		if err != nil {
			continue
		}
		for i, c := range s.combinations(a, b, res.P) {
			now := Degenerate{What: c.what, Value: c.value, Half: r.times(-1) * math.Sqrt(information.combination(c.weights)*st.scale), Unit: c.unit}
			switch {
			case i == len(all):
				all = append(all, now)
			case now.relative() > all[i].relative():
				all[i] = now
			}
		}
	}
	if len(all) == 0 {
		return Degenerate{}, false
	}
	found := slices.MinFunc(all, func(a, b Degenerate) int { return cmp.Compare(a.relative(), b.relative()) })
	if !(found.relative() < loose) {
		return Degenerate{}, false
	}
	found.Parts = []string{s.vars[a].name(), s.vars[b].name()}
	found.word()
	return found, true
}

// unequal is the larger part of two that are to differ.
const unequal = 0.7

// relative is half the interval as a part of the value; infinite where it is not known.
func (g *Degenerate) relative() float64 {
	if x := g.Half / math.Abs(g.Value); !math.IsNaN(x) {
		return x
	}
	return math.Inf(1)
}

// word puts the combination into words.
func (g *Degenerate) word() {
	g.Combination = fmt.Sprintf("%s = %s ± %s", g.What, quantity.Format(g.Value, g.Unit, 4), quantity.Format(g.Half, g.Unit, 2))
	if g.What == "product" || g.What == "ratio" {
		g.Combination = fmt.Sprintf("%s = %.4g ± %.2g (SI units)", g.What, g.Value, g.Half)
	}
	g.Text = fmt.Sprintf("%s: only their %s, is determined", list(g.Parts), strings.Replace(g.Combination, " =", ",", 1))
}

// combined finds the simplest combination of some values that is determined.
func (r *Result) combined(who []int, d direction) Degenerate {
	s := r.state.system
	g := Degenerate{Value: math.NaN(), Half: math.NaN()}
	for _, i := range who {
		g.Parts = append(g.Parts, s.vars[i].name())
	}
	switch {
	case len(who) == 1:
		g.Text = fmt.Sprintf("%s: these traces hardly depend on it", g.Parts[0])
		return g
	case len(who) > 2:
		g.Text = fmt.Sprintf("%s: they can move together without showing", list(g.Parts))
	}
	best := math.Inf(1)
	for a := range who {
		for b := a + 1; b < len(who); b++ {
			if len(who) > 2 {
				continue
			}
			for _, c := range s.combinations(who[a], who[b], r.state.res.P) {
				sd := math.Sqrt(r.state.information.combination(c.weights) * r.state.scale)
				if relative := sd / math.Abs(c.value); relative < best {
					best = relative
					g.What, g.Value, g.Half, g.Unit = c.what, c.value, r.times(-1)*sd, c.unit
				}
			}
		}
	}
	if len(who) == 2 {
		if best*r.times(-1) < loose {
			g.word()
		} else {
			g.What, g.Value, g.Half = "", math.NaN(), math.NaN()
			g.Text = fmt.Sprintf("%s: they can move together without showing", list(g.Parts))
		}
	}
	return g
}

// combination is a function of two values with its derivatives by their coordinates.
type combination struct {
	what    string
	value   float64
	unit    quantity.Unit
	weights map[int]float64
}

func (s *system) combinations(a, b int, p []float64) []combination {
	va, vb := s.vars[a], s.vars[b]
	x, y := va.value(p[a]), vb.value(p[b])
	dx, dy := va.slope(x), vb.slope(y)
	all := []combination{
		{"product", x * y, quantity.One, map[int]float64{a: y * dx, b: x * dy}},
		{"ratio", x / y, quantity.One, map[int]float64{a: dx / y, b: -x / (y * y) * dy}},
	}
	if va.Unit == vb.Unit && va.Unit != quantity.One {
		// Of capacitors it is their value in series, of everything else side by side.
		together := "parallel value"
		if va.Unit == quantity.Farad {
			together = "series value"
		}
		parallel := x * y / (x + y)
		all = append([]combination{
			{"sum", x + y, va.Unit, map[int]float64{a: dx, b: dy}},
			{together, parallel, va.Unit, map[int]float64{a: parallel * parallel / (x * x) * dx, b: parallel * parallel / (y * y) * dy}},
		}, all...)
	}
	return all
}

// list is names with commas and an "and".
func list(names []string) string {
	if len(names) < 2 {
		return strings.Join(names, "")
	}
	return strings.Join(names[:len(names)-1], ", ") + " and " + names[len(names)-1]
}
