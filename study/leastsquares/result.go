package leastsquares

import (
	"math"
	"slices"
)

// Result is the best point of a fit.
type Result struct {
	P         []float64
	Cost      float64   // half the sum of the loss of the squared residuals; half the sum of squares without a robust loss
	Residuals []float64 // at P
	Weights   []float64 // of each row by the loss: its first derivative at the squared residual, 1 for squares
	Reason    Stop
	// Evaluations counts all calls of Evaluate, Jacobians those that asked for the Jacobian.
	Evaluations, Jacobians int
	// AtBound is -1 where a parameter stands at its lower bound, +1 at its upper one and 0 elsewhere, and where it is fixed.
	AtBound []int8
	// Gradient is the derivative of the cost by each parameter, 0 for fixed ones. At a minimum it points out of the box where
	// AtBound says so, and is zero elsewhere as far as the tolerances go.
	Gradient []float64

	rank  float64
	live  []int     // parameters that are not fixed
	r     []float64 // the triangle of the live columns of the weighted Jacobian, row by row
	fixed []bool
}

// result copies the present point.
func (f *fitter) result(reason Stop) Result {
	res := Result{
		P: slices.Clone(f.now.p), Cost: f.now.cost, Residuals: slices.Clone(f.now.r), Weights: make([]float64, len(f.now.r)),
		Reason: reason, Evaluations: f.evaluations, Jacobians: f.jacobians,
		AtBound: make([]int8, f.n), Gradient: make([]float64, f.n),
		rank: f.options.RankTolerance, live: slices.Clone(f.live), r: slices.Clone(f.kept), fixed: make([]bool, f.n),
	}
	for i, r := range f.now.r {
		_, res.Weights[i], _ = f.options.Loss.At(r * r)
	}
	for c, k := range f.live {
		g, _ := f.sub.gradient(c)
		res.Gradient[k] = g * f.longest[c]
	}
	for k := range f.n {
		switch lower, upper := f.problem.Lower[k], f.problem.Upper[k]; {
		case lower == upper:
			res.fixed[k] = true
		case res.P[k] <= lower:
			res.AtBound[k] = -1
		case res.P[k] >= upper:
			res.AtBound[k] = +1
		}
	}
	return res
}

// Variance is the estimated variance of a residual of weight 1: the weighted sum of squares over the rows less the
// parameters that are free. It is not ok where no row is left over.
func (r *Result) Variance() (variance float64, ok bool) {
	free := 0
	for k, at := range r.AtBound {
		if at == 0 && !r.fixed[k] {
			free++
		}
	}
	left := len(r.Residuals) - free
	if left <= 0 {
		return math.NaN(), false
	}
	sum := 0.0
	for i, x := range r.Residuals {
		sum += r.Weights[i] * x * x
	}
	return sum / float64(left), true
}
