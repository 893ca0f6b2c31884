package chirp

import (
	"context"
	"math"
	"math/cmplx"
	"testing"

	"pgregory.net/rapid"
)

// drawCase makes a sweep of a few thousand cycles, a network of two resonances, and a record.
func drawCase(t *rapid.T) (modes, Drive, Sampling) {
	draw := func(name string, lo, hi float64) float64 { return rapid.Float64Range(lo, hi).Draw(t, name) }
	m := beside(resonator(draw("f1", 30e3, 200e3), draw("b1", 2e3, 20e3)), resonator(draw("f2", 30e3, 200e3), draw("b2", 2e3, 20e3)))
	m.direct = complex(draw("direct", -0.2, 0.2), 0)
	d := Drive{
		Law:       Law{From: draw("from", 20e3, 90e3), To: draw("to", 100e3, 250e3), Time: draw("time", 2e-3, 40e-3)},
		Amplitude: draw("amplitude", 0.1, 10), Phase: draw("phase", -3, 3), After: After(rapid.IntRange(0, 2).Draw(t, "after")),
	}
	if rapid.Bool().Draw(t, "logarithmic") {
		d.Law.Spacing = Logarithmic
	}
	if rapid.Bool().Draw(t, "down") {
		d.Law.From, d.Law.To = d.Law.To, d.Law.From
	}
	s := Sampling{Start: -0.2 * d.Law.Time, Interval: 1.5 * d.Law.Time / 300, Count: 300}
	return m, d, s
}

func analyticOf(r *Response, d Drive, s Sampling) []complex128 {
	held := d
	if d.After == Silence {
		held.After = Hold
	}
	held.Amplitude = 1
	out := make([]complex128, len(r.Envelope))
	for i, e := range r.Envelope {
		out[i] = e * held.Analytic(s.Time(i))
	}
	return out
}

func respondRapid(t *rapid.T, h Transfer, d Drive, s Sampling) *Response {
	r, err := Respond(context.Background(), h, d, s, Options{Envelope: true})
	if err != nil {
		t.Fatal(err)
	}
	return r
}

// Linear in the drive, a phase of the drive turns the output, the parts of a network add up, and the record may be
// taken at any times: those of a part of it are the same. All within the estimates of the errors.
func TestResponseProperties(t *testing.T) {
	cases, tightest := 0, 0.0
	rapid.Check(t, func(t *rapid.T) {
		m, d, s := drawCase(t)
		whole := respondRapid(t, m.at, d, s)
		z := analyticOf(whole, d, s)
		compare := func(what string, r *Response, of Sampling, drive Drive, factor complex128, from int) {
			allowed := 2 * (whole.Error + r.Error)
			for i, v := range analyticOf(r, drive, of) {
				here := allowed
				// Beside a jump the two cut its band off at different places.
				if math.Abs(of.Time(i)-d.Law.Time) < max(r.JumpTime, whole.JumpTime) {
					here += 2 * (whole.JumpError + r.JumpError)
				}
				off := cmplx.Abs(v - factor*z[from+i])
				tightest = max(tightest, off/here)
				if !(off <= here) {
					t.Fatalf("%s: off by %.2g at %g s, allowed %.2g", what, off, of.Time(i), here)
				}
				if math.Abs(real(v)-r.Voltage[i]) > here {
					t.Fatalf("the voltage is not the real part: %g, %v", r.Voltage[i], v)
				}
			}
		}
		turned := d
		turned.Amplitude *= 0.5
		turned.Phase += 1
		compare("half and turned", respondRapid(t, m.at, turned, s), s, turned, cmplx.Rect(0.5, 1), 0)

		part := Sampling{Start: s.Time(100), Interval: s.Interval, Count: 77}
		compare("part of the record", respondRapid(t, m.at, d, part), part, d, 1, 100)

		var sum []complex128
		direct := func(float64) (complex128, error) { return m.direct, nil }
		for i, h := range []Transfer{direct, modes{0, m.poles[:2], m.resid[:2]}.at, modes{0, m.poles[2:], m.resid[2:]}.at} {
			r := respondRapid(t, h, d, s)
			if i == 0 {
				sum = r.Envelope
				continue
			}
			for k := range sum {
				sum[k] += r.Envelope[k]
			}
		}
		compare("the sum of its parts", &Response{Envelope: sum, Voltage: whole.Voltage, Error: 3 * whole.Error, JumpError: 3 * whole.JumpError, JumpTime: whole.JumpTime}, s, d, 1, 0)

		// Before the sweep the network is at rest.
		h, _ := m.at(d.Law.From)
		for i, e := range whole.Envelope {
			if s.Time(i) <= 0 && cmplx.Abs(e-h*complex(d.Amplitude, 0)) > whole.Error {
				t.Fatalf("at %g s the envelope is %v, want %v", s.Time(i), e, h*complex(d.Amplitude, 0))
			}
		}
		cases++
	})
	t.Logf("%d cases, at most %.2g of what the estimates allow", cases, tightest)
	if cases < 25 {
		t.Errorf("only %d", cases)
	}
}

// With all of the network but a delay equal, the response is the same, that much later.
func TestTimeShift(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		m, d, s := drawCase(t)
		d.After = Hold
		delay := rapid.Float64Range(0, 1).Draw(t, "delay") * 1e-4
		late := func(f float64) (complex128, error) {
			h, err := m.at(f)
			return h * cmplx.Rect(1, -2*math.Pi*f*delay), err
		}
		shifted := s
		shifted.Start += delay
		now, then := respondRapid(t, m.at, d, s), respondRapid(t, late, d, shifted)
		for i := range now.Voltage {
			if off := math.Abs(now.Voltage[i] - then.Voltage[i]); !(off <= now.Error+then.Error) {
				t.Fatalf("%g s later: off by %.2g at %g s", delay, off, s.Time(i))
			}
		}
	})
}
