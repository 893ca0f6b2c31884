package chirp

import (
	"fmt"
	"math"
)

// Spacing is the law by which the frequency of a sweep moves.
type Spacing int

const (
	// Linear sweeps the same number of hertz in every second.
	Linear Spacing = iota
	// Logarithmic sweeps the same number of octaves in every second.
	Logarithmic
)

func (s Spacing) String() string {
	if s == Logarithmic {
		return "logarithmic"
	}
	return "linear"
}

// Law is the course of a sweep's frequency over time, upwards or downwards. Before the sweep, at t < 0, the frequency
// has always been From; at t = 0 it begins to move, at t = Time it reaches To and the law stays there. The phase is the
// exact integral of the frequency and never jumps.
type Law struct {
	From, To float64 // Hz, both positive and not equal
	Time     float64 // s, positive
	Spacing  Spacing // Linear by default
}

// Validate returns a *FieldError where the law is none. The other methods do not check.
func (l Law) Validate() error {
	if err := positive("start frequency", l.From, "Hz"); err != nil {
		return err
	}
	if err := positive("stop frequency", l.To, "Hz"); err != nil {
		return err
	}
	if err := positive("sweep time", l.Time, "s"); err != nil {
		return err
	}
	if l.From == l.To {
		return &FieldError{"stop frequency", l.To, "Hz", "a frequency other than the start frequency"}
	}
	if l.Spacing != Linear && l.Spacing != Logarithmic {
		return &FieldError{"sweep law", float64(l.Spacing), "", "linear or logarithmic"}
	}
	return nil
}

func (l Law) String() string {
	return fmt.Sprintf("%g Hz to %g Hz in %g s, %v", l.From, l.To, l.Time, l.Spacing)
}

// octaves is ln(To/From), exact also where the two are close together.
func (l Law) octaves() float64 { return math.Log1p((l.To - l.From) / l.From) }

// Frequency is the instantaneous frequency in Hz at time t in s.
func (l Law) Frequency(t float64) float64 {
	switch {
	case t <= 0:
		return l.From
	case t >= l.Time:
		return l.To
	case l.Spacing == Logarithmic:
		return l.From * math.Exp(l.octaves()*t/l.Time)
	}
	return l.From + (l.To-l.From)*(t/l.Time)
}

// At is the time in s at which the sweep passes the frequency f in Hz; NaN where it does not.
func (l Law) At(f float64) float64 {
	if !(f >= min(l.From, l.To) && f <= max(l.From, l.To)) {
		return math.NaN()
	}
	if l.Spacing == Logarithmic {
		return l.Time * (math.Log1p((f-l.From)/l.From) / l.octaves())
	}
	return l.Time * ((f - l.From) / (l.To - l.From))
}

// Rate is dF/dt in Hz/s where the sweep passes f in Hz, negative for a sweep downwards. It does not ask whether the
// sweep passes there.
func (l Law) Rate(f float64) float64 {
	if l.Spacing == Logarithmic {
		return f * l.octaves() / l.Time
	}
	return (l.To - l.From) / l.Time
}

// Cycles is the integral of the frequency from 0 to t, the phase over 2π. It is negative at negative times. Rounding
// leaves some 1e-16 of the number of cycles.
func (l Law) Cycles(t float64) float64 {
	if t <= 0 {
		return l.From * t
	}
	inside := min(t, l.Time)
	return l.advance(0, inside) + l.To*(t-inside)
}

// Phase is 2π times the Cycles within the last whole one: the phase in radians, between -2π and 2π.
func (l Law) Phase(t float64) float64 { return 2 * math.Pi * fraction(l.Cycles(t)) }

// advance is the number of cycles from t to t+dt, both within the sweep, with the precision of a short stretch:
// F·dt + S·dt²/2 of the linear law, and F·T/ln r·(exp(ln r·dt/T)-1) of the logarithmic one.
func (l Law) advance(t, dt float64) float64 {
	f := l.Frequency(t)
	if l.Spacing == Logarithmic {
		k := l.octaves() / l.Time
		return f * math.Expm1(k*dt) / k
	}
	return dt * (f + 0.5*(l.To-l.From)/l.Time*dt)
}

func fraction(x float64) float64 {
	_, f := math.Modf(x)
	return f
}
