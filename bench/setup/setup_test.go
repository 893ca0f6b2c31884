package setup_test

import (
	"bytes"
	"encoding/json"
	"errors"
	"fmt"
	"io/fs"
	"math"
	"math/cmplx"
	"strings"
	"testing"
	"testing/fstest"

	"github.com/goccy/go-yaml"
	"github.com/santhosh-tekuri/jsonschema/v6"

	"knobwise/bench/demo"
	"knobwise/bench/fault"
	"knobwise/bench/folder"
	"knobwise/bench/setup"
	"knobwise/physics/network"
)

var bench = folder.Within(fstest.MapFS{
	"one.s1p": {Data: []byte("# MHz S RI R 50\n1 0.5 0.1\n3 0.4 0.2\n")},
	"two.s2p": {Data: []byte("# MHz S RI R 50\n1 0.1 0 0.9 0 0.9 0 0.1 0\n3 0.1 0 0.8 0 0.8 0 0.1 0\n")},
})

var sourceSamples = map[string][]string{
	"generator":         {"emf: 1 V, impedance: 50 ohm", "emf: 2 Vpp, impedance: 50 ohm, series: 180 ohm", "emf: -73 dBm, impedance: 50 ohm"},
	"impedance":         {"emf: 200 uV, resistance: 22 ohm, inductance: 5 uH, capacitance: 62 pF", "emf: 1 mVrms, resistance: 22 ohm"},
	"measured one-port": {"emf: 100 uV, file: one.s1p"},
}

var loadSamples = map[string][]string{
	"resistor":          {"value: 50 ohm"},
	"receiver":          {"resistance: 400 ohm, capacitance: 35 pF", "resistance: 50 ohm"},
	"open":              {""},
	"short":             {""},
	"measured one-port": {"file: one.s1p"},
}

func sample(source, sourceFields, load, loadFields string) string {
	return fmt.Sprintf("setup: S\nsource: {kind: %s, %s}\nload: {kind: %s, %s}\nprobe: {resistance: 10 Mohm, capacitance: 12 pF}\nsweep: {from: 1 MHz, to: 3 MHz, points: 5, spacing: log, time: 100 ms}\n", source, sourceFields, load, loadFields)
}

// eachSample calls f with every source sample and every load sample.
func eachSample(t *testing.T, f func(text string)) {
	t.Helper()
	n := 0
	for _, k := range setup.SourceKinds {
		if len(sourceSamples[k.Name]) == 0 {
			t.Errorf("source %s has no sample", k.Name)
		}
		for _, fields := range sourceSamples[k.Name] {
			f(sample(k.Name, fields, "resistor", "value: 50 ohm"))
			n++
		}
	}
	for _, k := range setup.LoadKinds {
		if len(loadSamples[k.Name]) == 0 {
			t.Errorf("load %s has no sample", k.Name)
		}
		for _, fields := range loadSamples[k.Name] {
			f(sample("generator", "emf: 1 V, impedance: 50 ohm", k.Name, fields))
			n++
		}
	}
	if len(sourceSamples) != len(setup.SourceKinds) || len(loadSamples) != len(setup.LoadKinds) || n == 0 {
		t.Error("the samples do not fit the kinds")
	}
	t.Log(n, "samples")
}

// TestEveryKind: each kind of source and load has a sample that reads, solves to finite numbers with a plain wire as the
// box, and passes the schema.
func TestEveryKind(t *testing.T) {
	schema := compiled(t)
	eachSample(t, func(text string) {
		s, err := setup.Parse(bench, "s.setup.yaml", []byte(text))
		if err != nil {
			t.Errorf("%v\n%s", err, text)
			return
		}
		if err := schema.Validate(yamlValue(t, text)); err != nil {
			t.Errorf("schema: %v\n%s", err, text)
		}
		c := &network.Circuit{}
		c.Join("a", "b")
		in := network.Insert(c, "a", "b", s.SourceElement("a"), s.LoadElement("b"))
		for _, f := range s.Sweep.Frequencies() {
			r, err := in.Response(f, s.Source.EMF)
			if s.Shorted() {
				if err != nil || r.Load != 0 || r.Straight != 0 {
					t.Errorf("%g Hz: %v across a short, straight %v, %v", f, r.Load, r.Straight, err)
				}
				continue
			}
			if err != nil || cmplx.IsNaN(r.Load) || r.Load == 0 || cmplx.Abs(r.Load-r.Straight) > 1e-9*cmplx.Abs(r.Load) {
				t.Errorf("%g Hz: %v, straight %v, %v\n%s", f, r.Load, r.Straight, err, text)
			}
		}
	})
}

