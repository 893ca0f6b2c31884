package multiaffine

import (
	"math"
	"math/cmplx"
	"testing"

	"pgregory.net/rapid"

	"knobwise/physics/network"
)

// judge compares the fast path with the full solve: 1e-10 above -120 dB, 1e-6 from there to -190 dB. Where they differ by
// more the referee says who is wrong: near a resonance the full solve has its own rounding.
type judge struct{ above, deep *ran }

// Beside a zero, both are given what the rounding of the knob's own value does at a distance from it.
func (j judge) compare(t *rapid.T, s sample, fast complex128, closed []bool, x []float64, distance float64) {
	full, err := s.solve(closed, x)
	size := cmplx.Abs(full)
	into, allowed := j.above, 1e-10
	if size < 1e-6 {
		into, allowed = j.deep, 1e-6
	}
	allowed = max(allowed, 3e-15/distance)
	if err != nil || !(size >= math.Pow(10, -9.5)) || into == nil {
		return
	}
	off := relative(fast, full)
	if !(off <= allowed) {
		exact, ok := s.referee(closed, x)
		if !ok {
			return
		}
		off = relative(fast, exact)
	}
	into.saw(off)
	if !(off <= allowed) {
		t.Fatalf("%v %v: fast %v, full %v: off by %g", closed, x, fast, full, off)
	}
}

// The fast path and the full solve agree on random circuits, combinations and settings: to 1e-10 above -120 dB.
func TestAgreesWithTheFullSolve(t *testing.T) {
	compare := judge{counting(t, "above -120 dB", 1000), counting(t, "-190 to -120 dB", 10)}
	kinds := map[string]int{}
	gangs := 0
	rapid.Check(t, func(t *rapid.T) {
		s := draw(t, limits{contacts: 5, axes: 3, gang: 2})
		if rapid.Bool().Draw(t, "tuner") {
			s = drawTuner(t, 3, false)
		}
		combinations := s.combinations(t, 4)
		functions := s.functions(t, combinations)
		topology := s.model(t).topology()
		for i, closed := range combinations {
			for range 3 {
				x := position(t, len(s.axes))
				compare.compare(t, s, functions[i].Value(x), closed, x, 1)
			}
			for j, k := range topology.states(closed, nil) {
				switch {
				case k == apart && closed[j]:
					kinds["parallel"]++
				case k == apart:
					kinds["open"]++
				case k == looped:
					kinds["looped"]++
				case k == merged:
					kinds["merged"]++
				}
			}
			for _, axis := range s.axes {
				if len(axis) > 1 {
					gangs++
				}
			}
		}
	})
	t.Logf("contacts: %v; %d gangs", kinds, gangs)
	if kinds["open"] < 100 || kinds["looped"] < 100 || kinds["merged"] < 50 || kinds["parallel"] < 20 || gangs < 100 {
		t.Error("some kind of contact or gang was hardly ever met")
	}
}

// lowest is the x in [-1, 1] with the smallest |H|²: the best of the row of 1/H.
func lowest(r Row) float64 {
	x, _ := (&Row{N0: r.D0, N1: r.D1, D0: r.N0, D1: r.N1}).Best()
	return x
}

