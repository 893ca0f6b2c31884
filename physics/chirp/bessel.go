package chirp

import "math"

// besselI0 is the modified Bessel function of order zero, by its power series (Abramowitz & Stegun 9.6.12), whose
// terms are all positive. For arguments up to some hundred.
func besselI0(x float64) float64 {
	q := x * x / 4
	sum, term := 1.0, 1.0
	for k := 1.0; term > 1e-17*sum; k++ {
		term *= q / (k * k)
		sum += term
	}
	return sum
}

// kaiser is the Kaiser-Bessel window I0(β√(1-x²))/I0(β) on [-1, 1], zero outside (J. F. Kaiser and R. W. Schafer, IEEE
// Trans. ASSP 28 (1980) 105).
func kaiser(x, beta float64) float64 {
	if !(x >= -1 && x <= 1) {
		return 0
	}
	return besselI0(beta*math.Sqrt(1-x*x)) / besselI0(beta)
}

// kaiserSpectrum is the Fourier integral of the Kaiser-Bessel window over [-1, 1] at the angular frequency w:
// 2 sinh√(β²-w²)/(√(β²-w²) I0(β)), which turns into a sine beyond w = β (same source).
func kaiserSpectrum(w, beta float64) float64 {
	scale := 2 / besselI0(beta)
	switch square := beta*beta - w*w; {
	case square > 0:
		r := math.Sqrt(square)
		return scale * math.Sinh(r) / r
	case square < 0:
		r := math.Sqrt(-square)
		return scale * math.Sin(r) / r
	}
	return scale
}
