// Package form describes what a map in one of the user's files may hold, field by field, and reads it strictly.
//
// One list of fields serves three readers: Read checks a file against it, Rows prints it as a table, Schema turns it
// into JSON Schema for editors. So the documentation cannot drift from what is accepted.
package form

import (
	"errors"
	"fmt"
	"maps"

	"knobwise/bench/document"
	"knobwise/bench/fault"
)

// Shape is what one field may hold. Read returns the value, or a *fault.Error that points at the text.
type Shape interface {
	Read(n *document.Node) (any, error)
	// Describe says in a few words what to write, with an example.
	Describe() string
	// Schema is the JSON Schema of what may be written.
	Schema() map[string]any
}

// Field is one key of a map.
type Field struct {
	Name     string
	Shape    Shape
	Required bool
	About    string // one line for the table and the editor
}

// Values holds what Read found, by field name.
type Values map[string]Value

// Value is one field as read.
type Value struct {
	Node *document.Node
	Of   any
}

// Has reports whether the field was written.
func (v Values) Has(name string) bool {
	_, ok := v[name]
	return ok
}

// Get returns a field's value where it was written; the zero value and false where not.
// It panics where T is not what the field's shape reads: that is a mistake in the program.
func Get[T any](v Values, name string) (T, bool) {
	x, ok := v[name]
	if !ok {
		var zero T
		return zero, false
	}
	return x.Of.(T), true
}

// Or returns a field's value, or another where it was not written.
func Or[T any](v Values, name string, otherwise T) T {
	if x, ok := Get[T](v, name); ok {
		return x
	}
	return otherwise
}

// Read reads a map strictly: every key must be one of fields, every required field must be there. what names the
// thing in errors ("part C1"). Errors are *fault.Error.
func Read(n *document.Node, what string, fields []Field) (Values, error) {
	if n.Kind != document.Map {
		return nil, n.Fault(fmt.Sprintf("%s is %s where a map belongs", what, n.Describe()), "write "+outline(fields))
	}
	known := names(fields)
	values := Values{}
	for i, e := range n.Entries {
		if next := i + 1; next < len(n.Entries) && decimalComma(e.Value, n.Entries[next]) {
			return nil, e.Value.Fault(fmt.Sprintf("a decimal comma splits %s of %s in two", e.Key.Text, what), "write "+e.Value.Text+"."+n.Entries[next].Key.Text)
		}
		f := find(fields, e.Key.Text)
		if f == nil {
			return nil, e.Key.Fault(fmt.Sprintf("unknown key %q in %s", e.Key.Text, what), fault.DidYouMean(e.Key.Text, known))
		}
		if e.Value.Kind == document.Empty {
			return nil, e.Value.Fault(fmt.Sprintf("%q in %s has no value", f.Name, what), "write "+f.Shape.Describe()+", or delete the line")
		}
		x, err := f.Shape.Read(e.Value)
		if _, nested := f.Shape.(Nested); err != nil && !nested { // which names the thing itself
			err = About(err, f.Name+" of "+what)
		}
		if err != nil {
			return nil, err
		}
		values[f.Name] = Value{e.Value, x}
	}
	for _, f := range fields {
		if f.Required && !values.Has(f.Name) {
			return nil, n.Fault(fmt.Sprintf("%s has no %q", what, f.Name), fmt.Sprintf("add `%s: …`: %s", f.Name, f.Shape.Describe()))
		}
	}
	return values, nil
}

// decimalComma recognises `value: 330,5 ohm` inside brackets, which YAML reads as a value and an empty key.
func decimalComma(value *document.Node, next document.Entry) bool {
	digit := func(s string, last bool) bool {
		if s == "" {
			return false
		}
		c := s[0]
		if last {
			c = s[len(s)-1]
		}
		return c >= '0' && c <= '9'
	}
	return next.Value.Kind == document.Empty && value.Kind == document.Scalar && digit(value.Text, true) && digit(next.Key.Text, false)
}

// About puts in front of a fault what it is about: "value of part C1".
func About(err error, what string) error {
	if f, ok := errors.AsType[*fault.Error](err); ok {
		f.What = what + ": " + f.What
	}
	return err
}

func names(fields []Field) []string {
	var all []string
	for _, f := range fields {
		all = append(all, f.Name)
	}
	return all
}

func find(fields []Field, name string) *Field {
	for i := range fields {
		if fields[i].Name == name {
			return &fields[i]
		}
	}
	return nil
}

func outline(fields []Field) string {
	for _, f := range fields {
		if f.Required {
			return fmt.Sprintf("`%s: …` and what else it needs", f.Name)
		}
	}
	return "`{}` or its fields"
}

// Schema is the JSON Schema of a map with these fields and no others. extra is merged in at the top.
func Schema(fields []Field, extra map[string]any) map[string]any {
	properties := map[string]any{}
	var required []string
	for _, f := range fields {
		s := maps.Clone(f.Shape.Schema())
		if f.About != "" {
			s["description"] = f.About
		}
		properties[f.Name] = s
		if f.Required {
			required = append(required, f.Name)
		}
	}
	schema := map[string]any{"type": "object", "properties": properties, "additionalProperties": false}
	if len(required) > 0 {
		schema["required"] = required
	}
	maps.Copy(schema, extra)
	return schema
}

// Alternative is one of several kinds of map that may stand in a place.
type Alternative struct {
	Name, About string
	Fields      []Field
}

// OneOf is the JSON Schema of a map that is one of several kinds.
func OneOf(alternatives []Alternative) map[string]any {
	var all []any
	for _, a := range alternatives {
		all = append(all, Schema(a.Fields, map[string]any{"title": a.Name, "description": a.About}))
	}
	return map[string]any{"oneOf": all}
}
