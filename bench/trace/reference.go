package trace

import (
	"fmt"
	"path"
	"slices"

	"knobwise/bench/fault"
	"knobwise/bench/measurement"
)

// over divides by the same sweep straight through, which cancels the generator's level.
func (t *Trace) over(straight *Trace) error {
	if straight.Quantity != t.Quantity {
		return fault.New(fault.Request, fmt.Sprintf("%s is a trace of %s, its reference %s one of %s", t.File, t.Quantity, straight.File, straight.Quantity), "take both in the same way")
	}
	if t.File == straight.File && t.column == straight.column {
		return fault.New(fault.Request, "the trace and its reference are one column of "+t.File, "name another column: `reference: {file: "+path.Base(t.File)+", channel: 3}`")
	}
	if t.Unit != straight.Unit {
		if t.Unit != "" && straight.Unit != "" {
			return fault.New(fault.Request, fmt.Sprintf("%s is in %s, its reference %s in %s", t.File, t.Unit, straight.File, straight.Unit), "take both in the same unit")
		}
		t.Notices = append(t.Notices, fmt.Sprintf("%s is in %s, its reference %s in %s; taken as one unit", t.File, orUnsaid(t.Unit), straight.File, orUnsaid(straight.Unit)))
	}
	var f, level []float64
	for i, at := range t.Frequency {
		r, ok := straight.at(at)
		if !ok || t.Quantity == measurement.Amplitude && r == 0 {
			continue
		}
		f = append(f, at)
		if t.Quantity == measurement.Decibel {
			level = append(level, t.Level[i]-r)
		} else {
			level = append(level, t.Level[i]/r)
		}
	}
	if len(f) == 0 {
		return fault.New(fault.Request, fmt.Sprintf("%s and its reference %s have no frequency in common", t.File, straight.File), "take both over the same range")
	}
	if left := len(t.Frequency) - len(f); left > 0 {
		t.Notices = append(t.Notices, fmt.Sprintf("%s: %d of %d points are not covered by the reference %s and were left out", t.File, left, len(t.Frequency), straight.File))
	}
	t.Frequency, t.Level, t.Relative, t.Peak, t.Unit = f, level, true, false, ""
	t.Read = append(t.Read, straight.Read...)
	t.Notices = append(t.Notices, straight.Notices...)
	t.Noise = noise(t.Level)
	return nil
}

func orUnsaid(unit string) string {
	if unit == "" {
		return "a unit that is not said"
	}
	return unit
}

// at is the level at f Hz, on the line between its neighbours; false outside the trace.
func (t *Trace) at(f float64) (float64, bool) {
	i, found := slices.BinarySearch(t.Frequency, f)
	switch {
	case found:
		return t.Level[i], true
	case i == 0 || i == len(t.Frequency):
		return 0, false
	}
	x := (f - t.Frequency[i-1]) / (t.Frequency[i] - t.Frequency[i-1])
	return t.Level[i-1] + x*(t.Level[i]-t.Level[i-1]), true
}
