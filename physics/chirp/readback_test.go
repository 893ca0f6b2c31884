package chirp

import (
	"context"
	"errors"
	"fmt"
	"math"
	"math/cmplx"
	"math/rand/v2"
	"testing"
)

// mustRead reads a record back.
func mustRead(t testing.TB, v []float64, s Sampling, r Reading) *Trace {
	t.Helper()
	trace, err := ReadBack(context.Background(), v, s, r)
	if err != nil {
		t.Fatal(err)
	}
	for i := 1; i < len(trace.Frequency); i++ {
		if !(trace.Frequency[i] > trace.Frequency[i-1]) {
			t.Fatalf("frequencies do not ascend: %g after %g", trace.Frequency[i], trace.Frequency[i-1])
		}
	}
	return trace
}

// noisy adds white noise of an rms.
func noisy(v []float64, rms float64) []float64 {
	rng := rand.New(rand.NewPCG(15, 19))
	out := make([]float64, len(v))
	for i := range v {
		out[i] = v[i] + rms*rng.NormFloat64()
	}
	return out
}

// distance is the largest and the rms difference between a trace and a curve.
func distance(t *Trace, curve func(f float64) float64) (worst, rms float64) {
	for i, f := range t.Frequency {
		off := t.Amplitude[i] - curve(f)
		worst = max(worst, math.Abs(off))
		rms += off * off / float64(len(t.Frequency))
	}
	return worst, math.Sqrt(rms)
}

// There and back, for three Qs and three rates, in both directions. Without noise the plain trace is the envelope that
// the network really made; deconvolved it is |H|; with its lag corrected its peak lies on the resonance. With noise, what
// is left over is the noise that the trace states.
func TestRoundTrip(t *testing.T) {
	const f0, rate = 200e3, 2e6
	cases := 0
	for _, q := range []float64{20, 60, 200} {
		for _, seconds := range []float64{0.005, 0.05, 0.5} {
			law := Law{From: 100e3, To: 400e3, Time: seconds}
			if cases%2 == 1 {
				law.From, law.To = law.To, law.From
			}
			b := f0 / q
			rho := math.Abs(law.Rate(f0)) / (b * b)
			m := resonator(f0, b)
			curve := func(f float64) float64 { h, _ := m.at(f); return cmplx.Abs(h) }
			s := Sampling{Start: -0.1 * seconds, Interval: 1 / rate, Count: int(1.2 * seconds * rate)}
			r := mustRespond(t, m.at, Drive{Law: law, Amplitude: 1}, s)
			name := fmt.Sprintf("Q %g, %g s, rho %.3g", q, seconds, rho)

			plain := mustRead(t, r.Voltage, s, Reading{Law: law})
			followed := 0.0
			for i, f := range plain.Frequency {
				at := (law.At(f) - s.Start) / s.Interval
				k := int(at)
				u := complex(at-float64(k), 0)
				followed = max(followed, math.Abs(plain.Amplitude[i]-cmplx.Abs(r.Envelope[k]*(1-u)+r.Envelope[k+1]*u)))
			}
			// The chord between two samples leaves (π·S·τ)²/2 of a ring, and the ring beyond the band exp(-16π/√rho);
			// the weaker image of the carrier at its negative frequency is left out by the band, to 1e-5.
			if ring := math.Exp(-ringBand * math.Pi / math.Sqrt(rho)); !(followed < 2e-4+4*ring) {
				t.Errorf("%s: the envelope is followed to %.2g", name, followed)
			}
			swept, _ := distance(plain, curve)
			if rho < 0.3 && !(swept < 0.5*rho+1e-5) {
				t.Errorf("%s: the plain trace is %.2g off |H|", name, swept)
			}

			clean := mustRead(t, r.Voltage, s, Reading{Law: law, Deconvolve: true})
			undone, _ := distance(clean, curve)
			if !(undone < 1e-5+2*math.Exp(-ringBand*math.Pi/math.Sqrt(rho))) {
				t.Errorf("%s: deconvolved, the trace is %.2g off |H|", name, undone)
			}

			lagged, err := ReadBack(context.Background(), r.Voltage, s, Reading{Law: law, Bandwidth: b, Points: 20001})
			if _, tooFast := errors.AsType[*TooFastError](err); tooFast != (rho > mostCorrectable) {
				t.Errorf("%s: correction of the lag: %v", name, err)
			}
			beside := math.NaN()
			if err == nil {
				best := 0
				for i, v := range lagged.Amplitude {
					if v > lagged.Amplitude[best] {
						best = i
					}
				}
				beside = (lagged.Frequency[best] - f0) / b
				// At these Qs the resonator is not quite the single pole of the formula: its image and its skew count 1/Q.
				if off := math.Abs(beside); !(off < 300e3/20000/b+0.5/q*math.Max(0.05, rho)) {
					t.Errorf("%s: corrected, the peak is %.3g bandwidths beside the resonance", name, beside)
				}
				if off := math.Abs(lagged.Amplitude[best] - lagged.Passage.Peak); !(off < 0.3/q*math.Max(0.05, rho)) {
					t.Errorf("%s: the peak is %.4f high, the formula says %.4f", name, lagged.Amplitude[best], lagged.Passage.Peak)
				}
			}

			for _, deconvolved := range []bool{false, true} {
				const sigma = 0.02
				reading := Reading{Law: law, Deconvolve: deconvolved}
				still := mustRead(t, r.Voltage, s, reading)
				rough := mustRead(t, noisy(r.Voltage, sigma), s, reading)
				sum := 0.0
				for i := range still.Amplitude {
					// At Q 200 most of the trace lies below the noise, and its offset there counts in the sum.
					sum += math.Pow(rough.Amplitude[i]-still.Amplitude[i], 2) / float64(len(still.Amplitude))
				}
				left := math.Sqrt(sum)
				if !(left < 1.4*rough.Noise) || !(left > 0.8*rough.Noise) {
					t.Errorf("%s: noise left %.3g, stated %.3g", name, left, rough.Noise)
				}
				if !deconvolved {
					t.Logf("%s: envelope followed to %.1g; off |H| plain %.2g, deconvolved %.1g; corrected peak %.1g B beside; noise of 20 mV left %.2g, stated %.2g",
						name, followed, swept, undone, beside, left, rough.Noise)
				}
			}
			cases++
		}
	}
	if cases != 9 {
		t.Errorf("%d cases", cases)
	}
}

