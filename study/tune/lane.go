package tune

import (
	"context"
	"fmt"
	"math"
	"math/cmplx"

	"knobwise/bench/box"
	"knobwise/bench/fault"
	"knobwise/bench/hookup"
	"knobwise/physics/multiaffine"
)

// lane is one combination of all switches, with the controls that are asked one by one at one place.
type lane struct {
	every       *hookup.Every // made for the assignment; read only once its functions were taken
	assignment  box.Setting
	combination int
	h           multiaffine.Function
	scale       hookup.Scale

	best  multiaffine.Maximum
	spots []spot // local maxima of the signal
}

// spot is a place of the axes in a lane. Score is the larger the better; what it counts depends on the aim.
type spot struct {
	lane  *lane
	x     []float64
	score float64
}

// setting is where all controls stand at a spot.
func (s spot) setting() box.Setting { return s.lane.every.Setting(s.lane.combination, s.x) }

// connect connects the box for one assignment and takes the network functions of all its combinations at f Hz.
func (a *tuner) connect(assignment box.Setting, fixed map[string]bool) ([]*lane, error) {
	every, err := hookup.ConnectEvery(a.q.Box, assignment, a.q.Setup, a.f, fixed)
	if err != nil {
		return nil, err
	}
	all := make([]*lane, len(every.Combinations))
	scale, err := every.At(a.f, func(c int, h *multiaffine.Function) bool {
		all[c] = &lane{every: every, assignment: assignment, combination: c}
		h.Copy(&all[c].h)
		return true
	})
	for _, l := range all {
		if l != nil {
			l.scale = scale
		}
	}
	return all, err
}

// nearby is how far from the frequency, as a part of it, lanes are compared once more: what does the same here and there
// does the same.
const nearby = 1.03

// alike is how close network functions must be to be the same, relative.
const alike = 1e-9

// fingerprint is the network function at a few places, at f and beside it.
type fingerprint []complex128

func (p *fingerprint) add(h *multiaffine.Function) {
	x := make([]float64, len(h.Degrees()))
	for i := range 3 {
		scatter(x, i)
		*p = append(*p, h.Value(x))
	}
}

// scatter writes the i-th of a few places that have nothing in common.
func scatter(x []float64, i int) {
	for k := range x {
		_, part := math.Modf(float64((i+1)*(k+2)) * math.Phi)
		x[k] = 1.8*part - 0.9
	}
}

func (p fingerprint) same(o fingerprint) bool {
	for i := range p {
		if !(cmplx.Abs(p[i]-o[i]) <= alike*cmplx.Abs(p[i])) {
			return false
		}
	}
	return true
}

// distinct drops lanes that do the same as another: of these it keeps the one that leaves the switches where they are, or
// the first.
func (a *tuner) distinct(tables [][]*lane) ([]*lane, error) {
	other := a.f * nearby
	if !a.covered(other) {
		other = a.f / nearby
	}
	type entry struct {
		index int
		print fingerprint
	}
	seen := map[int64][]entry{}
	var kept []*lane
	for _, table := range tables {
		prints := make([]fingerprint, len(table))
		for c, l := range table {
			prints[c].add(&l.h)
		}
		if every := table[0].every; a.covered(other) {
			var h multiaffine.Function
			if _, err := every.At(other, func(c int, all *multiaffine.Function) bool {
				all.Copy(&h)
				prints[c].add(&h)
				return true
			}); err != nil {
				return nil, err
			}
		}
		for c, l := range table {
			key := int64(math.Round(1e6 * math.Log(cmplx.Abs(prints[c][0])+1e-300)))
			found := -1
			for k := key - 1; k <= key+1 && found < 0; k++ {
				for _, e := range seen[k] {
					if e.print.same(prints[c]) {
						found = e.index
					}
				}
			}
			switch {
			case found < 0:
				seen[key] = append(seen[key], entry{len(kept), prints[c]})
				kept = append(kept, l)
			case a.unmoved(l):
				kept[found] = l
			}
		}
	}
	return kept, nil
}

// unmoved reports whether a lane has every control that has positions where the question has it.
func (a *tuner) unmoved(l *lane) bool {
	s := l.every.Combinations[l.combination]
	for _, c := range a.q.Box.Controls {
		switch {
		case l.every.IsOneByOne(c):
			if l.assignment[c.Name] != a.q.At[c.Name] {
				return false
			}
		case c.Switch != nil && s[c.Name] != a.q.At[c.Name]:
			return false
		}
	}
	return true
}

// Boxes that the proof of one lane may examine: at first, and where that is not enough.
const fewBoxes, manyBoxes = 20000, 200000

// strongest finds the strongest signal of a lane and its local maxima.
func (a *tuner) strongest(ctx context.Context, l *lane) error {
	var s multiaffine.Searcher
	for _, boxes := range []int{fewBoxes, manyBoxes} {
		l.best = s.Maximum(&l.h, multiaffine.Effort{Boxes: boxes, Stop: func() bool { return ctx.Err() != nil }})
		if err := ctx.Err(); err != nil {
			return err
		}
		if l.best.Proven {
			break
		}
	}
	if math.IsNaN(l.best.Power) || math.IsInf(l.best.Power, 0) {
		return fault.New(fault.Unsolvable, fmt.Sprintf("the circuit resonates without loss at %s, so its signal has no bound", hertz(a.f)),
			"give its parts a Q")
	}
	l.spots = []spot{{l, l.best.X, l.best.Power}}
	for _, p := range s.Maxima(&l.h, multiaffine.Effort{}, multiaffine.Apart{Count: mostStarts, Share: ratio(-asGood), Distance: 0.05}) {
		if p.Power >= 0 && !math.IsInf(p.Power, 0) {
			l.spots = append(l.spots, spot{l, p.X, p.Power})
		}
	}
	return nil
}
