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
	"knobwise/bench/quantity"
	"knobwise/bench/setup"
	"knobwise/physics/multiaffine"
	"knobwise/study/tune"
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
	Width      float64     // Hz between the points of half power about the peak nearest to the frequency; NaN where that lies elsewhere
	Peak       float64     // Hz, of that peak
	Knobs      []Dial
}

// Dial is how exactly a knob must be set: between Low and High in readings the signal stays within 1 dB.
type Dial = tune.Tolerance

const (
	mostLines = 2000
	oneByOne  = 33 // readings of a knob that must be asked one after another, to be refined
	// followed and mostFollowed bound which combinations are refined at a frequency: those that come as near to the best, dB,
	// and so many of them.
	followed, mostFollowed = 12, 8
	silent                 = -150 // dB of insertion gain, below which nothing gets through
	lostAltogether         = 300  // dB that count for a line on which nothing gets through
)

// choice is the best of one combination of all switches at one frequency.
type choice struct {
	setting box.Setting
	power   float64 // |H|²
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
	w.survey(every)
	if err := w.run(ctx); err != nil {
		return nil, err
	}
	r := &Result{Box: q.Box.Name, Setup: q.Setup.Name, Notices: every.Notices}
	for _, c := range w.sliding {
		r.Notices = append(r.Notices, fmt.Sprintf("%s moves parts that do not travel alike; it is asked at %d readings and then closer about the best", c.Name, oneByOne))
	}
	return r, w.lines(ctx, r)
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
		return nil, fault.New(fault.Request, "the decibels for a turned switch are no number above zero", "give 0 or more")
	}
	return all, nil
}

// work asks every combination at every frequency.
type work struct {
	q           Question
	frequencies []float64
	assignments []box.Setting
	choices     [][]choice // of each frequency, one for each combination: see index
	scales      []hookup.Scale

	switches []*box.Control  // that may be turned
	sliding  []*box.Control  // knobs that are asked one reading after another
	still    map[string]bool // all switches, and what is fixed
}

// survey sorts the controls.
func (w *work) survey(every *hookup.Every) {
	w.still = maps.Clone(w.q.Fixed)
	if w.still == nil {
		w.still = map[string]bool{}
	}
	for _, c := range w.q.Box.Controls {
		if c.Switch != nil {
			w.still[c.Name] = true
			if !w.q.Fixed[c.Name] {
				w.switches = append(w.switches, c)
			}
		} else if every.IsOneByOne(c) {
			w.sliding = append(w.sliding, c)
		}
	}
	n := 1
	for _, c := range w.switches {
		n *= len(c.Switch.Positions)
	}
	for i := range w.choices {
		w.choices[i] = make([]choice, n)
	}
}

// index numbers the combination of a setting: the first switch counts slowest.
func (w *work) index(s box.Setting) (n int) {
	for _, c := range w.switches {
		at := slices.IndexFunc(c.Switch.Positions, func(p *box.Position) bool { return p.Name == s[c.Name].Word })
		n = n*len(c.Switch.Positions) + at
	}
	return n
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
		if len(w.sliding) > 0 {
			if err := w.follow(ctx, i); err != nil {
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
		one := choice{}
		x := make([]float64, len(e.Axes))
		if len(x) == 0 {
			one.power = h.Power(nil)
		} else if best := search.Maxima(h, multiaffine.Effort{Rows: rows(len(x))}, multiaffine.Apart{Count: 1}); len(best) > 0 {
			copy(x, best[0].X)
			one.power = best[0].Power
		}
		one.setting = e.Setting(c, x)
		if o := &w.choices[i][w.index(one.setting)]; o.setting == nil || one.power > o.power {
			*o = one
		}
		return true
	})
	w.scales[i] = scale
	return cmp.Or(ctx.Err(), err)
}

// follow goes on from the best readings of knobs that are asked one by one, in the combinations that may be chosen.
func (w *work) follow(ctx context.Context, i int) error {
	order := make([]*choice, len(w.choices[i]))
	for k := range order {
		order[k] = &w.choices[i][k]
	}
	slices.SortStableFunc(order, func(a, b *choice) int { return cmp.Compare(b.power, a.power) })
	best := order[0].power
	for k, c := range order {
		if k >= mostFollowed || !(c.power > best*math.Pow(10, -followed/10.)) {
			break
		}
		r, err := tune.Run(ctx, tune.Question{Box: w.q.Box, Setup: w.q.Setup, At: c.setting, Fixed: w.still, Frequencies: w.frequencies[i : i+1], Threads: 1})
		if err != nil {
			return err
		}
		if power := math.Pow(10, r.Answers[0].InsertionGain/10) / w.scales[i].Insertion; power > c.power {
			c.setting, c.power = r.Answers[0].Setting, power
		}
	}
	return nil
}

