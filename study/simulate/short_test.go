package simulate_test

import (
	"errors"
	"math"
	"strings"
	"testing"

	"knobwise/bench/fault"
	"knobwise/bench/hookup"
	"knobwise/study/simulate"
)

// A sweep that is too short for its box is refused in one line with a time that works, whatever the record; and one that is long, or
// whose record is, ends in finite numbers.
func TestAnyTime(t *testing.T) {
	b, s := resonator(t, 100)
	h, err := hookup.Connect(b, b.Start(), s)
	if err != nil {
		t.Fatal(err)
	}
	refused, recorded := 0, 0
	for _, c := range []struct{ time, record float64 }{
		{1e-15, 0}, {1e-9, 0}, {1e-9, 1}, {1e-7, 1e-9}, {1e-6, 0}, {1e-4, 0}, {1e-4, 1}, {1e-4, 1e-7}, {1, 0}, {1, 1e-6}, {1e-3, 1e6}, {1e6, 0},
	} {
		for _, log := range []bool{false, true} {
			if log && c.time < 1e-6 {
				continue // a refusal takes seconds
			}
			over := s.Sweep
			over.Time, over.Log = c.time, log
			r, err := simulate.Run(t.Context(), simulate.Question{Hookup: h, Sweep: over, Record: c.record, Samples: 200})
			if err != nil {
				f, ok := errors.AsType[*fault.Error](err)
				if !ok || c.time > 1e-5 || !strings.Contains(f.What, "is too short to be computed") || !strings.HasSuffix(f.Instead, "us or more") || strings.Contains(err.Error(), "\n") {
					t.Errorf("%g s, record %g s: %v", c.time, c.record, err)
				}
				refused++
				continue
			}
			recorded++
			for i, v := range r.Voltage {
				if math.IsNaN(v) || math.Abs(v) > 2 || math.IsNaN(r.Envelope[i]) {
					t.Fatalf("%g s, record %g s: sample %d is %g V", c.time, c.record, i, v)
				}
			}
		}
	}
	if refused < 4 || recorded < 10 {
		t.Errorf("%d refused, %d recorded", refused, recorded)
	}
}
