package document

import (
	"bytes"
	"strings"
	"testing"
	"unicode"

	"pgregory.net/rapid"
)

// pair is a node with what it means.
type pair struct {
	node *Node
	tree *tree
}

// walk lists a node and all below it with their meaning.
func walk(n *Node, want *tree) []pair {
	all := []pair{{n, want}}
	for i, c := range n.Items {
		all = append(all, walk(c, want.values[i])...)
	}
	for i, e := range n.Entries {
		all = append(all, walk(e.Value, want.values[i])...)
	}
	return all
}

// parsed is a random file, read, with its meaning checked.
func parsed(t *rapid.T) (*Document, *tree, []byte, []string) {
	root, data, comments := randomFile(t)
	if rapid.Bool().Draw(t, "mark") {
		data = append([]byte("\xef\xbb\xbf"), data...)
	}
	d, err := Parse("r.yaml", data)
	if err != nil {
		t.Fatalf("%v\n%s", err, data)
	}
	if diff := differs(d.Root, root); diff != "" {
		t.Fatalf("%s\n%s", diff, data)
	}
	return d, root, data, comments
}

// TestRandomFiles: every scalar is read as meant and found at its bytes, and no edit gives back the bytes.
func TestRandomFiles(t *testing.T) {
	scalars := 0
	rapid.Check(t, func(t *rapid.T) {
		d, root, data, _ := parsed(t)
		for _, p := range walk(d.Root, root) {
			if p.tree.kind != Scalar || p.tree.at < 0 {
				continue
			}
			scalars++
			if p.node.start != p.tree.at || p.node.end != p.tree.end {
				t.Fatalf("%q found at %d..%d, written at %d..%d\n%s", p.tree.text, p.node.start, p.node.end, p.tree.at, p.tree.end, data)
			}
			place := p.node.Place()
			if d.offset(place.Line, place.Column) != p.tree.at {
				t.Fatalf("%q: place %d:%d is not byte %d\n%s", p.tree.text, place.Line, place.Column, p.tree.at, data)
			}
		}
		again, err := d.Edit().Apply()
		if err != nil || !bytes.Equal(again, data) {
			t.Fatalf("no edit: %v\n%q\n%q", err, again, data)
		}
	})
	if scalars == 0 {
		t.Error("no scalar was looked at")
	}
	t.Log(scalars, "scalars")
}

// TestSetKeepsEveryOtherByte: a replaced scalar changes its own bytes only.
func TestSetKeepsEveryOtherByte(t *testing.T) {
	cases := 0
	rapid.Check(t, func(t *rapid.T) {
		d, root, data, _ := parsed(t)
		all := walk(d.Root, root)
		p := rapid.SampledFrom(all).Draw(t, "node")
		if p.tree.kind == Map || p.tree.kind == List || p.node.start < 0 {
			return
		}
		cases++
		text := rapid.SampledFrom(texts).Draw(t, "new text")
		e := d.Edit()
		e.Set(p.node, text)
		out, err := e.Apply()
		if err != nil {
			t.Fatalf("%q to %q: %v\n%s", p.node.Text, text, err, data)
		}
		start, end := p.node.start+len(d.mark), p.node.end+len(d.mark)
		if !bytes.HasPrefix(out, data[:start]) || !bytes.HasSuffix(out[start:], data[end:]) {
			t.Fatalf("other bytes changed: %q to %q\n%q\n%q", p.node.Text, text, data, out)
		}
		raw := string(out[start : len(out)-len(data[end:])])
		if quote := data[min(start, len(data)-1)]; p.tree.kind == Scalar && quote == '"' && raw[0] != quote {
			t.Fatalf("quotes were dropped: %q became %q", data[start:end], raw)
		}
		p.tree.kind, p.tree.text = Scalar, text
		checkMeaning(t, out, root)
	})
	if cases == 0 {
		t.Error("nothing was set")
	}
	t.Log(cases, "cases")
}

