package schematic_test

import (
	"fmt"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"knobwise/bench/box"
	"knobwise/figure/schematic"
)

// randomBox makes the text of a box: a ladder, a tangle, or both, with every kind of part and with switches.
func randomBox(t *rapid.T) string {
	var b strings.Builder
	size := rapid.IntRange(1, 7).Draw(t, "nodes")
	tangle := rapid.IntRange(0, 3).Draw(t, "tangle") == 0
	count := rapid.IntRange(1, 14).Draw(t, "parts")
	long := rapid.IntRange(0, 9).Draw(t, "long") == 0
	node := func(i int) string {
		if i < 0 {
			return "ground"
		}
		if long {
			return fmt.Sprintf("the node with a very long name, number %d", i)
		}
		return fmt.Sprintf("n%d", i)
	}
	// distinct draws nodes that differ, near one another unless the box is a tangle.
	distinct := func(n int) []string {
		start := rapid.IntRange(0, size).Draw(t, "start")
		taken := map[int]bool{}
		var all []string
		for k := range n {
			i := start + k
			switch how := rapid.IntRange(0, 5).Draw(t, "how"); {
			case how < 2:
				i = -1
			case tangle || how == 5:
				i = rapid.IntRange(-1, size+2).Draw(t, "node")
			}
			for taken[i] {
				i++
			}
			taken[i] = true
			all = append(all, node(i))
		}
		if rapid.Bool().Draw(t, "turn") {
			for i, j := 0, len(all)-1; i < j; i, j = i+1, j-1 {
				all[i], all[j] = all[j], all[i]
			}
		}
		return all
	}
	quoted := func(nodes []string) string { return `["` + strings.Join(nodes, `", "`) + `"]` }
	var turned []string
	var body strings.Builder
	for i := range count {
		name := fmt.Sprintf("P%d", i)
		if long {
			name = fmt.Sprintf("part of a long and winding description %d", i)
		}
		two := func() string { return "nodes: " + quoted(distinct(2)) }
		var text string
		switch rapid.IntRange(0, 13).Draw(t, "kind") {
		case 0, 1:
			text = "kind: resistor, value: 50 ohm, " + two()
		case 2, 3:
			text = "kind: capacitor, value: 33 pF, " + two()
		case 4, 5:
			text = "kind: inductor, value: 22 uH, " + two()
		case 6:
			text = "kind: variable capacitor, range: 10 pF .. 400 pF, " + two()
			turned = append(turned, name)
		case 7:
			text = "kind: variable inductor, range: 1 uH .. 30 uH, " + two()
			turned = append(turned, name)
		case 8:
			n := rapid.IntRange(1, 4).Draw(t, "sections")
			var turns []string
			for range n {
				turns = append(turns, fmt.Sprint(rapid.IntRange(1, 30).Draw(t, "turns")))
			}
			text = fmt.Sprintf("kind: tapped coil, nodes: %s, turns: [%s], form: {diameter: 40 mm, length: 200 mm, wire: 0.3 mm}", quoted(distinct(n+1)), strings.Join(turns, ", "))
		case 9, 10:
			n := rapid.IntRange(2, 4).Draw(t, "windings")
			var windings []string
			for range n {
				windings = append(windings, fmt.Sprintf("{nodes: %s, value: 9 uH}", quoted(distinct(2))))
			}
			couplings := "coupling: 0.1"
			if rapid.Bool().Draw(t, "pair") {
				couplings = "couplings: [[1, 2, 0.3]]"
			}
			text = fmt.Sprintf("kind: coupled coils, windings: [%s], %s", strings.Join(windings, ", "), couplings)
		case 11:
			text = fmt.Sprintf("kind: transformer, nodes: [%s, %s], turns: [9, 3], value: 100 uH", quoted(distinct(2)), quoted(distinct(2)))
		case 12:
			text = "kind: line, impedance: 50 ohm, velocity: 0.66, length: 12 m, " + two()
		case 13:
			text = "kind: crystal, resistance: 25 ohm, inductance: 80 mH, capacitance: 0.02 pF, holder: 5 pF, " + two()
		}
		fmt.Fprintf(&body, "  %q: {%s}\n", name, text)
	}
	// The sockets need nodes that exist.
	fmt.Fprintf(&body, "  Ra: {kind: resistor, value: 1 kohm, nodes: [%q, ground]}\n", node(0))
	receiver := rapid.IntRange(0, size).Draw(t, "receiver")
	fmt.Fprintf(&body, "  Rb: {kind: resistor, value: 1 kohm, nodes: [%q, %q]}\n", node(receiver), node(receiver+1))
	fmt.Fprintf(&b, "box: Random\nterminals: {antenna: %q, receiver: %q}\nparts:\n%s", node(0), node(receiver), body.String())
	switches := rapid.IntRange(0, 3).Draw(t, "switches")
	if switches+len(turned) > 0 {
		b.WriteString("controls:\n")
	}
	for i := 0; i < len(turned); {
		n := min(rapid.IntRange(1, 3).Draw(t, "gang"), len(turned)-i)
		fmt.Fprintf(&b, "  K%d: {knob: %s, scale: 0 .. 10}\n", i, quoted(turned[i:i+n]))
		i += n
	}
	for i := range switches {
		name := fmt.Sprintf("S%d", i)
		if long {
			name = "a switch that is called by many words " + name
		}
		fmt.Fprintf(&b, "  %q:\n    switch:\n", name)
		for j := range rapid.IntRange(1, 7).Draw(t, "positions") {
			var groups []string
			for range rapid.IntRange(0, 2).Draw(t, "groups") {
				groups = append(groups, quoted(distinct(rapid.IntRange(2, 3).Draw(t, "group"))))
			}
			fmt.Fprintf(&b, "      position %d: {joins: [%s]}\n", j, strings.Join(groups, ", "))
		}
	}
	return strings.ReplaceAll(b.String(), "{joins: []}", "{}")
}

// TestRandomBoxes: whatever the box, the drawing is complete, right, and nothing in it overlaps.
func TestRandomBoxes(t *testing.T) {
	before := examined
	rapid.Check(t, func(t *rapid.T) {
		text := randomBox(t)
		b, err := box.Parse(textbook, "r.box.yaml", []byte(text))
		if err != nil {
			t.Fatalf("%v\n%s", err, text)
		}
		s := b.Start()
		for _, c := range b.Controls {
			if c.Switch != nil {
				p := rapid.SampledFrom(c.Switch.Positions).Draw(t, "position")
				s[c.Name] = box.Reading{Word: p.Name}
			}
		}
		d, err := schematic.Layout(b, s, plain)
		if err != nil {
			t.Fatalf("%v\n%s", err, text)
		}
		examine(t, text+b.Describe(s), b, s, d)
	})
	if n := examined.drawings - before.drawings; n < 100 {
		t.Fatalf("only %d drawings", n)
	}
	if examined.parts == before.parts || examined.pairs == before.pairs || examined.wires == before.wires || examined.crossings == before.crossings {
		t.Fatal("something was not checked at all")
	}
}
