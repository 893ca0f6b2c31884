package document

import (
	"bytes"
	"strings"
)

// Field is a key with its text, or with a map of its own; what Append writes.
type Field struct {
	Key, Text string
	Map       []Field // where it has any, Text does not count
}

// Append adds a map behind the last item of a list, in the way in which the list is written: in brackets or on lines of
// its own.
func (e *Edits) Append(list *Node, item []Field) {
	switch {
	case list.Kind != List || len(list.Items) == 0:
		e.refuse(list, list.Describe()+" where an item would be added to a list")
	case len(item) == 0:
		e.refuse(list, "nothing to add to this list")
	default:
		e.appended[list] = append(e.appended[list], item)
	}
}

// growth writes the new items of a list.
func (e *Edits) growth(list *Node) splice {
	source := e.doc.Source
	last := list.Items[len(list.Items)-1]
	start := bytes.LastIndexByte(source[:max(last.start, 0)], '\n') + 1
	switch {
	case last.start < 0 || last.end < 0 || list.flow && !list.brackets:
		e.refuse(list, "nothing can be added to this list in place")
		return splice{}
	case list.brackets:
		var text strings.Builder
		for _, item := range e.appended[list] {
			text.WriteString(", " + inBrackets(item))
		}
		return splice{last.end, last.end, text.String()}
	}
	indent, rest, ok := strings.Cut(string(source[start:last.start]), "-")
	if !ok || strings.Trim(indent+rest, " ") != "" {
		e.refuse(list, "nothing can be added to this list in place")
		return splice{}
	}
	ending := e.doc.ending()
	var text strings.Builder
	for _, item := range e.appended[list] {
		for i, f := range item {
			lead := ending + indent + "  "
			if i == 0 {
				lead = ending + indent + "- "
			}
			text.WriteString(lead + f.written(false))
		}
	}
	at := len(bytes.TrimSuffix(source[:e.doc.lineEnd(last.end)], []byte("\r")))
	return splice{at, at, text.String()}
}

// Lines writes a list of one map, as Append would behind others, to begin a new file with.
func Lines(item []Field) string {
	var b strings.Builder
	lead := "  - "
	for _, f := range item {
		b.WriteString(lead + f.written(false) + "\n")
		lead = "    "
	}
	return b.String()
}

// Line writes one field as a line of a file.
func Line(f Field) string { return f.written(false) }

func (f Field) written(flow bool) string {
	key := written(f.Key, nil, flow) + ": "
	if len(f.Map) > 0 {
		return key + inBrackets(f.Map)
	}
	return key + written(f.Text, nil, flow)
}

func inBrackets(fields []Field) string {
	var all []string
	for _, f := range fields {
		all = append(all, f.written(true))
	}
	return "{" + strings.Join(all, ", ") + "}"
}

// grown reports whether a node is a map of just these fields.
func grown(n *Node, fields []Field) bool {
	if n.Kind != Map || len(n.Entries) != len(fields) {
		return false
	}
	for i, f := range fields {
		e := n.Entries[i]
		if e.Key.Text != f.Key {
			return false
		}
		if len(f.Map) > 0 {
			if !grown(e.Value, f.Map) {
				return false
			}
		} else if e.Value.Kind != Scalar || e.Value.Text != f.Text {
			return false
		}
	}
	return true
}
