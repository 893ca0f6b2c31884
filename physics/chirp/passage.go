package chirp

import (
	"math"
	"math/cmplx"
)

// Passage is what a linear sweep makes of a single resonance of bandwidth B (3 dB, steady state) that it crosses at the
// rate S, as functions of rho = S/B² alone. It holds where B is small against the resonance frequency.
type Passage struct {
	Rho   float64 // |rate| over the square of the bandwidth
	Peak  float64 // height of the peak over that in the steady state, at most 1
	Delay float64 // time of the peak after the crossing of the resonance, times B; 2/π for a slow sweep
	Width float64 // width at 1/√2 of the peak, over B
}

// Shift is by how much the peak appears further along the sweep, over B.
func (p Passage) Shift() float64 { return p.Rho * p.Delay }

// Loss is that of the peak in dB, at least 0.
func (p Passage) Loss() float64 { return -20 * math.Log10(p.Peak) }

// slowest is the rho below which the slow limit is used: the next terms, of order rho², are below 1e-12.
const slowest = 1e-6

// fastest is the largest rho that is computed.
const fastest = 1e6

// NewPassage computes the passage for a rho from 0 to 1e6; a *FieldError beyond.
//
// The envelope E over the drive, with x the time after the crossing times B, obeys E'/π + (1 + 2jρx)E = 1, whose solution
// that comes from rest is E = π/(2√ρ)·exp(jπ/4)·w(z) with z = exp(j3π/4)·√π(1 + 2jρx)/(2√ρ) and Faddeeva's w (G. Hok,
// J. Appl. Phys. 19 (1948) 242, treats the same equation). From the equation, |E|² has the slope 2π(Re E - |E|²), so the
// peak is where Re E = |E|².
func NewPassage(rho float64) (Passage, error) {
	if !(rho >= 0 && rho <= fastest) {
		return Passage{}, &FieldError{"rate over bandwidth squared", rho, "", "0 to 1000000"}
	}
	if rho < slowest {
		return Passage{rho, 1 - 2*rho*rho/(math.Pi*math.Pi), 2 / math.Pi, 1}, nil
	}
	slope := func(x float64) float64 {
		e := passing(rho, x)
		return real(e) - real(e)*real(e) - imag(e)*imag(e)
	}
	step := 1 / (32 * math.Max(1, math.Sqrt(rho)))
	after := step
	for slope(after) > 0 {
		after += step
	}
	delay := bisect(slope, after-step, after)
	peak := cmplx.Abs(passing(rho, delay))
	edge := func(x float64) float64 { return cmplx.Abs(passing(rho, x))/peak - math.Sqrt(0.5) }
	stride := (1 + math.Sqrt(rho)) / (32 * rho)
	low, high := delay-stride, delay+stride
	for edge(low) > 0 {
		low -= stride
	}
	for edge(high) > 0 {
		high += stride
	}
	width := bisect(edge, high-stride, high) - bisect(edge, low+stride, low)
	return Passage{rho, peak, delay, rho * width}, nil
}

// passing is the envelope over the drive at the time x/B after the crossing of the resonance.
func passing(rho, x float64) complex128 {
	root := math.Sqrt(rho)
	z := cmplx.Rect(math.Sqrt(math.Pi)/(2*root), 3*math.Pi/4) * complex(1, 2*rho*x)
	return cmplx.Rect(math.Pi/(2*root), math.Pi/4) * Faddeeva(z)
}

// bisect finds where f changes its sign: above 0 at a, not above 0 at b.
func bisect(f func(float64) float64, a, b float64) float64 {
	for range 60 {
		m := a + (b-a)/2
		if f(m) > 0 {
			a = m
		} else {
			b = m
		}
	}
	return a + (b-a)/2
}

// SteadyWidth returns the bandwidth B in Hz that a resonance has in the steady state if it appears to be apparent Hz
// wide at 3 dB under a sweep of rate Hz/s of either sign. However narrow a resonance is, it appears no narrower than
// some 0.87·√rate; the error is a *TooFastError where less than a tenth is left above that.
func SteadyWidth(rate, apparent float64) (float64, error) {
	if err := positive("apparent bandwidth", apparent, "Hz"); err != nil {
		return 0, err
	}
	if !finite(rate) {
		return 0, &FieldError{"sweep rate", rate, "Hz/s", "a finite number"}
	}
	root := math.Sqrt(math.Abs(rate))
	if root < 1e-3*apparent {
		return apparent, nil
	}
	// Over √rate the apparent width is Width(ρ)/√ρ, which falls with ρ.
	excess := func(logRho float64) float64 {
		p, _ := NewPassage(math.Exp(logRho))
		return p.Width/math.Sqrt(p.Rho) - apparent/root
	}
	least, most := math.Log(slowest), math.Log(mostCorrectable)
	if excess(most) > 0 {
		return 0, &TooFastError{Rho: rate * rate / math.Pow(apparent, 4) * mostCorrectable, Most: mostCorrectable}
	}
	rho := math.Exp(bisect(excess, least, most))
	return root / math.Sqrt(rho), nil
}

// mostCorrectable is the rho up to which a lag is corrected: there the peak has lost 3.8 dB and appears 2.9 times too
// wide, and what follows it is ringing.
const mostCorrectable = 10.0
