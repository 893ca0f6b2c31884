package tune

import (
	"fmt"
	"math"
	"slices"

	"knobwise/bench/fault"
	"knobwise/bench/quantity"
)

// apart is how far from the wanted frequency, as a part of it, one to reject must lie at least.
const apart = 1e-4

func hertz(f float64) string { return quantity.Format(f, quantity.Hertz, 6) }

// check refuses what contradicts itself. The frequencies are checked against measured files when the box is connected.
func (q Question) check() error {
	wrong := func(what, instead string) error { return fault.New(fault.Request, what, instead) }
	if !slices.Contains(Aims, q.Aim) {
		var known []string
		for _, a := range Aims {
			known = append(known, string(a))
		}
		return wrong(fmt.Sprintf("there is no aim %q", q.Aim), fault.DidYouMean(string(q.Aim), known))
	}
	for name := range q.At {
		if err := q.known(name); err != nil {
			return err
		}
	}
	for name := range q.Fixed {
		if err := q.known(name); err != nil {
			return err
		}
	}
	if len(q.Frequencies) == 0 {
		return wrong("no frequency is given to tune to", "give one like 3.7 MHz")
	}
	for _, f := range slices.Concat(q.Frequencies, q.Reject) {
		if !(f > 0) || math.IsInf(f, 0) {
			return wrong("a frequency is not above zero", "give one like 3.7 MHz")
		}
	}
	if w := *q.Within; !(w >= 0) || math.IsInf(w, 0) {
		return wrong("the signal that may be given up is not zero or more", "give it in decibels, like 3 dB")
	}
	if q.Aim != Rejection && len(q.Reject) > 0 {
		return wrong(fmt.Sprintf("frequencies to reject contradict the aim %q", q.Aim), fmt.Sprintf("leave them out, or take the aim %q", Rejection))
	}
	if q.Aim != Flat && q.Span != nil {
		return wrong(fmt.Sprintf("a span contradicts the aim %q", q.Aim), fmt.Sprintf("leave it out, or take the aim %q", Flat))
	}
	switch q.Aim {
	case Rejection:
		return q.checkReject()
	case Level:
		if math.IsNaN(q.Level) || math.IsInf(q.Level, 0) {
			return wrong("the wanted level is no number", "give it in decibels, like -10 dB")
		}
	case Flat:
		return q.checkSpan()
	}
	return nil
}

func (q Question) known(control string) error {
	if q.Box.Control(control) != nil {
		return nil
	}
	var known []string
	for _, c := range q.Box.Controls {
		known = append(known, c.Name)
	}
	instead := "this box has no controls"
	if len(known) > 0 {
		instead = fault.DidYouMean(control, known)
	}
	return fault.New(fault.Setting, fmt.Sprintf("%s has no control %q", q.Box.Name, control), instead)
}

func (q Question) checkReject() error {
	if len(q.Reject) == 0 {
		return fault.New(fault.Request, "no frequency is given to reject", "give one like 1.53 MHz")
	}
	for _, f := range q.Frequencies {
		for _, g := range q.Reject {
			if math.Abs(g-f) < apart*f {
				return fault.New(fault.Request, fmt.Sprintf("%s is both wanted and to be rejected", hertz(f)), "reject a frequency farther away")
			}
		}
	}
	return nil
}

func (q Question) checkSpan() error {
	if q.Span == nil {
		return fault.New(fault.Request, "no span is given over which the gain should be flat", "give one like 3.5 MHz .. 3.8 MHz")
	}
	from, to := q.Span.From, q.Span.To
	if !(from > 0 && to > from) || math.IsInf(to, 0) {
		return fault.New(fault.Request, "the span does not run from a frequency above zero to a higher one", "give one like 3.5 MHz .. 3.8 MHz")
	}
	for _, f := range q.Frequencies {
		if f < from || f > to {
			return fault.New(fault.Request, fmt.Sprintf("%s lies outside the span from %s to %s", hertz(f), hertz(from), hertz(to)),
				"tune to a frequency inside the span, or move the span")
		}
	}
	return nil
}
