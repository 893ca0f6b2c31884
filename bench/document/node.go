package document

import (
	"fmt"
	"strconv"
	"strings"
	"unicode/utf8"

	"knobwise/bench/fault"
)

// Kind is the kind of a node.
type Kind int

// The kinds of node.
const (
	Scalar Kind = iota
	Map
	List
	Empty // a key with nothing behind it
)

// Node is a value in a document.
type Node struct {
	Kind    Kind
	Text    string  // of a scalar, unquoted
	Quoted  bool    // a scalar in quotes or a block of text
	Entries []Entry // of a map, in file order
	Items   []*Node // of a list

	doc        *Document
	line       int // from 1
	column     int // in characters, from 1
	start, end int // its bytes in Source; of an Empty node both are the place for a value; -1 where not known
	flow       bool
	brackets   bool // a map or list that is itself in brackets
}

// Entry is one key of a map with its value.
type Entry struct {
	Key   *Node
	Value *Node
}

// Place is where the node stands.
func (n *Node) Place() fault.Place {
	length := 0
	if n.Kind == Scalar && n.start >= 0 {
		first, _, _ := strings.Cut(string(n.doc.Source[n.start:n.end]), "\n")
		length = utf8.RuneCountInString(strings.TrimSuffix(first, "\r"))
	}
	return n.doc.place(n.line, n.column, length)
}

// PlaceIn is the place of a part of a scalar's text: offset and length in bytes of Text. Where quotes or escapes
// stand between the two it falls back to the whole scalar.
func (n *Node) PlaceIn(offset, length int) fault.Place {
	place := n.Place()
	if n.Kind != Scalar || n.start < 0 || offset < 0 || offset+length > len(n.Text) {
		return place
	}
	raw := string(n.doc.Source[n.start:n.end])
	skip := 0
	if raw != n.Text {
		if !n.Quoted || len(raw) < 2 || raw[1:len(raw)-1] != n.Text {
			return place
		}
		skip = 1
	}
	place.Column += skip + utf8.RuneCountInString(n.Text[:offset])
	place.Length = max(1, utf8.RuneCountInString(n.Text[offset:offset+length]))
	return place
}

// Fault reports a mistake in the node.
func (n *Node) Fault(what, instead string) *fault.Error { return fault.At(n.Place(), what, instead) }

// Get returns the value of a key of a map, or nil.
func (n *Node) Get(key string) *Node {
	for _, e := range n.Entries {
		if e.Key.Text == key {
			return e.Value
		}
	}
	return nil
}

// Describe names what kind of thing stands in the node, for errors.
func (n *Node) Describe() string {
	switch n.Kind {
	case Map:
		return "a map"
	case List:
		return "a list"
	case Empty:
		return "nothing"
	}
	return fmt.Sprintf("%q", n.Text)
}

// Path is the keys (of a list: the number from 0) that lead to the node from the top of its file, as a Change names it.
func (n *Node) Path() []string {
	path, _ := n.doc.Root.pathTo(n)
	return path
}

func (n *Node) pathTo(to *Node) ([]string, bool) {
	if n == to {
		return nil, true
	}
	for _, e := range n.Entries {
		if rest, ok := e.Value.pathTo(to); ok {
			return append([]string{e.Key.Text}, rest...), true
		}
	}
	for i, item := range n.Items {
		if rest, ok := item.pathTo(to); ok {
			return append([]string{strconv.Itoa(i)}, rest...), true
		}
	}
	return nil, false
}
