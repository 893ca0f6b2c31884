package coverage

import (
	"math"

	"knobwise/physics/multiaffine"
)

// beside is how far below and above a frequency the slope of the response is taken, as a part of it: well inside the width
// of a peak of Q 1000, and wide enough that the curvature of one of Q 1 stands above rounding.
const beside = 5e-5

// around is the network function of one combination of switches just below a frequency, at it, and just above.
type around [3]multiaffine.Function

// place is where the knobs stand (on their axes) for a peak at the frequency asked for, and |H|² there.
type place struct {
	x     []float64
	power float64
}

// finder looks for the places of one combination at one frequency. It is scratch, to be used again and again.
//
// A response peaks at f where its slope over frequency is zero there: with one knob at points, with two along curves. The
// finder goes along every knob, with the others on a grid, from one change of the slope's sign to the next, and then from
// the best of these points along the curve.
type finder struct {
	along  []float64 // positions along a line
	grid   []float64 // of the other axes
	rise   []float64
	powers []float64
	narrow [3][]multiaffine.Function // the functions with more and more axes fixed
	best   place
	tried  []float64
}

// mostLines bounds the lines along one axis.
const mostLines = 220

func newFinder(axes int) *finder {
	n := 33
	for n > 3 && math.Pow(float64(n), float64(axes-1)) > mostLines {
		n -= 2
	}
	if axes < 2 {
		n = 1
	}
	along := 65
	if axes == 1 {
		along = 1025
	}
	s := &finder{along: spread(along), grid: spread(n), tried: make([]float64, axes)}
	s.rise, s.powers = make([]float64, len(s.along)), make([]float64, len(s.along))
	for i := range s.narrow {
		s.narrow[i] = make([]multiaffine.Function, axes)
	}
	s.best.x = make([]float64, axes)
	return s
}

// spread is n positions from -1 to 1.
func spread(n int) []float64 {
	if n == 1 {
		return []float64{0}
	}
	all := make([]float64, n)
	for i := range all {
		all[i] = -1 + 2*float64(i)/float64(n-1)
	}
	return all
}

// line is the network function along one axis, below, at and above the frequency.
type line struct {
	rows    [3]multiaffine.Row
	degrees [3]*multiaffine.Function // instead, where a gang moves on the axis
}

func (l *line) set(f [3]*multiaffine.Function) {
	for i := range f {
		row, ok := f[i].Row()
		l.rows[i], l.degrees[i] = row, nil
		if !ok {
			l.degrees[i] = f[i]
		}
	}
}

func (l *line) power(which int, x float64) float64 {
	if f := l.degrees[which]; f != nil {
		return f.Power([]float64{x})
	}
	return l.rows[which].Power(x)
}

// slope is positive where the response rises with frequency.
func (l *line) slope(x float64) float64 { return l.power(2, x) - l.power(0, x) }

// slopes writes the slope at many places.
func (l *line) slopes(x, into, scratch []float64) {
	if l.degrees[0] != nil {
		for i := range x {
			into[i] = l.slope(x[i])
		}
		return
	}
	below, above := l.rows[0].Rotate(), l.rows[2].Rotate()
	below.Powers(x, scratch)
	above.Powers(x, into)
	for i := range into {
		into[i] -= scratch[i]
	}
}

// flattest is the least curvature that counts as a peak, relative over the distance `beside`: less is rounding. It is that
// of a resonance of Q 0.2.
const flattest = 1e-9

// top says whether the response at a zero of the slope is a peak, not a dip and not flat.
func (l *line) top(x float64) bool {
	at := l.power(1, x)
	return 2*at-l.power(0, x)-l.power(2, x) > flattest*at
}

// zero goes to the change of the slope's sign between two places: regula falsi in the form of Illinois (M. Dowell,
// P. Jarratt, BIT 11 (1971) 168-174, from memory).
func (l *line) zero(low, high float64) float64 {
	slopeLow, slopeHigh := l.slope(low), l.slope(high)
	for range 60 {
		if high-low <= 1e-11 {
			break
		}
		x := (low*slopeHigh - high*slopeLow) / (slopeHigh - slopeLow)
		if !(x > low && x < high) {
			x = (low + high) / 2
		}
		slope := l.slope(x)
		switch {
		case slope == 0:
			return x
		case (slope > 0) == (slopeLow > 0):
			low, slopeLow, slopeHigh = x, slope, slopeHigh/2
		default:
			high, slopeHigh, slopeLow = x, slope, slopeLow/2
		}
	}
	return (low + high) / 2
}

