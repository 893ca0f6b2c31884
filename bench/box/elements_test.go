package box_test

import (
	"errors"
	"math"
	"math/cmplx"
	"strings"
	"testing"

	"knobwise/bench/box"
	"knobwise/bench/fault"
	"knobwise/bench/hookup"
)

// impedance is what a part between node a and ground shows at f Hz; more is appended to the box file.
func impedance(t *testing.T, part, more string, f float64) complex128 {
	t.Helper()
	text := "box: T\nterminals: {antenna: a, receiver: b}\nparts:\n  P: {" + part + "}\n  RB: {kind: resistor, nodes: [b, ground], value: 50 ohm}\n" + more
	b, err := box.Parse(bench, "t.box.yaml", []byte(text))
	if err != nil {
		t.Fatalf("%v\n%s", err, text)
	}
	h, err := hookup.Connect(b, b.Start(), generic)
	if err != nil {
		t.Fatal(err)
	}
	r, err := h.Response(f)
	if err != nil {
		t.Fatal(err)
	}
	return r.InputImpedance
}

func parallel(x, y complex128) complex128 { return 1 / (1/x + 1/y) }

// TestElements: every field of every kind acts as FORMATS says, by the impedance of the part at 1.5 MHz computed by hand.
func TestElements(t *testing.T) {
	const f = 1.5e6
	w := 2 * math.Pi * f
	l := func(henry float64) complex128 { return complex(0, w*henry) }
	c := func(farad float64) complex128 { return complex(0, -1/(w*farad)) }
	skin := w * 22e-6 / 180 * math.Sqrt(2e6/f) // resistance at 2 MHz is 2π·2e6·L/Q; at f it is √(f/2e6) of that
	cases := []struct {
		part, more string
		want       complex128
	}{
		{"kind: resistor, nodes: [a, ground], value: 1 kohm, leads: 50 nH, stray: 30 pF", "", parallel(1000, c(30e-12)) + l(50e-9)},
		{"kind: capacitor, nodes: [a, ground], value: 330 pF, Q: 300, leads: 50 nH", "", c(330e-12) + complex(1/(w*330e-12*300), 0) + l(50e-9)},
		{"kind: capacitor, nodes: [a, ground], value: 330 pF, loss tangent: 0.01", "", c(330e-12) + complex(0.01/(w*330e-12), 0)},
		{"kind: capacitor, nodes: [a, ground], value: 330 pF, esr: 2 ohm", "", c(330e-12) + 2},
		{"kind: variable capacitor, nodes: [a, ground], range: 10 pF .. 90 pF, esr: 2 ohm", "", c(50e-12) + 2},
		{"kind: inductor, nodes: [a, ground], value: 22 uH, Q: 180", "", l(22e-6) + complex(w*22e-6/180, 0)},
		{"kind: inductor, nodes: [a, ground], value: 22 uH, Q: 180 at 2 MHz, self capacitance: 3 pF", "", parallel(l(22e-6)+complex(skin, 0), c(3e-12))},
		{"kind: inductor, nodes: [a, ground], value: 22 uH, resistance: 2.2 ohm", "", l(22e-6) + 2.2},
		{"kind: variable inductor, nodes: [a, ground], range: 10 uH .. 30 uH, resistance: 2.2 ohm, self capacitance: 3 pF", "", parallel(l(20e-6)+2.2, c(3e-12))},
		{"kind: tapped coil, nodes: [a, t, ground], turns: [10, 20], form: {diameter: 32 mm, length: 40 mm, wire: 0.5 mm}, value: 22 uH, Q: 180 at 2 MHz, self capacitance: 3 pF", "", parallel(l(22e-6)+complex(skin, 0), c(3e-12))},
		// tapped_variable_cap.csv T043: 30 turns, 50 mm, pitch 2 mm make 26.90185 uH.
		{"kind: tapped coil, nodes: [a, t, ground], turns: [27, 3], form: {diameter: 50 mm, length: 60 mm, wire: 1.5 mm}", "", l(26.90185e-6)},
		// T044: the rest without the 3 turns at the cold end is 23.48278 uH.
		{"kind: tapped coil, nodes: [a, t, x], turns: [27, 3], form: {diameter: 50 mm, length: 60 mm, wire: 1.5 mm}", "controls: {S: {switch: {on: {joins: [[t, ground]]}}}}\n", l(23.48278e-6)},
		// A shorted secondary leaves L·(1 − k²).
		{"kind: coupled coils, windings: [{nodes: [a, ground], value: 100 uH}, {nodes: [x, ground], value: 7 uH}], coupling: 0.4", "controls: {S: {switch: {on: {joins: [[x, ground]]}}}}\n", l(100e-6 * (1 - 0.16))},
		// In series, the dots alike: L1 + L2 + 2·k·√(L1·L2); each winding's own resistance.
		{"kind: coupled coils, windings: [{nodes: [a, m], value: 16 uH}, {nodes: [m, ground], value: 4 uH}], couplings: [[2, 1, 0.5]], Q: 100", "", l(28e-6) + complex(w*20e-6/100, 0)},
		// Perfectly coupled, 9 : 3 turns, 50 ohm behind: L across 9·50 ohm.
		{"kind: transformer, nodes: [[a, ground], [x, ground]], turns: [9, 3], value: 100 uH", "controls: {S: {switch: {on: {joins: [[x, b]]}}}}\n", parallel(l(100e-6), 9*25)}, // the 50 ohm of RB and of the load
		{"kind: crystal, nodes: [a, ground], resistance: 25 ohm, inductance: 80 mH, capacitance: 0.02 pF, holder: 5 pF", "", parallel(25+l(80e-3)+c(0.02e-12), c(5e-12))},
		// one.s1p between its points at 1 and 2 MHz: 0.45 + 0.15j
		{"kind: measured one-port, nodes: [a, ground], file: one.s1p", "", 50 * (1 + complex(0.45, 0.15)) / (1 - complex(0.45, 0.15))},
		// A shorted line: j·Z0·tan(2π·f·length/(velocity·c))
		{"kind: line, nodes: [a, x], impedance: 75 ohm, velocity: 0.66, length: 12 m", "controls: {S: {switch: {on: {joins: [[x, ground]]}}}}\n", complex(0, 75*math.Tan(w*12/(0.66*299792458)))},
	}
	seen := map[string]bool{}
	for _, x := range cases {
		got := impedance(t, x.part, x.more, f)
		if cmplx.Abs(got-x.want) > 1e-6*cmplx.Abs(x.want) {
			t.Errorf("%s: %v, want %v", x.part, got, x.want)
		}
		for _, k := range box.Kinds {
			if len(x.part) > len(k.Name)+7 && x.part[6:7+len(k.Name)] == k.Name+"," {
				seen[k.Name] = true
			}
		}
	}
	seen["measured two-port"] = true // TestTwoPorts
	for _, k := range box.Kinds {
		if !seen[k.Name] {
			t.Errorf("no case for %s", k.Name)
		}
	}
}

