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
	At     []float64 // Hz: where does the power go there?
	// AtPeak asks for the power budget at the peak too.
	AtPeak bool
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
	Budgets  []Budget
	Notices  []string
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
		r.LoadV[i] = cmplx.Abs(x.Load)
		r.LoadPhase[i] = math.NaN() // nothing has no phase
		if x.Load != 0 {
			r.LoadPhase[i] = cmplx.Phase(x.Load) * 180 / math.Pi
		}
		r.StraightV[i] = cmplx.Abs(x.Straight)
		r.InsertionGain[i] = insertionGain(x)
		r.TransducerGain[i] = transducerGain(x)
		r.InputMismatch[i] = decibels(x.InputPower / x.AvailablePower)
		r.Dissipation[i] = decibels(x.LoadPower / x.InputPower)
		r.InputImpedance[i] = x.InputImpedance
		r.OutputImpedance[i] = x.OutputImpedance
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
	return r, r.budgets(h, q)
}

func (r *Result) notice(format string, args ...any) {
	r.Notices = append(r.Notices, fmt.Sprintf(format, args...))
}

// closes is how exactly a power budget must add to the available power.
const closes = 1e-9

func (r *Result) budgets(h *hookup.Hookup, q Question) error {
	at := q.At
	if q.AtPeak {
		for _, f := range r.Features {
			if f.Trace == LoadVoltage && f.Where != Nowhere {
				at = append([]float64{f.Peak.Frequency}, at...)
			}
		}
	}
	for _, f := range at {
		b, err := PowerBudget(h, f)
		if err != nil {
			return err
		}
		if math.IsNaN(b.Available) {
			r.notice("at %s no power is available from the source: it has no positive resistance there, so there is no budget", quantity.Format(f, quantity.Hertz, 5))
			continue
		}
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
