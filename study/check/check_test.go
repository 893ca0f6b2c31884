package check

import (
	"fmt"
	"strings"
	"testing"
	"testing/fstest"

	"knobwise/bench/box"
	"knobwise/bench/demo"
	"knobwise/bench/folder"
)

var bench = folder.Within(fstest.MapFS{
	"vhf.s1p":  {Data: []byte("# MHz S RI R 50\n40 0.5 0.1\n50 0.4 0.2\n")},
	"uhf.s1p":  {Data: []byte("# MHz S RI R 50\n400 0.5 0.1\n500 0.4 0.2\n")},
	"spot.s1p": {Data: []byte("# MHz S RI R 50\n2 0.5 0.1\n")},
	"hf.s1p":   {Data: []byte("# MHz S RI R 50\n2 0.5 0.1\n60 0.5 0.1\n")},
})

func report(t *testing.T, text string) *Report {
	t.Helper()
	if !strings.HasPrefix(text, "terminals:") {
		text = "terminals: {antenna: a, receiver: b}\n" + text
	}
	b, err := box.Parse(bench, "t.box.yaml", []byte("box: T\n"+text))
	if err != nil {
		t.Fatal(err)
	}
	r, err := Box(b, Shortwave)
	if err != nil {
		t.Fatal(err)
	}
	return r
}

// lines is a report as the places and texts of its findings, then its notices.
func lines(r *Report) string {
	var all []string
	for _, f := range r.Findings {
		all = append(all, fmt.Sprintf("%d:%d %s; %s", f.Place.Line, f.Place.Column, f.What, f.Instead))
	}
	return strings.Join(append(all, r.Notices...), "\n")
}

const through = "  R: {kind: resistor, nodes: [a, b], value: 50 ohm}\n"

// manySwitches is n switches of two positions; the last two short the antenna where both stand at "on".
func manySwitches(n int) string {
	var b strings.Builder
	b.WriteString("parts:\n" + through + "  R2: {kind: resistor, nodes: [b, p], value: 50 ohm}\n  R3: {kind: resistor, nodes: [a, q], value: 50 ohm}\ncontrols:\n")
	for i := range n - 2 {
		fmt.Fprintf(&b, "  S%d: {switch: {off: {joins: [[p, ground], [q, ground]]}, on: {joins: [[p, ground], [q, ground]]}}}\n", i+1)
	}
	b.WriteString("  U: {switch: {off: , on: {joins: [[a, u]]}}}\n  V: {switch: {off: , on: {joins: [[u, ground]]}}}\n")
	return b.String()
}

// manyPositions is one switch with n positions, the last of which shorts the receiver.
func manyPositions(n int) string {
	var b strings.Builder
	b.WriteString("parts:\n" + through + "controls:\n  S:\n    switch:\n")
	for i := range n - 1 {
		fmt.Fprintf(&b, "      p%d:\n", i)
	}
	b.WriteString("      last: {joins: [[b, ground]]}\n")
	return b.String()
}

