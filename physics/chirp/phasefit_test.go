package chirp

import (
	"context"
	"errors"
	"math"
	"math/cmplx"
	"math/rand/v2"
	"strings"
	"testing"

	"pgregory.net/rapid"
)

// series is a coil and a capacitor in series between a generator and a load of 50 ohm: the voltage at the load per volt
// of emf. Its bandwidth is 100 ohm/(2π·800 uH) = 19 894 Hz.
func series(f float64) (complex128, error) {
	const coil, resonance = 800e-6, 1.02734e6
	w := 2 * math.Pi * f
	return 50 / complex(100, w*coil*(1-resonance*resonance/(f*f))), nil
}

func seriesCurve(f float64) float64 { v, _ := series(f); return math.Sqrt2 * cmplx.Abs(v) }

// resonanceOf fits a parabola to the inverse square of an amplitude, which a single resonance follows, out to 30 % below its top:
// the place of the top, and the width at 1/√2 of it.
func resonanceOf(x *Trace) (peak, width float64) {
	top := 0.0
	for _, a := range x.Amplitude {
		top = max(top, a)
	}
	const centre, unit = 1.02734e6, 1e4
	var g [3][4]float64
	for i, a := range x.Amplitude {
		if a < 0.7*top {
			continue
		}
		u := (x.Frequency[i] - centre) / unit
		p := [4]float64{1, u, u * u, 1 / (a * a)}
		w := a * a * a // the noise of 1/a² is that of a times 2/a³
		for j := range 3 {
			for k := range p {
				g[j][k] += w * w * p[j] * p[k]
			}
		}
	}
	for j := range 3 { // Gauss-Jordan
		for k := range 3 {
			if k == j {
				continue
			}
			q := g[k][j] / g[j][j]
			for l := range g[k] {
				g[k][l] -= q * g[j][l]
			}
		}
	}
	c, b, a := g[0][3]/g[0][0], g[1][3]/g[1][1], g[2][3]/g[2][2]
	at := -b / (2 * a)
	least := c - b*b/(4*a)
	return centre + unit*at, 2 * unit * math.Sqrt(least/a)
}

// A slow sweep of that box, 40 ms over 200 kHz, is read back from records of 1287 samples and more (0.03 to 1.4 per period),
// with and without noise, under a direct voltage: the width to 1 %, the peak to a hundredth of the width beside the sweep's own lag
// of 136 Hz, all amplitudes to a few millivolts of 707. By the greatest sample of each window the width is a fifth too large.
func TestUndersampledFit(t *testing.T) {
	law := Law{From: 0.95e6, To: 1.15e6, Time: 40e-3}
	rows := 0
	for _, count := range []int{1287, 2500, 6000, 20000, 57500} {
		s := Sampling{Interval: law.Time / float64(count-1), Count: count}
		r := mustRespond(t, series, Drive{Law: law, Amplitude: math.Sqrt2, Phase: 1}, s)
		for _, sigma := range []float64{0, 5e-3} {
			for _, offset := range []float64{0, 0.2} {
				rows++
				v := noisy(r.Voltage, sigma)
				for i := range v {
					v[i] += offset
				}
				x := mustRead(t, v, s, Reading{Law: law})
				peak, width := resonanceOf(x)
				_, rms := distance(x, seriesCurve)
				old := mustRead(t, v, s, Reading{Law: law, Method: WindowMaximum, Offset: offset})
				oldPeak, oldWidth := resonanceOf(old)
				_, oldRMS := distance(old, seriesCurve)
				t.Logf("%5d samples, noise %g mV, offset %g V: width %.0f Hz, peak %+.0f Hz, rms %.2f mV (noise %.2f, bias %.2f), median window %.0f Hz, %d unsettled; greatest samples: width %.0f Hz, peak %+.0f Hz, rms %.1f mV",
					count, 1e3*sigma, offset, width, peak-1.02734e6, 1e3*rms, 1e3*x.Noise, 1e3*x.Bias, x.WindowHertz, x.Unsettled, oldWidth, oldPeak-1.02734e6, 1e3*oldRMS)
				if x.Method != PhaseFit || x.Unfit || x.Shortfall != 0 {
					t.Fatalf("method %v", x.Method)
				}
				allowed := 0.002
				if sigma > 0 {
					allowed = 0.01
				}
				if math.Abs(width/19894-1) > allowed || math.Abs(peak-1.02734e6-136) > allowed*19894 || math.Abs(x.Offset-offset) > 1e-4+0.1*sigma {
					t.Errorf("width %g Hz, peak %g Hz, offset %g V", width, peak, x.Offset)
				}
				// The lag is 0.9 mV of it.
				if left := math.Sqrt(max(0, rms*rms-0.89e-3*0.89e-3)); rms > 2.2e-3 || left > 1e-4+1.5*math.Hypot(x.Noise, x.Bias) || sigma > 0 && left < 0.5*x.Noise {
					t.Errorf("rms %g V, stated noise %g V, bias %g V", rms, x.Noise, x.Bias)
				}
				if x.Unsettled > 30 || x.Unsettled > x.Omitted {
					t.Errorf("%d of 2001 points are unsettled, %d left out", x.Unsettled, x.Omitted)
				}
				if oldWidth < 1.08*19894 || oldRMS < 5*rms {
					t.Errorf("by the greatest samples it is as good: width %g Hz, rms %g V", oldWidth, oldRMS)
				}
			}
		}
	}
	if rows != 20 {
		t.Errorf("%d rows", rows)
	}
}

