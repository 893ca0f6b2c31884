package leastsquares

import (
	"math"

	"gonum.org/v1/gonum/blas/blas64"
)

// blockRows is how many rows are folded at a time: with ten columns a block stays in the first cache.
const blockRows = 256

// triangle is the R of a QR factorisation with its right-hand side, built by folding in blocks of rows (Golub and Van Loan,
// Matrix Computations, 4th edition, section 5.2; the folding is the sequential form of TSQR, Demmel, Grigori, Hoemmen and
// Langou, SIAM Journal on Scientific Computing 34, 2012).
type triangle struct {
	n     int
	r     []float64 // n x n, row by row, upper
	q     []float64 // the first n entries of the right-hand side, turned
	block []float64 // n+1 columns of blockRows
}

func newTriangle(n int) *triangle {
	return &triangle{n: n, r: make([]float64, n*n), q: make([]float64, n), block: make([]float64, (n+1)*blockRows)}
}

// fold makes the triangle of the rows scale[i]*jac[i*width+columns[k]] with the right-hand side right[i]. A nil scale is
// one everywhere. Numbers that are not finite, and squares that overflow, end up in the triangle.
func (t *triangle) fold(jac []float64, width int, columns []int, scale, right []float64) {
	clear(t.r)
	clear(t.q)
	for from := 0; from < len(right); from += blockRows {
		rows := min(blockRows, len(right)-from)
		for i := range rows {
			row := jac[(from+i)*width : (from+i+1)*width]
			s := 1.0
			if scale != nil {
				s = scale[from+i]
			}
			at := i
			for _, k := range columns {
				t.block[at] = s * row[k]
				at += blockRows
			}
			t.block[at] = right[from+i]
		}
		t.absorb(rows)
	}
}

// absorb reflects the block's rows into the triangle, column by column.
func (t *triangle) absorb(rows int) {
	blas := blas64.Implementation()
	n := t.n
	for j := range n {
		v := t.block[j*blockRows:][:rows]
		// The plain root of the squares is quicker than Dnrm2, which is needed where squares leave the numbers.
		norm := math.Sqrt(blas.Ddot(rows, v, 1, v, 1))
		if !(norm > 1e-140 && norm < 1e140) {
			norm = blas.Dnrm2(rows, v, 1)
		}
		if norm == 0 {
			continue
		}
		alpha := t.r[j*n+j]
		beta := -math.Copysign(math.Hypot(alpha, norm), alpha)
		tau := (beta - alpha) / beta
		blas.Dscal(rows, 1/(alpha-beta), v, 1)
		t.r[j*n+j] = beta
		for k := j + 1; k <= n; k++ {
			top := &t.q[j]
			if k < n {
				top = &t.r[j*n+k]
			}
			column := t.block[k*blockRows:][:rows]
			w := -tau * (*top + blas.Ddot(rows, v, 1, column, 1))
			*top += w
			blas.Daxpy(rows, w, v, 1, column, 1)
		}
	}
}

// norm is the length of column k.
func (t *triangle) norm(k int) float64 {
	s := 0.0
	for i := 0; i <= k; i++ {
		s = math.Hypot(s, t.r[i*t.n+k])
	}
	return s
}
