package identify

import (
	"cmp"
	"context"
	"math"
	"slices"

	"knobwise/study/leastsquares"
)

// The coarse fit looks from far away: amplitudes as logarithms, so that a peak pulls over the whole sweep; levels that are not
// known taken out by the mean; dials as they were read; few points of each trace; and a loss that forgives half of them.
const (
	coarseSigma  = 0.12 // nepers: about 1 dB
	coarsePoints = 40
)

// thin chooses the points of a trace for the coarse fit: evenly spaced, and all those about its highest.
func thin(m *model) []int {
	n := len(m.f)
	var at []int
	step := max(1, n/coarsePoints)
	for i := 0; i < n; i += step {
		at = append(at, i)
	}
	if m.kind != scattering {
		top := 0
		for i, v := range m.data {
			if v > m.data[top] {
				top = i
			}
		}
		for i := max(0, top-6); i <= min(n-1, top+6); i++ {
			at = append(at, i)
		}
	}
	slices.Sort(at)
	return slices.Compact(at)
}

// coarse is the system over fewer points.
func (s *system) coarse() *system {
	out := &system{vars: s.vars, workers: s.workers, floored: s.floored}
	for _, m := range s.models {
		c := *m
		at := thin(m)
		per := len(m.data) / len(m.f)
		c.f, c.data, c.dlnk = nil, nil, nil
		for _, i := range at {
			c.f = append(c.f, m.f[i])
			c.data = append(c.data, m.data[i*per:(i+1)*per]...)
		}
		out.models = append(out.models, &c)
	}
	out.number(false)
	return out
}

// logarithm is a measured level in nepers; false where it has none.
func (x *model) logarithm(k int) (float64, bool) {
	if x.kind == decibel {
		return x.data[k] / decibelsPerNeper, true
	}
	return math.Log(x.data[k]), x.data[k] > 0
}

// evaluateCoarse writes the residuals of the coarse fit.
func (s *system) evaluateCoarse(ctx context.Context, p, r, jac []float64) error {
	n := s.size()
	clear(jac)
	if err := s.askAll(ctx, p, jac != nil); err != nil {
		return err
	}
	return s.each(func(i int) error {
		into := jac
		if jac != nil {
			into = jac[s.rows[i]*n : (s.rows[i]+len(s.models[i].data))*n]
		}
		if m := s.models[i]; m.kind == scattering {
			s.coarseScattering(i, r[s.rows[i]:], into)
		} else {
			s.coarseLevels(i, r[s.rows[i]:], into)
		}
		return nil
	})
}

// coarseScattering writes the rows of a trace of S-parameters.
func (s *system) coarseScattering(i int, r, jac []float64) {
	m, w := s.models[i], &s.scratch[i]
	for k, v := range m.data {
		r[k] = (w.ln[k] - v) / coarseSigma
	}
	for k := range len(jac) / s.size() {
		for c, column := range s.columns[i] {
			if column >= 0 {
				jac[k*s.size()+column] = w.d[k*m.locals()+c] / coarseSigma
			}
		}
	}
}

// coarseLevels writes the rows of a trace of levels.
func (s *system) coarseLevels(i int, r, jac []float64) {
	m, w := s.models[i], &s.scratch[i]
	locals := m.locals()
	floor := math.Inf(-1)
	if s.floored != noFloors && m.mayHaveFloor() {
		floor = m.least
	}
	var use []int    // points that have a logarithm
	var clear []int  // and stand clear of the floor
	var by []float64 // those differ by
	for k := range m.data {
		r[k] = 0
		ln, ok := m.logarithm(k)
		if !ok {
			continue
		}
		use = append(use, k)
		if ln > floor+clearOf {
			clear, by = append(clear, k), append(by, w.ln[k]-ln)
		}
	}
	shift := 0.0
	if m.gains {
		// The middle, not the mean: a peak in the wrong place must not move the level.
		shift = median(by)
	}
	signal := make([]float64, len(use)) // part of the power that is not the floor's
	for j, k := range use {
		ln, _ := m.logarithm(k)
		at, part := withFloor(w.ln[k]-shift, floor)
		r[k], signal[j] = (at-ln)/coarseSigma, 1-part
	}
	if jac == nil {
		return
	}
	for c, column := range s.columns[i] {
		if column < 0 {
			continue
		}
		mean := 0.0
		if m.gains && len(clear) > 0 {
			for _, k := range clear {
				mean += w.d[k*locals+c]
			}
			mean /= float64(len(clear))
		}
		for j, k := range use {
			jac[k*s.size()+column] = signal[j] * (w.d[k*locals+c] - mean) / coarseSigma
		}
	}
}

