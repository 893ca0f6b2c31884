package hookup_test

import (
	"errors"
	"fmt"
	"math"
	"math/cmplx"
	"strings"
	"testing"
	"testing/fstest"

	"knobwise/bench/box"
	"knobwise/bench/demo"
	"knobwise/bench/fault"
	"knobwise/bench/folder"
	"knobwise/bench/hookup"
	"knobwise/bench/setup"
	"knobwise/bench/touchstone"
	"knobwise/physics/network"
)

var bench = folder.Within(fstest.MapFS{
	"one.s1p":    {Data: []byte("# MHz S RI R 50\n1 0.5 0.1\n3 0.4 0.2\n")},
	"active.s1p": {Data: []byte("# MHz S RI R 50\n1 1.5 0\n3 0.4 0.2\n")},
})

func readBox(t *testing.T, body string) *box.Box {
	t.Helper()
	b, err := box.Parse(bench, "t.box.yaml", []byte("box: T\nterminals: {antenna: a, receiver: b}\n"+body))
	if err != nil {
		t.Fatal(err)
	}
	return b
}

func readSetup(t *testing.T, source, load string) *setup.Setup {
	t.Helper()
	s, err := setup.Parse(bench, "t.setup.yaml", []byte("setup: T\nsource: "+source+"\nload: "+load+"\nsweep: {from: 1 MHz, to: 3 MHz, points: 5}\n"))
	if err != nil {
		t.Fatal(err)
	}
	return s
}

const (
	generator = "{kind: generator, emf: 1 V, impedance: 50 ohm}"
	resistor  = "{kind: resistor, value: 50 ohm}"
)

// TestErrors: what the analysis cannot do comes back as a fault of the right kind that keeps its cause.
func TestErrors(t *testing.T) {
	measured := readBox(t, "parts: {Z: {kind: measured one-port, nodes: [a, b], file: one.s1p}}\n")
	h, err := hookup.Connect(measured, measured.Start(), readSetup(t, generator, resistor))
	if err != nil {
		t.Fatal(err)
	}
	_, err = h.Response(4e6)
	f, ok := errors.AsType[*fault.Error](err)
	if _, kept := errors.AsType[*touchstone.RangeError](err); !ok || !kept || f.Kind != fault.Request {
		t.Errorf("outside a measured file: %#v", err)
	}
	if !strings.Contains(err.Error(), "4 MHz") || !strings.Contains(err.Error(), "1 MHz to 3 MHz") {
		t.Errorf("not both ranges: %v", err)
	}

	// Two perfectly coupled lossless windings in parallel: a current may circle in them without any voltage.
	singular := readBox(t, "parts:\n  T: {kind: coupled coils, windings: [{nodes: [a, ground], value: 1 uH}, {nodes: [a, ground], value: 1 uH}], coupling: 1}\n  R: {kind: resistor, nodes: [a, b], value: 50 ohm}\n")
	h, err = hookup.Connect(singular, singular.Start(), readSetup(t, generator, resistor))
	if err != nil {
		t.Fatal(err)
	}
	_, err = h.Response(2e6)
	f, ok = errors.AsType[*fault.Error](err)
	if _, kept := errors.AsType[*network.SingularError](err); !ok || !kept || f.Kind != fault.Unsolvable {
		t.Fatalf("singular: %#v", err)
	}
	if want := "the circuit has no unique solution at 2.000000 MHz; give the parts of the lossless resonance or of the perfectly coupled windings there a Q"; err.Error() != want {
		t.Errorf("got  %v\nwant %s", err, want)
	}
	between, err := hookup.ConnectBetween(singular, singular.Start(), 50)
	if err != nil {
		t.Fatal(err)
	}
	if _, err := between.Scattering(2e6); fault.ExitCode(err) != 1 {
		t.Errorf("scattering of a singular circuit: %v", err)
	}

	wrong := singular.Start()
	wrong["x"] = box.Reading{}
	if _, err := hookup.Connect(measured, box.Setting{}, readSetup(t, generator, resistor)); err != nil {
		t.Errorf("a box without controls needs no setting: %v", err)
	}
	panel := readBox(t, "parts: {R: {kind: resistor, nodes: [a, b], value: 50 ohm}}\ncontrols: {S: {switch: {x: }}}\n")
	for _, err := range []error{second(hookup.Connect(panel, box.Setting{}, readSetup(t, generator, resistor))), second(hookup.ConnectBetween(panel, box.Setting{}, 50))} {
		if f, ok := errors.AsType[*fault.Error](err); !ok || f.Kind != fault.Setting {
			t.Errorf("no position: %v", err)
		}
	}
}

