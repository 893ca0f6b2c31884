// Package plan says before a sweep is taken how it must be taken to show the truth: how slow the generator, how long the
// record, how strong the signal at the oscilloscope, what the probe does to the box, and which sweeps together show what
// every control does.
//
// Results are plain data; a number that does not exist is NaN.
package plan

import (
	"context"
	"fmt"
	"math"

	"knobwise/bench/box"
	"knobwise/bench/fault"
	"knobwise/bench/hookup"
	"knobwise/bench/quantity"
	"knobwise/bench/setup"
	"knobwise/physics/chirp"
	"knobwise/study/sweep"
)

// Question is what is to be measured, and how closely.
type Question struct {
	Box   *box.Box
	Setup *setup.Setup
	At    box.Setting
	// Shift and Loss are what the sweep may do to the peak: Hz and dB. Zero for the usual: a hundredth of the bandwidth, and
	// 0.1 dB.
	Shift, Loss float64
	Samples     int     // of the oscilloscope's record; 0 where any length can be had
	Wanted      float64 // ohm, the source resistance that is wanted from the generator; 0 for the setup's
}

// Result is the plan.
type Result struct {
	Box, Setup string
	Setting    box.Setting
	Sweep      setup.Sweep

	Peak, Bandwidth, LoadedQ float64 // Hz, Hz: of the narrowest peak that counts; NaN where there is none
	Shift, Loss              float64 // Hz, dB: the limits that count
	Shortest                 float64 // s, of the sweep for these limits
	Time                     float64 // s, of the sweep that is judged: the setup's, else Shortest
	PeakShift                float64 // Hz, by which that sweep shows the peak off, in the direction of the sweep
	PeakLoss                 float64 // dB, by which it shows it too low
	Broadening               float64 // shown width over the true one

	// Points is the least length of a record that shows the envelope by the greatest samples of small stretches; Exact that
	// of one that holds the carrier itself, so that its envelope is exact and nothing is folded.
	Points, Exact int
	Gaps          []chirp.Gap // false gaps of a record of Samples

	Levels  Levels
	Pad     *Pad   // nil where no source resistance is wanted
	Probe   *Probe // nil without a probe
	Sweeps  []Take
	Notices []string
}

// Levels are the voltages at the oscilloscope.
type Levels struct {
	Highest, Straight, Lowest float64 // V peak to peak over the sweep: the highest, straight through at the same frequency, the lowest
	HighestAt, LowestAt       float64 // Hz
	Screen                    float64 // V from the bottom to the top that shows the highest with a quarter to spare
	// Step is what one step of the converter is at the lowest level, in dB, for 8, 10 and 12 bits.
	Step map[int]float64
}

// Pad is a resistor in series with a generator.
type Pad struct {
	Series float64 // ohm, the nearest of the E24 series (IEC 60063)
	Source float64 // ohm, what results
}

// Probe is what the probe does to the box.
type Probe struct {
	Shift float64 // Hz, of the peak; NaN where it has none
	Gain  float64 // dB, of the peak's voltage
}

// Take is one sweep worth taking.
type Take struct {
	Setting   box.Setting
	Shows     string  // the control whose effect it shows against the first; empty for the first
	Peak      float64 // Hz; NaN where it has none
	Bandwidth float64 // Hz
	Level     float64 // dB, voltage at the peak (or where it is highest) over 1 V rms
	Height    float64 // V peak to peak, the same
	Shortest  float64 // s
}

// Defaults of the limits.
const (
	usualShift = 0.01 // of the bandwidth
	usualLoss  = 0.1  // dB
)

// What a record needs: so many samples while the sweep crosses such a part of the narrowest bandwidth.
const (
	stretch          = 1. / 8
	samplesInStretch = 16
	exactly          = 2.5 // samples per period of the highest frequency
)

// counts is how far below the highest a further peak may stand to count for the time of the sweep, dB.
const counts = 20

