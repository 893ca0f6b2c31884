package identify

import (
	"context"
	"math"
	"slices"

	"knobwise/study/leastsquares"
)

// robust is the loss against single bad points: plain squares within two and a half standard deviations.
var robust = leastsquares.Huber(2.5)

// problem is the fit with everything free.
func (s *system) problem() leastsquares.Problem {
	lower, upper := s.bounds()
	return leastsquares.Problem{Lower: lower, Upper: upper, Residuals: s.total + s.priors(), Evaluate: s.evaluate}
}

// startFrom completes the values of a coarse fit by readings and levels.
func (s *system) startFrom(ctx context.Context, values []float64, coarse *system) ([]float64, error) {
	p := slices.Clone(values[:len(s.vars)])
	found := map[dial]float64{}
	for j, d := range coarse.dials {
		found[d] = values[len(s.vars)+j]
	}
	for _, d := range s.dials {
		k := &s.models[d.model].knobs[d.knob]
		at, ok := found[d]
		if !ok {
			at = min(max(k.reading, k.low), k.top)
		}
		p = append(p, at)
	}
	p = append(p, make([]float64, len(s.gains))...)
	for j, i := range s.gains {
		if err := s.ask(ctx, i, p, false); err != nil {
			return nil, err
		}
		m := s.models[i]
		var all []float64
		for k := range m.data {
			if ln, ok := m.logarithm(k); ok {
				all = append(all, ln-s.scratch[i].ln[k])
			}
		}
		p[len(s.vars)+len(s.dials)+j] = median(all)
	}
	for _, members := range s.floors {
		start, _, _ := s.floorRoom(members)
		p = append(p, start)
	}
	return p, nil
}

// residuals are measured less model in the traces' own units.
func (s *system) residuals(r []float64) [][]float64 {
	out := make([][]float64, len(s.models))
	for i, m := range s.models {
		out[i] = make([]float64, len(m.data))
		for k := range m.data {
			out[i][k] = -r[s.rows[i]+k] * s.sigma[i][k]
		}
	}
	return out
}

// setLevels lets the noise grow with the model's levels: with the measured ones, what noise had made smaller would count for more.
func (s *system) setLevels(left [][]float64) {
	for i, m := range s.models {
		if m.kind == amplitude {
			for k := range m.levels {
				m.levels[k] = max(0, m.data[k]-left[i][k])
			}
		}
	}
}

// lastEvaluations bounds a polish, quickEvaluations that of a quick look.
const (
	lastEvaluations  = 150
	quickEvaluations = 40
)

// settle fits, learns the noise and the reading error from what is left, and fits again, a few times; quick fits are coarse.
func (s *system) settle(ctx context.Context, start []float64, quick bool, readingSD float64) (leastsquares.Result, error) {
	p := start
	var res leastsquares.Result
	rounds := 5
	if quick {
		rounds = 2
	}
	for round := range rounds {
		var err error
		o := leastsquares.Options{Loss: robust, MaxEvaluations: lastEvaluations, Reduction: 1e-9, Step: 1e-8, Gradient: 1e-8}
		if quick {
			o.MaxEvaluations, o.Reduction, o.Step = quickEvaluations, 1e-5, 1e-5
		}
		if round == 0 {
			// The first noise may be far below what the start misses by: a loss that forgives keeps one trace from ruling.
			o.Loss, o.MaxEvaluations, o.Reduction, o.Step = leastsquares.Cauchy(2), 40, 1e-5, 1e-5
		}
		if res, err = leastsquares.Fit(ctx, s.problem(), p, o); err != nil {
			return res, err
		}
		if res.Reason == leastsquares.Cancelled {
			return res, context.Cause(ctx)
		}
		p = res.P
		if round == rounds-1 {
			break
		}
		freedom := math.Sqrt(float64(s.total) / math.Max(1, float64(s.total+s.priors()-s.size())))
		left := s.residuals(res.Residuals)
		s.setLevels(left)
		s.setNoise(left, freedom)
		s.setReadingError(res, readingSD)
	}
	return res, nil
}

// worstReader bounds how much worse than named the dials may have been read: a circuit that needs more is the wrong one.
const worstReader = 3

// priorWeight is how many readings the reading error that was named counts for against those of this bench.
const priorWeight = 4

// setReadingError learns how well this person reads these dials: the mean square of how far the readings had to move and of
// what is not known of that, against the error that was named. Readings of which the file says how good they are keep that.
func (s *system) setReadingError(res leastsquares.Result, sd float64) {
	if sd == 0 {
		return
	}
	information, _, err := s.information(res)
	if err != nil {
		return
	}
	sum, n := 0.0, 0.0
	for j, d := range s.dials {
		k := &s.models[d.model].knobs[d.knob]
		if k.own || math.IsInf(k.sd, 1) {
			continue
		}
		span := k.top - k.low
		column := len(s.vars) + j
		off := (res.P[column] - k.reading) / span
		variance := information.variance(column) / (span * span)
		sum += off*off + min(variance, k.sd*k.sd/(span*span))
		n++
	}
	if n == 0 {
		return
	}
	learnt := min(math.Sqrt((priorWeight*sd*sd+sum)/(priorWeight+n)), worstReader*sd)
	for _, d := range s.dials {
		k := &s.models[d.model].knobs[d.knob]
		if !k.own && !math.IsInf(k.sd, 1) {
			k.sd = max(learnt, 1e-5) * (k.top - k.low)
		}
	}
}

// Loss names the loss of the fit.
func Loss() string { return robust.String() }
