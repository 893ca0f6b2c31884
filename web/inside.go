package web

import (
	"context"
	"fmt"
	"net/http"
	"runtime"
	"slices"
	"strings"

	"knobwise/answer"
	"knobwise/bench/box"
	"knobwise/bench/document"
	"knobwise/bench/fault"
	"knobwise/bench/measurement"
	"knobwise/study/compare"
	"knobwise/study/identify"
)

// mostThought bounds the measurements that the page has thought through.
const mostThought = 800

const nothingToFind = "Nothing in this box or its setups is marked as unknown, so there is nothing to find. To have a value found again, click its part in the " +
	"drawing and write a question mark before it, like ? 56 pF; a value that a switch sets is marked in the file of the box."

// nothingUnknown reports whether neither box nor setups mark a value as unknown.
func nothingUnknown(ask identify.Question) bool {
	return len(ask.Box.Unknowns()) == 0 && !slices.ContainsFunc(ask.Measurements, func(m *measurement.Measurement) bool { return len(m.Setup.Unknowns()) > 0 })
}

// inside answers in pieces with what the traces of a file of measurements tell of the inside of its box: POST /api/inside. A page that
// goes away ends the work.
func (s *Server) inside(w http.ResponseWriter, r *http.Request) {
	var q InsideRequest
	if err := decode(r.Body, &q); err != nil {
		fail(w, err)
		return
	}
	f, ask, err := s.question(r.Context(), &q)
	if err != nil {
		fail(w, err)
		return
	}
	out := stepsTo(w)
	switch q.What {
	case "values", "next":
		if nothingUnknown(ask) {
			out.end(Step{Nothing: nothingToFind})
			return
		}
		part := 1.0
		if q.What == "next" {
			part = 0.5
		}
		ask.Progress = func(p identify.Progress) {
			if out.due() {
				out.send(Step{Done: answer.Number(part * p.Done), Values: answer.OfValues(p.Values)})
			}
		}
		found, err := identify.Run(r.Context(), ask)
		if err != nil {
			out.fail(err)
			return
		}
		whole := answer.OfIdentified(ask.Box, found)
		if q.What == "values" {
			out.end(Step{Identified: &whole})
			return
		}
		possible := identify.Possibilities(ask.Box, identify.SetupsOf(ask.Measurements), mostThought)
		next, err := found.Next(r.Context(), possible, nil, 3, func(done float64) { out.progress(0.5 + done/2) })
		if err != nil {
			out.fail(err)
			return
		}
		proposed := answer.OfProposals(next, len(possible), found.Notices)
		out.end(Step{Identified: &whole, Proposed: &proposed})
	case "circuits":
		candidates, err := compare.Builtin(f.Box, ask.Measurements, ask.Traces)
		if err != nil {
			out.fail(err)
			return
		}
		found, err := compare.Run(r.Context(), compare.Question{
			Candidates: candidates, Measured: f.Box, Measurements: ask.Measurements, Traces: ask.Traces, ReadingError: ask.ReadingError, Seed: ask.Seed, Workers: ask.Workers,
			Progress: func(done float64, best string) {
				if out.due() {
					out.send(Step{Done: answer.Number(done), Best: best})
				}
			},
		}, identify.SetupsOf(ask.Measurements))
		if err != nil {
			out.fail(err)
			return
		}
		whole := answer.OfCompared(found)
		out.end(Step{Compared: &whole})
	default:
		fail(w, fault.New(fault.Usage, fmt.Sprintf("unknown question %q", q.What), `ask for "values", "circuits" or "next"`))
	}
}

// asked is a box with changes that are not saved, without those that put a number where the file marks a value as unknown: that number
// may be what was found here, only to be looked at, and the value is asked for all the same. Errors are *fault.Error.
func (s *Server) asked(file string, changes []document.Change) (*box.Box, error) {
	filed, err := look(s.desk, s.desk.boxes, file)
	if err != nil {
		return nil, err
	}
	with, err := s.desk.boxWith(file, changes)
	if err != nil {
		return nil, err
	}
	before, after := unknownIn(filed.good), unknownIn(with)
	rest := slices.DeleteFunc(slices.Clone(changes), func(c document.Change) bool {
		path := strings.Join(c.Path, "\x00")
		return !c.Remove && before[path] && !after[path]
	})
	if len(rest) == len(changes) {
		return with, nil
	}
	return s.desk.boxWith(file, rest)
}

// unknownIn is where the values stand that a box's file marks as unknown.
func unknownIn(b *box.Box) map[string]bool {
	all := map[string]bool{}
	for _, u := range b.Unknowns() {
		all[strings.Join(u.Node.Path(), "\x00")] = true
	}
	return all
}

// question reads a file of measurements with its traces, and the box with changes that are not saved.
func (s *Server) question(ctx context.Context, q *InsideRequest) (*measurement.File, identify.Question, error) {
	ask := identify.Question{ReadingError: identify.DefaultReadingError, Seed: 1, Workers: max(1, runtime.GOMAXPROCS(0)-1)} // a knob may be turned meanwhile
	f, err := measurement.LoadFile(s.desk.files(), q.File)
	if err != nil {
		return nil, ask, err
	}
	if ask.Box, err = s.asked(f.BoxFile, q.Changes); err != nil {
		return nil, ask, err
	}
	for i, m := range f.Measurements {
		t, err := s.traces.load(ctx, s.desk, fmt.Sprintf("%s %d", q.File, i), m)
		if err != nil {
			return nil, ask, err
		}
		ask.Measurements, ask.Traces = append(ask.Measurements, m), append(ask.Traces, t)
	}
	return f, ask, nil
}
