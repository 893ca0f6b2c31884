// Package measurement reads the list of what was measured at a box: a file whose name ends in .measurements.yaml. Each
// entry names a trace's file, the setup that was connected and the setting of the controls. The traces themselves are not
// read here: package trace does.
package measurement

import (
	"errors"
	"fmt"

	"knobwise/bench/box"
	"knobwise/bench/document"
	"knobwise/bench/fault"
	"knobwise/bench/folder"
	"knobwise/bench/form"
	"knobwise/bench/quantity"
	"knobwise/bench/setup"
)

// Suffix is how the name of a file of measurements ends.
const Suffix = ".measurements.yaml"

// File is one file of measurements.
type File struct {
	Name, About  string // of the file; its own words
	Box          *box.Box
	BoxFile      string
	Measurements []*Measurement
	Notices      []string
	Document     *document.Document
}

// Measurement is one measured trace with where and how it was taken.
type Measurement struct {
	Name      string // as the file calls it, else the trace's file
	Trace     string // file, seen from where the program looks for files
	Reference string // file of the same sweep straight through, or empty
	// ReferenceChannel and ReferenceTable are for the reference what Channel and Table are for the trace.
	ReferenceChannel string
	ReferenceTable   Table
	Setup            *setup.Setup
	SetupFile        string
	Setting          box.Setting // with the best guess where a reading is in doubt
	// Doubtful are the readings of knobs that are not known for certain: "?", "? 5", "? 4 .. 6", "5 ± 0.2".
	Doubtful map[string]quantity.Quantity
	Quantity Quantity
	Sweep    setup.Sweep // the generator's; for a waveform its Time is given
	Start    float64     // when the sweep begins, in s on the trace's clock
	Channel  string      // column that is wanted; empty for the only one
	Noise    float64     // relative standard deviation of an amplitude; 0 where it is to be estimated
	// Bandwidth of the resonance whose lag in a waveform is corrected, Hz; 0 for none.
	Bandwidth  float64
	Deconvolve bool
	Table      Table
	node       *document.Node
	reference  *document.Node
}

// Quantity is what a trace's numbers are.
type Quantity string

// The quantities.
const (
	Amplitude  Quantity = "amplitude"    // volts, or anything proportional to them, over frequency
	Decibel    Quantity = "dB"           // a level over frequency
	Waveform   Quantity = "waveform"     // volts over time, while the generator sweeps
	Scattering Quantity = "s-parameters" // of the box alone, between its sockets
)

// Place is where the measurement stands in its file; nowhere where it was not read from one.
func (m *Measurement) Place() fault.Place {
	if m.node == nil {
		return fault.Place{}
	}
	return m.node.Place()
}

// ReferencePlace is where its reference stands.
func (m *Measurement) ReferencePlace() fault.Place {
	if m.reference == nil {
		return m.Place()
	}
	return m.reference.Place()
}

var quantities = []string{string(Amplitude), string(Decibel), string(Waveform), string(Scattering)}

func sweepFields() []form.Field {
	var all []form.Field
	for _, f := range setup.SweepFields {
		if f.Name != "points" {
			all = append(all, f)
		}
	}
	return append(all, form.Field{Name: "start", Shape: form.Quantity{Unit: quantity.Second, Sign: quantity.Any, Example: "4 ms"}, About: "when it begins, on the clock of the trace; 0 s if left out"})
}

// referenceFields are those of a reference that is another channel or another kind of table than the trace.
var referenceFields = []form.Field{
	{Name: "file", Required: true, Shape: form.Name{Of: "a measured trace"}, About: "the trace; relative to this file"},
	{Name: "channel", Shape: form.Text{}, About: "its column; the trace's if left out"},
	{Name: "table", Shape: form.Nested{What: "the table", Fields: tableFields}, About: "how it is written, where the guess is wrong; as the trace if left out"},
}

