package hookup

import (
	"math"
	"math/cmplx"
	"math/rand/v2"
	"strings"
	"testing"

	"knobwise/bench/box"
	"knobwise/bench/demo"
	"knobwise/bench/setup"
	"knobwise/physics/multiaffine"
)

// At every combination of switches and random places of the knobs the network function is that of the circuit wired and
// solved for that setting alone.
func TestEveryIsEachSetting(t *testing.T) {
	files := demo.Files()
	names, err := files.List(".box.yaml")
	if err != nil {
		t.Fatal(err)
	}
	setups, err := files.List(".setup.yaml")
	if err != nil {
		t.Fatal(err)
	}
	random := rand.New(rand.NewPCG(4, 1))
	checked, worst := 0, 0.0
	for _, name := range names {
		b, err := box.Load(files, name)
		if err != nil {
			t.Fatal(err)
		}
		for _, with := range setups {
			st, err := setup.LoadFile(files, with)
			if err != nil {
				t.Fatal(err)
			}
			e, err := ConnectEvery(b, b.Start(), st, st.Sweep.From, nil)
			if err != nil {
				t.Fatal(err)
			}
			for range 8 {
				f := st.Sweep.From * math.Pow(st.Sweep.To/st.Sweep.From, random.Float64())
				n := 0
				scale, err := e.At(f, func(combination int, h *multiaffine.Function) bool {
					n++
					x := make([]float64, len(e.Axes))
					for i := range x {
						x[i] = 2*random.Float64() - 1
					}
					got := h.Value(x)
					one, err := Connect(b, e.Setting(combination, x), st)
					if err != nil {
						t.Fatal(err)
					}
					r, err := one.Response(f)
					if err != nil {
						t.Fatal(err)
					}
					want := r.Load / complex(st.Source.EMF, 0)
					off := cmplx.Abs(got-want) / math.Max(cmplx.Abs(want), 1e-7)
					worst = math.Max(worst, off)
					checked++
					if !(off < 1e-9) {
						t.Errorf("%s, %s, %s at %g Hz: %v, solved %v", name, with, b.Describe(e.Setting(combination, x)), f, got, want)
					}
					return true
				})
				if err != nil || n != len(e.Combinations) {
					t.Fatal(n, err)
				}
				if want := math.Pow(cmplx.Abs(mustStraight(t, e, f)), 2); math.Abs(scale.Straight-want) > 1e-12*want {
					t.Errorf("straight through: %g, want %g", scale.Straight, want)
				}
			}
		}
	}
	t.Logf("%d settings, worst %.2g", checked, worst)
	if checked < 500 {
		t.Errorf("only %d settings were checked", checked)
	}
}

// mustStraight is the load voltage per volt of emf without a box, by the voltage divider.
func mustStraight(t *testing.T, e *Every, f float64) complex128 {
	t.Helper()
	r, err := e.straight.Response(f, 1)
	if err != nil {
		t.Fatal(err)
	}
	return r.Straight
}

// A gang whose parts travel alike is one axis; one whose parts do not, and a switch that sets values, are asked one by one.
// Readings and places on an axis are each other's inverse, whatever the law.
func TestAxes(t *testing.T) {
	const text = `
box: Gangs
terminals: {antenna: a, receiver: c}
parts:
  C1: {kind: variable capacitor, nodes: [a, ground], range: 10 pF .. 400 pF, law: LAW, Q: 500}
  C2: {kind: variable capacitor, nodes: [c, ground], range: RANGE, law: LAW, leads: 10 nH}
  C3: {kind: variable capacitor, nodes: [b, ground], range: 5 pF .. 25 pF, esr: 0.3 ohm}
  L1: {kind: inductor, nodes: [a, b], value: 20 uH, Q: 100}
  L2: {kind: variable inductor, nodes: [b, c], range: 10 uH .. 40 uH, Q: 80, self capacitance: 3 pF}
controls:
  Tune: {knob: [C1, C2], scale: 0 .. 10, reverse: true}
  Trim: {knob: C3}
  Coil: {knob: L2, scale: 30 .. 0}
  Range:
    switch:
      low: {values: {L1: 60 uH}}
      high: {joins: [[a, b]]}
`
	for _, c := range []struct {
		law, second string
		axes        int
	}{
		{"linear", "20 pF .. 800 pF", 3},
		{"linear", "50 pF .. 60 pF", 3},
		{"log", "20 pF .. 800 pF", 3},
		{"log", "20 pF .. 700 pF", 2},
		{"straight-line frequency", "20 pF .. 800 pF", 3},
		{"straight-line wavelength", "12 pF .. 400 pF", 2},
	} {
		b, err := box.Parse(demo.Files(), "gangs.box.yaml", []byte(strings.NewReplacer("LAW", c.law, "RANGE", c.second).Replace(text)))
		if err != nil {
			t.Fatal(err)
		}
		st, err := setup.LoadFile(demo.Files(), demo.DefaultSetup)
		if err != nil {
			t.Fatal(err)
		}
		e, err := ConnectEvery(b, b.Start(), st, 1e6, nil)
		if err != nil {
			t.Fatal(err)
		}
		if len(e.Axes) != c.axes || len(e.Axes)+len(e.OneByOne) != 4 || len(e.Combinations) != 1 {
			t.Errorf("%s, %s: %d axes, %d one by one, %d combinations", c.law, c.second, len(e.Axes), len(e.OneByOne), len(e.Combinations))
		}
		for _, a := range e.Axes {
			for _, x := range []float64{-1, -0.999, -0.3, 0, 0.77, 1} {
				if back := a.X(a.Reading(x)); math.Abs(back-x) > 1e-9 {
					t.Errorf("%s, %s: %g became %g", c.law, a.Control.Name, x, back)
				}
			}
		}
		x := []float64{0.3, -0.8, 0.1}[:len(e.Axes)]
		if _, err := e.At(1.3e6, func(i int, h *multiaffine.Function) bool {
			one, err := Connect(b, e.Setting(i, x), st)
			if err != nil {
				t.Fatal(err)
			}
			r, err := one.Response(1.3e6)
			if err != nil {
				t.Fatal(err)
			}
			if got, want := h.Value(x), r.Load/complex(st.Source.EMF, 0); cmplx.Abs(got-want) > 1e-10*cmplx.Abs(want) {
				t.Errorf("%s, %s: %v, solved %v", c.law, c.second, got, want)
			}
			return true
		}); err != nil {
			t.Fatal(err)
		}
	}
}
