package tune

import (
	"math"
	"slices"

	"knobwise/bench/box"
	"knobwise/bench/hookup"
	"knobwise/physics/multiaffine"
)

// offBy is the change of gain in dB that a dial's tolerance allows.
const offBy = 1

// tolerances are those of every knob at a setting.
func (a *tuner) tolerances(s box.Setting) (all []Tolerance, err error) {
	switches := map[string]bool{} // a knob that is fixed has its tolerance all the same
	for _, c := range a.q.Box.Controls {
		switches[c.Name] = c.Switch != nil
	}
	every, err := hookup.ConnectEvery(a.q.Box, s, a.q.Setup, a.f, switches)
	if err != nil {
		return nil, err
	}
	var h multiaffine.Function
	if _, err := every.At(a.f, func(_ int, f *multiaffine.Function) bool {
		f.Copy(&h)
		return false
	}); err != nil {
		return nil, err
	}
	x := make([]float64, len(every.Axes))
	for i, axis := range every.Axes {
		x[i] = axis.X(s[axis.Control.Name].Number)
	}
	for _, c := range a.q.Box.Controls {
		if c.Knob == nil {
			continue
		}
		t := Tolerance{Control: c.Name}
		if every.IsOneByOne(c) {
			t.Low, t.High, err = a.walked(s, c)
		}
		for i, axis := range every.Axes {
			if axis.Control == c {
				low, high := within(&h, x, i)
				low, high = axis.Reading(low), axis.Reading(high)
				t.Low, t.High = min(low, high), max(low, high)
			}
		}
		if err != nil {
			return nil, err
		}
		all = append(all, t)
	}
	return all, nil
}

// within is the part of an axis about a place on which the power stays close to that there.
func within(h *multiaffine.Function, x []float64, axis int) (low, high float64) {
	f := new(multiaffine.Function)
	h.Copy(f)
	for i, other := range slices.Backward(x) {
		if i != axis {
			next := new(multiaffine.Function)
			f.Fix(i, other, next)
			f = next
		}
	}
	var l line
	l.set(f)
	const rounding = 1e-9
	at := x[axis]
	power := l.power(at)
	low, high = -1, 1
	if !(power > 0) {
		return low, high
	}
	for _, r := range l.above(power * ratio(-offBy)) {
		if r.Low <= at+rounding && r.High >= at-rounding {
			low, high = r.Low, r.High
		}
	}
	for _, r := range l.above(power * ratio(offBy)) {
		if r.High < at {
			low = max(low, r.High)
		}
		if r.Low > at {
			high = min(high, r.Low)
		}
	}
	return low, high
}

// walked is the same for a knob that is asked one reading after another, by the full solve: in growing steps from the
// setting until the gain has changed enough, then closer.
func (a *tuner) walked(s box.Setting, c *box.Control) (low, high float64, err error) {
	gain := func(reading float64) float64 {
		m, failed := a.figures(s.With(c.Name, box.Reading{Number: reading}))
		if failed != nil {
			err = failed
			return math.NaN()
		}
		p, _ := m.powers(a.f)
		if m.err != nil {
			err = m.err
		}
		return decibels(p)
	}
	at := s[c.Name].Number
	wanted := gain(at)
	inside := func(reading float64) bool { return math.Abs(gain(reading)-wanted) <= offBy }
	limit := func(stop float64) float64 {
		last, scale := at, math.Abs(c.Knob.To-c.Knob.From)
		for step := 1e-6 * scale; last != stop && err == nil; step *= 1.25 {
			next := at + math.Copysign(math.Min(step, math.Abs(stop-at)), stop-at)
			if math.Abs(stop-next) < 1e-12*scale {
				next = stop
			}
			if inside(next) {
				last = next
				continue
			}
			for range 60 {
				if middle := last + (next-last)/2; inside(middle) {
					last = middle
				} else {
					next = middle
				}
			}
			break
		}
		return last
	}
	low, high = limit(min(c.Knob.From, c.Knob.To)), limit(max(c.Knob.From, c.Knob.To))
	return low, high, err
}