// Where the carrier is sampled well enough, the better method is taken: the analytic signal of a clean record, the fit of
// a noisy one, which averages it.
func TestBetterMethod(t *testing.T) {
	law := Law{From: 0.95e6, To: 1.15e6, Time: 40e-3}
	s := Sampling{Interval: law.Time / 149_999, Count: 150_000}
	r := mustRespond(t, series, Drive{Law: law, Amplitude: math.Sqrt2}, s)
	for _, c := range []struct {
		sigma float64
		want  Method
	}{{0, Analytic}, {5e-3, PhaseFit}, {50e-3, PhaseFit}} {
		v := noisy(r.Voltage, c.sigma)
		x := mustRead(t, v, s, Reading{Law: law})
		_, rms := distance(x, seriesCurve)
		_, other := distance(mustRead(t, v, s, Reading{Law: law, Method: Analytic + PhaseFit - c.want}), seriesCurve)
		t.Logf("noise %g mV: %v, rms %.4f mV, by the other %.4f mV", 1e3*c.sigma, x.Method, 1e3*rms, 1e3*other)
		if x.Method != c.want || rms > 1.02*other {
			t.Errorf("noise %g V: %v with %g V, the other %g V", c.sigma, x.Method, rms, other)
		}
	}
}

// stepped is a generator that stays at each of so many frequencies, its phase unbroken, behind the same box (at rest at
// each: a slow sweep).
func stepped(law Law, steps int, s Sampling) []float64 {
	v := make([]float64, s.Count)
	each := law.Time / float64(steps)
	for i := range v {
		k := math.Min(math.Floor(s.Time(i)/each), float64(steps-1))
		// Whole steps before, each at the frequency in its middle, which is that of the sweep on the average.
		f := law.Frequency((k + 0.5) * each)
		v[i] = seriesCurve(f) * math.Cos(2*math.Pi*(fraction(law.Cycles(k*each))+fraction(f*(s.Time(i)-k*each))))
	}
	return v
}