// TestElements checks the impedance of sources and the admittance of loads by hand.
func TestElements(t *testing.T) {
	const f = 2e6
	w := 2 * math.Pi * f
	read := func(source, sourceFields, load, loadFields string) *setup.Setup {
		s, err := setup.Parse(bench, "s.setup.yaml", []byte(sample(source, sourceFields, load, loadFields)))
		if err != nil {
			t.Fatal(err)
		}
		return s
	}
	within := func(what string, got, want complex128) {
		t.Helper()
		if cmplx.Abs(got-want) > 1e-9*cmplx.Abs(want) {
			t.Errorf("%s: %v, want %v", what, got, want)
		}
	}
	// Straight through a voltage divider: v = e·Zl/(Zs + Zl), the probe across the load.
	probe := complex(1/10e6, w*12e-12)
	for _, c := range []struct {
		s      *setup.Setup
		zs, yl complex128
		emf    float64
	}{
		{read("generator", "emf: 2 Vpp, impedance: 50 ohm, series: 180 ohm", "receiver", "resistance: 400 ohm, capacitance: 35 pF"), 230, complex(1.0/400, w*35e-12), 1 / math.Sqrt2},
		{read("impedance", "emf: 1 V, resistance: 22 ohm, inductance: 5 uH, capacitance: 62 pF", "resistor", "value: 75 ohm"), complex(22, w*5e-6-1/(w*62e-12)), 1.0 / 75, 1},
		// -73 dBm is S9 below 30 MHz, 50 uV across 50 ohm (IARU Region 1 recommendation R.1, from memory): an emf of 100.2 uV.
		{read("generator", "emf: -73 dBm, impedance: 50 ohm, series: 180 ohm", "open", ""), 230, 0, 2 * math.Sqrt(50e-3*math.Pow(10, -7.3))},
		{read("generator", "emf: 1 V, impedance: 50 ohm", "measured one-port", "file: one.s1p"), 50, (1 - complex(0.45, 0.15)) / (1 + complex(0.45, 0.15)) / 50, 1},
	} {
		circuit := &network.Circuit{}
		circuit.Join("a", "b")
		in := network.Insert(circuit, "a", "b", c.s.SourceElement("a"), c.s.LoadElement("b"))
		r, err := in.Response(f, c.s.Source.EMF)
		if err != nil {
			t.Fatal(err)
		}
		within("emf", complex(c.s.Source.EMF, 0), complex(c.emf, 0))
		within("load voltage", r.Load, complex(c.emf, 0)/(1+c.zs*(c.yl+probe)))
	}
	if e := read("generator", "emf: -73 dBm, impedance: 50 ohm", "open", "").Source.EMF; math.Abs(e-100.2e-6) > 0.1e-6 {
		t.Errorf("S9 gives %g V", e)
	}
}

func TestDemonstrationSetups(t *testing.T) {
	schema := compiled(t)
	names, err := demo.Files().List(".setup.yaml")
	if err != nil || len(names) == 0 {
		t.Fatal("no setups: ", err)
	}
	for _, name := range names {
		s, err := setup.LoadFile(demo.Files(), name)
		if err != nil || s.Sweep.Check() != nil {
			t.Error(name, err)
		}
		data, err := fs.ReadFile(demo.FS(), name)
		if err != nil {
			t.Fatal(err)
		}
		if err := schema.Validate(yamlValue(t, string(data))); err != nil {
			t.Errorf("%s: %v", name, err)
		}
	}
}

func compiled(t *testing.T) *jsonschema.Schema {
	t.Helper()
	data, err := json.Marshal(setup.Schema())
	if err != nil {
		t.Fatal(err)
	}
	value, err := jsonschema.UnmarshalJSON(bytes.NewReader(data))
	if err != nil {
		t.Fatal(err)
	}
	c := jsonschema.NewCompiler()
	if err := c.AddResource("setup.json", value); err != nil {
		t.Fatal(err)
	}
	return c.MustCompile("setup.json")
}

func yamlValue(t *testing.T, text string) any {
	t.Helper()
	data, err := yaml.YAMLToJSON([]byte(text))
	if err != nil {
		t.Fatal(err)
	}
	value, err := jsonschema.UnmarshalJSON(bytes.NewReader(data))
	if err != nil {
		t.Fatal(err)
	}
	return value
}

const (
	goodSource = "source: {kind: generator, emf: 1 V, impedance: 50 ohm}\n"
	goodLoad   = "load: {kind: resistor, value: 50 ohm}\n"
	goodSweep  = "sweep: {from: 1 MHz, to: 3 MHz}\n"
)

