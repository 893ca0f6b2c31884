package box

import (
	"fmt"

	"knobwise/bench/fault"
	"knobwise/bench/form"
	"knobwise/physics/network"
)

// Wired is a box as a circuit, for one setting.
type Wired struct {
	Circuit *network.Circuit
	Placed  []Placed // in the order of the parts
	Notices []string // what had to be assumed

	box       *Box
	readings  Setting
	overrides map[string]form.Value // by the switches, part name to value
}

// Placed is one part with the elements that it became.
type Placed struct {
	Part     *Part
	Elements []network.ID
	Value    float64 // its main value at this setting, SI; 0 for a kind that has none
}

// Wire makes the circuit of the box at a setting. Errors are *fault.Error: a setting that the box does not have, or a
// value that is not known.
func (b *Box) Wire(s Setting) (*Wired, error) {
	circuit := &network.Circuit{}
	return b.wire(s, circuit, nil, joining(circuit))
}

// joining makes the contacts of a position by joining nodes.
func joining(circuit *network.Circuit) func(*Control, *Position) {
	return func(_ *Control, p *Position) {
		for _, group := range p.Joins {
			circuit.Join(group...)
		}
	}
}

// wire puts the parts at a setting into a circuit; connect is called for each switch to make its contacts.
func (b *Box) wire(s Setting, circuit *network.Circuit, given Given, connect func(*Control, *Position)) (*Wired, error) {
	w := &Wired{Circuit: circuit, box: b, readings: Setting{}, overrides: map[string]form.Value{}}
	for _, c := range b.Controls {
		r, ok := s[c.Name]
		if !ok {
			return nil, fault.New(fault.Setting, "the setting has no position for "+c.Name, "give every control a position")
		}
		r, err := c.read(r.String())
		if err != nil {
			return nil, err
		}
		w.readings[c.Name] = r
		if c.Switch == nil {
			continue
		}
		position := c.Switch.Position(r.Word)
		connect(c, position)
		for _, name := range sortedKeys(position.Values) {
			if _, twice := w.overrides[name]; twice {
				return nil, fault.New(fault.Setting, fmt.Sprintf("two switches set the value of %s at this setting", name), "let one switch set it")
			}
			w.overrides[name] = position.Values[name]
		}
	}
	for _, p := range b.Parts {
		elements, main, err := w.place(p, &numbers{part: p, notices: &w.Notices, given: given}, w.readings)
		if err != nil {
			return nil, err
		}
		placed := Placed{Part: p, Value: main}
		for _, e := range elements {
			placed.Elements = append(placed.Elements, w.Circuit.Add(e))
		}
		w.Placed = append(w.Placed, placed)
	}
	return w, nil
}

// place makes the elements of a part, and its main value.
func (w *Wired) place(p *Part, n *numbers, readings Setting) (elements []network.Element, main float64, err error) {
	if value, ok := w.overrides[p.Name]; ok {
		if n.main, err = n.nominal("value", value); err != nil {
			return nil, 0, err
		}
	}
	if p.Kind.Variable {
		var knob *Knob
		var reading float64
		if c := w.box.Moves(p); c != nil {
			knob, reading = c.Knob, readings[c.Name].Number
		}
		if n.main, err = p.turned(knob, reading, n); err != nil {
			return nil, 0, err
		}
	}
	if p.Kind.HasMain && n.main == 0 {
		if n.main, err = n.of("value"); err != nil {
			return nil, 0, err
		}
		if n.main == 0 {
			n.main = p.whole
		}
	}
	elements, err = p.Kind.place(p, n)
	return elements, n.main, err
}
