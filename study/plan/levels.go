package plan

import (
	"fmt"
	"math"
	"math/cmplx"

	"knobwise/bench/hookup"
	"knobwise/study/sweep"
)

// peakToPeak is that of a sine of 1 V rms.
const peakToPeak = 2 * math.Sqrt2

// levels are those at the oscilloscope, peak to peak: at the peak and in the deepest notch, which lie between the points of the
// sweep.
func (r *Result) levels(h *hookup.Hookup, t *sweep.Result) error {
	nan := math.NaN()
	l := Levels{Highest: nan, Straight: nan, Lowest: nan, HighestAt: nan, LowestAt: nan, Screen: nan, Step: map[int]float64{8: nan, 10: nan, 12: nan}}
	r.Levels = l
	f := t.Features[0]
	if f.Where == sweep.Nowhere {
		r.Notices = append(r.Notices, "nothing reaches the load at this setting, so there is nothing to see")
		return nil
	}
	x, err := h.Response(f.Peak.Frequency)
	if err != nil {
		return err
	}
	l.Highest, l.HighestAt, l.Straight = peakToPeak*cmplx.Abs(x.Load), f.Peak.Frequency, peakToPeak*cmplx.Abs(x.Straight)
	if l.LowestAt, l.Lowest, err = lowest(h, t); err != nil {
		return err
	}
	l.Lowest *= peakToPeak
	l.Screen = 1.25 * l.Highest
	for bits := range l.Step {
		if l.Lowest > 0 {
			l.Step[bits] = 20 * math.Log10(1+l.Screen/math.Exp2(float64(bits))/l.Lowest)
		}
	}
	r.Levels = l
	if l.Lowest == 0 || l.Step[8] > 3 {
		step := "is more than the signal"
		if l.Lowest > 0 {
			step = fmt.Sprintf("is %.2g dB of the signal", l.Step[8])
		}
		r.Notices = append(r.Notices, fmt.Sprintf("at %s one step of an 8-bit oscilloscope %s: look at the skirts with more gain, in a sweep of their own", hertz(l.LowestAt), step))
	}
	return nil
}

// lowest is where in Hz, and at how many V rms, the load's voltage is lowest: the lowest point of the sweep, or the bottom of a
// notch beside one, by thirds of its bracket.
func lowest(h *hookup.Hookup, t *sweep.Result) (at, level float64, err error) {
	level = math.Inf(1)
	voltage := func(f float64) float64 {
		x, failed := h.Response(f)
		if failed != nil {
			err = failed
			return math.NaN()
		}
		v := cmplx.Abs(x.Load)
		if v < level {
			at, level = f, v
		}
		return v
	}
	last := len(t.Frequency) - 1
	for i, v := range t.LoadV {
		if v < level {
			at, level = t.Frequency[i], v
		}
		if i == 0 || i == last || !(v <= t.LoadV[i-1] && v <= t.LoadV[i+1]) {
			continue
		}
		low, high := t.Frequency[i-1], t.Frequency[i+1]
		for range 60 {
			a, b := low+(high-low)/3, high-(high-low)/3
			if voltage(a) < voltage(b) {
				high = b
			} else {
				low = a
			}
		}
	}
	return at, level, err
}
