package chirp

import (
	"context"
	"errors"
	"math"
	"math/cmplx"
	"slices"
)

// best tries the methods that Automatic knows.
func best(ctx context.Context, samples []float64, s Sampling, r Reading, times []float64) (*Trace, error) {
	progress := r.Progress
	part := func(from, to float64) {
		if progress != nil {
			r.Progress = func(of float64) { progress(from + (to-from)*of) }
		}
	}
	r.Method = PhaseFit
	part(0, 0.5)
	fit, err := read(ctx, samples, s, r, times)
	unfit, refused := errors.AsType[*UnfitError](err)
	if err != nil && !refused {
		return nil, err
	}
	part(0.5, 1)
	if r.sampled {
		r.Method = Analytic
		t, err := read(ctx, samples, s, r, times)
		if err == nil && (refused || t.Noise < math.Hypot(fit.Noise, fit.Bias)) {
			if fit != nil {
				t.SampleNoise = fit.SampleNoise
			}
			return t, nil
		}
		if refused {
			return nil, err
		}
	}
	if !refused {
		return fit, nil
	}
	r.Method = WindowMaximum
	if a, b := s.within(0, r.Law.Time); r.Offset == 0 && b > a {
		var sorted []float64
		r.present(a, b, func(i int) { sorted = append(sorted, samples[i]) })
		slices.Sort(sorted)
		if len(sorted) > 0 {
			r.Offset = sorted[len(sorted)/2]
		}
	}
	t, err := read(ctx, samples, s, r, times)
	if err == nil {
		t.Unfit, t.Misfit, t.Late = !unfit.Short, unfit.Misfit, unfit.Late
	}
	return t, err
}

// read reads by one method.
func read(ctx context.Context, samples []float64, s Sampling, r Reading, times []float64) (*Trace, error) {
	t := &Trace{Method: r.Method}
	var amplitude []float64 // NaN for points left out
	var err error
	switch {
	case r.Deconvolve:
		amplitude, err = deconvolve(ctx, samples, s, r, times, t)
	case r.Method == Analytic:
		var v []complex128
		v, err = analytic(ctx, samples, s, r, times, t)
		amplitude = make([]float64, len(v))
		for i := range v {
			amplitude[i] = cmplx.Abs(v[i])
		}
	case r.Method == PhaseFit:
		amplitude, err = phaseFit(ctx, samples, s, r, times, t)
	default:
		amplitude, err = windowMaximum(ctx, samples, s, r, times, t)
	}
	if err != nil {
		return nil, err
	}
	if err := t.fill(r, times, amplitude); err != nil {
		return nil, err
	}
	t.WindowHertz = t.Window * max(math.Abs(r.Law.Rate(r.Law.From)), math.Abs(r.Law.Rate(r.Law.To)))
	if r.Method != PhaseFit {
		t.Noise = noise(t.Amplitude, stride(t.Window, times[1]-times[0]))
	}
	return t, nil
}
