// Package family makes the circuits of the trade that a box may hold of which only the panel is known: box files with the
// moving parts and the controls of a measured box and unknown values for everything else, for package identify to fit.
//
// Rules:
//
//   - A box has one or two variable capacitors and at most one variable inductor, each on a knob or in a gang. A variable
//     part on no knob is forgotten like a fixed one.
//   - The controls are copied as they are written, and so are the moving parts, with nodes of the candidate: every setting
//     of the measured box is one of each candidate.
//   - A core (pi, T, L, series tuned, shunt tuned, double tuned, link coupled; see cores.go) comes in both orders of two
//     capacitors, where that is another circuit. Two capacitors of a gang that are written alike have no order.
//   - A variable inductor takes the place of the main coil. What has a link on it is a fixed winding in series with the
//     variable inductor.
//   - Each core stands directly between the sockets, then with one coupling at one end (a series capacitor, a series
//     resistor, a parallel resistor, as the core's entry says), a few with a series capacitor at both ends. Link coupling
//     is a core of its own. Directly coupled cores of one coil also come with the coil's self-capacitance.
//   - Circuits that are electrically the same appear once, by the rules of canonical in same.go. What is the same beyond
//     those rules was left out by hand: two circuits coupled by a coil in common and by mutual inductance are one candidate,
//     and so are a link on a coil and a tap of it.
//   - A guessed part has bounds from the frequencies of the traces (bounds.go). No candidate has more than ten unknown
//     values beside those of the moving parts.
//   - A position of a switch counts where a setting has it. A switch with one such position does nothing. One with several
//     selects the value of the main coil (of both coils of double tuned circuits); as a variant, of a series capacitor or
//     resistor at the antenna. A part's own value is that of the first such position in panel order; the others set theirs.
//     A position that was not measured acts like the first that was. No position can set a coil that a knob turns or that
//     has windings on it: coupled coils have an assembly for each position where that keeps to eight values, else the
//     switch selects a coil in series. With two such switches one selects the coil and the other the coupling at the
//     antenna (at the receiver where there is none), in both ways; a link is selected from several on one coil. With three
//     there is an error.
//   - A position that joins antenna and receiver in the measured file, and that a setting has, joins them in each candidate.
//     Where that left no part at the sockets, the circuit is taken off them here too.
//
// What it will not do: judge which candidate is likely, or fit it.
package family

import (
	"fmt"
	"math"
	"slices"

	"knobwise/bench/box"
	"knobwise/bench/fault"
	"knobwise/bench/folder"
)

// mostUnknown bounds the guessed values of a candidate: traces of a few settings determine no more.
const mostUnknown = 10

// Candidate is one possible circuit: a box file with the controls of the measured box.
type Candidate struct {
	Name     string // in plain words, unique in its family, the same on every call
	About    string // how the circuit runs from antenna to receiver, in one line
	Text     []byte // the box file; unknown values are written with their bounds
	Elements int    // number of unknown values, those of the moving parts among them
}

// Of makes every candidate with the moving parts and the controls of a measured box. settings are those at which it was
// measured; low and high are the ends of the traces in Hz, 0 < low <= high. The order is that of the list of cores. Errors
// are *fault.Error: Setting where the box does not have a setting, Request where there is nothing to guess by these rules.
func Of(b *box.Box, settings []box.Setting, low, high float64) ([]Candidate, error) {
	if !(low > 0) || !(high >= low) || math.IsInf(high, 0) {
		return nil, fault.New(fault.Request, fmt.Sprintf("no traces run from %g to %g Hz", low, high), "give the lowest and the highest frequency, above zero")
	}
	p, err := panelOf(b, settings)
	if err != nil {
		return nil, err
	}
	limits := boundsOf(low, high, p.capacitors)
	var all []Candidate
	seen := map[string]bool{}
	var covered choice // what the last candidate has as a special case
	for _, x := range p.choices() {
		if x == covered {
			continue
		}
		c := p.build(x, limits)
		if c == nil {
			continue
		}
		if same := c.canonical(); seen[same] {
			continue
		} else {
			seen[same] = true
		}
		candidate := Candidate{Name: p.name(x), About: p.about(x)}
		candidate.Text = p.write(c, candidate.Name, candidate.About)
		read, err := box.Parse(folder.Disk(), "candidate.box.yaml", candidate.Text)
		if err != nil {
			return nil, err
		}
		guessed := 0
		for _, u := range read.Unknowns() {
			candidate.Elements++
			if b.Part(u.Part.Name) == nil || !slices.Contains(p.moving(), b.Part(u.Part.Name)) {
				guessed++
			}
		}
		if guessed <= mostUnknown {
			all = append(all, candidate)
			covered = x
			covered.own = false
		}
	}
	return all, nil
}