func checkMeaning(t *rapid.T, data []byte, want *tree) {
	d, err := Parse("r.yaml", data)
	if err != nil {
		t.Fatalf("%v\n%s", err, data)
	}
	if diff := differs(d.Root, want); diff != "" {
		t.Fatalf("%s\n%s", diff, data)
	}
}

// TestAddKeepsEveryByte: what is added stands in one piece between the old bytes.
func TestAddKeepsEveryByte(t *testing.T) {
	cases := 0
	rapid.Check(t, func(t *rapid.T) {
		d, root, data, _ := parsed(t)
		p := rapid.SampledFrom(walk(d.Root, root)).Draw(t, "node")
		if p.tree.kind != Map {
			return
		}
		cases++
		key := rapid.SampledFrom([]string{"new", "neu: é", "? q", "a, b"}).Draw(t, "new key")
		text := rapid.SampledFrom(texts).Draw(t, "new text")
		e := d.Edit()
		e.Add(p.node, key, text)
		out, err := e.Apply()
		if err != nil {
			t.Fatalf("%v\n%s", err, data)
		}
		if common(data, out) < len(data) {
			t.Fatalf("old bytes changed\n%q\n%q", data, out)
		}
		p.tree.keys = append(p.tree.keys, key)
		p.tree.values = append(p.tree.values, &tree{kind: Scalar, text: text})
		checkMeaning(t, out, root)
	})
	if cases == 0 {
		t.Error("nothing was added")
	}
	t.Log(cases, "cases")
}

// common is how many bytes two texts share at their beginnings and at their ends, together.
func common(a, b []byte) int {
	head := 0
	for head < min(len(a), len(b)) && a[head] == b[head] {
		head++
	}
	tail := 0
	for tail < min(len(a), len(b))-head && a[len(a)-1-tail] == b[len(b)-1-tail] {
		tail++
	}
	return head + tail
}

// TestRemoveKeepsTheRest: what is removed stood in one piece, and no comment line outside the entry goes with it.
func TestRemoveKeepsTheRest(t *testing.T) {
	cases, refused := 0, 0
	rapid.Check(t, func(t *rapid.T) {
		d, root, data, comments := parsed(t)
		p := rapid.SampledFrom(walk(d.Root, root)).Draw(t, "node")
		if p.tree.kind != Map {
			return
		}
		i := rapid.IntRange(0, len(p.tree.keys)-1).Draw(t, "entry")
		e := d.Edit()
		e.Remove(p.node, p.tree.keys[i])
		out, err := e.Apply()
		if err != nil {
			if p.node.brackets || len(p.tree.keys) > 1 && p.node.Entries[i].Value.end >= 0 && i > 0 {
				t.Fatalf("%v\n%s", err, data)
			}
			refused++
			return
		}
		cases++
		if common(out, data) < len(out) {
			t.Fatalf("bytes that stay changed\n%q\n%q", data, out)
		}
		own := data[p.node.Entries[i].Key.start+len(d.mark):]
		own = own[:bytes.IndexByte(append(own, '\n'), '\n')]
		if end := p.node.Entries[i].Value.end; end >= 0 {
			own = data[p.node.Entries[i].Key.start+len(d.mark) : d.lineEnd(end)+len(d.mark)]
		}
		for _, c := range comments {
			if !bytes.Contains(out, []byte(c)) && !bytes.Contains(own, []byte(c)) {
				t.Fatalf("%s was lost\n%s\n%s", c, data, out)
			}
		}
		p.tree.keys = append(p.tree.keys[:i:i], p.tree.keys[i+1:]...)
		p.tree.values = append(p.tree.values[:i:i], p.tree.values[i+1:]...)
		checkMeaning(t, out, root)
	})
	if cases == 0 {
		t.Error("nothing was removed")
	}
	t.Log(cases, "cases,", refused, "refused")
}

