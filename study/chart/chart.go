// Package chart asks for a tuning chart: for each of a list of frequencies the setting for the strongest signal, chosen so
// that going from one line to the next turns few switches.
//
// Results are plain data; a gain that does not exist is NaN.
package chart

import (
	"cmp"
	"context"
	"fmt"
	"maps"
	"math"
	"runtime"
	"slices"
	"sync"
	"sync/atomic"

	"knobwise/bench/box"
	"knobwise/bench/fault"
	"knobwise/bench/hookup"
	"knobwise/bench/setup"
	"knobwise/physics/multiaffine"
	"knobwise/study/sweep"
)

// Question is what to ask.
type Question struct {
	Box         *box.Box
	Setup       *setup.Setup
	At          box.Setting     // where the fixed controls stand
	Fixed       map[string]bool // controls that are not to be moved
	Frequencies []float64       // Hz; the chart has them in rising order, each once
	// Turn is how many decibels of signal the next line may lose for every switch that need not be turned; 1 is usual.
	Turn     float64
	Threads  int                // 0 for as many as the machine has; the result does not depend on it
	Progress func(done float64) // called now and then; may be nil
}

// Result is the chart.
type Result struct {
	Box, Setup string
	Lines      []Line
	Notices    []string
}

// Line is the setting for one frequency.
type Line struct {
	Frequency  float64     // Hz
	Setting    box.Setting // of all controls
	Turned     []string    // switches that differ from the line before; none on the first
	Insertion  float64     // insertion gain, dB
	Transducer float64     // transducer gain, dB
	Given      float64     // dB that lie between this and the strongest setting, for fewer turned switches
	Width      float64     // Hz between the points of half power about the peak nearest to the frequency; NaN where it has none
	Peak       float64     // Hz, of that peak
	Knobs      []Dial
}

// Dial is how exactly a knob must be set: between Low and High in readings the signal stays within 1 dB.
type Dial struct {
	Control   string
	Low, High float64
}

const (
	mostLines = 2000
	oneByOne  = 33 // readings of a knob that must be asked one after another
	within    = 1  // dB, of a dial's limits
)

// choice is the best of one combination of all switches at one frequency.
type choice struct {
	switches box.Setting
	setting  box.Setting
	power    float64 // |H|²
	dials    []Dial
}

// Run answers. Errors are *fault.Error, and the context's own where it ends first.
func Run(ctx context.Context, q Question) (*Result, error) {
	frequencies, err := q.frequencies()
	if err != nil {
		return nil, err
	}
	first := frequencies[0]
	every, err := hookup.ConnectEvery(q.Box, q.At, q.Setup, first, q.Fixed)
	if err != nil {
		return nil, err
	}
	if err := every.Covers(first, frequencies[len(frequencies)-1]); err != nil {
		return nil, err
	}
	assignments, err := every.Assignments(oneByOne)
	if err != nil {
		return nil, err
	}
	w := &work{q: q, frequencies: frequencies, assignments: assignments, choices: make([][]choice, len(frequencies)), scales: make([]hookup.Scale, len(frequencies))}
	if err := w.run(ctx); err != nil {
		return nil, err
	}
	r := &Result{Box: q.Box.Name, Setup: q.Setup.Name, Notices: every.Notices}
	return r, w.lines(r)
}

func (q Question) frequencies() ([]float64, error) {
	all := slices.Clone(q.Frequencies)
	slices.Sort(all)
	all = slices.Compact(all)
	switch {
	case len(all) == 0:
		return nil, fault.New(fault.Request, "no frequencies for the chart", "name some")
	case len(all) > mostLines:
		return nil, fault.New(fault.Request, fmt.Sprintf("%d lines are more than a chart can use", len(all)), fmt.Sprintf("ask for at most %d", mostLines))
	case !(all[0] > 0) || math.IsInf(all[len(all)-1], 0):
		return nil, fault.New(fault.Request, "a frequency of the chart is not above zero", "give one like 1.9 MHz")
	case !(q.Turn >= 0) || math.IsInf(q.Turn, 0):
		return nil, fault.New(fault.Request, "the decibels for a turned switch are below zero", "give 0 or more")
	}
	return all, nil
}

