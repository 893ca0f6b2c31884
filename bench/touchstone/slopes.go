package touchstone

import "math"

// ghosts is how many chords are added at each end.
const ghosts = 2

// steepest is how much steeper than the flatter of its two chords a slope may be. Within it a cubic through monotone
// points stays monotone (F. N. Fritsch, R. E. Carlson, SIAM J. Numer. Anal. 17 (1980) 238-246; from memory).
const steepest = 3

// slopes gives the derivative for each point, per hertz, size elements for each frequency. The interpolation is the
// cubic Hermite polynomial with these.
//
// They follow H. Akima, J. ACM 17 (1970) 589-602 (from memory), with three changes. The weights are norms over the whole
// matrix, and so one for all elements: a linear relation between elements (S12 = S21, or S11 + S21 = 1 of a series
// impedance in matched references) holds between the points too, and the result does not turn with the phase reference of
// a port. Chords and their differences are weighted by the spacing, so that a parabola comes back exactly on any
// spacing. And no slope is more than three times as steep as the flatter chord beside it, which tames a long interval
// beside short ones.
func slopes(f []float64, v []complex128, size int) []complex128 {
	n := len(f)
	d := make([]complex128, len(v))
	if n < 2 {
		return d
	}
	c := newChords(f, v, size)
	for i := range n {
		// Second differences left and right of point i: the smaller one says which side is smooth.
		left, right := c.bend(i-1), c.bend(i+1)
		h0, h1 := c.length(i-1), c.length(i)
		w0, w1 := right*h1, left*h0
		if w0+w1 == 0 {
			w0, w1 = h1, h0
		}
		w0, w1 = w0/(w0+w1), w1/(w0+w1)
		out := d[i*size : (i+1)*size]
		for e := range out {
			out[e] = times(c.slope(i-1, e), w0) + times(c.slope(i, e), w1)
		}
		flatter := min(c.norm(max(i-1, 0)), c.norm(min(i, n-2)))
		if steep := norm(out); steep > steepest*flatter {
			for e := range out {
				out[e] = times(out[e], steepest*flatter/steep)
			}
		}
	}
	return d
}

// chords holds the slopes of the straight lines between the points. Two more at each end continue them as a parabola
// would, with the spacing of the last interval.
type chords struct {
	size int
	h    []float64
	m    []complex128
}

func newChords(f []float64, v []complex128, size int) *chords {
	intervals := len(f) - 1
	c := &chords{size: size, h: make([]float64, intervals+2*ghosts), m: make([]complex128, (intervals+2*ghosts)*size)}
	for k := range intervals {
		h := f[k+1] - f[k]
		c.h[k+ghosts] = h
		for e := range size {
			c.m[(k+ghosts)*size+e] = times(v[(k+1)*size+e]-v[k*size+e], 1/h)
		}
	}
	c.continueTo(-1, 0, 1)
	c.continueTo(-2, 0, 1)
	c.continueTo(intervals, intervals-1, intervals-2)
	c.continueTo(intervals+1, intervals-1, intervals-2)
	return c
}

// continueTo fills the chord at k from the two at the end, of which inner is missing where there is only one.
func (c *chords) continueTo(k, end, inner int) {
	c.h[k+ghosts] = c.length(end)
	for e := range c.size {
		m := c.slope(end, e)
		if inner >= 0 && inner < len(c.h)-2*ghosts {
			steps := math.Abs(float64(k - end))
			rate := 2 * c.length(end) / (c.length(end) + c.length(inner))
			m += times(m-c.slope(inner, e), rate*steps)
		}
		c.m[(k+ghosts)*c.size+e] = m
	}
}

func (c *chords) length(k int) float64 { return c.h[k+ghosts] }

func (c *chords) slope(k, e int) complex128 { return c.m[(k+ghosts)*c.size+e] }

func (c *chords) norm(k int) float64 { return norm(c.m[(k+ghosts)*c.size : (k+ghosts+1)*c.size]) }

// bend is the norm of the second difference at point i, between chords i−1 and i.
func (c *chords) bend(i int) float64 {
	sum := 0.0
	for e := range c.size {
		sum = math.Hypot(sum, norm1(c.slope(i, e)-c.slope(i-1, e)))
	}
	return sum / (c.length(i-1) + c.length(i))
}

func norm(v []complex128) float64 {
	sum := 0.0
	for _, x := range v {
		sum = math.Hypot(sum, norm1(x))
	}
	return sum
}

func norm1(v complex128) float64 { return math.Hypot(real(v), imag(v)) }
