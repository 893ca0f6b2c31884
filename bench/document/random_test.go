package document

import (
	"fmt"
	"strings"

	"pgregory.net/rapid"
)

// tree is what a random document means.
type tree struct {
	kind    Kind
	text    string
	keys    []string
	values  []*tree // of a map, along keys; of a list
	at, end int     // of a scalar's raw text in the file
}

// writer renders a tree as YAML with random layout, comments and quotes.
type writer struct {
	t        *rapid.T
	b        strings.Builder
	ending   string
	comments []string // every comment written
	n        int
	inline   bool // the next entry goes on the line already begun
}

func (w *writer) line() { w.b.WriteString(w.ending) }

func (w *writer) odds(label string, one, in int) bool {
	return rapid.IntRange(1, in).Draw(w.t, label) <= one
}

func (w *writer) comment() string {
	w.n++
	c := fmt.Sprintf("# note %d, é: {x} 'q\"", w.n)
	w.comments = append(w.comments, c)
	return c
}

// between writes comment lines and blank lines, now and then.
func (w *writer) between(indent int) {
	if w.odds("comment line", 1, 6) {
		w.b.WriteString(strings.Repeat(" ", indent) + w.comment())
		w.line()
	}
	if w.odds("blank line", 1, 8) {
		w.line()
	}
}

var (
	plainTexts = []string{"a", "14 pF", "no", "017", "1e3", ".inf", "null", "~", "Ω ü", "330 pF ± 5 %", "14 pF .. 390 pF", "-73 dBm", "tern-point.s1p", "true", "0x1F", "a-b", "<x>", "=", "x\"y", "it's"}
	hardTexts  = []string{"? 22 uH", "a: b", "x # y", "# z", "[1, 2]", "{a}", "", " lead", "trail ", "é \"quoted\" 'both'", `back\slash`, "two\nlines", "tab\there", "- dash", "---", "&a", "*a", "!t", "%d", "@", "`", "a:", "|", ">", "-", "?", ",", "<<"}
	texts      = append(append([]string{}, plainTexts...), hardTexts...)
)

// scalar writes a scalar in a random style that can carry it.
func (w *writer) scalar(text string, flow bool) (at, end int) {
	styles := []string{doubleQuoted(text)}
	if !strings.ContainsAny(text, "\n\t") {
		styles = append(styles, "'"+strings.ReplaceAll(text, "'", "''")+"'")
	}
	if plainByHand(text) && !(flow && strings.ContainsAny(text, ",[]{}:")) {
		styles = append(styles, text, text, text)
	}
	at = w.b.Len()
	w.b.WriteString(rapid.SampledFrom(styles).Draw(w.t, "style"))
	return at, w.b.Len()
}

// plainByHand is the list of texts that were chosen to need no quotes.
func plainByHand(text string) bool {
	for _, p := range plainTexts {
		if p == text && p != "=" && p != "<x>" {
			return true
		}
	}
	return len(text) > 1 && text[0] == 'k'
}

func (w *writer) random(depth int) *tree {
	kind := rapid.IntRange(0, 5).Draw(w.t, "kind")
	switch {
	case depth > 0 && kind == 4:
		n := &tree{kind: List}
		for range rapid.IntRange(1, 3).Draw(w.t, "items") {
			n.values = append(n.values, w.random(depth-1))
		}
		return n
	case depth > 0 && kind == 5:
		return w.randomMap(depth)
	}
	return &tree{kind: Scalar, text: rapid.SampledFrom(texts).Draw(w.t, "text")}
}

func (w *writer) randomMap(depth int) *tree {
	n := &tree{kind: Map}
	for i := range rapid.IntRange(1, 4).Draw(w.t, "entries") {
		n.keys = append(n.keys, fmt.Sprintf("%s%d", rapid.SampledFrom([]string{"k", "ké ", "k:", "k-"}).Draw(w.t, "key"), i))
		v := w.random(depth - 1)
		if w.odds("empty", 1, 12) {
			v = &tree{kind: Empty}
		}
		n.values = append(n.values, v)
	}
	return n
}

