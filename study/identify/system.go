package identify

import (
	"context"
	"math"
	"slices"
	"sync"
	"sync/atomic"

	"knobwise/bench/box"
)

// system is all measurements together: the parameters of the fit are the coordinates of the variables, then the readings of
// the dials of each measurement in turn, then the logarithms of the levels that are not known, then those of the floors.
type system struct {
	vars   []*variable
	models []*model
	dials  []dial
	gains  []int   // number of the model
	floors [][]int // numbers of the models that stand on each
	rows   []int   // first row of each model
	total  int     // rows of the traces
	sigma  [][]float64
	rough  [][]float64 // the first sigma, before anything was fitted
	left   float64     // points beside values and levels
	// columns are the numbers of each model's local columns in the parameters; -1 for one that is held.
	columns [][]int
	gainOf  []int // of each model; -1 where its level is known
	floorOf []int // of each model; -1 where it has none
	floored floored
	workers int
	scratch []work
	groups  []*group
	grouped []bool // of each model: it is asked with its group
}

// dial is a reading that may move.
type dial struct {
	model, knob int
}

type work struct {
	ln, d    []float64
	readings []float64
}

func newSystem(b *box.Box, models []*model, workers int, known bool) (*system, error) {
	low, high := math.Inf(1), 0.0
	for _, m := range models {
		low, high = min(low, m.f[0]), max(high, m.f[len(m.f)-1])
	}
	s := &system{models: models, workers: max(1, min(workers, len(models)))}
	var err error
	if s.vars, err = variablesOf(b, models, low, high, known); err != nil {
		return nil, err
	}
	for _, m := range models {
		if err := m.connect(b, s.vars); err != nil {
			return nil, err
		}
	}
	s.number(true)
	return s, nil
}

// number lays out the parameters; free says whether dials may move and levels are parameters of their own.
func (s *system) number(free bool) {
	s.dials, s.gains, s.floors, s.rows, s.total = nil, nil, nil, nil, 0
	s.columns, s.gainOf, s.floorOf, s.scratch = nil, nil, nil, nil
	next := len(s.vars)
	for i, m := range s.models {
		columns := append([]int{}, m.vars...)
		for k := range m.knobs {
			c := -1
			if m.follows(len(m.vars)+k) && (free && m.knobs[k].sd > 0 || math.IsInf(m.knobs[k].sd, 1)) {
				c = next
				next++
				s.dials = append(s.dials, dial{i, k})
			}
			columns = append(columns, c)
		}
		s.columns = append(s.columns, columns)
		s.rows = append(s.rows, s.total)
		s.total += len(m.data)
		w := work{ln: make([]float64, len(m.data)), d: make([]float64, len(m.data)*m.locals()), readings: make([]float64, len(m.knobs))}
		s.scratch = append(s.scratch, w)
	}
	s.groupUp()
	for i, m := range s.models {
		s.gainOf = append(s.gainOf, -1)
		if free && m.gains {
			s.gainOf[i] = next
			next++
			s.gains = append(s.gains, i)
		}
	}
	s.floorOf = slices.Repeat([]int{-1}, len(s.models))
	if free {
		s.floors = s.floorsOf()
	}
	for j, members := range s.floors {
		for _, i := range members {
			s.floorOf[i] = next + j
		}
	}
}

// follows reports whether anything follows a local column.
func (x *model) follows(column int) bool {
	for _, t := range x.parts {
		if slices.Contains(t.columns, column) {
			return true
		}
	}
	return false
}

// size is the number of parameters.
func (s *system) size() int { return len(s.vars) + len(s.dials) + len(s.gains) + len(s.floors) }

// free is the number of values, levels and floors: what is looked for without knowing anything of it.
func (s *system) free() int { return len(s.vars) + len(s.gains) + len(s.floors) }

// priors is the number of rows behind those of the traces: one for each dial that a spring holds.
func (s *system) priors() int {
	n := 0
	for _, d := range s.dials {
		if !math.IsInf(s.models[d.model].knobs[d.knob].sd, 1) {
			n++
		}
	}
	return n
}

// readingsOf fills a model's readings from the parameters.
func (s *system) readingsOf(i int, p, into []float64) {
	m := s.models[i]
	for k := range m.knobs {
		if c := s.columns[i][len(m.vars)+k]; c >= 0 {
			into[k] = p[c]
		} else {
			into[k] = m.knobs[k].reading
		}
	}
}

