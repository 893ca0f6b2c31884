package chirp

import (
	"context"
	"fmt"
	"math"
	"math/cmplx"
	"testing"
)

// Against an integration of the modes' differential equations (see modes.exact): every law, direction and end, slow and
// fast, sampled above and below the carrier.
func TestAgainstDifferentialEquation(t *testing.T) {
	cases := 0
	for _, spacing := range []Spacing{Linear, Logarithmic} {
		for _, down := range []bool{false, true} {
			for _, after := range []After{Hold, Return, Silence} {
				for _, rho := range []float64{0.5, 3, 30} {
					law := Law{From: 40e3, To: 160e3, Spacing: spacing}
					const b = 1.1e3
					law.Time = (law.To - law.From) / (rho * b * b)
					if down {
						law.From, law.To = law.To, law.From
					}
					d := Drive{Law: law, Amplitude: 3, Phase: 0.7, After: after}
					m := beside(resonator(90e3, b), resonator(121e3, 4e3))
					m.direct = 0.05
					s := Sampling{Start: -0.1 * law.Time, Interval: 1.3 * law.Time / 399, Count: 400}
					r, err := Respond(context.Background(), m.at, d, s, Options{Envelope: true})
					if err != nil {
						t.Fatal(err)
					}
					want := m.exact(d, times(s))
					name := fmt.Sprintf("%v %v after %d rho %g", spacing, down, after, rho)
					worst, late := 0.0, 0.0
					for i, w := range want {
						carrier := d.carrier(s.Time(i))
						if after == Silence && s.Time(i) > law.Time {
							d2 := d
							d2.After = Hold
							carrier = d2.Analytic(s.Time(i))
						}
						got := r.Envelope[i] * carrier / complex(d.Amplitude, 0)
						off := max(cmplx.Abs(got-w), math.Abs(r.Voltage[i]-real(w)))
						if tm := s.Time(i); tm > law.Time && tm < law.Time+r.JumpTime {
							late = max(late, off)
						} else {
							worst = max(worst, off)
						}
					}
					t.Logf("%s: off %.2g, estimate %.2g; jump %.2g of %.2g; %d evals, %d segs, ring %.3g", name, worst, r.Error, late, r.JumpError, r.Evaluations, r.Segments, r.LongestRing)
					cases++
				}
			}
		}
	}
	if cases != 36 {
		t.Error(cases)
	}
}
