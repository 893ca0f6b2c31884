package document

import (
	"bytes"
	"testing"

	"pgregory.net/rapid"
)

func TestRemarkExamples(t *testing.T) {
	const source = "a: {x: 1, y: \"2 # no\"}\nb: 3  # so\r\nc: '#4'\nd: 5"
	const want = "a: {x: 7, y: \"2 # no\"}  # one; two\nb: 3  # so; three\r\nc: '#4'  # four\nd: 5  # five"
	d, err := Parse("x.yaml", []byte(source))
	if err != nil {
		t.Fatal(err)
	}
	e := d.Edit()
	e.Set(d.Root.Get("a").Get("x"), "7")
	e.Remark(d.Root.Get("a").Get("x"), "one")
	e.Remark(d.Root.Get("a").Get("y"), "two")
	e.Remark(d.Root.Get("b"), "three")
	e.Remark(d.Root.Get("c"), "four")
	e.Remark(d.Root.Get("d"), "five")
	got, err := e.Apply()
	if err != nil || string(got) != want {
		t.Errorf("%v\n%s\nwant\n%s", err, got, want)
	}
	e = d.Edit()
	e.Remark(d.Root.Get("d"), "two\nlines: 7")
	if out, err := e.Apply(); err == nil {
		t.Errorf("written:\n%s", out)
	}
}

// A comment behind any value changes nothing of what the file means, or is refused.
func TestRemarkChangesNothing(t *testing.T) {
	cases := 0
	rapid.Check(t, func(t *rapid.T) {
		d, root, data, _ := parsed(t)
		for _, p := range walk(d.Root, root) {
			if p.node.Kind != Scalar {
				continue
			}
			e := d.Edit()
			e.Remark(p.node, "33.1 uH .. 33.2 uH, \"so\": {x}")
			out, err := e.Apply()
			if err != nil {
				continue // refused: nothing was written
			}
			cases++
			again, err := Parse("r.yaml", out)
			if err != nil {
				t.Fatal(err)
			}
			if diff := differs(again.Root, root); diff != "" || common(data, out) < len(data) || bytes.Equal(data, out) {
				t.Fatalf("%s\n%s\n%s", diff, data, out)
			}
		}
	})
	if cases == 0 {
		t.Error("no comment was written")
	}
	t.Log(cases, "comments")
}
