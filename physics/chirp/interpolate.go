package chirp

import (
	"math"
	"sync"
)

// The signal of a segment is known by its spectrum. To have it at any time, the spectrum is divided by that of a short
// kernel, transformed at twice its own rate, and summed with the kernel at the wanted time: a nonuniform Fourier
// transform of type 2 (Dutt & Rokhlin, SIAM J. Sci. Comput. 14 (1993) 1368; with the Kaiser-Bessel kernel: Jackson et
// al., IEEE Trans. Med. Imaging 10 (1991) 473). Width and β below leave some 1e-11.
const (
	taps       = 12                           // kernel width in samples
	kernelBeta = 0.98 * 0.75 * math.Pi * taps // just inside π·taps·(1 - 1/(2·2)), the best for twice the rate
	kernelRank = 18                           // coefficients per tap
)

// kernelPieces are the polynomials of the kernel, one per tap, for the fraction u in [0, 1] between two samples, in the
// variable 2u-1. pieces[k][j] belongs to power k and tap j, so that the taps are computed side by side.
var kernelPieces = sync.OnceValue(func() *[kernelRank][taps]float64 {
	var p [kernelRank][taps]float64
	for j := range taps {
		c := chebyshevFit(kernelRank, func(x float64) float64 {
			u := (x + 1) / 2
			return kaiser((float64(j-taps/2)+1-u)/(taps/2), kernelBeta)
		})
		for k, v := range chebyshevPowers(c) {
			p[k][j] = v
		}
	}
	return &p
})

// kernelSpectrum is the Fourier integral of the kernel at nu cycles per sample.
func kernelSpectrum(nu float64) float64 {
	return taps / 2 * kaiserSpectrum(math.Pi*taps*nu, kernelBeta)
}

// interpolate sums the samples around position x (in samples, taken round the ring) with the kernel.
func interpolate(ring []complex128, x float64, pieces *[kernelRank][taps]float64) complex128 {
	whole := math.Floor(x)
	v := 2*(x-whole) - 1
	weights := pieces[kernelRank-1]
	for k := kernelRank - 2; k >= 0; k-- {
		row := &pieces[k]
		for j := range taps {
			weights[j] = weights[j]*v + row[j]
		}
	}
	first := int(whole) - taps/2 + 1
	var re, im float64
	if first >= 0 && first+taps <= len(ring) {
		for j, s := range ring[first : first+taps] {
			re += weights[j] * real(s)
			im += weights[j] * imag(s)
		}
		return complex(re, im)
	}
	for j := range taps {
		s := ring[((first+j)%len(ring)+len(ring))%len(ring)]
		re += weights[j] * real(s)
		im += weights[j] * imag(s)
	}
	return complex(re, im)
}

// chebyshevFit returns the n Chebyshev coefficients on [-1, 1] that interpolate f at the Chebyshev points of the
// first kind (Trefethen, Approximation Theory and Approximation Practice, chapter 3).
func chebyshevFit(n int, f func(float64) float64) []float64 {
	c := make([]float64, n)
	for i := range n {
		angle := math.Pi * (float64(i) + 0.5) / float64(n)
		value := f(math.Cos(angle))
		for k := range c {
			c[k] += 2 / float64(n) * value * math.Cos(float64(k)*angle)
		}
	}
	c[0] /= 2
	return c
}

// chebyshevPowers turns Chebyshev coefficients into those of the powers.
func chebyshevPowers(c []float64) []float64 {
	n := len(c)
	powers, before, now := make([]float64, n), make([]float64, n), make([]float64, n)
	before[0] = 1 // T0
	if n > 1 {
		now[1] = 1 // T1
	}
	for k := range n {
		for i := range n {
			powers[i] += c[k] * before[i]
		}
		next := make([]float64, n) // T(k+1) = 2x·Tk - T(k-1)
		for i := range n {
			next[i] = -before[i]
			if i > 0 {
				next[i] += 2 * now[i-1]
			}
		}
		before, now = now, next
	}
	return powers
}
