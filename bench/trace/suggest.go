package trace

import (
	"io"
	"strconv"

	"knobwise/bench/capture"
	"knobwise/bench/measurement"
	"knobwise/bench/touchstone"
)

// Suggestion is what a file seems to hold, before anything is known of how it was taken.
type Suggestion struct {
	Quantity measurement.Quantity
	Columns  []string // of values, as a measurement's channel names them; none for a Touchstone file
	OverTime bool     // the generator's sweep must be known
	Read     string   // how the table was read; empty for a Touchstone file
}

// Suggest reads a file to say what it may be: a Touchstone file by its name, decibels by their unit, and a waveform by
// samples of both signs over time. Errors are *fault.Error.
func Suggest(r io.Reader, name string) (Suggestion, error) {
	if err := refuseMany(name); err != nil {
		return Suggestion{}, err
	}
	if _, err := touchstone.PortsFromName(name); err == nil {
		return Suggestion{Quantity: measurement.Scattering}, nil
	}
	table, err := capture.Read(r, name, capture.Options{})
	if err != nil {
		return Suggestion{}, err
	}
	s := Suggestion{Quantity: measurement.Amplitude, OverTime: table.Guess.Axis == capture.Time, Read: table.Guess.String()}
	for i := range table.Channels {
		s.Columns = append(s.Columns, columnOf(table, i))
	}
	t := Trace{}
	channel, err := t.choose(table, "")
	if err != nil {
		return s, nil // what it may be is for a person to say
	}
	low, high := 0.0, 0.0
	for _, v := range channel.Values {
		low, high = min(low, v), max(high, v)
	}
	switch {
	case channel.Decibel || channel.Unit == "W":
		s.Quantity = measurement.Decibel
	case s.OverTime && low < 0 && high > 0:
		s.Quantity = measurement.Waveform
	case low < 0 && channel.Unit == "":
		s.Quantity = measurement.Decibel // no amplitude is negative
	}
	return s, nil
}

// columnOf is how a measurement names one of a table's channels.
func columnOf(table *capture.Table, channel int) string {
	c := table.Channels[channel]
	if c.Name != "" && alone(table, c.Name) {
		return c.Name
	}
	return "column " + strconv.Itoa(table.Guess.Columns[c.Column].Number)
}
