package web

import (
	"encoding/json"
	"net/http"
	"time"

	"knobwise/answer"
)

// steps sends an answer in pieces, a Step a line, so that the page can show how far long work is. An error before the first
// piece is an ordinary failure with its status.
type steps struct {
	w    http.ResponseWriter
	told time.Time
	sent bool
}

func stepsTo(w http.ResponseWriter) *steps { return &steps{w: w, told: time.Now()} }

// progress tells which part of the work is done, ten times a second at most.
func (s *steps) progress(done float64) {
	if s.due() {
		s.send(Step{Done: answer.Number(done)})
	}
}

// due reports whether it is time to tell something again.
func (s *steps) due() bool {
	if time.Since(s.told) <= 100*time.Millisecond {
		return false
	}
	s.told = time.Now()
	return true
}

func (s *steps) send(x Step) {
	if !s.sent {
		s.w.Header().Set("Content-Type", "application/x-ndjson")
		s.w.Header().Set("Cache-Control", "no-store")
		s.sent = true
	}
	if data, err := json.Marshal(x); err == nil {
		_, _ = s.w.Write(append(data, '\n')) // the page may be gone
		_ = http.NewResponseController(s.w).Flush()
	}
}

// end sends the last line with what was found.
func (s *steps) end(found Step) {
	found.Done = 1
	s.send(found)
}

// fail ends with an error.
func (s *steps) fail(err error) {
	if s.sent {
		s.end(Step{Error: problem(asFault(err))})
	} else {
		fail(s.w, asFault(err))
	}
}
