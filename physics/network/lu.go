package network

import "math"

// lu is the triangular factorisation P·S·A = L·U of a square complex matrix in place, with rows scaled to like size and
// partial pivoting: right for every matrix, where sparse is fast for most.
type lu struct {
	n     int
	a     []complex128 // n×n row by row; after factor: L below the diagonal (unit diagonal), U on and above
	row   []int        // row[i] is the row of A that stands at i in P·S·A
	scale []float64    // power of two by which each row of A was multiplied
	tmp   []complex128
}

func newLU(n int) *lu {
	return &lu{n: n, a: make([]complex128, n*n), row: make([]int, n), scale: make([]float64, n), tmp: make([]complex128, n)}
}

// powerOfTwo returns the power of two that brings x near one; multiplying by it costs no accuracy.
func powerOfTwo(x float64) float64 {
	if x == 0 || math.IsInf(x, 0) || math.IsNaN(x) {
		return 1
	}
	_, exponent := math.Frexp(x)
	return math.Ldexp(1, -exponent)
}

// magnitude is a cheap norm of a complex number, within √2 of its absolute value.
func magnitude(z complex128) float64 { return math.Abs(real(z)) + math.Abs(imag(z)) }

// smallestPivot: rows are scaled to a largest entry near one, so a pivot below this has no correct digit left.
const smallestPivot = 1e-15

// factor overwrites a with its factors. It reports false where the matrix is singular to working accuracy.
func (f *lu) factor() bool {
	n := f.n
	for i := range n {
		f.row[i] = i
		r := f.a[i*n : i*n+n]
		largest := 0.0
		for _, x := range r {
			largest = max(largest, magnitude(x))
		}
		f.scale[i] = powerOfTwo(largest)
		for j := range r {
			r[j] *= complex(f.scale[i], 0)
		}
	}
	for k := range n {
		best, p := -1.0, k
		for i := k; i < n; i++ {
			if m := magnitude(f.a[i*n+k]); m > best {
				best, p = m, i
			}
		}
		if !(best > smallestPivot) || math.IsInf(best, 0) {
			return false
		}
		if p != k {
			f.row[k], f.row[p] = f.row[p], f.row[k]
			upper, lower := f.a[k*n:k*n+n], f.a[p*n:p*n+n]
			for j := range upper {
				upper[j], lower[j] = lower[j], upper[j]
			}
		}
		pivotRow := f.a[k*n : k*n+n]
		inverse := 1 / pivotRow[k]
		for i := k + 1; i < n; i++ {
			r := f.a[i*n : i*n+n]
			if r[k] == 0 {
				continue
			}
			factor := r[k] * inverse
			r[k] = factor
			for j := k + 1; j < n; j++ {
				r[j] -= factor * pivotRow[j]
			}
		}
	}
	return true
}

// solve overwrites x = b with the solution of A·x = b.
func (f *lu) solve(x []complex128) {
	n := f.n
	copy(f.tmp, x)
	for i := range n {
		x[i] = f.tmp[f.row[i]] * complex(f.scale[f.row[i]], 0)
	}
	for k := range n {
		if x[k] == 0 {
			continue
		}
		for i := k + 1; i < n; i++ {
			if l := f.a[i*n+k]; l != 0 {
				x[i] -= l * x[k]
			}
		}
	}
	for i := n - 1; i >= 0; i-- {
		r := f.a[i*n : i*n+n]
		sum := x[i]
		for j := i + 1; j < n; j++ {
			if r[j] != 0 {
				sum -= r[j] * x[j]
			}
		}
		x[i] = sum / r[i]
	}
}

// solveTransposed overwrites x = c with the solution of Aᵀ·x = c.
func (f *lu) solveTransposed(x []complex128) {
	n := f.n
	for i := range n {
		r := f.a[i*n : i*n+n]
		x[i] /= r[i]
		if x[i] == 0 {
			continue
		}
		for j := i + 1; j < n; j++ {
			if r[j] != 0 {
				x[j] -= r[j] * x[i]
			}
		}
	}
	for i := n - 1; i > 0; i-- {
		if x[i] == 0 {
			continue
		}
		r := f.a[i*n : i*n+n]
		for j := range i {
			if r[j] != 0 {
				x[j] -= r[j] * x[i]
			}
		}
	}
	copy(f.tmp, x)
	for i := range n {
		x[f.row[i]] = f.tmp[i] * complex(f.scale[f.row[i]], 0)
	}
}