func second[T any](_ T, err error) error { return err }

// TestCovers: a sweep outside a measured file of the box, the source or the load is refused with both ranges.
func TestCovers(t *testing.T) {
	plain := "parts: {R: {kind: resistor, nodes: [a, b], value: 50 ohm}}\n"
	oneport := "parts: {Z: {kind: measured one-port, nodes: [a, b], file: one.s1p}}\n"
	cases := 0
	for _, c := range []struct{ box, source, load string }{
		{oneport, generator, resistor},
		{plain, "{kind: measured one-port, emf: 1 V, file: one.s1p}", resistor},
		{plain, generator, "{kind: measured one-port, file: one.s1p}"},
	} {
		b := readBox(t, c.box)
		h, err := hookup.Connect(b, b.Start(), readSetup(t, c.source, c.load))
		if err != nil {
			t.Fatal(err)
		}
		if err := h.Covers(1e6, 3e6); err != nil {
			t.Error(err)
		}
		for _, r := range [][2]float64{{0.5e6, 2e6}, {2e6, 3.5e6}} {
			cases++
			err := h.Covers(r[0], r[1])
			want := fmt.Sprintf("the sweep runs from %s, but one.s1p covers only 1 MHz to 3 MHz; sweep inside it, or measure further",
				map[bool]string{true: "500 kHz to 2 MHz", false: "2 MHz to 3.5 MHz"}[r[0] == 0.5e6])
			if f, ok := errors.AsType[*fault.Error](err); !ok || f.Kind != fault.Request || err.Error() != want {
				t.Errorf("%v\nwant %s", err, want)
			}
			if o, ok := errors.AsType[*hookup.Outside](err); !ok || o.First != 1e6 || o.Last != 3e6 {
				t.Errorf("the range that would do: %+v", o)
			}
		}
	}
	b := readBox(t, oneport)
	between, err := hookup.ConnectBetween(b, b.Start(), 50)
	if err != nil || between.Covers(1e6, 3e6) != nil || between.Covers(1e6, 4e6) == nil {
		t.Error("between: ", err)
	}
	b = readBox(t, plain)
	h, err := hookup.Connect(b, b.Start(), readSetup(t, generator, resistor))
	if err != nil || h.Covers(0, 1e12) != nil || cases != 6 {
		t.Error("nothing measured: ", err, cases)
	}
}

// TestNotices: guesses and files that give more than they get are told, with a setup and without.
func TestNotices(t *testing.T) {
	b := readBox(t, "parts:\n  Z: {kind: measured one-port, nodes: [a, ground], file: active.s1p}\n  L: {kind: inductor, nodes: [a, b], value: \"? 5 uH\"}\n")
	h, err := hookup.Connect(b, b.Start(), readSetup(t, "{kind: measured one-port, emf: 1 V, file: active.s1p}", resistor))
	if err != nil {
		t.Fatal(err)
	}
	between, err := hookup.ConnectBetween(b, b.Start(), 50)
	if err != nil {
		t.Fatal(err)
	}
	active := "active.s1p reflects or passes more than it gets (1.5 times the amplitude at 1.0000 MHz); a passive thing cannot: check its calibration"
	guess := "L: value is not known; 5.000 uH is taken"
	if got := strings.Join(h.Notices, "|"); got != guess+"|"+active+"|"+active {
		t.Error(got)
	}
	if got := strings.Join(between.Notices, "|"); got != guess+"|"+active {
		t.Error(got)
	}
}

