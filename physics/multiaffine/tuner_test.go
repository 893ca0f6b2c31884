package multiaffine

import (
	"math"

	"pgregory.net/rapid"

	"knobwise/physics/network"
)

// drawTuner makes what a random circuit rarely is: two lightly coupled tuned circuits of high Q that their knobs bring
// to resonance at the frequency, a link winding that hangs on contacts alone, and a trap that a third knob tunes.
//
//	in ──Cc── a   L1,C1 to ground   ~k~   L2,C2 at b to ground ──Cc── m ──L3‖C3── out
//	contacts: link p–in, link q–ground, link p–out, in–a, m–out; the link winding p–q is coupled to L1 and L2
func drawTuner(t *rapid.T, axes int, lossless bool) sample {
	s := sample{frequency: logUniform(t, 0.3e6, 20e6, "frequency")}
	w := 2 * math.Pi * s.frequency
	q := func() network.Loss {
		return network.Loss{Model: network.ConstantQ, Q: logUniform(t, 30, 1000, "Q")}
	}
	// A tank's reactance, its capacitance at resonance, and a variable capacitor that reaches it.
	tank := func(from, to string) (henry float64, variable part) {
		x := logUniform(t, 80, 1500, "reactance")
		c := 1 / (w * x)
		low, high := c*rapid.Float64Range(0.1, 0.95).Draw(t, "Cmin"), c*rapid.Float64Range(1.05, 4).Draw(t, "Cmax")
		loss := rapid.SampledFrom([]network.Loss{{}, {Model: network.ConstantQ, Q: 1000}, {Model: network.SeriesResistance, R: 0.05}}).Draw(t, "capacitor loss")
		return x / w, func(x float64) network.Element {
			return network.NewCapacitor(from, to, (low+high)/2+(high-low)/2*x, loss)
		}
	}
	l1, c1 := tank("a", network.Ground)
	l2, c2 := tank("b", network.Ground)
	l3, c3 := tank("m", out)
	k := func() float64 { return logUniform(t, 1e-3, 0.2, "k") }
	coils, err := network.NewCoupledCoils(
		[]network.Branch{{From: "a", To: network.Ground}, {From: "b", To: network.Ground}, {From: "p", To: "q"}},
		[]float64{l1, l2, l1 / 50},
		[]network.Coupling{{First: 0, Second: 1, Factor: k()}, {First: 0, Second: 2, Factor: k()}, {First: 1, Second: 2, Factor: k()}}, q())
	if err != nil {
		t.Fatal(err)
	}
	small := func() float64 { return logUniform(t, 1e-3, 0.1, "coupling") / (w * 300) }
	trap := q()
	if lossless && rapid.Bool().Draw(t, "lossless trap") {
		trap = network.Loss{}
		c3 = func(of part) part {
			return func(x float64) network.Element {
				c := of(x).(*network.Capacitor)
				c.Loss = network.Loss{}
				return c
			}
		}(c3)
	}
	s.fixed = []network.Element{
		coils,
		network.NewCapacitor(in, "a", small(), network.Loss{}),
		network.NewCapacitor("b", "m", small(), network.Loss{}),
		network.NewInductor("m", out, l3, trap),
	}
	s.contacts = []network.Branch{{From: "p", To: in}, {From: "q", To: network.Ground}, {From: "p", To: out}, {From: in, To: "a"}, {From: "m", To: out}}
	s.axes = [][]part{{c3}, {c1}, {c2}}
	for len(s.axes) > axes {
		s.fixed = append(s.fixed, s.axes[0][0](0.1))
		s.axes = s.axes[1:]
	}
	s.source = network.NewSeries(in, network.Ground, logUniform(t, 20, 1000, "source R"), 1e-6, 0)
	s.load = network.NewResistor(out, network.Ground, logUniform(t, 50, 1e6, "load R"))
	return s
}
