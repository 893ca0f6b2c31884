package document

import (
	"bytes"
	"strings"
	"testing"

	"pgregory.net/rapid"
)

// An item is added as the list is written; every other byte stays.
func TestAppendExamples(t *testing.T) {
	item := []Field{{Key: "file", Text: "m 2.csv"}, {Key: "note", Text: "a: b"}, {Key: "at", Map: []Field{{Key: "Front", Text: "? 5"}, {Key: "a, b", Text: "x"}}}}
	for name, c := range map[string]struct{ source, want string }{
		"lines":                       {"all:\n  - file: m1.csv   # the first\n    note: x\n", "all:\n  - file: m1.csv   # the first\n    note: x\n  - file: m 2.csv\n    note: \"a: b\"\n    at: {Front: \"? 5\", \"a, b\": x}\n"},
		"no end of line, more behind": {"all:\n- {file: m1.csv}\nrest: 1", "all:\n- {file: m1.csv}\n- file: m 2.csv\n  note: \"a: b\"\n  at: {Front: \"? 5\", \"a, b\": x}\nrest: 1"},
		"brackets":                    {"all: [{file: m1.csv}]  # c\n", "all: [{file: m1.csv}, {file: m 2.csv, note: \"a: b\", at: {Front: \"? 5\", \"a, b\": x}}]  # c\n"},
		"other line ends":             {"all:\r\n  - file: m1.csv\r\n", "all:\r\n  - file: m1.csv\r\n  - file: m 2.csv\r\n    note: \"a: b\"\r\n    at: {Front: \"? 5\", \"a, b\": x}\r\n"},
	} {
		d, err := Parse("x.yaml", []byte(c.source))
		if err != nil {
			t.Fatal(err)
		}
		e := d.Edit()
		e.Append(d.Root.Get("all"), item)
		got, err := e.Apply()
		if err != nil || string(got) != c.want {
			t.Errorf("%s: %v\n%s\nwant\n%s", name, err, got, c.want)
		}
	}
	fresh, err := Parse("x.yaml", []byte("all:\n"+Lines(item)))
	if err != nil || !grown(fresh.Root.Get("all").Items[0], item) {
		t.Error(err, "a new file does not read back")
	}
}

func TestAppendRefusals(t *testing.T) {
	d, err := Parse("x.yaml", []byte("map: {a: b}\nlist: [{a: b}]\nempty: []\nnested:\n  - - {a: b}\n"))
	if err != nil {
		t.Fatal(err)
	}
	item := []Field{{Key: "a", Text: "b"}}
	for name, add := range map[string]func(*Edits){
		"to a map":          func(e *Edits) { e.Append(d.Root.Get("map"), item) },
		"to an empty list":  func(e *Edits) { e.Append(d.Root.Get("empty"), item) },
		"nothing":           func(e *Edits) { e.Append(d.Root.Get("list"), nil) },
		"shares its line":   func(e *Edits) { e.Append(d.Root.Get("nested").Items[0], item) },
		"one key two times": func(e *Edits) { e.Append(d.Root.Get("list"), append(item, item...)) },
	} {
		e := d.Edit()
		add(e)
		if out, err := e.Apply(); err == nil {
			t.Errorf("%s: written\n%s", name, out)
		}
	}
}

// TestAppendKeepsEveryByte: in any file, what is appended stands in one piece between the old bytes, and reads back.
func TestAppendKeepsEveryByte(t *testing.T) {
	cases := 0
	rapid.Check(t, func(t *rapid.T) {
		d, root, data, _ := parsed(t)
		for _, p := range walk(d.Root, root) {
			if p.node.Kind != List || len(p.node.Items) == 0 {
				continue
			}
			item := []Field{{Key: "k", Text: rapid.SampledFrom(texts).Draw(t, "text")}, {Key: "m", Map: []Field{{Key: "deep", Text: rapid.SampledFrom(texts).Draw(t, "deep")}}}}
			e := d.Edit()
			e.Append(p.node, item)
			out, err := e.Apply()
			if err != nil {
				continue // refused: nothing was written
			}
			cases++
			if common(data, out) < len(data) {
				t.Fatalf("bytes were lost\n%s\n%s", data, out)
			}
			again, err := Parse("r.yaml", out)
			if err != nil || !strings.Contains(string(out), "deep") || bytes.Equal(out, data) || again == nil {
				t.Fatalf("%v\n%s", err, out)
			}
		}
	})
	if cases == 0 {
		t.Error("no list was appended to")
	}
	t.Log(cases, "lists")
}
