package leastsquares

import (
	"fmt"
	"math"
)

// Loss says how much one residual costs. The cost of a fit is half the sum of Rho(r²) over the rows, with Rho(z) close to z
// for small z: the convention of Triggs, McLauchlan, Hartley and Fitzgibbon, "Bundle adjustment - a modern synthesis", 1999,
// section 4.3. The zero value is Squares.
type Loss struct {
	kind kind
	k    float64
}

type kind int8

const (
	squares kind = iota
	huber
	cauchy
	softL1
	tukey
)

// Squares is the plain sum of squares: Rho(z) = z.
func Squares() Loss { return Loss{} }

// Huber costs squares up to a residual of k and grows linearly beyond: Rho(z) = z for z <= k², 2k√z - k² above (Huber,
// Annals of Mathematical Statistics 35, 1964, page 73). With residuals in units of their standard deviation, k = 1.345 keeps
// 95 % of the efficiency under normal errors (from memory). k is positive.
func Huber(k float64) Loss { return Loss{huber, k} }

// Cauchy costs Rho(z) = k² ln(1 + z/k²): a residual far beyond k hardly pulls. k = 2.385 keeps 95 % of the efficiency (from
// memory). k is positive. It is not convex: the minimum found may depend on the start.
func Cauchy(k float64) Loss { return Loss{cauchy, k} }

// SoftL1 costs Rho(z) = 2k²(√(1 + z/k²) - 1), a smooth relative of Huber's loss. k is positive.
func SoftL1(k float64) Loss { return Loss{softL1, k} }

// Tukey is the biweight of Beaton and Tukey, Technometrics 16, 1974: Rho(z) = k²/3 (1 - (1 - z/k²)³) for z <= k², k²/3 above;
// residuals beyond k do not pull at all. k = 4.685 keeps 95 % of the efficiency (from memory). k is positive. It is not
// convex: start it from a fit by another loss.
func Tukey(k float64) Loss { return Loss{tukey, k} }

// String names the loss and its constant.
func (l Loss) String() string {
	if l.kind == squares {
		return "squares"
	}
	return fmt.Sprintf("%s(%g)", [...]string{"", "huber", "cauchy", "soft l1", "tukey"}[l.kind], l.k)
}

// At is the loss of a squared residual z >= 0 with its first and second derivative by z. The second derivatives of Huber's
// and Tukey's losses jump or bend at z = k²; the value there is the inner one.
func (l Loss) At(z float64) (rho, first, second float64) {
	if l.kind == squares {
		return z, 1, 0
	}
	kk := l.k * l.k
	x := z / kk
	switch l.kind {
	case huber:
		if x <= 1 {
			return z, 1, 0
		}
		s := math.Sqrt(z)
		return 2*l.k*s - kk, l.k / s, -l.k / (2 * s * z)
	case cauchy:
		y := 1 + x
		return kk * math.Log1p(x), 1 / y, -1 / (kk * y * y)
	case softL1:
		s := math.Sqrt(1 + x)
		return 2 * z / (1 + s), 1 / s, -1 / (2 * kk * s * s * s)
	default:
		if x > 1 {
			return kk / 3, 0, 0
		}
		y := 1 - x
		return z * (1 - x + x*x/3), y * y, -2 * y / kk
	}
}

// valid says whether the constant is one.
func (l Loss) valid() bool {
	return l.kind == squares || l.k > 0 && !math.IsInf(l.k, 0) && l.k*l.k > 0 && !math.IsInf(l.k*l.k, 0)
}
