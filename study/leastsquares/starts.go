package leastsquares

import (
	"math"
	"math/rand/v2"

	"gonum.org/v1/gonum/mat"
	"gonum.org/v1/gonum/stat/distmv"
	"gonum.org/v1/gonum/stat/samplemv"
)

// Starts are n points spread over the box as a Latin hypercube (McKay, Beckman and Conover, Technometrics 21, 1979): of n
// equal slices of each parameter's range every one holds one point. The same seed gives the same points. Bounds are finite;
// errors are *Error.
func Starts(lower, upper []float64, n int, seed uint64) ([][]float64, error) {
	switch {
	case len(lower) == 0 || len(lower) != len(upper):
		return nil, wrong("%d lower bounds and %d upper ones; give one of each per parameter", len(lower), len(upper))
	case n < 1:
		return nil, wrong("%d starts are asked for; ask for one or more", n)
	}
	for k := range lower {
		if !(lower[k] <= upper[k]) || math.IsInf(lower[k], 0) || math.IsInf(upper[k], 0) {
			return nil, wrongParameter(k, "has the bounds %g and %g; give finite ones, the lower not above the upper", lower[k], upper[k])
		}
	}
	source := rand.NewPCG(seed, 1)
	points := mat.NewDense(n, len(lower), nil)
	samplemv.LatinHypercube{Q: distmv.NewUnitUniform(len(lower), source), Src: source}.Sample(points)
	starts := make([][]float64, n)
	for i := range starts {
		starts[i] = points.RawRowView(i)
		for k, u := range starts[i] {
			// Weighted ends, so that a range wider than the largest number does not overflow.
			starts[i][k] = min(max(lower[k]*(1-u)+upper[k]*u, lower[k]), upper[k])
		}
	}
	return starts, nil
}
