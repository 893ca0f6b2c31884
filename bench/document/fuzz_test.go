package document

import (
	"bytes"
	"errors"
	"os"
	"path/filepath"
	"testing"
	"unicode/utf8"

	"knobwise/bench/fault"
)

// FuzzDocument: no text makes Parse panic; what it accepts comes back byte for byte from Edit, and every scalar that can
// be replaced reads back when it is.
func FuzzDocument(f *testing.F) {
	files, err := filepath.Glob("../demo/bench/*.yaml")
	if err != nil || len(files) == 0 {
		f.Fatal("no seeds: ", err)
	}
	for _, name := range files {
		data, err := os.ReadFile(name)
		if err != nil {
			f.Fatal(err)
		}
		f.Add(data)
	}
	f.Add([]byte("\xef\xbb\xbfa: {b: \"? 22 uH\", c: [1,\r\n 2]} # d\r\ne: >\r\n  f\r\n\r\n  g\r\nh:\r\n"))
	f.Add([]byte("- - a\n  - b: 'c''d'\n    e: |2\n      x\n"))
	f.Fuzz(func(t *testing.T, data []byte) {
		d, err := Parse("f.yaml", data)
		if err != nil {
			f, ok := errors.AsType[*fault.Error](err)
			if !ok {
				t.Fatalf("not a fault: %v", err)
			}
			_ = f.Excerpt()
			return
		}
		again, err := d.Edit().Apply()
		if err != nil || !bytes.Equal(again, data) {
			t.Fatalf("no edit changed the file: %v\n%q\n%q", err, data, again)
		}
		e := d.Edit()
		visit(d.Root, func(n *Node) {
			if !utf8.ValidString(n.Text) {
				t.Fatalf("%q is not UTF-8", n.Text)
			}
			_ = n.Fault("x", "y").Excerpt()
			if n.Kind == Scalar && n.start >= 0 {
				e.Set(n, n.Text) // a plain multi-line text becomes one line, and so on
			}
		})
		if out, err := e.Apply(); err == nil {
			if _, err := Parse("f.yaml", out); err != nil {
				t.Fatalf("what Apply wrote is not read: %v\n%q", err, out)
			}
		}
	})
}

func visit(n *Node, f func(*Node)) {
	f(n)
	for _, c := range n.Items {
		visit(c, f)
	}
	for _, e := range n.Entries {
		visit(e.Key, f)
		visit(e.Value, f)
	}
}
