package multiaffine

import (
	"fmt"

	"knobwise/physics/network"
)

// Circuit says what of a network is to be varied.
type Circuit struct {
	Network       *network.Circuit // without source and load; it is copied, its elements are shared
	Input, Output string           // the source stands from Input to ground, the load from Output to ground
	Source, Load  network.Element  // of one branch each
	// Contacts are elements of type *network.Contact whose state a combination gives; what they say themselves does not
	// matter. Contacts that change between one combination and the next should come last: that saves work.
	Contacts []network.ID
	// Axes in order: the last varies fastest. One of a single knob in the last place has its optimum in closed form.
	Axes []Axis
}

// Axis is one real variable x in [-1, 1].
type Axis struct {
	Name  string // for errors
	Knobs []Knob // one, or several that turn together
}

// Knob is an element of one branch that an axis drives.
type Knob struct {
	ID network.ID // its place in the network; what stands there gives the nodes only
	// The element at x = -1, 0 and 1, scaled alike: Equations must be affine in x, so those at 0 are the mean of the
	// others'. Low and High define the element at every x; Middle is the check.
	Low, Middle, High network.Element
}

// NotAffineError says that a control does not fit the axes of this package. It belongs on an outer loop.
type NotAffineError struct {
	Axis string
	Knob int     // which of the axis's knobs, from 0
	At   float64 // Hz; 0 where it fails at every frequency
	Why  string
}

func (e *NotAffineError) Error() string {
	return fmt.Sprintf("axis %q, element %d: %s", e.Axis, e.Knob+1, e.Why)
}

// Model is a circuit prepared for views at any frequency. It serves one goroutine at a time.
type Model struct {
	circuit  Circuit
	inserted *network.Insertion
	stand    []*network.Admittance // in the place of each knob, axis by axis
	ports    []network.ID          // contacts first, then knobs
	knobs    []knob
	gangs    []int // number of knobs on each axis
	ties     network.Ties
	seen     network.Ports
	ask      [2]complex128 // scratch for one element's equation
}

// knob is one element of an axis.
type knob struct {
	Knob
	axis, number int
}

// NewModel prepares a circuit. The order of its elimination is found at the frequency first in Hz: models to be used
// side by side must be given the same. Errors: *NotAffineError, those of network.Solver.At, and a plain error where the
// circuit names what is not there.
func NewModel(c Circuit, first float64) (*Model, error) {
	m := &Model{circuit: c}
	instead := map[network.ID]network.Element{}
	free := func(id network.ID) error {
		if id < 0 || int(id) >= c.Network.Len() {
			return fmt.Errorf("multiaffine: the network has no element %d", id)
		}
		if _, taken := instead[id]; taken {
			return fmt.Errorf("multiaffine: element %d is named twice", id)
		}
		return nil
	}
	for _, id := range c.Contacts {
		if err := free(id); err != nil {
			return nil, err
		}
		contact, ok := c.Network.Element(id).(*network.Contact)
		if !ok {
			return nil, fmt.Errorf("multiaffine: element %d is no contact", id)
		}
		b := contact.Branches()[0]
		instead[id] = network.NewContact(b.From, b.To, false)
		m.ports = append(m.ports, id)
	}
	for a, axis := range c.Axes {
		if len(axis.Knobs) == 0 {
			return nil, fmt.Errorf("multiaffine: axis %q drives nothing", axis.Name)
		}
		m.gangs = append(m.gangs, len(axis.Knobs))
		for i, k := range axis.Knobs {
			if err := free(k.ID); err != nil {
				return nil, err
			}
			for _, e := range []network.Element{c.Network.Element(k.ID), k.Low, k.Middle, k.High} {
				if len(e.Branches()) != 1 {
					return nil, &NotAffineError{Axis: axis.Name, Knob: i, Why: "it has several branches, so it is not of rank one; vary it by full solves"}
				}
			}
			y := network.NewAdmittance(c.Network.Element(k.ID))
			instead[k.ID] = y
			m.stand, m.ports = append(m.stand, y), append(m.ports, k.ID)
			m.knobs = append(m.knobs, knob{k, a, i})
		}
	}
	if len(m.knobs) > maxKnobs {
		return nil, fmt.Errorf("multiaffine: %d knobs are more than %d; fix some", len(m.knobs), maxKnobs)
	}
	whole := c.Network.With(instead)
	m.inserted = network.Insert(whole, c.Input, c.Output, c.Source, c.Load)
	m.ties = whole.Ties()
	var v View
	if err := m.View(first, &v); err != nil {
		return nil, err
	}
	return m, nil
}

// maxKnobs bounds the 2^k coefficients that k knobs need.
const maxKnobs = 16

// Degrees lists the degree of N and D in each axis: the number of its knobs.
func (m *Model) Degrees() []int { return append([]int(nil), m.gangs...) }
