package chirp

import (
	"context"
	"math"
	"math/cmplx"
	"testing"

	"gonum.org/v1/gonum/dsp/fourier"

	"knobwise/physics/line"
)

// mustRespond computes a response with its envelope.
func mustRespond(t testing.TB, h Transfer, d Drive, s Sampling) *Response {
	t.Helper()
	r, err := Respond(context.Background(), h, d, s, Options{Envelope: true})
	if err != nil {
		t.Fatal(err)
	}
	return r
}

// Against an integration of the modes' differential equations (see modes.exact): every law, direction and end, slow and
// fast, sampled below the carrier. The error must lie within the estimate, and it must be small.
func TestAgainstDifferentialEquation(t *testing.T) {
	cases, worst, tightest := 0, 0.0, 0.0
	for _, spacing := range []Spacing{Linear, Logarithmic} {
		for _, down := range []bool{false, true} {
			for _, after := range []After{Hold, Return, Silence} {
				for _, rho := range []float64{0.3, 3, 30} {
					law := Law{From: 40e3, To: 160e3, Spacing: spacing}
					const b = 2e3
					law.Time = (law.To - law.From) / (rho * b * b)
					if down {
						law.From, law.To = law.To, law.From
					}
					d := Drive{Law: law, Amplitude: 3, Phase: 0.7, After: after}
					m := beside(resonator(90e3, b), resonator(121e3, 4e3))
					m.direct = 0.05
					s := Sampling{Start: -0.1 * law.Time, Interval: 1.3 * law.Time / 399, Count: 400}
					r := mustRespond(t, m.at, d, s)
					held := d
					if after == Silence {
						held.After = Hold
					}
					for i, want := range m.exact(d, times(s)) {
						got := r.Envelope[i] * held.Analytic(s.Time(i)) / complex(d.Amplitude, 0)
						off := max(cmplx.Abs(got-want), math.Abs(r.Voltage[i]-real(want)))
						allowed := r.Error
						if math.Abs(s.Time(i)-law.Time) <= r.JumpTime {
							allowed += r.JumpError
						} else {
							worst = max(worst, off)
						}
						tightest = max(tightest, off/allowed)
						if !(off <= allowed) {
							t.Errorf("%v, after %d, rho %g: at %g s off by %.2g, estimate %.2g", law, after, rho, s.Time(i), off, allowed)
						}
					}
					cases++
				}
			}
		}
	}
	t.Logf("%d sweeps of 400 samples: off by at most %.2g of 3 V away from jumps, %.2g of the estimate", cases, worst, tightest)
	if worst > 3e-8 || cases != 36 {
		t.Errorf("off by %.2g in %d cases", worst, cases)
	}
}

// Against Runge and Kutta's fourth-order rule on y” + by' + w0²y = bx', in the form q' = y, y' = b(x - y) - w0²q.
func TestAgainstRungeKutta(t *testing.T) {
	const f0, b = 90e3, 2e3
	law := Law{From: 60e3, To: 120e3, Time: 6e-3}
	d := Drive{Law: law, Amplitude: 1}
	s := Sampling{Interval: 1e-5, Count: 600}
	m := resonator(f0, b)
	r := mustRespond(t, m.at, d, s)
	wide, w0 := 2*math.Pi*b, 2*math.Pi*f0
	slope := func(at, q, y float64) (dq, dy float64) {
		return y, wide*(real(d.Analytic(at))-y) - w0*w0*q
	}
	h0, _ := m.at(law.From)
	steady := h0 * d.Analytic(0)
	y, q := real(steady), real(steady/complex(0, 2*math.Pi*law.From))
	const steps = 300 // per sample
	h := s.Interval / steps
	worst := 0.0
	for i := range s.Count {
		worst = max(worst, math.Abs(y-r.Voltage[i]))
		for k := range steps {
			at := s.Time(i) + float64(k)*h
			q1, y1 := slope(at, q, y)
			q2, y2 := slope(at+h/2, q+h/2*q1, y+h/2*y1)
			q3, y3 := slope(at+h/2, q+h/2*q2, y+h/2*y2)
			q4, y4 := slope(at+h, q+h*q3, y+h*y3)
			q, y = q+h/6*(q1+2*q2+2*q3+q4), y+h/6*(y1+2*y2+2*y3+y4)
		}
	}
	t.Logf("%d samples, off by at most %.2g of 1 V", s.Count, worst)
	// The rule's own error: (w·h)⁴/120 of the phase per radian, over the resonance's memory of Q radians: 1e-8.
	if !(worst < 1e-7) {
		t.Errorf("off by %.2g", worst)
	}
}

