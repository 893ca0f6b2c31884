package multiaffine

import (
	"math"
	"slices"
	"testing"

	"pgregory.net/rapid"

	"knobwise/physics/network"
)

// drawFunction makes a function of up to three axes, gangs among them, of a random circuit or a tuner.
func drawFunction(t *rapid.T, gang int) *Function {
	s := draw(t, limits{contacts: 3, axes: 3, gang: gang})
	if rapid.Bool().Draw(t, "tuner") {
		s = drawTuner(t, rapid.IntRange(1, 3).Draw(t, "tuner axes"), false)
	}
	return s.functions(t, s.combinations(t, 1))[0]
}

// Nothing that an exhaustive grid, refined step by step round its best point, or a thousand random settings find, is
// better than the maximum; and the maximum is where it is said to be.
func TestMaximumIsTheBest(t *testing.T) {
	r, proofs := counting(t, "functions", 200), counting(t, "proofs", 200)
	inside, unproven, most := 0, 0, 0
	rapid.Check(t, func(t *rapid.T) {
		f := drawFunction(t, 2)
		n := len(f.degrees)
		var s Searcher
		m := s.Maximum(f, Effort{Boxes: 20000})
		if p := f.Power(m.X); m.Power < 1e-19 {
			return // nothing gets through but rounding
		} else if math.Abs(p/m.Power-1) > 1e-9 {
			t.Fatalf("the maximum is %g, there it is %g", m.Power, p)
		}
		most = max(most, m.Boxes)
		if m.Proven {
			proofs.saw(float64(m.Boxes))
			if !(m.Bound <= m.Power*(1+1.0000001e-9)) {
				t.Fatalf("proven, but the bound %g is far above %g", m.Bound, m.Power)
			}
		} else {
			unproven++
		}
		for _, x := range m.X {
			if x != -1 && x != 1 && x != 0 {
				inside++
				break
			}
		}
		if better := exhaust(f, n); better > m.Bound*(1+1e-10) || (m.Proven && better > m.Power*(1+1e-9)) {
			t.Fatalf("a grid finds %.15g, the maximum is %.15g, its bound %.15g, proven %v", better, m.Power, m.Bound, m.Proven)
		} else {
			r.saw(better/m.Power - 1)
		}
	})
	t.Logf("%d with an axis inside, %d unproven, at most %d boxes", inside, unproven, most)
	if inside < 50 {
		t.Error("hardly a maximum was inside")
	}
}

// exhaust is the best power on a grid, then on ever smaller ones round the best point.
func exhaust(f *Function, n int) float64 {
	points := [...]int{1, 2001, 101, 31}[n]
	middle, half := make([]float64, n), 1.0
	x, bestX := make([]float64, n), make([]float64, n)
	best := 0.0
	for range 60 {
		total := 1
		for range n {
			total *= points
		}
		for i := range total {
			rest := i
			for k := range n {
				x[k] = min(max(middle[k]+half*gridAt(rest%points, points), -1), 1)
				rest /= points
			}
			if p := f.Power(x); p > best {
				best = p
				copy(bestX, x)
			}
		}
		copy(middle, bestX)
		points = [...]int{1, 21, 9, 5}[n]
		half *= [...]float64{1, 0.2, 0.4, 0.6}[n]
	}
	return best
}

// A threshold below the maximum is never proven: the proof can fail.
func TestProofFailsBelowTheMaximum(t *testing.T) {
	r := counting(t, "thresholds", 100)
	rapid.Check(t, func(t *rapid.T) {
		f := drawFunction(t, 1)
		var s Searcher
		m := s.Maximum(f, Effort{})
		if m.Power < 1e-19 || s.outer == 0 {
			return
		}
		r.saw(0)
		low := m
		low.Bound = math.Inf(1)
		// The search starts from nothing and a threshold a little too low: it must come back to the maximum.
		low.Power, low.Boxes = m.Power*rapid.Float64Range(0.1, 0.999999).Draw(t, "share"), 0
		s.prove(&low, Effort{Gap: 1e-9, Boxes: 200000})
		if low.Proven && low.Power < m.Power*(1-1e-9) {
			t.Fatalf("%g was proven, the maximum is %g", low.Power, m.Power)
		}
		// And without the help of a better point on the way.
		p := &s.prover
		whole := box{slices.Repeat([]float64{-1}, len(p.degrees)), slices.Repeat([]float64{1}, len(p.degrees))}
		at := make([]float64, len(p.degrees))
		for k := range at {
			at[k] = m.X[s.order[k]]
		}
		for range 40 {
			axis := p.holds(&s.f, &whole, m.Power*(1-1e-6))
			if axis < 0 {
				t.Fatalf("the box %v with the maximum holds below it", whole)
			}
			halves := whole.halves(axis)
			whole = halves[0]
			if at[axis] > halves[0].high[axis] {
				whole = halves[1]
			}
		}
	})
}

