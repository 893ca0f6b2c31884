package coverage

import (
	"math"

	"knobwise/bench/box"
	"knobwise/bench/hookup"
	"knobwise/study/sweep"
)

// Effect is what a knob is worth, about the peak in the middle of a lane's widest range.
type Effect struct {
	Control string
	At      float64 // Hz, of that peak
	// Peak is how far one division moves the peak, in Hz, and Level how far it moves the gain at the same frequency, in dB (the
	// larger of both ways). A division is a tenth of the knob's scale.
	Peak, Level float64
}

// divisions is how many divisions a scale has.
const divisions = 10

func (r *Result) effects(w *work, l *Lane) error {
	i := l.middle(r.Frequency)
	if i < 0 {
		return nil
	}
	setting := l.Peaks[i].Setting
	for _, c := range w.q.Box.Controls {
		if c.Knob == nil || w.q.Fixed[c.Name] {
			continue
		}
		e := Effect{Control: c.Name, At: r.Frequency[i]}
		division := math.Abs(c.Knob.To-c.Knob.From) / divisions
		var peaks []float64
		var readings []float64
		for _, part := range []float64{-0.01, 0.01} {
			reading := clamp(c.Knob, setting[c.Name].Number+part*division)
			h, err := hookup.Connect(w.q.Box, setting.With(c.Name, box.Reading{Number: reading}), w.q.Setup)
			if err != nil {
				return err
			}
			peak, err := sweep.PeakNear(h, sweep.LoadVoltage, r.Frequency[i], r.Over.From, r.Over.To)
			if err != nil {
				return err
			}
			peaks, readings = append(peaks, peak), append(readings, reading)
		}
		e.Peak = (peaks[1] - peaks[0]) / (readings[1] - readings[0]) * division
		for _, way := range []float64{-1, 1} {
			reading := clamp(c.Knob, setting[c.Name].Number+way*division)
			h, err := hookup.Connect(w.q.Box, setting.With(c.Name, box.Reading{Number: reading}), w.q.Setup)
			if err != nil {
				return err
			}
			x, err := h.Response(r.Frequency[i])
			if err != nil {
				return err
			}
			power := (real(x.Load)*real(x.Load) + imag(x.Load)*imag(x.Load)) / (w.q.Setup.Source.EMF * w.q.Setup.Source.EMF)
			if change := decibels(power*w.scales[i].Insertion) - l.Peaks[i].Insertion; math.Abs(change) > math.Abs(e.Level) {
				e.Level = change
			}
		}
		l.Knobs = append(l.Knobs, e)
	}
	return nil
}

func clamp(k *box.Knob, reading float64) float64 {
	return math.Max(min(k.From, k.To), math.Min(max(k.From, k.To), reading))
}

// middle is the index of the frequency in the middle (as a ratio) of a lane's widest range; -1 where it has no peak.
func (l *Lane) middle(frequency []float64) int {
	widest := Range{1, 1}
	for _, r := range l.Ranges {
		if r.High/r.Low >= widest.High/widest.Low {
			widest = r
		}
	}
	best, off := -1, math.Inf(1)
	for i, f := range frequency {
		if l.Peaks[i].Setting == nil || f < widest.Low || f > widest.High {
			continue
		}
		if d := math.Abs(math.Log(f * f / (widest.Low * widest.High))); d < off {
			best, off = i, d
		}
	}
	return best
}
