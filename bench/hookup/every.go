package hookup

import (
	"fmt"
	"maps"
	"math"
	"slices"

	"knobwise/bench/box"
	"knobwise/bench/fault"
	"knobwise/bench/measured"
	"knobwise/bench/setup"
	"knobwise/physics/multiaffine"
	"knobwise/physics/network"
)

// Every is a box between source and load at every position of its switches and knobs at once, except for those that are
// fixed and those that must be asked one by one; these stand where a setting puts them.
//
// It serves one goroutine; Again makes another for the next.
type Every struct {
	Box          *box.Box
	Setup        *setup.Setup
	Axes         []box.Axis     // the last has its optimum in closed form if it is one part
	OneByOne     []*box.Control // in panel order
	Combinations []box.Setting  // of the switches, every knob left out, in panel order with the last switch fastest
	Notices      []string

	at       box.Setting
	wired    *box.Every
	measured []*measured.Ports
	model    *multiaffine.Model
	plan     *multiaffine.Plan
	walker   multiaffine.Walker
	view     multiaffine.View
	straight *network.Insertion
	first    float64
}

// mostCombinations bounds what can be asked at once.
const mostCombinations = 1 << 16

func tooMany(b *box.Box) error {
	return fault.New(fault.Request, fmt.Sprintf("the controls of %s have more than %d combinations", b.Name, mostCombinations), "fix some of them with --fix")
}

// still says what can be asked of a box at which there is nothing to turn.
func still(b *box.Box, fixed map[string]bool) []string {
	knobs, free := 0, 0
	for _, c := range b.Controls {
		if c.Knob != nil {
			knobs++
		}
		if !fixed[c.Name] {
			free++
		}
	}
	switch {
	case len(b.Controls) == 0:
		return []string{b.Name + " has no controls, so there is nothing to set: these are its figures as it is; other parts, another source or load would change them"}
	case free == 0:
		return []string{"every control is fixed, so there is nothing to set: these are the figures of this setting"}
	case knobs == 0:
		return []string{b.Name + " has no knobs, so that only the positions of its switches can be compared"}
	}
	return nil
}

// ConnectEvery connects a box. The setting says where the fixed controls stand, and those of OneByOne; first is the frequency
// in Hz at which the order of elimination is found. Errors are *fault.Error; the switches may have 65,536 combinations.
func ConnectEvery(b *box.Box, at box.Setting, with *setup.Setup, first float64, fixed map[string]bool) (*Every, error) {
	e := &Every{Box: b, Setup: with, at: at, first: first, Combinations: []box.Setting{{}}}
	var err error
	if e.wired, err = b.WireEvery(at); err != nil {
		return nil, err
	}
	e.Axes = slices.DeleteFunc(e.wired.Axes, func(a box.Axis) bool { return fixed[a.Control.Name] })
	e.OneByOne = slices.DeleteFunc(e.wired.OneByOne, func(c *box.Control) bool { return fixed[c.Name] })
	e.measured = append(measuredParts(b), with.Measured()...)
	e.Notices = append(notices(e.wired.Wired, e.measured), still(b, fixed)...)
	for _, c := range b.Controls {
		if c.Switch == nil {
			continue
		}
		positions := []box.Reading{at[c.Name]}
		if !fixed[c.Name] && !e.IsOneByOne(c) {
			positions = readings(c, 0)
		}
		if len(e.Combinations)*len(positions) > mostCombinations {
			return nil, tooMany(b)
		}
		e.Combinations = each(e.Combinations, c, positions)
	}
	if err := e.prepare(); err != nil {
		return nil, err
	}
	closed := make([][]bool, len(e.Combinations))
	for i, s := range e.Combinations {
		closed[i] = e.wired.Closed(b, s)
	}
	if e.plan, err = e.model.Plan(closed); err != nil {
		return nil, fmt.Errorf("the switches of %s cannot be combined: %w", b.Name, err)
	}
	return e, nil
}

// each is every setting with every position of one more control, the last fastest.
func each(settings []box.Setting, c *box.Control, positions []box.Reading) []box.Setting {
	all := make([]box.Setting, 0, len(settings)*len(positions))
	for _, s := range settings {
		for _, p := range positions {
			all = append(all, s.With(c.Name, p))
		}
	}
	return all
}

