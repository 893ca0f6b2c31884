package coverage

import (
	"math"

	"knobwise/physics/multiaffine"
)

// strongest finds the strongest signal of one combination at one frequency: the last knob in closed form over a grid of the
// others, then closer and closer about the best of these. It is scratch, to be used again and again.
type strongest struct {
	grid   []float64
	narrow []multiaffine.Function
	best   place
	tried  []float64
}

func newStrongest(axes int) *strongest {
	n := 33
	for n > 3 && math.Pow(float64(n), float64(axes-1)) > 3*mostLines {
		n -= 2
	}
	return &strongest{grid: spread(n), narrow: make([]multiaffine.Function, axes), best: place{x: make([]float64, axes)}, tried: make([]float64, axes)}
}

// search is valid until the next search.
func (s *strongest) search(h *multiaffine.Function) place {
	s.best.power = -1
	axes := len(s.tried)
	if axes == 0 {
		s.best.power = h.Power(nil)
		return s.best
	}
	var descend func(depth int, f *multiaffine.Function)
	descend = func(depth int, f *multiaffine.Function) {
		if depth == axes-1 {
			if x, power := top(f); power > s.best.power && !math.IsInf(power, 0) {
				copy(s.best.x, s.tried)
				s.best.x[depth], s.best.power = x, power
			}
			return
		}
		for _, x := range s.grid {
			s.tried[depth] = x
			f.Fix(0, x, &s.narrow[depth])
			descend(depth+1, &s.narrow[depth])
		}
	}
	descend(0, h)
	step := s.grid[1] - s.grid[0]
	for round := 0; round < 60 && step > 1e-7 && axes > 1; round++ {
		before := s.best.power
		for axis := range axes - 1 {
			for _, way := range []float64{-1, 1} {
				copy(s.tried, s.best.x)
				s.tried[axis] = math.Max(-1, math.Min(1, s.tried[axis]+way*step))
				f := h
				for depth := range axes - 1 {
					f.Fix(0, s.tried[depth], &s.narrow[depth])
					f = &s.narrow[depth]
				}
				if x, power := top(f); power > s.best.power && !math.IsInf(power, 0) {
					copy(s.best.x, s.tried)
					s.best.x[axes-1], s.best.power = x, power
				}
			}
		}
		if !(s.best.power > before) {
			step /= 2
		}
	}
	s.best.power = max(s.best.power, 0)
	return s.best
}

// top is the highest |H|² along the one axis left.
func top(f *multiaffine.Function) (x, power float64) {
	if row, ok := f.Row(); ok {
		return row.Best()
	}
	// A gang: a grid, then closer about each of its local maxima that may yet win.
	const n = 1024
	at := func(x float64) float64 { return f.Power([]float64{x}) }
	grid := spread(n + 1)
	level := make([]float64, n+1)
	for i, z := range grid {
		if level[i] = at(z); level[i] > power {
			x, power = z, level[i]
		}
	}
	for i, z := range grid {
		left, right := level[max(i-1, 0)], level[min(i+1, n)]
		if level[i] < left || level[i] < right || level[i] < power/16 {
			continue
		}
		here := level[i]
		for step := 1. / n; step > 1e-10; step /= 2 {
			for _, next := range []float64{math.Max(-1, z-step), math.Min(1, z+step)} {
				if p := at(next); p > here {
					z, here = next, p
				}
			}
		}
		if here > power {
			x, power = z, here
		}
	}
	return x, power
}
