package family

import (
	"testing"

	"knobwise/bench/box"
)

// Circuits that are the same by a rule of network theory have one canonical text, others have not.
func TestCanonical(t *testing.T) {
	moved := &box.Part{Name: "C9"}
	x := func(from, to string) part { return part{role: "X", moves: moved, from: from, to: to} }
	p := func(kind, from, to string) part { return part{kind: kind, from: from, to: to} }
	coils := func(first, second string) part {
		return part{kind: "coupled coils", windings: []part{{from: first, to: "ground"}, {from: second, to: "ground"}}}
	}
	of := func(parts ...part) string {
		return (&circuit{parts: parts, antenna: "ant", receiver: "rx"}).canonical()
	}
	compared := 0
	for _, y := range []struct {
		name       string
		one, other string
		same       bool
	}{
		{"parts in series change places", of(x("ant", "m"), p("inductor", "m", "rx")), of(p("inductor", "ant", "q"), x("rx", "q")), true},
		{"parts in parallel change places", of(x("ant", "rx"), p("inductor", "ant", "rx")), of(p("inductor", "rx", "ant"), x("ant", "rx")), true},
		{"two capacitors in series are one", of(p("capacitor", "ant", "m"), p("capacitor", "m", "rx"), x("rx", "ground")), of(x("rx", "ground"), p("capacitor", "ant", "rx")), true},
		{"two resistors in parallel are one", of(p("resistor", "ant", "ground"), p("resistor", "ground", "ant"), x("ant", "rx")), of(x("ant", "rx"), p("resistor", "ant", "ground")), true},
		{
			"star and triangle", of(p("capacitor", "ant", "m"), p("capacitor", "m", "rx"), p("capacitor", "m", "ground"), x("ant", "rx")),
			of(p("capacitor", "ant", "rx"), p("capacitor", "ant", "ground"), p("capacitor", "rx", "ground"), x("ant", "rx")), true,
		},
		{"names of nodes", of(x("ant", "m"), p("inductor", "m", "ground"), p("capacitor", "m", "rx")), of(x("ant", "z"), p("inductor", "z", "ground"), p("capacitor", "z", "rx")), true},
		{"names of the nodes of windings", of(x("ant", "m"), coils("m", "rx")), of(coils("rx", "k"), x("k", "ant")), true},
		{"a moved capacitor is not merged", of(p("capacitor", "ant", "m"), x("m", "rx")), of(x("ant", "rx")), false},
		{"the other end", of(x("ant", "rx"), p("inductor", "rx", "ground")), of(x("ant", "rx"), p("inductor", "ant", "ground")), false},
		{"series is not parallel", of(x("ant", "m"), p("inductor", "m", "rx")), of(x("ant", "rx"), p("inductor", "ant", "rx")), false},
		{"another kind", of(x("ant", "rx"), p("inductor", "rx", "ground")), of(x("ant", "rx"), p("capacitor", "rx", "ground")), false},
		{"stray", of(x("ant", "rx"), p("inductor", "rx", "ground")), of(x("ant", "rx"), part{kind: "inductor", from: "rx", to: "ground", stray: true}), false},
		{"where a winding is", of(x("ant", "m"), p("inductor", "m", "rx"), coils("m", "rx")), of(x("ant", "m"), p("inductor", "m", "rx"), coils("ant", "rx")), false},
		{"two coils are not coupled ones", of(x("ant", "rx"), coils("ant", "rx")), of(x("ant", "rx"), p("inductor", "ant", "ground"), p("inductor", "rx", "ground")), false},
	} {
		compared++
		if (y.one == y.other) != y.same {
			t.Errorf("%s:\n%s\n%s", y.name, y.one, y.other)
		}
	}
	if compared != 14 {
		t.Errorf("%d compared", compared)
	}
}