func (w *writer) inFlow(n *tree) {
	switch n.kind {
	case Scalar:
		n.at, n.end = w.scalar(n.text, true)
	case List, Map:
		open, shut := "[", "]"
		if n.kind == Map {
			open, shut = "{", "}"
		}
		w.b.WriteString(open)
		for i, v := range n.values {
			if i > 0 {
				w.b.WriteString(rapid.SampledFrom([]string{", ", ",", " , ", "," + w.ending + strings.Repeat(" ", 40)}).Draw(w.t, "comma"))
			}
			if n.kind == Map {
				w.scalar(n.keys[i], true)
				w.b.WriteString(":")
				if v.kind != Empty {
					w.b.WriteString(" ")
				}
			}
			w.inFlow(v)
		}
		if len(n.values) > 0 && w.odds("trailing comma", 1, 10) {
			w.b.WriteString(", ")
		}
		w.b.WriteString(shut)
	}
}

// inBlock writes a map or list in lines at an indentation, beginning on a fresh line.
func (w *writer) inBlock(n *tree, indent int) {
	for i, v := range n.values {
		if w.inline {
			w.inline = false
		} else {
			w.between(indent)
			w.b.WriteString(strings.Repeat(" ", indent))
		}
		if n.kind == Map {
			w.scalar(n.keys[i], false)
			w.b.WriteString(":")
		} else {
			w.b.WriteString("-")
		}
		collection := v.kind == Map || v.kind == List
		switch {
		case v.kind == Empty:
		case collection && n.kind == List && w.odds("compact", 1, 3):
			w.b.WriteString(" ")
			w.inline = true
			w.inBlock(v, indent+2)
			continue
		case collection && w.odds("block", 1, 2):
			if w.odds("tail", 1, 4) {
				w.b.WriteString(" " + w.comment())
			}
			w.line()
			w.inBlock(v, indent+rapid.IntRange(1, 4).Draw(w.t, "deeper"))
			continue
		case collection:
			w.b.WriteString(" ")
			w.inFlow(v)
		case n.kind == Map && strings.HasPrefix(v.text, "two\n") && w.odds("block text", 1, 2):
			w.b.WriteString(" |")
			for l := range strings.SplitSeq(v.text, "\n") {
				w.line()
				w.b.WriteString(strings.Repeat(" ", indent+3) + l)
			}
			v.at, v.end = -1, -1
			w.line()
			continue
		default:
			w.b.WriteString(strings.Repeat(" ", rapid.IntRange(1, 3).Draw(w.t, "gap")))
			v.at, v.end = w.scalar(v.text, false)
		}
		if w.odds("tail", 1, 4) {
			w.b.WriteString(" " + w.comment())
		}
		w.line()
	}
}

// randomFile is a random document with its meaning and its comments.
func randomFile(t *rapid.T) (*tree, []byte, []string) {
	w := &writer{t: t, ending: rapid.SampledFrom([]string{"\n", "\r\n"}).Draw(t, "line ends")}
	root := w.randomMap(3)
	w.inBlock(root, rapid.SampledFrom([]int{0, 0, 2}).Draw(t, "margin"))
	w.between(0)
	text := w.b.String()
	if w.odds("no final line end", 1, 3) {
		text = strings.TrimSuffix(text, w.ending)
	}
	return root, []byte(text), w.comments
}

// differs says where a parsed node differs from a tree; empty where it does not.
func differs(n *Node, want *tree) string {
	if n.Kind != want.kind || (n.Kind == Scalar && n.Text != want.text) {
		return fmt.Sprintf("line %d: %s, not %v %q", n.line, n.Describe(), want.kind, want.text)
	}
	children := n.Items
	for _, e := range n.Entries {
		children = append(children, e.Value)
	}
	if len(children) != len(want.values) {
		return fmt.Sprintf("line %d: %d children, not %d", n.line, len(children), len(want.values))
	}
	for i, c := range children {
		if n.Kind == Map && n.Entries[i].Key.Text != want.keys[i] {
			return fmt.Sprintf("line %d: key %q, not %q", n.line, n.Entries[i].Key.Text, want.keys[i])
		}
		if d := differs(c, want.values[i]); d != "" {
			return d
		}
	}
	return ""
}
