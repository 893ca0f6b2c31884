package web

import (
	"fmt"
	"math"
	"net/http"
	"runtime"
	"slices"

	"knobwise/answer"
	"knobwise/bench/box"
	"knobwise/bench/fault"
	"knobwise/bench/quantity"
	"knobwise/study/coverage"
)

// lanePoints is at how many frequencies the page's lanes are asked: they are a few hundred pixels wide.
const lanePoints = 201

// lanes answers with what every position of the switches can do over the range: POST /api/lanes. The answer comes in
// pieces. A page that goes away ends the work.
func (s *Server) lanes(w http.ResponseWriter, r *http.Request) {
	var q SweepRequest
	if err := decode(r.Body, &q); err != nil {
		fail(w, err)
		return
	}
	a, err := s.prepare(q)
	if err != nil {
		fail(w, err)
		return
	}
	out := stepsTo(w)
	over := a.over
	over.Points = lanePoints
	found, err := coverage.Run(r.Context(), coverage.Question{
		Box: a.box, Setup: a.setup, Over: over, At: a.setting,
		Threads:  max(1, runtime.GOMAXPROCS(0)-1), // a knob may be turned meanwhile
		Progress: out.progress,
	})
	if err != nil {
		out.fail(err)
		return
	}
	out.end(Step{Lanes: ofLanes(a.box, found)})
}

func ofLanes(b *box.Box, r *coverage.Result) *Lanes {
	whole := answer.OfCoverage(b, r)
	out := &Lanes{Frequency: whole.Frequency, Lanes: []Lane{}, Use: whole.Use, Gaps: whole.Gaps, Silent: r.Silent, Log: r.Over.Log}
	for _, l := range whole.Lanes {
		j := Lane{Name: l.Name, Switches: []Position{}, Peak: l.PeakInsertion, Ranges: l.Ranges, Knobs: l.Knobs}
		for _, c := range b.Controls {
			if c.Switch != nil && !slices.Contains(l.Idle, c.Name) {
				j.Switches = append(j.Switches, Position{c.Name, l.Switches[c.Name].Word})
			}
		}
		out.Lanes = append(out.Lanes, j)
	}
	return out
}

// place answers with the setting that puts a peak at a frequency with the switches as they are: POST /api/place.
func (s *Server) place(r *http.Request) (any, error) {
	var q PlaceRequest
	if err := decode(r.Body, &q); err != nil {
		return nil, err
	}
	a, err := s.prepare(q.SweepRequest)
	if err != nil {
		return nil, err
	}
	f := q.Frequency
	if !(f > 0 && f <= mostHertz) {
		return nil, fault.New(fault.Usage, fmt.Sprintf("%g Hz is no frequency of a bench", f), "give one above zero and up to 1 THz")
	}
	fixed := map[string]bool{}
	for _, c := range a.box.Controls {
		fixed[c.Name] = c.Switch != nil
	}
	over := a.over
	over.From, over.To, over.Points = f, math.Nextafter(f, math.Inf(1)), 2
	found, err := coverage.Run(r.Context(), coverage.Question{Box: a.box, Setup: a.setup, Over: over, At: a.setting, Fixed: fixed, Threads: 1})
	if err != nil {
		return nil, err
	}
	if len(found.Lanes) == 0 || found.Lanes[0].Peaks[0].Setting == nil {
		return nil, fault.New(fault.Request, "no position of the knobs places a peak at "+quantity.Format(f, quantity.Hertz, 4)+" with the switches so", "choose a frequency inside a lane")
	}
	p := found.Lanes[0].Peaks[0]
	out := PlaceReply{Setting: map[string]any{}, Insertion: answer.Number(p.Insertion)}
	for control, at := range p.Setting {
		if at.Word != "" {
			out.Setting[control] = at.Word
		} else {
			out.Setting[control] = at.Number
		}
	}
	return out, nil
}
