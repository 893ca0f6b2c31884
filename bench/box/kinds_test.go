package box_test

import (
	"bytes"
	"encoding/json"
	"fmt"
	"io/fs"
	"math"
	"math/cmplx"
	"strings"
	"testing"

	"github.com/goccy/go-yaml"
	"github.com/santhosh-tekuri/jsonschema/v6"

	"knobwise/bench/box"
	"knobwise/bench/demo"
	"knobwise/bench/folder"
	"knobwise/bench/hookup"
	"knobwise/bench/setup"
)

// kindSamples has at least one part of each kind, between the nodes a and b.
var kindSamples = map[string][]string{
	"resistor":           {"value: 4k7, nodes: [a, b]", "value: 50 Ω ± 5 %, nodes: [a, b], leads: 5 nH, stray: 0.2 pF", `value: "? 40 ohm .. 60 ohm", nodes: [a, b]`},
	"capacitor":          {"value: 330p, nodes: [a, b]", "value: 4n7, nodes: [a, b], Q: 300, leads: 3 nH", "value: 1 nF, nodes: [a, b], esr: 0.1 ohm", "value: 1 nF, nodes: [a, b], loss tangent: 0.002"},
	"variable capacitor": {"range: 14 pF .. 390 pF, nodes: [a, b]", `min: "? 5 pF .. 30 pF", max: 390 pF, nodes: [a, b], law: straight-line frequency`, "nodes: [a, b], law: {table: [[0, 14 pF], [5, 120 pF], [10, 390 pF]]}, Q: 500"},
	"inductor":           {"value: 22 uH, nodes: [a, b]", "value: 2u2, nodes: [a, b], Q: 180 at 2 MHz, self capacitance: 3 pF", "value: 1 mH, nodes: [a, b], resistance: 2.2 ohm", `value: "? 22 uH", nodes: [a, b], Q: "? 60 .. 200"`},
	"variable inductor":  {"range: 0.5 uH .. 28 uH, nodes: [a, b], Q: 180, law: log"},
	"tapped coil":        {"nodes: [a, t1, t2, b], turns: [8, 10, 14], form: {diameter: 32 mm, length: 40 mm, wire: 0.5 mm}, Q: 180", "nodes: [a, b], turns: [14.5], form: {diameter: 32 mm, length: 40 mm, wire: 0.5 mm}, value: 22 uH, self capacitance: 2 pF"},
	"coupled coils":      {"windings: [{nodes: [a, ground], value: 105 uH}, {nodes: [b, ground], value: 9 uH}], coupling: 0.35, Q: 100", "windings: [{nodes: [a, ground], value: 105 uH}, {nodes: [b, ground], value: 9 uH}, {nodes: [c, d], value: 1 uH}], couplings: [[1, 2, 0.35], [2, 3, -0.1]]"},
	"transformer":        {"nodes: [[a, ground], [b, ground]], turns: [9, 3], value: 100 uH, Q: 50", "nodes: [[a, ground], [b, ground]], turns: [9, 3], value: 100 uH, coupling: 0.98"},
	"line":               {"nodes: [a, b], impedance: 50 ohm, velocity: 0.66, length: 12 m, loss: 4.2 dB/100m at 10 MHz", "nodes: [a, b], impedance: 450 ohm, velocity: 0.95, length: 40 m"},
	"crystal":            {"nodes: [a, b], resistance: 25 ohm, inductance: 80 mH, capacitance: 0.02 pF, holder: 5 pF"},
	"measured one-port":  {"nodes: [a, b], file: one.s1p"},
	"measured two-port":  {"nodes: [a, b], file: two.s2p"},
}

func sampleBox(kind, fields string) string {
	text := fmt.Sprintf("box: Sample\nabout: one %s\nterminals: {antenna: a, receiver: b}\nparts:\n  P: {kind: %s, %s}\n  R: {kind: resistor, nodes: [b, ground], value: 1 kohm}\n", kind, kind, fields)
	if strings.HasPrefix(kind, "variable") {
		text += "controls:\n  K: {knob: P, scale: 0 .. 10}\n  S: {switch: {on: {joins: [[b, x]], values: {R: 2 kohm}}, off: }}\nstart: {K: 3.5, S: off}\n"
	}
	return text
}