// TestManyEdits: any number of edits at once means what each of them says, or is refused with a fault.
func TestManyEdits(t *testing.T) {
	cases, refused := 0, 0
	rapid.Check(t, func(t *rapid.T) {
		d, root, data, _ := parsed(t)
		e := d.Edit()
		for _, p := range walk(d.Root, root) {
			switch rapid.IntRange(0, 5).Draw(t, "edit") {
			case 0:
				if p.tree.kind != Map && p.tree.kind != List && p.node.start >= 0 {
					text := rapid.SampledFrom(texts).Draw(t, "text")
					e.Set(p.node, text)
					p.tree.kind, p.tree.text = Scalar, text
				}
			case 1:
				if p.tree.kind == Map {
					e.Add(p.node, "new", "x")
					p.tree.keys = append(p.tree.keys, "new")
					p.tree.values = append(p.tree.values, &tree{kind: Scalar, text: "x"})
				}
			case 2:
				if p.tree.kind == Map && len(p.node.Entries) > 1 {
					e.Remove(p.node, p.tree.keys[0])
					p.tree.keys, p.tree.values = p.tree.keys[1:], p.tree.values[1:]
				}
			}
		}
		out, err := e.Apply()
		if err != nil {
			refused++
			return
		}
		cases++
		d2, err := Parse("r.yaml", out)
		if err != nil {
			t.Fatal(err)
		}
		if diff := differs(d2.Root, root); diff != "" {
			t.Fatalf("%s\n%s\n---\n%s", diff, data, out)
		}
	})
	if cases == 0 {
		t.Error("no edit went through")
	}
	t.Log(cases, "cases,", refused, "refused")
}

// TestEditExamples shows the layout that edits leave behind.
func TestEditExamples(t *testing.T) {
	const file = "box: B   # name\r\nparts:\r\n  C1: {kind: capacitor, value: 330 pF}   # seen\r\n  L1:\r\n    kind: inductor\r\n    value: \"? 22 uH\"  # guess\r\n\r\n  # the end\r\nabout: >\r\n  two\r\n  lines\r\nstart:"
	part := func(d *Document, name string) *Node { return d.Root.Get("parts").Get(name) }
	for name, c := range map[string]struct {
		edit     func(d *Document, e *Edits)
		old, now string // the piece of the file that changes
	}{
		"set":            {func(d *Document, e *Edits) { e.Set(part(d, "C1").Get("value"), "68 pF ± 5 %") }, "330 pF", "68 pF ± 5 %"},
		"set unknown":    {func(d *Document, e *Edits) { e.Set(part(d, "C1").Get("value"), "? 22 pF") }, "330 pF", `"? 22 pF"`},
		"set in bracket": {func(d *Document, e *Edits) { e.Set(part(d, "C1").Get("value"), "a, b") }, "330 pF", `"a, b"`},
		"set quoted":     {func(d *Document, e *Edits) { e.Set(part(d, "L1").Get("value"), "22 uH") }, `"? 22 uH"`, `"22 uH"`},
		"set block":      {func(d *Document, e *Edits) { e.Set(d.Root.Get("about"), "one") }, ">\r\n  two\r\n  lines", "one"},
		"set empty":      {func(d *Document, e *Edits) { e.Set(d.Root.Get("start"), "x: y") }, "start:", `start: "x: y"`},
		"add in bracket": {func(d *Document, e *Edits) { e.Add(part(d, "C1"), "Q", "300") }, "330 pF}", "330 pF, Q: 300}"},
		"add line":       {func(d *Document, e *Edits) { e.Add(part(d, "L1"), "Q", "180 at 2 MHz") }, "# guess\r\n", "# guess\r\n    Q: 180 at 2 MHz\r\n"},
		"add two":        {func(d *Document, e *Edits) { e.Add(d.Root, "a", "1"); e.Add(d.Root, "b", "2") }, "start:", "start:\r\na: 1\r\nb: 2"},
		"remove bracket": {func(d *Document, e *Edits) { e.Remove(part(d, "C1"), "value") }, ", value: 330 pF", ""},
		"remove first":   {func(d *Document, e *Edits) { e.Remove(part(d, "C1"), "kind") }, "kind: capacitor, ", ""},
		"remove both":    {func(d *Document, e *Edits) { e.Remove(part(d, "C1"), "kind"); e.Remove(part(d, "C1"), "value") }, "kind: capacitor, value: 330 pF", ""},
		"remove line":    {func(d *Document, e *Edits) { e.Remove(part(d, "L1"), "value") }, "    value: \"? 22 uH\"  # guess\r\n", ""},
		"remove part":    {func(d *Document, e *Edits) { e.Remove(d.Root.Get("parts"), "L1") }, "  L1:\r\n    kind: inductor\r\n    value: \"? 22 uH\"  # guess\r\n", ""},
		"exchange": {func(d *Document, e *Edits) {
			e.Remove(part(d, "C1"), "value")
			e.Add(part(d, "C1"), "range", "1 pF .. 2 pF")
		}, ", value: 330 pF", ", range: 1 pF .. 2 pF"},
	} {
		d, err := Parse("e.yaml", []byte(file))
		if err != nil {
			t.Fatal(err)
		}
		e := d.Edit()
		c.edit(d, e)
		out, err := e.Apply()
		if strings.Count(file, c.old) != 1 {
			t.Errorf("%s: %q does not stand once in the file", name, c.old)
		}
		if want := strings.Replace(file, c.old, c.now, 1); err != nil || string(out) != want {
			t.Errorf("%s: %v\n%q\n%q", name, err, out, want)
		}
	}
}

