// Package residual asks how far a measured trace and the model of the box that it was taken at agree: what the model says
// at each measured frequency, the difference in decibels, and what that difference looks like.
//
// Results are plain data; a number that does not exist is NaN.
package residual

import (
	"context"
	"fmt"
	"math"
	"math/cmplx"
	"slices"

	"knobwise/bench/box"
	"knobwise/bench/fault"
	"knobwise/bench/hookup"
	"knobwise/bench/measurement"
	"knobwise/bench/trace"
)

// Result compares one trace with the model. Slices have one entry per frequency.
type Result struct {
	Name      string
	Setting   box.Setting
	Shown     Shown
	Frequency []float64 // Hz
	Measured  []float64 // dB, with Offset added
	Model     []float64 // dB
	Residual  []float64 // Measured - Model, dB
	Straight  []float64 // the model's voltage straight through, dB over 1 V; nil for S-parameters
	// Offset was added to the measured levels because nothing says how strong the generator was: it makes the median of the
	// residuals zero. Zero where the level is known.
	Offset    float64
	Fitted    bool    // Offset was found from the data
	RMS       float64 // of the residuals, dB
	Worst     float64 // the residual of the largest magnitude, dB
	WorstAt   float64 // Hz
	Noise     float64 // what the trace's own noise lets expect for RMS, dB; NaN where it could not be told
	Distance  float64 // rms of |measured - model| over all S-parameters of the points compared; NaN for other traces
	PeakShift float64 // Hz, of the measured peak from the model's; NaN where one of them has none within the trace
	Read      []string
	Notices   []string
}

// Shown says what Measured and Model are.
type Shown string

// What can be shown.
const (
	InsertionGain Shown = "insertion gain"
	LoadVoltage   Shown = "voltage at the load" // dB over 1 V
	Forward       Shown = "S21"
	Reflection    Shown = "S11"
)

// floor is how far below the strongest measured level a point still counts: below it instruments show their own noise.
const floor = 120 // dB

// Run compares. Errors are *fault.Error, and the context's own where it ends first.
func Run(ctx context.Context, b *box.Box, m *measurement.Measurement, t *trace.Trace) (*Result, error) {
	r := &Result{
		Name: m.Name, Setting: m.Setting, Noise: math.NaN(), Distance: math.NaN(), PeakShift: math.NaN(),
		Read: t.Read, Notices: slices.Clone(t.Notices),
	}
	var err error
	if t.Quantity == measurement.Scattering {
		err = r.scattering(ctx, b, m, t)
	} else {
		err = r.levels(ctx, b, m, t)
	}
	if err != nil {
		return nil, err
	}
	if len(r.Frequency) == 0 {
		return nil, fault.New(fault.Request, m.Name+" has no point at which the model can be asked", "check its frequencies, and the range of measured parts")
	}
	r.judge()
	return r, nil
}

// levels compares amplitudes: relative ones with the insertion gain, others with the voltage at the load, up to a level.
func (r *Result) levels(ctx context.Context, b *box.Box, m *measurement.Measurement, t *trace.Trace) error {
	h, err := hookup.Connect(b, m.Setting, m.Setup)
	if err != nil {
		return err
	}
	r.Notices = append(r.Notices, h.Notices...)
	r.Shown, r.Fitted = LoadVoltage, true
	if t.Relative {
		r.Shown, r.Fitted = InsertionGain, false
	}
	var noises []float64
	outside, silent := 0, 0
	for i, f := range t.Frequency {
		if err := ctx.Err(); err != nil {
			return err
		}
		measured, noise := decibels(t, i)
		if math.IsInf(measured, 0) {
			silent++
			continue
		}
		if h.Covers(f, f) != nil {
			outside++
			continue
		}
		x, err := h.Response(f)
		if err != nil {
			return err
		}
		model := 20 * math.Log10(cmplx.Abs(x.Load))
		if t.Relative {
			model = 20 * math.Log10(cmplx.Abs(x.Load)/cmplx.Abs(x.Straight))
		}
		if math.IsNaN(model) || math.IsInf(model, 0) {
			silent++
			continue
		}
		r.Frequency, r.Measured, r.Model = append(r.Frequency, f), append(r.Measured, measured), append(r.Model, model)
		r.Straight = append(r.Straight, 20*math.Log10(cmplx.Abs(x.Straight)))
		noises = append(noises, noise)
	}
	if outside > 0 {
		r.Notices = append(r.Notices, fmt.Sprintf("%d of %d points lie outside the range of a measured part and were left out", outside, len(t.Frequency)))
	}
	if silent > 0 {
		r.Notices = append(r.Notices, fmt.Sprintf("%d of %d points have no level in decibels (zero) and were left out", silent, len(t.Frequency)))
	}
	noises = r.weak(noises)
	if r.Fitted && len(r.Frequency) > 0 {
		r.Offset = -median(r.differences())
		for i := range r.Measured {
			r.Measured[i] += r.Offset
		}
	}
	if (t.Noise > 0 || t.NoisePart > 0) && len(noises) > 0 {
		sum := 0.0
		for _, n := range noises {
			sum += n * n
		}
		r.Noise = math.Sqrt(sum / float64(len(noises)))
	}
	return nil
}

