package box

import (
	"fmt"
	"testing"

	"knobwise/bench/folder"
	"knobwise/physics/network"
)

const unsure = `box: U
terminals: {antenna: a, receiver: b}
parts:
  C1: {kind: variable capacitor, nodes: [a, ground], min: "? 5 pF .. 30 pF", max: 390 pF, Q: "? 200"}
  C2: {kind: capacitor, nodes: [a, b], value: "?", esr: "? 0.1 ohm .. 2 ohm"}
  L1: {kind: inductor, nodes: [b, ground], value: 22 uH, Q: "? 180 at 2 MHz", self capacitance: "? 3 pF"}
  T1: {kind: coupled coils, windings: [{nodes: [a, ground], value: 1 uH}, {nodes: [b, ground], value: "? 100 uH"}], coupling: "? 0.1 .. 0.5"}
  R1: {kind: resistor, nodes: [a, b], value: 1 kohm}
controls:
  Front: {knob: C1, scale: 0 .. 10}
  Range: {switch: {low: {values: {L1: "? 10 uH .. 60 uH"}}, mid: {}, high: {values: {L1: 5 uH}}}}
`

// Every form of an unknown value is found, in the order of the file; given numbers stand for them and the elements follow.
func TestUnknownsFound(t *testing.T) {
	b, err := Parse(folder.Disk(), "u.box.yaml", []byte(unsure))
	if err != nil {
		t.Fatal(err)
	}
	var got []string
	given := Given{}
	for i, u := range b.Unknowns() {
		got = append(got, u.Part.Name+" "+u.Field)
		given[u.Node] = float64(i+1) / 1000
	}
	want := "[C1 min C1 Q C2 value C2 esr L1 Q L1 self capacitance T1 value of winding 2 T1 coupling L1 value in Range low]"
	if fmt.Sprint(got) != want {
		t.Errorf("got  %v\nwant %v", got, want)
	}
	s := b.Start()
	if _, err := b.Wire(s); err == nil {
		t.Error("a box with \"?\" was wired")
	}
	w, err := b.WireGiven(s, given)
	if err != nil {
		t.Fatal(err)
	}
	if l := w.Circuit.Element(w.Placed[2].Elements[0]).(*network.Inductor); l.Inductance != 9e-3 || l.Loss.Q != 5e-3 || l.SelfCapacitance != 6e-3 {
		t.Errorf("%+v", l)
	}
	if c := w.Circuit.Element(w.Placed[3].Elements[0]).(*network.CoupledCoils); c.Inductances[1] != 7e-3 || c.Couplings[0].Factor != 8e-3 {
		t.Errorf("%+v", c)
	}
	used := 0
	for _, at := range []string{"low", "mid", "high"} {
		s["Range"] = Reading{Word: at}
		w, err := b.WireGiven(s, given)
		if err != nil {
			t.Fatal(err)
		}
		for _, u := range b.Unknowns() {
			if w.Uses(u) != (u.Field != "value in Range low" || at == "low") {
				t.Errorf("%s %s counts at %s: %v", u.Part.Name, u.Field, at, w.Uses(u))
			}
			used++
		}
	}
	if used != 27 {
		t.Errorf("%d looked at", used)
	}
}

// Values gives what wiring anew would put into the elements, for any other numbers and readings.
func TestValuesFollow(t *testing.T) {
	b, err := Parse(folder.Disk(), "u.box.yaml", []byte(unsure))
	if err != nil {
		t.Fatal(err)
	}
	given, other := Given{}, Given{}
	for i, u := range b.Unknowns() {
		given[u.Node], other[u.Node] = 0.01*float64(i+1), 0.013*float64(i+1)
	}
	s := b.Start()
	w, err := b.WireGiven(s, given)
	if err != nil {
		t.Fatal(err)
	}
	turned := b.Start()
	turned["Front"] = Reading{Number: 7.3}
	again, err := b.WireGiven(turned, other)
	if err != nil {
		t.Fatal(err)
	}
	compared := 0
	for i := range w.Placed {
		got, err := w.Values(i, other, turned, nil)
		if err != nil {
			t.Fatal(err)
		}
		for k, p := range again.Params(i, nil) {
			compared++
			if got[k] != *p {
				t.Errorf("part %s, parameter %d: %g, wired anew %g", w.Placed[i].Part.Name, k, got[k], *p)
			}
		}
	}
	if compared != 15 {
		t.Errorf("%d parameters compared", compared)
	}
}