// TestEditRefusals: what cannot be written in place is refused, with its place.
func TestEditRefusals(t *testing.T) {
	const file = "a: {b: c}\nd:\n  e: f\ng:\n  - h: i\n    j: k\nl: |2\n   x\n"
	for _, c := range []struct {
		edit func(d *Document, e *Edits)
		want string
	}{
		{func(d *Document, e *Edits) { e.Set(d.Root.Get("a"), "x") }, "e.yaml:1:4: a map where a single value would be replaced; change it by hand in the file"},
		{func(d *Document, e *Edits) { e.Set(d.Root.Get("l"), "x") }, "e.yaml:7:4: this value cannot be replaced in place; change it by hand in the file"},
		{func(d *Document, e *Edits) { e.Add(d.Root.Get("g"), "x", "y") }, "e.yaml:5:3: a list where a key would be added; change it by hand in the file"},
		{func(d *Document, e *Edits) { e.Remove(d.Root, "zz") }, `e.yaml:1:1: no key "zz" to remove; change it by hand in the file`},
		{func(d *Document, e *Edits) { e.Remove(d.Root.Get("d"), "e") }, "e.yaml:3:3: this is the only entry; a map without brackets needs one; change it by hand in the file"},
		{func(d *Document, e *Edits) { e.Remove(d.Root.Get("g").Items[0], "h") }, "e.yaml:5:5: this entry shares its line and cannot be removed in place; change it by hand in the file"},
		{func(d *Document, e *Edits) { e.Set(d.Root.Get("a").Get("b"), "bell\a") }, "e.yaml:1:8: the text holds the control character U+0007; leave it out"},
		{func(d *Document, e *Edits) { e.Add(d.Root, "a", "twice") }, `e.yaml:1:1: there is a key "a" already; change it by hand in the file`},
		{func(d *Document, e *Edits) { e.Set(d.Root.Get("a").Get("b"), "\xff") }, "e.yaml:1:8: the text is not UTF-8; save the file with the encoding UTF-8"},
		{func(d *Document, e *Edits) { e.Set(d.Root.Get("a").Get("b"), strings.Repeat("x", 3000)) }, "e.yaml:1:2000: the line is 3008 characters long; break it; at most 2000 are read"},
	} {
		d, err := Parse("e.yaml", []byte(file))
		if err != nil {
			t.Fatal(err)
		}
		e := d.Edit()
		c.edit(d, e)
		if out, err := e.Apply(); out != nil || err == nil || err.Error() != c.want {
			t.Errorf("got  %v\nwant %s", err, c.want)
		}
	}
}

