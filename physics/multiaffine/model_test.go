package multiaffine

import (
	"errors"
	"math"
	"slices"
	"strings"
	"sync"
	"testing"

	"pgregory.net/rapid"

	"knobwise/physics/network"
)

// simple is a tuned circuit with one knob that the caller shapes.
func simple(knob part) Circuit {
	c := Circuit{Network: &network.Circuit{}, Input: in, Output: out, Source: network.NewSeries(in, network.Ground, 50, 0, 0), Load: network.NewResistor(out, network.Ground, 50)}
	c.Network.Add(network.NewCapacitor(in, out, 20e-12, network.Loss{}))
	c.Axes = []Axis{{"front", []Knob{{c.Network.Add(knob(0)), knob(-1), knob(0), knob(1)}}}}
	return c
}

func TestRefusals(t *testing.T) {
	coil := func(x float64) network.Element {
		l := network.NewInductor(out, network.Ground, 10e-6+5e-6*x, network.Loss{Model: network.ConstantQ, Q: 100})
		l.SelfCapacitance = 5e-12
		return l
	}
	for name, c := range map[string]struct {
		circuit Circuit
		want    string // within the message; empty: accepted
	}{
		"an inductor with constant self-capacitance": {simple(coil), ""},
		"its self-capacitance grows with it": {simple(func(x float64) network.Element {
			l := coil(x).(*network.Inductor)
			l.SelfCapacitance = 5e-12 + 2e-12*x
			return l
		}), `axis "front", element 1: its equation is not the mean`},
		"a law in frequency": {simple(func(x float64) network.Element {
			return network.NewCapacitor(out, network.Ground, 1e-10/(2+x)/(2+x), network.Loss{})
		}), `axis "front", element 1: its equation is not the mean`},
		"a tapped coil": {simple(func(x float64) network.Element {
			return network.NewTappedCoil([]string{out, "tap", network.Ground}, []float64{3 + x, 5 - x}, []float64{1, 0.5, 0.5, 2}, 1e-5, network.Loss{})
		}), `axis "front", element 1: it has several branches`},
		"no element": {func() Circuit { c := simple(coil); c.Axes[0].Knobs[0].ID = 99; return c }(), "no element 99"},
		"twice":      {func() Circuit { c := simple(coil); c.Axes = append(c.Axes, c.Axes[0]); return c }(), "named twice"},
		"nothing":    {func() Circuit { c := simple(coil); c.Axes[0].Knobs = nil; return c }(), `axis "front" drives nothing`},
		"no contact": {func() Circuit { c := simple(coil); c.Contacts = []network.ID{0}; return c }(), "element 0 is no contact"},
		"too many": {func() Circuit {
			c := simple(coil)
			for range maxKnobs {
				k := c.Axes[0].Knobs[0]
				k.ID = c.Network.Add(coil(0))
				c.Axes[0].Knobs = append(c.Axes[0].Knobs, k)
			}
			return c
		}(), "more than 16"},
	} {
		_, err := NewModel(c.circuit, 3e6)
		switch {
		case c.want == "" && err != nil:
			t.Errorf("%s: %v", name, err)
		case c.want != "" && (err == nil || !strings.Contains(err.Error(), c.want)):
			t.Errorf("%s: got %v, want %q", name, err, c.want)
		case strings.HasPrefix(c.want, "axis") && !strings.Contains(c.want, "nothing"):
			if e, ok := errors.AsType[*NotAffineError](err); !ok || e.Axis != "front" {
				t.Errorf("%s: %#v is no NotAffineError of the axis", name, err)
			}
		}
	}
	m, err := NewModel(simple(coil), 3e6)
	if err != nil {
		t.Fatal(err)
	}
	if _, err := m.Plan([][]bool{{true}}); err == nil {
		t.Error("a combination of a contact that does not exist was planned")
	}
	var v View
	for _, f := range []float64{0, -1, math.NaN(), math.Inf(1)} {
		if err := m.View(f, &v); err == nil {
			t.Errorf("%g Hz was viewed", f)
		}
	}
}

