package setup_test

import (
	"testing"

	"knobwise/bench/document"
	"knobwise/bench/folder"
	"knobwise/bench/setup"
)

// Guessed values of source, load and probe are found, and numbers can stand for them without touching the setup itself.
func TestUnknowns(t *testing.T) {
	const text = "setup: S\nsource: {kind: generator, emf: 1 V, impedance: 50 ohm, series: \"? 150 ohm .. 600 ohm\"}\n" +
		"load: {kind: receiver, resistance: \"? 50 ohm\", capacitance: 20 pF}\nprobe: {resistance: 1 Mohm, capacitance: \"? 12 pF\"}\nsweep: {from: 1 MHz, to: 2 MHz}\n"
	s, err := setup.Parse(folder.Disk(), "s.setup.yaml", []byte(text))
	if err != nil {
		t.Fatal(err)
	}
	given := map[*document.Node]float64{}
	var names string
	for i, u := range s.Unknowns() {
		names += u.Of + " " + u.Field + ", "
		given[u.Node] = float64(i + 1)
	}
	if want := "source series, load resistance, probe capacitance, "; names != want {
		t.Errorf("found %s want %s", names, want)
	}
	if got := s.Unknowns()[0].Quantity.Value; got != 300 {
		t.Errorf("%g ohm stands for 150 .. 600 ohm", got)
	}
	other := s.Given(given)
	if other.Probe.Capacitance != 3 || s.Probe.Capacitance != 12e-12 || other.Probe.Resistance != 1e6 {
		t.Errorf("%+v, was %+v", other.Probe, s.Probe)
	}
	if p := other.SourceElement("a").Params(); *p[0].Value != 51 {
		t.Errorf("source of %g ohm", *p[0].Value)
	}
	if p := s.SourceElement("a").Params(); *p[0].Value != 350 {
		t.Errorf("source of %g ohm", *p[0].Value)
	}
}
