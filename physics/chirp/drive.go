package chirp

import (
	"math"
	"math/cmplx"
)

// After is what the generator does when the sweep has ended.
type After int

const (
	// Hold stays at the stop frequency for ever. The frequency has a kink, the voltage none.
	Hold After = iota
	// Return jumps back to the start frequency with the phase unbroken and waits there, as a generator does that is
	// ready for its next trigger.
	Return
	// Silence switches the voltage off, as at the end of a burst.
	Silence
)

// Drive is the generator: the voltage Amplitude·cos(2π·Cycles(t) + Phase).
type Drive struct {
	Law       Law
	Amplitude float64 // V, peak; at least 0
	Phase     float64 // rad, at t = 0
	After     After   // Hold by default
}

// Validate returns a *FieldError where the drive is none.
func (d Drive) Validate() error {
	if err := d.Law.Validate(); err != nil {
		return err
	}
	if !(d.Amplitude >= 0) || !finite(d.Amplitude) {
		return &FieldError{"generator amplitude", d.Amplitude, "V", "a finite number, 0 or above"}
	}
	if !finite(d.Phase) {
		return &FieldError{"generator phase", d.Phase, "rad", "a finite number"}
	}
	if d.After < Hold || d.After > Silence {
		return &FieldError{"behaviour after the sweep", float64(d.After), "", "hold, return or silence"}
	}
	return nil
}

// Frequency is the generator's frequency in Hz at time t in s; it means nothing where the generator is silent.
func (d Drive) Frequency(t float64) float64 {
	if d.After == Return && t > d.Law.Time {
		return d.Law.From
	}
	return d.Law.Frequency(t)
}

// Analytic is the complex drive at time t in s, in V: its real part is the generator's voltage, its angle the
// phase. At the very end of the sweep before a silence it is the mean of both sides.
func (d Drive) Analytic(t float64) complex128 {
	switch end := d.Law.Time; {
	case d.After == Silence && t > end:
		return 0
	case d.After == Silence && t == end:
		return d.carrier(t) / 2
	}
	return d.carrier(t)
}

// carrier is the complex drive without regard to a silence after the sweep.
func (d Drive) carrier(t float64) complex128 {
	return cmplx.Rect(d.Amplitude, 2*math.Pi*fraction(d.cycles(t))+d.Phase)
}

func (d Drive) cycles(t float64) float64 {
	if d.After == Return && t > d.Law.Time {
		return d.Law.advance(0, d.Law.Time) + d.Law.From*(t-d.Law.Time)
	}
	return d.Law.Cycles(t)
}

// cyclesFrom is the number of cycles from t to t+dt. Within the sweep it has the precision of the short stretch alone.
func (d Drive) cyclesFrom(t, dt float64) float64 {
	end := t + dt
	switch {
	case t >= 0 && t <= d.Law.Time && end >= 0 && end <= d.Law.Time:
		return d.Law.advance(t, dt)
	case t <= 0 && end <= 0:
		return d.Law.From * dt
	case t >= d.Law.Time && end >= d.Law.Time:
		return d.Frequency(math.Nextafter(d.Law.Time, math.Inf(1))) * dt
	}
	return d.cycles(end) - d.cycles(t)
}