// TestBadSetups: each mistake with its exact place and what to write instead; structural ones fail the schema too.
func TestBadSetups(t *testing.T) {
	schema := compiled(t)
	cases := []struct {
		name, text string
		structural bool
		want       string
	}{
		{"list", "- setup: S\n", true, "x.yaml:1:1: the setup is a list where a map belongs; write `setup: …` and what else it needs"},
		{"no source", "setup: S\n" + goodLoad + goodSweep, true, "x.yaml:1:1: the setup has no \"source\"; add `source: …`: {kind: …} with the fields of the kind"},
		{"unknown key", "setup: S\n" + goodSource + goodLoad + goodSweep + "porbe: {}\n", true, "x.yaml:5:1: unknown key \"porbe\" in the setup; did you mean \"probe\"?"},
		{"source is text", "setup: S\nsource: generator\n" + goodLoad + goodSweep, true, "x.yaml:2:9: source of the setup: \"generator\" where the source belongs; write {kind: …} with its fields"},
		{"no kind", "setup: S\nsource: {emf: 1 V}\n" + goodLoad + goodSweep, true, "x.yaml:2:9: the source has no kind; add `kind: generator`, or another of generator, impedance, measured one-port"},
		{"kind is a list", "setup: S\nsource: {kind: [generator]}\n" + goodLoad + goodSweep, true, "x.yaml:2:16: a list where a kind of source belongs; known are generator, impedance, measured one-port"},
		{"unknown kind", "setup: S\n" + goodSource + "load: {kind: reciever}\n" + goodSweep, true, "x.yaml:3:14: unknown kind of load \"reciever\"; did you mean \"receiver\"?"},
		{"no emf", "setup: S\nsource: {kind: generator, impedance: 50 ohm}\n" + goodLoad + goodSweep, true, "x.yaml:2:9: the source has no \"emf\"; add `emf: …`: a voltage like 1 V (rms), 2 Vpp or 12 uV, or an available power like -73 dBm"},
		{"bare emf", "setup: S\nsource: {kind: generator, emf: 1, impedance: 50 ohm}\n" + goodLoad + goodSweep, true, "x.yaml:2:32: emf of the source: a value needs its unit; write 1 V"},
		{"power without a resistance", "setup: S\nsource: {kind: measured one-port, emf: -73 dBm, file: one.s1p}\n" + goodLoad + goodSweep, false, "x.yaml:2:40: -73 dBm is a power, and gives no emf without a resistance; write the emf as a voltage, like 100 uV"},
		{"zero impedance", "setup: S\nsource: {kind: generator, emf: 1 V, impedance: 0 ohm}\n" + goodLoad + goodSweep, false, "x.yaml:2:48: impedance of the source: 0 ohm is zero; write a resistance above zero, like 50 ohm"},
		{"unknown impedance", "setup: S\nsource: {kind: generator, emf: 1 V, impedance: \"?\"}\n" + goodLoad + goodSweep, false, "x.yaml:2:48: impedance of the source is not known, so nothing can be computed with it; write a guess like \"? 1 ohm\""},
		{"wrong ports", "setup: S\nsource: {kind: measured one-port, emf: 1 V, file: two.s2p}\n" + goodLoad + goodSweep, false, "x.yaml:2:51: \"two.s2p\" is a 2-port file by its name; name a file ending in .s1p"},
		{"missing file", "setup: S\n" + goodSource + "load: {kind: measured one-port, file: gone.s1p}\n" + goodSweep, false, "x.yaml:3:39: gone.s1p: no such file; check the name and the folder"},
		{"sweep falls", "setup: S\n" + goodSource + goodLoad + "sweep: {from: 3 MHz, to: 1 MHz}\n", false, "x.yaml:4:15: the sweep does not rise; give `from` a lower frequency than `to`"},
		{"millihertz", "setup: S\n" + goodSource + goodLoad + "sweep: {from: 1 mHz, to: 3 MHz}\n", false, "x.yaml:4:15: from of the sweep: 1 mHz is millihertz; did you mean 1 MHz?"},
		{"one point", "setup: S\n" + goodSource + goodLoad + "sweep: {from: 1 MHz, to: 3 MHz, points: 1}\n", true, "x.yaml:4:41: points of the sweep: 1 is out of range; write a whole number from 2 to 1000000, like 401"},
		{"half a point", "setup: S\n" + goodSource + goodLoad + "sweep: {from: 1 MHz, to: 3 MHz, points: 2.5}\n", true, "x.yaml:4:41: points of the sweep: 2.5 is not a whole number; write a whole number from 2 to 1000000, like 401"},
		{"spacing", "setup: S\n" + goodSource + goodLoad + "sweep: {from: 1 MHz, to: 3 MHz, spacing: logarithmic}\n", true, "x.yaml:4:42: spacing of the sweep: unknown word \"logarithmic\"; known are linear, log"},
		{"probe of zero", "setup: S\n" + goodSource + goodLoad + "probe: {resistance: 0 ohm}\n" + goodSweep, false, "x.yaml:4:21: resistance of the probe: 0 ohm is zero; write a resistance above zero, like 50 ohm"},
	}
	for _, c := range cases {
		_, err := setup.Parse(bench, "x.yaml", []byte(c.text))
		f, ok := errors.AsType[*fault.Error](err)
		if !ok || err.Error() != c.want || !strings.Contains(f.Excerpt(), "^") {
			t.Errorf("%s:\ngot  %v\nwant %s", c.name, err, c.want)
		}
		if (schema.Validate(yamlValue(t, c.text)) != nil) != c.structural {
			t.Errorf("%s: the schema says otherwise", c.name)
		}
	}
}

