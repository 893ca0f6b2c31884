package document

import (
	"bytes"
	"cmp"
	"fmt"
	"slices"
	"strings"

	"knobwise/bench/fault"
)

// Edits gathers changes to a document. The document itself stays as it is; Apply gives the bytes of the changed file.
type Edits struct {
	doc      *Document
	set      map[*Node]string
	added    map[*Node][]entryText
	appended map[*Node][][]Field
	removed  map[*Node][]string
	remarks  map[int][]string // by the offset at which they go
	err      error            // the first change that cannot be made
}

type entryText struct{ key, text string }

// splice replaces source bytes from start to end.
type splice struct {
	start, end int
	text       string
}

// Edit begins changes to a document.
func (d *Document) Edit() *Edits {
	return &Edits{doc: d, set: map[*Node]string{}, added: map[*Node][]entryText{}, appended: map[*Node][][]Field{}, removed: map[*Node][]string{}, remarks: map[int][]string{}}
}

// Set replaces the text of a scalar, or gives a key that has none its value. A scalar in quotes keeps its quotes; another
// gets them only where YAML needs them.
func (e *Edits) Set(n *Node, text string) {
	switch {
	case n.Kind == Map || n.Kind == List:
		e.refuse(n, n.Describe()+" where a single value would be replaced")
	case n.start < 0:
		e.refuse(n, "this value cannot be replaced in place")
	default:
		e.set[n] = text
	}
}

// Add appends a key with a plain value to a map: in brackets behind the last entry, else on a line of its own below it.
func (e *Edits) Add(m *Node, key, text string) {
	if m.Kind != Map {
		e.refuse(m, m.Describe()+" where a key would be added")
		return
	}
	e.added[m] = append(e.added[m], entryText{key, text})
}

// Remove deletes a key of a map with its value and what stands behind it on its last line; comment lines between entries
// stay. A map that is not in brackets keeps at least one key.
func (e *Edits) Remove(m *Node, key string) {
	if m.Get(key) == nil {
		e.refuse(m, fmt.Sprintf("no key %q to remove", key))
		return
	}
	e.removed[m] = append(e.removed[m], key)
}

func (e *Edits) refuse(n *Node, what string) {
	if e.err == nil {
		e.err = n.Fault(what, "change it by hand in the file")
	}
}

// Apply returns the whole changed file, byte order mark included. It reads the result back: where that does not give
// exactly the intended document it returns a *fault.Error and no bytes.
func (e *Edits) Apply() ([]byte, error) {
	if e.err != nil {
		return nil, e.err
	}
	splices := e.remarked(e.splices(e.doc.Root, nil))
	if e.err != nil {
		return nil, e.err
	}
	slices.SortStableFunc(splices, func(x, y splice) int { return cmp.Or(x.start-y.start, x.end-y.end) })
	source := e.doc.Source
	out := slices.Clone(e.doc.mark)
	at := 0
	for _, s := range splices {
		if s.start < at {
			return nil, fault.At(fault.Place{File: e.doc.Name}, "two changes meet in one place", "make them one after the other")
		}
		out = append(append(out, source[at:s.start]...), s.text...)
		at = s.end
	}
	out = append(out, source[at:]...)
	again, err := Parse(e.doc.Name, out)
	if err == nil && !e.intended(e.doc.Root, again.Root) {
		err = fault.At(fault.Place{File: e.doc.Name}, "the changed file would not read back as it should", "change it by hand")
	}
	if err != nil {
		return nil, err
	}
	return out, nil
}

// splices appends the changes at and below a node.
func (e *Edits) splices(n *Node, all []splice) []splice {
	if text, ok := e.set[n]; ok {
		raw := written(text, e.doc.Source[n.start:n.end], n.flow)
		if n.Kind == Empty {
			raw = " " + raw
		}
		return append(all, splice{n.start, n.end, raw})
	}
	for _, item := range n.Items {
		all = e.splices(item, all)
	}
	if len(e.appended[n]) > 0 {
		all = append(all, e.growth(n))
	}
	last := -1 // the last entry that stays
	for i, entry := range n.Entries {
		if !slices.Contains(e.removed[n], entry.Key.Text) {
			last = i
			all = e.splices(entry.Value, all)
		}
	}
	for i, entry := range n.Entries {
		if slices.Contains(e.removed[n], entry.Key.Text) {
			all = append(all, e.removal(n, entry, i < last, last < 0))
		}
	}
	if len(e.added[n]) > 0 {
		all = append(all, e.addition(n, last))
	}
	return all
}

