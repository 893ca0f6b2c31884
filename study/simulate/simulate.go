// Package simulate makes the record that an oscilloscope takes of a box while the generator sweeps: the true response in
// time, sampled, with noise and in steps of the converter, so that a whole measurement can be practised and tested
// without instruments.
//
// Results are plain data.
package simulate

import (
	"context"
	"errors"
	"fmt"
	"math"
	"math/rand/v2"

	"knobwise/bench/fault"
	"knobwise/bench/hookup"
	"knobwise/bench/quantity"
	"knobwise/bench/setup"
	"knobwise/physics/chirp"
)

// Question is what to record.
type Question struct {
	Hookup  *hookup.Hookup
	Sweep   setup.Sweep // Time must be given
	Samples int         // of the whole record; 2 to 20 million
	Record  float64     // s, length of the record from the start of the sweep; 0 for the sweep's time
	Noise   float64     // V, rms, added to every sample
	Bits    int         // of the converter, 4 to 24; 0 for none
	Full    float64     // V, from the bottom of the screen to its top; 0 for 1.25 times what the signal needs
	Seed    uint64      // of the noise, which is another with Straight than without
	// Straight records the source joined to the load, with the box taken out: the reference.
	Straight bool
	Progress func(done float64) // may be nil
}

// Result is the record. Slices have one entry per sample.
type Result struct {
	Interval float64   // s; the first sample is taken at 0, as the sweep begins
	Voltage  []float64 // V
	Envelope []float64 // V, the curve that the peaks touch, without noise and steps
	Steady   []float64 // V, what the envelope would be if the sweep took for ever; NaN after its end
	// SteadyHighest is the highest point of that curve in V, which may lie between two samples.
	SteadyHighest float64
	Full          float64 // V, from the bottom of the screen to its top; 0 without a converter
	Clipped       int     // samples beyond the screen
	Notices       []string
}

const mostSamples = 20_000_000

// Run records. Errors are *fault.Error, and the context's own where it ends first.
func Run(ctx context.Context, q Question) (*Result, error) {
	law, err := q.Sweep.Law()
	if err != nil {
		return nil, err
	}
	if q.Record == 0 {
		q.Record = law.Time
	}
	if err := q.check(); err != nil {
		return nil, err
	}
	r := &Result{Interval: q.Record / float64(q.Samples-1)}
	transfer := q.transfer()
	drive := chirp.Drive{Law: law, Amplitude: math.Sqrt2 * q.Hookup.Setup.Source.EMF}
	response, err := chirp.Respond(ctx, transfer, drive, chirp.Sampling{Interval: r.Interval, Count: q.Samples}, chirp.Options{
		Envelope: true, Tolerance: 1e-6, Lowest: q.lowest(), Highest: q.highest(), Progress: q.Progress,
	})
	if err != nil {
		return nil, explain(err)
	}
	r.Voltage = response.Voltage
	r.Envelope, r.Steady = make([]float64, q.Samples), make([]float64, q.Samples)
	for i, e := range response.Envelope {
		r.Envelope[i] = math.Hypot(real(e), imag(e))
	}
	if err := r.steady(ctx, transfer, law, drive.Amplitude); err != nil {
		return nil, err
	}
	r.sample(q)
	return r, nil
}

// explain says what keeps a response from being computed, in the words of who asked for it.
func explain(err error) error {
	if short, ok := errors.AsType[*chirp.ShortSweepError](err); ok {
		f := fault.New(fault.Request, fmt.Sprintf("a sweep of %s is too short to be computed: the box goes on ringing for so much longer", seconds(short.Time)),
			"take "+seconds(short.Shortest)+" or more")
		f.Cause = err
		return f
	}
	if ring, ok := errors.AsType[*chirp.RingError](err); ok {
		f := fault.New(fault.Unsolvable, fmt.Sprintf("the box rings on and on, even %s after the sweep has passed %s", quantity.Format(ring.Waited, quantity.Second, 3), quantity.Format(ring.Frequency, quantity.Hertz, 4)),
			"give its parts a Q")
		f.Cause = err
		return f
	}
	return setup.Explain(err)
}

func seconds(t float64) string { return quantity.FormatExact(t, quantity.Second) }

func (q *Question) check() error {
	switch {
	case q.Samples < 2 || q.Samples > mostSamples:
		return fault.New(fault.Request, fmt.Sprintf("a record of %d samples", q.Samples), fmt.Sprintf("ask for 2 to %d", mostSamples))
	case !(q.Record > 0) || q.Record > 1e6:
		return fault.New(fault.Request, "a record of "+seconds(q.Record), "give its length, like 200 ms")
	case q.Noise < 0 || math.IsNaN(q.Noise) || math.IsInf(q.Noise, 0):
		return fault.New(fault.Request, "the noise is below zero", "give its rms, like 1 mV, or none")
	case q.Bits != 0 && (q.Bits < 4 || q.Bits > 24):
		return fault.New(fault.Request, fmt.Sprintf("a converter of %d bits", q.Bits), "give 4 to 24, or 0 for none")
	case q.Full < 0 || math.IsNaN(q.Full) || math.IsInf(q.Full, 0):
		return fault.New(fault.Request, "the screen has no height", "give the volts from its bottom to its top")
	}
	return nil
}

// lowest and highest keep the response inside what is measured; the network counts as constant beyond.
func (q *Question) lowest() float64  { low, _ := q.Hookup.Range(); return low }
func (q *Question) highest() float64 { _, high := q.Hookup.Range(); return high }

// transfer is the voltage at the load per volt of emf.
func (q *Question) transfer() chirp.Transfer {
	emf := complex(q.Hookup.Setup.Source.EMF, 0)
	return func(f float64) (complex128, error) {
		x, err := q.Hookup.Response(f)
		if q.Straight {
			return x.Straight / emf, err
		}
		return x.Load / emf, err
	}
}

// sample adds noise and takes the converter's steps. The steps are whole, so that a level half way between two of them
// goes up as often as down.
func (r *Result) sample(q Question) {
	stream := uint64(0x5eed)
	if q.Straight {
		stream++ // the reference is another record, with noise of its own
	}
	random := rand.New(rand.NewPCG(q.Seed, stream)) //nolint:gosec // noise, the same for the same seed
	most := 0.0
	for i := range r.Voltage {
		if q.Noise > 0 {
			r.Voltage[i] += q.Noise * random.NormFloat64()
		}
		most = max(most, math.Abs(r.Voltage[i]))
	}
	if q.Bits == 0 {
		return
	}
	r.Full = q.Full
	if r.Full == 0 {
		r.Full = 2.5 * most
	}
	if r.Full == 0 {
		return // silence has no steps
	}
	step := r.Full / math.Exp2(float64(q.Bits))
	top, bottom := r.Full/2-step, -r.Full/2
	for i, v := range r.Voltage {
		r.Voltage[i] = step * math.Round(v/step)
		if r.Voltage[i] > top || r.Voltage[i] < bottom {
			r.Voltage[i] = min(max(r.Voltage[i], bottom), top)
			r.Clipped++
		}
	}
	if r.Clipped > 0 {
		r.Notices = append(r.Notices, fmt.Sprintf("%d of %d samples lie beyond the screen of %s and are clipped", r.Clipped, len(r.Voltage), quantity.Format(r.Full, quantity.Volt, 4)))
	}
}
