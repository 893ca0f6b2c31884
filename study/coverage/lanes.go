package coverage

import (
	"cmp"
	"context"
	"errors"
	"math"
	"math/cmplx"
	"slices"
	"strings"
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
	known := map[string]*candidate{}
	for a, assignment := range assignments {
		for c, combination := range every.Combinations {
			if err := ctx.Err(); err != nil {
				return err
			}
			switches := box.Setting{}
			for _, control := range r.switchesOf(w) {
				switches[control.Name] = combination[control.Name]
				if every.IsOneByOne(control) {
					switches[control.Name] = assignment[control.Name]
				}
			}
			one := w.candidate(every, switches, assignment, c, all[a])
			one.from = []origin{{a, c}}
			if o := known[w.key(switches)]; o != nil {
				o.merge(one)
			} else {
				known[w.key(switches)] = one
				candidates = append(candidates, one)
			}
		}
	}
	if knobs := sliding(every); len(knobs) == 1 {
		for _, c := range candidates {
			if err := w.between(ctx, knobs[0], c, assignments, all); err != nil {
				return err
			}
		}
	}
	var groups [][]*candidate
	alikes := map[int64][]int{} // groups by their level in the middle of the sweep
	for _, c := range candidates {
		if err := ctx.Err(); err != nil {
			return err
		}
		if c.loudest(w) < quiet {
			r.Silent++
			continue
		}
		level, found := c.level(), -1
		for k := level - 1; k <= level+1 && found < 0; k++ {
			for _, i := range alikes[k] {
				if same(groups[i][0].at, c.at) {
					found = i
					break
				}
			}
		}
		if found < 0 {
			groups = append(groups, nil)
			found = len(groups) - 1
			alikes[level] = append(alikes[level], found)
		}
		groups[found] = append(groups[found], c)
	}
	for _, g := range groups {
		l := w.lane(g, r.switchesOf(w))
		var err error
		if l.Ranges, err = w.ranges(ctx, g[0]); err != nil {
			return err
		}
		if l.Singles, err = w.singles(g[0], l.Ranges); err != nil {
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
		if err := errors.Join(ctx.Err(), r.effects(w, &r.Lanes[i])); err != nil {
			return err
		}
	}
	return nil
}

// key names a combination of switches.
func (w *work) key(switches box.Setting) string {
	var b strings.Builder
	for _, c := range w.q.Box.Controls {
		if c.Switch != nil {
			b.WriteString(switches[c.Name].Word + "\x00")
		}
	}
	return b.String()
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
func (c *candidate) merge(one *candidate) {
	c.from = append(c.from, one.from...)
	for f := range one.at {
		if one.at[f].best.power > c.at[f].best.power {
			c.at[f].best, c.settings[0][f] = one.at[f].best, one.settings[0][f]
		}
		if one.at[f].peaked {
			c.peaks(f, one.at[f].peak, one.settings[1][f])
		}
	}
}

// peaks takes a peak at a frequency, where none was or it is stronger.
func (c *candidate) peaks(f int, p place, s box.Setting) {
	if !c.at[f].peaked || p.power > c.at[f].peak.power {
		c.at[f].peak, c.at[f].peaked, c.settings[1][f] = p, true, s
	}
}

// level is the strongest signal in the middle of the sweep in steps of a ten-thousandth: what does the same has the same, or
// its neighbour by rounding.
func (c *candidate) level() int64 {
	return int64(math.Round(1e4 * math.Log(c.at[len(c.at)/2].best.power+1e-300)))
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
	members := map[string]bool{}
	for _, c := range group {
		members[w.key(c.switches)] = true
	}
	for _, c := range switches {
		if !w.q.Fixed[c.Name] && w.idle(group, members, c) {
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

func (w *work) idle(group []*candidate, members map[string]bool, c *box.Control) bool {
	for _, one := range group {
		for _, p := range c.Switch.Positions {
			if !members[w.key(one.switches.With(c.Name, box.Reading{Word: p.Name}))] {
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
func (w *work) ranges(ctx context.Context, c *candidate) (all []Range, err error) {
	at := c.at
	for i := 0; i < len(at); i++ {
		if err := ctx.Err(); err != nil {
			return nil, err
		}
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

// singles judges the peaks that nothing moves, on the full solve.
func (w *work) singles(c *candidate, ranges []Range) (all []Single, err error) {
	for _, own := range ranges {
		if own.Low < own.High {
			continue
		}
		h, err := hookup.Connect(w.q.Box, c.settings[0][0], w.q.Setup)
		if err != nil {
			return nil, err
		}
		x, err := h.Response(own.Low)
		if err != nil {
			return nil, err
		}
		one := Single{own.Low, Point{Insertion: 20 * math.Log10(cmplx.Abs(x.Load)/cmplx.Abs(x.Straight)), Transducer: 10 * math.Log10(x.LoadPower/x.AvailablePower), Setting: c.settings[0][0]}}
		if one.Width, err = sweep.Width(h, sweep.LoadVoltage, own.Low, w.frequency); err != nil {
			return nil, err
		}
		all = append(all, one)
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
			if in = ok || len(c.from) == 1 && a.rising(o.combination); in {
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
