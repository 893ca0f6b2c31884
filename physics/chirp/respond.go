package chirp

import (
	"context"
	"errors"
	"math"
	"math/cmplx"

	"gonum.org/v1/gonum/dsp/fourier"
)

// Sampling is a row of equally spaced times, Start + i·Interval for i from 0 to Count-1. The sweep begins at t = 0.
type Sampling struct {
	Start    float64 // s
	Interval float64 // s, positive
	Count    int     // at least 1
}

// MostSamples is the longest record that is computed or read.
const MostSamples = 200_000_000

// Validate returns a *FieldError where the sampling is none.
func (s Sampling) Validate() error {
	if !finite(s.Start) {
		return &FieldError{"record start", s.Start, "s", "a finite number"}
	}
	if err := positive("sample interval", s.Interval, "s"); err != nil {
		return err
	}
	if s.Count < 1 || s.Count > MostSamples {
		return &FieldError{"number of samples", float64(s.Count), "", "1 to 200 million"}
	}
	return nil
}

// Time is that of sample i, in s.
func (s Sampling) Time(i int) float64 { return s.Start + float64(i)*s.Interval }

func (s Sampling) last() float64 { return s.Time(s.Count - 1) }

// within returns the first sample at or after from and the first after to.
func (s Sampling) within(from, to float64) (first, behind int) {
	index := func(t float64) int {
		return int(math.Ceil(min(float64(s.Count), max(0, (t-s.Start)/s.Interval))))
	}
	return index(from), index(to)
}

// Options say how a response is computed. The zero value asks for the voltage at the default tolerance.
type Options struct {
	Envelope     bool             // also return the complex envelope
	EnvelopeOnly bool             // return the envelope and no voltage
	Tolerance    float64          // error allowed, relative to amplitude·greatest |H|; 1e-11 to 1e-2, 0 for 1e-8
	Lowest       float64          // Hz; the network is not asked below, it counts as constant there; 0 for no limit
	Highest      float64          // Hz; the same above; 0 for no limit
	Progress     func(of float64) // called now and then with the part done, 0 to 1; may be nil
}

const defaultTolerance = 1e-8

// Response is what the network makes of the sweep at the times of a record.
type Response struct {
	// Voltage is the output in V; nil where only the envelope was asked for.
	Voltage []float64
	// Envelope is the complex amplitude in V over the drive's own carrier, where asked for: the output is the real part
	// of Envelope·exp(j(2π·Cycles(t) + Phase)), and |Envelope| is the curve that the peaks of the output touch. In the
	// quasi-static limit it is Amplitude·H. After a Silence the carrier is that of the stop frequency.
	Envelope []complex128
	// Error estimates the largest error of any sample in V: the sum of what the series of the network, the ends of the
	// rings, the smooth windows, the kinks of the frequency and the rounding of the phase may leave.
	Error float64
	// JumpError is the further error in V that may arise within JumpTime before and after the end of a sweep with Return
	// or Silence, where the drive has no limited band: the jump is rounded off. Zero for Hold.
	JumpError, JumpTime float64 // V, s
	Evaluations         int     // of the network function
	Segments            int
	LongestRing         float64 // s, the longest time that a segment was given to die away
}

// Respond computes the response of a network to a sweep at the times of a record, as an oscilloscope of unlimited
// bandwidth would sample it (so a carrier faster than half the sampling rate appears folded, as it does there).
//
// The drive is cut by smooth windows into short segments that add up to it exactly. Each is mixed down, sampled at the
// rate of its own narrow band, taken through the FFT, H and back with room for the ring, and interpolated at the times
// of the record. The network is asked a few thousand times, whatever the record: see table. Before the sweep the
// network is at rest at the start frequency, exactly.
//
// Respond returns a *FieldError for a wrong argument, a *TransferError where the network fails, a *RingError where it
// rings for ever, a *ShortSweepError where a longer sweep would do, and the context's error where that ended the work.
func Respond(ctx context.Context, h Transfer, d Drive, s Sampling, o Options) (*Response, error) {
	if err := d.Validate(); err != nil {
		return nil, err
	}
	if err := s.Validate(); err != nil {
		return nil, err
	}
	if err := o.complete(); err != nil {
		return nil, err
	}
	w := &work{ctx: ctx, drive: d, record: s, options: o}
	r, err := w.run(h)
	if ring, ok := errors.AsType[*RingError](err); ok {
		return nil, w.tooShort(h, ring)
	}
	return r, err
}

// complete checks the options and fills in what was left at zero.
func (o *Options) complete() error {
	if o.Tolerance == 0 {
		o.Tolerance = defaultTolerance
	}
	if !(o.Tolerance >= 1e-11 && o.Tolerance <= 1e-2) {
		return &FieldError{"tolerance", o.Tolerance, "", "1e-11 to 1e-2, or 0 for 1e-8"}
	}
	if !(o.Lowest >= 0) || !finite(o.Lowest) {
		return &FieldError{"lowest frequency of the network", o.Lowest, "Hz", "0 or above"}
	}
	if o.Highest == 0 {
		o.Highest = math.Inf(1)
	}
	if !(o.Highest > o.Lowest) {
		return &FieldError{"highest frequency of the network", o.Highest, "Hz", "a frequency above the lowest"}
	}
	return nil
}

// work is one response on its way.
type work struct {
	ctx     context.Context
	drive   Drive
	record  Sampling
	options Options
	network *table
	passing *convolver
	out     []complex128 // the analytic output, where the envelope is asked for
	voltage []float64    // its real part, where it is not
	count   int
}

