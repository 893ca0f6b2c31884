// Package check finds what is legal in a box file but suspicious: mistakes that a reader of single fields cannot see.
package check

import (
	"errors"
	"fmt"
	"slices"

	"knobwise/bench/box"
	"knobwise/bench/fault"
	"knobwise/bench/folder"
	"knobwise/bench/quantity"
	"knobwise/bench/setup"
	"knobwise/physics/network"
)

// Finding is one suspicious thing.
type Finding struct {
	Place   fault.Place
	What    string
	Instead string // what to do, or why it may be right
}

// Report is what was found, and what could not be looked at.
type Report struct {
	Findings []Finding
	Notices  []string
}

// Span is the range in Hz in which self-resonances are looked for.
type Span struct{ From, To float64 }

// Shortwave is the span used where no setup names one: 0.1 to 30 MHz.
var Shortwave = Span{0.1e6, 30e6}

// generic is a setup without special values, so that nothing cancels by chance.
const generic = `
setup: generic
source: {kind: generator, emf: 1 V, impedance: 271 ohm}
load: {kind: receiver, resistance: 1.13 kohm, capacitance: 17 pF}
sweep: {from: 0.1 MHz, to: 30 MHz, points: 9, spacing: log}
`

// Box examines a box. Errors are *fault.Error: the box cannot be computed at all.
func Box(b *box.Box, span Span) (*Report, error) {
	c := &checker{box: b, report: &Report{}}
	var err error
	if c.setup, err = setup.Parse(folder.Disk(), "generic.setup.yaml", []byte(generic)); err != nil {
		return nil, err
	}
	c.nodes()
	c.variables()
	c.selfResonance(span)
	if err := c.positions(); err != nil {
		f, ok := errors.AsType[*fault.Error](err)
		if !ok || f.Place.Line == 0 {
			return nil, err
		}
		c.report.Notices = append(c.report.Notices, "the switch positions were not tried: "+f.What+"; "+f.Instead) // a value is not known yet
	}
	slices.SortStableFunc(c.report.Findings, func(x, y Finding) int { return x.Place.Line - y.Place.Line })
	return c.report, nil
}

type checker struct {
	box    *box.Box
	setup  *setup.Setup
	report *Report
}

func (c *checker) found(place fault.Place, what, instead string) {
	c.report.Findings = append(c.report.Findings, Finding{place, what, instead})
}

// nodes finds nodes that only one end of one part, or one contact, touches.
func (c *checker) nodes() {
	touches := map[string]int{}
	var known []string
	touch := func(nodes ...string) {
		for _, n := range nodes {
			if touches[n] == 0 {
				known = append(known, n)
			}
			touches[n]++
		}
	}
	touch(network.Ground, network.Ground, c.box.Antenna, c.box.Receiver)
	for _, p := range c.box.Parts {
		touch(p.Nodes...)
	}
	c.eachContact(func(_ *box.Control, _ *box.Position, node string) { touch(node) })
	lonely := func(node string, place fault.Place, what, instead string) {
		if touches[node] > 1 {
			return
		}
		others := slices.DeleteFunc(slices.Clone(known), func(x string) bool { return x == node })
		if near := fault.Nearest(node, others); near != "" {
			instead = fmt.Sprintf("did you mean %q?", near)
		}
		c.found(place, what, instead)
	}

	if c.box.Antenna == c.box.Receiver {
		c.found(c.box.Document.Root.Get("terminals").Place(), fmt.Sprintf("both sockets are at node %q", c.box.Antenna), "right only for a box that is a plain wire")
	}
	for _, p := range c.box.Parts {
		for _, n := range p.Nodes {
			lonely(n, p.Node().Place(), fmt.Sprintf("nothing but %s is at node %q", p.Name, n), "connect it, or leave it if it really hangs free")
		}
	}
	c.eachContact(func(control *box.Control, position *box.Position, n string) {
		lonely(n, position.Node().Place(), fmt.Sprintf("position %s of %s joins node %q, where nothing else is", position.Name, control.Name, n), "name a node of a part, or leave it out")
	})
}

// eachContact visits every node that a switch position joins.
func (c *checker) eachContact(visit func(*box.Control, *box.Position, string)) {
	for _, control := range c.box.Controls {
		if control.Switch == nil {
			continue
		}
		for _, position := range control.Switch.Positions {
			for _, group := range position.Joins {
				for _, node := range group {
					visit(control, position, node)
				}
			}
		}
	}
}

// variables finds variable parts that no knob turns.
func (c *checker) variables() {
	for _, p := range c.box.Parts {
		if p.Kind.Variable && c.box.Moves(p) == nil {
			c.found(p.Node().Place(), fmt.Sprintf("no knob turns %s; it is taken in the middle of its travel", p.Name), fmt.Sprintf("add a control {knob: %s}, or make it a fixed part", p.Name))
		}
	}
}

// selfResonance finds coils that resonate with their own capacitance inside the span: above it they are capacitors.
func (c *checker) selfResonance(span Span) {
	for _, p := range c.box.Parts {
		low, high, ok := p.SelfResonance()
		if !ok || low > span.To || high < span.From {
			continue
		}
		at := quantity.Format(low, quantity.Hertz, 4)
		if high > low {
			at += " to " + quantity.Format(high, quantity.Hertz, 4)
		}
		c.found(p.Node().Place(), fmt.Sprintf("the self-resonance of %s, at %s, lies between %s and %s", p.Name, at,
			quantity.Format(span.From, quantity.Hertz, 4), quantity.Format(span.To, quantity.Hertz, 4)), "above it the coil is a capacitor; is its self capacitance right?")
	}
}