// bounds of all parameters.
func (s *system) bounds() (lower, upper []float64) {
	for _, v := range s.vars {
		lower, upper = append(lower, v.coordinate(v.low)), append(upper, v.coordinate(v.high))
	}
	for _, d := range s.dials {
		k := &s.models[d.model].knobs[d.knob]
		lower, upper = append(lower, k.low), append(upper, k.top)
	}
	for range s.gains {
		lower, upper = append(lower, math.Inf(-1)), append(upper, math.Inf(1))
	}
	for _, members := range s.floors {
		_, low, high := s.floorRoom(members)
		lower, upper = append(lower, low), append(upper, high)
	}
	return lower, upper
}

// begun is where one start ended.
type begun struct {
	p    []float64
	cost float64
}

// search runs the coarse fit from every start, first a little and then further; the best comes first. told counts both.
func (s *system) search(ctx context.Context, starts [][]float64, quick bool, told func(done int)) ([]begun, int, error) {
	c := s.coarse()
	lower, upper := c.bounds()
	problem := leastsquares.Problem{Lower: lower, Upper: upper, Residuals: c.total, Evaluate: c.evaluateCoarse}
	var all []begun
	spent := 0
	fit := func(p []float64, evaluations int) (begun, bool) {
		res, err := leastsquares.Fit(ctx, problem, p, leastsquares.Options{Loss: leastsquares.Cauchy(1), MaxEvaluations: evaluations, Reduction: 1e-4, Step: 1e-4, Gradient: 1e-6})
		if err != nil {
			return begun{}, false
		}
		spent += res.Evaluations
		return begun{res.P, res.Cost}, true
	}
	for i, start := range starts {
		p := append(slices.Clone(start[:len(s.vars)]), c.readingsStart(start[len(s.vars):])...)
		if b, ok := fit(p, firstLook); ok {
			all = append(all, b)
		}
		if ctx.Err() != nil {
			return nil, spent, ctx.Err()
		}
		told(i + 1)
	}
	// In a quick look those that came nowhere near are not taken further.
	slices.SortStableFunc(all, cheaper)
	if quick {
		all = all[:min(len(all), max(4, len(all)/2))]
	}
	for i := range all {
		if b, ok := fit(all[i].p, furtherLook); ok {
			all[i] = b
		}
		if ctx.Err() != nil {
			return nil, spent, ctx.Err()
		}
		told(len(starts) + i + 1)
	}
	slices.SortStableFunc(all, cheaper)
	return all, spent, nil
}

// How many evaluations each start has, and those that are taken further have more.
const (
	firstLook   = 10
	furtherLook = 40
)

func cheaper(a, b begun) int { return cmp.Compare(a.cost, b.cost) }

// readingsStart is where the dials that were not read begin: what the start says, else the guess.
func (s *system) readingsStart(given []float64) []float64 {
	var all []float64
	for j, d := range s.dials {
		k := &s.models[d.model].knobs[d.knob]
		at := min(max(k.reading, k.low), k.top)
		if j < len(given) {
			at = given[j]
		}
		all = append(all, at)
	}
	return all
}

func median(x []float64) float64 {
	if len(x) == 0 {
		return 0
	}
	sorted := slices.Clone(x)
	slices.Sort(sorted)
	n := len(sorted)
	return (sorted[(n-1)/2] + sorted[n/2]) / 2
}
