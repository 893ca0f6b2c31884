package chirp

import "math"

// Limits are what a sweep may do to a resonance. A limit of 0 is none; one at least must be set.
type Limits struct {
	Shift float64 // Hz, of the peak
	Loss  float64 // dB, of the peak
}

// Plan is the shortest sweep that keeps the limits at one resonance.
type Plan struct {
	Time    float64 // s
	Rate    float64 // Hz/s, unsigned, at the resonance
	Passage Passage // what then happens there
}

// ShortestSweep returns the shortest time in which the law (whose Time does not count) may sweep so that a resonance at
// f Hz with a bandwidth of b Hz keeps the limits. A linear sweep has the same rate everywhere, a logarithmic one is
// slower at low frequencies: ask for every resonance and take the longest time. A *FieldError where an argument is wrong
// or the law does not reach f.
func ShortestSweep(law Law, f, b float64, limits Limits) (Plan, error) {
	law.Time = 1
	if err := law.Validate(); err != nil {
		return Plan{}, err
	}
	if math.IsNaN(law.At(f)) {
		return Plan{}, &FieldError{"resonance frequency", f, "Hz", "a frequency within the sweep"}
	}
	if err := positive("bandwidth", b, "Hz"); err != nil {
		return Plan{}, err
	}
	if !(limits.Shift >= 0) || !finite(limits.Shift) {
		return Plan{}, &FieldError{"limit of the shift", limits.Shift, "Hz", "a finite number above 0, or 0 for none"}
	}
	if !(limits.Loss >= 0) || !finite(limits.Loss) {
		return Plan{}, &FieldError{"limit of the loss", limits.Loss, "dB", "a finite number above 0, or 0 for none"}
	}
	if limits.Shift == 0 && limits.Loss == 0 {
		return Plan{}, &FieldError{"limit of the shift", 0, "Hz", "a limit for the shift or for the loss"}
	}
	// Shift and loss both grow with rho: bisect for the largest that keeps both.
	keeps := func(logRho float64) float64 {
		p, _ := NewPassage(math.Exp(logRho))
		if (limits.Shift > 0 && p.Shift()*b > limits.Shift) || (limits.Loss > 0 && p.Loss() > limits.Loss) {
			return -1
		}
		return 1
	}
	rho := math.Exp(bisect(keeps, math.Log(1e-12), math.Log(fastest)))
	p, err := NewPassage(rho)
	rate := rho * b * b
	return Plan{Time: math.Abs(law.Rate(f)) / rate, Rate: rate, Passage: p}, err
}
