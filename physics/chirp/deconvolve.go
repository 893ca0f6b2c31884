package chirp

import (
	"context"
	"math"
	"math/cmplx"

	"gonum.org/v1/gonum/dsp/fourier"
)

// deconvolve removes the sweep from the trace. Under a linear sweep of rate S the envelope over the drive is
//
//	E(t) = ∫ h(τ)·exp(jπSτ²)·exp(-j2πF(t)τ) dτ,
//
// the Fourier integral over τ of the network's impulse response with a quadratic phase. Taken back over t, at
// the frequency ν = -Sτ, the phase is undone by exp(-jπν²/S), and E becomes H(F(t)). Only 0 ≤ τ ≤ 16/√S is kept (with
// soft ends of a sixteenth of that on either side): the network is causal, and noise at other τ is none of its.
// Times within that of the start of the sweep, where the network remembers the wait, and of the ends are left out.
func deconvolve(ctx context.Context, samples []float64, s Sampling, r Reading, times []float64, t *Trace) ([]float64, error) {
	rate := r.Law.Rate(r.Law.From)
	f := newFollower(&r, s)
	memory := ringBand / math.Sqrt(math.Abs(rate))
	begin, end := max(times[0], s.Start+f.spread), min(times[len(times)-1], s.last()-f.spread)
	n := int(math.Ceil((end - begin) * 4 * f.margin))
	amplitude := make([]float64, len(times))
	if n < 16 {
		for i := range amplitude {
			amplitude[i] = math.NaN()
		}
		return amplitude, nil
	}
	if n > MostSamples/8 {
		return nil, &FieldError{"sweep time", r.Law.Time, "s", "a faster sweep, which a deconvolution would be needed for"}
	}
	fine := make([]float64, n)
	for i := range fine {
		fine[i] = begin + (end-begin)*float64(i)/float64(n-1)
	}
	within := r
	within.After = Hold
	e, err := analytic(ctx, samples, s, within, fine, t)
	if err != nil {
		return nil, err
	}
	spacing := (end - begin) / float64(n-1)
	// Room at the end, in which the last value turns into the first.
	size := transformSize(n + int(4*memory/spacing))
	x := make([]complex128, size)
	for i, at := range fine {
		if cmplx.IsNaN(e[i]) {
			e[i] = 0
		}
		x[i] = e[i] * cmplx.Rect(1, -2*math.Pi*fraction(r.Law.Cycles(at)))
	}
	for i := n; i < size; i++ {
		w := complex(smoothStep(float64(i-n+1)/float64(size-n+1)-0.5), 0)
		x[i] = x[n-1]*(1-w) + x[0]*w
	}
	plan := fourier.NewCmplxFFT(size)
	plan.Coefficients(x, x)
	for k := range x {
		signed := k
		if k >= (size+1)/2 {
			signed = k - size
		}
		nu := float64(signed) / (float64(size) * spacing)
		tau := -nu / rate
		soft := memory / 16
		keep := smoothStep(tau/soft+0.5) * smoothStep((memory-tau)/soft+0.5) / (float64(size) * kernelSpectrum(float64(signed)/float64(2*size)))
		x[k] *= cmplx.Rect(keep, -math.Pi*nu*nu/rate)
	}
	// Twice as fine, for the interpolation.
	ring := make([]complex128, 2*size)
	copy(ring, x[:(size+1)/2])
	copy(ring[size+(size+1)/2:], x[(size+1)/2:])
	fourier.NewCmplxFFT(2*size).Sequence(ring, ring)
	t.Window = max(t.Window, 1/(memory*math.Abs(rate)))
	pieces := kernelPieces()
	for i, at := range times {
		if at < begin+memory || at > end-memory/2 {
			amplitude[i] = math.NaN()
			continue
		}
		amplitude[i] = cmplx.Abs(interpolate(ring, 2*(at-begin)/spacing, pieces))
	}
	return amplitude, nil
}
