package document

import (
	"testing"

	"pgregory.net/rapid"

	"knobwise/bench/fault"
)

// Changes reach values through maps and lists; everything else keeps its bytes.
func TestChange(t *testing.T) {
	const source = `box: Test   # a comment
parts:
  C1: {kind: capacitor, value: 330 pF, Q: 300}  # keep me
  T1:
    windings:
      - {nodes: [a, b], value: 9 uH}   # link
      - {nodes: [c, d], value: 150 uH}
`
	const want = `box: Test   # a comment
parts:
  C1: {kind: capacitor, value: "? 100 pF", leads: 8 nH}  # keep me
  T1:
    windings:
      - {nodes: [a, b], value: 9 uH}   # link
      - {nodes: [c, d], value: 160 uH}
`
	d, err := Parse("test.box.yaml", []byte(source))
	if err != nil {
		t.Fatal(err)
	}
	got, err := d.Change([]Change{
		{Path: []string{"parts", "C1", "value"}, Text: "? 100 pF"},
		{Path: []string{"parts", "C1", "leads"}, Text: "8 nH"},
		{Path: []string{"parts", "C1", "Q"}, Remove: true},
		{Path: []string{"parts", "C1", "esr"}, Remove: true}, // already gone
		{Path: []string{"parts", "T1", "windings", "1", "value"}, Text: "160 uH"},
	})
	if err != nil || string(got) != want {
		t.Errorf("%v\n%s", err, got)
	}
	for name, path := range map[string][]string{
		"nothing":        {},
		"no such part":   {"parts", "C9", "value"},
		"no such item":   {"parts", "T1", "windings", "2", "value"},
		"not a number":   {"parts", "T1", "windings", "first", "value"},
		"through a text": {"box", "name", "x"},
		"a whole map":    {"parts", "C1"},
	} {
		if _, err := d.Change([]Change{{Path: path, Text: "x"}}); err == nil || fault.ExitCode(err) != 1 {
			t.Errorf("%s: %v", name, err)
		}
	}
}

// The path of every value of a file leads back to it.
func TestPathLeadsBack(t *testing.T) {
	cases := 0
	rapid.Check(t, func(t *rapid.T) {
		d, root, _, _ := parsed(t)
		for _, p := range walk(d.Root, root) {
			at := d.Root
			for _, key := range p.node.Path() {
				at = at.step(key)
			}
			if at != p.node {
				t.Fatalf("%q leads elsewhere", p.node.Path())
			}
			cases++
		}
	})
	t.Log(cases, "values")
}
