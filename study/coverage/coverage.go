// Package coverage asks what a box can do at all its settings: where in frequency each position of its switches can place a
// peak, how strong and how wide, where no position can, and what each knob is worth.
//
// A lane is one combination of the switches, with every position of the knobs. A peak at f is a setting at which the load
// voltage over frequency has its top exactly at f; that a knob can pull the top there is found on the model, not on a grid.
// Results are plain data; a value that does not exist is NaN, and Notices says why.
package coverage

import (
	"context"
	"fmt"
	"math"
	"runtime"
	"sync"
	"sync/atomic"
	"time"

	"knobwise/bench/box"
	"knobwise/bench/hookup"
	"knobwise/bench/setup"
	"knobwise/physics/multiaffine"
)

// Question is what to ask.
type Question struct {
	Box   *box.Box
	Setup *setup.Setup
	Over  setup.Sweep
	At    box.Setting     // where the fixed controls stand
	Fixed map[string]bool // controls that are not to be moved
	// Widths asks for the width of every peak, which takes as long as all the rest.
	Widths bool
	// Threads at work; 0 for as many as the machine has. The result does not depend on it.
	Threads int
	// Progress is called now and then, with the part that is done; it may be nil.
	Progress func(done float64)
}

// Result is the answer.
type Result struct {
	Box, Setup string
	Over       setup.Sweep
	Frequency  []float64 // Hz
	Lanes      []Lane    // those that let something through, in the order of the panel
	Silent     int       // combinations that let nothing through
	Asked      int       // combinations in all
	Use        []Use     // which lane to use where, from low to high
	Gaps       []Range   // where no lane places a peak, within the sweep
	Notices    []string
}

// Lane is what one combination of the switches can do. Slices have one entry per frequency.
type Lane struct {
	Switches box.Setting // the positions of all switches; of idle ones, one of those that do the same
	Idle     []string    // switches that change nothing here
	Best     []Point     // the strongest signal, peak or not
	Peaks    []Point     // the strongest peak; NaN where none can be placed
	Ranges   []Range     // where peaks can be placed; of no width where there is nothing to turn
	Singles  []Single    // the peaks of ranges of no width
	Knobs    []Effect
}

// Point is the best that a lane does at one frequency.
type Point struct {
	Insertion  float64     // insertion gain, dB
	Transducer float64     // transducer gain, dB
	Width      float64     // of a peak, Hz, between points of half power; NaN where it was not asked or does not end in the sweep
	Setting    box.Setting // of all controls
}

// Single is a peak that nothing moves.
type Single struct {
	Frequency float64 // Hz
	Point
}

// Range is from Low to High in Hz, exact to a thousandth of the step of the sweep.
type Range struct{ Low, High float64 }

// Use is the lane to use over a range.
type Use struct {
	Range
	Lane int
}

// quiet is the insertion gain in dB below which a lane counts as letting nothing through.
const quiet = -150

// oneByOne is how many readings stand for a knob that must be asked one reading after another.
const oneByOne = 33

// assignments lists the settings of the controls that must be asked one by one.
func (q Question) assignments() ([]box.Setting, *hookup.Every, error) {
	every, err := hookup.ConnectEvery(q.Box, q.At, q.Setup, q.Over.From, q.Fixed)
	if err != nil {
		return nil, nil, err
	}
	all, err := every.Assignments(oneByOne)
	return all, every, err
}

// found is the best of one combination at one frequency.
type found struct {
	best, peak place
	rising     bool // the slope with the knobs as they stand, where there are none
	peaked     bool
	upwards    bool // the slope with every axis in the middle
}

// Run answers. Errors are *fault.Error, and the context's own where it ends first.
func Run(ctx context.Context, q Question) (*Result, error) {
	if err := q.Over.Check(); err != nil {
		return nil, err
	}
	assignments, every, err := q.assignments()
	if err != nil {
		return nil, err
	}
	if err := every.Covers(q.Over.From, q.Over.To); err != nil {
		return nil, err
	}
	r := &Result{Box: q.Box.Name, Setup: q.Setup.Name, Over: q.Over, Frequency: q.Over.Frequencies(), Notices: every.Notices}
	if q.Threads == 0 {
		q.Threads = runtime.GOMAXPROCS(0)
	}
	work := &work{q: q, frequency: r.Frequency, total: len(assignments) * len(r.Frequency), scales: make([]hookup.Scale, len(r.Frequency))}
	var all [][][]found // assignment, frequency, combination
	for _, at := range assignments {
		one := every
		if len(assignments) > 1 {
			if one, err = hookup.ConnectEvery(q.Box, at, q.Setup, q.Over.From, q.Fixed); err != nil {
				return nil, err
			}
		}
		work.askers = append(work.askers, newAsker(work, one))
		table, err := work.run(ctx, one)
		if err != nil {
			return nil, err
		}
		all = append(all, table)
	}
	r.Asked = len(assignments) * len(every.Combinations)
	r.note(every)
	return r, r.assemble(ctx, work, assignments, every, all)
}

// note says what is not exact about knobs that are asked one reading after another.
func (r *Result) note(every *hookup.Every) {
	knobs := sliding(every)
	switch {
	case len(knobs) == 1:
		r.Notices = append(r.Notices, fmt.Sprintf("%s moves parts that do not travel alike; it is asked at %d readings and then between them", knobs[0].Name, oneByOne))
	case len(knobs) > 1:
		r.Notices = append(r.Notices, fmt.Sprintf("%s and %d more move parts that do not travel alike; they are asked at %d readings each, and what lies between these may be missing", knobs[0].Name, len(knobs)-1, oneByOne))
	}
}