// TestApplyReadsBack: where a place in the file was wrong, the changed file is not given out.
func TestApplyReadsBack(t *testing.T) {
	d, err := Parse("e.yaml", []byte("a: bc\n"))
	if err != nil {
		t.Fatal(err)
	}
	n := d.Root.Get("a")
	n.end--
	e := d.Edit()
	e.Set(n, "x")
	if out, err := e.Apply(); out != nil || err == nil || err.Error() != "e.yaml: the changed file would not read back as it should; change it by hand" {
		t.Errorf("%q, %v", out, err)
	}
}

// TestSetAnyText: any text at all reads back exactly as it was set, or is refused.
func TestSetAnyText(t *testing.T) {
	refused := 0
	rapid.Check(t, func(t *rapid.T) {
		for _, file := range []string{"a: {b: c, d: e} # f\ng: h\n", "a:\n  b: \"c\"\n  d: e\ng: h\n", "a:\n  b: 'c'\n  d: e\ng: h\n", "a:\n  - x\n  -\n    b: c # d\n    d: e\ng: h\n"} {
			d, err := Parse("e.yaml", []byte(file))
			if err != nil {
				t.Fatal(err)
			}
			m := d.Root.Get("a")
			if m.Kind == List {
				m = m.Items[1]
			}
			text := rapid.String().Draw(t, "text")
			e := d.Edit()
			e.Set(m.Get("b"), text)
			out, err := e.Apply()
			if err != nil {
				if !strings.ContainsFunc(text, unicode.IsControl) {
					t.Fatalf("%q: %v", text, err)
				}
				refused++
				continue
			}
			again, err := Parse("e.yaml", out)
			if err != nil {
				t.Fatal(err)
			}
			m = again.Root.Get("a")
			if m.Kind == List {
				m = m.Items[1]
			}
			if m.Get("b").Text != text || m.Get("d").Text != "e" || again.Root.Get("g").Text != "h" {
				t.Fatalf("%q became %q", text, out)
			}
		}
	})
	t.Log(refused, "refused")
}

// TestWritten: quotes stand where YAML 1.2.2 wants them (sections 7.3.1 to 7.3.3), also where our own parser is lenient.
func TestWritten(t *testing.T) {
	for _, c := range []struct {
		text, before string
		flow         bool
		want         string
	}{
		{"330 pF", "", false, "330 pF"},
		{"a, b", "", false, "a, b"},
		{"a, b", "", true, `"a, b"`},
		{"a:b", "", false, "a:b"},
		{"a: b", "", false, `"a: b"`},
		{"a:", "", false, `"a:"`},
		{"a #b", "", false, `"a #b"`},
		{"a#b", "", false, "a#b"},
		{"? 22 uH", "", false, `"? 22 uH"`},
		{"-73 dBm", "", false, "-73 dBm"},
		{"- a", "", false, `"- a"`},
		{"", "", false, `""`},
		{" a", "", false, `" a"`},
		{"it's", "'x'", false, "'it''s'"},
		{"a\nb", "'x'", false, `"a\nb"`},
		{`a"b\c`, `"x"`, false, `"a\"b\\c"`},
		{"a", `"x"`, true, `"a"`},
		{"a", "x", true, "a"},
		{"a", "|\n x", false, "a"},
	} {
		if got := written(c.text, []byte(c.before), c.flow); got != c.want {
			t.Errorf("%q behind %q: %s, want %s", c.text, c.before, got, c.want)
		}
	}
}