// The forms of the proof are what they are said to be: at the corners of a box their coefficients are A·B − (C − λ)² with
// A, B, C from the values of N and D at the ends of the row, and λ is C in the middle or zero.
func TestFormsOfTheProof(t *testing.T) {
	r := counting(t, "corners", 200)
	shifted := 0
	rapid.Check(t, func(t *rapid.T) {
		var s Searcher
		s.load(drawFunction(t, 2))
		if !s.rowed || s.outer == 0 {
			return
		}
		p := &s.prover
		p.prepare(s.f.degrees[:s.outer], true)
		b := box{position(t, s.outer), position(t, s.outer)}
		level := logUniform(t, 1e-3, 10, "T")
		p.holds(&s.f, &b, level)
		p.determinant(level)
		lambda := 0.0
		for i, w := range p.twice.middle {
			lambda += w * p.c[i]
		}
		lambda = max(0, lambda)
		if lambda > 0 {
			shifted++
		}
		for corner := range 1 << s.outer {
			once, twice, fourfold := 0, 0, 0
			for k, degree := range p.degrees {
				if corner>>k&1 == 1 {
					once += degree * p.once.strides[k]
					twice += 2 * degree * p.twice.strides[k]
					fourfold += 4 * degree * p.fourfold.strides[k]
				}
			}
			d, n, e, m := p.ends[0][once], p.ends[1][once], p.ends[2][once], p.ends[3][once]
			forms := [4]float64{level*squared(d) - squared(n), level*squared(e) - squared(m), level*dot(d, e) - dot(n, m)}
			forms[3] = forms[0]*forms[1] - (forms[2]-lambda)*(forms[2]-lambda)
			size := level*(squared(d)+squared(e)) + squared(n) + squared(m) + lambda
			for i, got := range [4]float64{p.a[twice], p.b[twice], p.c[twice], p.det[fourfold]} {
				scale := size
				if i == 3 {
					scale *= size
				}
				off := math.Abs(got-forms[i]) / scale
				r.saw(off)
				if !(off < 1e-13) {
					t.Fatalf("form %d: coefficient %g, value %g", i, got, forms[i])
				}
			}
		}
	})
	if shifted < 20 {
		t.Errorf("only %d boxes had a λ", shifted)
	}
}

// A proof with too small a budget says so, and its bound is still above everything.
func TestUnprovenIsHonest(t *testing.T) {
	r := counting(t, "functions", 50)
	unproven, bounded := 0, 0
	rapid.Check(t, func(t *rapid.T) {
		f := drawTuner(t, 3, false).functionsOfAll(t)
		var s Searcher
		budget := rapid.IntRange(1, 100).Draw(t, "boxes")
		full, short := s.Maximum(f, Effort{}), s.Maximum(f, Effort{Boxes: budget})
		if full.Power < 1e-19 {
			return
		}
		r.saw(0)
		if short.Boxes > budget {
			t.Fatalf("%d boxes of %d", short.Boxes, budget)
		}
		if !short.Proven {
			unproven++
			if !math.IsInf(short.Bound, 1) {
				bounded++
			}
		}
		if !(short.Bound >= full.Power) {
			t.Fatalf("bound %g below the maximum %g", short.Bound, full.Power)
		}
	})
	t.Logf("%d unproven, %d of them with a bound", unproven, bounded)
	if unproven-bounded == 0 || bounded == 0 {
		t.Error("one way to stop early was never met")
	}
}

// A proof that is stopped examines no more boxes, and claims nothing.
func TestStop(t *testing.T) {
	r := counting(t, "long proofs", 10)
	rapid.Check(t, func(t *rapid.T) {
		f := drawTuner(t, 3, false).functionsOfAll(t)
		var s Searcher
		whole := s.Maximum(f, Effort{})
		if whole.Boxes < 3*patience {
			return
		}
		r.saw(0)
		asked := 0
		m := s.Maximum(f, Effort{Stop: func() bool { asked++; return asked == 3 }})
		if m.Proven || !math.IsInf(m.Bound, 1) || m.Boxes != 2*patience || asked != 3 {
			t.Fatalf("stopped at the third look: %+v, asked %d times", m, asked)
		}
		if again := s.Maximum(f, Effort{Stop: func() bool { return false }}); again.Power != whole.Power || again.Boxes != whole.Boxes || again.Proven != whole.Proven {
			t.Fatalf("never stopped: %+v, want %+v", again, whole)
		}
	})
}

// functionsOfAll is the function with all contacts open.
func (s sample) functionsOfAll(t *rapid.T) *Function {
	return s.functions(t, [][]bool{make([]bool, len(s.contacts))})[0]
}