// Against one FFT of the whole drive at the full rate. The drive is faded in; its wait lasts until that has died away.
func TestAgainstDirectConvolution(t *testing.T) {
	const rate, n, lead = 4e6, 1 << 16, 1 << 14
	for _, spacing := range []Spacing{Linear, Logarithmic} {
		law := Law{From: 30e3, To: 250e3, Time: 9e-3, Spacing: spacing}
		d := Drive{Law: law, Amplitude: 2, Phase: 1}
		m := beside(resonator(90e3, 3e3), resonator(140e3, 9e3))
		x := make([]float64, n)
		for i := range x {
			at := float64(i-lead) / rate
			fade := smoothStep(float64(i)/2000-0.5) * (1 - smoothStep(float64(i-n+2000)/2000-0.5))
			x[i] = fade * real(d.Analytic(at))
		}
		fft := fourier.NewFFT(n)
		c := fft.Coefficients(nil, x)
		for k := range c {
			h, err := m.at(float64(k) * rate / n)
			if err != nil {
				t.Fatal(err)
			}
			c[k] *= h
		}
		direct := fft.Sequence(nil, c)
		const count = 9e-3 * rate
		s := Sampling{Start: -1e-3, Interval: 1 / rate, Count: count}
		r := mustRespond(t, m.at, d, s)
		worst := 0.0
		for i, v := range r.Voltage {
			worst = max(worst, math.Abs(v-direct[i+lead-1e-3*rate]/n))
		}
		t.Logf("%v: %d samples, off by at most %.2g of 2 V, estimate %.2g", law, len(r.Voltage), worst, r.Error)
		if !(worst < 1e-6) || len(r.Voltage) != count {
			t.Errorf("%v: off by %.2g", law, worst)
		}
	}
}

// The rows of resonator_sweep.csv through the response in time, in both directions. The table holds for B far below the
// resonance frequency, so the network is the one pole that is left of a resonator then.
func TestResonatorSweepInTime(t *testing.T) {
	const f0, b = 10e6, 1e3
	pole := func(f float64) (complex128, error) { return 1 / complex(1, 2*(f-f0)/b), nil }
	checked, worst := 0, 0.0
	for _, row := range sweepRows(t) {
		if row.rho < 0.01 || row.rho > 10 {
			continue
		}
		for _, direction := range []float64{1, -1} {
			rate := row.rho * b * b
			reach := 400 * b * max(1, math.Sqrt(row.rho))
			law := Law{From: f0 - direction*reach, To: f0 + direction*reach, Time: 2 * reach / rate}
			const half = 4000
			span := 1.2 * (row.width + row.shift) * b / rate
			s := Sampling{Start: law.Time/2 - span, Interval: span / half, Count: 2*half + 1}
			r, err := Respond(context.Background(), pole, Drive{Law: law, Amplitude: 1}, s, Options{EnvelopeOnly: true})
			if err != nil {
				t.Fatal(err)
			}
			peak, at, width := peakOf(r.Envelope, s.Interval)
			shift := rate * (s.Start + at - law.Time/2) / b
			for _, pair := range [][2]float64{{peak, row.peak}, {shift, row.shift}, {width * rate / b, row.width}} {
				off := math.Abs(pair[0]/pair[1] - 1)
				worst = max(worst, off)
				// The table is printed to 1e-6, which is 1e-4 of its smallest shift.
				if !(off < 2e-4) {
					t.Errorf("rho %g, direction %g: got %.6f, table %.6f", row.rho, direction, pair[0], pair[1])
				}
				checked++
			}
		}
	}
	t.Logf("%d numbers of the table met through the time response, the worst %.2g off relative", checked, worst)
	if checked != 15*2*3 {
		t.Errorf("%d numbers checked", checked)
	}
}

