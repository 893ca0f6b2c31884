// Package compare decides between circuits that might be inside a box: each is fitted to the same traces (package identify), they are
// ranked by a corrected information criterion, and what would tell the best apart is looked for.
//
// A weight is the share of belief that a circuit earns from these traces among those that were tried; the true circuit may be
// none of them, which the residuals of the best tell.
package compare

import (
	"context"
	"errors"
	"fmt"
	"math"
	"runtime"
	"slices"
	"strings"
	"sync"

	"knobwise/bench/box"
	"knobwise/bench/fault"
	"knobwise/bench/measurement"
	"knobwise/bench/trace"
	"knobwise/study/identify"
)

// Candidate is one possible circuit.
type Candidate struct {
	Name, About string
	Box         *box.Box
}

// Question is which circuits, for what was measured.
type Question struct {
	Candidates   []Candidate
	Measured     *box.Box // with whose controls it was measured
	Measurements []*measurement.Measurement
	Traces       []*trace.Trace
	Starts       int // 0 for identify.DefaultStarts
	Seed         uint64
	ReadingError float64
	Progress     func(done float64, best string) // may be nil
	Workers      int
}

// Ranked is a candidate with how it fits.
type Ranked struct {
	Candidate
	Rank   int // from 1; candidates of one class share the rank of the first
	Weight float64
	// Criterion less that of the best: 0 for the best.
	Behind     float64
	Parameters int // unknown values
	Result     *identify.Result
	Screened   bool     // it fits so much worse that it was not fitted with care
	Like       []string // candidates of about equal weight that these traces cannot tell from it
	Wrong      string   // why it could not be fitted; empty where it could
}

// Difference is where two circuits differ most.
type Difference struct {
	First, Second string
	Possible      identify.Possible
	Frequency     float64 // Hz
	Decibels      float64 // by which the first is stronger there
	Sure          float64 // standard deviations of the noise that a whole sweep would add up to
}

// Result is the ranking.
type Result struct {
	Candidates []Ranked // the best first
	Difference *Difference
	Explained  bool // the best explains the traces
	Notices    []string
}

// Every candidate gets a quick look from some starts; the best are looked at from all starts; and of those, the ones that may still win
// are fitted with care. Who comes further depends on the looks before only, so that the ranking does not depend on the workers.
const (
	quickStarts = 10
	lookedAt    = 12 // candidates from all starts
	polished    = 8  // with care, at most
)

// reach is what care may bring a circuit that can still win, in the criterion for each point: twice the logarithm of the factor by which
// it makes what is left smaller.
const reach = 2.0

// hopeful is how many times the noise a quick look may leave of the traces for care to make a circuit explain them. Where the first leaves
// more, it alone is fitted with care, and the weights only say which is the least wrong.
const hopeful = 10.0