// each runs one task per model on the workers, and returns the first error in the order of the models.
func (s *system) each(task func(i int) error) error { return parallel(s.workers, len(s.models), task) }

// parallel runs n tasks on some workers, and returns the first error in the order of the tasks.
func parallel(workers, n int, task func(i int) error) error {
	if workers = min(workers, n); workers <= 1 {
		for i := range n {
			if err := task(i); err != nil {
				return err
			}
		}
		return nil
	}
	errs := make([]error, n)
	var next atomic.Int64
	var wait sync.WaitGroup
	for range workers {
		wait.Go(func() {
			for i := int(next.Add(1)) - 1; i < n; i = int(next.Add(1)) - 1 {
				errs[i] = task(i)
			}
		})
	}
	wait.Wait()
	for _, err := range errs {
		if err != nil {
			return err
		}
	}
	return nil
}

// ask sets model i to the parameters and leaves its answer in the scratch: logarithms of amplitudes, or S-parameters.
func (s *system) ask(ctx context.Context, i int, p []float64, derivatives bool) error {
	m, w := s.models[i], &s.scratch[i]
	s.readingsOf(i, p, w.readings)
	if err := m.set(s.vars, p, w.readings, derivatives); err != nil {
		return err
	}
	var d []float64
	if derivatives {
		d = w.d
	}
	if m.kind == scattering {
		return m.scatteringAt(ctx, w.ln, d)
	}
	return m.levelsAt(ctx, w.ln, d)
}

// askAll sets every model to the parameters and leaves the answers in the scratch.
func (s *system) askAll(ctx context.Context, p []float64, derivatives bool) error {
	for _, g := range s.groups {
		if err := s.askGroup(ctx, g, p, derivatives); err != nil {
			return err
		}
	}
	return s.each(func(i int) error {
		if s.grouped[i] {
			return nil
		}
		return s.ask(ctx, i, p, derivatives)
	})
}

// number is what a trace shows for an answer of the model, a logarithm of an amplitude in nepers or a part of an S-parameter, and its
// derivatives by the answer and by the floor's logarithm. gain, in nepers, is the level's; the floor, in nepers of what the trace shows,
// adds in power, and is minus infinity where there is none.
func (x *model) number(answer, gain, floor float64) (y, slope, byFloor float64) {
	if x.kind == scattering {
		return answer, 1, 0
	}
	ln, part := withFloor(answer+gain, floor)
	y, slope = math.Exp(ln), math.Exp(ln)
	if x.kind == decibel {
		y, slope = decibelsPerNeper*ln, decibelsPerNeper
	}
	return y, slope * (1 - part), slope * part
}

// level is the gain and the floor of model i, in nepers.
func (s *system) level(i int, p []float64) (gain, floor float64) {
	floor = math.Inf(-1)
	if g := s.gainOf[i]; g >= 0 {
		gain = p[g]
	}
	if f := s.floorOf[i]; f >= 0 {
		floor = p[f]
	}
	return gain, floor
}

// evaluate is the fit's own: residuals in units of the noise, each trace in what it measures, then the springs of the dials.
func (s *system) evaluate(ctx context.Context, p, r, jac []float64) error {
	n := s.size()
	clear(jac)
	if err := s.askAll(ctx, p, jac != nil); err != nil {
		return err
	}
	err := s.each(func(i int) error {
		m, w := s.models[i], &s.scratch[i]
		gain, floor := s.level(i, p)
		locals := m.locals()
		for k := range m.data {
			row := s.rows[i] + k
			weight := 1 / s.sigma[i][k]
			y, slope, byFloor := m.number(w.ln[k], gain, floor)
			r[row] = (y - m.data[k]) * weight
			if jac == nil {
				continue
			}
			into := jac[row*n : (row+1)*n]
			for c, column := range s.columns[i] {
				if column >= 0 {
					into[column] = slope * w.d[k*locals+c] * weight
				}
			}
			if g := s.gainOf[i]; g >= 0 {
				into[g] = slope * weight
			}
			if f := s.floorOf[i]; f >= 0 {
				into[f] = byFloor * weight
			}
		}
		return nil
	})
	if err != nil {
		return err
	}
	row := s.total
	for j, d := range s.dials {
		k := &s.models[d.model].knobs[d.knob]
		if math.IsInf(k.sd, 1) {
			continue
		}
		column := len(s.vars) + j
		r[row] = (p[column] - k.reading) / k.sd
		if jac != nil {
			jac[row*n+column] = 1 / k.sd
		}
		row++
	}
	return nil
}
