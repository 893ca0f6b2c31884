// Package hookup connects a box at one setting to a source and a load: the circuit that every study asks.
package hookup

import (
	"errors"
	"fmt"
	"math"
	"math/cmplx"

	"knobwise/bench/box"
	"knobwise/bench/fault"
	"knobwise/bench/measured"
	"knobwise/bench/quantity"
	"knobwise/bench/setup"
	"knobwise/bench/touchstone"
	"knobwise/physics/network"
)

// Hookup is a box at one setting between source and load.
type Hookup struct {
	Box     *box.Box
	Setting box.Setting
	Setup   *setup.Setup
	Placed  []box.Placed
	Wired   *box.Wired
	Notices []string // what had to be assumed, and what is suspicious about measured files

	measured  []*measured.Ports
	insertion *network.Insertion
}

// Connect wires a box at a setting into a setup. Errors are *fault.Error.
func Connect(b *box.Box, s box.Setting, with *setup.Setup) (*Hookup, error) {
	return ConnectGiven(b, s, with, nil)
}

// ConnectGiven is Connect with numbers that stand for values of the box's file and the setup's.
func ConnectGiven(b *box.Box, s box.Setting, with *setup.Setup, given box.Given) (*Hookup, error) {
	w, err := b.WireGiven(s, given)
	if err != nil {
		return nil, err
	}
	with = with.Given(given)
	h := &Hookup{Box: b, Setting: s, Setup: with, Placed: w.Placed, Wired: w}
	h.measured = append(measuredParts(b), with.Measured()...)
	h.Notices = notices(w, h.measured)
	h.insertion = network.Insert(w.Circuit, b.Antenna, b.Receiver, with.SourceElement(b.Antenna), with.LoadElement(b.Receiver))
	return h, nil
}

func measuredParts(b *box.Box) []*measured.Ports {
	var all []*measured.Ports
	for _, p := range b.Parts {
		if m := p.Measured(); m != nil {
			all = append(all, m)
		}
	}
	return all
}

func notices(w *box.Wired, files []*measured.Ports) []string {
	all := w.Notices
	for _, p := range files {
		if p.Notice != "" {
			all = append(all, p.Notice)
		}
	}
	return all
}

// Covers refuses a sweep from low to high Hz that leaves the range of a measured file.
func (h *Hookup) Covers(low, high float64) error { return covers(h.measured, low, high) }

// Range is from where to where, in Hz, every measured file covers: 0 and 0 where there is none.
func (h *Hookup) Range() (low, high float64) {
	if len(h.measured) == 0 {
		return 0, 0
	}
	c := common(h.measured)
	return c.First, c.Last
}

// Outside is the cause of a fault that Covers reports: from First to Last, in Hz, every measured file covers.
type Outside struct{ First, Last float64 }

func (o *Outside) Error() string { return "outside the range of a measured file" }

func common(files []*measured.Ports) *Outside {
	all := &Outside{0, math.Inf(1)}
	for _, m := range files {
		first, last := m.Range()
		all.First, all.Last = max(all.First, first), min(all.Last, last)
	}
	return all
}

func covers(files []*measured.Ports, low, high float64) error {
	hz := func(f float64) string { return quantity.FormatExact(f, quantity.Hertz) }
	for _, m := range files {
		if first, last := m.Range(); low < first || high > last {
			f := &fault.Error{
				Kind:    fault.Request,
				What:    fmt.Sprintf("the sweep runs from %s to %s, but %s covers only %s to %s", hz(low), hz(high), m.File, hz(first), hz(last)),
				Instead: "sweep inside it, or measure further",
				Cause:   common(files),
			}
			if low == high {
				f.What = fmt.Sprintf("%s lies outside %s, which covers only %s to %s", hz(low), m.File, hz(first), hz(last))
				f.Instead = "stay inside it, or measure further"
			}
			return f
		}
	}
	return nil
}

// Insertion is the circuit behind it, for studies that need its derivatives.
func (h *Hookup) Insertion() *network.Insertion { return h.insertion }

// Response is what the box does at f Hz with the setup's emf. Errors are *fault.Error: Request where f lies outside a
// measured file, Unsolvable where the circuit has no unique solution.
func (h *Hookup) Response(f float64) (network.Response, error) {
	r, err := h.insertion.Response(f, h.Setup.Source.EMF)
	return r, explain(err)
}

// Dissipation is the power in watt that a part turns into heat at the frequency of the last Response.
func (h *Hookup) Dissipation(p box.Placed) float64 {
	var power float64
	for _, id := range p.Elements {
		power += h.insertion.Forward().Dissipation(id)
	}
	return power
}

// Activity is the largest current in a part over the current that enters the box, at the frequency of the last Response,
// driven from the antenna socket or from the receiver socket. It is zero for a part that hangs free, and where no current
// can enter.
func (h *Hookup) Activity(p box.Placed) float64 {
	var most float64
	for _, drive := range []*network.Solution{h.insertion.Forward(), h.insertion.Backward()} {
		through := h.insertion.Through(drive)
		if through == 0 {
			continue
		}
		for _, id := range p.Elements {
			for k := range h.insertion.Branches(id) {
				most = max(most, cmplx.Abs(drive.Current(id, k))/through)
			}
		}
	}
	return most
}

// Grounded reports whether contacts join a node to ground at this setting.
func (h *Hookup) Grounded(node string) bool { return h.insertion.Solver().Grounded(node) }

// Between is a box at one setting between two equal resistances, for its S-parameters.
type Between struct {
	Notices    []string
	measured   []*measured.Ports
	insertion  *network.Insertion
	resistance float64
}

// ConnectBetween wires a box at a setting between resistances of reference ohm. Errors are *fault.Error.
func ConnectBetween(b *box.Box, s box.Setting, reference float64) (*Between, error) {
	w, err := b.Wire(s)
	if err != nil {
		return nil, err
	}
	files := measuredParts(b)
	return &Between{
		Notices:    notices(w, files),
		measured:   files,
		resistance: reference,
		insertion: network.Insert(w.Circuit, b.Antenna, b.Receiver,
			network.NewResistor(b.Antenna, network.Ground, reference), network.NewResistor(b.Receiver, network.Ground, reference)),
	}, nil
}

// Covers refuses a sweep from low to high Hz that leaves the range of a measured file.
func (b *Between) Covers(low, high float64) error { return covers(b.measured, low, high) }

// Scattering gives S11, S12, S21, S22 at f Hz: port 1 is the antenna socket, port 2 the receiver socket.
func (b *Between) Scattering(f float64) ([4]complex128, error) {
	s, err := b.insertion.Scattering(f, b.resistance, b.resistance)
	return s, explain(err)
}

// explain turns an error of the analysis into a fault.
func explain(err error) error {
	if err == nil {
		return nil
	}
	if e, ok := errors.AsType[*network.SingularError](err); ok {
		return &fault.Error{
			Kind: fault.Unsolvable, Cause: err,
			What:    fmt.Sprintf("the circuit has no unique solution at %s", quantity.Format(e.Frequency, quantity.Hertz, 7)),
			Instead: "give the parts of the lossless resonance or of the perfectly coupled windings there a Q",
		}
	}
	if e, ok := errors.AsType[*touchstone.RangeError](err); ok {
		return &fault.Error{Kind: fault.Request, Cause: err, What: e.Error()}
	}
	return &fault.Error{Kind: fault.Request, Cause: err, What: err.Error()}
}
