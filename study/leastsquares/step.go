package leastsquares

import (
	"math"
	"slices"

	"gonum.org/v1/gonum/blas/blas64"
	"gonum.org/v1/gonum/lapack"
	"gonum.org/v1/gonum/lapack/lapack64"
)

// subproblem is the linear model at one point in scaled parameters: minimise |A x + q|²/2 + damping |x|²/2 over
// lower <= x <= upper, with x = 0 the point itself.
type subproblem struct {
	n            int
	rank         float64   // singular values below this part of the largest count as zero
	a            []float64 // n x n, row by row
	q            []float64
	lower, upper []float64
	x            []float64 // the solution
	ax           []float64 // A x
	free         []bool    // the working set's complement

	// The singular value decomposition of the columns of A that were free when it was made, kept for the next damping.
	factored  []bool
	columns   []int
	seen      int // singular values above the threshold
	s         []float64
	u, vt     []float64
	overwrite []float64
	work      []float64
	turned    []float64
	along     []float64 // the target by singular vectors
	target    []float64
}

func newSubproblem(n int, rank float64) *subproblem {
	f := func(n int) []float64 { return make([]float64, n) }
	return &subproblem{
		n: n, rank: rank,
		a: f(n * n), q: f(n), lower: f(n), upper: f(n), x: f(n), ax: f(n), free: make([]bool, n),
		factored: make([]bool, n), columns: make([]int, 0, n),
		s: f(n), u: f(n * n), vt: f(n * n), overwrite: f(n * n), work: f(64 + 32*n), turned: f(n), along: f(n), target: f(n),
	}
}

// changed forgets the decomposition: A has been written anew.
func (b *subproblem) changed() { b.columns = b.columns[:0] }

// product puts A x into ax.
func (b *subproblem) product() {
	for i := range b.n {
		b.ax[i] = 0
		for k := i; k < b.n; k++ { // A is a triangle with scaled columns
			b.ax[i] += b.a[i*b.n+k] * b.x[k]
		}
	}
}

// pull is the derivative of the damped model by x[k], and the size of its largest term.
func (b *subproblem) pull(k int, damping float64) (g, size float64) {
	g = damping * b.x[k]
	size = math.Abs(g)
	for i := 0; i <= k; i++ {
		d := b.a[i*b.n+k] * (b.ax[i] + b.q[i])
		g += d
		size = max(size, math.Abs(d))
	}
	return g, size
}

// gradient is the derivative of the model by x[k] at x = 0, and the norm of the column.
func (b *subproblem) gradient(k int) (g, norm float64) {
	for i := 0; i <= k; i++ {
		g += b.a[i*b.n+k] * b.q[i]
		norm = math.Hypot(norm, b.a[i*b.n+k])
	}
	return g, norm
}

// noise is the part of its largest term below which a derivative's sign means nothing.
const noise = 1e-13

// solve finds the minimum by the active-set method of Stark and Parker, "Bounded-variable least squares", Computational
// Statistics 10, 1995: it starts at x = 0 and every pass lowers the model, so that x is a direction of descent even where the
// limit of passes ends it early. It says whether anything may move.
func (b *subproblem) solve(damping float64) bool {
	clear(b.x)
	clear(b.ax)
	moves := false
	for k := range b.n {
		g, _ := b.pull(k, 0)
		b.free[k] = !(b.lower[k] >= 0 && g >= 0 || b.upper[k] <= 0 && g <= 0)
		moves = moves || b.free[k]
	}
	if !moves {
		return false
	}
	released := -1
	for range 10 + 4*b.n {
		if !b.unbounded(damping) {
			return false
		}
		blocked, part := -1, 1.0
		for k := range b.n {
			if !b.free[k] {
				continue
			}
			end := b.upper[k]
			if b.target[k] < b.x[k] {
				end = b.lower[k]
			}
			if way := b.target[k] - b.x[k]; way > 0 && b.target[k] > end || way < 0 && b.target[k] < end {
				if p := (end - b.x[k]) / way; p < part {
					blocked, part = k, p
				}
			}
		}
		for k := range b.n {
			if b.free[k] {
				b.x[k] = min(max(b.x[k]+part*(b.target[k]-b.x[k]), b.lower[k]), b.upper[k])
			}
		}
		if blocked >= 0 {
			b.x[blocked] = b.upper[blocked]
			if b.target[blocked] < b.x[blocked] && b.target[blocked] < b.lower[blocked] {
				b.x[blocked] = b.lower[blocked]
			}
			b.free[blocked] = false
			b.product()
			if blocked == released && part == 0 {
				return true // rounding: the parameter let go wants back
			}
			continue
		}
		b.product()
		worst := 0.0
		released = -1
		for k := range b.n {
			if b.free[k] || b.lower[k] == b.upper[k] {
				continue
			}
			g, size := b.pull(k, damping)
			if b.x[k] >= b.upper[k] {
				g = -g
			}
			if g < -noise*size && g < worst {
				worst, released = g, k
			}
		}
		if released < 0 {
			return true
		}
		b.free[released] = true
	}
	return true
}

