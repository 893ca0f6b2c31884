package measurement_test

import (
	"bytes"
	"encoding/json"
	"errors"
	"strings"
	"testing"
	"testing/fstest"

	"github.com/goccy/go-yaml"
	"github.com/santhosh-tekuri/jsonschema/v6"

	"knobwise/bench/fault"
	"knobwise/bench/folder"
	"knobwise/bench/measurement"
	"knobwise/bench/quantity"
)

const theBox = `box: Pier
terminals: {antenna: a, receiver: b}
parts:
  C1: {kind: variable capacitor, nodes: [a, ground], range: 10 pF .. 300 pF}
  C2: {kind: variable capacitor, nodes: [b, ground], range: 10 pF .. 300 pF}
  L1: {kind: inductor, nodes: [a, b], value: 20 uH, Q: 100}
controls:
  Way: {switch: {tuned: {}, straight: {joins: [[a, b]]}}}
  Front: {knob: C1, scale: 0 .. 10}
  Rear: {knob: C2, scale: 100 % .. 0 %}
`

const theSetup = `setup: Bench
source: {kind: generator, emf: 1 V, impedance: 50 ohm}
load: {kind: resistor, value: 50 ohm}
sweep: {from: 1 MHz, to: 3 MHz, points: 5, spacing: log}
`

var files = fstest.MapFS{
	"pier.box.yaml":        {Data: []byte(theBox)},
	"sub/bench.setup.yaml": {Data: []byte(theSetup)},
	"timed.setup.yaml":     {Data: []byte(strings.Replace(theSetup, "spacing: log", "time: 200 ms", 1))},
	"broken.setup.yaml":    {Data: []byte("setup: B\nsource: {kind: genarator}\nload: {kind: open}\nsweep: {from: 1 MHz, to: 2 MHz}\n")},
	"broken.box.yaml":      {Data: []byte("box: B\n")},
}

const whole = `# As found.
box: ../pier.box.yaml
about: Tuesday
measurements:
  - file: m01.csv
    setup: bench.setup.yaml
    setting: {Way: tuned, Front: 3, Rear: "? 40 %"}
    quantity: amplitude
    reference: m00.csv
  - name: fast
    file: scope/m02.csv
    setup: ../timed.setup.yaml
    setting: {Way: straight, Front: "? 2 .. 4", Rear: 40 ± 5 %}
    quantity: waveform
    channel: CH2
    lag of: 25 kHz
    noise: 0.01
  - file: m03.s2p
    setup: bench.setup.yaml
    setting: {Way: tuned, Front: "?"}
    quantity: s-parameters
    table: {delimiter: semicolon, decimal: comma, header: 2, abscissa: none, interval: 1 us}
    sweep: {from: 3 MHz, to: 1 MHz, time: 1 s}
`

func parse(text string) (*measurement.File, error) {
	return measurement.Parse(folder.Within(files), "sub/x.measurements.yaml", []byte(text))
}

func TestParse(t *testing.T) {
	f, err := parse(strings.Replace(whole, "Rear: 40 ± 5 %", "Rear: 40 %", 1))
	if err != nil {
		t.Fatal(err)
	}
	if len(f.Measurements) != 3 || f.Box.Name != "Pier" || f.About != "Tuesday" || f.BoxFile != "pier.box.yaml" {
		t.Fatalf("%+v", f)
	}
	a, b, c := f.Measurements[0], f.Measurements[1], f.Measurements[2]
	if a.Name != "m01.csv" || a.Trace != "sub/m01.csv" || a.Reference != "sub/m00.csv" || a.SetupFile != "sub/bench.setup.yaml" || a.Quantity != measurement.Amplitude {
		t.Errorf("%+v", a)
	}
	if a.Setting["Front"].Number != 3 || a.Setting["Rear"].Number != 40 || a.Setting["Way"].Word != "tuned" || len(a.Doubtful) != 1 || a.Doubtful["Rear"].Form != quantity.Guess {
		t.Errorf("%v %v", a.Setting, a.Doubtful)
	}
	if b.Name != "fast" || b.Channel != "CH2" || b.Noise != 0.01 || b.Sweep.Time != 0.2 || b.Trace != "sub/scope/m02.csv" || b.Setting["Front"].Number != 3 {
		t.Errorf("%+v", b)
	}
	if q := b.Doubtful["Front"]; q.Low != 2 || q.High != 4 || q.Form != quantity.Bounds {
		t.Errorf("%+v", q)
	}
	if c.Setting["Front"].Number != 5 || c.Doubtful["Front"].Form != quantity.Unknown || c.Sweep.From != 3e6 || c.Sweep.To != 1e6 || c.Quantity != measurement.Scattering {
		t.Errorf("%+v", c)
	}
	if len(f.Notices) != 1 || !strings.Contains(f.Notices[0], "m03.s2p does not say where Rear stood; taken as 50") {
		t.Errorf("%q", f.Notices)
	}
	if b.Bandwidth != 25e3 || b.Deconvolve || c.Table.Delimiter != ";" || c.Table.Decimal != "," || *c.Table.Header != 2 || c.Table.Abscissa != "none" || c.Table.Interval != 1e-6 {
		t.Errorf("%+v %+v", b, c.Table)
	}
	if a.Setup != c.Setup {
		t.Error("one setup is read twice")
	}
	if f.Measurements[1].Place().Line != 10 {
		t.Errorf("%+v", f.Measurements[1].Place())
	}
}

