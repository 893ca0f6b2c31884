package trace

import (
	"fmt"
	"math"

	"knobwise/bench/fault"
	"knobwise/bench/quantity"
	"knobwise/physics/chirp"
)

const (
	// mostOfStep is the part of an amplitude by which the steps of the converter may falsify a point that counts. Without noise it
	// leaves out what is below about two steps, with half a step of noise nothing.
	mostOfStep = 0.1
	// standing is the noise, in steps, of samples that stand still against the carrier at a simple part of their rate: there
	// half a step may be off at once, which is five times as much.
	standing = 0.1
)

// steps leaves out the points that the steps of the converter falsify, and counts what they do to the others as noise.
// sampleNoise is the rms of a sample beyond the carrier, the steps included.
func (t *Trace) steps(step, sampleNoise float64) error {
	if step == 0 {
		return nil
	}
	// A step adds its square over 12 to a carrier of many, and up to an eighth to one of a few: what is surely beyond is noise.
	before := math.Sqrt(max(0, sampleNoise*sampleNoise-step*step/6))
	left, most := 0, 0.0
	still := standing * chirp.QuantisationDamping(step, before) * step
	var f, level []float64
	square := 0.0
	for i, v := range t.Level {
		off := chirp.QuantisationError(v, step, before)
		if off > mostOfStep*v {
			left, most = left+1, max(most, v)
			continue
		}
		f, level = append(f, t.Frequency[i]), append(level, v)
		square += max(off, still) * max(off, still)
	}
	if len(f) == 0 {
		return fault.New(fault.Request, fmt.Sprintf("%s: the carrier is nowhere far enough above the steps of the converter, %s", t.File, quantity.Format(step, quantity.Volt, 3)),
			"take it with more of the screen's height, or with noise of half a step or more")
	}
	t.Noise = math.Hypot(t.Noise, math.Sqrt(square/float64(len(f))))
	if left > 0 {
		t.Notices = append(t.Notices, fmt.Sprintf("%s: %d of %d points were left out, the highest at %s: so little over the converter's steps of %s, a level is off by more than %.0f %%", t.File,
			left, len(t.Level), quantity.Format(most, quantity.Volt, 3), quantity.Format(step, quantity.Volt, 3), 100*mostOfStep))
	}
	t.Frequency, t.Level = f, level
	return nil
}