// An L network matches 50 ohm to 1000 ohm with X = sqrt(50·950) in series and B = sqrt(950/50)/1000 across the load
// (F. E. Terman, Radio Engineers' Handbook, 1943, from memory): all available power arrives, |H|² = RL/(4·Rs).
func TestMaximumIsTheMatch(t *testing.T) {
	const rs, rl, f = 50.0, 1000.0, 3e6
	w := 2 * math.Pi * f
	x, b := math.Sqrt(rs*(rl-rs)), math.Sqrt((rl-rs)/rs)/rl
	coil := func(u float64) network.Element {
		return network.NewInductor("a", "b", x/w*(1.1+u), network.Loss{})
	}
	capacitor := func(u float64) network.Element {
		return network.NewCapacitor("b", network.Ground, b/w*(1.3+0.9*u), network.Loss{})
	}
	c := Circuit{Network: &network.Circuit{}, Input: "a", Output: "b", Source: network.NewResistor("a", network.Ground, rs), Load: network.NewResistor("b", network.Ground, rl)}
	for name, of := range map[string]part{"L": coil, "C": capacitor} {
		c.Axes = append(c.Axes, Axis{name, []Knob{{c.Network.Add(of(0)), of(-1), of(0), of(1)}}})
	}
	var s Searcher
	m := s.Maximum(only(t, c, f, nil), Effort{})
	want := map[string]float64{"L": -0.1, "C": -1.0 / 3}
	t.Logf("%+v; %.15g of the available power", m, m.Power*4*rs/rl)
	if !m.Proven || math.Abs(m.Power*4*rs/rl-1) > 1e-12 {
		t.Errorf("%.15g of the available power arrives", m.Power*4*rs/rl)
	}
	for k, axis := range c.Axes {
		if math.Abs(m.X[k]-want[axis.Name]) > 1e-6 {
			t.Errorf("%s at %g, by the handbook %g", axis.Name, m.X[k], want[axis.Name])
		}
	}
}

// The coarse search finds the best point of the full grid or a better one.
func TestCoarseBeatsTheGrid(t *testing.T) {
	r := counting(t, "functions", 200)
	rapid.Check(t, func(t *rapid.T) {
		f := drawFunction(t, 2)
		var s Searcher
		const rows = 9
		p := s.Coarse(f, rows)
		n := len(f.degrees)
		x := make([]float64, n)
		total := int(math.Pow(rows, float64(n)))
		for i := range total {
			rest := i
			for k := range n {
				x[k] = gridAt(rest%rows, rows)
				rest /= rows
			}
			if better := f.Power(x); better > p.Power*(1+1e-9) && better > 1e-19 {
				t.Fatalf("%v has %g, the search found %g at %v", x, better, p.Power, p.X)
			}
		}
		r.saw(0)
	})
}

// The listed maxima are local maxima, in order, apart from one another, and the best is the maximum.
func TestMaxima(t *testing.T) {
	r := counting(t, "maxima", 300)
	several, missed := 0, 0
	rapid.Check(t, func(t *rapid.T) {
		f := drawFunction(t, 2)
		var s Searcher
		apart := Apart{Count: 5, Share: 0.01, Distance: 0.05}
		m := s.Maximum(f, Effort{})
		if m.Power < 1e-19 {
			return
		}
		list := s.Maxima(f, Effort{Rows: 24}, apart)
		if len(list) == 0 || list[0].Power > m.Bound {
			t.Fatalf("best of %v, maximum %v", list, m)
		}
		if list[0].Power < m.Power*(1-1e-7) {
			missed++
		}
		list = s.Maxima(f, Effort{Rows: 24}, apart, m.Point)
		if list[0].Power < m.Power {
			t.Fatalf("best of %v, maximum %v", list, m)
		}
		if len(list) > 1 {
			several++
		}
		for i, p := range list {
			r.saw(0)
			if i > 0 && (p.Power > list[i-1].Power || p.Power < apart.Share*list[0].Power) || i >= apart.Count {
				t.Fatalf("out of order: %v", list)
			}
			for _, q := range list[:i] {
				if distance(p.X, q.X) < apart.Distance {
					t.Fatalf("%v and %v are not apart", p, q)
				}
			}
			for range 20 {
				x := slices.Clone(p.X)
				for k := range x {
					x[k] = min(max(x[k]+1e-6*rapid.Float64Range(-1, 1).Draw(t, "step"), -1), 1)
				}
				if f.Power(x) > p.Power*(1+1e-6) {
					t.Fatalf("%v has %g, beside %v with %g", x, f.Power(x), p.X, p.Power)
				}
			}
		}
	})
	t.Logf("%d functions with several; the best was missed %d times by itself", several, missed)
	if several < 20 {
		t.Error("hardly a function had several maxima")
	}
}

