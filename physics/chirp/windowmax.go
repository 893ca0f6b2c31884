package chirp

import (
	"context"
	"math"
)

// fewestInWindow is the least number of samples in a window: 16 at random phases fall short by 0.8 % on the average.
const fewestInWindow = 16

// windowMaximum is the greatest magnitude of the samples, less the offset, in a window around each time. The window is
// so long that a false gap is filled: within ±1/√S of its middle the phase turns by π. It also smears what changes
// within it, to its greater side. The offset must be given: the mean of undersampled samples is none, because at every
// multiple of the sampling rate the carrier itself turns into one.
func windowMaximum(ctx context.Context, samples []float64, s Sampling, r Reading, times []float64, t *Trace) ([]float64, error) {
	slow := min(math.Abs(r.Law.Rate(r.Law.From)), math.Abs(r.Law.Rate(r.Law.To)))
	window := func(at float64) float64 {
		rate := math.Abs(r.Law.Rate(r.Law.Frequency(at)))
		return max(2/math.Sqrt(rate), fewestInWindow*s.Interval)
	}
	t.Window = max(2/math.Sqrt(slow), fewestInWindow*s.Interval)
	t.Offset = r.Offset
	out := make([]float64, len(times))
	var top sliding
	for i, at := range times {
		if i%256 == 0 {
			if err := ctx.Err(); err != nil {
				return nil, err
			}
			if r.Progress != nil {
				r.Progress(float64(i) / float64(len(times)))
			}
		}
		half := window(at) / 2
		from, to := max(at-half, 0), min(at+half, r.Law.Time)
		a, b := s.within(from, to)
		greatest := top.greatest(samples, r.Offset, a, b)
		if r.inHole(s, at, half) || b-a < fewestInWindow/2 || s.Start > at || s.last() < at {
			out[i] = math.NaN()
			continue
		}
		short := shortfall(b - a)
		t.Shortfall = max(t.Shortfall, short)
		out[i] = greatest / (1 - short)
	}
	return out, nil
}

// sliding finds the greatest magnitude of windows whose ends only move on: it looks at every sample once. It holds the
// samples of the window that no later one surpasses, from the greatest down.
type sliding struct {
	held []int
	next int
}

// greatest is the greatest magnitude of samples[a:b], less the offset; 0 where there is none. A window that would move
// back keeps what it has.
func (w *sliding) greatest(samples []float64, offset float64, a, b int) float64 {
	of := func(i int) float64 { return math.Abs(samples[i] - offset) }
	for w.next = max(w.next, a); w.next < b; w.next++ {
		for len(w.held) > 0 && of(w.held[len(w.held)-1]) <= of(w.next) {
			w.held = w.held[:len(w.held)-1]
		}
		w.held = append(w.held, w.next)
	}
	for len(w.held) > 0 && w.held[0] < a {
		w.held = w.held[1:]
	}
	if len(w.held) == 0 {
		return 0
	}
	return of(w.held[0])
}

// shortfall is 1 - I(n), where I(n) is the mean of the greatest |cos| of n uniformly distributed phases. The least of n
// angles in [0, π/2] has the density n(1-v)^(n-1) in v = 2·angle/π, so I(n) = ∫ n(1-v)^(n-1)·cos(πv/2) dv; by parts,
// I(n) = 1 - (π/2)²/((n+1)(n+2))·I(n+2), which converges when run from any start downwards.
func shortfall(n int) float64 {
	next := 1.0
	for m := n + 40; m > n; m -= 2 {
		next = 1 - math.Pi*math.Pi/4/float64((m+1)*(m+2))*next
	}
	return math.Pi * math.Pi / 4 / float64((n+1)*(n+2)) * next
}
