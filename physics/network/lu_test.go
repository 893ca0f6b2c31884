package network

import (
	"math"
	"math/cmplx"
	"testing"

	"pgregory.net/rapid"
)

// drawMatrix makes a sparse random matrix with entries over ten decades.
func drawMatrix(t *rapid.T, n int) []complex128 {
	a := make([]complex128, n*n)
	for i := range a {
		if i/n == i%n || rapid.IntRange(0, 2).Draw(t, "zero") == 0 {
			size := logUniform(t, 1e-5, 1e5, "size")
			a[i] = cmplx.Rect(size, rapid.Float64Range(-math.Pi, math.Pi).Draw(t, "angle"))
		}
	}
	return a
}

// The factors solve A·x = b and Aᵀ·x = c with residuals of rounding size against the norms (backward error; N. J. Higham,
// Accuracy and Stability of Numerical Algorithms, chapter 9, from memory).
func TestLUSolvesBothWays(t *testing.T) {
	r := counting(t)
	rapid.Check(t, func(t *rapid.T) {
		n := rapid.IntRange(1, 12).Draw(t, "n")
		a := drawMatrix(t, n)
		f := newLU(n)
		copy(f.a, a)
		if !f.factor() {
			t.Skip("singular")
		}
		b := drawMatrix(t, n)[:n]
		for _, transposed := range []bool{false, true} {
			x := append([]complex128(nil), b...)
			if transposed {
				f.solveTransposed(x)
			} else {
				f.solve(x)
			}
			norm, size := 0.0, 0.0
			for i := range x {
				size = math.Max(size, cmplx.Abs(x[i]))
			}
			for _, y := range a {
				norm = math.Max(norm, cmplx.Abs(y))
			}
			for i := range n {
				sum := -b[i]
				for j := range n {
					if transposed {
						sum += a[j*n+i] * x[j]
					} else {
						sum += a[i*n+j] * x[j]
					}
				}
				off := cmplx.Abs(sum) / (norm*size + cmplx.Abs(b[i]))
				r.saw(off)
				if !(off < 1e-13) {
					t.Fatalf("row %d, transposed %v: residual %g of the norms", i, transposed, off)
				}
			}
		}
	})
}

func TestLUTellsSingularMatrices(t *testing.T) {
	for name, a := range map[string][]complex128{
		"zero":           {0, 0, 0, 0},
		"dependent rows": {1, 2i, 2, 4i},
		"not a number":   {complex(math.NaN(), 0), 0, 0, 1},
		"infinite":       {complex(math.Inf(1), 0), 0, 0, 1},
	} {
		f := newLU(2)
		copy(f.a, a)
		if f.factor() {
			t.Errorf("%s: factored", name)
		}
	}
}
