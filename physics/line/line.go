// Package line computes a uniform transmission line with a real characteristic impedance: its propagation constant
// and the two functions by which a network analysis takes it up, for every length and loss, without an exception at
// multiples of half a wave or for a line without loss.
//
// Loss grows with the square root of frequency (skin effect) and does not bend the impedance or the velocity: the
// characteristic impedance stays real, as the data sheet of a cable gives it. Dielectric loss, dispersion, radiation
// and current on the outside of a screen are left out.
//
// Every quantity is in SI base units; loss is in decibels per metre. The formulas do not check the line: call
// Validate first. They then give finite numbers for every frequency f >= 0 up to where f·Length/Velocity overflows.
package line

import (
	"math"

	"knobwise/physics/constant"
)

// A Line is a uniform transmission line.
type Line struct {
	Impedance      float64 // characteristic impedance Z0, ohm; positive
	Velocity       float64 // fraction of the speed of light, above 0 and up to 1
	Length         float64 // m; positive (the formulas also hold for 0, a plain joint)
	LossDBPerMetre float64 // matched loss at LossAtHz, dB/m; 0 for a line without loss
	LossAtHz       float64 // frequency of LossDBPerMetre, Hz; needed, and positive, where there is loss
}

// Gamma returns the propagation constant γ = α + jβ in 1/m at frequency f in Hz: α in nepers per metre, the loss
// scaled by √(f/LossAtHz); β = 2πf/(v c) in radians per metre. f must not be negative.
func (l Line) Gamma(f float64) complex128 {
	alpha := 0.0
	if l.LossDBPerMetre != 0 {
		alpha = l.LossDBPerMetre / constant.DecibelsPerNeper * math.Sqrt(f/l.LossAtHz)
	}
	return complex(alpha, 2*math.Pi*f/(constant.SpeedOfLight*l.Velocity))
}

// HalfSinhCosh returns sinh(γl/2) and cosh(γl/2), both multiplied by exp(-Re γl/2), at frequency f in Hz. The
// common factor keeps them at or below 1 in magnitude for any loss, and |s|² + |c|² = (1 + exp(-4 Re γl/2))/2 is
// never below a half, so they never vanish together.
//
// With them the line joins its two ends, currents i1 and i2 flowing into it, by
//
//	c (v1 - v2) = Z0 s (i1 - i2)
//	s (v1 + v2) = Z0 c (i1 + i2).
//
// Derivation: with x counted from the middle of the line, the line equations have the solutions
//
//	v(x) = A cosh γx + B sinh γx,   i(x) = -(A sinh γx + B cosh γx)/Z0.
//
// At the ends, x = ∓l/2, with i1 = i(-l/2) and i2 = -i(l/2):
//
//	v1 + v2 = 2A cosh(γl/2)    i1 + i2 =  2A sinh(γl/2)/Z0
//	v1 - v2 = -2B sinh(γl/2)   i1 - i2 = -2B cosh(γl/2)/Z0
//
// and eliminating A and B gives the two equations; each may be multiplied by any factor but zero. They say the same
// as the chain form v1 = v2 cosh γl - Z0 i2 sinh γl, i1 = (v2/Z0) sinh γl - i2 cosh γl of the textbooks (Pozar,
// Microwave Engineering, chapters 2 and 4), in which the hyperbolic functions overflow for a long lossy line. An
// admittance form has poles at every half wave. Here nothing is divided: one of s and c may pass through zero, the
// other is then large, and the two equations stay independent. At zero length (or frequency) they read v1 = v2 and
// i1 = -i2; for great loss s = c, and the ends part into v1 = Z0 i1 and v2 = Z0 i2.
//
// What passes through a line is found in c - s: of 16 digits, one is lost for every 20 dB of matched loss.
func (l Line) HalfSinhCosh(f float64) (s, c complex128) {
	half := l.Gamma(f) * complex(l.Length/2, 0)
	sin, cos := math.Sincos(imag(half))
	// With q = exp(-2 Re γl/2): exp(-a) sinh(a+jb) = (exp(jb) - q exp(-jb))/2, and cosh with a plus. 1-q by expm1
	// keeps the digits of a small loss.
	oneMinusQ := -math.Expm1(-2 * real(half))
	onePlusQ := 2 - oneMinusQ
	s = complex(cos*oneMinusQ/2, sin*onePlusQ/2)
	c = complex(cos*onePlusQ/2, sin*oneMinusQ/2)
	return s, c
}
