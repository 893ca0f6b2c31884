package box_test

import (
	"errors"
	"fmt"
	"strings"
	"testing"
	"testing/fstest"

	"knobwise/bench/box"
	"knobwise/bench/fault"
	"knobwise/bench/folder"
)

// bench holds the measured files that boxes of these tests name.
var bench = folder.Within(fstest.MapFS{
	"one.s1p":        {Data: []byte("# MHz S RI R 50\n1 0.5 0.1\n2 0.4 0.2\n")},
	"two.s2p":        {Data: []byte("# MHz S RI R 50\n1 0.1 0 0.9 0 0.9 0 0.1 0\n2 0.1 0 0.8 0 0.8 0 0.1 0\n")},
	"short.s2p":      {Data: []byte("! a note\n# MHz S RI R 50\n1 0.1 0 0.9 0 0.9 0 0.1\n")},
	"active.s1p":     {Data: []byte("# MHz S RI R 50\n1 1.5 0\n2 0.4 0.2\n")},
	"folder.s1p/x":   {Data: []byte("x")},
	"sub/deep.s1p":   {Data: []byte("# MHz S RI R 50\n1 0.5 0.1\n2 0.4 0.2\n")},
	"sub/x.box.yaml": {Data: []byte("box: X\nterminals: {antenna: a, receiver: a}\nparts: {Z: {kind: measured one-port, nodes: [a, ground], file: deep.s1p}}\n")},
})

// head begins every box of badBoxes that does not begin with a line of its own; what follows starts in line 5.
const head = `box: B
terminals: {antenna: a, receiver: b}
parts:
  R1: {kind: resistor, nodes: [a, b], value: 50 ohm}
`

type bad struct{ name, text, want string }

// TestBadBoxes: every mistake in a box file is told at its exact place, with what to write instead and a caret.
func TestBadBoxes(t *testing.T) {
	for _, c := range badBoxes {
		text := c.text
		if !strings.HasPrefix(text, "!") {
			text = head + text
		}
		_, err := box.Parse(bench, "x.box.yaml", []byte(strings.TrimPrefix(text, "!")))
		f, ok := errors.AsType[*fault.Error](err)
		if !ok {
			t.Errorf("%s: got %v, not a fault", c.name, err)
			continue
		}
		got := f.Error()
		if e := f.Excerpt(); e != "" {
			got += "\n" + e
		}
		if want := strings.TrimPrefix(c.want, "\n"); got != want {
			t.Errorf("%s:\ngot\n%s\nwant\n%s", c.name, got, want)
		}
	}
	if len(badBoxes) < 70 {
		t.Errorf("only %d cases", len(badBoxes))
	}
}

// manyParts is a box of 201 parts.
func manyParts() string {
	var b strings.Builder
	b.WriteString("!" + head)
	for i := range 200 {
		fmt.Fprintf(&b, "  C%d: {kind: capacitor, nodes: [a, b], value: 5 pF}\n", i)
	}
	return b.String()
}

// manyNodes is a list of a thousand nodes.
func manyNodes() string {
	var b strings.Builder
	for i := range 1000 {
		fmt.Fprintf(&b, ",\n  n%d", i)
	}
	return b.String()
}
