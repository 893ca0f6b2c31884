package coverage

import (
	"cmp"
	"context"
	"errors"
	"maps"
	"math"
	"slices"
	"sync"
	"sync/atomic"

	"knobwise/bench/box"
	"knobwise/bench/hookup"
	"knobwise/study/sweep"
)

// alike is how close two combinations must be at every frequency to be one lane, relative in power.
const alike = 1e-9

// candidate is one combination of all switches, with the best over the controls that are asked one by one.
type candidate struct {
	switches box.Setting
	from     []origin // where it can be asked again
	at       []found
	settings [2][]box.Setting // of the best signal and of the best peak at each frequency
}

// origin is a combination of one assignment of the controls that are asked one by one.
type origin struct{ assignment, combination int }

func (r *Result) assemble(ctx context.Context, w *work, assignments []box.Setting, every *hookup.Every, all [][][]found) error {
	var candidates []*candidate
	for a, assignment := range assignments {
		for c, combination := range every.Combinations {
			switches := box.Setting{}
			for _, control := range r.switchesOf(w) {
				switches[control.Name] = combination[control.Name]
				if every.IsOneByOne(control) {
					switches[control.Name] = assignment[control.Name]
				}
			}
			one := w.candidate(every, switches, assignment, c, all[a])
			one.from = []origin{{a, c}}
			candidates = merge(candidates, one)
		}
	}
	var groups [][]*candidate
	for _, c := range candidates {
		if c.loudest(w) < quiet {
			r.Silent++
			continue
		}
		i := slices.IndexFunc(groups, func(g []*candidate) bool { return same(g[0].at, c.at) })
		if i < 0 {
			groups = append(groups, nil)
			i = len(groups) - 1
		}
		groups[i] = append(groups[i], c)
	}
	for _, g := range groups {
		l := w.lane(g, r.switchesOf(w))
		var err error
		if l.Ranges, err = w.ranges(g[0]); err != nil {
			return err
		}
		r.Lanes = append(r.Lanes, l)
	}
	if w.q.Widths {
		if err := r.widths(ctx, w); err != nil {
			return err
		}
	}
	r.choose()
	for i := range r.Lanes {
		if err := r.effects(w, &r.Lanes[i]); err != nil {
			return err
		}
	}
	return nil
}

func (r *Result) switchesOf(w *work) (all []*box.Control) {
	for _, c := range w.q.Box.Controls {
		if c.Switch != nil {
			all = append(all, c)
		}
	}
	return all
}

func (w *work) candidate(every *hookup.Every, switches, assignment box.Setting, combination int, table [][]found) *candidate {
	c := &candidate{switches: switches}
	for i := range table {
		f := table[i][combination]
		c.at = append(c.at, f)
		c.settings[0] = append(c.settings[0], w.setting(every, assignment, combination, f.best))
		peak := box.Setting(nil)
		if f.peaked {
			peak = w.setting(every, assignment, combination, f.peak)
		}
		c.settings[1] = append(c.settings[1], peak)
	}
	return c
}

// setting is where all controls stand.
func (w *work) setting(every *hookup.Every, assignment box.Setting, combination int, p place) box.Setting {
	s := every.Setting(combination, p.x)
	for _, c := range every.OneByOne { // every may have been made for another assignment
		s[c.Name] = assignment[c.Name]
	}
	return s
}

// merge keeps the better of two readings of a knob that is asked one by one, frequency by frequency.
func merge(all []*candidate, c *candidate) []*candidate {
	i := slices.IndexFunc(all, func(o *candidate) bool { return maps.Equal(o.switches, c.switches) })
	if i < 0 {
		return append(all, c)
	}
	o := all[i]
	o.from = append(o.from, c.from...)
	for f := range c.at {
		if c.at[f].best.power > o.at[f].best.power {
			o.at[f].best, o.settings[0][f] = c.at[f].best, c.settings[0][f]
		}
		if c.at[f].peaked && !(o.at[f].peaked && o.at[f].peak.power >= c.at[f].peak.power) {
			o.at[f].peak, o.at[f].peaked, o.settings[1][f] = c.at[f].peak, true, c.settings[1][f]
		}
	}
	return all
}