// TestTwoPorts: between its own references a measured two-port gives back its file; a line's loss grows with √f.
func TestTwoPorts(t *testing.T) {
	between := func(part string, f float64) [4]complex128 {
		b, err := box.Parse(bench, "t.box.yaml", []byte("box: T\nterminals: {antenna: a, receiver: b}\nparts: {P: {nodes: [a, b], "+part+"}}\n"))
		if err != nil {
			t.Fatal(err)
		}
		h, err := hookup.ConnectBetween(b, b.Start(), 50)
		if err != nil {
			t.Fatal(err)
		}
		s, err := h.Scattering(f)
		if err != nil {
			t.Fatal(err)
		}
		return s
	}
	s := between("kind: measured two-port, file: two.s2p", 1e6)
	for i, want := range []complex128{0.1, 0.9, 0.9, 0.1} {
		if cmplx.Abs(s[i]-want) > 1e-12 {
			t.Errorf("S[%d] = %v, want %v", i, s[i], want)
		}
	}
	for f, want := range map[float64]float64{10e6: -4.2, 2.5e6: -2.1, 40e6: -8.4} {
		s := between("kind: line, impedance: 50 ohm, velocity: 0.66, length: 100 m, loss: 4.2 dB/100m at 10 MHz", f)
		if got := 20 * math.Log10(cmplx.Abs(s[2])); math.Abs(got-want) > 1e-9 {
			t.Errorf("%g Hz: %g dB, want %g", f, got, want)
		}
	}
}

// TestExtremes: values that no part has give numbers or a fault, never NaN.
func TestExtremes(t *testing.T) {
	parts := []string{
		"kind: resistor, value: 1e18 ohm", "kind: resistor, value: 1e-9 ohm", "kind: capacitor, value: 1000 F",
		"kind: capacitor, value: 1e-21 F", "kind: capacitor, value: 1000 F, leads: 1e6 H", "kind: inductor, value: 1e6 H",
		"kind: inductor, value: 1e-15 H, Q: 1e-300", "kind: inductor, value: 1e6 H, self capacitance: 1000 F",
		"kind: line, impedance: 1e18 ohm, velocity: 0.5, length: 1e9 m",
		"kind: line, impedance: 50 ohm, velocity: 0.5, length: 1 km, loss: 1e300 dB/m at 1 kHz",
		"kind: crystal, resistance: 1e18 ohm, inductance: 1e6 H, capacitance: 1000 F, holder: 1000 F",
	}
	for _, beyond := range []string{"resistor, value: 2e18 ohm", "capacitor, value: 1e-22 F", "inductor, value: 1e300 H"} {
		_, err := box.Parse(bench, "t.box.yaml", []byte("box: T\nterminals: {antenna: a, receiver: b}\nparts: {P: {nodes: [a, b], kind: "+beyond+"}}\n"))
		if err == nil || !strings.Contains(err.Error(), "beyond any bench") {
			t.Errorf("%s: %v", beyond, err)
		}
	}
	solved := 0
	for _, part := range parts {
		b, err := box.Parse(bench, "t.box.yaml", []byte("box: T\nterminals: {antenna: a, receiver: b}\nparts: {P: {nodes: [a, b], "+part+"}}\n"))
		if err != nil {
			t.Error(err)
			continue
		}
		h, err := hookup.Connect(b, b.Start(), generic)
		if err != nil {
			t.Error(err)
			continue
		}
		r, err := h.Response(1e6)
		if f, ok := errors.AsType[*fault.Error](err); err != nil && (!ok || f.Kind != fault.Unsolvable) {
			t.Errorf("%s: %v", part, err)
		}
		if err == nil {
			solved++
		}
		if cmplx.IsNaN(r.Load) || cmplx.IsInf(r.Load) || cmplx.IsNaN(r.InputImpedance) || math.IsNaN(r.LoadPower) {
			t.Errorf("%s: %+v", part, r)
		}
	}
	if solved == 0 {
		t.Error("none was solved")
	}
}
