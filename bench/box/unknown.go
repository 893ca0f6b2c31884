package box

import (
	"fmt"

	"knobwise/bench/document"
	"knobwise/bench/form"
	"knobwise/bench/quantity"
	"knobwise/physics/network"
)

// Unknown is one value of a box file that is not known for certain: "?", a guess or bounds.
type Unknown struct {
	Part  *Part
	Field string // as it stands in the file: "value", "Q", "min", "value of winding 2"; "value in Range low" where a position sets it
	// Quantity has the guess or the bounds.
	Quantity quantity.Quantity
	Node     *document.Node
}

// Given stands for values of the file, in SI units, by their place in it.
type Given map[*document.Node]float64

// Unknowns lists every value that is not known, in the order of the file's parts and then of its controls.
func (b *Box) Unknowns() []Unknown {
	var all []Unknown
	add := func(p *Part, field string, q quantity.Quantity, n *document.Node) {
		switch q.Form {
		case quantity.Unknown, quantity.Guess, quantity.Bounds:
			all = append(all, Unknown{p, field, q, n})
		}
	}
	for _, p := range b.Parts {
		for _, f := range p.Kind.fields {
			v, ok := p.Values[f.Name]
			if !ok {
				continue
			}
			switch x := v.Of.(type) {
			case quantity.Quantity:
				add(p, f.Name, x, v.Node)
			case form.Q:
				add(p, f.Name, x.Factor, v.Node)
			case []any: // windings
				for i, item := range x {
					if w, ok := item.(form.Values); ok && w.Has("value") {
						if q, ok := w["value"].Of.(quantity.Quantity); ok {
							add(p, fmt.Sprintf("value of winding %d", i+1), q, w["value"].Node)
						}
					}
				}
			}
		}
	}
	for _, c := range b.Controls {
		if c.Switch == nil {
			continue
		}
		for _, at := range c.Switch.Positions {
			for _, name := range sortedKeys(at.Values) {
				v := at.Values[name]
				if q, ok := v.Of.(quantity.Quantity); ok {
					add(b.Part(name), fmt.Sprintf("value in %s %s", c.Name, at.Name), q, v.Node)
				}
			}
		}
	}
	return all
}

// WireGiven is Wire with numbers that stand for values of the file.
func (b *Box) WireGiven(s Setting, given Given) (*Wired, error) {
	circuit := &network.Circuit{}
	return b.wire(s, circuit, given, joining(circuit))
}

// Uses reports whether a value of the file counts at this setting: one that a position sets counts in that position only,
// and the part's own value not where a position sets another.
func (w *Wired) Uses(u Unknown) bool {
	if v, ok := w.overrides[u.Part.Name]; ok && (u.Field == "value" || v.Node == u.Node) {
		return v.Node == u.Node
	}
	for _, c := range w.box.Controls {
		if c.Switch == nil {
			continue
		}
		for _, at := range c.Switch.Positions {
			if v, ok := at.Values[u.Part.Name]; ok && v.Node == u.Node {
				return false // of a position that is not on
			}
		}
	}
	return true
}

// Params appends to into where the parameters of the elements of part i stand, in the order of its elements.
func (w *Wired) Params(i int, into []*float64) []*float64 {
	for _, id := range w.Placed[i].Elements {
		for _, p := range w.Circuit.Element(id).Params() {
			into = append(into, p.Value)
		}
	}
	return into
}

// Values appends to into what the parameters of part i are with other values of the file and other readings of the knobs,
// in the order of Params. Errors are *fault.Error; values at which the part would become other elements are one.
func (w *Wired) Values(i int, given Given, readings Setting, into []float64) ([]float64, error) {
	var ignored []string
	p := w.Placed[i].Part
	elements, _, err := w.place(p, &numbers{part: p, notices: &ignored, given: given}, readings)
	if err != nil {
		return into, err
	}
	if len(elements) != len(w.Placed[i].Elements) {
		return into, p.node.Fault(p.Name+" becomes other elements with these values", "give its stray values, or leave them out")
	}
	for _, e := range elements {
		for _, x := range e.Params() {
			into = append(into, *x.Value)
		}
	}
	return into, nil
}
