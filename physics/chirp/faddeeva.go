package chirp

import (
	"math"
	"math/cmplx"
	"sync"
)

const weidemanTerms = 40

// weidemanSeries are the coefficients of Weideman's expansion of w(z), from its eq. (38): the trapezoidal rule for the
// Fourier coefficients of exp(-t²)(L²+t²) with t = L·tan(θ/2), and L = √(N/√2).
var weidemanSeries = sync.OnceValues(func() (scale float64, a [weidemanTerms]float64) {
	scale = math.Sqrt(weidemanTerms / math.Sqrt2)
	const half = 2 * weidemanTerms
	for k := -half + 1; k < half; k++ {
		theta := float64(k) * math.Pi / half
		t := scale * math.Tan(theta/2)
		f := math.Exp(-t*t) * (scale*scale + t*t)
		for n := range a {
			a[n] += f * math.Cos(float64(n+1)*theta) / (2 * half)
		}
	}
	return scale, a
})

// Faddeeva returns w(z) = exp(-z²)·erfc(-iz), an entire function without any branch. Relative error some 1e-13 for
// Im z >= 0. Below the real axis w(z) = 2·exp(-z²) - w(-z), which grows beyond every bound: infinity where exp(-z²)
// overflows, and few digits beside a zero. NaN for NaN.
//
// Algorithms: J. A. C. Weideman, SIAM J. Numer. Anal. 31 (1994) 1497, with 40 terms; from |z| = 8 on the continued
// fraction of Laplace, as in W. Gautschi, SIAM J. Numer. Anal. 7 (1970) 187.
func Faddeeva(z complex128) complex128 {
	if imag(z) < 0 {
		return 2*cmplx.Exp(-z*z) - Faddeeva(-z)
	}
	if cmplx.Abs(z) >= 8 {
		return laplaceFraction(z)
	}
	scale, a := weidemanSeries()
	below := complex(scale, 0) - 1i*z
	ratio := (complex(scale, 0) + 1i*z) / below
	var p complex128
	for n := weidemanTerms - 1; n >= 0; n-- {
		p = p*ratio + complex(a[n], 0)
	}
	return 2*p/(below*below) + complex(1/math.Sqrt(math.Pi), 0)/below
}

// laplaceFraction is (i/√π)/(z - (1/2)/(z - 1/(z - (3/2)/(z - ...)))), Abramowitz & Stegun 7.1.4. On the real axis it
// leaves out exp(-x²), which is 1e-28 at |z| = 8.
func laplaceFraction(z complex128) complex128 {
	var tail complex128
	for k := 30; k > 0; k-- {
		tail = complex(float64(k)/2, 0) / (z - tail)
	}
	return complex(0, 1/math.Sqrt(math.Pi)) / (z - tail)
}