// removal deletes one entry. before says that an entry behind it stays, alone that none of the map's does.
func (e *Edits) removal(m *Node, entry Entry, before, alone bool) splice {
	source := e.doc.Source
	start, end := entry.Key.start, entry.Value.end
	lineStart := bytes.LastIndexByte(source[:max(start, 0)], '\n') + 1
	lineEnd := e.doc.lineEnd(max(end, 0))
	switch {
	case start < 0 || end < 0:
		e.refuse(entry.Key, "this entry cannot be removed in place")
	case m.brackets && before: // with the comma behind it
		for end < len(source) && source[end] == ' ' {
			end++
		}
		if end < len(source) && source[end] == ',' {
			end++
		}
		for end < len(source) && source[end] == ' ' {
			end++
		}
	case m.brackets: // with the comma before it
		for start > 0 && strings.IndexByte(space, source[start-1]) >= 0 {
			start--
		}
		if start > 0 && source[start-1] == ',' {
			start--
		} else {
			start = entry.Key.start
		}
	case m.flow || len(bytes.Trim(source[lineStart:start], " ")) > 0:
		e.refuse(entry.Key, "this entry shares its line and cannot be removed in place")
	case alone:
		e.refuse(entry.Key, "this is the only entry; a map without brackets needs one")
	default:
		if rest := bytes.TrimLeft(source[end:lineEnd], space); len(rest) > 0 && rest[0] != '#' {
			e.refuse(entry.Key, "this entry shares its line and cannot be removed in place")
		}
		start, end = lineStart, min(len(source), lineEnd+1)
	}
	return splice{start: start, end: end}
}

// ending is how the file's lines end.
func (d *Document) ending() string {
	if bytes.Contains(d.Source, []byte("\r\n")) {
		return "\r\n"
	}
	return "\n"
}

// lineEnd is the offset of the line feed that ends the line at an offset, or the end of the source.
func (d *Document) lineEnd(at int) int {
	if i := bytes.IndexByte(d.Source[at:], '\n'); i >= 0 {
		return at + i
	}
	return len(d.Source)
}

// addition writes the new entries of a map behind its entry number last.
func (e *Edits) addition(m *Node, last int) splice {
	source := e.doc.Source
	flow := m.flow || m.brackets
	var texts []string
	for _, a := range e.added[m] {
		if m.Get(a.key) != nil && !slices.Contains(e.removed[m], a.key) {
			e.refuse(m, fmt.Sprintf("there is a key %q already", a.key))
		}
		texts = append(texts, written(a.key, nil, flow)+": "+written(a.text, nil, flow))
	}
	at := m.start + 1
	if last >= 0 {
		at = m.Entries[last].Value.end
	}
	switch {
	case m.start < 0 || at < 0 || (m.flow && !m.brackets):
		e.refuse(m, "nothing can be added to this map in place")
		return splice{}
	case m.brackets:
		text := strings.Join(texts, ", ")
		if last >= 0 {
			text = ", " + text
		}
		return splice{at, at, text}
	}
	at = len(bytes.TrimSuffix(source[:e.doc.lineEnd(at)], []byte("\r")))
	indent := e.doc.ending() + strings.Repeat(" ", m.column-1)
	return splice{at, at, indent + strings.Join(texts, indent)}
}

// intended reports whether a node of the changed file is what the old one should have become.
func (e *Edits) intended(old, now *Node) bool {
	if text, ok := e.set[old]; ok {
		return now.Kind == Scalar && now.Text == text
	}
	items := e.appended[old]
	if now.Kind != old.Kind || now.Text != old.Text || len(now.Items) != len(old.Items)+len(items) {
		return false
	}
	for i, item := range old.Items {
		if !e.intended(item, now.Items[i]) {
			return false
		}
	}
	for i, item := range items {
		if !grown(now.Items[len(old.Items)+i], item) {
			return false
		}
	}
	entries := now.Entries
	for _, entry := range old.Entries {
		if slices.Contains(e.removed[old], entry.Key.Text) {
			continue
		}
		if len(entries) == 0 || entries[0].Key.Text != entry.Key.Text || !e.intended(entry.Value, entries[0].Value) {
			return false
		}
		entries = entries[1:]
	}
	for _, a := range e.added[old] {
		if len(entries) == 0 || entries[0].Key.Text != a.key || entries[0].Value.Kind != Scalar || entries[0].Value.Text != a.text {
			return false
		}
		entries = entries[1:]
	}
	return len(entries) == 0
}
