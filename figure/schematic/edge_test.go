package schematic_test

import (
	"errors"
	"fmt"
	"strings"
	"testing"

	"knobwise/bench/box"
	"knobwise/bench/fault"
	"knobwise/figure/schematic"
)

func parsed(t testing.TB, text string) *box.Box {
	t.Helper()
	b, err := box.Parse(textbook, "x.box.yaml", []byte(text))
	if err != nil {
		t.Fatalf("%v\n%s", err, text)
	}
	return b
}

// edges are boxes at the limits of what a box can be.
func edges() map[string]string {
	var ladder, mesh strings.Builder
	for i := range 30 {
		fmt.Fprintf(&ladder, "  L%d: {kind: inductor, nodes: [n%d, n%d], value: 1 uH}\n  C%d: {kind: capacitor, nodes: [n%d, ground], value: 1 nF}\n", i, i, i+1, i, i+1)
		for j := range 2 {
			fmt.Fprintf(&mesh, "  R%d.%d: {kind: resistor, nodes: [n%d, n%d], value: 50 ohm}\n", i, j, i%13, (i%13+1+(i*7+j*5)%11)%13)
		}
	}
	head := func(rx string) string { return "box: X\nterminals: {antenna: n0, receiver: " + rx + "}\n" }
	return map[string]string{
		"no parts":         head("n1") + "parts: {}\ncontrols: {S: {switch: {on: {joins: [[n0, n1]]}, off: {}}}}\nstart: {S: off}\n",
		"straight through": head("n1") + "parts: {}\ncontrols: {S: {switch: {on: {joins: [[n0, n1]]}, off: {}}}}\n",
		"one part":         head("n1") + "parts:\n  C1: {kind: capacitor, nodes: [n0, n1], value: 1 nF}\n",
		"one node":         head("n0") + "parts:\n  C1: {kind: capacitor, nodes: [n0, ground], value: 1 nF}\n",
		"ladder of 60":     head("n30") + "parts:\n" + ladder.String(),
		"mesh of 60":       head("n7") + "parts:\n" + mesh.String(),
		"unknown value":    head("n1") + "parts:\n  C1: {kind: capacitor, nodes: [n0, n1], value: \"?\"}\n  V1: {kind: variable capacitor, nodes: [n1, ground], range: 1 pF .. 9 pF}\ncontrols: {K: {knob: V1}}\n",
		"odd names": "box: \"<&\\\"'>\"\nterminals: {antenna: \"<a>\", receiver: \"b & c\"}\nparts:\n" +
			"  \"<script>\": {kind: capacitor, nodes: [\"<a>\", \"b & c\"], value: 1 nF}\n" +
			"  " + strings.Repeat("very ", 11) + "long: {kind: inductor, nodes: [\"b & c\", ground], value: 1 uH}\n" +
			"  唐Ω: {kind: resistor, nodes: [\"<a>\", " + strings.Repeat("x", 58) + "1], value: 1 kohm}\n" +
			"  R2: {kind: resistor, nodes: [\"<a>\", " + strings.Repeat("x", 59) + "], value: 1 kohm}\n",
	}
}

func TestEdges(t *testing.T) {
	checked := 0
	for name, text := range edges() {
		b := parsed(t, text)
		s := b.Start()
		d, err := schematic.Layout(b, s, plain)
		if err != nil {
			t.Fatalf("%s: %v", name, err)
		}
		write(t, "edge "+name, d)
		examine(t, name, b, s, d)
		checked++
	}
	if checked < 8 {
		t.Fatalf("only %d boxes", checked)
	}
}

// TestUnknownValueIsShown: what cannot be computed can still be drawn.
func TestUnknownValueIsShown(t *testing.T) {
	b := parsed(t, edges()["unknown value"])
	d, err := schematic.Layout(b, b.Start(), plain)
	if err != nil {
		t.Fatal(err)
	}
	for _, s := range d.Shapes {
		if s.Part == "C1" && s.Value != "?" {
			t.Fatalf("C1 is shown as %q", s.Value)
		}
	}
}

func TestWrongSettings(t *testing.T) {
	b := known(t)["tern-point"]
	wrong := map[string]func(box.Setting){
		"missing":    func(s box.Setting) { delete(s, "Range") },
		"unknown":    func(s box.Setting) { s["Range"] = box.Reading{Word: "nowhere"} },
		"off scale":  func(s box.Setting) { s["Input"] = box.Reading{Number: 11} },
		"wrong kind": func(s box.Setting) { s["Input"] = box.Reading{Word: "long"} },
	}
	for name, spoil := range wrong {
		s := b.Start()
		spoil(s)
		d, err := schematic.Layout(b, s, plain)
		f, ok := errors.AsType[*fault.Error](err)
		if !ok || f.Kind != fault.Setting || d != nil {
			t.Errorf("%s: %v", name, err)
		}
	}
}

// TestWrongSettingOfABoxWithUnknowns: a value that is not known does not hide a wrong setting.
func TestWrongSettingOfABoxWithUnknowns(t *testing.T) {
	b := parsed(t, edges()["unknown value"])
	if _, err := schematic.Layout(b, box.Setting{}, plain); err == nil {
		t.Fatal("a setting without positions was taken")
	}
}

// TestLabelsOfAnyLength: what the box is connected to may have any name.
func TestLabelsOfAnyLength(t *testing.T) {
	b := known(t)["harbour-t"]
	for _, l := range []schematic.Labels{{}, {Source: strings.Repeat("w", 300), Load: strings.Repeat("many words ", 40)}, {Source: "a\x00b\n<c>", Load: "\u202e"}} {
		d, err := schematic.Layout(b, b.Start(), l)
		if err != nil {
			t.Fatal(err)
		}
		connected(t, l.Source, b, b.Start(), d)
		apart(t, l.Source, d)
	}
}