// The search for the damping that belongs to a radius.
const (
	radiusSlack = 0.1 // of the radius (Moré 1978, section 5)
	dampings    = 30
)

// within finds the minimum in the box no further than a radius away, but for the slack, and the damping that leads there:
// the least one where that step is short enough. The length of the step falls as the damping rises, and with g the gradient
// at x = 0 damping |x| <= |g|, since x is no higher than 0; between these bounds the step is Newton's on the reciprocal of
// the length (Hebden 1973; Moré 1978, section 5), with what bounds hold standing still. It says whether anything may move.
func (b *subproblem) within(radius, least float64) (damping float64, moves bool) {
	damping = least
	if !b.solve(damping) {
		return 0, false
	}
	length := b.length()
	if length <= (1+radiusSlack)*radius {
		return damping, true
	}
	steepest := 0.0
	for k := range b.n {
		g, _ := b.gradient(k)
		steepest = math.Hypot(steepest, g)
	}
	low, high := least, min(steepest/radius, math.MaxFloat64)
	for range dampings {
		v := 0.0 // minus half the derivative of the squared length
		for j := range b.seen {
			v += b.along[j] * b.along[j] / (b.s[j]*b.s[j] + damping)
		}
		damping += (length/radius - 1) * length * length / v
		if !(damping > low && damping < high) {
			damping = max(math.Sqrt(low)*math.Sqrt(high), high/1000)
		}
		b.solve(damping)
		length = b.length()
		switch {
		case math.Abs(length-radius) <= radiusSlack*radius:
			return damping, true
		case length > radius:
			low = damping
		default:
			high = damping
		}
	}
	if length > radius {
		damping = high
		b.solve(damping)
	}
	return damping, true
}

// length is the length of x.
func (b *subproblem) length() float64 { return blas64.Nrm2(blas64.Vector{N: b.n, Data: b.x, Inc: 1}) }

// slope is the derivative of the cost at x = 0 along x.
func (b *subproblem) slope() float64 {
	return blas64.Dot(blas64.Vector{N: b.n, Data: b.ax, Inc: 1}, blas64.Vector{N: b.n, Data: b.q, Inc: 1})
}

// unbounded puts into target the minimum over the free parameters, the others staying where they are.
func (b *subproblem) unbounded(damping float64) bool {
	if (len(b.columns) == 0 || !slices.Equal(b.factored, b.free)) && !b.decompose() {
		return false
	}
	n, m := b.n, len(b.columns)
	copy(b.turned, b.q)
	for k := range n {
		if !b.free[k] && b.x[k] != 0 {
			for i := 0; i <= k; i++ {
				b.turned[i] += b.a[i*n+k] * b.x[k]
			}
		}
	}
	clear(b.target)
	for j := range b.seen {
		d := 0.0
		for i := range n {
			d += b.u[i*m+j] * b.turned[i]
		}
		d *= -b.s[j] / (b.s[j]*b.s[j] + damping)
		b.along[j] = d
		for c, k := range b.columns {
			b.target[k] += d * b.vt[j*m+c]
		}
	}
	return true
}

// smallestSeen is the singular value whose square, and what is divided by it, are still numbers. No column is longer than one.
const smallestSeen = 1e-140

// decompose takes the free columns of A apart.
func (b *subproblem) decompose() bool {
	b.columns = b.columns[:0]
	for k, free := range b.free {
		if free {
			b.columns = append(b.columns, k)
		}
	}
	n, m := b.n, len(b.columns)
	if m == 0 {
		b.seen = 0
		return true
	}
	for i := range n {
		for c, k := range b.columns {
			b.overwrite[i*m+c] = b.a[i*n+k]
		}
	}
	ok := lapack64.Gesvd(lapack.SVDStore, lapack.SVDStore,
		blas64.General{Rows: n, Cols: m, Data: b.overwrite[:n*m], Stride: m},
		blas64.General{Rows: n, Cols: m, Data: b.u[:n*m], Stride: m},
		blas64.General{Rows: m, Cols: m, Data: b.vt[:m*m], Stride: m},
		b.s[:m], b.work, len(b.work))
	if !ok {
		b.columns = b.columns[:0]
		return false
	}
	b.seen = 0
	for b.seen < m && b.s[b.seen] > smallestSeen && b.s[b.seen] >= b.rank*b.s[0] {
		b.seen++
	}
	copy(b.factored, b.free)
	return true
}

// fall is how much lower the model without damping is at x: at least zero but for rounding.
func (b *subproblem) fall() float64 {
	f := 0.0
	for i := range b.n {
		f -= b.ax[i] * (b.ax[i] + 2*b.q[i]) / 2
	}
	return f
}