// Run fits and ranks. setups are those with which the best two may be told apart. Errors are *fault.Error, and the context's own where
// it ends first.
func Run(ctx context.Context, q Question, setups []identify.Possible) (*Result, error) {
	if len(q.Candidates) < 2 {
		return nil, fault.New(fault.Request, fmt.Sprintf("%d circuit to compare", len(q.Candidates)), "name two or more with --candidate, or take the built-in ones with --candidates builtin")
	}
	workers := q.Workers
	if workers == 0 {
		workers = runtime.GOMAXPROCS(0)
	}
	out := &Result{}
	n := len(q.Candidates)
	all := make([]Ranked, n)
	questions := make([]identify.Question, n)
	for i, c := range q.Candidates {
		all[i] = Ranked{Candidate: c}
		var err error
		if questions[i], err = questionOf(q, c); err != nil {
			return nil, err
		}
	}
	tell := func(done float64) {
		if q.Progress == nil {
			return
		}
		best := ""
		low := math.Inf(1)
		for i := range all {
			if all[i].Result != nil && all[i].Behind < low {
				best, low = all[i].Name, all[i].Behind
			}
		}
		q.Progress(done, best)
	}
	// A quick look at all, each on one processor.
	starts := startsOf(q)
	quick := func(i, starts int) (func(), error) {
		look := questions[i]
		look.Quick, look.Starts, look.Workers = true, starts, 1
		return fit(ctx, &all[i], look)
	}
	err := each(ctx, workers, n, func(i int) (func(), error) { return quick(i, min(quickStarts, starts)) },
		func(done int) { tell(0.75 * float64(done) / float64(n)) })
	if err != nil {
		return nil, err
	}
	order := inOrder(all)
	if len(order) == 0 {
		return nil, fault.New(fault.Request, "no candidate could be fitted: "+all[0].Wrong, "give each the controls that the measurements name")
	}
	if order = order[:min(len(order), lookedAt)]; starts > quickStarts {
		err = each(ctx, workers, len(order), func(k int) (func(), error) { return quick(order[k], starts) },
			func(done int) { tell(0.75 + 0.1*float64(done)/float64(len(order))) })
		if err != nil {
			return nil, err
		}
	}
	order = inOrder(all)
	looked := make([]float64, n) // criteria before care
	for i := range all {
		looked[i], all[i].Screened = all[i].Behind, all[i].Result != nil
	}
	points := float64(all[order[0]].Result.Points)
	care := func(some []int, from, part float64) error {
		for _, i := range some {
			all[i].Screened = false
		}
		return each(ctx, workers, len(some), func(k int) (func(), error) {
			whole := questions[some[k]]
			whole.Starts, whole.Workers = starts, max(1, workers/len(some))
			return fit(ctx, &all[some[k]], whole)
		}, func(done int) { tell(from + part*float64(done)/float64(len(some))) })
	}
	careful := order[:1]
	if all[order[0]].Result.RMS <= hopeful {
		careful = withinReach(looked, order, reach*points)
	}
	if err := care(careful, 0.85, 0.05); err != nil {
		return nil, err
	}
	// Where care did more than was thought, it may do as much for others.
	gain := 0.0
	for _, i := range careful {
		gain = max(gain, looked[i]-all[i].Behind)
	}
	if gain > reach*points {
		more := withinReach(looked, order, reach*points+gain)
		more = slices.DeleteFunc(more, func(i int) bool { return slices.Contains(careful, i) })
		if err := care(more, 0.9, 0.05); err != nil {
			return nil, err
		}
	}
	out.rank(all)
	best := &out.Candidates[0]
	out.Explained = best.Result.Status != identify.Unexplained
	if !out.Explained {
		out.Notices = append(out.Notices, fmt.Sprintf("none of the circuits explains the traces: of the best, %s, %.1f times what their noise makes is left. The weights only say which is the least wrong", best.Name, best.Result.RMS))
	}
	if told := out.simpler(); out.Explained && told != "" {
		out.Notices = append(out.Notices, told)
	}
	return out, out.tellApart(ctx, q.Measured, setups)
}

// tellApart looks for where the best differs most from the next that a sweep tells from it, among the next few.
func (r *Result) tellApart(ctx context.Context, b *box.Box, setups []identify.Possible) error {
	best := &r.Candidates[0]
	for i := range r.Candidates[1:] {
		other := &r.Candidates[1+i]
		if other.Result == nil {
			break
		}
		d, err := apart(ctx, b, best, other, setups)
		if err != nil {
			return err
		}
		if d != nil && d.Sure >= tellable {
			r.Difference = d
			break
		}
		if i == 0 {
			r.Notices = append(r.Notices, fmt.Sprintf("no sweep with these setups tells %s from %s", best.Name, other.Name))
		}
		if i >= 4 {
			break
		}
	}
	return nil
}

// What leaves at most this much more, with that many fewer values, is to be weighed by eye too.
const (
	hardlyMore = 1.05
	fewer      = 2
	mostNamed  = 3
)

