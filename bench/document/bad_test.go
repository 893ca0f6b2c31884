package document

import (
	"errors"
	"strings"
	"testing"

	"knobwise/bench/fault"
)

// TestBadText: every text that is not read, with its place and what to write instead.
func TestBadText(t *testing.T) {
	cases := []struct{ name, text, want string }{
		{"empty", "", "x.yaml: the file is empty; start it with a line such as `box: My coupler`"},
		{"only a mark", "\xef\xbb\xbf", "x.yaml: the file is empty; start it with a line such as `box: My coupler`"},
		{"only a comment", "# nothing\n\n", "x.yaml: the file is empty; start it with a line such as `box: My coupler`"},
		{"second document", "a: b\n---\nc: d\n", "x.yaml:3:1: a second document begins here; keep one document in a file"},
		{"anchor", "a: &x b\n", "x.yaml:1:4: YAML anchors and aliases (&) are not read; write the value out, or quote the text"},
		{"alias", "a: *x\n", "x.yaml:1:4: YAML anchors and aliases (*) are not read; write the value out, or quote the text"},
		{"merge key", "a: {<<: {b: c}}\n", "x.yaml:1:5: YAML anchors and aliases (<<) are not read; write the value out, or quote the text"},
		{"tag", "a: !!str b\n", "x.yaml:1:4: YAML tags (!!str) are not read; leave the tag out, or quote the text"},
		{"directive", "%YAML 1.2\n---\na: b\n", "x.yaml:1:1: YAML directives are not read; delete the line"},
		{"question key", "? a\n: b\n", "x.yaml:1:1: a lone `?` starts a YAML key; write an unknown value in quotes: \"? 22 uH\""},
		{"unquoted unknown", "a: ? 22 uH\n", "x.yaml:1:4: a lone `?` starts a YAML key; write an unknown value in quotes: \"? 22 uH\""},
		{"unquoted unknown in brackets", "L1: {kind: inductor, value: ? 22 uH}\n", "x.yaml:1:29: a lone `?` starts a YAML key; write an unknown value in quotes: \"? 22 uH\""},
		{"duplicate key", "a: b\nc: d\na: e\n", "x.yaml:3:1: \"a\" stands here a second time; it is already in line 1; delete one of the two, or give it another name"},
		{"duplicate key in brackets", "x: {a: b, \"a\": c}\n", "x.yaml:1:11: \"a\" stands here a second time; it is already in line 1; delete one of the two, or give it another name"},
		{"key is a list", "[a]: b\n", "x.yaml:1:4: found an invalid key for this map; check the indentation, the brackets and the colons here and in the line above"},
		{"NUL", "a: b\x00c\n", "x.yaml:1:5: control character U+0000; delete it; is this a text file?"},
		{"escape character", "a: \x1b[31m\n", "x.yaml:1:4: control character U+001B; delete it; is this a text file?"},
		{"delete", "é: b\x7f\n", "x.yaml:1:5: control character U+007F; delete it; is this a text file?"},
		{"C1", "a: \u009b\n", "x.yaml:1:4: control character U+009B; delete it; is this a text file?"},
		{"lone CR", "a: b\rc: d\n", "x.yaml:1:5: control character U+000D; delete it; is this a text file?"},
		{"escaped control", "a: b\nc: \"x\\e[31m\"\n", "x.yaml:2:4: the text holds the control character U+001B; leave it out"},
		{"Latin-1", "a: b\nc: 5 \xb5H\n", "x.yaml:2:6: the text is not UTF-8; save the file with the encoding UTF-8"},
		{"UTF-16", "\xff\xfea\x00:\x00", "x.yaml:1:1: the text is not UTF-8; save the file with the encoding UTF-8"},
		{"tab indents", "a:\n\tb: c\n", "x.yaml:2:1: a tab where YAML wants spaces; indent with spaces"},
		{"tab indents behind CRLF", "a: # c\r\n\tb: c\r\n", "x.yaml:2:1: a tab where YAML wants spaces; indent with spaces"},
		{"open bracket", "a: {b: c\nd: e\n", "x.yaml:2:1: ',' or '}' must be specified; check the indentation, the brackets and the colons here and in the line above"},
		{"open quote", "a: \"b\nc: d\n", "x.yaml:1:4: could not find end character of double-quoted text; check the indentation, the brackets and the colons here and in the line above"},
		{"colon in value", "a: b: c\n", "x.yaml:1:4: mapping value is not allowed in this context; check the indentation, the brackets and the colons here and in the line above"},
		{"place behind CRLF comments", "# one\r\na: b # two\r\nc:\r\n  - [&x]\r\n", "x.yaml:4:6: YAML anchors and aliases (&) are not read; write the value out, or quote the text"},
		{"long line", "a: b\nc: " + strings.Repeat("é", 2000) + "\n", "x.yaml:2:2000: the line is 2003 characters long; break it; at most 2000 are read"},
		{"brackets", "a: " + strings.Repeat("[", 40) + strings.Repeat("]", 40), "x.yaml:1:36: brackets are nested more than 32 deep; is this the right file?"},
		{"10 MB of brackets", strings.Repeat("[", 10<<20), "x.yaml: the file has 10485760 bytes, more than a box or setup written by hand; keep it under 256 kB"},
		{"brackets over lines", strings.Repeat(strings.Repeat("[", 1000)+"\n", 250), "x.yaml:1:33: brackets are nested more than 32 deep; is this the right file?"},
		{"stairs", stairs(700, "a:"), "x.yaml:33:33: the file is nested more than 32 deep; is this the right file?"},
		{"dashes", strings.Repeat("- ", 900) + "a", "x.yaml:1:67: the file is nested more than 32 deep; is this the right file?"},
		{"lines of dashes", strings.Repeat(strings.Repeat("- ", 990)+"a\n", 120), "x.yaml:21:361: the file has more than 20000 words and signs; keep one box or setup in a file"},
		{"many keys", strings.Repeat("a: b\n", 50000), "x.yaml:6667:4: the file has more than 20000 words and signs; keep one box or setup in a file"},
	}
	for _, c := range cases {
		_, err := Parse("x.yaml", []byte(c.text))
		f, ok := errors.AsType[*fault.Error](err)
		switch {
		case !ok:
			t.Errorf("%s: got %v, not a fault", c.name, err)
		case err.Error() != c.want:
			t.Errorf("%s:\ngot  %s\nwant %s", c.name, err, c.want)
		case f.Kind != fault.File:
			t.Errorf("%s: kind %d", c.name, f.Kind)
		case f.Place.Line > 0 && !strings.Contains(f.Excerpt(), "^"):
			t.Errorf("%s: no caret", c.name)
		}
	}
	if len(cases) < 30 {
		t.Errorf("only %d cases", len(cases))
	}
}