func fields() []form.Field {
	return []form.Field{
		{Name: "name", Shape: form.Text{}, About: "what to call it; its file if left out"},
		{Name: "file", Required: true, Shape: form.Name{Of: "a measured trace"}, About: "the trace; the name is relative to this file"},
		{Name: "setup", Required: true, Shape: form.Name{Of: "a setup file"}, About: "what was connected to the box; relative to this file"},
		{Name: "setting", Shape: positions{}, About: "where the controls stood: a position each, or a reading in doubt like \"? 5\""},
		{Name: "quantity", Shape: form.Choice{Words: quantities}, About: "what the numbers are; amplitude if left out"},
		{Name: "reference", Shape: form.Either{Scalar: form.Name{Of: "a measured trace"}, Other: form.Nested{What: "the reference", Fields: referenceFields}}, About: "the same sweep straight through, which cancels the generator's level; {file, channel, table} where it is another column"},
		{Name: "channel", Shape: form.Text{}, About: "the column that is wanted where the file has several"},
		{Name: "noise", Shape: form.Number{Low: 1e-9, High: 1, Example: "0.01"}, About: "standard deviation of an amplitude as a part of it: 0.01 for 1 %; estimated from the trace if left out"},
		{Name: "lag of", Shape: form.Quantity{Unit: quantity.Hertz, Sign: quantity.Positive, Example: "25 kHz"}, About: "correct the sweep's lag in a resonance of this 3 dB bandwidth (waveforms)"},
		{Name: "deconvolve", Shape: form.Flag{}, About: "take out of a waveform all that a linear sweep adds: lag, loss and ringing"},
		{Name: "table", Shape: form.Nested{What: "the table", Fields: tableFields}, About: "how the file is written, where the guess is wrong"},
		{Name: "sweep", Shape: form.Nested{What: "the sweep", Fields: sweepFields()}, About: "the generator's, where it was not the setup's"},
	}
}

func topFields() []form.Field {
	return []form.Field{
		{Name: "box", Required: true, Shape: form.Name{Of: "a box file"}, About: "what was measured; relative to this file"},
		{Name: "about", Shape: form.Text{}, About: "anything worth knowing"},
		{Name: "measurements", Required: true, Shape: form.ListOf{Shape: form.Nested{What: "the measurement", Fields: fields()}, Least: 1, What: "a list of measurements"}, About: "one entry for each trace"},
	}
}

// positions is a map from controls to where they stood; the box judges it.
type positions struct{}

func (s positions) Read(n *document.Node) (any, error) {
	if n.Kind != document.Map {
		return nil, n.Fault(n.Describe()+" where positions belong", "write "+s.Describe())
	}
	return n, nil
}

func (positions) Describe() string { return "{Control: position, …}" }

func (positions) Schema() map[string]any {
	return map[string]any{"type": "object", "additionalProperties": map[string]any{"type": []string{"string", "number"}}}
}

// Schema is the JSON Schema of a file of measurements.
func Schema() map[string]any {
	return form.Schema(topFields(), map[string]any{
		"$schema": "https://json-schema.org/draft/2020-12/schema",
		"title":   "Knobwise measurements file",
	})
}

// Fields lists the fields of a measurement.
func Fields() []form.Field { return fields() }

// LoadFile reads a file of measurements with its box and setups. Errors are *fault.Error.
func LoadFile(files folder.Files, name string) (*File, error) {
	data, err := files.Read(name)
	if err != nil {
		return nil, err
	}
	return Parse(files, name, data)
}

// Parse reads the bytes of a file of measurements; files is where everything that it names is read from. Errors are
// *fault.Error.
func Parse(files folder.Files, name string, data []byte) (*File, error) {
	d, err := document.Parse(name, data)
	if err != nil {
		return nil, err
	}
	top, err := form.Read(d.Root, "the file", topFields())
	if err != nil {
		return nil, err
	}
	f := &File{Name: name, About: form.Or(top, "about", ""), Document: d}
	f.BoxFile = files.Beside(name, form.Or(top, "box", ""))
	if f.Box, err = box.Load(files, f.BoxFile); err != nil {
		return nil, named(top["box"].Node, err)
	}
	setups := map[string]*setup.Setup{}
	for i, v := range form.Items[form.Values](form.Or[[]any](top, "measurements", nil)) {
		m, err := f.read(files, v, d.Root.Get("measurements").Items[i], setups)
		if err != nil {
			return nil, err
		}
		f.Measurements = append(f.Measurements, m)
	}
	return f, nil
}

// named puts a file that is not there at the place that names it; a mistake inside the file keeps its own place.
func named(n *document.Node, err error) error {
	if f, ok := errors.AsType[*fault.Error](err); ok && f.Kind == fault.Missing {
		at := n.Fault(fmt.Sprintf("%s: %s", f.Place.File, f.What), f.Instead)
		if e, ok := errors.AsType[*fault.Error](at); ok {
			e.Kind = fault.Missing
		}
		return at
	}
	return err
}