// A reference is a name, or a map with a column and a kind of table of its own; a sweep may begin within the record; what the
// head of a table does not say can be said.
func TestOtherColumn(t *testing.T) {
	f, err := parse(`box: ../pier.box.yaml
measurements:
  - file: m.csv
    setup: bench.setup.yaml
    setting: {Way: tuned, Front: 3, Rear: 4}
    channel: CH2
    table: {axis: frequency, units: {CH2: mVpp, 1: MHz}}
    reference: {file: m.csv, channel: CH1}
    sweep: {from: 1 MHz, to: 3 MHz, time: 1 s, start: -4 ms}
  - file: n.csv
    setup: bench.setup.yaml
    channel: CH2
    table: {interval: 10 kHz, first: 1 MHz}
    reference: {file: r.csv, table: {header: 3}}
  - {file: n.csv, setup: bench.setup.yaml, table: {interval: 2 us}, reference: r.csv}
`)
	if err != nil {
		t.Fatal(err)
	}
	a, b, c := f.Measurements[0], f.Measurements[1], f.Measurements[2]
	if a.Reference != "sub/m.csv" || a.ReferenceChannel != "CH1" || a.Start != -0.004 || a.Table.Units["CH2"] != "mVpp" || a.ReferenceTable.Units["1"] != "MHz" || a.Table.Axis != "frequency" {
		t.Errorf("%+v", a)
	}
	if b.Table.Interval != 1e4 || *b.Table.First != 1e6 || b.Table.Axis != "frequency" || b.ReferenceChannel != "CH2" || *b.ReferenceTable.Header != 3 || b.ReferenceTable.Interval != 0 {
		t.Errorf("%+v", b)
	}
	if c.Table.Interval != 2e-6 || c.Table.Axis != "" || c.Reference != "sub/r.csv" || c.ReferenceTable.Interval != 2e-6 || c.ReferencePlace().Line != 15 || c.Start != 0 {
		t.Errorf("%+v", c)
	}
}

