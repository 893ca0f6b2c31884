package trace

import (
	"fmt"
	"math"
	"slices"

	"knobwise/bench/capture"
	"knobwise/bench/fault"
	"knobwise/bench/measurement"
)

// settle makes one kind of level of what a column holds, by its unit: rms volts, or decibels. What the unit says stands above
// the quantity that was left to its default, and against one that was asked for.
func (t *Trace) settle(table *capture.Table, channel *capture.Channel) ([]float64, error) {
	column := &table.Guess.Columns[channel.Column]
	name := fmt.Sprintf("column %d", column.Number)
	if column.Name != "" && alone(table, column.Name) {
		name = column.Name
	}
	is := fmt.Sprintf("%s: %s is in %s", t.File, name, column.Unit)
	other := func(unit string) string { return fmt.Sprintf("or say its unit: `units: {%s: %s}`", name, unit) }
	t.Unit = channel.Unit
	switch {
	case slices.Contains(noLevels, channel.Unit):
		return nil, fault.New(fault.Request, is+", which is no level of a signal", "name another column as `channel`, "+other("V"))
	case t.Quantity == measurement.Waveform && (channel.Decibel || channel.Unit == "W"):
		return nil, fault.New(fault.Request, is+", which the samples of a waveform are not", "write `quantity: dB`, "+other("V"))
	case t.Quantity == measurement.Waveform:
		return channel.Values, nil
	case channel.Unit == "W":
		return t.ofPower(channel.Values, is)
	case t.Quantity == measurement.Decibel && (channel.Unit == "V" || channel.Unit == "%"):
		return nil, fault.New(fault.Request, is+", which is no level in dB", "write `quantity: amplitude`, "+other("dB"))
	case channel.Decibel && t.Quantity == measurement.Amplitude:
		t.Quantity = measurement.Decibel
		t.Notices = append(t.Notices, is+"; taken as a level in dB")
	}
	divisor := map[capture.Form]float64{capture.Peak: math.Sqrt2, capture.PeakToPeak: 2 * math.Sqrt2}[channel.Form]
	if divisor == 0 || t.Quantity != measurement.Amplitude {
		return channel.Values, nil
	}
	t.Notices = append(t.Notices, fmt.Sprintf("%s; divided by %.4g for its rms", is, divisor))
	rms := make([]float64, len(channel.Values))
	for i, v := range channel.Values {
		rms[i] = v / divisor
	}
	return rms, nil
}

// ofPower turns watts into a level in dB above 1 W; NaN where there is no power.
func (t *Trace) ofPower(watts []float64, is string) ([]float64, error) {
	t.Quantity, t.Unit = measurement.Decibel, "dBW"
	t.Notices = append(t.Notices, is+", a power; taken as a level in dB above 1 W")
	level := make([]float64, len(watts))
	for i, w := range watts {
		if w < 0 {
			return nil, fault.New(fault.Request, fmt.Sprintf("%s, and %.4g W is no power", is, w), "give powers of 0 W or more")
		}
		level[i] = 10 * math.Log10(w)
		if w == 0 {
			level[i] = math.NaN()
		}
	}
	return level, nil
}

// Symbol is the unit of Level as it is written behind a number: V, dB, dBm and the like; empty for a plain ratio or where
// nothing says it.
func (t *Trace) Symbol() string {
	if t.Unit == "" && t.Quantity == measurement.Decibel {
		return "dB"
	}
	return t.Unit
}
