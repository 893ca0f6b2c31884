package web

import (
	"net/http"

	"knobwise/study/simulate"
)

// screenSamples is how many points of the curve a screen gets: it is some hundred pixels wide.
const screenSamples = 1201

// screen answers with what an oscilloscope shows.
func (s *Server) screen(r *http.Request) (any, error) {
	var q ScreenRequest
	if err := decode(r.Body, &q); err != nil {
		return nil, err
	}
	a, err := s.prepare(q.SweepRequest)
	if err != nil {
		return nil, err
	}
	if err := a.hookup.Covers(a.over.From, a.over.To); err != nil {
		return nil, err
	}
	over := a.over
	over.Time = q.Time
	found, err := simulate.Run(r.Context(), simulate.Question{Hookup: a.hookup, Sweep: over, Samples: screenSamples})
	if err != nil {
		return nil, err
	}
	out := Screen{Envelope: found.Envelope, Steady: found.Steady}
	for i := range found.Envelope {
		out.Time = append(out.Time, float64(i)*found.Interval)
	}
	return out, nil
}
