package tune

import (
	"context"
	"fmt"
	"maps"
	"math"
	"sort"

	"knobwise/bench/box"
)

// level finds settings with the wanted level, or the one that comes nearest.
func (a *tuner) level(ctx context.Context, r *Answer, strongest []spot) ([]spot, error) {
	const rounding = 1e-9 // dB
	wanted := ratio(a.q.Level) / a.straight
	most := a.peak.score
	if short := a.q.Level - decibels(most*a.straight); short > rounding {
		a.tell(aimShare)
		a.missed(r, short, fmt.Sprintf("the strongest setting reaches %s dB, %.3g dB short of the wanted %s dB",
			signed(a.q.Level-short), short, signed(a.q.Level)))
		return strongest, nil
	}
	a.goal = a.attenuating(a.f)
	a.goal.floor, a.goal.exact = math.Min(wanted, most), true
	if len(a.goal.frequencies) == 1 {
		r.Notices = append(r.Notices, "no frequency a fifth to either side lies inside the measured files, so of the settings with the wanted level any is told")
	}
	weak := make(map[*lane]*spot, len(a.lanes))
	for _, l := range a.lanes {
		weak[l] = &spot{}
	}
	found, err := a.over(ctx, a.lanes, aimShare, func(ctx context.Context, l *lane) ([]spot, error) {
		all, least, err := a.atLevel(ctx, l)
		if w := weak[l]; w != nil { // not one between the readings
			*w = least
		}
		return all, err
	})
	if err != nil {
		return nil, err
	}
	if found, err = a.between(ctx, found); err != nil || len(found) > 0 {
		return found, err
	}
	return a.nearest(r, weak), nil
}

// between adds settings with the wanted level between two readings of knobs that are asked one by one, where the strongest
// signal at one reading has more and that at the next has less: needed where no other knob can settle the rest.
func (a *tuner) between(ctx context.Context, found []spot) ([]spot, error) {
	if len(a.sliding) == 0 {
		return found, nil
	}
	none := len(found) == 0
	for _, strong := range a.lanes {
		for _, weak := range a.lanes {
			if !(strong.best.Power >= a.goal.floor && weak.best.Power < a.goal.floor) || !(none || len(strong.every.Axes) == 0) || !a.beside(strong, weak) {
				continue
			}
			p, err := a.crossing(ctx, strong, weak)
			if err != nil {
				return nil, err
			}
			found = append(found, p)
		}
	}
	sort.SliceStable(found, func(i, j int) bool { return found[i].score > found[j].score })
	return found, nil
}

// crossing goes from one reading to the next to where the strongest signal has the wanted level.
func (a *tuner) crossing(ctx context.Context, strong, weak *lane) (spot, error) {
	near := strong
	from, to := 0.0, 1.0
	for range 60 {
		part := from + (to-from)/2
		at := maps.Clone(strong.assignment)
		for _, c := range a.sliding {
			high, low := strong.assignment[c.Name].Number, weak.assignment[c.Name].Number
			at[c.Name] = box.Reading{Number: high + part*(low-high)}
		}
		spots, err := a.moved(ctx, strong, at, a.loudest)
		if err != nil {
			return spot{}, err
		}
		if l := spots[0].lane; l.best.Power >= a.goal.floor {
			from, near = part, l
		} else {
			to = part
		}
	}
	s, err := a.surface(near, a.goal)
	if err != nil {
		return spot{}, err
	}
	p := spot{near, near.best.X, 0}
	p.score = s.scoreAt(s.reduced(p.x))
	return p, nil
}

// atLevel finds the settings of a lane with the wanted level; where there are none, its weakest.
func (a *tuner) atLevel(ctx context.Context, l *lane) (all []spot, least spot, err error) {
	if l.best.Power < a.goal.floor {
		return nil, spot{}, nil
	}
	s, err := a.surface(l, a.goal)
	if err != nil {
		return nil, spot{}, err
	}
	if all = s.solve(ctx); len(all) > 0 || ctx.Err() != nil {
		return all, spot{}, nil
	}
	w, err := a.surface(l, weakening(a.f))
	if err != nil {
		return nil, spot{}, err
	}
	found := w.solve(ctx)
	if len(found) == 0 {
		return nil, spot{}, nil
	}
	least = found[0]
	if -least.score >= a.goal.floor || s.axes == 0 {
		return nil, least, nil
	}
	// The level lies between the weakest and the strongest, so it is met on the way from one to the other.
	p := spot{l, s.towards(s.reduced(least.x), s.reduced(l.best.X)), 0}
	p.score = s.scoreAt(p.x)
	s.polish(ctx, &p, startStep, 1e-8)
	return []spot{s.expanded(p)}, least, nil
}

// towards goes along the straight way between two places to the goal's |H|².
func (s *surface) towards(low, high []float64) []float64 {
	x := make([]float64, s.axes)
	from, to := 0.0, 1.0
	for range 100 {
		part := from + (to-from)/2
		for k := range x {
			x[k] = low[k] + part*(high[k]-low[k])
		}
		if s.f[0].Power(x) < s.goal.floor {
			from = part
		} else {
			to = part
		}
	}
	return x
}

func (s *surface) scoreAt(x []float64) float64 {
	return s.goal.score(func(k int) float64 { return s.weight[k] * s.f[k].Power(x) })
}

// nearest is the setting that comes nearest to a level that none has.
func (a *tuner) nearest(r *Answer, weak map[*lane]*spot) []spot {
	gain := func(power float64) float64 { return decibels(power * a.straight) }
	var best spot
	off, above := math.Inf(1), true
	look := func(p spot, power float64) {
		if d := math.Abs(gain(power) - a.q.Level); d < off {
			best, off = p, d
		}
	}
	for _, l := range a.lanes {
		look(l.spots[0], l.best.Power)
		above = above && gain(l.best.Power) > a.q.Level
		if p := weak[l]; p.lane != nil {
			look(*p, -p.score)
			above = above && gain(-p.score) > a.q.Level
		}
	}
	at := gain(best.lane.h.Power(best.x))
	if above {
		a.missed(r, off, fmt.Sprintf("the weakest setting found still gives %s dB, %.3g dB above the wanted %s dB", signed(at), off, signed(a.q.Level)))
	} else {
		a.missed(r, off, fmt.Sprintf("no setting found gives %s dB; the nearest gives %s dB, %.3g dB off", signed(a.q.Level), signed(at), off))
	}
	return []spot{best}
}

func (a *tuner) missed(r *Answer, short float64, why string) {
	r.Met, r.Short, r.Why = false, short, why
}

// signed writes decibels with their sign.
func signed(dB float64) string {
	if math.Abs(dB) < 0.005 {
		return "0"
	}
	return fmt.Sprintf("%+.4g", dB)
}
