package leastsquares

import (
	"math"

	"gonum.org/v1/gonum/stat/distuv"
)

// Rise is how far above its minimum the cost may stand at the ends of a likelihood interval of one parameter: half the
// variance of a residual times the quantile of Fisher's F with 1 and freedom degrees (Bates and Watts, Nonlinear Regression
// Analysis and Its Applications, 1988, section 6.1.2). Where the variance is known, freedom is +Inf and the quantile that of
// chi-square with one degree. level is between 0 and 1, such as 0.95. Errors are *Error.
func Rise(level, variance, freedom float64) (float64, error) {
	switch {
	case !(level > 0 && level < 1):
		return 0, wrong("the level is %g; give a number between 0 and 1", level)
	case !(variance > 0) || math.IsInf(variance, 1):
		return 0, wrong("the variance of a residual is %g; give a positive number", variance)
	case !(freedom >= 1):
		return 0, wrong("%g degrees of freedom; give 1 or more, +Inf where the variance is known", freedom)
	case math.IsInf(freedom, 1):
		return variance / 2 * distuv.ChiSquared{K: 1}.Quantile(level), nil
	}
	return variance / 2 * distuv.F{D1: 1, D2: freedom}.Quantile(level), nil
}