func same(a, b []found) bool {
	for i := range a {
		if math.Abs(a[i].best.power-b[i].best.power) > alike*a[i].best.power || a[i].peaked != b[i].peaked ||
			a[i].peaked && math.Abs(a[i].peak.power-b[i].peak.power) > alike*a[i].peak.power || a[i].rising != b[i].rising {
			return false
		}
	}
	return true
}

// loudest is the highest insertion gain of a combination, dB.
func (c *candidate) loudest(w *work) float64 {
	most := math.Inf(-1)
	for i, f := range c.at {
		most = max(most, decibels(f.best.power*w.scales[i].Insertion))
	}
	return most
}

func decibels(ratio float64) float64 { return 10 * math.Log10(ratio) }

// lane makes one lane of combinations that do the same. A switch is idle where the lane has all its positions with every
// combination of the others.
func (w *work) lane(group []*candidate, switches []*box.Control) Lane {
	first := group[0]
	l := Lane{Switches: first.switches}
	for _, c := range switches {
		if !w.q.Fixed[c.Name] && idle(group, c) {
			l.Idle = append(l.Idle, c.Name)
		}
	}
	for i, f := range first.at {
		l.Best = append(l.Best, w.point(i, f.best.power, first.settings[0][i]))
		peak := Point{Insertion: math.NaN(), Transducer: math.NaN(), Width: math.NaN()}
		if f.peaked {
			peak = w.point(i, f.peak.power, first.settings[1][i])
		}
		l.Peaks = append(l.Peaks, peak)
	}
	return l
}

func idle(group []*candidate, c *box.Control) bool {
	for _, one := range group {
		for _, p := range c.Switch.Positions {
			other := one.switches.With(c.Name, box.Reading{Word: p.Name})
			if !slices.ContainsFunc(group, func(o *candidate) bool { return maps.Equal(o.switches, other) }) {
				return false
			}
		}
	}
	return len(c.Switch.Positions) > 1
}

func (w *work) point(i int, power float64, s box.Setting) Point {
	return Point{
		Insertion: decibels(power * w.scales[i].Insertion), Transducer: decibels(power * w.scales[i].Transducer),
		Width: math.NaN(), Setting: s,
	}
}

// ranges joins neighbouring frequencies with a peak, and looks between the last with and the first without for the end.
func (w *work) ranges(c *candidate) (all []Range, err error) {
	at := c.at
	for i := 0; i < len(at); i++ {
		switch {
		case at[i].peaked:
			r := Range{w.frequency[i], w.frequency[i]}
			if i > 0 {
				r.Low, err = w.end(c, w.frequency[i], w.frequency[i-1])
			}
			for i+1 < len(at) && at[i+1].peaked {
				i++
			}
			r.High = w.frequency[i]
			if err == nil && i+1 < len(at) {
				r.High, err = w.end(c, w.frequency[i], w.frequency[i+1])
			}
			all = append(all, r)
		case i > 0 && len(at[i].best.x) == 0 && at[i-1].rising && !at[i].rising:
			// Nothing to turn: the one peak lies between two points of the sweep.
			var f float64
			f, err = w.end(c, w.frequency[i-1], w.frequency[i])
			all = append(all, Range{f, f})
		}
		if err != nil {
			return nil, err
		}
	}
	return all, nil
}

// end goes from a frequency with a peak (or, with nothing to turn, on the rising side of one) towards one without.
func (w *work) end(c *candidate, inside, outside float64) (float64, error) {
	for range 10 {
		middle := (inside + outside) / 2
		in := false
		for _, o := range c.from {
			a := w.askers[o.assignment]
			if _, err := a.look(middle, o.combination); err != nil {
				return 0, err
			}
			_, ok := a.finder.search(&a.functions[o.combination], len(a.every.Axes))
			if in = ok || a.rising(o.combination); in {
				break
			}
		}
		if in {
			inside = middle
		} else {
			outside = middle
		}
	}
	return inside, nil
}

