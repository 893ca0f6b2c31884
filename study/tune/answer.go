package tune

import (
	"context"
	"maps"
	"math"
	"slices"
	"sort"

	"knobwise/bench/box"
)

// tuner answers for one frequency.
type tuner struct {
	*work
	f       float64 // Hz
	threads int

	lanes    []*lane // that differ
	peak     spot    // of the signal, over all lanes
	straight float64 // insertion gain per |H|²
	goal     *goal
	least    float64 // |H|² that the aim must keep
	deaf     bool    // nothing reaches the load
}

// Shares of the work, for progress.
const strongShare, aimShare = 0.3, 0.7

// silent is the insertion gain in dB below which nothing reaches the load.
const silent = -150

func (a *tuner) answer(ctx context.Context, r *Answer) error {
	*r = Answer{Frequency: a.f, Met: true, Gap: math.NaN()}
	r.Unit, r.Meaning = a.meaning()
	spots, err := a.signal(ctx, r)
	if err != nil {
		return err
	}
	a.peak = spots[0]
	if !slices.Contains(a.lanes, a.peak.lane) { // found between readings; none of these may come near it
		a.lanes = append(a.lanes, a.peak.lane)
	}
	strongest := decibels(a.peak.score * a.straight)
	switch {
	case strongest < silent:
		a.missed(r, math.NaN(), "nothing reaches the load at any setting")
		r.Gap, r.Proven, a.deaf = math.NaN(), false, true
	case a.q.Aim == Level:
		if spots, err = a.level(ctx, r, spots); err != nil {
			return err
		}
	case a.q.Aim != Signal:
		a.goal = a.limited()
		if spots, err = a.over(ctx, a.lanes, aimShare, a.solve); err != nil {
			return err
		}
		if a.q.Aim == Flat && (len(spots) == 0 || spots[0].score <= below) {
			// No span is held; the highest floor need not lie where the frequency itself is strong.
			a.goal.floor = 0
			if spots, err = a.over(ctx, a.lanes, 0, a.solve); err != nil {
				return err
			}
		}
	}
	if a.q.Aim == Signal || strongest < silent {
		a.tell(aimShare)
	}
	if err := ctx.Err(); err != nil {
		return err
	}
	if len(spots) == 0 { // with next to nothing to give up, rounding may hide what is left
		if spots, err = a.itself(); err != nil {
			return err
		}
	}
	return a.report(ctx, r, spots)
}

// itself is the strongest setting as the answer to the goal.
func (a *tuner) itself() ([]spot, error) {
	s, err := a.surface(a.peak.lane, a.goal)
	if err != nil {
		return nil, err
	}
	p := a.peak
	p.score = s.scoreAt(s.reduced(p.x))
	return []spot{p}, nil
}

// limited is the goal of an aim that gives up some signal.
func (a *tuner) limited() *goal {
	// The allowance is for rounding: with nothing to give up, the strongest setting itself must remain.
	const allowance = 1e-10
	floor := a.peak.score * ratio(-*a.q.Within) * (1 - allowance)
	var g *goal
	switch a.q.Aim {
	case Rejection:
		g = rejecting(a.f, a.q.Reject)
	case Width:
		g = a.widening(a.f)
	default:
		g = flattening(a.f, *a.q.Span, floor*a.straight)
	}
	g.floor, a.least = floor, floor
	return g
}

// signal finds the strongest signal of every lane, and its local maxima over all.
func (a *tuner) signal(ctx context.Context, r *Answer) ([]spot, error) {
	tables := make([][]*lane, len(a.assignments))
	if err := a.parallel(ctx, a.threads, len(tables), 0, func(i int) (err error) {
		tables[i], err = a.connect(a.assignments[i], a.q.Fixed)
		return err
	}); err != nil {
		return nil, err
	}
	var err error
	if a.lanes, err = a.distinct(tables); err != nil {
		return nil, err
	}
	a.straight = a.lanes[0].scale.Insertion
	spots, err := a.over(ctx, a.lanes, strongShare, a.loudest)
	if err != nil {
		return nil, err
	}
	if len(a.sliding) > 0 {
		return spots, nil
	}
	bound := spots[0].score
	still := true
	for _, l := range a.lanes {
		bound = max(bound, l.best.Bound)
		still = still && len(l.every.Axes) == 0
	}
	if a.q.Aim == Signal || still {
		r.Gap = 0
		if bound > spots[0].score && !still {
			r.Gap = decibels(bound / spots[0].score)
		}
		r.Proven = r.Gap <= provenGap
	}
	return spots, nil
}