// Run plans. Errors are *fault.Error, and the context's own where it ends first.
func Run(ctx context.Context, q Question) (*Result, error) {
	if err := q.check(); err != nil {
		return nil, err
	}
	h, err := hookup.Connect(q.Box, q.At, q.Setup)
	if err != nil {
		return nil, err
	}
	r := &Result{Box: q.Box.Name, Setup: q.Setup.Name, Setting: q.At, Sweep: q.Setup.Sweep, Notices: h.Notices}
	trace, err := sweep.Run(h, sweep.Question{Sweep: q.Setup.Sweep, Features: []sweep.Trace{sweep.LoadVoltage}})
	if err != nil {
		return nil, err
	}
	if err := r.time(h, q, trace); err != nil {
		return nil, err
	}
	if err := r.record(q); err != nil {
		return nil, err
	}
	r.levels(trace)
	r.pad(q)
	if err := r.probe(q, trace); err != nil {
		return nil, err
	}
	return r, r.takes(ctx, q)
}

func (q *Question) check() error {
	positive := func(v float64) bool { return v >= 0 && !math.IsInf(v, 0) }
	switch {
	case !positive(q.Shift) || !positive(q.Loss):
		return fault.New(fault.Request, "a limit of the sweep is below zero", "give hertz and decibels, or leave them out")
	case q.Samples < 0 || q.Samples == 1 || q.Samples > 1_000_000_000:
		return fault.New(fault.Request, fmt.Sprintf("a record of %d samples", q.Samples), "give 2 or more, or leave it out")
	case !positive(q.Wanted):
		return fault.New(fault.Request, "a source resistance below zero", "give one above zero")
	}
	return nil
}

// law is the sweep in another time.
func law(s setup.Sweep, time float64) (chirp.Law, error) {
	s.Time = time
	return s.Law()
}

// resonance is a peak with its width.
type resonance struct{ peak, width float64 }

// resonances are the peaks of a trace that count, with the widths that they have.
func resonances(h *hookup.Hookup, t *sweep.Result) (all []resonance, err error) {
	f := t.Features[0]
	if f.Where != sweep.Inside {
		return nil, nil
	}
	for _, p := range append([]sweep.Peak{f.Peak}, f.Others...) {
		if p.Level < f.Peak.Level-counts {
			continue
		}
		width, err := sweep.Width(h, sweep.LoadVoltage, p.Frequency, t.Frequency)
		if err != nil {
			return nil, err
		}
		if !math.IsNaN(width) {
			all = append(all, resonance{p.Frequency, width})
		}
	}
	return all, nil
}

// time finds the resonance that needs the slowest sweep.
func (r *Result) time(h *hookup.Hookup, q Question, t *sweep.Result) error {
	r.Peak, r.Bandwidth, r.LoadedQ, r.Shortest, r.PeakShift, r.PeakLoss, r.Broadening = math.NaN(), math.NaN(), math.NaN(), math.NaN(), math.NaN(), math.NaN(), math.NaN()
	r.Shift, r.Loss, r.Time = q.Shift, q.Loss, r.Sweep.Time
	all, err := resonances(h, t)
	if err != nil {
		return err
	}
	if len(all) == 0 {
		r.Notices = append(r.Notices, "no peak inside the sweep falls to half its power on both sides, so no sweep is too fast for it")
		return nil
	}
	for _, one := range all {
		limits := chirp.Limits{Shift: q.Shift, Loss: q.Loss}
		if limits.Shift == 0 {
			limits.Shift = usualShift * one.width
		}
		if limits.Loss == 0 {
			limits.Loss = usualLoss
		}
		l, err := law(r.Sweep, 1) // the time does not count
		if err != nil {
			return err
		}
		p, err := chirp.ShortestSweep(l, one.peak, one.width, limits)
		if err != nil {
			return setup.Explain(err)
		}
		if !(p.Time <= r.Shortest) {
			r.Peak, r.Bandwidth, r.LoadedQ, r.Shortest = one.peak, one.width, one.peak/one.width, p.Time
			r.Shift, r.Loss = limits.Shift, limits.Loss
		}
	}
	if r.Time == 0 {
		r.Time = r.Shortest
	}
	l, err := law(r.Sweep, r.Time)
	if err != nil {
		return err
	}
	rate := l.Rate(r.Peak)
	passage, err := chirp.NewPassage(math.Abs(rate) / (r.Bandwidth * r.Bandwidth))
	if err != nil {
		return setup.Explain(err)
	}
	r.PeakShift = math.Copysign(passage.Shift()*r.Bandwidth, rate)
	r.PeakLoss, r.Broadening = passage.Loss(), passage.Width
	if r.Time < r.Shortest*(1-1e-9) {
		r.Notices = append(r.Notices, fmt.Sprintf("a sweep of %s is too fast for the peak at %s: it shows it %s off and %.2g dB too low; take %s or more",
			seconds(r.Time), hertz(r.Peak), hertz(math.Abs(r.PeakShift)), r.PeakLoss, seconds(r.Shortest)))
	}
	return nil
}

