package multiaffine

import (
	"math"
	"slices"
)

// prover shows by branch and bound that no setting exceeds a threshold T.
//
// At each position y of the outer axes the row runs from H = n/d at x = −1 to m/e at x = 1, and T·|D|² − |N|² is a
// quadratic form in (1−x, 1+x)/2, both not negative, with the symmetric matrix
//
//	[ A  C ]     A = T|d|² − |n|²,  B = T|e|² − |m|²,
//	[ C  B ]     C = T·Re d·e* − Re n·m*,
//
// whose determinant is E² − T·|W|² with E = T·Im d·e* − Im n·m* and W = d·m − e·n. E and W do not change when x is shifted,
// so they do not know where on the row the resonance sits: they vary slowly with y, however sharp the peak.
//
// The form is not negative on the row if and only if A ≥ 0, B ≥ 0 and either C ≥ 0 or the determinant ≥ 0 (a copositive
// 2×2 matrix; textbook). On a box of outer axes that is shown by Bernstein coefficients that are not negative:
// either those of A, B and C (degree 2d in each outer axis), or, with one λ ≥ 0 for the box, those of
//
//	A + B                                 (degree 2d)
//	(E² − T·|W|²) + 2λ·C − λ²             (degree 4d)
//
// which make the matrix with C − λ positive semidefinite. λ is C at the middle of the box, or zero where C is negative: it
// is zero where the peak lies on the row, and what it misses is of second order. Else the box is halved where the
// coefficients bend most. Those of n, d, m, e are found afresh for each box (Function.Bernstein), so small boxes keep all
// their digits. Without a row axis A alone counts.
type prover struct {
	once, twice, fourfold shape
	degrees               []int // for which the tables are made
	rowed                 bool
	pairs, squares        []pair // of once into twice, of twice into fourfold
	a, b, c, e, wr, wi    []float64
	sum, det              []float64
	bernstein             bernstein
	ends                  [4][]complex128 // coefficients of d, n and, with a row axis, e, m for the box at hand
}

// box is a part of the outer axes.
type box struct{ low, high []float64 }

// mostPairs bounds the work for one box.
const mostPairs = 1 << 20

// thinnest is the width below which a box is not halved any more: its coefficients differ by rounding only.
const thinnest = 1e-12

// prepare makes the tables for a function whose outer axes have the given degrees.
func (p *prover) prepare(degrees []int, rowed bool) {
	if p.once.size > 0 && p.rowed == rowed && slices.Equal(p.degrees, degrees) {
		return
	}
	*p = prover{degrees: slices.Clone(degrees), rowed: rowed, once: newShape(degrees, 1), twice: newShape(degrees, 2)}
	p.pairs = p.once.products(p.twice)
	p.bernstein.prepare(degrees)
	for i := range p.parts() {
		p.ends[i] = make([]complex128, p.once.size)
	}
	for _, c := range []*[]float64{&p.a, &p.b, &p.c, &p.e, &p.wr, &p.wi, &p.sum} {
		*c = make([]float64, p.twice.size)
	}
	if rowed {
		p.fourfold = newShape(degrees, 4)
		p.squares = p.twice.products(p.fourfold)
		p.det = make([]float64, p.fourfold.size)
	}
}

// pairsNeeded is the number of products per box.
func pairsNeeded(degrees []int, times int) float64 {
	n := 1.0
	for _, d := range degrees {
		n *= float64(times*d + 1)
	}
	return n * (n + 1) / 2
}

// parts is how many polynomials a box needs.
func (p *prover) parts() int {
	if p.rowed {
		return 4
	}
	return 2
}

// prove raises m to the maximum and lowers its bound.
func (s *Searcher) prove(m *Maximum, e Effort) {
	if s.outer == 0 { // the row's closed form is the maximum
		m.Bound, m.Proven = m.Power*(1+e.Gap), true
		return
	}
	axes := s.outer
	rowed := s.rowed && pairsNeeded(s.f.degrees[:axes], 2) <= mostPairs
	if s.rowed && !rowed {
		axes++
	}
	if pairsNeeded(s.f.degrees[:axes], 1) > mostPairs {
		return
	}
	p := &s.prover
	p.prepare(s.f.degrees[:axes], rowed)
	whole := box{make([]float64, axes), make([]float64, axes)}
	for k := range axes {
		whole.low[k], whole.high[k] = -1, 1
	}
	now, next := []box{whole}, []box(nil)
	var stuck []box
	middle := make([]float64, s.outer)
	for len(now) > 0 && m.Boxes < e.Boxes {
		next = next[:0]
		for i := range now {
			if m.Boxes >= e.Boxes {
				next = append(next, now[i:]...)
				break
			}
			if e.Stop != nil && m.Boxes%patience == 0 && e.Stop() {
				return
			}
			b := &now[i]
			m.Boxes++
			for k := range middle {
				middle[k] = (b.low[k] + b.high[k]) / 2
			}
			s.tryFrom(m, middle)
			axis := p.holds(&s.f, b, m.Power*(1+e.Gap))
			switch {
			case axis < 0:
			case b.high[axis]-b.low[axis] < thinnest:
				stuck = append(stuck, *b)
			default:
				next = append(next, b.halves(axis)...)
			}
		}
		now, next = next, now
	}
	rest := append(now, stuck...)
	m.Proven = len(rest) == 0
	// What is left over gives the bound: the gap is widened until every box holds.
	for gap := e.Gap; gap < loosest; gap *= 4 {
		bound := m.Power * (1 + gap)
		rest = slices.DeleteFunc(rest, func(b box) bool { return p.holds(&s.f, &b, bound) < 0 })
		if len(rest) == 0 {
			m.Bound = bound
			break
		}
	}
}

