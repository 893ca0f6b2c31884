package trace

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"knobwise/bench/capture"
	"knobwise/bench/fault"
	"knobwise/bench/measurement"
	"knobwise/bench/quantity"
	"knobwise/bench/setup"
	"knobwise/physics/chirp"
)

// fromTable takes amplitudes over frequency, or over time by the law of the sweep.
func (t *Trace) fromTable(table *capture.Table, channel *capture.Channel, spec Spec) (err error) {
	if t.Level, err = t.settle(table, channel); err != nil {
		return err
	}
	t.Frequency = table.X
	t.silent()
	if table.Guess.Axis == capture.Time {
		if err := t.toFrequency(spec.Sweep, spec.Start); err != nil {
			return err
		}
	}
	t.distinct()
	for i, v := range t.Level {
		if v < 0 && t.Quantity == measurement.Amplitude {
			return t.negative(v, t.Frequency[i], table.Guess.Axis == capture.Time)
		}
	}
	if len(t.Frequency) == 0 {
		return fault.New(fault.Request, t.File+" has no power anywhere", "name another column as `channel`")
	}
	if !(t.Frequency[0] > 0) {
		return fault.New(fault.Request, fmt.Sprintf("%s has a frequency of %s", t.File, hertz(t.Frequency[0])), "give frequencies above zero")
	}
	if err := t.allZero(); err != nil {
		return err
	}
	t.Noise = noise(t.Level)
	return nil
}

// negative refuses an amplitude below zero, and says what it may be as far as its unit leaves that open.
func (t *Trace) negative(v, f float64, overTime bool) error {
	level := strings.TrimSpace(fmt.Sprintf("%.4g %s", v, t.Unit))
	instead := "write `quantity: dB` if these are decibels"
	if t.Unit == "V" {
		level = quantity.Format(v, quantity.Volt, 4)
		instead = "give magnitudes, in volts or in dB"
	}
	if overTime {
		instead += ", `quantity: waveform` if they are samples"
	}
	return fault.New(fault.Request, fmt.Sprintf("%s has the negative amplitude %s at %s", t.File, level, hertz(f)), instead)
}

// allZero refuses amplitudes that are 0 everywhere: they tell nothing of a box.
func (t *Trace) allZero() error {
	if t.Quantity != measurement.Amplitude || slices.ContainsFunc(t.Level, func(v float64) bool { return v != 0 }) {
		return nil
	}
	return fault.New(fault.Request, t.File+": every amplitude of it is 0", "check that the probe was connected, or name another column as `channel`")
}

// silent leaves out the points without a level: a power of 0 W.
func (t *Trace) silent() {
	if !slices.ContainsFunc(t.Level, math.IsNaN) {
		return
	}
	var f, level []float64
	for i, v := range t.Level {
		if !math.IsNaN(v) {
			f, level = append(f, t.Frequency[i]), append(level, v)
		}
	}
	t.Notices = append(t.Notices, fmt.Sprintf("%s: %d of %d points have no power and were left out", t.File, len(t.Level)-len(f), len(t.Level)))
	t.Frequency, t.Level = f, level
}

// lawOf is the sweep that was measured.
func lawOf(s setup.Sweep) (chirp.Law, error) {
	if !(s.Time > 0) {
		return chirp.Law{}, fault.New(fault.Request, "nothing says how long the sweep took",
			"give its `time` with `from` and `to`; if the first column holds frequencies, say `axis: frequency` or its unit, like `units: {1: MHz}`")
	}
	return s.Law()
}

// toFrequency takes the abscissa from times to frequencies, and leaves out what lies outside the sweep.
func (t *Trace) toFrequency(s setup.Sweep, start float64) error {
	law, err := lawOf(s)
	if err != nil {
		return err
	}
	var f, level []float64
	for i, x := range t.Frequency {
		x -= start
		if x >= 0 && x <= law.Time*(1+1e-9) {
			f, level = append(f, law.Frequency(x)), append(level, t.Level[i])
		}
	}
	if len(f) < 2 {
		return fault.New(fault.Request, fmt.Sprintf("%s has no two points within the sweep's %s from %s on", t.File, quantity.Format(law.Time, quantity.Second, 4), quantity.Format(start, quantity.Second, 4)),
			"check the sweep's `time` and `start`, and the unit of the times")
	}
	if left := len(t.Frequency) - len(f); left > 0 {
		t.Notices = append(t.Notices, fmt.Sprintf("%s: %d of %d points lie before or after the sweep and were left out", t.File, left, len(t.Frequency)))
	}
	if law.To < law.From {
		slices.Reverse(f)
		slices.Reverse(level)
	}
	t.Frequency, t.Level = f, level
	return nil
}

// distinct keeps the mean of points at one frequency, and says so.
func (t *Trace) distinct() {
	n, all := 0, len(t.Frequency)
	for i := 0; i < len(t.Frequency); {
		f, sum, count := t.Frequency[i], 0.0, 0
		for ; i < len(t.Frequency) && t.Frequency[i] == f; i++ {
			sum += t.Level[i]
			count++
		}
		t.Frequency[n], t.Level[n] = f, sum/float64(count)
		n++
	}
	t.Frequency, t.Level = t.Frequency[:n], t.Level[:n]
	if n < all {
		t.Notices = append(t.Notices, fmt.Sprintf("%s: points at one frequency count as their mean: %d of %d are left", t.File, n, all))
	}
}
