// Package trace turns the file of a measured trace into numbers over frequency: a table over frequency or time, the
// oscilloscope's record of a whole sweep, or a Touchstone file. What it had to guess about a file stands in the result.
//
// It compares nothing with a circuit: study/residual does.
package trace

import (
	"context"
	"errors"
	"io"
	"regexp"
	"strings"

	"knobwise/bench/capture"
	"knobwise/bench/fault"
	"knobwise/bench/folder"
	"knobwise/bench/measurement"
	"knobwise/bench/quantity"
	"knobwise/bench/setup"
	"knobwise/bench/touchstone"
)

// Trace is a measured trace. Level, or S, has one entry for each frequency.
type Trace struct {
	File      string
	Quantity  measurement.Quantity // Amplitude, Decibel or Scattering: a waveform has become an Amplitude
	Frequency []float64            // Hz, ascending
	Level     []float64            // in Unit: V, dB, or anything proportional to volts; none for Scattering
	Unit      string               // V (rms where Peak is not set), dBm and the like; empty where nothing says it, and where Relative
	// Relative says that Level is over the same sweep straight through: a plain ratio, or dB.
	Relative   bool
	S          [][]complex128 // row by row, as touchstone.Data has them; for Scattering alone
	Ports      int            // of S
	References []float64      // ohm, of S
	Noise      float64        // rms, in the unit of Level; 0 where it could not be told
	NoisePart  float64        // where above 0, what counts in place of Noise: the standard deviation of each amplitude as a part of it
	Peak       bool           // Level is the peak of a sine, not its rms: read from a waveform
	Read       []string       // how each file was read, for a person to check
	Notices    []string
	column     int // of the table
}

// Spec says what a file holds.
type Spec struct {
	Quantity measurement.Quantity
	Sweep    setup.Sweep // the generator's; its Time is needed for anything over time
	Start    float64     // when it begins, in s on the clock of the table
	Channel  string      // the column that is wanted; empty for the first that can be meant
	Table    capture.Options
	// Bandwidth, where above 0, is the 3 dB bandwidth in Hz of the resonance whose lag in a waveform is corrected.
	Bandwidth float64
	// Deconvolve takes out of a waveform all that a linear sweep adds: lag, loss and ringing.
	Deconvolve bool
	Points     int // of a waveform's trace; 0 for 2001
}

// Load reads the trace of a measurement, over its reference where it has one. Errors are *fault.Error, and the context's
// own where it ends first; beside one the trace holds how the files were read, or is nil.
func Load(ctx context.Context, files folder.Files, m *measurement.Measurement) (*Trace, error) {
	spec := Spec{
		Quantity: m.Quantity, Sweep: m.Sweep, Start: m.Start, Channel: m.Channel, Bandwidth: m.Bandwidth, Deconvolve: m.Deconvolve,
		Table: OptionsOf(&m.Table),
	}
	t, err := load(ctx, files, m.Trace, spec)
	if err != nil {
		return t, at(m.Place(), "", err)
	}
	if m.Reference != "" {
		spec.Channel, spec.Table = m.ReferenceChannel, OptionsOf(&m.ReferenceTable)
		straight, err := load(ctx, files, m.Reference, spec)
		if err != nil {
			if straight != nil {
				t.Read = append(t.Read, straight.Read...)
			}
			return t, at(m.ReferencePlace(), m.Reference, err)
		}
		if err := t.over(straight); err != nil {
			return t, at(m.ReferencePlace(), "", err)
		}
	}
	t.NoisePart = m.Noise
	return t, nil
}

// OptionsOf is how a table is read.
func OptionsOf(t *measurement.Table) capture.Options {
	return capture.Options{
		Delimiter: t.Delimiter, Decimal: t.Decimal, HeaderLines: t.Header, Abscissa: t.Abscissa, Axis: capture.Role(t.Axis), Units: t.Units,
		Interval: t.Interval, Start: t.First,
	}
}

// at puts a fault without a place at the measurement, or at its reference, which it names.
func at(place fault.Place, reference string, err error) error {
	f, ok := errors.AsType[*fault.Error](err)
	if !ok || f.Place.File != "" {
		return err
	}
	placed := *f
	if place.File != "" {
		placed.Place, placed.Kind = place, fault.File
	}
	if reference != "" {
		placed.What = "reference " + reference + ": " + strings.TrimPrefix(strings.TrimPrefix(placed.What, reference+": "), reference+" ")
	}
	return &placed
}

func load(ctx context.Context, files folder.Files, name string, spec Spec) (*Trace, error) {
	r, err := files.Open(name)
	if err != nil {
		return nil, err
	}
	defer func() { _ = r.Close() }() // opened for reading: nothing can be lost
	return Read(ctx, r, name, spec)
}

// many is a Touchstone file by its name, of any number of ports.
var many = regexp.MustCompile(`(?i)\.s[0-9]+p$`)

// Read reads one file; name is for messages and tells a Touchstone file by its ending. Errors are *fault.Error, and the
// context's own where it ends first; beside one the trace holds how the table was read, or is nil. Errors and notices name
// what can be said about a file as the file of measurements does, in backquotes: `quantity: dB`.
func Read(ctx context.Context, r io.Reader, name string, spec Spec) (*Trace, error) {
	if err := refuseMany(name); err != nil {
		return nil, err
	}
	ports, err := touchstone.PortsFromName(name)
	switch isTouchstone := err == nil; {
	case isTouchstone && spec.Quantity != measurement.Scattering:
		return nil, fault.New(fault.Request, name+" holds s-parameters, not a trace of "+string(spec.Quantity), "write `quantity: s-parameters`")
	case !isTouchstone && spec.Quantity == measurement.Scattering:
		return nil, fault.New(fault.Request, name+" is no Touchstone file, as s-parameters need", "name a file that ends in .s1p or .s2p, or write another quantity")
	case isTouchstone:
		return readTouchstone(r, name, ports)
	}
	spec.Table.Channels = nil
	if spec.Channel != "" {
		spec.Table.Channels = []string{spec.Channel}
	}
	if spec.Table.Expected == nil {
		spec.Table.Expected = &capture.Expected{From: spec.Sweep.From, To: spec.Sweep.To, Start: spec.Start, Time: spec.Sweep.Time}
	}
	table, err := capture.Read(r, name, spec.Table)
	if table == nil {
		return nil, err
	}
	t := &Trace{File: name, Quantity: spec.Quantity, Read: []string{name + ": " + table.Guess.String()}, Notices: table.Warnings}
	if err != nil {
		return t, err
	}
	channel, err := t.choose(table, spec.Channel)
	if err != nil {
		return t, err
	}
	t.trigger(table, spec)
	if spec.Quantity == measurement.Waveform {
		return t, t.fromWaveform(ctx, table, channel, spec)
	}
	return t, t.fromTable(table, channel, spec)
}

func hertz(f float64) string { return quantity.Format(f, quantity.Hertz, 5) }