// record says how many samples show the envelope, and what a given number makes of it.
func (r *Result) record(q Question) error {
	if math.IsNaN(r.Time) || r.Time == 0 {
		return nil
	}
	l, err := law(r.Sweep, r.Time)
	if err != nil {
		return err
	}
	top := max(l.From, l.To)
	r.Exact = int(math.Ceil(exactly * top * r.Time))
	if !math.IsNaN(r.Bandwidth) {
		r.Points = min(r.Exact, int(math.Ceil(samplesInStretch*r.Time*math.Abs(l.Rate(r.Peak))/(stretch*r.Bandwidth))))
	}
	if q.Samples == 0 {
		return nil
	}
	if q.Samples < r.Points {
		r.Notices = append(r.Notices, fmt.Sprintf("a record of %d samples shows false gaps in the envelope of the peak at %s; take %d or more, or a narrower sweep", q.Samples, hertz(r.Peak), r.Points))
	}
	if gaps, err := chirp.FalseGaps(l, r.Time/float64(q.Samples-1)); err == nil {
		r.Gaps = gaps
	}
	return nil
}

// peakToPeak is that of a sine of 1 V rms.
const peakToPeak = 2 * math.Sqrt2

// levels are those at the oscilloscope, peak to peak.
func (r *Result) levels(t *sweep.Result) {
	l := Levels{Highest: 0, Lowest: math.Inf(1), Step: map[int]float64{}}
	for i, v := range t.LoadV {
		if math.IsNaN(v) {
			continue
		}
		if v *= peakToPeak; v > l.Highest {
			l.Highest, l.HighestAt, l.Straight = v, t.Frequency[i], peakToPeak*t.StraightV[i]
		}
		if v < l.Lowest {
			l.Lowest, l.LowestAt = v, t.Frequency[i]
		}
	}
	l.Screen = 1.25 * l.Highest
	for _, bits := range []int{8, 10, 12} {
		l.Step[bits] = 20 * math.Log10(1+l.Screen/math.Exp2(float64(bits))/l.Lowest)
	}
	r.Levels = l
	if l.Step[8] > 3 {
		r.Notices = append(r.Notices, fmt.Sprintf("at %s one step of an 8-bit oscilloscope is %.2g dB of the signal: look at the skirts with more gain, in a sweep of their own", hertz(l.LowestAt), l.Step[8]))
	}
}

// e24 is the E24 series of IEC 60063.
var e24 = []float64{1, 1.1, 1.2, 1.3, 1.5, 1.6, 1.8, 2, 2.2, 2.4, 2.7, 3, 3.3, 3.6, 3.9, 4.3, 4.7, 5.1, 5.6, 6.2, 6.8, 7.5, 8.2, 9.1}

// pad chooses the resistor in series with a generator for a wanted source resistance.
func (r *Result) pad(q Question) {
	if q.Wanted == 0 {
		return
	}
	own, ok := q.Setup.GeneratorImpedance()
	switch {
	case !ok:
		r.Notices = append(r.Notices, "the source is no generator, so no pad makes it another")
		return
	case q.Wanted < own:
		r.Notices = append(r.Notices, fmt.Sprintf("the generator's own %s is more than the %s that are wanted: a resistor in series cannot lower it", ohms(own), ohms(q.Wanted)))
		return
	}
	series := q.Wanted - own
	if series < 0.5 { // the generator is as good as that
		r.Pad = &Pad{0, own}
		return
	}
	decade := math.Pow(10, math.Floor(math.Log10(series)))
	best := math.Inf(1)
	for _, scale := range []float64{decade, 10 * decade} {
		for _, v := range e24 {
			if math.Abs(math.Log(v*scale/series)) < math.Abs(math.Log(best/series)) {
				best = v * scale
			}
		}
	}
	r.Pad = &Pad{best, own + best}
}