// work asks every combination at every frequency.
type work struct {
	q           Question
	frequencies []float64
	assignments []box.Setting
	choices     [][]choice // of each frequency, in one order for all
	scales      []hookup.Scale
}

func (w *work) run(ctx context.Context) error {
	threads := w.q.Threads
	if threads == 0 {
		threads = runtime.GOMAXPROCS(0)
	}
	var next atomic.Int64
	var group sync.WaitGroup
	var telling sync.Mutex
	var done int
	failures := make([]error, threads)
	for t := range threads {
		group.Go(func() {
			failures[t] = w.thread(ctx, &next, func() {
				if w.q.Progress == nil {
					return
				}
				telling.Lock()
				defer telling.Unlock()
				done++
				w.q.Progress(float64(done) / float64(len(w.frequencies)))
			})
		})
	}
	group.Wait()
	for _, err := range failures {
		if err != nil {
			return err
		}
	}
	return nil
}

func (w *work) thread(ctx context.Context, next *atomic.Int64, tell func()) error {
	var everys []*hookup.Every
	for _, at := range w.assignments {
		e, err := hookup.ConnectEvery(w.q.Box, at, w.q.Setup, w.frequencies[0], w.q.Fixed)
		if err != nil {
			return err
		}
		everys = append(everys, e)
	}
	var search multiaffine.Searcher
	for {
		i := int(next.Add(1)) - 1
		if i >= len(w.frequencies) {
			return nil
		}
		for _, e := range everys {
			if err := w.ask(ctx, i, e, &search); err != nil {
				return err
			}
		}
		tell()
	}
}

func (w *work) ask(ctx context.Context, i int, e *hookup.Every, search *multiaffine.Searcher) error {
	scale, err := e.At(w.frequencies[i], func(c int, h *multiaffine.Function) bool {
		if ctx.Err() != nil {
			return false
		}
		one := choice{switches: box.Setting{}}
		x := make([]float64, len(e.Axes))
		if len(x) == 0 {
			one.power = h.Power(nil)
		} else if best := search.Maxima(h, multiaffine.Effort{Rows: rows(len(x))}, multiaffine.Apart{Count: 1}); len(best) > 0 {
			copy(x, best[0].X)
			one.power = best[0].Power
		}
		one.setting = e.Setting(c, x)
		for _, control := range w.q.Box.Controls {
			if control.Switch != nil {
				one.switches[control.Name] = one.setting[control.Name]
			}
		}
		one.dials = w.dials(e, h, x, one)
		w.keep(i, one)
		return true
	})
	w.scales[i] = scale
	return cmp.Or(ctx.Err(), err)
}

// rows is how many rows of a coarse search one axis gets: two axes many, more of them fewer.
func rows(axes int) int {
	return max(5, int(math.Pow(600, 1/float64(max(1, axes-1)))))
}

// keep takes the better of two readings of a knob that is asked one by one.
func (w *work) keep(i int, one choice) {
	for k := range w.choices[i] {
		if o := &w.choices[i][k]; maps.Equal(o.switches, one.switches) {
			if one.power > o.power {
				*o = one
			}
			return
		}
	}
	w.choices[i] = append(w.choices[i], one)
}

// dials are the limits of each free knob.
func (w *work) dials(e *hookup.Every, h *multiaffine.Function, x []float64, one choice) (all []Dial) {
	least := one.power * math.Pow(10, -within/10.)
	for axis, a := range e.Axes {
		at := slices.Clone(x)
		power := func(z float64) float64 {
			at[axis] = z
			return h.Power(at)
		}
		low, high := limit(power, x[axis], -1, least), limit(power, x[axis], 1, least)
		d := Dial{a.Control.Name, a.Reading(low), a.Reading(high)}
		if d.Low > d.High {
			d.Low, d.High = d.High, d.Low
		}
		all = append(all, d)
	}
	return all
}