// Two coupled circuits with a knob on each that also reaches resonance with both detuned: the search of a box of one axis
// fixed is that of the fixed function.
func TestFixRestrictGradient(t *testing.T) {
	r := counting(t, "points", 200)
	rapid.Check(t, func(t *rapid.T) {
		f := drawFunction(t, 2)
		n := len(f.degrees)
		x := position(t, n)
		want := f.Value(x)
		if squared(want) < 1e-18 {
			return
		}
		axis := rapid.IntRange(0, n-1).Draw(t, "axis")
		var fixed Function
		f.Fix(axis, x[axis], &fixed)
		rest := slices.Delete(slices.Clone(x), axis, axis+1)
		if off := relative(fixed.Value(rest), want); !(off < 1e-9) {
			t.Fatalf("fixed: off by %g", off)
		}
		low, high := rapid.Float64Range(-1, 0).Draw(t, "low"), rapid.Float64Range(0.01, 1).Draw(t, "high")
		var part Function
		f.Copy(&part)
		part.Restrict(axis, low, high)
		y := slices.Clone(x)
		y[axis] = (2*x[axis] - low - high) / (high - low)
		if off := relative(part.Value(y), want); !(off < 1e-9) {
			t.Fatalf("restricted: off by %g", off)
		}
		gradient := make([]complex128, n)
		if got := f.Gradient(x, gradient); got != want {
			t.Fatalf("gradient gives H = %v, value %v", got, want)
		}
		for k := range n {
			at := func(h float64) complex128 { y := slices.Clone(x); y[k] += h; return f.Value(y) }
			fourth := func(h float64) complex128 { return (8*(at(h)-at(-h)) - (at(2*h) - at(-2*h))) / complex(12*h, 0) }
			wide, difference := fourth(2e-4), fourth(1e-4)
			allowed := 10*math.Sqrt(squared(wide-difference)) + 1e-9*math.Sqrt(squared(want))
			if off := math.Sqrt(squared(difference - gradient[k])); !(off <= allowed+1e-9*math.Sqrt(squared(gradient[k]))) {
				t.Fatalf("axis %d: gradient %v, difference %v", k, gradient[k], difference)
			}
			r.saw(0)
		}
	})
}

// A sheet's rows are those of the function with its first axis fixed.
func TestSheet(t *testing.T) {
	r := counting(t, "points", 50)
	rapid.Check(t, func(t *rapid.T) {
		f := drawFunction(t, 1)
		sheet, ok := f.Sheet()
		if ok != (len(f.degrees) == 2) {
			t.Fatalf("a function of %d axes: %v", len(f.degrees), ok)
		}
		if !ok {
			return
		}
		x := position(t, 2)
		row := sheet.Row(x[0])
		want := f.Value(x)
		if squared(want) < 1e-12 {
			return
		}
		off := relative(row.Value(x[1]), want)
		r.saw(off)
		if !(off < 1e-10) {
			t.Fatalf("%v from the sheet, %v", row.Value(x[1]), want)
		}
	})
}

// The Bernstein coefficients over a box reproduce H anywhere in it.
func TestBernstein(t *testing.T) {
	r := counting(t, "points", 200)
	rapid.Check(t, func(t *rapid.T) {
		f := drawFunction(t, 3)
		axes := len(f.degrees)
		low, high, x := position(t, axes), position(t, axes), make([]float64, axes)
		size := 1
		for k, d := range f.degrees {
			size *= d + 1
			x[k] = low[k] + (high[k]-low[k])*rapid.Float64Range(0, 1).Draw(t, "share")
		}
		n, d := make([]complex128, size), make([]complex128, size)
		f.Bernstein(low, high, n, d)
		var top, bottom complex128
		largest := 0.0
		for i := range size {
			w, rest := 1.0, i
			for k := axes - 1; k >= 0; k-- {
				degree := f.degrees[k]
				j := rest % (degree + 1)
				rest /= degree + 1
				share := 0.0
				if high[k] != low[k] {
					share = (x[k] - low[k]) / (high[k] - low[k])
				}
				w *= binomial(degree, j) * math.Pow(share, float64(j)) * math.Pow(1-share, float64(degree-j))
			}
			top, bottom = top+complex(w, 0)*n[i], bottom+complex(w, 0)*d[i]
			largest = max(largest, squared(d[i])/1)
		}
		want := f.Value(x)
		if squared(want) < 1e-18 || squared(bottom) < 1e-12*largest {
			return
		}
		off := relative(top/bottom, want)
		r.saw(off)
		if !(off < 1e-8) {
			t.Fatalf("%v from the coefficients, %v", top/bottom, want)
		}
	})
}