// search finds the place with the strongest peak. ok is false where no setting peaks there. The place is valid until the
// next search.
func (s *finder) search(a *around, axes int) (p place, ok bool) {
	s.best.power = 0
	var l line
	for axis := range axes {
		s.lines(a, axis, func(others []float64, f [3]*multiaffine.Function) {
			l.set(f)
			l.slopes(s.along, s.rise, s.powers)
			for i := 1; i < len(s.along); i++ {
				if (s.rise[i-1] > 0) == (s.rise[i] > 0) {
					continue
				}
				x := l.zero(s.along[i-1], s.along[i])
				if power := l.power(1, x); power > s.best.power && !math.IsInf(power, 0) && l.top(x) {
					copy(s.best.x, others)
					s.best.x[axis], s.best.power = x, power
				}
			}
		})
	}
	if s.best.power == 0 {
		return place{}, false
	}
	if axes > 1 {
		s.polish(a, axes)
	}
	return s.best, true
}

// lines visits every line along an axis with the others on the grid; others has a place for every axis.
func (s *finder) lines(a *around, axis int, visit func(others []float64, f [3]*multiaffine.Function)) {
	axes := len(s.tried)
	var descend func(depth int, f [3]*multiaffine.Function)
	descend = func(depth int, f [3]*multiaffine.Function) {
		if depth == axes {
			visit(s.tried, f)
			return
		}
		if depth == axis {
			descend(depth+1, f)
			return
		}
		for _, x := range s.grid {
			s.tried[depth] = x
			descend(depth+1, s.fixed(f, depth, axis, x))
		}
	}
	descend(0, [3]*multiaffine.Function{&a[0], &a[1], &a[2]})
}

// fixed sets one more axis, counted among all; those before it are fixed already, save the one along which a line runs.
func (s *finder) fixed(f [3]*multiaffine.Function, depth, axis int, x float64) (out [3]*multiaffine.Function) {
	left := 0
	if axis < depth {
		left = 1
	}
	for i := range f {
		out[i] = &s.narrow[i][depth]
		f[i].Fix(left, x, out[i])
	}
	return out
}

// polish goes along the curve from the best place found: it moves one axis at a time and takes the zero of the slope along
// another again, as long as that gains.
func (s *finder) polish(a *around, axes int) {
	step := make([]float64, axes)
	for i := range step {
		step[i] = s.grid[1] - s.grid[0]
	}
	x := make([]float64, axes)
	for range 40 {
		before := s.best.power
		for moved := range axes {
			for solved := range axes {
				if solved == moved {
					continue
				}
				for _, way := range []float64{-1, 1} {
					copy(x, s.best.x)
					x[moved] = math.Max(-1, math.Min(1, x[moved]+way*step[moved]))
					if power, ok := s.onto(a, x, solved); ok && power > s.best.power {
						copy(s.best.x, x)
						s.best.power = power
					}
				}
			}
		}
		if s.best.power <= before*(1+1e-12) {
			for i := range step {
				step[i] /= 3
			}
			if step[0] < 1e-5 {
				return
			}
		}
	}
}

// onto moves one axis to the zero of the slope nearest to where it is, and gives |H|² there.
func (s *finder) onto(a *around, x []float64, axis int) (power float64, ok bool) {
	var l line
	f := [3]*multiaffine.Function{&a[0], &a[1], &a[2]}
	for depth := range x {
		if depth != axis {
			f = s.fixed(f, depth, axis, x[depth])
		}
	}
	l.set(f)
	at := l.slope(x[axis]) > 0
	for _, reach := range []float64{0.002, 0.01, 0.05, 0.15} {
		for _, way := range []float64{-1, 1} {
			other := math.Max(-1, math.Min(1, x[axis]+way*reach))
			if (l.slope(other) > 0) == at {
				continue
			}
			zero := l.zero(min(other, x[axis]), max(other, x[axis]))
			if power := l.power(1, zero); !math.IsInf(power, 0) && l.top(zero) {
				x[axis] = zero
				return power, true
			}
		}
	}
	return 0, false
}