// Undersampled: the greatest magnitude per window. On the average it is right within the change of the envelope in a
// window, and no false gap is left.
func TestUndersampled(t *testing.T) {
	const f0, b = 2e6, 100e3
	m := resonator(f0, b)
	curve := func(f float64) float64 { h, _ := m.at(f); return cmplx.Abs(h) }
	cases := 0
	for _, spacing := range []Spacing{Linear, Logarithmic} {
		law := Law{From: 0.5e6, To: 5e6, Time: 0.2, Spacing: spacing}
		for _, count := range []int{10_000, 100_000, 1_000_000} {
			s := Sampling{Interval: law.Time / float64(count), Count: count}
			r := mustRespond(t, m.at, Drive{Law: law, Amplitude: 1}, s)
			trace := mustRead(t, r.Voltage, s, Reading{Law: law, Method: WindowMaximum})
			bias, spread, low := 0.0, 0.0, math.Inf(1)
			for i, f := range trace.Frequency {
				// The greatest of |H| within the window.
				at, greatest := law.At(f), 0.0
				window := max(2/math.Sqrt(law.Rate(f)), fewestInWindow*s.Interval)
				for k := -20; k <= 20; k++ {
					greatest = max(greatest, curve(law.Frequency(at+float64(k)/40*window)))
				}
				off := trace.Amplitude[i]/greatest - 1
				bias += off / float64(len(trace.Frequency))
				spread = max(spread, off)
				low = min(low, off)
			}
			t.Logf("%v, %d samples: window %.3g s, mean %+.3f, %+.3f to %+.3f of the greatest in the window; shortfall allowed %.2g",
				spacing, count, trace.Window, bias, low, spread, trace.Shortfall)
			if math.Abs(bias) > 0.01 || low < -0.08 || spread > 0.02 {
				t.Errorf("%v, %d samples: mean %.3f, %.3f to %.3f", spacing, count, bias, low, spread)
			}
			cases++
		}
	}
	if cases != 6 {
		t.Errorf("%d cases", cases)
	}
}

// The mean of the greatest |cos| of n random phases: 2/π for one, and by trial for more.
func TestShortfall(t *testing.T) {
	if got := 1 - shortfall(1); math.Abs(got-2/math.Pi) > 1e-12 {
		t.Errorf("one phase: %g, want 2/π", got)
	}
	// For two: ∫ 2(2/π)²... = by parts 1 - (π/2)²/12·I(4); directly 2·(2/π)·(1 - 2/π).
	if got, want := 1-shortfall(2), 8/math.Pi/math.Pi; math.Abs(got-want) > 1e-12 {
		t.Errorf("two phases: %g, want %g", got, want)
	}
	rng := rand.New(rand.NewPCG(1, 1))
	for _, n := range []int{3, 16, 100} {
		const trials = 20000
		mean := 0.0
		for range trials {
			greatest := 0.0
			for range n {
				greatest = max(greatest, math.Abs(math.Cos(2*math.Pi*rng.Float64())))
			}
			mean += (1 - greatest) / trials
		}
		if got := shortfall(n); math.Abs(got/mean-1) > 0.05 {
			t.Errorf("%d phases: %g, by trial %g", n, got, mean)
		}
	}
}

// White noise on a cubic is found whatever the cubic, and a few wild points do not matter.
func TestNoise(t *testing.T) {
	rng := rand.New(rand.NewPCG(2, 2))
	for _, step := range []int{1, 3} {
		y := make([]float64, 20000)
		for i := range y {
			x := float64(i) / 20000
			y[i] = 3 - 5*x + 100*x*x*x + 0.01*rng.NormFloat64()
			if i%50 == 0 {
				y[i] += 3
			}
		}
		if got := noise(y, step); math.Abs(got/0.01-1) > 0.15 {
			t.Errorf("step %d: %g, want 0.01", step, got)
		}
	}
	if got := noise(make([]float64, 10), 1); got != 0 {
		t.Errorf("too few points: %g", got)
	}
}
