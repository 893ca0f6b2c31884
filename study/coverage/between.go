package coverage

import (
	"context"
	"maps"
	"math"

	"knobwise/bench/box"
	"knobwise/bench/hookup"
)

// between asks a knob that is asked one reading after another between its readings. Where the response rises with frequency
// at one reading and falls at the next, a peak stands at some reading between; and the best is followed beside the reading
// at which it was found.
func (w *work) between(ctx context.Context, knob *box.Control, c *candidate, assignments []box.Setting, all [][][]found) error {
	reading := func(k int) float64 { return assignments[c.from[k].assignment][knob.Name].Number }
	whole := maps.Clone(assignments[c.from[0].assignment])
	maps.Copy(whole, c.switches)
	s := &slider{w: w, knob: knob, at: whole, still: map[string]bool{}}
	for _, o := range w.q.Box.Controls {
		s.still[o.Name] = o.Switch != nil || w.q.Fixed[o.Name]
	}
	last := len(c.from) - 1
	for i, f := range w.frequency {
		if err := ctx.Err(); err != nil {
			return err
		}
		at := func(k int) found { return all[c.from[k].assignment][i][c.from[k].combination] }
		better := func(p place, there box.Setting) {
			if p.power > c.at[i].best.power {
				c.at[i].best, c.settings[0][i] = p, there
			}
		}
		for k := range c.from {
			if k > 0 && !at(k).peaked && !at(k-1).peaked && at(k).upwards != at(k-1).upwards {
				p, there, err := s.crossing(f, reading(k-1), reading(k), at(k-1).upwards)
				if err != nil {
					return err
				}
				if there != nil {
					c.peaks(i, p, there)
					better(p, there)
				}
			}
			// A top between two readings stands above both; one that begins much lower than another is not it.
			power := at(k).best.power
			if power < at(max(k-1, 0)).best.power || power < at(min(k+1, last)).best.power || power < c.at[i].best.power/hidden {
				continue
			}
			p, there, err := s.climb(f, reading(k), math.Abs(reading(min(k+1, last))-reading(max(k-1, 0)))/2)
			if err != nil {
				return err
			}
			better(p, there)
		}
	}
	return nil
}

// hidden is how much stronger the signal may be between two readings than at them, as a ratio of powers: 30 dB.
const hidden = 1000

// slider asks one combination of switches at any reading of the knob.
type slider struct {
	w     *work
	knob  *box.Control
	at    box.Setting
	still map[string]bool
}

// look asks at a reading and a frequency.
func (s *slider) look(f, reading float64) (*asker, error) {
	every, err := hookup.ConnectEvery(s.w.q.Box, s.at.With(s.knob.Name, box.Reading{Number: reading}), s.w.q.Setup, s.w.frequency[0], s.still)
	if err != nil {
		return nil, err
	}
	a := newAsker(s.w, every)
	_, err = a.look(f, -1)
	return a, err
}

// crossing looks between two readings, at the first of which the response goes upwards or not and at the second the other
// way, for one with a peak at f; at is nil where a dip stands between them.
func (s *slider) crossing(f, from, to float64, upwards bool) (p place, at box.Setting, err error) {
	var a *asker
	for range 40 {
		middle := from + (to-from)/2
		if a, err = s.look(f, middle); err != nil {
			return p, nil, err
		}
		if found, ok := a.finder.search(&a.functions[0], len(a.every.Axes)); ok {
			p = place{append([]float64(nil), found.x...), found.power}
			return p, a.every.Setting(0, p.x), nil
		}
		if a.upwards(0) == upwards {
			from = middle
		} else {
			to = middle
		}
	}
	if len(a.every.Axes) > 0 {
		return p, nil, nil
	}
	h := &a.functions[0]
	if here := h[1].Power(nil); here > h[0].Power(nil) && here > h[2].Power(nil) {
		return place{power: here}, a.every.Setting(0, nil), nil
	}
	return p, nil, nil
}

// climb goes from a reading to where the signal is strongest beside it.
func (s *slider) climb(f, reading, step float64) (p place, at box.Setting, err error) {
	try := func(reading float64) (bool, error) {
		a, err := s.look(f, reading)
		if err != nil {
			return false, err
		}
		found := a.strongest.search(&a.functions[0][1])
		if !(found.power > p.power) {
			return false, nil
		}
		p = place{append([]float64(nil), found.x...), found.power}
		at = a.every.Setting(0, p.x)
		return true, nil
	}
	if _, err := try(reading); err != nil {
		return p, nil, err
	}
	for least := step * 1e-4; step > least; {
		gained := false
		for _, way := range []float64{-1, 1} {
			next := clamp(s.knob.Knob, reading+way*step)
			better, err := try(next)
			if err != nil {
				return p, nil, err
			}
			if better {
				reading, gained = next, true
				break
			}
		}
		if !gained {
			step /= 2
		}
	}
	return p, at, nil
}