// loudest finds the strongest signal of a lane.
func (a *tuner) loudest(ctx context.Context, l *lane) ([]spot, error) {
	if err := a.strongest(ctx, l); err != nil {
		return nil, err
	}
	return l.spots, nil
}

// provenGap is within how many dB a bound counts as reached.
const provenGap = 1e-6

// over solves lanes and gathers their spots, the best first. Where readings of a knob stand for all of it, the best are
// followed between them.
func (a *tuner) over(ctx context.Context, lanes []*lane, share float64, solve func(context.Context, *lane) ([]spot, error)) ([]spot, error) {
	table := make([][]spot, len(lanes))
	if err := a.parallel(ctx, a.threads, len(lanes), share, func(i int) (err error) {
		table[i], err = solve(ctx, lanes[i])
		return err
	}); err != nil {
		return nil, err
	}
	all := slices.Concat(table...)
	best := func() { sort.SliceStable(all, func(i, j int) bool { return all[i].score > all[j].score }) }
	best()
	if len(a.sliding) == 0 || len(all) == 0 {
		return all, nil
	}
	var starts []spot
	for _, p := range all {
		if !slices.ContainsFunc(starts, func(q spot) bool { return a.beside(p.lane, q.lane) }) {
			starts = append(starts, p)
		}
		if len(starts) == mostSlides {
			break
		}
	}
	err := a.parallel(ctx, a.threads, len(starts), 0, func(i int) error { return a.slide(ctx, &starts[i], solve) })
	all = append(all, starts...)
	best()
	return all, err
}

// mostSlides is how many readings of knobs that are asked one by one are followed.
const mostSlides = 3

// beside reports whether two lanes differ by no more than one reading of each such knob.
func (a *tuner) beside(l, o *lane) bool {
	if !sameSwitches(a.q.Box, spot{l, make([]float64, len(l.every.Axes)), 0}.setting(), spot{o, make([]float64, len(o.every.Axes)), 0}.setting()) {
		return false
	}
	for _, c := range a.sliding {
		if math.Abs(l.assignment[c.Name].Number-o.assignment[c.Name].Number) > 1.5*a.slideStep(c) {
			return false
		}
	}
	return true
}

func sameSwitches(b *box.Box, s, o box.Setting) bool {
	for _, c := range b.Controls {
		if c.Switch != nil && s[c.Name] != o[c.Name] {
			return false
		}
	}
	return true
}

func (a *tuner) slideStep(c *box.Control) float64 {
	return math.Abs(c.Knob.To-c.Knob.From) / float64(slides[min(len(a.sliding), len(slides)-1)]-1)
}

// slide follows a spot along the knobs that are asked one by one, with everything else solved anew at each reading.
func (a *tuner) slide(ctx context.Context, p *spot, solve func(context.Context, *lane) ([]spot, error)) error {
	least := 1e-4
	if a.goal == nil {
		least = 1e-8
	}
	part := 0.5
	for part > least && ctx.Err() == nil {
		gained := false
		for _, c := range a.sliding {
			for _, way := range []float64{-1, 1} {
				k := c.Knob
				from := p.lane.assignment[c.Name].Number
				to := math.Max(min(k.From, k.To), math.Min(max(k.From, k.To), from+way*part*a.slideStep(c)))
				if to == from {
					continue
				}
				found, err := a.moved(ctx, p.lane, p.lane.assignment.With(c.Name, box.Reading{Number: to}), solve)
				if err != nil {
					return err
				}
				if len(found) > 0 && found[0].score > p.score+gain*math.Abs(p.score) {
					*p, gained = found[0], true
				}
			}
		}
		if !gained {
			part /= 2
		}
	}
	return nil
}

// moved solves the same combination of switches with another assignment.
func (a *tuner) moved(ctx context.Context, l *lane, assignment box.Setting, solve func(context.Context, *lane) ([]spot, error)) ([]spot, error) {
	maps.Copy(assignment, l.every.Combinations[l.combination])
	table, err := a.connect(assignment, a.still)
	if err != nil {
		return nil, err
	}
	if a.goal != nil { // else that is what solve does
		if err := a.strongest(ctx, table[0]); err != nil {
			return nil, err
		}
	}
	return solve(ctx, table[0])
}

// solve finds the best of a lane for the goal.
func (a *tuner) solve(ctx context.Context, l *lane) ([]spot, error) {
	if l.best.Power < a.goal.floor {
		return nil, nil
	}
	s, err := a.surface(l, a.goal)
	if err != nil {
		return nil, err
	}
	return s.solve(ctx), nil
}