// rows is how many rows of a coarse search one axis gets: two axes many, more of them fewer.
func rows(axes int) int {
	return max(5, int(math.Pow(600, 1/float64(max(1, axes-1)))))
}

// lines chooses a combination for every line: the path with the least sum of decibels lost and decibels for turned switches
// (dynamic programming, R. Bellman 1957; the algorithm of A. Viterbi 1967, both from memory).
func (w *work) lines(ctx context.Context, r *Result) error {
	var before []float64 // the least sum that ends in each combination
	var came [][]int
	bests := make([]float64, len(w.frequencies))
	for i, f := range w.frequencies {
		if err := ctx.Err(); err != nil {
			return err
		}
		for _, c := range w.choices[i] {
			bests[i] = max(bests[i], c.power)
		}
		if w.quiet(i, bests[i]) {
			r.Notices = append(r.Notices, "at "+quantity.Format(f, quantity.Hertz, 5)+" nothing gets through at any setting")
		}
		sums := make([]float64, len(w.choices[i]))
		for c := range sums {
			sums[c] = w.lost(i, c, bests[i])
		}
		from := make([]int, len(sums))
		if i > 0 {
			reached, origin := w.turn(before)
			for c := range sums {
				sums[c] += reached[c]
			}
			from = origin
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
		l, err := w.line(ctx, i, w.choices[i][c], bests[i])
		if err != nil {
			return err
		}
		if i > 0 {
			l.Turned = w.turned(r.Lines[i-1].Setting, l.Setting)
		}
		r.Lines = append(r.Lines, l)
	}
	return nil
}

// quiet reports whether a power is that of rounding.
func (w *work) quiet(i int, power float64) bool {
	return !(10*math.Log10(power*w.scales[i].Insertion) > silent)
}

// lost is what a combination costs at a frequency, dB.
func (w *work) lost(i, c int, best float64) float64 {
	p := w.choices[i][c].power
	if w.quiet(i, best) {
		return 0 // all are as bad
	}
	if w.quiet(i, p) {
		return lostAltogether
	}
	return min(lostAltogether, -10*math.Log10(p/best))
}

// turn is the least cost of coming to each combination from any other, and from which: Turn for each switch that differs.
// The number of switches that differ is a sum over the switches, so that one switch after another may be relaxed.
func (w *work) turn(before []float64) (reached []float64, origin []int) {
	reached, origin = slices.Clone(before), make([]int, len(before))
	for c := range origin {
		origin[c] = c
	}
	stride := len(before)
	for _, control := range w.switches {
		positions := len(control.Switch.Positions)
		stride /= positions
		for first := range before {
			if first/stride%positions != 0 {
				continue
			}
			best := first
			for p := 1; p < positions; p++ {
				if o := first + p*stride; reached[o] < reached[best] {
					best = o
				}
			}
			cost, from := reached[best]+w.q.Turn, origin[best]
			for p := range positions {
				if o := first + p*stride; cost < reached[o] {
					reached[o], origin[o] = cost, from
				}
			}
		}
	}
	return reached, origin
}

// turned lists the switches that differ, in panel order.
func (w *work) turned(a, b box.Setting) (names []string) {
	for _, c := range w.switches {
		if a[c.Name] != b[c.Name] {
			names = append(names, c.Name)
		}
	}
	return names
}

// line judges the setting of a line as tune does, with every control fixed.
func (w *work) line(ctx context.Context, i int, one choice, best float64) (Line, error) {
	f, scale := w.frequencies[i], w.scales[i]
	l := Line{
		Frequency: f, Setting: one.setting, Insertion: 10 * math.Log10(one.power*scale.Insertion),
		Transducer: 10 * math.Log10(one.power*scale.Transducer), Given: 10 * math.Log10(best/one.power), Width: math.NaN(), Peak: math.NaN(),
	}
	if w.quiet(i, one.power) {
		l.Insertion, l.Transducer, l.Given = math.Inf(-1), math.Inf(-1), math.NaN()
		return l, nil
	}
	all := map[string]bool{}
	for _, c := range w.q.Box.Controls {
		all[c.Name] = true
	}
	r, err := tune.Run(ctx, tune.Question{Box: w.q.Box, Setup: w.q.Setup, At: one.setting, Fixed: all, Frequencies: []float64{f}, Threads: 1})
	if err != nil {
		return l, err
	}
	a := r.Answers[0]
	l.Peak, l.Width = a.Peak, a.Bandwidth
	if !(math.Abs(a.Peak-f) < a.Bandwidth) {
		l.Width = math.NaN() // it is that of another place
	}
	for _, t := range a.Tolerance {
		if !w.q.Fixed[t.Control] {
			l.Knobs = append(l.Knobs, t)
		}
	}
	return l, nil
}