// What contacts do, on a bench that can be checked by eye: a coil that hangs free between four contacts.
func TestStates(t *testing.T) {
	c := simple(func(x float64) network.Element {
		return network.NewCapacitor(out, network.Ground, 1e-10+5e-11*x, network.Loss{})
	})
	c.Network.Add(network.NewInductor("p", "q", 1e-6, network.Loss{}))
	for _, b := range [][2]string{{"p", in}, {"q", network.Ground}, {"p", out}, {in, out}, {"wiper", out}, {"wiper", network.Ground}} {
		c.Contacts = append(c.Contacts, c.Network.Add(network.NewContact(b[0], b[1], true)))
	}
	m, err := NewModel(c, 3e6)
	if err != nil {
		t.Fatal(err)
	}
	for closed, want := range map[string]string{
		"------": "------", // the coil and the wiper hang free
		"x-----": "m-----",
		"xx----": "ml----", // the coil lies from in to ground
		"-xx---": "-ml---",
		"x-x---": "m-l---", // in and out joined through p
		"x-xx--": "m-l---", // the fourth is in parallel with the first and third
		"---x--": "---l--",
		"----xx": "----ml", // out grounded through the wiper
		"xxxxxx": "mll-ml",
	} {
		var combination []bool
		for _, x := range closed {
			combination = append(combination, x == 'x')
		}
		got := ""
		for _, s := range m.topology().states(combination, nil) {
			got += string("-lm"[s])
		}
		if got != want {
			t.Errorf("%s: %s, want %s", closed, got, want)
		}
	}
}

// Many combinations in any order, repeated ones too, give each what it has alone, to the last bit.
func TestWalkIsEachAlone(t *testing.T) {
	r := counting(t, "combinations", 500)
	rapid.Check(t, func(t *rapid.T) {
		s := draw(t, limits{contacts: 6, axes: 2, gang: 2})
		combinations := s.combinations(t, rapid.IntRange(1, 12).Draw(t, "combinations"))
		x := position(t, len(s.axes))
		together := s.functions(t, combinations)
		for i, c := range combinations {
			alone := s.functions(t, [][]bool{c})[0]
			got, want := together[i].Value(x), alone.Value(x)
			r.saw(0)
			if math.Float64bits(real(got)) != math.Float64bits(real(want)) || math.Float64bits(imag(got)) != math.Float64bits(imag(want)) {
				t.Fatalf("%v: %v together, %v alone", c, got, want)
			}
		}
	})
}

// Frequencies dealt out to several models in any order give the same bits as one model asked in order.
func TestSameBitsFromManyThreads(t *testing.T) {
	c, combinations := bench(3)
	frequencies := make([]float64, 24)
	for i := range frequencies {
		frequencies[i] = 1e6 * math.Pow(8, float64(i)/23)
	}
	run := func(threads int) [][]Point {
		result := make([][]Point, len(frequencies))
		var wait sync.WaitGroup
		for thread := range threads {
			wait.Go(func() {
				m, err := NewModel(c, frequencies[0])
				if err != nil {
					t.Error(err)
					return
				}
				p, err := m.Plan(combinations)
				if err != nil {
					t.Error(err)
					return
				}
				var v View
				var w Walker
				var s Searcher
				for j := range frequencies {
					i := len(frequencies) - 1 - j // from above, and only some
					if i%threads != thread {
						continue
					}
					if err := m.View(frequencies[i], &v); err != nil {
						t.Error(err)
						return
					}
					result[i] = make([]Point, len(combinations))
					w.Walk(&v, p, func(k int, f *Function) bool {
						result[i][k] = s.Coarse(f, 8)
						return true
					})
				}
			})
		}
		wait.Wait()
		return result
	}
	one := run(1)
	for _, threads := range []int{2, 3, 5} {
		other := run(threads)
		for i := range one {
			for k := range one[i] {
				if one[i][k].Power != other[i][k].Power || !slices.Equal(one[i][k].X, other[i][k].X) {
					t.Fatalf("%d threads, %g Hz, combination %d: %v instead of %v", threads, frequencies[i], k, other[i][k], one[i][k])
				}
			}
		}
	}
	t.Logf("%d points each", len(one)*len(one[0]))
}

// The hot path asks for no memory.
func TestHotPathDoesNotAllocate(t *testing.T) {
	c, combinations := bench(2)
	m, err := NewModel(c, 3e6)
	if err != nil {
		t.Fatal(err)
	}
	p, err := m.Plan(combinations)
	if err != nil {
		t.Fatal(err)
	}
	var v View
	var w Walker
	var g Function
	x, powers := make([]float64, 64), make([]float64, 64)
	rows := 0
	allocations := testing.AllocsPerRun(10, func() {
		if err := m.View(3.1e6, &v); err != nil {
			t.Fatal(err)
		}
		w.Walk(&v, p, func(_ int, f *Function) bool {
			f.Fix(0, 0.3, &g)
			r, _ := g.Row()
			k := r.Rotate()
			k.Powers(x, powers)
			rows++
			return true
		})
	})
	if rows == 0 || allocations > 0 {
		t.Errorf("%d rows, %g allocations", rows, allocations)
	}
}
