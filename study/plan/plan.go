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

	// Points is the least length of a record that shows the envelope; Exact that of one that holds the carrier itself, so that
	// nothing is folded. Zero where there is no peak to count by, or no time.
	Points, Exact int
	Rate          float64     // Hz, at which a record of Samples, else of Points, else of Exact is sampled; NaN without one
	ExactRate     float64     // Hz, for a record of Exact; NaN without one
	Window        float64     // Hz, over which a peak is smeared where a record is read by its greatest samples; NaN without a time
	Gaps          []chirp.Gap // false gaps of a record of Samples, of very many the widest
	GapCount      int

	Generator Generator

	Levels  Levels
	Pad     *Pad   // nil where no source resistance is wanted
	Probe   *Probe // nil without a probe
	Sweeps  []Take
	Idle    []string // controls that no sweep was found to show
	Notices []string
}

// Levels are the voltages at the oscilloscope.
type Levels struct {
	// Highest, Straight and Lowest are in V peak to peak over the sweep: the highest, straight through at the same frequency,
	// the lowest. All are NaN where nothing reaches the load.
	Highest, Straight, Lowest float64
	HighestAt, LowestAt       float64 // Hz
	Screen                    float64 // V from the bottom to the top that shows the highest with a quarter to spare
	// Step is what one step of the converter is at the lowest level, in dB, for 8, 10 and 12 bits; NaN where that is zero.
	Step map[int]float64
}

// Generator is how the source must be set. All are NaN where the source is no generator.
type Generator struct {
	EMF       float64 // V rms, open-circuit
	Into50    float64 // V rms, that it shows across 50 ohm at its own socket, without the pad
	Into50Vpp float64 // V peak to peak, the same
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
	// Across50 is what it would do across a load of 50 ohm; nil where the load is one, or the effect small.
	Across50 *Probe
}

// Take is one sweep worth taking.
type Take struct {
	Setting box.Setting
	Shows   string // the control whose effect it shows; empty for the first
	// Beside are the switches that stand otherwise than in the first take, because the control shows nothing there; what it
	// shows, it shows against the take in which they alone stand so.
	Beside    []string
	Where     sweep.Where
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

// spare is by how much the carrier is sampled closer than it must be.
const spare = 1.03

// mostTime bounds a sweep, in s: eleven days.
const mostTime = 1_000_000

// counts is how far below the highest a further peak may stand to count for the time of the sweep, dB.
const counts = 20

// Run plans. Errors are *fault.Error, and the context's own where it ends first.
func Run(ctx context.Context, q Question) (*Result, error) {
	if err := q.check(); err != nil {
		return nil, err
	}
	r := &Result{Box: q.Box.Name, Setting: q.At, Sweep: q.Setup.Sweep}
	r.pad(&q)
	r.Setup, r.Generator = q.Setup.Name, generator(q.Setup)
	h, err := hookup.Connect(q.Box, q.At, q.Setup)
	if err != nil {
		return nil, err
	}
	r.Notices = append(r.Notices, h.Notices...)
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
	if err := r.levels(h, trace); err != nil {
		return nil, err
	}
	if err := r.probe(q, trace); err != nil {
		return nil, err
	}
	return r, r.takes(ctx, q, trace)
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
	case q.Setup.Sweep.From > q.Setup.Sweep.To:
		return fault.New(fault.Request, "a falling sweep cannot be planned", "give a rising one; a falling one of the same time is as good, with its lag to the other side")
	case q.Setup.Sweep.Time > mostTime:
		return fault.New(fault.Request, fmt.Sprintf("a sweep of %g s", q.Setup.Sweep.Time), fmt.Sprintf("give one of %d s or less", mostTime))
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
	r.Shift, r.Loss, r.Time = given(q.Shift), given(q.Loss), r.Sweep.Time
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

// given is a limit, or NaN where none is given.
func given(limit float64) float64 {
	if limit == 0 {
		return math.NaN()
	}
	return limit
}

// record says how many samples show the envelope, and what a given number makes of it. Samples span one interval fewer than
// they are.
func (r *Result) record(q Question) error {
	r.Rate, r.ExactRate, r.Window = math.NaN(), math.NaN(), math.NaN()
	if math.IsNaN(r.Time) || r.Time == 0 || r.Time > mostTime {
		return nil
	}
	l, err := law(r.Sweep, r.Time)
	if err != nil {
		return err
	}
	r.Exact = 1 + int(math.Ceil(spare*exactly*l.To*r.Time))
	fastest := math.Abs(l.Rate(l.To))
	if !math.IsNaN(r.Bandwidth) {
		fastest = math.Abs(l.Rate(r.Peak))
		r.Points = min(r.Exact, 1+int(math.Ceil(samplesInStretch*r.Time*fastest/(stretch*r.Bandwidth))))
	}
	r.Window = 2 * math.Sqrt(fastest)
	rate := func(samples int) float64 { return float64(samples-1) / r.Time }
	r.ExactRate = rate(r.Exact)
	for _, samples := range []int{q.Samples, r.Points, r.Exact} {
		if samples > 0 {
			r.Rate = rate(samples)
			break
		}
	}
	if q.Samples == 0 {
		return nil
	}
	if q.Samples < r.Points {
		r.Notices = append(r.Notices, fmt.Sprintf("a record of %d samples shows false gaps in the envelope of the peak at %s; take %d or more, or a narrower sweep", q.Samples, hertz(r.Peak), r.Points))
	}
	if r.Gaps, err = chirp.FalseGaps(l, 1/r.Rate); err != nil {
		return setup.Explain(err)
	}
	r.GapCount, err = chirp.CountGaps(l, 1/r.Rate)
	return setup.Explain(err)
}

func hertz(f float64) string   { return quantity.Format(f, quantity.Hertz, 4) }
func seconds(t float64) string { return quantity.Format(t, quantity.Second, 3) }
func ohms(r float64) string    { return quantity.Format(r, quantity.Ohm, 4) }