// stairs is a text indented one column deeper from line to line.
func stairs(n int, text string) string {
	var b strings.Builder
	for i := range n {
		b.WriteString(strings.Repeat(" ", i) + text + "\n")
	}
	return b.String()
}

// TestTextStaysText: what YAML may take for numbers, truth values or nothing is text, as value and as key.
func TestTextStaysText(t *testing.T) {
	words := []string{"no", "yes", "on", "off", "true", "017", "0o17", "0x1F", "1e3", "1E3", ".inf", "-.INF", ".nan", "null", "~", "Null", "1_000", "2026-01-01", "+5", "-0", "1.", ".5", "=", "-73 dBm"}
	for _, w := range words {
		for _, text := range []string{w + ": " + w + "\n", "\xef\xbb\xbf" + w + ": " + w + "\r\n", "{" + w + ": " + w + "}", "{\"" + w + "\": '" + w + "'}"} {
			d, err := Parse("x.yaml", []byte(text))
			if err != nil {
				t.Errorf("%q: %v", text, err)
				continue
			}
			e := d.Root.Entries[0]
			if e.Key.Text != w || e.Value.Text != w || e.Value.Kind != Scalar {
				t.Errorf("%q: read as %q: %q", text, e.Key.Text, e.Value.Text)
			}
		}
	}
	d, err := Parse("x.yaml", []byte("a:\nnull: b\nc: null\n"))
	if err != nil || d.Root.Get("a").Kind != Empty || d.Root.Get("null").Text != "b" || d.Root.Get("c").Text != "null" {
		t.Errorf("nothing and null are mixed up: %v", err)
	}
}

// TestPlaceIn: a part of a scalar is pointed at exactly, inside quotes and behind wide characters too.
func TestPlaceIn(t *testing.T) {
	for _, c := range []struct {
		text           string
		offset, length int
		column, width  int
	}{
		{"é: 330 zF", 4, 2, 8, 2},
		{"é: \"330 zF\"", 4, 2, 9, 2},
		{"é: '5 µZ'", 2, 3, 7, 2},          // µ has two bytes
		{"a: \"\\u0033 zF\"", 2, 2, 4, 11}, // an escape: the whole scalar
		{"a: 330", 3, 0, 7, 1},
		{"a: 330", 2, 9, 4, 3}, // out of the text: the whole scalar
	} {
		d, err := Parse("x.yaml", []byte(c.text+"\n"))
		if err != nil {
			t.Fatal(err)
		}
		p := d.Root.Entries[0].Value.PlaceIn(c.offset, c.length)
		if p.Column != c.column || p.Length != c.width {
			t.Errorf("%s: column %d, width %d; want %d, %d", c.text, p.Column, p.Length, c.column, c.width)
		}
	}
}