// TestScattering against closed forms: a straight wire passes everything and reflects nothing; a series resistor R has
// S11 = R/(R + 2·Z0), a shunt resistor S11 = −Z0/(Z0 + 2·R), and 1 − |S11| or 1 + S11 in S21 (D. M. Pozar, Microwave
// Engineering, table of ABCD matrices, from memory).
func TestScattering(t *testing.T) {
	for _, c := range []struct {
		name, body string
		s11, s21   complex128
	}{
		{"straight wire", "parts: {R: {kind: resistor, nodes: [x, y], value: 1 ohm}}\ncontrols: {P: {switch: {straight: {joins: [[a, b]]}}}}\n", 0, 1},
		{"open", "parts: {R: {kind: resistor, nodes: [x, y], value: 1 ohm}}\ncontrols: {P: {switch: {straight: {joins: [[a, x], [b, z]]}}}}\n", 1, 0},
		{"short", "parts: {R: {kind: resistor, nodes: [a, b], value: 1 ohm}}\ncontrols: {P: {switch: {short: {joins: [[a, b, ground]]}}}}\n", -1, 0},
		{"series 100 ohm", "parts: {R: {kind: resistor, nodes: [a, b], value: 100 ohm}}\n", 0.5, 0.5},
		{"shunt 100 ohm", "parts: {R: {kind: resistor, nodes: [a, ground], value: 100 ohm}}\ncontrols: {P: {switch: {x: {joins: [[a, b]]}}}}\n", -0.2, 0.8},
		{"quarter wave of 100 ohm", "parts: {W: {kind: line, nodes: [a, b], impedance: 100 ohm, velocity: 1, length: 74.9481145 m}}\n", 0.6, -0.8i}, // 1 MHz
	} {
		b := readBox(t, c.body)
		between, err := hookup.ConnectBetween(b, b.Start(), 50)
		if err != nil {
			t.Fatal(err)
		}
		s, err := between.Scattering(1e6)
		if err != nil {
			t.Fatal(err)
		}
		for i, want := range []complex128{c.s11, c.s21, c.s21, c.s11} {
			if cmplx.Abs(s[i]-want) > 1e-9 {
				t.Errorf("%s: S[%d] = %v, want %v", c.name, i, s[i], want)
			}
		}
	}
}

// TestActivity: a part that hangs free carries nothing, one behind an open input counts by what comes from the receiver.
func TestActivity(t *testing.T) {
	b := readBox(t, "parts:\n  Free: {kind: resistor, nodes: [x, y], value: 50 ohm}\n  Dangling: {kind: resistor, nodes: [b, z], value: 50 ohm}\n  Behind: {kind: resistor, nodes: [b, ground], value: 50 ohm}\ncontrols: {P: {switch: {off: {joins: [[a, w]]}, on: {joins: [[a, b]]}}}}\n")
	for position, want := range map[string]map[string]bool{
		"off": {"Free": false, "Dangling": false, "Behind": true},
		"on":  {"Free": false, "Dangling": false, "Behind": true},
	} {
		h, err := hookup.Connect(b, box.Setting{"P": {Word: position}}, readSetup(t, generator, resistor))
		if err != nil {
			t.Fatal(err)
		}
		r, err := h.Response(1e6)
		if err != nil {
			t.Fatal(err)
		}
		if (r.Load != 0) != (position == "on") || h.Grounded("a") || !h.Grounded("ground") {
			t.Errorf("%s: load %v", position, r.Load)
		}
		for _, p := range h.Placed {
			a := h.Activity(p)
			if math.IsNaN(a) || (a > 1e-9) != want[p.Part.Name] {
				t.Errorf("%s: %s carries %g", position, p.Part.Name, a)
			}
		}
	}
}

// TestPowerAddsUp: what enters the demonstration boxes is what their parts turn into heat and what the load takes
// (Tellegen's theorem).
func TestPowerAddsUp(t *testing.T) {
	names, err := demo.Files().List(".box.yaml")
	if err != nil || len(names) == 0 {
		t.Fatal("no boxes: ", err)
	}
	with, err := setup.LoadFile(demo.Files(), "bench-50.setup.yaml")
	if err != nil {
		t.Fatal(err)
	}
	for _, name := range names {
		b, err := box.Load(demo.Files(), name)
		if err != nil {
			t.Fatal(err)
		}
		h, err := hookup.Connect(b, b.Start(), with)
		if err != nil {
			t.Fatal(err)
		}
		for _, f := range []float64{0.6e6, 1.5e6, 4.4e6} {
			r, err := h.Response(f)
			if err != nil {
				t.Fatal(err)
			}
			sum := r.LoadPower
			for _, p := range h.Placed {
				sum += h.Dissipation(p)
			}
			if math.Abs(sum-r.InputPower) > 1e-9*r.AvailablePower {
				t.Errorf("%s at %g Hz: %g W enter, %g W are found", name, f, r.InputPower, sum)
			}
		}
	}
}
