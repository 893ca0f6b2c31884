package multiaffine

import "math/cmplx"

// idle reports whether H does not depend on an axis of base at all, and a position of the axis at which nothing is lost by fixing
// it: the middle, or an end where D has a zero there (a part that is coupled to nothing resonates; N and D then share the
// factor).
//
// H is constant along a row where W = D0·N1 − D1·N0 vanishes, and W has degree 2d in each other axis, so it vanishes
// everywhere if it does on a grid of 2d+1 positions. Only axes of degree one are looked at.
func (s *Searcher) idle(axis int) (at float64, idle bool) {
	if s.base.degrees[axis] != 1 {
		return 0, false
	}
	s.axes = s.axes[:0]
	count := 1
	for k, e := range s.base.degrees {
		if k != axis {
			s.axes = append(s.axes, k)
			count *= 2*e + 1
		}
	}
	s.axes = append(s.axes, axis)
	g := &s.spare
	s.base.reordered(s.axes, g)
	s.a, s.b = room(s.a, len(g.w)), room(s.b, len(g.w))
	s.trial = room(s.trial, len(s.axes))
	knob := len(g.columns) - 1
	var sizes [3]float64
	for i := range count {
		rest := i
		for k, e := range g.degrees[:len(s.axes)-1] {
			s.trial[k] = gridAt(rest%(2*e+1), 2*e+1)
			rest /= 2*e + 1
		}
		r := g.columns[knob].row(g.seenBy(knob, s.trial, s.a, s.b))
		w := r.D0*r.N1 - r.D1*r.N0
		if cmplx.Abs(w) > constant*(cmplx.Abs(r.D0*r.N1)+cmplx.Abs(r.D1*r.N0)) {
			return 0, false
		}
		for k, x := range []float64{0, 1, -1} {
			sizes[k] = max(sizes[k], squared(along(r.D0, r.D1, x)))
		}
	}
	switch {
	case sizes[0] > 1e-3*max(sizes[1], sizes[2]):
		return 0, true
	case sizes[1] > sizes[2]:
		return 1, true
	}
	return -1, true
}

// constant is the share of rounding in W where H does not change.
const constant = 1e-12
