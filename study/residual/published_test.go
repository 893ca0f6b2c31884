package residual_test

import (
	"context"
	"fmt"
	"strings"
	"testing"
	"testing/fstest"

	"knobwise/bench/folder"
	"knobwise/bench/measurement"
	"knobwise/bench/trace"
	"knobwise/internal/reference"
	"knobwise/study/residual"
)

// The IRE standard dummy antenna, described as a box, beside its published impedances read as a measured one-port, in both
// versions of the format. Source: dummy_antennas.csv, which names the document of every row; its four decimals in ohm are
// up to 3e-8 of a reflection coefficient.
func TestDummyAntennaBesideItsTable(t *testing.T) {
	const dummy = `box: IRE dummy, seen from the receiver
terminals: {antenna: receiver, receiver: generator}
parts:
  C1: {kind: capacitor, nodes: [generator, middle], value: 200 pF}
  L1: {kind: inductor, nodes: [middle, receiver], value: 20 uH}
  C2: {kind: capacitor, nodes: [middle, inside], value: 400 pF}
  R1: {kind: resistor, nodes: [inside, receiver], value: 400 ohm}
`
	const shorted = "setup: S\nsource: {kind: generator, emf: 1 V, impedance: 50 ohm}\nload: {kind: resistor, value: 1 uohm}\nsweep: {from: 0.1 MHz, to: 30 MHz}\n"
	table := reference.Open(t, "dummy_antennas.csv")
	var v1, v2 strings.Builder
	v1.WriteString("# MHz Z RI R 50\n")
	v2.WriteString("[Version] 2.0\n# MHz Z RI R 50\n[Number of Ports] 1\n[Number of Frequencies] %d\n[Network Data]\n")
	rows := 0
	var impedances []reference.Row
	for _, row := range table.Rows {
		if row.Text("kind")+" "+row.Text("id") != "impedance IRE" {
			table.Elsewhere(row, "physics/network")
			continue
		}
		rows++
		r, x := row.Float("R_or_value"), row.Float("X_or_unit")
		fmt.Fprintf(&v1, "%s %.12g %.12g\n", row.Text("quantity_or_f_MHz"), r/50, x/50)
		fmt.Fprintf(&v2, "%s %g %g\n", row.Text("quantity_or_f_MHz"), r, x)
		impedances = append(impedances, row)
	}
	list := "box: d.box.yaml\nmeasurements:\n  - {file: v1.s1p, setup: s.setup.yaml, quantity: s-parameters}\n  - {file: v2.ts, setup: s.setup.yaml, quantity: s-parameters}\n"
	files := folder.Within(fstest.MapFS{
		"d.box.yaml": {Data: []byte(dummy)}, "s.setup.yaml": {Data: []byte(shorted)}, "d.measurements.yaml": {Data: []byte(list)},
		"v1.s1p": {Data: []byte(v1.String())}, "v2.ts": {Data: []byte(strings.Replace(v2.String(), "%d", fmt.Sprint(rows), 1) + "[End]\n")},
	})
	f, err := measurement.LoadFile(files, "d.measurements.yaml")
	if err != nil {
		t.Fatal(err)
	}
	for _, m := range f.Measurements {
		x, err := trace.Load(context.Background(), files, m)
		if err != nil {
			t.Fatal(err)
		}
		r, err := residual.Run(context.Background(), f.Box, m, x)
		if err != nil {
			t.Fatal(err)
		}
		t.Logf("%s: %d frequencies, %.2g apart, rms; worst %.2g dB", m.Trace, len(r.Frequency), r.Distance, r.Worst)
		if len(r.Frequency) != rows || rows != 23 || r.Distance > 1e-7 || r.Shown != residual.Reflection {
			t.Errorf("%s: %d of %d frequencies, %g apart", m.Trace, len(r.Frequency), rows, r.Distance)
		}
		for i, row := range impedances {
			table.Within(row, m.Trace+", of S11 in dB", r.Residual[i], 0, 1e-5)
		}
	}
}