func (w *work) run(h Transfer) (*Response, error) {
	law := w.drive.Law
	if w.options.Envelope || w.options.EnvelopeOnly {
		w.out = make([]complex128, w.record.Count)
	} else {
		w.voltage = make([]float64, w.record.Count)
	}
	y := &layout{drive: w.drive, lastTime: w.record.last(), breakTo: w.options.Tolerance / 2}
	y.ring = func(float64, float64) float64 { return 0 }
	// The widest band is that of the breaks, which does not depend on the network.
	lo, hi := min(law.From, law.To), max(law.From, law.To)
	r := tableRange{
		lo: 0, hi: hi, bandLo: lo, bandHi: hi, lowest: w.options.Lowest, highest: w.options.Highest,
		smooth: math.Sqrt(min(math.Abs(law.Rate(law.From)), math.Abs(law.Rate(law.To)))), from: law.From, to: law.To,
		tolerance: w.options.Tolerance / 10,
	}
	for _, s := range y.segments() {
		r.hi = max(r.hi, s.hi, -s.lo)
	}
	w.network = &table{transfer: h}
	if err := w.network.build(w.ctx, r); err != nil {
		return nil, err
	}
	y.ring, y.worst, y.jump = w.network.ring, 0, 0
	w.passing = &convolver{
		drive: w.drive, network: w.network, plans: map[int]*fourier.CmplxFFT{},
		tolerance: w.options.Tolerance / 4 * w.drive.Amplitude * w.network.greatest,
	}
	first, behind := w.record.within(0, math.Inf(1))
	w.rest(first)
	if behind > first {
		if err := w.sweep(y); err != nil {
			return nil, err
		}
	}
	return w.result(y), nil
}

// rest fills in the samples before the sweep: the network has always been driven at the start frequency.
func (w *work) rest(before int) {
	h := w.network.at(w.drive.Law.From)
	for i := range before {
		w.add(i, h*w.drive.Analytic(w.record.Time(i)))
	}
}

func (w *work) add(i int, v complex128) {
	if w.voltage != nil {
		w.voltage[i] += real(v)
		return
	}
	w.out[i] += v
}

func (w *work) sweep(y *layout) error {
	if err := w.settle(y); err != nil {
		return err
	}
	all := y.segments()
	for i, s := range all {
		if err := w.ctx.Err(); err != nil {
			return err
		}
		if w.options.Progress != nil {
			w.options.Progress(float64(i) / float64(len(all)))
		}
		pad := w.room(s)
		if first, behind := w.record.within(s.begin(), s.end()+16*pad); first == behind {
			continue // no sample sees it
		}
		r, _, err := w.passing.pass(s, pad)
		if err != nil {
			return err
		}
		w.sum(r)
	}
	if w.options.Progress != nil {
		w.options.Progress(1)
	}
	return nil
}

// room is the first guess for the ring of a segment: that of the network over the band that the segment holds, without
// the weak tails of a break.
func (w *work) room(s segment) float64 {
	skirt := stepSkirt / min(s.rise, s.fall)
	a, b := w.drive.Frequency(s.begin()), w.drive.Frequency(s.end())
	return w.network.ring(min(a, b)-skirt, max(a, b)+skirt)
}

// settle adds the response to the generator's wait before the sweep, begun so early that the network has settled.
func (w *work) settle(y *layout) error {
	wait := w.room(y.before(0))
	for {
		s := y.before(wait)
		r, needed, err := w.passing.pass(s, wait)
		if err != nil {
			return err
		}
		if needed <= 2*wait || s.end()+needed < w.record.Start {
			w.sum(r)
			return nil
		}
		wait = needed
	}
}

// sum adds the response of a segment to the samples from the start of the sweep on.
func (w *work) sum(r rung) {
	w.count++
	pieces := kernelPieces()
	first, behind := w.record.within(max(0, r.begin), r.end())
	for i := first; i < behind; i++ {
		late := w.record.Time(i) - r.begin
		v := interpolate(r.ring, late*r.rate, pieces)
		sin, cos := math.Sincos(2 * math.Pi * fraction(r.centre*late))
		if w.voltage != nil {
			w.voltage[i] += real(v)*cos - imag(v)*sin
			continue
		}
		w.out[i] += v * complex(cos, sin)
	}
}

// windowError is what windows and interpolation leave, relative to the drive and the greatest |H|; measured on networks
// without any ring (see the tests).
const windowError = 2e-10

func (w *work) result(y *layout) *Response {
	greatest := w.drive.Amplitude * w.network.greatest
	cycles := math.Abs(w.drive.cycles(w.record.last())) + math.Abs(w.drive.cycles(w.record.Start))
	r := &Response{
		Voltage: w.voltage, Segments: w.count, Evaluations: w.network.asked, LongestRing: w.passing.longest,
		Error: greatest*(windowError+4*w.network.worst+y.worst+2*math.Pi*cycles*4e-16) + 4*w.passing.left,
	}
	if y.jump > 0 && w.record.last() > w.drive.Law.Time {
		r.JumpError = y.jump * greatest
		r.JumpTime = y.length(w.drive.Law.Time)
	}
	if w.voltage != nil {
		return r
	}
	if !w.options.EnvelopeOnly {
		r.Voltage = make([]float64, len(w.out))
		for i, v := range w.out {
			r.Voltage[i] = real(v)
		}
	}
	for i, v := range w.out {
		angle := 2*math.Pi*fraction(w.drive.cycles(w.record.Time(i))) + w.drive.Phase
		w.out[i] = v * cmplx.Rect(1, -angle)
	}
	r.Envelope = w.out
	return r
}
