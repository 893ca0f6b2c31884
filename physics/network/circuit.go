package network

import "fmt"

// Ground is the node to which every socket's outer pole and every `ground` of a box file belongs.
const Ground = "ground"

// Circuit is a list of elements between named nodes, some of the nodes joined by closed contacts.
// The zero value is an empty circuit.
type Circuit struct {
	elements []Element
	joins    [][2]string
}

// ID numbers an element of a circuit, in the order in which they were added.
type ID int

// Add puts an element into the circuit.
func (c *Circuit) Add(e Element) ID {
	c.elements = append(c.elements, e)
	return ID(len(c.elements) - 1)
}

// Join makes one node of several, as a closed contact does. It costs no unknown; use Contact where the state of the
// contact is to change between solves.
func (c *Circuit) Join(nodes ...string) {
	for i := 1; i < len(nodes); i++ {
		c.joins = append(c.joins, [2]string{nodes[0], nodes[i]})
	}
}

// Element returns the element with a number.
func (c *Circuit) Element(id ID) Element { return c.elements[id] }

// ParamID names one parameter of one element of a circuit.
type ParamID struct {
	Element ID
	Index   int // within the element's Params
}

// Params lists all parameters of all elements in the order in which Solver.Gradient writes their sensitivities.
func (c *Circuit) Params() []ParamID {
	var all []ParamID
	for id, e := range c.elements {
		for k := range e.Params() {
			all = append(all, ParamID{ID(id), k})
		}
	}
	return all
}

// SingularError says that the circuit has no unique solution at a frequency: a lossless loop exactly at resonance, or
// perfectly coupled lossless windings side by side.
type SingularError struct{ Frequency float64 } // Hz

func (e *SingularError) Error() string {
	return fmt.Sprintf("the circuit has no unique solution at %g Hz (an exactly lossless resonance or perfectly coupled lossless windings in parallel); give the parts a Q", e.Frequency)
}

// groups is a union-find over node names.
type groups map[string]string

func (g groups) find(name string) string {
	parent, ok := g[name]
	if !ok {
		g[name] = name
		return name
	}
	if parent == name {
		return name
	}
	root := g.find(parent)
	g[name] = root
	return root
}

// union joins two groups; ground's group is always named Ground.
func (g groups) union(x, y string) {
	x, y = g.find(x), g.find(y)
	if y == g.find(Ground) {
		x, y = y, x
	}
	g[y] = x
}

// conducts reports whether an element ties the potentials of its branches' ends together.
func conducts(e Element) bool {
	contact, ok := e.(*Contact)
	return !ok || contact.Closed
}