// A record that begins one sample late is read all the same; one that begins at another time by a hundredth of the sweep, a generator
// that goes in coarse steps, and another law of the sweep are found out. What is then read is no worse than the greatest samples are,
// and a start that is wrong is told.
func TestAnotherPhase(t *testing.T) {
	law := Law{From: 0.95e6, To: 1.15e6, Time: 40e-3}
	rows := 0
	for _, count := range []int{1287, 2500, 6000, 20000, 57500} {
		s := Sampling{Interval: law.Time / float64(count-1), Count: count}
		r := mustRespond(t, series, Drive{Law: law, Amplitude: math.Sqrt2}, s)
		late := func(by float64) Sampling { return Sampling{Start: by, Interval: s.Interval, Count: count} }
		logarithmic, longer := law, law
		logarithmic.Spacing = Logarithmic
		longer.Time *= 1.05
		for _, c := range []struct {
			name    string
			record  []float64
			s       Sampling
			law     Law
			unfit   bool
			started float64 // s, late
		}{
			{"one sample late", r.Voltage, late(s.Interval), law, false, s.Interval},
			{"a hundredth late", r.Voltage, late(0.01 * law.Time), law, true, 0.01 * law.Time},
			{"a hundredth early", r.Voltage, late(-0.01 * law.Time), law, true, -0.01 * law.Time},
			{"4000 steps", stepped(law, 4000, s), s, law, false, 0},
			{"20 steps", stepped(law, 20, s), s, law, true, 0},
			{"logarithmic", r.Voltage, s, logarithmic, true, 0},
			{"5 % longer", r.Voltage, s, longer, true, 0},
		} {
			rows++
			x := mustRead(t, noisy(c.record, 5e-3), c.s, Reading{Law: c.law})
			_, width := resonanceOf(x)
			_, rms := distance(x, func(f float64) float64 { return seriesCurve(law.Frequency(c.law.At(f) - c.s.Start)) })
			t.Logf("%5d samples, %s: %v, width %.0f Hz, rms %.2f mV, misfit %.2g, late %.3g s", count, c.name, x.Method, width, 1e3*rms, x.Misfit, x.Late)
			if x.Unfit != c.unfit || (x.Method == WindowMaximum) != c.unfit {
				t.Errorf("%d samples, %s: %v, unfit %v, misfit %.2g", count, c.name, x.Method, x.Unfit, x.Misfit)
			}
			if rms > 0.045 || !c.unfit && rms > 4e-3 {
				t.Errorf("%d samples, %s: rms %g V", count, c.name, rms)
			}
			if c.started != 0 && x.Misfit < 0.2 && math.Abs(x.Late-c.started) > 0.2*math.Abs(c.started)+2e-6 {
				t.Errorf("%d samples, %s: said to begin %g s late, it is %g s", count, c.name, x.Late, c.started)
			}
			if _, err := ReadBack(context.Background(), c.record, c.s, Reading{Law: c.law, Method: PhaseFit}); c.unfit {
				if _, ok := errors.AsType[*UnfitError](err); !ok || !strings.Contains(err.Error(), "check the sweep's limits") {
					t.Errorf("%d samples, %s: %v", count, c.name, err)
				}
			}
		}
	}
	if rows != 35 {
		t.Errorf("%d rows", rows)
	}
	// Too short for a fit, and silent.
	short := Sampling{Interval: 40e-3 / 38, Count: 39}
	if _, err := ReadBack(context.Background(), make([]float64, 39), short, Reading{Law: law, Method: PhaseFit}); err == nil || !strings.Contains(err.Error(), "take 40 or more") {
		t.Error(err)
	}
	silent := Sampling{Interval: 20e-6, Count: 2001}
	if x := mustRead(t, make([]float64, 2001), silent, Reading{Law: law}); x.Noise != 0 || x.Bias != 0 || x.Misfit != 0 || x.Amplitude[100] != 0 {
		t.Errorf("silence: noise %g, bias %g, misfit %g", x.Noise, x.Bias, x.Misfit)
	}
}

