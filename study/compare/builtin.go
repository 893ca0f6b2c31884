package compare

import (
	"math"

	"knobwise/bench/box"
	"knobwise/bench/family"
	"knobwise/bench/folder"
	"knobwise/bench/measurement"
	"knobwise/bench/trace"
)

// Builtin is the built-in candidates for a box of which only the panel is known: circuits of the trade with its moving parts and
// controls, for the settings and frequencies that were measured. Errors are *fault.Error.
func Builtin(b *box.Box, measurements []*measurement.Measurement, traces []*trace.Trace) ([]Candidate, error) {
	low, high := math.Inf(1), 0.0
	var settings []box.Setting
	for i, m := range measurements {
		f := traces[i].Frequency
		low, high = min(low, f[0]), max(high, f[len(f)-1])
		settings = append(settings, m.Setting)
	}
	circuits, err := family.Of(b, settings, low, high)
	if err != nil {
		return nil, err
	}
	var all []Candidate
	for _, c := range circuits {
		parsed, err := box.Parse(folder.Disk(), c.Name, c.Text)
		if err != nil {
			return nil, err
		}
		all = append(all, Candidate{Name: c.Name, About: c.About, Box: parsed})
	}
	return all, nil
}
