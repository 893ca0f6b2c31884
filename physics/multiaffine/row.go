package multiaffine

import "math"

// Row is a network function along its last axis, of degree one: H = (N0 + N1·x)/(D0 + D1·x), x in [-1, 1].
type Row struct{ N0, N1, D0, D1 complex128 }

// Value is H at x. It is infinite or NaN where D vanishes.
func (r *Row) Value(x float64) complex128 {
	return along(r.N0, r.N1, x) / along(r.D0, r.D1, x)
}

// Power is |H|² at x. It is infinite or NaN where D vanishes.
func (r *Row) Power(x float64) float64 {
	return squared(along(r.N0, r.N1, x)) / squared(along(r.D0, r.D1, x))
}

// centred is a row with its origin moved to where |D| is smallest within [-1, 1], which keeps the digits of a sharp
// peak: |N|² = p0 + p1·z + p2·z², |D|² = d0 + d1·z + d2·z² with z = x − origin, and d1 = 0 unless the origin is an end.
type centred struct{ origin, p0, p1, p2, d0, d1, d2 float64 }

func (r *Row) centre() (c centred) {
	c.p2, c.d2 = squared(r.N1), squared(r.D1)
	shift := dot(r.D0, r.D1)
	inside := math.Abs(shift) < c.d2
	switch {
	case inside:
		c.origin = -shift / c.d2
	case shift != 0:
		c.origin = -math.Copysign(1, shift)
	}
	n, d := along(r.N0, r.N1, c.origin), along(r.D0, r.D1, c.origin)
	c.p0, c.p1, c.d0 = squared(n), 2*dot(n, r.N1), squared(d)
	if !inside {
		c.d1 = 2 * dot(d, r.D1)
	}
	return c
}

// Best is the x in [-1, 1] with the largest |H|², and that power: a root of one quadratic or an end. The power is
// infinite where D vanishes there and N does not. Of equal ends the lower is taken.
//
// The derivative of |N|²/|D|² has the sign of (p2·d1 − p1·d2)·z² + 2(p2·d0 − p0·d2)·z + (p1·d0 − p0·d1). On the real line
// closed at infinity the ratio has one maximum and one minimum (a line goes to a circle through a Möbius transformation),
// so if the maximum is not inside, it is at an end.
func (r *Row) Best() (x, power float64) {
	c := r.centre()
	if peak, ok := c.peak(); ok {
		power := r.Power(peak)
		if power >= 0 { // not NaN
			return peak, power
		}
	}
	low, high := r.Power(-1), r.Power(1)
	if high > low {
		return 1, high
	}
	return -1, low
}

// peak is the maximum on the whole real line, and whether it lies in [-1, 1].
func (c *centred) peak() (x float64, inside bool) {
	square, half, constant := c.p2*c.d1-c.p1*c.d2, c.p2*c.d0-c.p0*c.d2, c.p1*c.d0-c.p0*c.d1
	root := math.Sqrt(max(0, half*half-square*constant))
	// The root at which the derivative falls: z = (−half − root)/square = constant/(root − half).
	var z float64
	if half > 0 {
		z = -(half + root) / square
	} else {
		z = constant / (root - half)
	}
	x = c.origin + z
	return x, x >= -1 && x <= 1 // false for NaN: a row that is constant
}

// Summits are the local maxima of |H|² within [-1, 1], the higher first: one, or both ends.
func (r *Row) Summits() (x, power [2]float64, n int) {
	x[0], power[0] = r.Best()
	if x[0] != -1 && x[0] != 1 {
		return x, power, 1
	}
	other := -x[0]
	// At the other end the ratio must fall inwards, by more than rounding: there may be a minimum there.
	n0, d := along(r.N0, r.N1, other), along(r.D0, r.D1, other)
	top, bottom := squared(n0), squared(d)
	rise := dot(n0, r.N1)*bottom - top*dot(d, r.D1)
	scale := math.Sqrt(top*bottom) * (math.Sqrt(squared(r.N1)*bottom) + math.Sqrt(top*squared(r.D1)))
	if rise*other > 1e-14*scale {
		x[1], power[1] = other, r.Power(other)
		return x, power, 2
	}
	return x, power, 1
}

// Interval is a range of x, both ends included.
type Interval struct{ Low, High float64 }

// Above are the ranges within [-1, 1] where |H|² is at least a threshold, in order: none, one or two.
// The discriminant is the row's own invariant T·|W|² − (T·Im D0·D1* − Im N0·N1*)², W = D0·N1 − D1·N0, which loses no
// digits beside a sharp peak.
func (r *Row) Above(threshold float64) (ranges [2]Interval, n int) {
	c := r.centre()
	square := c.p2 - threshold*c.d2
	half := (c.p1 - threshold*c.d1) / 2
	constant := c.p0 - threshold*c.d0
	w := r.D0*r.N1 - r.D1*r.N0
	e := threshold*cross(r.D0, r.D1) - cross(r.N0, r.N1)
	discriminant := threshold*squared(w) - e*e
	add := func(low, high float64) {
		low, high = max(low, -1), min(high, 1)
		if low <= high {
			ranges[n] = Interval{low, high}
			n++
		}
	}
	if !(discriminant > 0) {
		if square > 0 || (square == 0 && constant >= 0) {
			add(-1, 1)
		}
		return ranges, n
	}
	// Both roots of square·z² + 2·half·z + constant without cancellation.
	root := math.Sqrt(discriminant)
	q := -(half + math.Copysign(root, half))
	first, second := q/square, constant/q
	if square == 0 { // one root is at infinity, on the side to which a line with this slope has fallen or risen
		if half > 0 {
			add(c.origin+second, 1)
		} else {
			add(-1, c.origin+second)
		}
		return ranges, n
	}
	low, high := c.origin+min(first, second), c.origin+max(first, second)
	if square < 0 {
		add(low, high)
		return ranges, n
	}
	add(-1, low)
	add(high, 1)
	if n == 2 && ranges[0].High >= ranges[1].Low { // rounding closed the gap
		ranges[0].High, n = ranges[1].High, 1
	}
	return ranges, n
}