// TestFindings: a box for every kind of finding, with all that is told about it.
func TestFindings(t *testing.T) {
	cases := []struct{ name, text, want string }{
		{"nothing", "parts:\n" + through, ""},
		{
			"both sockets at one node", "terminals: {antenna: a, receiver: a}\nparts: {R: {kind: resistor, nodes: [a, ground], value: 5 ohm}}\n",
			"2:12 both sockets are at node \"a\"; right only for a box that is a plain wire",
		},
		{
			"part hangs on a node alone", "parts:\n" + through + "  C: {kind: capacitor, nodes: [a, inn], value: 5 pF}\n  L: {kind: inductor, nodes: [in, b], value: 5 uH, Q: 100}\n",
			"5:3 nothing but C is at node \"inn\"; did you mean \"in\"?\n5:3 C carries no current in any switch position; check its nodes and the switch contacts\n6:3 nothing but L is at node \"in\"; did you mean \"inn\"?\n6:3 L carries no current in any switch position; check its nodes and the switch contacts",
		},
		{
			"name near a socket", "terminals: {antenna: antenna, receiver: b}\nparts: {R: {kind: resistor, nodes: [antenna, b], value: 5 ohm}, R2: {kind: resistor, nodes: [antena, b], value: 5 ohm}}\n",
			"3:65 nothing but R2 is at node \"antena\"; did you mean \"antenna\"?\n3:65 R2 carries no current in any switch position; check its nodes and the switch contacts",
		},
		{
			"part hangs free, no name near", "parts:\n" + through + "  C: {kind: capacitor, nodes: [a, somewhere], value: 5 pF}\n",
			"5:3 nothing but C is at node \"somewhere\"; connect it, or leave it if it really hangs free\n5:3 C carries no current in any switch position; check its nodes and the switch contacts",
		},
		{
			"contact with nothing", "parts:\n" + through + "controls:\n  S:\n    switch:\n      off:\n      on: {joins: [[b, nowhere]]}\n",
			"9:7 position on of S joins node \"nowhere\", where nothing else is; name a node of a part, or leave it out",
		},
		{
			"no knob", "parts:\n" + through + "  C: {kind: variable capacitor, nodes: [a, b], range: 5 pF .. 50 pF}\n",
			"5:3 no knob turns C; it is taken in the middle of its travel; add a control {knob: C}, or make it a fixed part",
		},
		{
			"self-resonance", "parts:\n" + through + "  L: {kind: inductor, nodes: [a, b], value: 22 uH, Q: 100, self capacitance: 3 pF}\n",
			"5:3 the self-resonance of L, at 19.59 MHz, lies between 100.0 kHz and 30.00 MHz; above it the coil is a capacitor; is its self capacitance right?",
		},
		{"self-resonance above", "parts:\n" + through + "  L: {kind: inductor, nodes: [a, b], value: 2 uH, Q: 100, self capacitance: 3 pF}\n", ""},
		{
			"short always", "parts:\n" + through + "controls:\n  S: {switch: {x: {joins: [[a, ground]]}, y: {joins: [[ground, a]]}}}\n",
			"2:12 every setting shorts the antenna socket to ground; check its joins; a switch that grounds an antenna on purpose is right",
		},
		{
			"short in one position", "parts:\n" + through + "controls:\n  S: {switch: {x: , y: {joins: [[b, ground]]}}}\n  U: {switch: {x: , y: {joins: [[a, b]]}}}\n",
			"6:21 position y of S shorts the receiver socket to ground; check its joins; a switch that grounds an antenna on purpose is right",
		},
		{
			"short together", "parts:\n" + through + "controls:\n  S: {switch: {x: , y: {joins: [[a, m]]}}}\n  U: {switch: {x: , y: {joins: [[m, ground]]}}}\n  V: {switch: {x: , y: {joins: [[a, b]]}}}\n",
			"6:3 the combination S y, U y, V x shorts the antenna socket to ground (one of 2 combinations that do); check its joins; a switch that grounds an antenna on purpose is right",
		},
		{
			"short once", "parts:\n" + through + "controls:\n  S: {switch: {x: , y: {joins: [[a, m]]}}}\n  U: {switch: {x: , y: {joins: [[m, ground]]}}}\n",
			"6:3 the combination S y, U y shorts the antenna socket to ground; check its joins; a switch that grounds an antenna on purpose is right",
		},
		{
			"off", "parts:\n  R: {kind: resistor, nodes: [a, m], value: 50 ohm}\n  R2: {kind: resistor, nodes: [a, ground], value: 50 ohm}\ncontrols:\n  S: {switch: {on: {joins: [[m, b]]}, off: }}\n",
			"7:39 position off of S lets nothing through to the receiver; check its joins, or leave it if the position is meant to be off",
		},
		{
			"knob without effect", "parts:\n" + through + "  C: {kind: variable capacitor, nodes: [c, d], range: 5 pF .. 50 pF}\n  C2: {kind: capacitor, nodes: [c, d], value: 5 pF}\ncontrols:\n  K: {knob: C}\n",
			"5:3 C carries no current in any switch position; check its nodes and the switch contacts\n6:3 C2 carries no current in any switch position; check its nodes and the switch contacts\n8:3 K changes nothing in any switch position; check the nodes of C",
		},
		{
			"no unique solution in one position", "parts:\n" + through + "  T: {kind: coupled coils, windings: [{nodes: [a, ground], value: 1 uH}, {nodes: [c, ground], value: 1 uH}], coupling: 1}\n  R2: {kind: resistor, nodes: [c, ground], value: 50 ohm}\ncontrols:\n  S: {switch: {x: , y: {joins: [[a, c]]}}}\n",
			"8:21 position y of S leaves the circuit without a unique solution; give the lossless coils in it a Q, or a coupling below 1",
		},
		{
			"no unique solution at all", "parts:\n" + through + "  T: {kind: coupled coils, windings: [{nodes: [a, ground], value: 1 uH}, {nodes: [a, ground], value: 1 uH}], coupling: 1}\n",
			"2:12 every setting leaves the circuit without a unique solution; give the lossless coils in it a Q, or a coupling below 1",
		},
		{
			"unknown value", "parts:\n" + through + "  L: {kind: inductor, nodes: [a, b], value: \"?\"}\n  C: {kind: variable capacitor, nodes: [a, b], range: 5 pF .. 50 pF}\n",
			"6:3 no knob turns C; it is taken in the middle of its travel; add a control {knob: C}, or make it a fixed part\nthe switch positions were not tried: value of L is not known, so nothing can be computed with it; write a guess like \"? 22 uH\"",
		},
		{"measured above shortwave", "parts:\n  Z: {kind: measured one-port, nodes: [a, b], file: vhf.s1p}\n", ""},
		{"measured at one frequency", "parts:\n  Z: {kind: measured one-port, nodes: [a, b], file: spot.s1p}\n", ""},
		{"measured over the edge", "parts:\n  Z: {kind: measured one-port, nodes: [a, b], file: hf.s1p}\n", ""},
		{
			"nothing measured in common", "parts:\n  Z: {kind: measured one-port, nodes: [a, b], file: vhf.s1p}\n  Y: {kind: measured one-port, nodes: [a, b], file: uhf.s1p}\n",
			"the switch positions were not tried: the measured files have no frequency in common",
		},
		{
			"4096 combinations", manySwitches(12),
			"8:3 the combination S1 off, S2 off, S3 off, S4 off, S5 off, S6 off, S7 off, S8 off, S9 off, S10 off, U on, V on shorts the antenna socket to ground (one of 1024 combinations that do); check its joins; a switch that grounds an antenna on purpose is right",
		},
		{
			"8192 combinations", manySwitches(13),
			"8:3 the combination S1 off, S2 off, S3 off, S4 off, S5 off, S6 off, S7 off, S8 off, S9 off, S10 off, S11 off, U on, V on shorts the antenna socket to ground; check its joins; a switch that grounds an antenna on purpose is right\nthe switches have more than 4096 combinations; only those that differ from the first positions by one or two switches were tried",
		},
		{
			"8192 combinations, one position shorts by itself", manySwitches(13) + "  W: {switch: {off: , on: {joins: [[b, ground]]}}}\n",
			"8:3 the combination S1 off, S2 off, S3 off, S4 off, S5 off, S6 off, S7 off, S8 off, S9 off, S10 off, S11 off, U on, V on, W off shorts the antenna socket to ground; check its joins; a switch that grounds an antenna on purpose is right\n21:23 position on of W shorts the receiver socket to ground; check its joins; a switch that grounds an antenna on purpose is right\nthe switches have more than 4096 combinations; only those that differ from the first positions by one or two switches were tried",
		},
		{
			"one switch of 4200 positions", manyPositions(4200),
			"4207:7 position last of S shorts the receiver socket to ground; check its joins; a switch that grounds an antenna on purpose is right\nthe switches have more than 4096 combinations; only those that differ from the first positions by one switch were tried",
		},
	}
	for _, c := range cases {
		r := report(t, c.text)
		if got := lines(r); got != c.want {
			t.Errorf("%s:\ngot  %s\nwant %s", c.name, got, c.want)
		}
	}
	if len(cases) < 20 {
		t.Errorf("only %d cases", len(cases))
	}
}

// TestDemonstration: the boxes of the demonstration give no finding but their coils' self-resonances.
func TestDemonstration(t *testing.T) {
	names, err := demo.Files().List(".box.yaml")
	if err != nil || len(names) == 0 {
		t.Fatal("no boxes: ", err)
	}
	resonances := 0
	for _, name := range names {
		b, err := box.Load(demo.Files(), name)
		if err != nil {
			t.Fatal(err)
		}
		r, err := Box(b, Shortwave)
		if err != nil {
			t.Fatal(err)
		}
		for _, f := range r.Findings {
			if !strings.HasPrefix(f.What, "the self-resonance of ") {
				t.Errorf("%s: %s", name, f.What)
			}
			resonances++
		}
		if len(r.Notices) > 0 {
			t.Errorf("%s: %q", name, r.Notices)
		}
		low, err := Box(b, Span{0.5e6, 8e6})
		if err != nil || len(low.Findings) > 0 {
			t.Errorf("%s below 8 MHz: %v %v", name, low.Findings, err)
		}
	}
	if resonances == 0 {
		t.Error("no self-resonance was found")
	}
}