// What cannot be read is told with its place.
func TestRefusals(t *testing.T) {
	one := "box: ../pier.box.yaml\nmeasurements:\n  - {file: m.csv, setup: bench.setup.yaml, setting: {Way: tuned, Front: 3, Rear: 4}}\n"
	cases := 0
	for _, c := range []struct {
		from, to string
		says     string
		kind     fault.Kind
	}{
		{"../pier.box.yaml", "gone.box.yaml", "sub/x.measurements.yaml:1:6: sub/gone.box.yaml: no such file", fault.Missing},
		{"../pier.box.yaml", "../broken.box.yaml", `broken.box.yaml:1:1: the box has no "terminals"`, fault.File},
		{"bench.setup", "gone.setup", "sub/gone.setup.yaml: no such file", fault.Missing},
		{"bench.setup", "../broken.setup", `broken.setup.yaml:2:16: unknown kind of source "genarator"`, fault.File},
		{"measurements:\n", "x: 1\nmeasurements:\n", `unknown key "x"`, fault.File},
		{"Way: tuned", "Way: tuneed", `x.measurements.yaml:3:59: Way has no position "tuneed"; did you mean "tuned"?`, fault.File},
		{"Way: tuned", `Way: "?"`, `Way has no position "?"`, fault.File},
		{"Front: 3", "Frnt: 3", `has no control "Frnt"; did you mean "Front"?`, fault.File},
		{"Front: 3", "Front: 30", "Front cannot stand at 30; its scale is 0 .. 10", fault.File},
		{"Front: 3", `Front: "? 12 .. 14"`, "Front cannot stand at ? 12 .. 14", fault.File},
		{"Front: 3", `Front: "? -3"`, "Front cannot stand at ? -3", fault.File},
		{"Front: 3", `Front: "? 3 %"`, "Front is not marked in percent", fault.File},
		{"Front: 3", `Front: "? three"`, "Front: ", fault.File},
		{"Front: 3", "Front: {at: 3}", "a map where a position belongs", fault.File},
		{"setting: {Way: tuned, Front: 3, Rear: 4}", "setting: tuned", "where positions belong", fault.File},
		{"file: m.csv", "quantity: volts, file: m.csv", "unknown word \"volts\"; known are amplitude, dB", fault.File},
		{"file: m.csv, ", "", `the measurement has no "file"`, fault.File},
		{"file: m.csv", "quantity: waveform, file: m.csv", "nothing says how long the sweep took; add `sweep:", fault.File},
		{"file: m.csv", "quantity: s-parameters, reference: r.csv, file: m.csv", "s-parameters need no reference", fault.File},
		{"file: m.csv", "sweep: {from: 1 MHz, to: 1 MHz}, file: m.csv", "the sweep goes nowhere", fault.File},
		{"file: m.csv", "lag of: 1 kHz, file: m.csv", "lag of means nothing for amplitude; delete it, or write `quantity: waveform`", fault.File},
		{"file: m.csv", "deconvolve: true, quantity: dB, file: m.csv", "deconvolve means nothing for dB", fault.File},
		{"file: m.csv", "deconvolve: true, lag of: 1 kHz, quantity: waveform, sweep: {from: 1 MHz, to: 2 MHz, time: 1 s}, file: m.csv", "deconvolve takes the lag out too; delete one of the two", fault.File},
		{"file: m.csv", "table: {delimiter: dash}, file: m.csv", "unknown word \"dash\"", fault.File},
		{"file: m.csv", "noise: 1 %, file: m.csv", "noise of the measurement", fault.File},
		{"file: m.csv", "reference: m.csv, file: m.csv", "x.measurements.yaml:3:17: the trace is its own reference; name another file, or another column of it: `reference: {file: m.csv, channel: CH1}`", fault.File},
		{"file: m.csv", "reference: {file: m.csv, channel: CH2}, channel: CH2, file: m.csv", "the trace is its own reference", fault.File},
		{"file: m.csv", "reference: {channel: CH2}, file: m.csv", `the reference has no "file"`, fault.File},
		{"file: m.csv", "table: {interval: 1 V}, file: m.csv", "interval of the table", fault.File},
		{"file: m.csv", "table: {interval: 1 kHz, first: 1 s}, file: m.csv", "the `interval` and the `first` row are not of one kind; give both in s or both in Hz", fault.File},
		{"file: m.csv", "table: {interval: 1 kHz, axis: time}, file: m.csv", "the `interval` does not go with the `axis`, time", fault.File},
		{"file: m.csv", "table: {units: MHz}, file: m.csv", "where units belong; write {column: unit, …}", fault.File},
		{"file: m.csv", "table: {axis: voltage}, file: m.csv", "unknown word \"voltage\"", fault.File},
	} {
		text := strings.Replace(one, c.from, c.to, 1)
		if text == one {
			t.Fatalf("%q is not there", c.from)
		}
		_, err := parse(text)
		f, ok := errors.AsType[*fault.Error](err)
		cases++
		if !ok || f.Kind != c.kind || !strings.Contains(err.Error(), c.says) {
			t.Errorf("%s: %v\nwant %s", c.to, err, c.says)
		}
	}
	if cases != 33 {
		t.Errorf("%d cases", cases)
	}
	if _, err := measurement.LoadFile(folder.Within(files), "gone.measurements.yaml"); err == nil {
		t.Error("a file that is not there was read")
	}
}

// The schema accepts what the reader accepts.
func TestSchema(t *testing.T) {
	text, err := json.Marshal(measurement.Schema())
	if err != nil {
		t.Fatal(err)
	}
	document, err := jsonschema.UnmarshalJSON(bytes.NewReader(text))
	if err != nil {
		t.Fatal(err)
	}
	compiler := jsonschema.NewCompiler()
	if err := compiler.AddResource("measurements.json", document); err != nil {
		t.Fatal(err)
	}
	schema, err := compiler.Compile("measurements.json")
	if err != nil {
		t.Fatal(err)
	}
	var sample any
	if err := yaml.Unmarshal([]byte(whole), &sample); err != nil {
		t.Fatal(err)
	}
	if err := schema.Validate(sample); err != nil {
		t.Error(err)
	}
	if err := schema.Validate(map[string]any{"box": "b.box.yaml", "measurements": []any{map[string]any{"file": "x", "setup": "y", "oops": 1}}}); err == nil {
		t.Error("an unknown key passes")
	}
}

func FuzzParse(f *testing.F) {
	f.Add(whole)
	f.Add("box: ../pier.box.yaml\nmeasurements: [{file: a, setup: bench.setup.yaml, setting: {Front: '? 1 .. 2'}}]")
	f.Fuzz(func(t *testing.T, text string) {
		file, err := parse(text)
		if err != nil {
			if _, ok := errors.AsType[*fault.Error](err); !ok {
				t.Errorf("%T %v", err, err)
			}
			return
		}
		for _, m := range file.Measurements {
			for name, r := range m.Setting {
				if k := file.Box.Control(name).Knob; k != nil && (r.Number < min(k.From, k.To) || r.Number > max(k.From, k.To)) {
					t.Errorf("%s at %v", name, r)
				}
			}
		}
	})
}