// simpler names circuits that leave hardly more than the best with fewer values. The criterion takes the circuits at their word: many points
// make it sure of a difference that some small part may cause which none of them has.
func (r *Result) simpler() string {
	best := &r.Candidates[0]
	var names []string
	for i := range r.Candidates[1:] {
		c := &r.Candidates[1+i]
		if c.Result == nil || len(names) == mostNamed {
			break
		}
		if c.Behind >= alike && c.Result.RMS <= hardlyMore*best.Result.RMS && c.Parameters+fewer <= best.Parameters {
			names = append(names, fmt.Sprintf("%s (number %d, %d values, %.2f)", c.Name, c.Rank, c.Parameters, c.Result.RMS))
		}
	}
	if len(names) == 0 {
		return ""
	}
	return fmt.Sprintf("with fewer values than the first (%d values, %.2f left) hardly more is left by %s: a small part that none of these circuits has, like the unused turns of a tapped coil, can decide between circuits so near. What is seen in the box decides better",
		best.Parameters, best.Result.RMS, list(names))
}

// inOrder is the numbers of those that could be fitted, the best first.
func inOrder(all []Ranked) []int {
	var order []int
	for i := range all {
		if all[i].Result != nil {
			order = append(order, i)
		}
	}
	slices.SortStableFunc(order, func(a, b int) int { return sign(all[a].Behind - all[b].Behind) })
	return order
}

// withinReach is those of some candidates, in the order of their criteria, that are not further behind the first than something.
func withinReach(criteria []float64, order []int, behind float64) []int {
	n := 1
	for n < min(len(order), polished) && criteria[order[n]]-criteria[order[0]] <= behind {
		n++
	}
	return slices.Clone(order[:n])
}

func startsOf(q Question) int {
	if q.Starts == 0 {
		return identify.DefaultStarts
	}
	return q.Starts
}

func sign(x float64) int {
	switch {
	case x < 0:
		return -1
	case x > 0:
		return 1
	}
	return 0
}

// fit identifies one candidate, and returns what notes the result: others may look at the candidate meanwhile. A circuit that cannot be
// fitted is told and does not end the comparison; a better result stays.
func fit(ctx context.Context, c *Ranked, q identify.Question) (note func(), err error) {
	r, err := identify.Run(ctx, q)
	if ctx.Err() != nil {
		return nil, ctx.Err()
	}
	if err != nil {
		wrong := err.Error()
		return func() {
			if c.Result == nil {
				c.Wrong = wrong
			}
		}, nil
	}
	criterion := r.Criterion()
	return func() {
		if c.Result == nil || !q.Quick || criterion < c.Behind {
			c.Result, c.Behind, c.Parameters = r, criterion, len(r.Values)
		}
	}, nil
}

// questionOf puts the measurements to another circuit with the same controls.
func questionOf(q Question, c Candidate) (identify.Question, error) {
	out := identify.Question{Box: c.Box, Traces: q.Traces, Seed: q.Seed, ReadingError: q.ReadingError, Known: true}
	for _, m := range q.Measurements {
		one := *m
		one.Setting = c.Box.Start()
		for _, control := range q.Measured.Controls {
			at, ok := m.Setting[control.Name]
			if !ok {
				continue
			}
			if err := c.Box.Set(one.Setting, control.Name, at.String()); err != nil {
				f, _ := errors.AsType[*fault.Error](err)
				return out, fault.New(fault.Setting, fmt.Sprintf("%s: %s", c.Name, f.What), "give every candidate the controls of the box that was measured")
			}
		}
		out.Measurements = append(out.Measurements, &one)
	}
	return out, nil
}

// each runs n tasks on some workers, and what they return one after another; the first error ends it.
func each(ctx context.Context, workers, n int, task func(i int) (func(), error), told func(done int)) error {
	var mu sync.Mutex
	var wait sync.WaitGroup
	var first error
	next, done := 0, 0
	for range max(1, min(workers, n)) {
		wait.Go(func() {
			for {
				mu.Lock()
				i := next
				next++
				stop := first != nil || ctx.Err() != nil
				mu.Unlock()
				if i >= n || stop {
					return
				}
				note, err := task(i)
				mu.Lock()
				if err != nil && first == nil {
					first = err
				}
				if note != nil {
					note()
				}
				done++
				told(done)
				mu.Unlock()
			}
		})
	}
	wait.Wait()
	if first == nil {
		first = ctx.Err()
	}
	return first
}