// decibels is a level and its noise in dB; a waveform's peak counts as rms.
func decibels(t *trace.Trace, i int) (level, noise float64) {
	const perPart = 20 / math.Ln10 // dB for a small part of an amplitude
	x := t.Level[i]
	noise = perPart * t.NoisePart
	if t.Quantity == measurement.Decibel {
		if t.NoisePart == 0 {
			noise = t.Noise
		}
		return x, noise
	}
	if t.NoisePart == 0 {
		noise = perPart * t.Noise / x
	}
	if t.Peak {
		x /= math.Sqrt2
	}
	return 20 * math.Log10(x), noise
}

// weak leaves out what is too far below the strongest point to be more than the instrument's floor, and gives the noises of
// the points that stay.
func (r *Result) weak(noises []float64) []float64 {
	if len(r.Measured) == 0 {
		return noises
	}
	top, n := slices.Max(r.Measured), 0
	for i := range r.Measured {
		if r.Measured[i] >= top-floor {
			r.Frequency[n], r.Measured[n], r.Model[n], r.Straight[n], noises[n] = r.Frequency[i], r.Measured[i], r.Model[i], r.Straight[i], noises[i]
			n++
		}
	}
	if n < len(r.Measured) {
		r.Notices = append(r.Notices, fmt.Sprintf("%d points more than %d dB below the strongest were left out", len(r.Measured)-n, floor))
	}
	r.Frequency, r.Measured, r.Model, r.Straight = r.Frequency[:n], r.Measured[:n], r.Model[:n], r.Straight[:n]
	return noises[:n]
}

// scattering compares S-parameters of the box alone with the model's against the file's reference; of a one-port with the
// box terminated by the setup's load.
func (r *Result) scattering(ctx context.Context, b *box.Box, m *measurement.Measurement, t *trace.Trace) error {
	if t.Ports == 2 && t.References[0] != t.References[1] {
		return fault.New(fault.Request, fmt.Sprintf("%s has a reference of its own for each port, %g and %g ohm", t.File, t.References[0], t.References[1]), "convert it: knobwise measure convert "+t.File+" --reference 50ohm --out one.s2p")
	}
	model, covers, err := model(b, m, t)
	if err != nil {
		return err
	}
	sum, compared, outside, silent := 0.0, 0, 0, 0
	r.Shown = Forward
	show := 2 // S21, row by row
	if t.Ports == 1 {
		r.Shown, show = Reflection, 0
	}
	for i, f := range t.Frequency {
		if err := ctx.Err(); err != nil {
			return err
		}
		if !(f > 0) || covers(f, f) != nil {
			outside++
			continue
		}
		x, err := model(f)
		if err != nil {
			return err
		}
		for k := range x {
			d := cmplx.Abs(t.S[i][k] - x[k])
			sum += d * d
		}
		compared++
		measured, said := 20*math.Log10(cmplx.Abs(t.S[i][show])), 20*math.Log10(cmplx.Abs(x[show]))
		if math.IsInf(measured, 0) || math.IsInf(said, 0) {
			silent++
			continue
		}
		r.Frequency, r.Measured, r.Model = append(r.Frequency, f), append(r.Measured, measured), append(r.Model, said)
	}
	if outside > 0 {
		r.Notices = append(r.Notices, fmt.Sprintf("%d of %d points lie at 0 Hz or outside the range of a measured part and were left out", outside, len(t.Frequency)))
	}
	if silent > 0 {
		r.Notices = append(r.Notices, fmt.Sprintf("%d of %d points have an %s of zero, measured or in the model; they count among the S-parameters, but have no level", silent, len(t.Frequency), r.Shown))
	}
	if compared > 0 {
		r.Distance = math.Sqrt(sum / float64(compared*t.Ports*t.Ports))
	}
	return nil
}

