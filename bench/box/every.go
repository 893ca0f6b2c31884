package box

import (
	"math"
	"slices"

	"knobwise/physics/network"
)

// Every is a box as one circuit for all positions of its controls at once, as far as that can be: switches that join nodes
// are contacts, knobs are axes. The other controls must be asked one by one.
type Every struct {
	*Wired   // every control as the setting has it
	Contacts []Contact
	Axes     []Axis
	OneByOne []*Control // in panel order
}

// Contact is one pair of nodes that some position of some switch joins.
type Contact struct {
	ID       network.ID
	From, To string
}

// Axis is a knob whose parts all move through their values alike: x from -1 at the smallest value to 1 at the largest.
type Axis struct {
	Control *Control
	IDs     []network.ID // of the elements of its parts, in the order of Control.Knob.Parts
	// The same elements at x = -1, 0 and 1.
	Low, Middle, High []network.Element
}

// WireEvery makes the circuit. The setting says where the controls of OneByOne stand. Errors are those of Wire.
func (b *Box) WireEvery(s Setting) (*Every, error) {
	e := &Every{}
	circuit := &network.Circuit{}
	var err error
	e.Wired, err = b.wire(s, circuit, nil, func(c *Control, p *Position) {
		if c.Switch.setsValues() {
			for _, group := range p.Joins {
				circuit.Join(group...)
			}
			return
		}
		for _, p := range c.Switch.Positions {
			for _, pair := range p.pairs() {
				e.contact(circuit, pair)
			}
		}
	})
	if err != nil {
		return nil, err
	}
	for _, c := range b.Controls {
		switch {
		case c.Switch != nil && c.Switch.setsValues(), c.Knob != nil && !c.Knob.together():
			e.OneByOne = append(e.OneByOne, c)
		case c.Knob != nil:
			a, err := e.axis(c)
			if err != nil {
				return nil, err
			}
			e.Axes = append(e.Axes, a)
		}
	}
	return e, nil
}

func (e *Every) contact(circuit *network.Circuit, pair [2]string) {
	if !slices.ContainsFunc(e.Contacts, func(c Contact) bool { return [2]string{c.From, c.To} == pair }) {
		id := circuit.Add(network.NewContact(pair[0], pair[1], false))
		e.Contacts = append(e.Contacts, Contact{id, pair[0], pair[1]})
	}
}

// Closed says which contacts a setting closes.
func (e *Every) Closed(b *Box, s Setting) []bool {
	closed := make([]bool, len(e.Contacts))
	for _, c := range b.Controls {
		if c.Switch == nil || c.Switch.setsValues() {
			continue
		}
		for _, pair := range c.Switch.Position(s[c.Name].Word).pairs() {
			closed[slices.IndexFunc(e.Contacts, func(c Contact) bool { return [2]string{c.From, c.To} == pair })] = true
		}
	}
	return closed
}

func (s *Switch) setsValues() bool {
	return slices.ContainsFunc(s.Positions, func(p *Position) bool { return len(p.Values) > 0 })
}

// pairs are the contacts of a position: each node of a group to the group's first, in alphabetical order, so that a pair
// named twice is one contact.
func (p *Position) pairs() (all [][2]string) {
	for _, group := range p.Joins {
		for _, node := range group[1:] {
			if node != group[0] {
				all = append(all, [2]string{min(group[0], node), max(group[0], node)})
			}
		}
	}
	return all
}

// together reports whether all parts of a gang stand at the same fraction of their travel in value at every reading.
func (k *Knob) together() bool {
	const steps = 64
	for i := range steps + 1 {
		reading := k.From + (k.To-k.From)*float64(i)/steps
		first, err := k.fraction(k.Parts[0], reading)
		for _, p := range k.Parts[1:] {
			other, err := k.fraction(p, reading)
			if err != nil || !(math.Abs(other-first) <= 1e-12) {
				return false
			}
		}
		if err != nil {
			return false
		}
	}
	return true
}

// fraction is where a part of the knob stands in its travel in value at a reading: 0 at its smallest, 1 at its largest.
func (k *Knob) fraction(p *Part, reading float64) (float64, error) {
	var ignored []string
	n := &numbers{part: p, notices: &ignored}
	low, high, err := p.travel(n)
	if err != nil {
		return 0, err
	}
	v, err := p.turned(k, reading, n)
	return (v - low) / (high - low), err
}

// axis makes the elements of a knob's parts at the ends and in the middle of their travel, and puts the middle ones into the
// circuit.
func (e *Every) axis(c *Control) (Axis, error) {
	a := Axis{Control: c}
	for _, p := range c.Knob.Parts {
		var ignored []string // wire has told them
		n := &numbers{part: p, notices: &ignored}
		low, high, err := p.travel(n)
		if err != nil {
			return a, err
		}
		for _, at := range []struct {
			value float64
			into  *[]network.Element
		}{{low, &a.Low}, {(low + high) / 2, &a.Middle}, {high, &a.High}} {
			n.main = at.value
			elements, err := p.Kind.place(p, n)
			if err != nil {
				return a, err
			}
			*at.into = append(*at.into, elements...)
		}
		i := slices.IndexFunc(e.Placed, func(x Placed) bool { return x.Part == p })
		a.IDs = append(a.IDs, e.Placed[i].Elements...)
	}
	return a, nil
}

// X is the place on the axis of a reading.
func (a Axis) X(reading float64) float64 {
	f, _ := a.Control.Knob.fraction(a.Control.Knob.Parts[0], reading) // known since the axis was made
	return 2*f - 1
}

// Reading is the reading at a place on the axis; where the value stands still over part of the scale, one of several.
func (a Axis) Reading(x float64) float64 {
	k := a.Control.Knob
	from, to := k.From, k.To
	for _, stop := range []float64{from, to} {
		if math.Abs(a.X(stop)-x) <= 1e-12 {
			return stop
		}
	}
	rising := a.X(to) > a.X(from)
	// Bisection, down to neighbouring numbers: laws are monotone, and tables have no inverse.
	for range 80 {
		middle := from + (to-from)/2
		if middle == from || middle == to {
			break
		}
		if (a.X(middle) < x) == rising {
			from = middle
		} else {
			to = middle
		}
	}
	if math.Abs(a.X(from)-x) < math.Abs(a.X(to)-x) {
		return from
	}
	return to
}
