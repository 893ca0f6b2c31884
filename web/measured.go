package web

import (
	"context"
	"fmt"
	"net/http"
	"slices"
	"sync"

	"knobwise/answer"
	"knobwise/bench/fault"
	"knobwise/bench/measurement"
	"knobwise/bench/trace"
	"knobwise/study/residual"
)

// traces keeps what was read from measured traces until anything in the folder changes: a record of an oscilloscope takes
// seconds to read.
type traces struct {
	mu      sync.Mutex
	changes int
	read    map[string]*trace.Trace
}

func (t *traces) load(ctx context.Context, d *desk, key string, m *measurement.Measurement) (*trace.Trace, error) {
	changes := d.count()
	t.mu.Lock()
	if t.changes != changes || t.read == nil {
		t.changes, t.read = changes, map[string]*trace.Trace{}
	}
	found := t.read[key]
	t.mu.Unlock()
	if found != nil {
		return found, nil
	}
	found, err := trace.Load(ctx, d.files(), m)
	if err != nil {
		return nil, err
	}
	t.mu.Lock()
	defer t.mu.Unlock()
	if t.changes == changes {
		t.read[key] = found
	}
	return found, nil
}

// measurements lists what was measured at a box, in every file of measurements of the folder.
func (s *Server) measurements(r *http.Request) (any, error) {
	box := r.URL.Query().Get("box")
	out := Measurements{List: []Measurement{}, Files: []string{}, Errors: []Problem{}}
	names, err := s.desk.files().List(measurement.Suffix)
	if err != nil {
		return nil, err
	}
	for _, name := range names {
		f, err := measurement.LoadFile(s.desk.files(), name)
		if err != nil {
			out.Errors = append(out.Errors, *problem(asFault(err)))
			continue
		}
		if f.BoxFile != box {
			continue
		}
		for i, m := range f.Measurements {
			out.Files = append(out.Files, m.Trace)
			if m.Reference != "" {
				out.Files = append(out.Files, m.Reference)
			}
			j := Measurement{File: name, Index: i, Name: m.Name, Setup: m.SetupFile, Setting: map[string]any{}, Doubtful: []string{}, Quantity: string(m.Quantity)}
			for _, c := range f.Box.Controls {
				at := m.Setting[c.Name]
				if c.Switch != nil {
					j.Setting[c.Name] = at.Word
				} else {
					j.Setting[c.Name] = at.Number
				}
				if _, doubtful := m.Doubtful[c.Name]; doubtful {
					j.Doubtful = append(j.Doubtful, c.Name)
				}
			}
			out.List = append(out.List, j)
		}
	}
	slices.Sort(out.Files)
	out.Files = slices.Compact(out.Files)
	return out, nil
}

// measured answers with a measured trace beside the model.
func (s *Server) measured(r *http.Request) (any, error) {
	var q MeasuredRequest
	if err := decode(r.Body, &q); err != nil {
		return nil, err
	}
	f, err := measurement.LoadFile(s.desk.files(), q.File)
	if err != nil {
		return nil, err
	}
	if q.Index < 0 || q.Index >= len(f.Measurements) {
		return nil, fault.New(fault.Request, fmt.Sprintf("%s has no measurement %d", q.File, q.Index+1), fmt.Sprintf("it has %d", len(f.Measurements)))
	}
	m := f.Measurements[q.Index]
	t, err := s.traces.load(r.Context(), s.desk, fmt.Sprintf("%s %d", q.File, q.Index), m)
	if err != nil {
		return nil, err
	}
	b, err := s.desk.boxWith(f.BoxFile, q.Changes)
	if err != nil {
		return nil, err
	}
	compared, err := residual.Run(r.Context(), b, m, t)
	if err != nil {
		return nil, err
	}
	return thinned(answer.OfResidual(compared)), nil
}
