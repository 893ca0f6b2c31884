package chirp

import (
	"fmt"
	"math"
	"strconv"
)

// A FieldError reports a number that no sweep, record or option can have.
type FieldError struct {
	Field string  // for example "sweep time"
	Value float64 // in SI base units
	Unit  string  // may be empty
	Want  string  // what to write instead
}

func (e *FieldError) Error() string {
	value := strconv.FormatFloat(e.Value, 'g', -1, 64)
	if e.Unit != "" {
		value += " " + e.Unit
	}
	return fmt.Sprintf("%s is %s: write %s", e.Field, value, e.Want)
}

// A TransferError reports a frequency at which the network function failed or was not finite.
type TransferError struct {
	Frequency float64 // Hz
	Cause     error   // nil where the function returned NaN or infinity
}

func (e *TransferError) Error() string {
	if e.Cause == nil {
		return fmt.Sprintf("the network function is not finite at %g Hz: give the parts a loss, or limit the frequencies asked", e.Frequency)
	}
	return fmt.Sprintf("the network function failed at %g Hz: %v", e.Frequency, e.Cause)
}

func (e *TransferError) Unwrap() error { return e.Cause }

// A RingError reports a network that rings longer than the largest transform can hold: it has next to no loss, or its
// function is not that of a causal network.
type RingError struct {
	Frequency float64 // Hz, where the segment lies that does not come to rest
	Waited    float64 // s
	Left      float64 // what is left then, as a fraction of the largest response
}

func (e *RingError) Error() string {
	return fmt.Sprintf("the network still rings %g s after the sweep has passed %g Hz (%.2g of the largest response): give its parts a realistic Q, or ask for a larger tolerance",
		e.Waited, e.Frequency, e.Left)
}

// A ShortSweepError reports a sweep that is over long before the network has answered. What is cut out of it is so wide a band
// that the ring has more samples in it than the largest transform; and where the band reaches down to 0 Hz, a part of constant
// Q, whose resistance goes with |f|, rings on by a power of time.
type ShortSweepError struct {
	Time     float64 // s, of the sweep
	Shortest float64 // s, a time that works, of the row 1, 2, 5, 10
}

func (e *ShortSweepError) Error() string {
	return fmt.Sprintf("a sweep of %g s is too short for the ring of the network: take %g s or more", e.Time, e.Shortest)
}

// A DetailError reports a network whose function has more detail than can be followed: a very long line without loss,
// or noise instead of a curve.
type DetailError struct {
	Frequency   float64 // Hz, where it was given up
	Width       float64 // Hz, of the last stretch that was no smooth curve
	Evaluations int     // of the network function until then
}

func (e *DetailError) Error() string {
	return fmt.Sprintf("the network's curve is not smooth even over %.3g Hz at %g Hz (%d values asked): shorten its lines, smooth measured data, or limit the frequencies asked",
		e.Width, e.Frequency, e.Evaluations)
}

// A TooFastError reports a sweep for which a correction of the lag means nothing.
type TooFastError struct {
	Rho  float64 // rate over the square of the bandwidth
	Most float64 // the largest for which the correction is offered
}

func (e *TooFastError) Error() string {
	return fmt.Sprintf("the sweep is too fast for a correction of its lag (rate / bandwidth² = %.3g, at most %.3g): sweep at least %.2g times slower",
		e.Rho, e.Most, e.Rho/e.Most)
}

// An UnfitError reports a record whose carrier is not the one of the sweep's law, or that is too short to tell.
type UnfitError struct {
	Short   bool    // too few samples; the rest is then zero
	Misfit  float64 // the part of the power that the fit leaves
	Turning float64 // turns by which the phase leaves that of the law within half the shortest window
	Late    float64 // s, by which the sweep seems to begin late
}

func (e *UnfitError) Error() string {
	if e.Short {
		return fmt.Sprintf("the record has too few samples within the sweep for a fit of the carrier: take %d or more", fewestFitted)
	}
	return fmt.Sprintf("the carrier in the record is not that of the sweep (%.2g of its power is unexplained, its phase turns by %.2g within half a window): check the sweep's limits, time and spacing, and that it begins at time 0 of the record",
		e.Misfit, e.Turning)
}

func finite(x float64) bool { return !math.IsNaN(x) && !math.IsInf(x, 0) }

// positive returns an error where x is not above zero and finite.
func positive(field string, x float64, unit string) error {
	if x > 0 && finite(x) {
		return nil
	}
	return &FieldError{field, x, unit, "a finite number above 0"}
}
