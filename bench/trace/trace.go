// Package trace turns the file of a measured trace into numbers over frequency: a table over frequency or time, the
// oscilloscope's record of a whole sweep, or a Touchstone file. What it had to guess about a file stands in the result.
//
// It compares nothing with a circuit: study/residual does.
package trace

import (
	"cmp"
	"context"
	"errors"
	"fmt"
	"io"
	"math"
	"regexp"
	"slices"

	"knobwise/bench/capture"
	"knobwise/bench/fault"
	"knobwise/bench/folder"
	"knobwise/bench/measurement"
	"knobwise/bench/quantity"
	"knobwise/bench/setup"
	"knobwise/bench/touchstone"
	"knobwise/physics/chirp"
)

// Trace is a measured trace. Level, or S, has one entry for each frequency.
type Trace struct {
	File      string
	Quantity  measurement.Quantity // Amplitude, Decibel or Scattering: a waveform has become an Amplitude
	Frequency []float64            // Hz, ascending
	Level     []float64            // V (what the instrument calls so), or dB; none for Scattering
	// Relative says that Level is over the same sweep straight through: a plain ratio, or dB.
	Relative   bool
	S          [][]complex128 // row by row, as touchstone.Data has them; for Scattering alone
	Ports      int            // of S
	References []float64      // ohm, of S
	Noise      float64        // rms, in the unit of Level; 0 where it could not be told
	Peak       bool           // Level is the peak of a sine, not its rms: read from a waveform
	Read       []string       // how each file was read, for a person to check
	Notices    []string
}

// Spec says what a file holds.
type Spec struct {
	Quantity measurement.Quantity
	Sweep    setup.Sweep // the generator's; its Time is needed for anything over time
	Channel  string      // the column that is wanted; empty for the first that can be meant
	Table    capture.Options
	// Bandwidth, where above 0, is the 3 dB bandwidth in Hz of the resonance whose lag in a waveform is corrected.
	Bandwidth float64
	// Deconvolve takes out of a waveform all that a linear sweep adds: lag, loss and ringing.
	Deconvolve bool
	Points     int // of a waveform's trace; 0 for 2001
}

// Load reads the trace of a measurement, over its reference where it has one. Errors are *fault.Error, and the context's
// own where it ends first.
func Load(ctx context.Context, files folder.Files, m *measurement.Measurement) (*Trace, error) {
	spec := Spec{
		Quantity: m.Quantity, Sweep: m.Sweep, Channel: m.Channel, Bandwidth: m.Bandwidth, Deconvolve: m.Deconvolve,
		Table: capture.Options{Delimiter: m.Table.Delimiter, Decimal: m.Table.Decimal, HeaderLines: m.Table.Header, Abscissa: m.Table.Abscissa, Interval: m.Table.Interval},
	}
	t, err := load(ctx, files, m.Trace, spec)
	if err != nil {
		return nil, at(m, err)
	}
	if m.Reference != "" {
		straight, err := load(ctx, files, m.Reference, spec)
		if err != nil {
			return nil, at(m, err)
		}
		if err := t.over(straight); err != nil {
			return nil, at(m, err)
		}
	}
	if m.Noise > 0 {
		t.Noise = m.Noise * t.middle()
	}
	return t, nil
}

