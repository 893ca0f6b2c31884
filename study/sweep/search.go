package sweep

import "math"

// Both searches use only comparisons and evaluations of the model, so that they work on any trace.

// pieces is into how many parts one step of the search for a maximum cuts its bracket.
const pieces = 8

// maximum finds the highest point of a function between low and high (Hz). Each step cuts the bracket into pieces and
// keeps those beside the highest point; where three neighbours lie on a smooth top, a parabola through them ends the
// search. ok is false where the function rises to an end of the bracket or has no value there.
func maximum(at func(float64) float64, low, high float64) (p Peak, ok bool) {
	var f, v [pieces + 1]float64
	f[0], f[pieces] = low, high
	v[0], v[pieces] = at(low), at(high)
	for range 60 {
		best := 0
		for i := range f {
			if 0 < i && i < pieces {
				f[i] = f[0] + (f[pieces]-f[0])*float64(i)/pieces
				v[i] = at(f[i])
			}
			if v[i] > v[best] || math.IsNaN(v[best]) {
				best = i
			}
		}
		if math.IsNaN(v[best]) || math.IsInf(v[best], 0) {
			return Peak{}, false
		}
		if best == 0 || best == pieces {
			// The end may be the flank of a peak at the very end; one step closer decides.
			if f[pieces]-f[0] < 1e-9*high {
				return Peak{f[best], v[best]}, false
			}
			best = min(max(best, 1), pieces-1)
		} else if top, flat := vertex(f[best-1], v[best-1], f[best], v[best], f[best+1], v[best+1]); flat {
			return Peak{top, at(top)}, true
		}
		f[0], v[0], f[pieces], v[pieces] = f[best-1], v[best-1], f[best+1], v[best+1]
	}
	return Peak{f[pieces/2], v[pieces/2]}, true
}

// vertex is the top of the parabola through three points with x0 < x1 < x2 and y1 the highest. flat says that the
// points span so little (5e-5 dB) that the parabola is as good as the function: its next term is smaller by the same
// ratio again.
func vertex(x0, y0, x1, y1, x2, y2 float64) (top float64, flat bool) {
	const span = 5e-5
	if y1-y0 > span || y1-y2 > span || (y1 == y0 && y1 == y2) {
		return x1, y1 == y0 && y1 == y2
	}
	a, b := (x1-x0)*(y1-y2), (x1-x2)*(y1-y0)
	if a == b {
		return x1, true
	}
	return x1 - ((x1-x0)*a-(x1-x2)*b)/(2*(a-b)), true
}

// root finds where a function crosses zero between a frequency where it is not negative and one where it is, to
// 1e-12 of the frequency: regula falsi in the form of Illinois (M. Dowell, P. Jarratt, BIT 11 (1971) 168-174, from memory).
func root(at func(float64) float64, inside, outside float64) float64 {
	a, b := inside, outside
	fa, fb := at(a), at(b)
	for range 200 {
		if math.Abs(b-a) <= 1e-12*math.Abs(b) {
			break
		}
		c := (a*fb - b*fa) / (fb - fa)
		if !(c > min(a, b) && c < max(a, b)) { // also for infinities
			c = (a + b) / 2
		}
		fc := at(c)
		if fc == 0 || math.IsNaN(fc) {
			return c
		}
		if (fc < 0) == (fb < 0) {
			fa /= 2
		} else {
			a, fa = b, fb
		}
		b, fb = c, fc
	}
	return b
}
