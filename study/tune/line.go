package tune

import (
	"slices"

	"knobwise/physics/multiaffine"
)

// line is a network function along one axis, at one frequency.
type line struct {
	row  multiaffine.Row
	gang *multiaffine.Function // instead of the row, where several parts move on the axis
}

func (l *line) set(f *multiaffine.Function) {
	row, ok := f.Row()
	l.row, l.gang = row, nil
	if !ok {
		l.gang = f
	}
}

func (l *line) power(x float64) float64 {
	if l.gang != nil {
		return l.gang.Power([]float64{x})
	}
	return l.row.Power(x)
}

// above are the ranges within [-1, 1] where |H|² is at least a threshold, in order.
func (l *line) above(threshold float64) []multiaffine.Interval {
	if !(threshold > 0) {
		return []multiaffine.Interval{{Low: -1, High: 1}}
	}
	if l.gang == nil {
		ranges, n := l.row.Above(threshold)
		return slices.Clone(ranges[:n])
	}
	g := newGang(l.gang, threshold)
	g.isolate(-1, 1)
	places := append(append([]float64{-1}, g.roots...), 1)
	var all []multiaffine.Interval
	for i := 1; i < len(places); i++ {
		low, high := places[i-1], places[i]
		if low == high || l.power(low+(high-low)/2) < threshold {
			continue
		}
		if n := len(all); n > 0 && all[n-1].High == low {
			all[n-1].High = high
		} else {
			all = append(all, multiaffine.Interval{Low: low, High: high})
		}
	}
	return all
}

// low is where |H|² is least along the line, in closed form: the largest of its inverse. ok is false for a gang.
func (l *line) low() (x float64, ok bool) {
	if l.gang != nil {
		return 0, false
	}
	inverse := multiaffine.Row{N0: l.row.D0, N1: l.row.D1, D0: l.row.N0, D1: l.row.N1}
	x, _ = inverse.Best()
	return x, true
}

// gang isolates the places at which |N|² − T·|D|² of a gang changes its sign. That is a real polynomial of twice the
// gang's degree, taken in Bernstein form on smaller and smaller intervals: as many roots as its coefficients change their
// sign, or fewer by an even number (Descartes' rule; J. M. Lane, R. F. Riesenfeld, BIT 21 (1981) 112-117, from memory).
type gang struct {
	f         *multiaffine.Function
	threshold float64
	n, d      []complex128
	q         []float64
	weights   [][]float64 // of n_i·n_j* in q_(i+j)
	roots     []float64
}

func newGang(f *multiaffine.Function, threshold float64) *gang {
	degree := f.Degrees()[0]
	g := &gang{f: f, threshold: threshold, n: make([]complex128, degree+1), d: make([]complex128, degree+1), q: make([]float64, 2*degree+1)}
	for i := range degree + 1 {
		g.weights = append(g.weights, make([]float64, degree+1))
		for j := range g.weights[i] {
			g.weights[i][j] = binomial(degree, i) * binomial(degree, j) / binomial(2*degree, i+j)
		}
	}
	return g
}

func binomial(n, k int) float64 {
	b := 1.0
	for i := range k {
		b = b * float64(n-i) / float64(i+1)
	}
	return b
}

// thinnest is the width of an interval that is not halved any more.
const thinnest = 1e-12

func (g *gang) isolate(low, high float64) {
	g.f.Bernstein([]float64{low}, []float64{high}, g.n, g.d)
	clear(g.q)
	for i := range g.n {
		for j := range g.n {
			g.q[i+j] += g.weights[i][j] * (dot(g.n[i], g.n[j]) - g.threshold*dot(g.d[i], g.d[j]))
		}
	}
	changes := 0
	for i := 1; i < len(g.q); i++ {
		if (g.q[i] < 0) != (g.q[i-1] < 0) {
			changes++
		}
	}
	switch {
	case changes == 0:
	case changes == 1 || high-low < thinnest:
		if changes%2 == 1 {
			g.roots = append(g.roots, g.root(low, high))
		}
	default:
		middle := low + (high-low)/2
		g.isolate(low, middle)
		g.isolate(middle, high)
	}
}

// root is where the power crosses the threshold, down to neighbouring numbers.
func (g *gang) root(low, high float64) float64 {
	under := g.q[0] < 0
	for range 100 {
		middle := low + (high-low)/2
		if middle == low || middle == high {
			break
		}
		if (g.f.Power([]float64{middle}) < g.threshold) == under {
			low = middle
		} else {
			high = middle
		}
	}
	return low + (high-low)/2
}

func dot(a, b complex128) float64 { return real(a)*real(b) + imag(a)*imag(b) }