// alike is how little the criteria of two circuits may differ that these traces do not tell apart.
const alike = 4.0

// rank sorts and weighs.
func (r *Result) rank(all []Ranked) {
	slices.SortStableFunc(all, func(a, b Ranked) int {
		switch {
		case a.Result == nil && b.Result == nil:
			return 0
		case a.Result == nil:
			return 1
		case b.Result == nil:
			return -1
		}
		return sign(a.Behind - b.Behind)
	})
	least := all[0].Behind
	total := 0.0
	for i := range all {
		if all[i].Result == nil {
			all[i].Behind = math.Inf(1)
			continue
		}
		all[i].Behind -= least
		all[i].Weight = math.Exp(-all[i].Behind / 2)
		total += all[i].Weight
	}
	for i := range all {
		all[i].Weight /= total
		all[i].Rank = i + 1
	}
	for i := range all {
		for j := range all {
			if i != j && all[j].Result != nil && all[i].Result != nil && max(all[i].Behind, all[j].Behind) < 12 && math.Abs(all[i].Behind-all[j].Behind) < alike {
				all[i].Like = append(all[i].Like, all[j].Name)
			}
		}
	}
	if len(all[0].Like) > 0 {
		r.Notices = append(r.Notices, fmt.Sprintf("these traces do not tell %s from %s: they share the weight", all[0].Name, list(all[0].Like)))
	}
	r.Candidates = all
}

func list(names []string) string {
	n := len(names)
	switch {
	case n == 1:
		return names[0]
	case n > 4:
		return fmt.Sprintf("%s and %d more", strings.Join(names[:3], ", "), n-3)
	}
	return strings.Join(names[:n-1], ", ") + " and " + names[n-1]
}

// tellable is how many standard deviations a sweep must add up to so that it tells two circuits apart.
const tellable = 3.0

// pointsApart is how many frequencies of a sweep are compared.
const pointsApart = 101

// apart looks for the setting and the frequency at which two circuits, with the values that were found, differ most: in standard
// deviations of a sweep whose level is not known.
func apart(ctx context.Context, b *box.Box, first, second *Ranked, setups []identify.Possible) (*Difference, error) {
	var best *Difference
	part, floor := first.Result.NoiseRule()
	for _, p := range identify.Possibilities(b, setups, 400) {
		if ctx.Err() != nil {
			return nil, ctx.Err()
		}
		f, x, errX := first.Result.Predict(ctx, into(p, first.Box), pointsApart)
		_, y, errY := second.Result.Predict(ctx, into(p, second.Box), pointsApart)
		if errX != nil || errY != nil {
			continue
		}
		top := math.Inf(-1)
		for i := range f {
			top = max(top, x[i], y[i])
		}
		weights := make([]float64, len(f))
		mean, sum := 0.0, 0.0
		for i := range f {
			w := 1 / math.Hypot(max(part, 0.003), max(floor, 1e-4)*math.Exp(top-max(x[i], y[i])))
			weights[i] = w * w
			mean += weights[i] * (x[i] - y[i])
			sum += weights[i]
		}
		mean /= sum
		if p.Reference {
			mean = 0
		}
		sure, at := 0.0, 0
		for i := range f {
			d := x[i] - y[i] - mean
			sure += weights[i] * d * d
			e := x[at] - y[at] - mean
			if weights[i]*d*d > weights[at]*e*e {
				at = i
			}
		}
		if sure = math.Sqrt(sure); best == nil || sure > best.Sure {
			best = &Difference{First: first.Name, Second: second.Name, Possible: p, Frequency: f[at], Decibels: 20 / math.Ln10 * (x[at] - y[at] - mean), Sure: sure}
		}
	}
	return best, nil
}

// into gives a possible measurement the setting of another circuit with the same controls.
func into(p identify.Possible, b *box.Box) identify.Possible {
	s := b.Start()
	for name, at := range p.Setting {
		if b.Control(name) != nil {
			s[name] = at
		}
	}
	p.Setting = s
	return p
}