// widths finds the width of every peak on the full solve.
func (r *Result) widths(ctx context.Context, w *work) error {
	type job struct{ lane, i int }
	var jobs []job
	for l := range r.Lanes {
		for i, p := range r.Lanes[l].Peaks {
			if p.Setting != nil {
				jobs = append(jobs, job{l, i})
			}
		}
	}
	var next atomic.Int64
	var group sync.WaitGroup
	failures := make([]error, w.q.Threads)
	for thread := range failures {
		group.Go(func() {
			for {
				n := int(next.Add(1)) - 1
				if n >= len(jobs) || ctx.Err() != nil {
					return
				}
				p := &r.Lanes[jobs[n].lane].Peaks[jobs[n].i]
				width, err := w.width(p.Setting, jobs[n].i)
				if err != nil {
					failures[thread] = err
					return
				}
				p.Width = width
			}
		})
	}
	group.Wait()
	return errors.Join(append(failures, ctx.Err())...)
}

func (w *work) width(s box.Setting, i int) (float64, error) {
	h, err := hookup.Connect(w.q.Box, s, w.q.Setup)
	if err != nil {
		return 0, err
	}
	return sweep.Width(h, sweep.LoadVoltage, w.frequency[i], w.frequency)
}

// better is by how many decibels another lane must be stronger before it is worth turning a switch.
const better = 1

// choose says which lane to use where, and where none helps.
func (r *Result) choose() {
	current := -1
	for i, f := range r.Frequency {
		best := -1
		for l := range r.Lanes {
			if p := r.Lanes[l].Peaks[i].Insertion; !math.IsNaN(p) && (best < 0 || p > r.Lanes[best].Peaks[i].Insertion) {
				best = l
			}
		}
		if best >= 0 && current >= 0 {
			if now := r.Lanes[current].Peaks[i].Insertion; now >= r.Lanes[best].Peaks[i].Insertion-better {
				best = current
			}
		}
		switch {
		case best < 0:
		case best == current:
			r.Use[len(r.Use)-1].High = f
		default:
			r.Use = append(r.Use, Use{Range{f, f}, best})
		}
		current = best
	}
	r.sharpen()
	r.Gaps = r.gaps()
}

// sharpen takes the ends of uses from points of the sweep to where the lane itself begins and ends, or to where the next
// lane takes over.
func (r *Result) sharpen() {
	for i := range r.Use {
		u := &r.Use[i]
		for _, own := range r.Lanes[u.Lane].Ranges {
			if own.Low > u.High || own.High < u.Low {
				continue
			}
			low, high := r.Over.From, r.Over.To
			if i > 0 {
				low = r.Use[i-1].High
			}
			if i+1 < len(r.Use) {
				high = r.Use[i+1].Low
			}
			u.Low, u.High = min(u.Low, max(own.Low, low)), max(u.High, min(own.High, high))
		}
	}
}

// gaps are what is left of the sweep between the ranges of all lanes.
func (r *Result) gaps() (all []Range) {
	var ranges []Range
	for _, l := range r.Lanes {
		for _, own := range l.Ranges {
			if own.Low < own.High {
				ranges = append(ranges, own)
			}
		}
	}
	slices.SortFunc(ranges, func(a, b Range) int { return cmp.Compare(a.Low, b.Low) })
	reached := r.Over.From
	for _, own := range append(ranges, Range{r.Over.To, r.Over.To}) {
		// Ranges are exact to a thousandth of a step: what is narrower is no gap.
		if own.Low-reached > (r.Over.To-r.Over.From)/float64(len(r.Frequency))/100 {
			all = append(all, Range{reached, own.Low})
		}
		reached = max(reached, own.High)
	}
	return all
}