// probe compares with the same bench without the probe.
func (r *Result) probe(q Question, with *sweep.Result) error {
	if q.Setup.Probe == nil {
		return nil
	}
	bare := *q.Setup
	bare.Probe = nil
	h, err := hookup.Connect(q.Box, q.At, &bare)
	if err != nil {
		return err
	}
	without, err := sweep.Run(h, sweep.Question{Sweep: bare.Sweep, Features: []sweep.Trace{sweep.LoadVoltage}})
	if err != nil {
		r.Notices = append(r.Notices, "without the probe this bench has no answer: "+err.Error())
		return nil //nolint:nilerr // an open end alone has no voltage; that is told
	}
	a, b := with.Features[0], without.Features[0]
	p := &Probe{Shift: math.NaN(), Gain: a.Peak.Level - b.Peak.Level}
	if a.Where == sweep.Inside && b.Where == sweep.Inside {
		p.Shift = a.Peak.Frequency - b.Peak.Frequency
	}
	r.Probe = p
	if math.Abs(p.Shift) > usualShift*r.Bandwidth || math.Abs(p.Gain) > 0.5 {
		r.Notices = append(r.Notices, fmt.Sprintf("the probe moves the peak by %s and changes it by %+.2f dB: measure across a resistor that the box is made for (50 ohm), or keep the probe in the setup when the trace is compared",
			hertz(p.Shift), p.Gain))
	}
	return nil
}

// takes lists sweeps that together show what every control does: the setting itself, then each control elsewhere, the others
// as they are.
func (r *Result) takes(ctx context.Context, q Question) error {
	add := func(s box.Setting, shows string) error {
		if err := ctx.Err(); err != nil {
			return err
		}
		h, err := hookup.Connect(q.Box, s, q.Setup)
		if err != nil {
			return err
		}
		t, err := sweep.Run(h, sweep.Question{Sweep: q.Setup.Sweep, Features: []sweep.Trace{sweep.LoadVoltage}})
		if err != nil {
			return err
		}
		one := Take{Setting: s, Shows: shows, Peak: math.NaN(), Bandwidth: math.NaN(), Level: t.Features[0].Peak.Level, Shortest: math.NaN()}
		one.Height = peakToPeak * math.Pow(10, one.Level/20)
		if t.Features[0].Where == sweep.Inside {
			one.Peak, one.Bandwidth = t.Features[0].Peak.Frequency, t.Features[0].Bandwidth
		}
		var judged Result
		judged.Sweep = q.Setup.Sweep
		if err := judged.time(h, q, t); err != nil {
			return err
		}
		one.Shortest = judged.Shortest
		r.Sweeps = append(r.Sweeps, one)
		return nil
	}
	if err := add(q.At, ""); err != nil {
		return err
	}
	for _, c := range q.Box.Controls {
		for _, at := range elsewhere(c, q.At[c.Name]) {
			if err := add(q.At.With(c.Name, at), c.Name); err != nil {
				return err
			}
		}
	}
	return nil
}

// elsewhere are the other positions of a switch, and the stops and the middle of a knob's scale.
func elsewhere(c *box.Control, now box.Reading) (all []box.Reading) {
	if c.Switch != nil {
		for _, p := range c.Switch.Positions {
			if p.Name != now.Word {
				all = append(all, box.Reading{Word: p.Name})
			}
		}
		return all
	}
	k := c.Knob
	for _, x := range []float64{k.From, (k.From + k.To) / 2, k.To} {
		if math.Abs(x-now.Number) > 0.1*math.Abs(k.To-k.From) {
			all = append(all, box.Reading{Number: x})
		}
	}
	return all
}

func hertz(f float64) string   { return quantity.Format(f, quantity.Hertz, 4) }
func seconds(t float64) string { return quantity.Format(t, quantity.Second, 3) }
func ohms(r float64) string    { return quantity.Format(r, quantity.Ohm, 4) }