// A carrier whose two amplitudes are parabolas of time, on a constant, is found exactly from any phases that are not the same,
// through any cut of the record; and with noise the variance that is stated is that of many trials.
func TestFitIsExact(t *testing.T) {
	cases := 0
	rapid.Check(t, func(t *rapid.T) {
		draw := func(name string) float64 { return rapid.Float64Range(-1, 1).Draw(t, name) }
		n := rapid.IntRange(24, 200).Draw(t, "samples")
		offset, p, q := draw("offset"), [3]float64{2 + draw("b"), draw("b'"), draw("b''")}, [3]float64{draw("c"), draw("c'"), draw("c''")}
		rng := rand.New(rand.NewPCG(rapid.Uint64().Draw(t, "seed"), 1))
		var one, all moments
		all.at = 7
		parts := []moments{{at: 5}, {at: 6.5}, {at: 9}}
		for i := range n {
			u := 2*float64(i)/float64(n-1) - 1
			sin, cos := math.Sincos(2 * math.Pi * rng.Float64())
			v := offset + (p[0]+u*(p[1]+u*p[2]))*cos + (q[0]+u*(q[1]+u*q[2]))*sin
			one.add(3*u, cos, sin, v)
			k := i % 3
			parts[k].add(7+3*u-parts[k].at, cos, sin, v)
		}
		for i := range parts {
			all.gather(&parts[i])
		}
		for _, m := range []moments{one, all} {
			x := m.solve(3, true)
			if !x.ok {
				return // phases as good as equal
			}
			want := math.Hypot(p[0], q[0])
			if math.Abs(x.amplitude-want) > 1e-6 || math.Abs(x.offset-offset) > 1e-6 || x.left > 1e-9*float64(n) {
				t.Fatalf("%d samples: %g on %g, want %g on %g; %g left", n, x.amplitude, x.offset, want, offset, x.left)
			}
			m.shift(offset)
			y := m.solve(3, false)
			turning := (q[0]*p[1] - p[0]*q[1]) / (want * want) / (2 * math.Pi)
			if math.Abs(y.amplitude-want) > 1e-6 || math.Abs(y.turning-turning) > 1e-5 || y.variance > x.variance*(1+1e-6) {
				t.Fatalf("without its constant: %g, turning %g, want %g and %g", y.amplitude, y.turning, want, turning)
			}
			cases++
		}
	})
	if cases < 40 {
		t.Errorf("%d cases", cases)
	}
	rng := rand.New(rand.NewPCG(4, 4))
	const trials = 4000
	mean, square, left, variance := 0.0, 0.0, 0.0, 0.0
	for range trials {
		var m moments
		for i := range 60 {
			u := 2*float64(i)/59 - 1
			sin, cos := math.Sincos(0.7 * float64(i))
			m.add(u, cos, sin, 3*cos-2*sin+0.05*rng.NormFloat64())
		}
		x := m.solve(1, true)
		mean += x.amplitude / trials
		square += x.amplitude * x.amplitude / trials
		left += x.left / x.free / trials
		variance = x.variance
	}
	spread := square - mean*mean
	if math.Abs(spread/(0.0025*variance)-1) > 0.1 || math.Abs(left/0.0025-1) > 0.02 {
		t.Errorf("variance %g, stated %g; left %g", spread, 0.0025*variance, left)
	}
	// Samples that stand still against the carrier settle nothing.
	var still moments
	for i := range 60 {
		still.add(2*float64(i)/59-1, 0.6, 0.8, 1)
	}
	if still.solve(1, false).ok {
		t.Error("a single phase gave an amplitude")
	}
	// Nor do those that hardly move, though the equations can be solved.
	var slow moments
	for i := range 60 {
		sin, cos := math.Sincos(0.3 + 0.1*math.Sin(5*float64(i)))
		slow.add(2*float64(i)/59-1, cos, sin, cos)
	}
	if x := slow.solve(1, false); x.ok || !(x.dilution > mostDilution) {
		t.Errorf("phases of ±0.1 rad gave an amplitude, dilution %g", x.dilution)
	}
}

// The greatest of a moving window is that of the window.
func TestSliding(t *testing.T) {
	rng := rand.New(rand.NewPCG(8, 8))
	v := make([]float64, 500)
	for i := range v {
		v[i] = math.Round(10 * rng.NormFloat64())
	}
	windows := 0
	for range 50 {
		var w sliding
		a, b := 0, 0
		for b < len(v) {
			a, b = min(len(v), a+rng.IntN(9)), min(len(v), b+rng.IntN(12))
			want := 0.0
			for i := a; i < b; i++ {
				want = max(want, math.Abs(v[i]-1))
			}
			windows++
			if got := w.greatest(v, 1, a, b); got != want {
				t.Fatalf("[%d, %d): %g, want %g", a, b, got, want)
			}
		}
	}
	if windows < 1000 {
		t.Errorf("%d windows", windows)
	}
}

// A long list of gaps is cut to the widest; the count stays.
func TestManyGaps(t *testing.T) {
	for _, spacing := range []Spacing{Linear, Logarithmic} {
		law := Law{From: 1e6, To: 100e6, Time: 1e9, Spacing: spacing}
		gaps, err := FalseGaps(law, 1)
		if err != nil || len(gaps) != MostGaps {
			t.Fatalf("%v: %d gaps, %v", spacing, len(gaps), err)
		}
		n, err := CountGaps(law, 1)
		if err != nil {
			t.Fatal(err)
		}
		// Every half hertz, and in the logarithmic sweep only where it is slower than 1/8 Hz/s.
		want := int(99e6/0.5) + 1
		if spacing == Logarithmic {
			want = int(math.Ceil(0.125/(math.Log(100)/1e9)/0.5)) - 2e6
		}
		last := gaps[len(gaps)-1]
		if n != want || last.Width < gaps[0].Width || gaps[0].Time > last.Time || last.Multiple != want+2e6-1 {
			t.Errorf("%v: %d gaps, want %d; the last %+v", spacing, n, want, last)
		}
	}
	if _, err := CountGaps(Law{}, 1); err == nil {
		t.Error("no law")
	}
	if n, err := CountGaps(Law{From: 0.5e6, To: 4.9e6, Time: 0.2}, 1e-7); n != 0 || err != nil {
		t.Errorf("%d gaps, %v", n, err)
	}
}
