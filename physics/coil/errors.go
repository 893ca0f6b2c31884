package coil

import (
	"fmt"
	"strconv"
)

// A FieldError reports a dimension or number of turns that no coil can have.
type FieldError struct {
	Field string  // "diameter", "length", "wire" or, counted from 1, "turns of section 2"
	Value float64 // as given: metres, or turns
	Unit  string  // "m", or empty for turns
	Want  string  // what to write instead
}

func (e *FieldError) Error() string {
	value := strconv.FormatFloat(e.Value, 'g', -1, 64)
	if e.Unit != "" {
		value += " " + e.Unit
	}
	return fmt.Sprintf("coil %s is %s: write %s", e.Field, value, e.Want)
}

// A FitError reports turns that do not fit on the winding length side by side.
type FitError struct {
	Turns        float64 // all sections together
	Wire, Length float64 // metres
}

func (e *FitError) Error() string {
	return fmt.Sprintf("coil length is %s, but %s turns of %s need %s: write a longer length, a thinner wire or fewer turns",
		millimetres(e.Length), strconv.FormatFloat(e.Turns, 'g', 6, 64), millimetres(e.Wire), millimetres(e.Turns*e.Wire))
}

func millimetres(metres float64) string {
	return strconv.FormatFloat(metres*1e3, 'g', 6, 64) + " mm"
}

// A SectionCountError reports a coil with no section, or with more than MaxSections.
type SectionCountError struct{ Count int }

func (e *SectionCountError) Error() string {
	return fmt.Sprintf("coil has %d sections: write the turns of 1 to %d sections", e.Count, MaxSections)
}

// A ScaleError reports a whole-coil inductance, or a matrix, that cannot be scaled.
type ScaleError struct {
	Whole float64 // inductance asked for, henry
	Total float64 // sum of the matrix as it stands, henry
}

func (e *ScaleError) Error() string {
	return fmt.Sprintf("coil inductance %g H cannot be shared out over sections that total %g H: both must be positive and finite",
		e.Whole, e.Total)
}