// at puts a fault without a place at the measurement.
func at(m *measurement.Measurement, err error) error {
	f, ok := errors.AsType[*fault.Error](err)
	if !ok || f.Place.File != "" {
		return err
	}
	placed := *f
	placed.Place, placed.Kind = m.Place(), fault.File
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
// context's own where it ends first.
func Read(ctx context.Context, r io.Reader, name string, spec Spec) (*Trace, error) {
	ports, err := touchstone.PortsFromName(name)
	if many.MatchString(name) && err != nil {
		return nil, fault.New(fault.Request, name+" is a file of more ports than a box has", "take one that ends in .s1p or .s2p")
	}
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
	table, err := capture.Read(r, name, spec.Table)
	if err != nil {
		return nil, err
	}
	t := &Trace{File: name, Quantity: spec.Quantity, Read: []string{name + ": " + table.Guess.String()}, Notices: table.Warnings}
	channel := t.choose(table, spec.Channel)
	if spec.Quantity == measurement.Waveform {
		return t, t.fromWaveform(ctx, table, channel, spec)
	}
	return t, t.fromTable(table, channel, spec)
}

// choose takes the first channel that can be meant, and says so where there are others.
func (t *Trace) choose(table *capture.Table, wanted string) *capture.Channel {
	best := -1
	for i, c := range table.Channels {
		if role := table.Guess.Columns[c.Column].Role; best < 0 || role == capture.Signal && table.Guess.Columns[table.Channels[best].Column].Role != capture.Signal {
			best = i
		}
	}
	if wanted == "" && len(table.Channels) > 1 {
		t.Notices = append(t.Notices, fmt.Sprintf("%s has %d columns of values; taken is %s (another: `channel`)", t.File, len(table.Channels), nameOf(table, best)))
	}
	return &table.Channels[best]
}

func nameOf(table *capture.Table, channel int) string {
	if c := table.Channels[channel]; c.Name != "" {
		return c.Name
	}
	return fmt.Sprintf("column %d", table.Guess.Columns[table.Channels[channel].Column].Number)
}

// fromTable takes amplitudes over frequency, or over time by the law of the sweep.
func (t *Trace) fromTable(table *capture.Table, channel *capture.Channel, spec Spec) error {
	if channel.Decibel && t.Quantity == measurement.Amplitude {
		t.Quantity = measurement.Decibel
		t.Notices = append(t.Notices, fmt.Sprintf("%s is in %s; taken as a level in dB", t.File, channel.Unit))
	}
	t.Frequency, t.Level = table.X, channel.Values
	if table.Guess.Axis == capture.Time {
		if err := t.toFrequency(spec.Sweep); err != nil {
			return err
		}
	}
	t.distinct()
	for i, v := range t.Level {
		if v < 0 && t.Quantity == measurement.Amplitude {
			return fault.New(fault.Request, fmt.Sprintf("%s has the negative amplitude %g at %s", t.File, v, hertz(t.Frequency[i])),
				"write `quantity: dB` if these are decibels, `quantity: waveform` if they are samples")
		}
	}
	if len(t.Frequency) > 0 && !(t.Frequency[0] > 0) {
		return fault.New(fault.Request, fmt.Sprintf("%s has a frequency of %g Hz", t.File, t.Frequency[0]), "give frequencies above zero")
	}
	t.Noise = noise(t.Level)
	return nil
}

// toFrequency takes the abscissa from times to frequencies, and leaves out what lies outside the sweep.
func (t *Trace) toFrequency(s setup.Sweep) error {
	law, err := lawOf(s)
	if err != nil {
		return err
	}
	var f, level []float64
	for i, x := range t.Frequency {
		if x >= 0 && x <= law.Time*(1+1e-9) {
			f, level = append(f, law.Frequency(x)), append(level, t.Level[i])
		}
	}
	if len(f) < 2 {
		return fault.New(fault.Request, fmt.Sprintf("%s has no two points within the sweep's %s", t.File, quantity.Format(law.Time, quantity.Second, 4)), "check the sweep's `time`; the sweep begins at time 0")
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

// distinct keeps the mean of points at one frequency.
func (t *Trace) distinct() {
	n := 0
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
}

// lawOf is the sweep that was measured.
func lawOf(s setup.Sweep) (chirp.Law, error) {
	if !(s.Time > 0) {
		return chirp.Law{}, fault.New(fault.Request, "nothing says how long the sweep took", "add `time` to the sweep")
	}
	return s.Law()
}

func (t *Trace) fromWaveform(ctx context.Context, table *capture.Table, channel *capture.Channel, spec Spec) error {
	if table.Guess.Axis != capture.Time {
		return fault.New(fault.Request, t.File+" is over frequency, not over time as a waveform is", "write `quantity: amplitude`")
	}
	law, err := lawOf(spec.Sweep)
	if err != nil {
		return err
	}
	n := len(table.X)
	if n < 2 {
		return fault.New(fault.Request, t.File+" has a single sample", "export the whole record")
	}
	sampling := chirp.Sampling{Start: table.X[0], Interval: (table.X[n-1] - table.X[0]) / float64(n-1), Count: n}
	read, err := chirp.ReadBack(ctx, channel.Values, sampling, chirp.Reading{Law: law, Points: spec.Points, Bandwidth: spec.Bandwidth, Deconvolve: spec.Deconvolve})
	if err != nil {
		return setup.Explain(err)
	}
	t.Quantity, t.Peak = measurement.Amplitude, true
	t.Frequency, t.Level, t.Noise = read.Frequency, read.Amplitude, read.Noise
	t.Read = append(t.Read, fmt.Sprintf("%s: a record of %s, read by the %s, which gathers an amplitude over %s", t.File,
		quantity.Format(float64(n-1)*sampling.Interval, quantity.Second, 4), read.Method, quantity.Format(read.Window, quantity.Second, 3)))
	t.distinct()
	return t.sampling(law, sampling, read)
}

// sampling says what the record may show that is not there.
func (t *Trace) sampling(law chirp.Law, s chirp.Sampling, read *chirp.Trace) error {
	switch end := s.Time(s.Count - 1); {
	case end < law.Time*(1-1e-6):
		t.Notices = append(t.Notices, fmt.Sprintf("%s ends %s before the sweep does", t.File, quantity.Format(law.Time-end, quantity.Second, 3)))
	case end > law.Time*1.02:
		t.Notices = append(t.Notices, fmt.Sprintf("%s goes on for %s after the sweep, which was left out; is the sweep's time right?", t.File, quantity.Format(end-law.Time, quantity.Second, 3)))
	}
	if read.Omitted > 0 {
		t.Notices = append(t.Notices, fmt.Sprintf("%s: %d points of the trace are not covered by the record and were left out", t.File, read.Omitted))
	}
	if read.Shortfall > 0 {
		t.Notices = append(t.Notices, fmt.Sprintf("%s: the carrier is not sampled closely enough for its envelope; amplitudes are the greatest samples of each window, raised by %.2g %% for what they miss on the average", t.File, 100*read.Shortfall))
	}
	gaps, err := chirp.FalseGaps(law, s.Interval)
	if err != nil {
		return setup.Explain(err)
	}
	if len(gaps) > 0 && read.Method == chirp.WindowMaximum {
		widest := slices.MaxFunc(gaps, func(a, b chirp.Gap) int { return cmp.Compare(a.Width, b.Width) })
		t.Notices = append(t.Notices, fmt.Sprintf("%s: the samples stand still against the carrier at %d frequencies, such as %s; gaps some %s wide there are the sampling's", t.File, len(gaps), hertz(widest.Frequency), hertz(widest.Width)))
	}
	return nil
}

func readTouchstone(r io.Reader, name string, ports int) (*Trace, error) {
	d, err := touchstone.Read(r, name, ports)
	if err == nil {
		d, err = d.ToS()
	}
	if err != nil {
		f := fault.At(fault.Place{File: name}, err.Error(), "")
		if e, ok := errors.AsType[*touchstone.Error](err); ok {
			f.Place = fault.Place{File: e.File, Line: e.Line, Column: e.Column, Source: e.SourceLine}
			f.What, f.Instead = e.What, e.Instead
		}
		f.Cause = err
		return nil, f
	}
	t := &Trace{File: name, Quantity: measurement.Scattering, Frequency: d.Frequencies, S: d.Values, Ports: d.Ports, References: d.Reference}
	t.Read = []string{fmt.Sprintf("%s: Touchstone %s, %d port(s), %d frequencies", name, d.Version, d.Ports, len(d.Frequencies))}
	if gain, at := d.MaxGain(); gain > 1.01 {
		t.Notices = append(t.Notices, fmt.Sprintf("%s passes more than it gets (%.3g times the amplitude at %s), which a passive box cannot: check the calibration", name, gain, hertz(at)))
	}
	return t, nil
}

// over divides by the same sweep straight through, which cancels the generator's level.
func (t *Trace) over(straight *Trace) error {
	if straight.Quantity != t.Quantity {
		return fault.New(fault.Request, fmt.Sprintf("%s is a trace of %s, its reference %s one of %s", t.File, t.Quantity, straight.File, straight.Quantity), "take both in the same way")
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
	t.Frequency, t.Level, t.Relative, t.Peak = f, level, true, false
	t.Read = append(t.Read, straight.Read...)
	t.Notices = append(t.Notices, straight.Notices...)
	t.Noise = noise(t.Level)
	return nil
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

// middle is the median level of an amplitude, by which a relative noise is meant.
func (t *Trace) middle() float64 {
	if t.Quantity == measurement.Decibel {
		return 20 / math.Ln10 // of a small relative error in dB
	}
	sorted := slices.Sorted(slices.Values(t.Level))
	if len(sorted) == 0 {
		return 0
	}
	return sorted[len(sorted)/2]
}

// noise estimates the rms of what is not common to neighbours: the median magnitude of the fourth difference, which takes
// any cubic away and to which white noise contributes √70 of its rms; 1.4826 makes a normal rms of a median magnitude
// (F. R. Hampel, J. Am. Stat. Assoc. 69 (1974) 383, from memory). Zero for fewer than 16 points.
func noise(level []float64) float64 {
	if len(level) < 16 {
		return 0
	}
	var differences []float64
	for i := 2; i+2 < len(level); i++ {
		differences = append(differences, math.Abs(level[i-2]-4*level[i-1]+6*level[i]-4*level[i+1]+level[i+2]))
	}
	slices.Sort(differences)
	return 1.4826 * differences[len(differences)/2] / math.Sqrt(70)
}

func hertz(f float64) string { return quantity.Format(f, quantity.Hertz, 5) }