// model is the box's S-parameters at a frequency, row by row, and where they can be asked.
func model(b *box.Box, m *measurement.Measurement, t *trace.Trace) (func(float64) ([]complex128, error), func(low, high float64) error, error) {
	reference := t.References[0]
	if t.Ports == 2 {
		between, err := hookup.ConnectBetween(b, m.Setting, reference)
		if err != nil {
			return nil, nil, err
		}
		return func(f float64) ([]complex128, error) {
			s, err := between.Scattering(f)
			return s[:], err
		}, between.Covers, nil
	}
	h, err := hookup.Connect(b, m.Setting, m.Setup)
	if err != nil {
		return nil, nil, err
	}
	return func(f float64) ([]complex128, error) {
		x, err := h.Response(f)
		z := x.InputImpedance
		if cmplx.IsInf(z) {
			return []complex128{1}, err
		}
		return []complex128{(z - complex(reference, 0)) / (z + complex(reference, 0))}, err
	}, h.Covers, nil
}

func (r *Result) differences() []float64 {
	all := make([]float64, len(r.Measured))
	for i := range all {
		all[i] = r.Measured[i] - r.Model[i]
	}
	return all
}

// InsertionGain is the measured insertion gain in dB, and LoadVoltage the measured voltage at the load in V, as far as the
// level is known or fitted. Both are nil for S-parameters.
func (r *Result) InsertionGain() []float64 {
	return r.over(func(measured, straight float64) float64 {
		if r.Shown == LoadVoltage {
			return measured - straight
		}
		return measured
	})
}

// LoadVoltage is the measured voltage at the load; see InsertionGain.
func (r *Result) LoadVoltage() []float64 {
	return r.over(func(measured, straight float64) float64 {
		if r.Shown == InsertionGain {
			measured += straight
		}
		return math.Pow(10, measured/20)
	})
}

func (r *Result) over(each func(measured, straight float64) float64) []float64 {
	if r.Straight == nil {
		return nil
	}
	all := make([]float64, len(r.Measured))
	for i := range all {
		all[i] = each(r.Measured[i], r.Straight[i])
	}
	return all
}

// judge finds what the residuals look like.
func (r *Result) judge() {
	r.Residual = r.differences()
	sum := 0.0
	for i, d := range r.Residual {
		sum += d * d
		if math.Abs(d) >= math.Abs(r.Worst) {
			r.Worst, r.WorstAt = d, r.Frequency[i]
		}
	}
	r.RMS = math.Sqrt(sum / float64(len(r.Residual)))
	if a, ok := peak(r.Frequency, r.Measured); ok {
		if b, ok := peak(r.Frequency, r.Model); ok {
			r.PeakShift = a - b
		}
	}
}

// peak is where the highest of at least three points has its top, by a parabola through it and its neighbours; false where
// it stands at an end.
func peak(f, level []float64) (float64, bool) {
	if len(f) < 3 {
		return 0, false
	}
	top := 0
	for i := range level {
		if level[i] > level[top] {
			top = i
		}
	}
	if top == 0 || top == len(f)-1 {
		return 0, false
	}
	left, right := f[top-1]-f[top], f[top+1]-f[top]
	a, b := level[top-1]-level[top], level[top+1]-level[top]
	curve := (a/left - b/right) / (left - right)
	if !(curve < 0) {
		return f[top], true
	}
	slope := a/left - curve*left
	return f[top] - slope/(2*curve), true
}

func median(x []float64) float64 {
	sorted := slices.Sorted(slices.Values(x))
	n := len(sorted)
	if n%2 == 1 {
		return sorted[n/2]
	}
	return (sorted[n/2-1] + sorted[n/2]) / 2
}
