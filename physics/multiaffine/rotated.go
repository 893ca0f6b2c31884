package multiaffine

import "math"

// Rotated is a row as sums of squares of real numbers: |N|² = (NS·x + NO)² + NQ and |D|² = (DS·x + DO)² + DQ, each
// polynomial turned by the phase of its slope. Nothing cancels in it, however near a zero of N or D.
type Rotated struct{ NS, NO, NQ, DS, DO, DQ float64 }

// Rotate turns a row.
func (r *Row) Rotate() (t Rotated) {
	t.NS, t.NO, t.NQ = rotate(r.N0, r.N1)
	t.DS, t.DO, t.DQ = rotate(r.D0, r.D1)
	return t
}

func rotate(a, b complex128) (slope, offset, rest float64) {
	slope = math.Sqrt(squared(b))
	if slope == 0 {
		return 0, 0, squared(a)
	}
	inverse := 1 / slope
	across := cross(a, b) * inverse
	return slope, dot(a, b) * inverse, across * across
}

// Powers writes |H|² at every x to into, which must be as long. It is infinite or NaN where D vanishes.
// Each value is a quotient of two fused sums, so its bits are the same on every platform.
func (t *Rotated) Powers(x, into []float64) {
	ns, no, nq, ds, do, dq := t.NS, t.NO, t.NQ, t.DS, t.DO, t.DQ
	into = into[:len(x)]
	for i, x := range x {
		n, d := math.FMA(ns, x, no), math.FMA(ds, x, do)
		into[i] = math.FMA(n, n, nq) / math.FMA(d, d, dq)
	}
}