var generic = func() *setup.Setup {
	s, err := setup.Parse(bench, "g.setup.yaml", []byte("setup: G\nsource: {kind: generator, emf: 1 V, impedance: 50 ohm}\nload: {kind: resistor, value: 50 ohm}\nsweep: {from: 1 MHz, to: 2 MHz, points: 3}\n"))
	if err != nil {
		panic(err)
	}
	return s
}()

// TestEveryKind: each kind has a sample, which reads, wires, solves to finite numbers and passes the schema.
func TestEveryKind(t *testing.T) {
	schema := compiled(t, box.Schema())
	samples := 0
	for _, kind := range box.Kinds {
		if len(kindSamples[kind.Name]) == 0 {
			t.Errorf("%s has no sample", kind.Name)
		}
		for _, fields := range kindSamples[kind.Name] {
			samples++
			text := sampleBox(kind.Name, fields)
			b, err := box.Parse(bench, "s.box.yaml", []byte(text))
			if err != nil {
				t.Errorf("%v\n%s", err, text)
				continue
			}
			if b.Part("P").Kind != kind || kind.About == "" || len(kind.Fields()) < 2 {
				t.Errorf("%s: kind is not described", kind.Name)
			}
			h, err := hookup.Connect(b, b.Start(), generic)
			if err != nil {
				t.Errorf("%v\n%s", err, text)
				continue
			}
			for _, f := range generic.Sweep.Frequencies() {
				r, err := h.Response(f)
				if err != nil || cmplx.IsNaN(r.Load) || cmplx.IsInf(r.Load) || r.Load == 0 {
					t.Errorf("%s at %g Hz: %v, %v", text, f, r.Load, err)
				}
				for _, p := range h.Placed {
					if d := h.Dissipation(p); math.IsNaN(d) || d < -1e-15 { // rounding of 5 mW in a lossless part
						t.Errorf("%s: %s turns %g W into heat", text, p.Part.Name, d)
					}
				}
			}
			if err := schema.Validate(yamlValue(t, text)); err != nil {
				t.Errorf("schema: %v\n%s", err, text)
			}
		}
	}
	if len(kindSamples) != len(box.Kinds) {
		t.Errorf("%d kinds with samples, %d kinds", len(kindSamples), len(box.Kinds))
	}
	t.Log(samples, "samples of", len(box.Kinds), "kinds")
}