// readings are all positions of a switch, or n readings of a knob from stop to stop.
func readings(c *box.Control, n int) (all []box.Reading) {
	if c.Switch != nil {
		for _, p := range c.Switch.Positions {
			all = append(all, box.Reading{Word: p.Name})
		}
		return all
	}
	for i := range n {
		all = append(all, box.Reading{Number: c.Knob.From + (c.Knob.To-c.Knob.From)*float64(i)/float64(n-1)})
	}
	return all
}

// Assignments lists the settings at which the controls of OneByOne must be asked: every position of switches, n readings (2
// or more) of each knob. The error is a *fault.Error where they and the combinations are too many.
func (e *Every) Assignments(n int) ([]box.Setting, error) {
	all := []box.Setting{e.at}
	for _, c := range e.OneByOne {
		positions := readings(c, n)
		if len(all)*len(positions)*len(e.Combinations) > mostCombinations {
			return nil, tooMany(e.Box)
		}
		all = each(all, c, positions)
	}
	return all, nil
}

func (e *Every) prepare() error {
	b := e.Box
	c := multiaffine.Circuit{
		Network: e.wired.Circuit, Input: b.Antenna, Output: b.Receiver,
		Source: e.Setup.SourceElement(b.Antenna), Load: e.Setup.LoadElement(b.Receiver),
	}
	for _, k := range e.wired.Contacts {
		c.Contacts = append(c.Contacts, k.ID)
	}
	for _, a := range e.Axes {
		axis := multiaffine.Axis{Name: a.Control.Name}
		for i, id := range a.IDs {
			axis.Knobs = append(axis.Knobs, multiaffine.Knob{ID: id, Low: a.Low[i], Middle: a.Middle[i], High: a.High[i]})
		}
		c.Axes = append(c.Axes, axis)
	}
	var err error
	e.model, err = multiaffine.NewModel(c, e.first)
	e.straight = network.Insert(&network.Circuit{}, b.Antenna, b.Antenna, e.Setup.SourceElement(b.Antenna), e.Setup.LoadElement(b.Antenna))
	return explain(err)
}

// Again is the same for another goroutine.
func (e *Every) Again() (*Every, error) {
	other := &Every{
		Box: e.Box, Setup: e.Setup, Axes: e.Axes, OneByOne: e.OneByOne, Combinations: e.Combinations, Notices: e.Notices,
		at: e.at, wired: e.wired, measured: e.measured, plan: e.plan, first: e.first,
	}
	return other, other.prepare()
}

// IsOneByOne reports whether a control must be asked one position after another.
func (e *Every) IsOneByOne(c *box.Control) bool { return slices.Contains(e.OneByOne, c) }

// Covers refuses frequencies from low to high Hz that leave the range of a measured file.
func (e *Every) Covers(low, high float64) error { return covers(e.measured, low, high) }

// Scale turns |H|² at one frequency into gains, as ratios of power. H is the load voltage per volt of emf.
type Scale struct {
	Straight   float64 // |H|² with source and load joined directly
	Insertion  float64 // insertion gain per |H|²
	Transducer float64 // transducer gain per |H|²; NaN where no power is available or the load takes none
}

// At visits every combination of the switches at f Hz with the network function of the knobs, which is valid until visit
// returns; visit returns false to stop. Errors are *fault.Error, as those of Hookup.Response; *multiaffine.NotAffineError
// means that a knob cannot be an axis at this frequency.
func (e *Every) At(f float64, visit func(combination int, h *multiaffine.Function) bool) (Scale, error) {
	scale, err := e.scale(f)
	if err != nil {
		return scale, err
	}
	if err := e.model.View(f, &e.view); err != nil {
		return scale, explain(err)
	}
	e.walker.Walk(&e.view, e.plan, visit)
	return scale, nil
}

func (e *Every) scale(f float64) (Scale, error) {
	r, err := e.straight.Response(f, 1)
	if err != nil {
		return Scale{}, explain(err)
	}
	power := real(r.Load)*real(r.Load) + imag(r.Load)*imag(r.Load)
	s := Scale{Straight: power, Insertion: 1 / power}
	if conductance := r.LoadPower / power; conductance > 0 {
		s.Transducer = conductance / r.AvailablePower
	} else {
		s.Transducer = math.NaN()
	}
	return s, nil
}

// Setting is a combination with the knobs at places on their axes; all other controls stand where they were put.
func (e *Every) Setting(combination int, x []float64) box.Setting {
	s := maps.Clone(e.at)
	maps.Copy(s, e.Combinations[combination])
	for i, a := range e.Axes {
		s[a.Control.Name] = box.Reading{Number: a.Reading(x[i])}
	}
	return s
}
