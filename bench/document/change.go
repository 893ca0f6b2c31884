package document

import (
	"fmt"
	"strconv"

	"knobwise/bench/fault"
)

// Change is one value to change in a file: the keys (of a list: the number from 0) that lead to it from the top, and
// what to write there.
type Change struct {
	Path   []string `json:"path"`
	Text   string   `json:"text"`
	Remove bool     `json:"remove"` // take the last key away instead
}

// Change returns the file's bytes with values changed, added or removed, every other byte as it was. Errors are
// *fault.Error.
func (d *Document) Change(changes []Change) ([]byte, error) {
	edits := d.Edit()
	for _, c := range changes {
		if len(c.Path) == 0 {
			return nil, fault.New(fault.Request, "a change without a path", "name the keys that lead to the value")
		}
		last := len(c.Path) - 1
		parent, missing := d.at(c.Path[:last])
		if parent == nil {
			return nil, fault.New(fault.Request, fmt.Sprintf("%s has nothing to change at %q", d.Name, missing), "was the file changed meanwhile?")
		}
		key := c.Path[last]
		switch node := parent.step(key); {
		case c.Remove && node == nil:
		case c.Remove:
			edits.Remove(parent, key)
		case node == nil:
			edits.Add(parent, key, c.Text)
		default:
			edits.Set(node, c.Text)
		}
	}
	return edits.Apply()
}

// Remark is a comment to stand behind one value.
type Remark struct {
	Path []string `json:"path"`
	Text string   `json:"text"`
}

// Remark returns the file's bytes with remarks behind values, every other byte as it was. Errors are *fault.Error.
func (d *Document) Remark(all []Remark) ([]byte, error) {
	edits := d.Edit()
	for _, c := range all {
		n, missing := d.at(c.Path)
		if n == nil {
			return nil, fault.New(fault.Request, fmt.Sprintf("%s has nothing to remark on at %q", d.Name, missing), "was the file changed meanwhile?")
		}
		edits.Remark(n, c.Text)
	}
	return edits.Apply()
}

// at is the value that keys lead to; where there is none, the key that leads nowhere.
func (d *Document) at(path []string) (n *Node, missing string) {
	n = d.Root
	for _, key := range path {
		if n = n.step(key); n == nil {
			return nil, key
		}
	}
	return n, ""
}

// step is the value behind a key of a map, or the item of a list by its number from 0; nil where there is none.
func (n *Node) step(key string) *Node {
	if n.Kind != List {
		return n.Get(key)
	}
	i, err := strconv.Atoi(key)
	if err != nil || i < 0 || i >= len(n.Items) {
		return nil
	}
	return n.Items[i]
}