// sliding lists the knobs that are asked one reading after another.
func sliding(every *hookup.Every) (all []*box.Control) {
	for _, c := range every.OneByOne {
		if c.Knob != nil {
			all = append(all, c)
		}
	}
	return all
}

// Estimate asks one frequency, to say how long all of a question takes.
func Estimate(ctx context.Context, q Question) (combinations int, whole time.Duration, err error) {
	assignments, every, err := q.assignments()
	if err != nil {
		return 0, 0, err
	}
	combinations = len(assignments) * len(every.Combinations)
	w := &work{q: q, frequency: []float64{q.Over.From}, scales: make([]hookup.Scale, 1)}
	at := newAsker(w, every)
	begun := time.Now()
	if _, err := at.ask(ctx, 0); err != nil {
		return combinations, 0, err
	}
	threads := q.Threads
	if threads == 0 {
		threads = runtime.GOMAXPROCS(0)
	}
	return combinations, time.Since(begun) * time.Duration(len(assignments)*q.Over.Points) / time.Duration(threads), nil
}

// work goes through frequencies on several threads.
type work struct {
	q         Question
	frequency []float64
	scales    []hookup.Scale
	done      atomic.Int64
	total     int
	telling   sync.Mutex
	askers    []*asker // one for each assignment, for what is asked later
}

func (w *work) run(ctx context.Context, every *hookup.Every) ([][]found, error) {
	table := make([][]found, len(w.frequency))
	var next atomic.Int64
	var group sync.WaitGroup
	failures := make([]error, w.q.Threads)
	for thread := range w.q.Threads {
		own, err := every, error(nil)
		if thread > 0 {
			if own, err = every.Again(); err != nil {
				return nil, err
			}
		}
		group.Go(func() {
			at := newAsker(w, own)
			for failures[thread] == nil {
				i := int(next.Add(1)) - 1
				if i >= len(table) {
					return
				}
				if failures[thread] = ctx.Err(); failures[thread] == nil {
					table[i], failures[thread] = at.ask(ctx, i)
				}
				w.tell()
			}
		})
	}
	group.Wait()
	for _, err := range failures {
		if err != nil {
			return nil, err
		}
	}
	return table, nil
}

func (w *work) tell() {
	done := w.done.Add(1)
	if w.q.Progress == nil {
		return
	}
	w.telling.Lock()
	defer w.telling.Unlock()
	w.q.Progress(float64(done) / float64(w.total))
}

// asker asks one frequency after another.
type asker struct {
	w         *work
	every     *hookup.Every
	finder    *finder
	strongest *strongest
	functions []around // of each combination
}

func newAsker(w *work, every *hookup.Every) *asker {
	axes := len(every.Axes)
	return &asker{w: w, every: every, finder: newFinder(axes), strongest: newStrongest(axes), functions: make([]around, len(every.Combinations))}
}

// look fetches the network functions at f Hz and just beside it, of all combinations or of one alone.
func (a *asker) look(f float64, only int) (scale hookup.Scale, err error) {
	for k, at := range []float64{f * (1 - beside), f, f * (1 + beside)} {
		s, err := a.every.At(a.inside(at), func(c int, h *multiaffine.Function) bool {
			if only < 0 || c == only {
				h.Copy(&a.functions[c][k])
			}
			return c != only
		})
		if err != nil {
			return scale, err
		}
		if k == 1 {
			scale = s
		}
	}
	return scale, nil
}

func (a *asker) ask(ctx context.Context, i int) ([]found, error) {
	scale, err := a.look(a.w.frequency[i], -1)
	if err != nil {
		return nil, err
	}
	a.w.scales[i] = scale
	out := make([]found, len(a.functions))
	for c := range a.functions {
		if c%16 == 0 && ctx.Err() != nil {
			return nil, ctx.Err()
		}
		best := a.strongest.search(&a.functions[c][1])
		out[c].best = place{append([]float64(nil), best.x...), best.power}
		if p, ok := a.finder.search(&a.functions[c], len(a.every.Axes)); ok {
			out[c].peak, out[c].peaked = place{append([]float64(nil), p.x...), p.power}, true
		}
		out[c].rising = a.rising(c)
		out[c].upwards = a.upwards(c)
	}
	return out, nil
}

// rising says which way the response of a combination without knobs goes.
func (a *asker) rising(c int) bool {
	return len(a.every.Axes) == 0 && a.functions[c][2].Power(nil) > a.functions[c][0].Power(nil)
}

// upwards says which way the response of a combination goes with every axis in the middle.
func (a *asker) upwards(c int) bool {
	middle := make([]float64, len(a.every.Axes))
	return a.functions[c][2].Power(middle) > a.functions[c][0].Power(middle)
}

// inside keeps a frequency inside what the measured files of box and setup cover, where it leaves it by no more than the
// distance of the slope's points.
func (a *asker) inside(f float64) float64 {
	if a.every.Covers(f, f) == nil {
		return f
	}
	return math.Max(a.w.frequency[0], math.Min(f, a.w.frequency[len(a.w.frequency)-1]))
}
