package chirp

import (
	"cmp"
	"context"
	"math"
	"slices"
)

// mostNodes is at how many times over the sweep the windows are compared.
const mostNodes = 4096

// A fit is refused where it leaves more of the power than mostMisfit that noise alone does not explain, or where the
// carrier's phase leaves that of the sweep by more than mostTurning turns within half the shortest window: the sweep is
// another than was said, or began at another time.
const (
	mostMisfit  = 0.05
	mostTurning = 0.1
	// Where as much is left as mostTelling, the turning says nothing about the start any more.
	mostTelling = 0.2
)

// fewestFitted is how many samples make two windows: 4·√2 times the half of the shorter.
const fewestFitted = 40

// biasOfResidual is the square of the bias of the envelope in the middle of a window over the mean square that the fit
// leaves of the samples. What a parabola misses most is the fourth power of time, of which the Legendre polynomial P4
// stays: its value 3/8 in the middle against its mean square 1/9, twice because a sample is one part of the envelope.
const biasOfResidual = 2 * 9 * 9. / 64

// insideDilution is the dilution of a window well inside a record. Where it is worse, what the window cannot follow comes out larger,
// as noise does.
const insideDilution = 9. / 4

// fitter reads a record by fits of the carrier, whose phase is known.
type fitter struct {
	*stretches
	half     []float64 // s, of the windows that are tried, from short to long
	nodes    []float64 // s, where they are compared
	within   int       // of the nodes, those that lie in no hole
	fits     [][]sine  // by window and node; not ok where there is no answer
	variance float64   // V², of the noise of a sample
	chosen   []int     // the best window at each node; -1 where none has an answer
	bias     []float64 // V², the square of the bias that it is thought to have
	reading  *Reading
	record   Sampling
	pooling  float64 // s, the least stretch over which what a fit leaves is averaged
}

// newFitter cuts the record; nil where it is too short for two windows.
func newFitter(samples []float64, s Sampling, r *Reading) *fitter {
	law := r.Law
	a, b := s.within(0, law.Time)
	span := float64(b-a) * s.Interval
	rate := max(math.Abs(law.Rate(law.From)), math.Abs(law.Rate(law.To)))
	f := &fitter{pooling: 64 * s.Interval, reading: r, record: s}
	// A network's envelope does not change faster than some 1/√rate, be it a slow passage or a ring that beats.
	half := max(mostSize*s.Interval, 0.125/math.Sqrt(rate), 8*span/mostStretches)
	for ; half <= span/4; half *= math.Sqrt2 {
		f.half = append(f.half, half)
	}
	if len(f.half) < 2 {
		return nil
	}
	f.stretches = cut(samples, s, r, a, b, max(f.half[0]/8, s.Interval), (len(f.half)+1)/2)
	count := min(mostNodes, int(math.Ceil(span/f.half[0]))+1)
	for i := range count {
		f.nodes = append(f.nodes, f.from+span*(float64(i)+0.5)/float64(count))
		if !r.inHole(s, f.nodes[i], 0) {
			f.within++
		}
	}
	return f
}

// at fits a window around a time in s; there is no answer in a hole, nor where much of the window is one.
func (f *fitter) at(t float64, window int, constant bool) sine {
	if half := f.half[window]; len(f.reading.Holes) > 0 && (f.reading.inHole(f.record, t, 0) || f.reading.missing(f.record, t-half, t+half) > 2*half*mostMissing) {
		return sine{}
	}
	m := f.around(t, f.half[window], window/2)
	return m.solve(f.half[window]/f.length, constant)
}

// direct takes the direct voltage off the record and returns it: the mean of the constants of the shorter windows,
// weighted by what each is worth.
func (f *fitter) direct() float64 {
	sum, weight := 0.0, 0.0
	for w := 0; w < min(9, len(f.half)); w++ {
		for _, t := range f.nodes {
			if x := f.at(t, w, true); x.ok && x.left > 0 {
				each := x.free / (x.left * x.offsetVariance)
				sum, weight = sum+each*x.offset, weight+each
			}
		}
	}
	if weight == 0 {
		return 0
	}
	f.shift(sum / weight)
	return sum / weight
}

// compare fits every window at every node, and finds the noise: what the best window leaves at half of its nodes.
func (f *fitter) compare(ctx context.Context, progress func(float64)) error {
	f.variance = math.Inf(1)
	for w := range f.half {
		if err := ctx.Err(); err != nil {
			return err
		}
		if progress != nil {
			progress(float64(w) / float64(len(f.half)))
		}
		fits := make([]sine, len(f.nodes))
		var left []float64
		for i, t := range f.nodes {
			x := f.at(t, w, false)
			fits[i] = x
			if x.ok {
				// The median of chi-squared lies below its mean (E. B. Wilson and M. M. Hilferty, Proc. Natl. Acad. Sci. 17
				// (1931) 684, from memory).
				left = append(left, x.left/x.free/math.Pow(1-2/(9*x.free), 3))
			}
		}
		f.fits = append(f.fits, fits)
		if 2*len(left) > f.within {
			slices.Sort(left)
			f.variance = min(f.variance, left[len(left)/2])
		}
	}
	return nil
}

