package identify

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"knobwise/bench/quantity"
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

// tell looks for the directions in which values move together.
func (r *Result) tell() {
	st := r.state
	if len(st.system.vars) == 0 {
		return
	}
	told := map[string]bool{}
	for _, d := range st.information.directions() {
		if r.times(-1)*d.sd*math.Sqrt(st.scale) < loose {
			continue
		}
		var who []int
		most := 0.0
		for _, x := range d.v {
			most = max(most, math.Abs(x))
		}
		for i, x := range d.v {
			if math.Abs(x) > 0.2*most {
				who = append(who, i)
			}
		}
		if !slices.ContainsFunc(who, func(i int) bool { return !r.Values[i].Determined }) {
			continue
		}
		g := r.combined(who, d)
		if key := fmt.Sprint(g.Parts); !told[key] {
			told[key] = true
			r.Degenerate = append(r.Degenerate, g)
		}
	}
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
			g.Combination = fmt.Sprintf("%s = %s ± %s", g.What, quantity.Format(g.Value, g.Unit, 4), quantity.Format(g.Half, g.Unit, 2))
			if g.What == "product" || g.What == "ratio" {
				g.Combination = fmt.Sprintf("%s = %.4g ± %.2g (SI units)", g.What, g.Value, g.Half)
			}
			g.Text = fmt.Sprintf("%s: only their %s is determined", list(g.Parts), strings.Replace(g.Combination, " =", ",", 1))
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
		parallel := x * y / (x + y)
		all = append([]combination{
			{"sum", x + y, va.Unit, map[int]float64{a: dx, b: dy}},
			{"parallel value", parallel, va.Unit, map[int]float64{a: parallel * parallel / (x * x) * dx, b: parallel * parallel / (y * y) * dy}},
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
