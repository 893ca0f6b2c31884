// Package sweep asks what a box at one setting does over frequency: the traces, what stands out in them, and where
// the available power goes.
//
// Its results are plain data. A value that does not exist is NaN, a ratio to or of nothing is an infinity, and Notices
// says why; faces print both as empty cells or null.
package sweep

import (
	"fmt"
	"math"
	"math/cmplx"

	"knobwise/bench/box"
	"knobwise/bench/hookup"
	"knobwise/bench/quantity"
	"knobwise/bench/setup"
	"knobwise/physics/network"
)

// Question is what to ask. The zero values of Reject and At ask for nothing.
type Question struct {
	Sweep  setup.Sweep
	Reject []float64 // Hz: how far below the peak is each?
	At     []float64 // Hz: what does the box do exactly there, and where does the power go?
	// AtPeak asks the same where this trace is highest, which must be among Features. Empty: not.
	AtPeak Trace
	// Features lists the traces whose features are wanted.
	Features []Trace
}

// Result is the answer. The columns have one value per frequency.
type Result struct {
	Box, Setup string
	Setting    box.Setting
	Sweep      setup.Sweep // as it was run
	EMF        float64     // V rms

	Frequency       []float64 // Hz
	LoadV           []float64 // V rms across the load with the probe
	LoadPhase       []float64 // its phase against the emf, degrees, -180 to 180
	StraightV       []float64 // V rms with source and load joined directly
	InsertionGain   []float64 // dB, load over straight
	TransducerGain  []float64 // dB, power into the load over available power; -Inf where the load takes no real power
	InputMismatch   []float64 // dB, power entering the box over available power
	Dissipation     []float64 // dB, power into the load over power entering the box
	InputImpedance  []complex128
	OutputImpedance []complex128

	Features []Features
	Readings []Reading // at the peak, then one for each At
	Budgets  []Budget  // the same, where power is available
	Notices  []string
}

// Reading is what a box does at one frequency. Units and missing values are those of the columns of Result.
type Reading struct {
	Frequency                                                 float64
	LoadV, LoadPhase, StraightV                               float64
	InsertionGain, TransducerGain, InputMismatch, Dissipation float64
	InputImpedance, OutputImpedance                           complex128
}

func reading(f float64, x network.Response) Reading {
	r := Reading{
		Frequency: f, LoadV: cmplx.Abs(x.Load), LoadPhase: math.NaN(), StraightV: cmplx.Abs(x.Straight), // nothing has no phase
		InsertionGain: insertionGain(x), TransducerGain: transducerGain(x),
		InputMismatch: decibels(x.InputPower / x.AvailablePower), Dissipation: decibels(x.LoadPower / x.InputPower),
		InputImpedance: x.InputImpedance, OutputImpedance: x.OutputImpedance,
	}
	if x.Load != 0 {
		r.LoadPhase = cmplx.Phase(x.Load) * 180 / math.Pi
	}
	return r
}

// Run answers the question. Errors are *fault.Error.
func Run(h *hookup.Hookup, q Question) (*Result, error) {
	if err := q.Sweep.Check(); err != nil {
		return nil, err
	}
	if err := h.Covers(q.Sweep.From, q.Sweep.To); err != nil {
		return nil, err
	}
	frequencies := q.Sweep.Frequencies()
	n := len(frequencies)
	columns := make([]float64, 7*n)
	column := func() []float64 {
		c := columns[:n:n]
		columns = columns[n:]
		return c
	}
	r := &Result{
		Box: h.Box.Name, Setup: h.Setup.Name, Setting: h.Setting, Sweep: q.Sweep, EMF: h.Setup.Source.EMF, Frequency: frequencies,
		LoadV: column(), LoadPhase: column(), StraightV: column(), InsertionGain: column(), TransducerGain: column(),
		InputMismatch: column(), Dissipation: column(),
		InputImpedance: make([]complex128, n), OutputImpedance: make([]complex128, n),
		Notices: append([]string(nil), h.Notices...),
	}
	var noAvailable, noLoadPower, silent, delivers int
	for i, f := range frequencies {
		x, err := h.Response(f)
		if err != nil {
			return nil, err
		}
		at := reading(f, x)
		r.LoadV[i], r.LoadPhase[i], r.StraightV[i] = at.LoadV, at.LoadPhase, at.StraightV
		r.InsertionGain[i], r.TransducerGain[i] = at.InsertionGain, at.TransducerGain
		r.InputMismatch[i], r.Dissipation[i] = at.InputMismatch, at.Dissipation
		r.InputImpedance[i], r.OutputImpedance[i] = at.InputImpedance, at.OutputImpedance
		switch {
		case math.IsNaN(x.AvailablePower):
			noAvailable++
		case x.Load == 0:
			silent++
		case x.LoadPower == 0:
			noLoadPower++
		}
		if x.InputPower < 0 {
			delivers++
		}
	}
	if noAvailable > 0 {
		r.notice("at %d of %d frequencies the source has no positive resistance, so no power is available from it and the gains of power do not exist", noAvailable, n)
	}
	if silent > 0 {
		r.notice("at %d of %d frequencies nothing reaches the load, so gains do not exist", silent, n)
	}
	if noLoadPower > 0 {
		r.notice("at %d of %d frequencies the load takes no real power, so transducer gain does not exist; read load voltage and insertion gain", noLoadPower, n)
	}
	if delivers > 0 {
		r.notice("at %d of %d frequencies power comes out of the antenna socket; a measured part is not passive", delivers, n)
	}
	for _, t := range q.Features {
		features, err := r.features(h, t, q.Reject)
		if err != nil {
			return nil, err
		}
		r.Features = append(r.Features, features)
	}
	return r, r.readings(h, q)
}

func (r *Result) notice(format string, args ...any) {
	r.Notices = append(r.Notices, fmt.Sprintf(format, args...))
}

// closes is how exactly a power budget must add to the available power.
const closes = 1e-9

// readings fills what was asked for at single frequencies.
func (r *Result) readings(h *hookup.Hookup, q Question) error {
	at := q.At
	for _, f := range r.Features {
		if f.Trace == q.AtPeak && f.Where != Nowhere {
			at = append([]float64{f.Peak.Frequency}, at...)
		}
	}
	for _, f := range at {
		x, err := h.Response(f)
		if err != nil {
			return err
		}
		r.Readings = append(r.Readings, reading(f, x))
		if math.IsNaN(x.AvailablePower) {
			r.notice("at %s no power is available from the source: it has no positive resistance there, so there is no budget", quantity.Format(f, quantity.Hertz, 5))
			continue
		}
		b := powerBudget(h, f, x)
		if off := b.Sum() - 1; !(math.Abs(off) <= closes) {
			r.notice("at %s the shares of the power miss 100 %% by %.2g: the solution has lost digits there; values in the box may differ too much in size", quantity.Format(f, quantity.Hertz, 5), off)
		}
		r.Budgets = append(r.Budgets, b)
	}
	return nil
}

func insertionGain(x network.Response) float64 {
	return 2 * decibels(cmplx.Abs(x.Load)/cmplx.Abs(x.Straight))
}

func transducerGain(x network.Response) float64 { return decibels(x.LoadPower / x.AvailablePower) }

// decibels is a ratio of powers in dB; -Inf for nothing, NaN for a negative ratio.
func decibels(ratio float64) float64 { return 10 * math.Log10(ratio) }