// peakOf is the height, place and width at 1/√2 of the highest point of an envelope, by parabola and chords.
func peakOf(e []complex128, interval float64) (peak, at, width float64) {
	best := 0
	for i := range e {
		if cmplx.Abs(e[i]) > cmplx.Abs(e[best]) {
			best = i
		}
	}
	// The slope over enough points that it stands out of rounding, of fourth order; zero between two points.
	const k = 60
	slope := func(i int) float64 {
		at := func(j int) float64 { return cmplx.Abs(e[i+j*k]) }
		return 8*(at(1)-at(-1)) - at(2) + at(-2)
	}
	i := best
	for slope(i) < 0 {
		i--
	}
	for slope(i+1) > 0 {
		i++
	}
	top := float64(i) + slope(i)/(slope(i)-slope(i+1))
	peak = cmplx.Abs(e[best])
	cross := func(way int) float64 {
		i := best
		for cmplx.Abs(e[i+way]) > peak*math.Sqrt(0.5) {
			i += way
		}
		a, b := cmplx.Abs(e[i]), cmplx.Abs(e[i+way])
		return float64(i) + float64(way)*(a-peak*math.Sqrt(0.5))/(a-b)
	}
	return peak, top * interval, (cross(1) - cross(-1)) * interval
}

// The slower the sweep, the closer to |H|: the difference falls with the square of the rate at the peak, and in
// proportion to it elsewhere.
func TestSlowSweepIsQuasiStatic(t *testing.T) {
	const f0, b = 100e3, 2e3
	m := resonator(f0, b)
	var worst []float64
	for _, rho := range []float64{1e-2, 1e-3, 1e-4} {
		law := Law{From: 50e3, To: 150e3, Time: 100e3 / (rho * b * b)}
		s := Sampling{Start: 0.2 * law.Time, Interval: law.Time / 1000, Count: 600}
		r := mustRespond(t, m.at, Drive{Law: law, Amplitude: 1}, s)
		off := 0.0
		for i, e := range r.Envelope {
			h, _ := m.at(law.Frequency(s.Time(i)))
			off = max(off, cmplx.Abs(e-h))
		}
		worst = append(worst, off)
	}
	t.Logf("off |H| by at most %.2g at rho 0.01, 0.001, 0.0001", worst)
	for i := range 2 {
		if ratio := worst[i] / worst[i+1]; ratio < 8 || ratio > 12 {
			t.Errorf("ten times slower leaves 1/%.3g", ratio)
		}
	}
}

// A line without reflection delays the drive and changes nothing else; its loss lowers a slow sweep as it should.
func TestLineDelays(t *testing.T) {
	for _, length := range []float64{5, 300, 4e3} {
		l := line.Line{Impedance: 50, Velocity: 0.66, Length: length}
		through := func(f float64) (complex128, error) { return cmplx.Exp(-l.Gamma(f) * complex(l.Length, 0)), nil }
		delay := length / (0.66 * 299792458)
		for _, after := range []After{Hold, Return} {
			d := Drive{Law: Law{From: 4e6, To: 0.5e6, Time: 0.01}, Amplitude: 1, After: after}
			s := Sampling{Start: -1e-3, Interval: 1.01e-6, Count: 12000}
			r := mustRespond(t, through, d, s)
			worst := 0.0
			for i, v := range r.Voltage {
				at := s.Time(i) - delay
				if after == Return && math.Abs(at-d.Law.Time) < 1e-6 {
					continue // the jump itself has no limited band
				}
				worst = max(worst, math.Abs(v-real(d.Analytic(at))))
			}
			t.Logf("%g m, %.3g s: off by at most %.2g (estimate %.2g), %d evaluations", length, delay, worst, r.Error, r.Evaluations)
			allowed := r.Error
			if after == Return {
				allowed += r.JumpError
			}
			if !(worst <= allowed) {
				t.Errorf("%g m, after %d: off by %.2g, estimate %.2g", length, after, worst, allowed)
			}
		}
	}
}