// TestDemonstrationBoxes: every box of the demonstration passes reader and schema.
func TestDemonstrationBoxes(t *testing.T) {
	schema := compiled(t, box.Schema())
	names, err := demo.Files().List(".box.yaml")
	if err != nil || len(names) == 0 {
		t.Fatal("no boxes: ", err)
	}
	for _, name := range names {
		b, err := box.Load(demo.Files(), name)
		if err != nil {
			t.Fatal(err)
		}
		if _, err := b.Wire(b.Start()); err != nil {
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

// wrongStructure fails the reader and the schema alike.
var wrongStructure = []string{
	"- box",
	"box: B\nterminals: {antenna: a, receiver: b}\n",
	"box: B\nterminals: {antenna: a}\nparts: {R: {kind: resistor, nodes: [a, b], value: 5 ohm}}\n",
	"box: B\nterminals: {antenna: a, receiver: b}\nparts: {R: {kind: resistor, nodes: [a, b], value: 5 ohm}}\nextra: 1\n",
	"box: B\nterminals: {antenna: a, receiver: b}\nparts: [{kind: resistor, nodes: [a, b], value: 5 ohm}]\n",
	"box: B\nterminals: {antenna: a, receiver: b}\nparts: {R: {kind: resistr, nodes: [a, b], value: 5 ohm}}\n",
	"box: B\nterminals: {antenna: a, receiver: b}\nparts: {R: {kind: resistor, nodes: [a, b]}}\n",
	"box: B\nterminals: {antenna: a, receiver: b}\nparts: {R: {kind: resistor, nodes: [a], value: 5 ohm}}\n",
	"box: B\nterminals: {antenna: a, receiver: b}\nparts: {R: {kind: resistor, nodes: [a, b], value: 330}}\n",
	"box: B\nterminals: {antenna: a, receiver: b}\nparts: {R: {kind: resistor, nodes: [a, b], value: [5 ohm]}}\n",
	"box: B\nterminals: {antenna: a, receiver: b}\nparts: {R: {kind: resistor, nodes: [a, b], value: 5 ohm, Q: 5}}\n",
	"box: B\nterminals: {antenna: a, receiver: b}\nparts: {T: {kind: coupled coils, windings: [{nodes: [a, b], value: 5 uH}, {nodes: [c, d], value: 5 uH}], coupling: 2}}\n",
	"box: B\nterminals: {antenna: a, receiver: b}\nparts: {T: {kind: coupled coils, windings: [{nodes: [a, b], value: 5 uH}], coupling: 1}}\n",
	"box: B\nterminals: {antenna: a, receiver: b}\nparts: {R: {kind: resistor, nodes: [a, b], value: 5 ohm}}\ncontrols: {K: {scale: 0 .. 10}}\n",
	"box: B\nterminals: {antenna: a, receiver: b}\nparts: {R: {kind: resistor, nodes: [a, b], value: 5 ohm}}\ncontrols: {K: {switch: {in: {join: [[a, b]]}}}}\n",
	"box: B\nterminals: {antenna: a, receiver: b}\nparts: {R: {kind: resistor, nodes: [a, b], value: 5 ohm}}\ncontrols: {K: {switch: {in: {joins: [a, b]}}}}\n",
	"box: B\nterminals: {antenna: a, receiver: b}\nparts: {R: {kind: resistor, nodes: [a, b], value: 5 ohm}}\ncontrols: {K: {switch: {in: {}}}}\nstart: {K: [in]}\n",
}

func TestWrongStructureFailsReaderAndSchema(t *testing.T) {
	schema := compiled(t, box.Schema())
	for _, text := range wrongStructure {
		if _, err := box.Parse(bench, "w.box.yaml", []byte(text)); err == nil {
			t.Errorf("the reader took\n%s", text)
		}
		if schema.Validate(yamlValue(t, text)) == nil {
			t.Errorf("the schema took\n%s", text)
		}
	}
}

// compiled makes a validator of a schema (JSON Schema 2020-12).
func compiled(t *testing.T, schema map[string]any) *jsonschema.Schema {
	t.Helper()
	data, err := json.Marshal(schema)
	if err != nil {
		t.Fatal(err)
	}
	value, err := jsonschema.UnmarshalJSON(bytes.NewReader(data))
	if err != nil {
		t.Fatal(err)
	}
	c := jsonschema.NewCompiler()
	if err := c.AddResource("box.json", value); err != nil {
		t.Fatal(err)
	}
	s, err := c.Compile("box.json")
	if err != nil {
		t.Fatal(err)
	}
	return s
}

// yamlValue is a YAML text as an editor's validator sees it.
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

// TestFilesBesideTheBox: a file named by a box in a folder is looked for beside the box.
func TestFilesBesideTheBox(t *testing.T) {
	b, err := box.Load(bench, "sub/x.box.yaml")
	if err != nil || b.Part("Z").Measured() == nil {
		t.Fatalf("%v", err)
	}
	for name, want := range map[string]string{
		"gone.box.yaml": "gone.box.yaml: no such file; check the name and the folder",
		"sub":           "sub: is a folder where a file belongs; name a file in it",
		"../x":          "../x: no such file; check the name and the folder",
	} {
		if _, err := box.Load(bench, name); err == nil || err.Error() != want {
			t.Errorf("%v, want %s", err, want)
		}
	}
	if _, err := box.Load(folder.Disk(), t.TempDir()); err == nil || !strings.HasSuffix(err.Error(), "is a folder where a file belongs; name a file in it") {
		t.Error(err)
	}
}
