package chirp

import (
	"math"
	"math/cmplx"
)

// modes is a network by its poles (rad/s, in the left half-plane) and residues: H = direct + Σ r/(j2πf - p). A pair with
// conjugates is a real network.
type modes struct {
	direct complex128
	poles  []complex128
	resid  []complex128
}

func (m modes) at(f float64) (complex128, error) {
	h := m.direct
	for k, p := range m.poles {
		h += m.resid[k] / (complex(0, 2*math.Pi*f) - p)
	}
	return h, nil
}

// resonator is jfB/(f0² - f² + jfB): a voltage across the resistor of a series circuit, 1 at f0, exactly B wide at
// 3 dB. In s it is bs/(s² + bs + w0²) with b = 2πB, its poles are -b/2 ± j√(w0² - b²/4), the residue at p is
// bp/(p - conj p).
func resonator(f0, b float64) modes {
	wide, w0 := 2*math.Pi*b, 2*math.Pi*f0
	p := complex(-wide/2, math.Sqrt(w0*w0-wide*wide/4))
	r := complex(wide, 0) * p / (p - cmplx.Conj(p))
	return modes{poles: []complex128{p, cmplx.Conj(p)}, resid: []complex128{r, cmplx.Conj(r)}}
}

// beside puts two networks in parallel, with their outputs added.
func beside(one, other modes) modes {
	return modes{
		one.direct + other.direct, append(append([]complex128{}, one.poles...), other.poles...),
		append(append([]complex128{}, one.resid...), other.resid...),
	}
}

var gaussNodes = []float64{
	-0.9602898564975363, -0.7966664774136267, -0.525532409916329, -0.1834346424956498,
	0.1834346424956498, 0.525532409916329, 0.7966664774136267, 0.9602898564975363,
}

var gaussWeights = []float64{
	0.1012285362903763, 0.2223810344533745, 0.3137066458778873, 0.362683783378362,
	0.362683783378362, 0.3137066458778873, 0.2223810344533745, 0.1012285362903763,
}

// exact is the analytic response at ascending times: each mode obeys dA/dt = pA + rz, which is integrated with its
// exponential taken exactly and z by Gauss quadrature of 16th order over steps of a fraction of a cycle. It is
// independent of everything in Respond but the drive.
func (m modes) exact(d Drive, times []float64) []complex128 {
	out := make([]complex128, len(times))
	fastest := 2 * max(d.Law.From, d.Law.To)
	for _, p := range m.poles {
		fastest = max(fastest, cmplx.Abs(p)/math.Pi)
	}
	start := d.carrier(0)
	for i, t := range times {
		out[i] = m.direct * d.Analytic(t)
	}
	for k, p := range m.poles {
		a := m.resid[k] * start / (complex(0, 2*math.Pi*d.Law.From) - p)
		now := 0.0
		advance := func(to float64) {
			steps := max(1, int(math.Ceil((to-now)*fastest)))
			h := (to - now) / float64(steps)
			base := now // not summed up over the steps: its rounding would
			whole := cmplx.Exp(p * complex(h, 0))
			for step := range steps {
				now = base + float64(step)*h
				var sum complex128
				for q, x := range gaussNodes {
					u := h * (1 + x) / 2
					sum += complex(gaussWeights[q]*h/2, 0) * cmplx.Exp(p*complex(h-u, 0)) * d.Analytic(now+u)
				}
				a = a*whole + m.resid[k]*sum
			}
			now = to
		}
		for i, t := range times {
			if t <= 0 {
				out[i] += m.resid[k] * d.Analytic(t) / (complex(0, 2*math.Pi*d.Law.From) - p)
				continue
			}
			if now < d.Law.Time && t > d.Law.Time {
				advance(d.Law.Time)
			}
			if t > now {
				advance(t)
			}
			out[i] += a
		}
	}
	return out
}

// times lists those of a sampling.
func times(s Sampling) []float64 {
	all := make([]float64, s.Count)
	for i := range all {
		all[i] = s.Time(i)
	}
	return all
}