func TestFrequencies(t *testing.T) {
	for _, log := range []bool{false, true} {
		s := setup.Sweep{From: 0.3e6, To: 7.7e6, Points: 101, Log: log}
		f := s.Frequencies()
		if len(f) != 101 || f[0] != s.From || f[100] != s.To {
			t.Errorf("%v: %d points from %g to %g", log, len(f), f[0], f[len(f)-1])
		}
		middle := (s.From + s.To) / 2
		if log {
			middle = math.Sqrt(s.From * s.To)
		}
		if math.Abs(f[50]-middle) > 1e-9*middle {
			t.Errorf("%v: middle %g, want %g", log, f[50], middle)
		}
		for i := 1; i < len(f); i++ {
			if f[i] <= f[i-1] {
				t.Errorf("%v: does not rise at %d", log, i)
			}
		}
	}
	for want, s := range map[string]setup.Sweep{
		"no sweep runs from 0 Hz to 1.00000 MHz; give a lower and a higher frequency above zero":        {From: 0, To: 1e6, Points: 3},
		"no sweep runs from 2.00000 MHz to 1.00000 MHz; give a lower and a higher frequency above zero": {From: 2e6, To: 1e6, Points: 3},
		"a sweep cannot have 1 points; give 2 to 1000000":                                               {From: 1, To: 2, Points: 1},
		"a sweep cannot have 1000001 points; give 2 to 1000000":                                         {From: 1, To: 2, Points: 1000001},
	} {
		err := s.Check()
		if f, ok := errors.AsType[*fault.Error](err); !ok || f.Kind != fault.Request || err.Error() != want {
			t.Errorf("%v, want %s", err, want)
		}
	}
	for _, s := range []setup.Sweep{{From: math.NaN(), To: 1, Points: 2}, {From: 1, To: math.NaN(), Points: 2}, {From: 1, To: math.Inf(1), Points: 2}} {
		if s.Check() == nil {
			t.Errorf("%v passed", s)
		}
	}
}

// FuzzSetup: no text makes the reader panic, and what it accepts has finite frequencies and elements.
func FuzzSetup(f *testing.F) {
	for kind, samples := range sourceSamples {
		for _, fields := range samples {
			f.Add(sample(kind, fields, "open", ""))
		}
	}
	for kind, samples := range loadSamples {
		for _, fields := range samples {
			f.Add(sample("generator", "emf: -73 dBm, impedance: 50 ohm", kind, fields))
		}
	}
	f.Fuzz(func(t *testing.T, text string) {
		s, err := setup.Parse(bench, "f.setup.yaml", []byte(text))
		if err != nil {
			fault, ok := errors.AsType[*fault.Error](err)
			if !ok || fault.What == "" || fault.Kind == 0 {
				t.Fatalf("not a fault that says something: %v", err)
			}
			_ = fault.Excerpt()
			return
		}
		if err := s.Sweep.Check(); err != nil {
			t.Fatalf("accepted, but %v\n%s", err, text)
		}
		if !(s.Source.EMF > 0) || math.IsInf(s.Source.EMF, 0) {
			t.Fatalf("emf of %g V\n%s", s.Source.EMF, text)
		}
		c := &network.Circuit{}
		c.Join("a", "b")
		in := network.Insert(c, "a", "b", s.SourceElement("a"), s.LoadElement("b"))
		if r, err := in.Response(2e6, s.Source.EMF); err == nil && cmplx.IsNaN(r.Load) {
			t.Fatalf("NaN without an error\n%s", text)
		}
	})
}
