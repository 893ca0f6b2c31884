package figure

import (
	"fmt"
	"math"
	"math/cmplx"
	"math/rand/v2"
)

// The sample of these tests: two LC tanks (12 µH, Q 90) with capacitive top coupling, between a 50 Ω source and a 50 Ω load with
// 20 pF across it. The insertion gain follows from the chain matrix of the ladder, as in any filter handbook:
// gain = V2/V1 against the same source and load joined directly.
func insertionGain(f, tune1, tune2 float64) float64 {
	type chain [4]complex128 // A B C D
	times := func(p, q chain) chain {
		return chain{p[0]*q[0] + p[1]*q[2], p[0]*q[1] + p[1]*q[3], p[2]*q[0] + p[3]*q[2], p[2]*q[1] + p[3]*q[3]}
	}
	w := 2 * math.Pi * f
	jw := complex(0, w)
	series := func(c float64) chain { return chain{1, 1 / (jw * complex(c, 0)), 0, 1} }
	tank := func(c float64) chain {
		const l, q = 12e-6, 90
		y := jw*complex(c, 0) + 1/complex(w*l/q, w*l)
		return chain{1, 0, y, 1}
	}
	m := series(150e-12)
	for _, next := range []chain{tank(tune1), series(60e-12), tank(tune2), series(150e-12)} {
		m = times(m, next)
	}
	const rs = 50
	zl := 1 / (1/complex(50, 0) + jw*20e-12)
	through := zl / (zl + rs)
	with := zl / (m[0]*zl + m[1] + rs*(m[2]*zl+m[3]))
	return 20 * math.Log10(cmplx.Abs(with/through))
}

func grid(from, to float64, n int) []float64 {
	x := make([]float64, n)
	for i := range x {
		x[i] = from + (to-from)*float64(i)/float64(n-1)
	}
	return x
}

func mapped(x []float64, f func(float64) float64) []float64 {
	y := make([]float64, len(x))
	for i, v := range x {
		y[i] = f(v)
	}
	return y
}

// sampleChart is a double resonance over 0.5 to 4 MHz with everything a chart can carry.
func sampleChart(theme Theme) Chart {
	x := grid(0.5e6, 4e6, 701)
	now := func(f float64) float64 { return insertionGain(f, 330e-12, 300e-12) }
	y := mapped(x, now)
	best := 0
	for i := range y {
		if y[i] > y[best] {
			best = i
		}
	}
	random := rand.New(rand.NewPCG(7, 11))
	mx := grid(0.8e6, 3.6e6, 29)
	my := mapped(mx, func(f float64) float64 { return now(f) + 0.8*random.NormFloat64() })
	return Chart{
		Title:    "Insertion gain at the receiver",
		Subtitle: "Two tanks of 12 µH, Front 4.0, Rear 2.1 · 50 Ω into 50 Ω ‖ 20 pF",
		X:        Axis{Label: "frequency", Unit: "Hz"},
		Y:        Axis{Label: "insertion gain", Unit: "dB"},
		Series: []Series{
			{Name: "now", X: x, Y: y, Style: Now},
			{Name: "pinned: Front 3.0, Rear 7.0", X: x, Y: mapped(x, func(f float64) float64 { return insertionGain(f, 190e-12, 180e-12) }), Style: Pinned},
			{Name: "straight through", X: []float64{x[0], x[len(x)-1]}, Y: []float64{0, 0}, Style: Straight},
			{Name: "measured m07", X: mx, Y: my, Style: Measured},
		},
		Marks: []Mark{
			{X: x[best], Label: fmt.Sprintf("peak %.3f MHz", x[best]/1e6)},
			{X: 3.2e6, Label: "image"},
		},
		Notes: []string{
			fmt.Sprintf("peak %.3f MHz, %.1f dB below straight through", x[best]/1e6, -y[best]),
			"measured points carry an uncertainty of about 1 dB below −40 dB: the generator's leakage is not subtracted",
		},
		Theme: theme,
	}
}