func (f *File) read(files folder.Files, v form.Values, n *document.Node, setups map[string]*setup.Setup) (m *Measurement, err error) {
	m = &Measurement{
		Name: form.Or(v, "name", form.Or(v, "file", "")), Trace: files.Beside(f.Name, form.Or(v, "file", "")),
		SetupFile: files.Beside(f.Name, form.Or(v, "setup", "")), Quantity: Quantity(form.Or(v, "quantity", string(Amplitude))),
		Channel: form.Or(v, "channel", ""), Doubtful: map[string]quantity.Quantity{}, node: n,
	}
	m.Noise = form.Or(v, "noise", 0.0)
	m.Deconvolve = form.Or(v, "deconvolve", false)
	if q, ok := form.Get[quantity.Quantity](v, "lag of"); ok {
		m.Bandwidth = q.Value
	}
	if t, ok := form.Get[form.Values](v, "table"); ok {
		if m.Table, err = tableOf(t); err != nil {
			return nil, err
		}
	}
	if v.Has("reference") {
		if err := f.readReference(files, m, v["reference"]); err != nil {
			return nil, err
		}
	}
	if setups[m.SetupFile] == nil {
		if setups[m.SetupFile], err = setup.LoadFile(files, m.SetupFile); err != nil {
			return nil, named(v["setup"].Node, err)
		}
	}
	m.Setup = setups[m.SetupFile]
	if err := f.place(m, v); err != nil {
		return nil, err
	}
	m.Sweep = m.Setup.Sweep
	if s, ok := form.Get[form.Values](v, "sweep"); ok {
		if m.Sweep, err = sweepOf(s, m.Sweep); err != nil {
			return nil, err
		}
		q, _ := form.Get[quantity.Quantity](s, "start")
		m.Start = q.Value
	}
	if m.Quantity == Waveform && m.Sweep.Time == 0 {
		return nil, n.Fault("a waveform, but nothing says how long the sweep took", "add `sweep: {from: …, to: …, time: 200 ms}`, or `time` to the setup's sweep")
	}
	for _, only := range []string{"lag of", "deconvolve"} {
		if v.Has(only) && m.Quantity != Waveform {
			return nil, v[only].Node.Fault(only+" means nothing for "+string(m.Quantity), "delete it, or write `quantity: waveform`")
		}
	}
	if m.Deconvolve && m.Bandwidth > 0 {
		return nil, v["lag of"].Node.Fault("deconvolve takes the lag out too", "delete one of the two")
	}
	if m.Quantity == Scattering && m.Reference != "" {
		return nil, v["reference"].Node.Fault("s-parameters need no reference", "delete it")
	}
	return m, nil
}

// readReference reads the name of a reference, or what else is said of it.
func (f *File) readReference(files folder.Files, m *Measurement, v form.Value) (err error) {
	m.reference, m.ReferenceChannel, m.ReferenceTable = v.Node, m.Channel, m.Table
	name, _ := v.Of.(string)
	if more, ok := v.Of.(form.Values); ok {
		name, m.ReferenceChannel = form.Or(more, "file", ""), form.Or(more, "channel", m.Channel)
		if t, ok := form.Get[form.Values](more, "table"); ok {
			if m.ReferenceTable, err = tableOf(t); err != nil {
				return err
			}
		}
	}
	m.Reference = files.Beside(f.Name, name)
	if m.Reference == m.Trace && m.ReferenceChannel == m.Channel {
		return v.Node.Fault("the trace is its own reference", "name another file, or another column of it: `reference: {file: "+name+", channel: CH1}`")
	}
	return nil
}

func sweepOf(v form.Values, otherwise setup.Sweep) (setup.Sweep, error) {
	value := func(field string) float64 {
		q, _ := form.Get[quantity.Quantity](v, field)
		return q.Value
	}
	s := setup.Sweep{From: value("from"), To: value("to"), Points: otherwise.Points, Log: form.Or(v, "spacing", "linear") == "log", Time: value("time")}
	if s.From == s.To {
		return s, v["from"].Node.Fault("the sweep goes nowhere", "give `to` another frequency than `from`")
	}
	return s, nil
}

// place reads where the controls stood. A control that is not named stands where the box file starts it, which is told.
func (f *File) place(m *Measurement, v form.Values) error {
	m.Setting = f.Box.Start()
	stood, _ := form.Get[*document.Node](v, "setting")
	given := map[string]bool{}
	if stood != nil {
		for _, e := range stood.Entries {
			if e.Value.Kind != document.Scalar {
				return e.Value.Fault(e.Value.Describe()+" where a position belongs", "write `"+e.Key.Text+": ` and a reading or the name of a position")
			}
			q, err := f.Box.SetDoubtful(m.Setting, e.Key.Text, e.Value.Text)
			if err != nil {
				where := e.Value
				if f.Box.Control(e.Key.Text) == nil {
					where = e.Key
				}
				x, _ := errors.AsType[*fault.Error](err)
				return where.Fault(x.What, x.Instead)
			}
			if q.Form != quantity.Exact {
				m.Doubtful[e.Key.Text] = q
			}
			given[e.Key.Text] = true
		}
	}
	for _, c := range f.Box.Controls {
		if !given[c.Name] {
			f.Notices = append(f.Notices, fmt.Sprintf("%s does not say where %s stood; taken as %s, where the box file starts it", m.Name, c.Name, m.Setting[c.Name]))
		}
	}
	return nil
}