// limit goes from a place towards a stop until the power falls below the least, and bisects there.
func limit(power func(float64) float64, from, stop, least float64) float64 {
	inside := from
	step := 1e-5
	for inside != stop {
		outside := inside + math.Copysign(step, stop)
		if math.Abs(outside) > 1 {
			outside = stop
		}
		if power(outside) < least {
			for range 50 {
				middle := (inside + outside) / 2
				if power(middle) < least {
					outside = middle
				} else {
					inside = middle
				}
			}
			return inside
		}
		inside = outside
		step *= 1.25
	}
	return stop
}

// lines chooses a combination for every line: the path with the least sum of decibels lost and decibels for turned switches
// (dynamic programming, R. Bellman 1957; the algorithm of A. Viterbi 1967, both from memory).
func (w *work) lines(r *Result) error {
	var before []float64 // the least sum that ends in each combination
	var came [][]int
	for i := range w.frequencies {
		best := 0.
		for _, c := range w.choices[i] {
			best = max(best, c.power)
		}
		if best == 0 {
			r.Notices = append(r.Notices, fmt.Sprintf("at %g Hz nothing gets through at any setting", w.frequencies[i]))
		}
		sums := make([]float64, len(w.choices[i]))
		from := make([]int, len(sums))
		for c := range sums {
			lost := 300. // of what lets nothing through
			if p := w.choices[i][c].power; p > 0 && best > 0 {
				lost = min(lost, -10*math.Log10(p/best))
			}
			if i > 0 {
				least := math.Inf(1)
				for o, sum := range before {
					if sum += w.q.Turn * float64(len(turned(w.choices[i-1][o].switches, w.choices[i][c].switches))); sum < least {
						least, from[c] = sum, o
					}
				}
				lost += least
			}
			sums[c] = lost
		}
		came = append(came, from)
		before = sums
	}
	at := 0
	for c, sum := range before {
		if sum < before[at] {
			at = c
		}
	}
	path := make([]int, len(w.frequencies))
	for i := len(path) - 1; i >= 0; i-- {
		path[i] = at
		at = came[i][at]
	}
	for i, c := range path {
		l, err := w.line(i, c)
		if err != nil {
			return err
		}
		if i > 0 {
			l.Turned = turned(w.choices[i-1][path[i-1]].switches, w.choices[i][c].switches)
		}
		r.Lines = append(r.Lines, l)
	}
	return nil
}

func turned(a, b box.Setting) (names []string) {
	for name, at := range a {
		if b[name] != at {
			names = append(names, name)
		}
	}
	slices.Sort(names)
	return names
}

func (w *work) line(i, c int) (Line, error) {
	f, one, scale := w.frequencies[i], w.choices[i][c], w.scales[i]
	best := 0.
	for _, o := range w.choices[i] {
		best = max(best, o.power)
	}
	l := Line{
		Frequency: f, Setting: one.setting, Knobs: one.dials, Insertion: 10 * math.Log10(one.power*scale.Insertion),
		Transducer: 10 * math.Log10(one.power*scale.Transducer), Given: 10 * math.Log10(best/one.power), Width: math.NaN(), Peak: math.NaN(),
	}
	if one.power == 0 {
		l.Given = math.NaN()
		return l, nil
	}
	h, err := hookup.Connect(w.q.Box, one.setting, w.q.Setup)
	if err != nil {
		return l, err
	}
	low, high := f/2, f*2
	for h.Covers(low, f) != nil && low < f*0.9999 {
		low = math.Sqrt(low * f)
	}
	for h.Covers(f, high) != nil && high > f*1.0001 {
		high = math.Sqrt(high * f)
	}
	if peak, err := sweep.PeakNear(h, sweep.LoadVoltage, f, low, high); err == nil && peak != f {
		l.Peak = peak
		over := setup.Sweep{From: low, To: high, Points: 201, Log: true}
		if l.Width, err = sweep.Width(h, sweep.LoadVoltage, peak, over.Frequencies()); err != nil {
			return l, err
		}
	}
	return l, nil
}