// loosest is the relative gap from which on a bound is not worth giving.
const loosest = 1e6

// tryFrom climbs from a position of the outer axes if its row has more than the best so far.
func (s *Searcher) tryFrom(m *Maximum, y []float64) {
	r := s.row(y)
	if x, power := r.Best(); power > m.Power && !math.IsInf(power, 0) {
		if better := s.climbFrom(s.point(y, x)); better.Power > m.Power {
			m.Point = better
		}
	}
}

// halves are the two halves of a box along an axis; the lower one keeps its room.
func (b *box) halves(axis int) []box {
	middle := (b.low[axis] + b.high[axis]) / 2
	upper := box{slices.Clone(b.low), slices.Clone(b.high)}
	upper.low[axis] = middle
	lower := *b
	lower.high[axis] = middle
	return []box{lower, upper}
}

// rounding is how far below zero, in units of (A + B)², a determinant may come by rounding alone.
const rounding = 1e-29

// holds reports by -1 that |N|² ≤ T·|D|² all over a box, or else the axis to halve.
func (p *prover) holds(f *Function, b *box, t float64) int {
	p.bernstein.fill(f, b.low, b.high, p.ends)
	p.end(p.ends[0], p.ends[1], p.a, t)
	if !p.rowed {
		if slices.Min(p.a) >= 0 {
			return -1
		}
		return p.twice.widest(p.a, b)
	}
	p.end(p.ends[2], p.ends[3], p.b, t)
	p.between(t)
	if slices.Min(p.c) >= 0 { // the peak lies on no row of this box: the ends alone count
		switch {
		case !(slices.Min(p.a) >= 0):
			return p.twice.widest(p.a, b)
		case !(slices.Min(p.b) >= 0):
			return p.twice.widest(p.b, b)
		}
		return -1
	}
	for i, a := range p.a {
		p.sum[i] = a + p.b[i]
	}
	if !(slices.Min(p.sum) >= 0) {
		return p.twice.widest(p.sum, b)
	}
	p.determinant(t)
	most := slices.Max(p.sum)
	if slices.Min(p.det) >= -rounding*most*most {
		return -1
	}
	return p.fourfold.widest(p.det, b)
}

// end writes the coefficients of T|d|² − |n|².
func (p *prover) end(d, n []complex128, into []float64, t float64) {
	clear(into)
	for i := range p.pairs {
		x := &p.pairs[i]
		v := t*dot(d[x.j], d[x.k]) - dot(n[x.j], n[x.k])
		if x.j != x.k {
			v *= 2
		}
		into[x.into] += x.weight * v
	}
}

// between writes the coefficients of C, E and W.
func (p *prover) between(t float64) {
	d, n, e, m := p.ends[0], p.ends[1], p.ends[2], p.ends[3]
	for _, c := range [][]float64{p.c, p.e, p.wr, p.wi} {
		clear(c)
	}
	for i := range p.pairs {
		x := &p.pairs[i]
		j, k := x.j, x.k
		c := t*dot(d[j], e[k]) - dot(n[j], m[k])
		s := t*cross(d[j], e[k]) - cross(n[j], m[k])
		w := d[j]*m[k] - e[j]*n[k]
		if j != k {
			c += t*dot(d[k], e[j]) - dot(n[k], m[j])
			s += t*cross(d[k], e[j]) - cross(n[k], m[j])
			w += d[k]*m[j] - e[k]*n[j]
		}
		p.c[x.into] += x.weight * c
		p.e[x.into] += x.weight * s
		p.wr[x.into] += x.weight * real(w)
		p.wi[x.into] += x.weight * imag(w)
	}
}

// determinant writes the coefficients of E² − T|W|² + 2λC − λ².
func (p *prover) determinant(t float64) {
	lambda := 0.0
	for i, w := range p.twice.middle {
		lambda += w * p.c[i]
	}
	lambda = max(0, lambda)
	clear(p.det)
	for i := range p.squares {
		x := &p.squares[i]
		j, k := x.j, x.k
		v := p.e[j]*p.e[k] - t*(p.wr[j]*p.wr[k]+p.wi[j]*p.wi[k]) + lambda*(p.c[j]+p.c[k]-lambda)
		if j != k {
			v *= 2
		}
		p.det[x.into] += x.weight * v
	}
}

// widest is the axis of a box along which coefficients bend most, of equals the longest.
func (s shape) widest(c []float64, b *box) int {
	axis, most := 0, -1.0
	for k := range s.degrees {
		bend := s.bend(c, k)
		if bend > most || (bend == most && b.high[k]-b.low[k] > b.high[axis]-b.low[axis]) {
			axis, most = k, bend
		}
	}
	return axis
}
