package setup

import (
	"context"
	"errors"

	"knobwise/bench/fault"
	"knobwise/physics/chirp"
)

// Law is the sweep as the generator runs it. Errors are *fault.Error: nothing says how long it takes, or it is no sweep.
func (s Sweep) Law() (chirp.Law, error) {
	law := chirp.Law{From: s.From, To: s.To, Time: s.Time}
	if s.Log {
		law.Spacing = chirp.Logarithmic
	}
	if !(s.Time > 0) {
		return law, fault.New(fault.Request, "nothing says how long the sweep takes", "add `time` to the setup's sweep, or give --time")
	}
	return law, Explain(law.Validate())
}

// Explain turns an error of package chirp into a fault. What is a fault already, and the context's own error, stay.
func Explain(err error) error {
	if err == nil || errors.Is(err, context.Canceled) || errors.Is(err, context.DeadlineExceeded) {
		return err
	}
	if f, ok := errors.AsType[*fault.Error](err); ok {
		return f
	}
	f := &fault.Error{Kind: fault.Request, What: err.Error(), Cause: err}
	if _, ok := errors.AsType[*chirp.RingError](err); ok {
		f.Kind, f.Instead = fault.Unsolvable, "give its parts a Q"
	}
	return f
}
