package line

import (
	"fmt"
	"math"
	"strconv"
)

// A FieldError reports a value that no line can have.
type FieldError struct {
	Field string  // "impedance", "velocity", "length", "loss" or "loss frequency"
	Value float64 // as given, in the unit of the Line's field
	Unit  string  // of Value; empty for the velocity factor
	Want  string  // what to write instead
}

func (e *FieldError) Error() string {
	value := strconv.FormatFloat(e.Value, 'g', -1, 64)
	if e.Unit != "" {
		value += " " + e.Unit
	}
	return fmt.Sprintf("line %s is %s: write %s", e.Field, value, e.Want)
}

// Validate returns a *FieldError for the first value that no line can have, else nil.
func (l Line) Validate() error {
	positive := func(v float64) bool { return v > 0 && !math.IsInf(v, 1) } // NaN fails too
	switch {
	case !positive(l.Impedance):
		return &FieldError{"impedance", l.Impedance, "ohm", "a positive real impedance, as in 50 ohm"}
	case !(l.Velocity > 0 && l.Velocity <= 1):
		return &FieldError{"velocity", l.Velocity, "", "a fraction of the speed of light above 0 and up to 1, as in 0.66"}
	case !positive(l.Length):
		return &FieldError{"length", l.Length, "m", "a positive length, as in 12 m"}
	case !(l.LossDBPerMetre >= 0) || math.IsInf(l.LossDBPerMetre, 1):
		return &FieldError{"loss", l.LossDBPerMetre, "dB/m", "zero or a positive loss, as in 4.2 dB/100m at 10 MHz"}
	case l.LossDBPerMetre > 0 && !positive(l.LossAtHz):
		return &FieldError{"loss frequency", l.LossAtHz, "Hz", "the frequency the loss is given at, as in 4.2 dB/100m at 10 MHz"}
	}
	return nil
}
