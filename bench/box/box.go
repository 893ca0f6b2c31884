// Package box reads and holds what is inside a passive box: its parts, the nodes between them, and the controls on its
// panel. It wires the parts into a circuit for one setting of the controls.
//
// It knows nothing of what is connected to the box; see package setup.
package box

import (
	"slices"

	"knobwise/bench/document"
	"knobwise/bench/form"
	"knobwise/bench/measured"
	"knobwise/physics/network"
)

// Box is one box file.
type Box struct {
	Name, About string
	Antenna     string // node of the antenna socket; its other pole is ground
	Receiver    string // node of the receiver socket
	Parts       []*Part
	Controls    []*Control // in panel order
	Document    *document.Document

	start Setting
}

// Part is one part of a box.
type Part struct {
	Name   string
	Kind   *Kind
	Nodes  []string // every node that it touches, in the order of the file
	Values form.Values

	node     *document.Node // its name in the file
	law      Law
	branches []network.Branch // for kinds that list several pairs of nodes
	ports    *measured.Ports  // of a measured kind
	shape    []float64        // of a tapped coil: inductances of its sections, m×m row by row
	whole    float64          // of a tapped coil: inductance by its form, H
}

// Control is one knob or switch on the panel; one of Knob and Switch is set.
type Control struct {
	Name   string
	Knob   *Knob
	Switch *Switch

	node *document.Node // its name in the file
}

// Knob turns the variable parts of a gang together. A reading x on the scale From .. To is the rotation
// (x − From)/(To − From), 0 at the anticlockwise stop, 1 at the clockwise stop.
type Knob struct {
	Parts    []*Part
	From, To float64 // what is printed at the stops
	Percent  bool    // the scale is printed in percent
	Reverse  bool    // clockwise lowers the value
}

// Switch selects one of its positions; each joins groups of nodes.
type Switch struct{ Positions []*Position }

// Position is one position of a switch.
type Position struct {
	Name   string
	Joins  [][]string
	Values map[string]form.Value // part name to its value in this position, a quantity.Quantity

	node *document.Node
}

// Part returns the part with a name, or nil.
func (b *Box) Part(name string) *Part {
	for _, p := range b.Parts {
		if p.Name == name {
			return p
		}
	}
	return nil
}

// Control returns the control with a name, or nil.
func (b *Box) Control(name string) *Control {
	for _, c := range b.Controls {
		if c.Name == name {
			return c
		}
	}
	return nil
}

// Position returns the position with a name, or nil.
func (s *Switch) Position(name string) *Position {
	for _, p := range s.Positions {
		if p.Name == name {
			return p
		}
	}
	return nil
}

// Measured is the data of a measured kind of part; nil for every other kind.
func (p *Part) Measured() *measured.Ports { return p.ports }

// Node is the part's name in the box file.
func (p *Part) Node() *document.Node { return p.node }

// Node is the control's name in the box file.
func (c *Control) Node() *document.Node { return c.node }

// Node is the position's name in the box file.
func (p *Position) Node() *document.Node { return p.node }

// Moves returns the knob that turns a part, or nil.
func (b *Box) Moves(p *Part) *Control {
	for _, c := range b.Controls {
		if c.Knob != nil && slices.Contains(c.Knob.Parts, p) {
			return c
		}
	}
	return nil
}
