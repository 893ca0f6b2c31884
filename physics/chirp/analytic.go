package chirp

import (
	"context"
	"math"

	"gonum.org/v1/gonum/dsp/fourier"
)

// ringBand times √rate is the band kept on either side of the sweep: a resonance with rate/B² = rho rings on beside the
// sweep, and has fallen to exp(-16π/√rho) where its beat leaves that band: 1e-7 at rho = 10.
const ringBand = 16.0

// longestBlock bounds the samples that are transformed at once.
const longestBlock = 1 << 18

// follower finds the analytic signal of a sweep: blocks of samples, cut out by smooth windows that add up to one, each
// passed through a band that holds what the sweep covers within the block, and the ring beside it.
type follower struct {
	law     Law
	reading *Reading
	record  Sampling
	margin  float64 // Hz, on either side
	length  float64 // s, of a block between the middles of its steps
	step    float64 // s, the width of a step
	spread  float64 // s, the reach of the band's own filter
	samples int     // of one transform
	real    *fourier.FFT
	plans   map[int]*fourier.CmplxFFT
	in      []float64
	band    []complex128
	out     []complex128
}

func newFollower(r *Reading, s Sampling) *follower {
	law := r.Law
	rate := max(math.Abs(law.Rate(law.From)), math.Abs(law.Rate(law.To)))
	slow := min(math.Abs(law.Rate(law.From)), math.Abs(law.Rate(law.To)))
	f := &follower{law: law, reading: r, record: s, plans: map[int]*fourier.CmplxFFT{}}
	f.length = min(16/math.Sqrt(slow), longestBlock/4*s.Interval)
	f.step = f.length / 4
	// The skirts of the steps must fit in the inner half of the margin too.
	f.margin = ringBand*math.Sqrt(rate) + 2*stepSkirt/f.step
	f.spread = 2 * stepSkirt / f.margin
	f.samples = transformSize(int(math.Ceil((f.length+f.step+2*f.spread)/s.Interval)) + 2)
	f.real = fourier.NewFFT(f.samples)
	f.in = make([]float64, f.samples)
	return f
}

// add sums into out, at the ascending times, the analytic signal of the block between from and from+length. The result
// is over the carrier of frequency 0: the signal itself.
func (f *follower) add(samples []float64, from float64, times []float64, out []complex128) {
	s := f.record
	begin, end := from-f.step/2, from+f.length+f.step/2
	// Sample 0 of the transform lies one spread before the block, so that nothing wraps round.
	zero := int(math.Floor((begin-f.spread)/s.Interval - s.Start/s.Interval))
	clear(f.in)
	first, behind := s.within(begin, end)
	if first >= behind {
		return
	}
	f.reading.present(first, min(behind, zero+len(f.in)), func(i int) {
		t := s.Time(i)
		f.in[i-zero] = samples[i] * (smoothStep((t-from)/f.step) - smoothStep((t-from-f.length)/f.step))
	})
	f.band = f.real.Coefficients(resized(f.band, f.samples/2+1), f.in)
	a, b := f.law.Frequency(begin), f.law.Frequency(end)
	low, high := min(a, b)-f.margin, max(a, b)+f.margin
	unit := 1 / (float64(f.samples) * s.Interval) // Hz per coefficient
	k0, k1 := max(0, int(math.Ceil(low/unit))), min(f.samples/2, int(math.Floor(high/unit)))
	middle := (k0 + k1) / 2
	n := transformSize(2 * (k1 - k0 + 2))
	f.out = resized(f.out, n)
	clear(f.out)
	for k := k0; k <= k1; k++ {
		at := k - middle
		nu := float64(at) / float64(n)
		// A soft end of the band, within the outer half of the margin.
		soft := 1.0
		if edge := (float64(k)*unit - low) / (f.margin / 2); low > 0 && edge < 1 {
			soft = smoothStep(edge - 0.5)
		}
		if edge := (high - float64(k)*unit) / (f.margin / 2); edge < 1 {
			soft *= smoothStep(edge - 0.5)
		}
		if k > 0 && 2*k < f.samples {
			soft *= 2
		}
		f.out[(at+n)%n] = f.band[k] * complex(soft/(float64(f.samples)*kernelSpectrum(nu)), 0)
	}
	plan, ok := f.plans[n]
	if !ok {
		plan = fourier.NewCmplxFFT(n)
		f.plans[n] = plan
	}
	plan.Sequence(f.out, f.out)
	pieces := kernelPieces()
	origin := s.Time(zero)
	span := float64(f.samples) * s.Interval
	for i, t := range times {
		late := t - origin
		if t < begin-f.spread || t > end+f.spread || late < 0 || late >= span {
			continue
		}
		v := interpolate(f.out, late/span*float64(n), pieces)
		sin, cos := math.Sincos(2 * math.Pi * fraction(float64(middle)*unit*late))
		out[i] += v * complex(cos, sin)
	}
}

// analytic is the analytic signal in V at ascending times; NaN at those for which the record does not suffice.
func analytic(ctx context.Context, samples []float64, s Sampling, r Reading, times []float64, t *Trace) ([]complex128, error) {
	f := newFollower(&r, s)
	t.Window = 1 / f.margin
	out := make([]complex128, len(times))
	behind := times[len(times)-1]
	low := 0
	for from := times[0] - f.length; from < behind+f.length; from += f.length {
		if err := ctx.Err(); err != nil {
			return nil, err
		}
		if r.Progress != nil {
			r.Progress(min(1, max(0, (from-times[0])/(behind-times[0]))))
		}
		for low < len(times) && times[low] < from-f.step/2-f.spread {
			low++
		}
		high := low
		for high < len(times) && times[high] <= from+f.length+f.step/2+f.spread {
			high++
		}
		f.add(samples, from, times[low:high], out[low:high])
	}
	for i, at := range times {
		outside := at < s.Start+f.spread || at > s.last()-f.spread
		if outside || r.inHole(s, at, f.spread) || (r.After != Hold && at > r.Law.Time-f.spread) {
			out[i] = complex(math.NaN(), 0)
		}
	}
	return out, nil
}