// Beside the peak and the zero of a row, at distances from the width of the row down to nothing, the errors stay as small.
func TestAgreesBesidePeaksAndZeros(t *testing.T) {
	peaks := judge{above: counting(t, "beside peaks", 2000)}
	zeros := judge{counting(t, "beside zeros above -120 dB", 300), counting(t, "beside zeros, -190 to -120 dB", 300)}
	sharp := 0
	rapid.Check(t, func(t *rapid.T) {
		s := draw(t, limits{contacts: 3, axes: 2, gang: 1})
		lossless := false
		if rapid.IntRange(0, 3).Draw(t, "tuner") > 0 {
			lossless = rapid.Bool().Draw(t, "lossless")
			s = drawTuner(t, rapid.IntRange(1, 3).Draw(t, "tuner axes"), lossless)
			last := rapid.IntRange(0, len(s.axes)-1).Draw(t, "last")
			s.axes[last], s.axes[len(s.axes)-1] = s.axes[len(s.axes)-1], s.axes[last]
		}
		closed := s.combinations(t, 1)[0]
		f := s.functions(t, [][]bool{closed})[0]
		x := position(t, len(s.axes))
		last := len(x) - 1
		along := *f
		for len(along.degrees) > 1 {
			var g Function
			along.Fix(0, x[len(x)-len(along.degrees)], &g)
			along = g
		}
		row, ok := along.Row()
		if !ok {
			t.Fatal("no row")
		}
		zero := lowest(row)
		check := func(at float64, by judge) {
			if at >= -1 && at <= 1 {
				x[last] = at
				by.compare(t, s, row.Value(at), closed, x, max(math.Abs(at-zero), 1e-12))
			}
		}
		peak, power := row.Best()
		if power > 100*max(row.Power(-1), row.Power(1)) {
			sharp++
		}
		for _, d := range []float64{0, 1e-9, 1e-7, 1e-6, 1e-5, 1e-4, 1e-3, 1e-2, 0.1} {
			if !lossless {
				check(peak+d, peaks)
				check(peak-d, peaks)
			}
			check(zero+d, zeros)
			check(zero-d, zeros)
		}
	})
	t.Logf("%d rows with a peak of 20 dB", sharp)
	if sharp < 10 {
		t.Error("hardly a row had a peak")
	}
}

// A single tuned circuit as in any textbook: with Y = 1/R + jωC + 1/(jωL) across the load and a source of Rs, the load
// has 1/(1 + Rs·Y) of the emf. It peaks where ω²LC = 1, at R/(R + Rs).
func TestSingleTunedCircuit(t *testing.T) {
	const rs, r, l, f = 10e3, 50e3, 20e-6, 2e6
	w := 2 * math.Pi * f
	capacitor := func(x float64) network.Element {
		return network.NewCapacitor("a", network.Ground, 250e-12+200e-12*x, network.Loss{})
	}
	c := Circuit{Network: &network.Circuit{}, Input: "a", Output: "a", Source: network.NewResistor("a", network.Ground, rs), Load: network.NewResistor("a", network.Ground, r)}
	c.Network.Add(network.NewInductor("a", network.Ground, l, network.Loss{}))
	id := c.Network.Add(capacitor(0))
	c.Axes = []Axis{{"C", []Knob{{id, capacitor(-1), capacitor(0), capacitor(1)}}}}
	function := only(t, c, f, nil)
	worst := 0.0
	for i := range 101 {
		x := gridAt(i, 101)
		y := 1/complex(r, 0) + complex(0, w*(250e-12+200e-12*x)) + 1/complex(0, w*l)
		want := 1 / (1 + complex(rs, 0)*y)
		worst = max(worst, relative(function.Value([]float64{x}), want))
	}
	row, _ := function.Row()
	at, power := row.Best()
	wantX, wantPower := (1/(w*w*l)-250e-12)/200e-12, r/(r+rs)*r/(r+rs)
	t.Logf("worst %.3g; peak at %.15g, textbook %.15g; power %.15g, textbook %.15g", worst, at, wantX, power, wantPower)
	if worst > 1e-12 || math.Abs(at-wantX) > 1e-10 || math.Abs(power/wantPower-1) > 1e-12 {
		t.Error("not the textbook's tuned circuit")
	}
}

// only is the function of a circuit at one frequency and combination.
func only(t testing.TB, c Circuit, f float64, closed []bool) *Function {
	t.Helper()
	m, err := NewModel(c, f)
	if err != nil {
		t.Fatal(err)
	}
	p, err := m.Plan([][]bool{closed})
	if err != nil {
		t.Fatal(err)
	}
	var v View
	if err := m.View(f, &v); err != nil {
		t.Fatal(err)
	}
	var w Walker
	into := &Function{}
	w.Walk(&v, p, func(_ int, f *Function) bool { f.Copy(into); return true })
	return into
}