// choose takes at each node the window with the least sum of variance and square of bias, as far as the fits tell: noise
// leaves the same everywhere, and what is left beyond it around the node is the change of the envelope that the window
// cannot follow.
func (f *fitter) choose() {
	n, power := 0.0, 0.0
	for _, m := range f.levels[len(f.levels)-1] {
		n, power = n+m.sum[0][sumOne], power+m.sum[0][sumVV]
	}
	// A record without noise has its rounding, of the converter or of the file.
	noise := max(f.variance, 1e-6*power/n)
	best := make([]float64, len(f.nodes))
	f.chosen, f.bias = make([]int, len(f.nodes)), make([]float64, len(f.nodes))
	for i := range best {
		best[i], f.chosen[i] = math.Inf(1), -1
	}
	step := f.nodes[1] - f.nodes[0]
	for w, fits := range f.fits {
		left, free := make([]float64, len(fits)+1), make([]float64, len(fits)+1)
		for i, x := range fits {
			left[i+1], free[i+1] = left[i], free[i]
			if x.ok {
				left[i+1] += x.left
				free[i+1] += x.free
			}
		}
		reach := int(max(f.half[w], f.pooling) / step)
		for i, x := range fits {
			if !x.ok {
				continue
			}
			a, b := max(0, i-reach), min(len(fits), i+reach+1)
			bias := biasOfResidual * max(0, (left[b]-left[a])/(free[b]-free[a])-f.variance) * max(1, x.dilution/insideDilution)
			if risk := bias + noise*x.variance; risk < best[i] {
				best[i], f.chosen[i], f.bias[i] = risk, w, bias
			}
		}
	}
}

// node is the one nearest to a time.
func (f *fitter) node(t float64) int {
	i := int(math.Round((t - f.nodes[0]) / (f.nodes[1] - f.nodes[0])))
	return min(max(i, 0), len(f.nodes)-1)
}

// doubt says whether the phase is that of the sweep. misfit is the part of the power that is left beyond the noise, found
// as the slope of what is left over the power between the weakest and the strongest quarter of the nodes, or as all that is
// left where these do not differ; turning is the median magnitude of the turning in the shortest window, in turns, and late the
// time in s by which the sweep seems to begin late for it, 0 where that cannot be told.
func (f *fitter) doubt(law Law) (misfit, turning, late float64) {
	var fits []sine
	var turns, times []float64
	for i, w := range f.chosen {
		if w < 0 {
			continue
		}
		x := f.fits[w][i]
		fits = append(fits, x)
		if x.amplitude*x.amplitude > 100*x.variance*f.variance {
			perSecond := x.turning / f.half[w]
			turns = append(turns, math.Abs(perSecond)*f.half[0])
			times = append(times, -perSecond/law.Rate(law.Frequency(f.nodes[i])))
		}
	}
	if len(fits) == 0 {
		return 1, 0, 0
	}
	slices.SortFunc(fits, func(a, b sine) int { return cmp.Compare(a.power, b.power) })
	quarter := func(all []sine) (left, power float64) {
		for _, x := range all {
			left += x.left / x.free
			power += x.power
		}
		return left / float64(len(all)), power / float64(len(all))
	}
	n := (len(fits) + 3) / 4
	weakLeft, weak := quarter(fits[:n])
	left, strong := quarter(fits[len(fits)-n:])
	switch {
	case strong == 0: // silence
	case weak > strong/2:
		misfit = left / strong
	default:
		misfit = max(0, left-weakLeft) / (strong - weak)
	}
	if len(turns) > 0 {
		slices.Sort(turns)
		slices.Sort(times)
		turning = turns[len(turns)/2]
		if misfit < mostTelling {
			late = times[len(times)/2]
		}
	}
	return misfit, turning, late
}

// phaseFit is the amplitude by fits; an *UnfitError where the phase of the carrier is not that of the sweep, or the record is
// too short.
func phaseFit(ctx context.Context, samples []float64, s Sampling, r Reading, times []float64, t *Trace) ([]float64, error) {
	f := newFitter(samples, s, &r)
	if f == nil {
		return nil, &UnfitError{Short: true}
	}
	offset := f.direct()
	if err := f.compare(ctx, r.Progress); err != nil {
		return nil, err
	}
	f.choose()
	misfit, turning, late := f.doubt(r.Law)
	if misfit > mostMisfit || turning > mostTurning {
		return nil, &UnfitError{Misfit: misfit, Turning: turning, Late: late}
	}
	t.Misfit, t.Late = misfit, late
	out := make([]float64, len(times))
	var widths []float64
	variance, bias := 0.0, 0.0
	for i, at := range times {
		if i%256 == 0 {
			if err := ctx.Err(); err != nil {
				return nil, err
			}
		}
		out[i] = math.NaN()
		k := f.node(at)
		if at < s.Start || at > s.last() {
			continue
		}
		var x sine
		w := f.chosen[k]
		if w >= 0 {
			x = f.at(at, w, false)
		}
		for len(r.Holes) > 0 && !x.ok && w > 0 { // beside a hole a shorter one may do
			w--
			x = f.at(at, w, false)
		}
		if !x.ok {
			if !r.inHole(s, at, 4*f.half[0]) { // a window on one side alone dilutes
				t.Unsettled++
			}
			continue
		}
		out[i] = x.amplitude
		widths = append(widths, 2*f.half[w])
		variance += x.variance * f.variance
		bias += f.bias[k]
	}
	if len(widths) == 0 {
		return nil, &UnfitError{Short: true}
	}
	slices.Sort(widths)
	n := float64(len(widths))
	t.Window, t.Offset, t.Noise, t.Bias = widths[len(widths)/2], offset, math.Sqrt(variance/n), math.Sqrt(bias/n)
	t.SampleNoise = math.Sqrt(f.variance)
	return out, nil
}
