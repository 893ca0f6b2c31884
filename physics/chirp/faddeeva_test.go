package chirp

import (
	"math"
	"math/cmplx"
	"testing"

	"pgregory.net/rapid"
)

// byQuadrature is w(z) = (i/π)·∫ exp(-t²)/(z-t) dt for Im z > 0 (Abramowitz & Stegun 7.1.4) by the trapezoidal rule,
// whose error is exp(-2π·Im z/h).
func byQuadrature(z complex128) complex128 {
	h := min(0.25, imag(z)/6)
	var sum complex128
	for k := -int(7 / h); k <= int(7/h); k++ {
		t := float64(k) * h
		sum += complex(math.Exp(-t*t)*h, 0) / (z - complex(t, 0))
	}
	return sum * complex(0, 1/math.Pi)
}

func TestFaddeevaByQuadrature(t *testing.T) {
	cases, worst := 0, 0.0
	rapid.Check(t, func(t *rapid.T) {
		z := complex(rapid.Float64Range(-12, 12).Draw(t, "x"), rapid.Float64Range(0.05, 12).Draw(t, "y"))
		off := cmplx.Abs(Faddeeva(z)/byQuadrature(z) - 1)
		cases, worst = cases+1, max(worst, off)
		if !(off < 1e-12) {
			t.Fatalf("w(%v) off by %.2g", z, off)
		}
	})
	t.Logf("%d arguments, off by at most %.2g relative", cases, worst)
	if cases < 25 {
		t.Errorf("only %d", cases)
	}
}

// Abramowitz & Stegun 7.1.8 to 7.1.20 (identities): w(-conj z) = conj w(z), w(-z) = 2exp(-z²) - w(z),
// w' = -2zw + 2i/√π, w(iy) = exp(y²)·erfc(y), Re w(x) = exp(-x²).
func TestFaddeevaIdentities(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		z := complex(rapid.Float64Range(-9, 9).Draw(t, "x"), rapid.Float64Range(-3, 9).Draw(t, "y"))
		w := Faddeeva(z)
		size := 1 + cmplx.Abs(w)
		if off := cmplx.Abs(Faddeeva(-cmplx.Conj(z)) - cmplx.Conj(w)); !(off <= 1e-13*size) {
			t.Fatalf("mirror at %v off by %.2g", z, off)
		}
		if off := cmplx.Abs(Faddeeva(-z) - (2*cmplx.Exp(-z*z) - w)); !(off <= 1e-12*(size+cmplx.Abs(cmplx.Exp(-z*z)))) {
			t.Fatalf("point reflection at %v off by %.2g", z, off)
		}
		const h = 1e-3
		slope := (8*(Faddeeva(z+h)-Faddeeva(z-h)) - Faddeeva(z+2*h) + Faddeeva(z-2*h)) / (12 * h)
		want := -2*z*w + complex(0, 2/math.Sqrt(math.Pi))
		// The difference formula leaves h⁴/30 of the fifth derivative, some (2|z|)⁵.
		if off := cmplx.Abs(slope - want); !(off <= size*(1e-9+h*h*h*h/30*math.Pow(2+2*cmplx.Abs(z), 5))) {
			t.Fatalf("derivative at %v off by %.2g", z, off)
		}
		y := math.Abs(imag(z))
		if got := Faddeeva(complex(0, y)); math.Abs(real(got)/(math.Exp(y*y)*math.Erfc(y))-1) > 1e-12 || math.Abs(imag(got)) > 1e-14 {
			t.Fatalf("w(%gi) = %v", y, got)
		}
		x := real(z)
		if got := real(Faddeeva(complex(x, 0))); math.Abs(got-math.Exp(-x*x)) > 1e-13 {
			t.Fatalf("Re w(%g) = %g", x, got)
		}
	})
	if got := Faddeeva(0); cmplx.Abs(got-1) > 1e-13 {
		t.Errorf("w(0) = %v", got)
	}
	if got := Faddeeva(complex(math.NaN(), 0)); !cmplx.IsNaN(got) {
		t.Errorf("w(NaN) = %v", got)
	}
}

// Digits from memory, and confirmed by the quadrature above: w(1+i) and w((1+i)/2).
func TestFaddeevaDigits(t *testing.T) {
	for z, want := range map[complex128]complex128{
		1 + 1i:     0.3047442052569126 + 0.2082189382028316i,
		0.5 + 0.5i: 0.5331567079121748 + 0.2304882313844584i,
	} {
		if off := cmplx.Abs(byQuadrature(z) - want); off > 1e-14 {
			t.Errorf("stored w(%v) is %.2g off the quadrature", z, off)
		}
		if off := cmplx.Abs(Faddeeva(z) - want); off > 1e-13 {
			t.Errorf("w(%v) off by %.2g", z, off)
		}
	}
}
