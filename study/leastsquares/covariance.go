package leastsquares

import (
	"math"

	"gonum.org/v1/gonum/blas/blas64"
	"gonum.org/v1/gonum/lapack"
	"gonum.org/v1/gonum/lapack/lapack64"
)

// Covariance is what the linear model at a fit's point says of its parameters (Björck, Numerical Methods for Least Squares
// Problems, 1996, sections 1.2.3 and 2.8.2). Vectors are as long as the parameters, with zeros where one is not free.
type Covariance struct {
	// Free are the parameters that are neither fixed nor at a bound, in rising order.
	Free []int
	// Matrix is the covariance, n x n, row by row, with zeros where a parameter is not free. Where the rank falls short it is
	// that of the directions seen alone; ask Deviation whether a parameter is one of them.
	Matrix []float64
	// Scale is the norm of each free column of the weighted Jacobian, or 1 where that is zero: what makes parameters of
	// unlike units comparable.
	Scale []float64
	// Singular are the singular values of the Jacobian with its free columns brought to length one, the largest first: all
	// one for parameters that do not touch each other, zero for a direction that the rows do not see.
	Singular []float64
	// Vectors are the right singular vectors, of length one, in scaled parameters Scale[k]*p[k].
	Vectors [][]float64
	// Rank is how many singular values are above the threshold.
	Rank int
}

// undetermined is the part of a parameter in directions not seen above which it is not determined.
const undetermined = 1e-6

// Covariance takes the Jacobian of the free parameters apart; rows count with their weights. For squares the matrix is
// variance times the inverse of JᵀJ; for a robust loss the weights are taken as given, which is a common approximation.
// variance is that of a residual of weight 1: 1 where residuals are in units of their standard deviation, or the estimate
// that Variance gives. tolerance is the singular value, as part of the largest, below which a direction counts as not seen; 0
// stands for the one of the fit. Errors are *Error, for a variance or tolerance that is none.
func (r *Result) Covariance(variance, tolerance float64) (*Covariance, error) {
	return r.covariance(variance, tolerance, -1)
}

// covariance lets one more parameter be free even where it stands at a bound.
func (r *Result) covariance(variance, tolerance float64, also int) (*Covariance, error) {
	switch {
	case !(variance >= 0) || math.IsInf(variance, 1):
		return nil, wrong("the variance of a residual is %g; give a number that is not negative", variance)
	case !(tolerance >= 0 && tolerance < 1):
		return nil, wrong("the threshold of the rank is %g; give a number from 0 to below 1", tolerance)
	case tolerance == 0:
		tolerance = r.rank
	}
	n, rows := len(r.P), len(r.live)
	c := &Covariance{Matrix: make([]float64, n*n), Scale: make([]float64, n)}
	var columns []int // of the triangle
	for at, k := range r.live {
		if r.AtBound[k] == 0 || k == also {
			c.Free = append(c.Free, k)
			columns = append(columns, at)
		}
	}
	m := len(c.Free)
	if m == 0 {
		return c, nil
	}
	a := make([]float64, rows*m)
	for at, k := range c.Free {
		norm := 0.0
		for i := 0; i <= columns[at]; i++ {
			norm = math.Hypot(norm, r.r[i*rows+columns[at]])
		}
		if norm == 0 {
			norm = 1
		}
		c.Scale[k] = norm
		for i := 0; i <= columns[at]; i++ {
			a[i*m+at] = r.r[i*rows+columns[at]] / norm
		}
	}
	c.Singular = make([]float64, m)
	vt := blas64.General{Rows: m, Cols: m, Data: make([]float64, m*m), Stride: m}
	work := make([]float64, 64+32*rows)
	if !lapack64.Gesvd(lapack.SVDNone, lapack.SVDStore, blas64.General{Rows: rows, Cols: m, Data: a, Stride: m},
		blas64.General{Stride: 1}, vt, c.Singular, work, len(work)) {
		return nil, wrong("the singular values of the Jacobian do not converge; scale the parameters")
	}
	for j, s := range c.Singular {
		v := make([]float64, n)
		for at, k := range c.Free {
			v[k] = vt.Data[j*m+at]
		}
		c.Vectors = append(c.Vectors, v)
		if s > 0 && s >= tolerance*c.Singular[0] {
			c.Rank++
		}
	}
	for j := range c.Rank {
		for _, k := range c.Free {
			a := c.Vectors[j][k] / c.Scale[k] / c.Singular[j]
			for _, l := range c.Free {
				c.Matrix[k*n+l] += variance * a * (c.Vectors[j][l] / c.Scale[l] / c.Singular[j])
			}
		}
	}
	return c, nil
}

// Deviation is the standard deviation of parameter k. It is not ok, and says nothing, where the parameter is fixed or at a
// bound or where the rows leave it open: where more than a millionth of it lies in directions not seen.
func (c *Covariance) Deviation(k int) (deviation float64, ok bool) {
	if c.Scale[k] == 0 {
		return 0, false
	}
	open := 0.0
	for _, v := range c.Vectors[c.Rank:] {
		open = math.Hypot(open, v[k])
	}
	n := len(c.Scale)
	return math.Sqrt(c.Matrix[k*n+k]), open <= undetermined
}

// Null spans the directions in which the parameters can move, to first order, without any residual seeing it: one direction
// per missing rank, in the parameters' own units, each such that the scaled parameters move by one together.
func (c *Covariance) Null() [][]float64 {
	var null [][]float64
	for _, v := range c.Vectors[c.Rank:] {
		d := make([]float64, len(v))
		for _, k := range c.Free {
			d[k] = v[k] / c.Scale[k]
		}
		null = append(null, d)
	}
	return null
}
