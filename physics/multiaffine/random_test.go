package multiaffine

import (
	"errors"
	"fmt"
	"math"
	"math/cmplx"
	"os"
	"testing"

	"pgregory.net/rapid"

	"knobwise/internal/seeded"
	"knobwise/physics/line"
	"knobwise/physics/network"
)

func TestMain(m *testing.M) { os.Exit(seeded.Run(m, 1945, 300)) }

// ran counts how often a property was really checked, and fails a test that skipped nearly everything.
type ran struct {
	t     *testing.T
	name  string
	count int
	worst float64
}

func counting(t *testing.T, name string, least int) *ran {
	r := &ran{t: t, name: name}
	t.Cleanup(func() {
		t.Logf("%s: %d cases, worst %.3g", name, r.count, r.worst)
		if r.count < least {
			t.Errorf("%s: only %d cases were checked", name, r.count)
		}
	})
	return r
}

func (r *ran) saw(x float64) {
	r.count++
	r.worst = math.Max(r.worst, x)
}

const (
	in  = "n1"
	out = "n2"
)

// part is a knob's element at any x.
type part func(x float64) network.Element

// sample is a random circuit with contacts and knobs.
type sample struct {
	fixed     []network.Element
	contacts  []network.Branch
	axes      [][]part
	source    network.Element
	load      network.Element
	frequency float64
}

// logUniform draws a positive value spread evenly over decades.
func logUniform(t *rapid.T, low, high float64, label string) float64 {
	return low * math.Pow(high/low, rapid.Float64Range(0, 1).Draw(t, label))
}

// measured is a two-port that is passive and not reciprocal, the same at all frequencies.
type measured [4]complex128

func (m measured) Eval(_ float64, s []complex128) error {
	copy(s, m[:])
	return nil
}

// limits say how large a random circuit may be.
type limits struct{ contacts, axes, gang int }

// draw makes a random circuit of 2 to 6 nodes, with coils that hang on contacts alone, knobs of every kind that is affine,
// losses of every model and Q from 20 to 1000.
func draw(t *rapid.T, most limits) sample {
	var s sample
	nodes := []string{network.Ground, in, out}
	for i := range rapid.IntRange(0, 4).Draw(t, "inner nodes") {
		nodes = append(nodes, fmt.Sprintf("n%d", i+3))
	}
	node := func() int { return rapid.IntRange(0, len(nodes)-1).Draw(t, "node") }
	pair := func() (string, string) {
		i := node()
		j := node()
		if i == j {
			j = (i + 1) % len(nodes)
		}
		return nodes[i], nodes[j]
	}
	q := func() float64 { return logUniform(t, 20, 1000, "Q") }
	loss := func() network.Loss {
		return rapid.SampledFrom([]network.Loss{{}, {Model: network.ConstantQ, Q: q()}, {Model: network.SkinQ, Q: q(), At: 2e6}, {Model: network.SeriesResistance, R: logUniform(t, 0.01, 30, "R")}}).Draw(t, "loss")
	}
	henry := func() float64 { return logUniform(t, 1e-6, 200e-6, "L") }
	farad := func() float64 { return logUniform(t, 20e-12, 2e-9, "C") }
	add := func(from, to string) {
		switch rapid.IntRange(0, 8).Draw(t, "kind") {
		case 0, 1:
			c := network.NewCapacitor(from, to, farad(), loss())
			if rapid.Bool().Draw(t, "has leads") {
				c.Leads = logUniform(t, 1e-9, 30e-9, "leads")
			}
			s.fixed = append(s.fixed, c)
		case 2:
			l := network.NewInductor(from, to, henry(), loss())
			if rapid.Bool().Draw(t, "has self capacitance") {
				l.SelfCapacitance = logUniform(t, 0.5e-12, 5e-12, "self capacitance")
			}
			s.fixed = append(s.fixed, l)
		case 3, 4:
			// Half of the second windings hang free of everything else but contacts.
			one, other := pair()
			if rapid.Bool().Draw(t, "free winding") {
				one, other = fmt.Sprintf("w%d", len(s.fixed)), fmt.Sprintf("v%d", len(s.fixed))
				nodes = append(nodes, one, other)
			}
			k := rapid.SampledFrom([]float64{0.05, 0.3, -0.7, 0.98}).Draw(t, "coupling")
			coils, err := network.NewCoupledCoils([]network.Branch{{From: from, To: to}, {From: one, To: other}}, []float64{henry(), henry()}, []network.Coupling{{First: 0, Second: 1, Factor: k}}, loss())
			if err != nil {
				t.Fatal(err)
			}
			s.fixed = append(s.fixed, coils)
		case 5:
			tap := fmt.Sprintf("tap%d", len(s.fixed))
			nodes = append(nodes, tap)
			s.fixed = append(s.fixed, network.NewTappedCoil([]string{from, tap, to}, []float64{3, 8}, []float64{1, 0.9, 0.9, 5}, henry(), loss()))
		case 6:
			s.fixed = append(s.fixed, network.NewLine(from, to, line.Line{Impedance: logUniform(t, 20, 600, "impedance"), Velocity: 0.66, Length: logUniform(t, 0.1, 30, "length"), LossDBPerMetre: logUniform(t, 1e-3, 0.1, "line loss"), LossAtHz: 10e6}))
		case 7:
			s.fixed = append(s.fixed, network.NewMeasuredTwoPort(from, to, measured{0.3 + 0.1i, 0.2i, 0.7, -0.4}, [2]float64{50, 50}))
		default:
			r := network.NewResistor(from, to, logUniform(t, 0.5, 1e5, "R"))
			r.Leads, r.Stray = 8e-9, 0.4e-12
			s.fixed = append(s.fixed, r)
		}
	}
	for i := 1; i < len(nodes) && len(s.fixed) < 10; i++ {
		j := node()
		if i == j {
			j = 0
		}
		add(nodes[i], nodes[j])
	}
	for range rapid.IntRange(0, 4).Draw(t, "further elements") {
		add(pair())
	}
	for range rapid.IntRange(0, most.contacts).Draw(t, "contacts") {
		from, to := pair()
		s.contacts = append(s.contacts, network.Branch{From: from, To: to})
	}
	for range rapid.IntRange(min(1, most.axes), most.axes).Draw(t, "axes") {
		var gang []part
		for range rapid.IntRange(1, most.gang).Draw(t, "gang") {
			from, to := pair()
			gang = append(gang, drawPart(t, from, to, loss()))
		}
		s.axes = append(s.axes, gang)
	}
	s.source = network.NewSeries(in, network.Ground, logUniform(t, 5, 2000, "source R"), 2e-6, rapid.SampledFrom([]float64{0, 90e-12}).Draw(t, "source C"))
	load := network.NewResistor(out, network.Ground, logUniform(t, 20, 1e6, "load R"))
	load.Stray = 12e-12
	s.load = load
	s.frequency = logUniform(t, 0.5e6, 30e6, "frequency")
	return s
}

// drawPart makes a variable capacitor, inductor or resistor.
func drawPart(t *rapid.T, from, to string, loss network.Loss) part {
	between := func(low, high, x float64) float64 { return (low+high)/2 + (high-low)/2*x }
	ratio := logUniform(t, 2, 30, "ratio")
	strays := rapid.Bool().Draw(t, "has strays")
	switch rapid.IntRange(0, 3).Draw(t, "variable") {
	case 0, 1:
		low := logUniform(t, 10e-12, 200e-12, "Cmin")
		return func(x float64) network.Element {
			c := network.NewCapacitor(from, to, between(low, ratio*low, x), loss)
			if strays {
				c.Leads = 15e-9
			}
			return c
		}
	case 2:
		low := logUniform(t, 1e-6, 20e-6, "Lmin")
		return func(x float64) network.Element {
			l := network.NewInductor(from, to, between(low, ratio*low, x), loss)
			if strays {
				l.SelfCapacitance = 3e-12
			}
			return l
		}
	default:
		low := logUniform(t, 1, 1e4, "Rmin")
		return func(x float64) network.Element {
			r := network.NewResistor(from, to, between(low, ratio*low, x))
			if strays {
				r.Leads, r.Stray = 8e-9, 0.4e-12
			}
			return r
		}
	}
}

// circuit is the sample as the package under test takes it.
func (s sample) circuit() Circuit {
	c := Circuit{Network: &network.Circuit{}, Input: in, Output: out, Source: s.source, Load: s.load}
	for _, e := range s.fixed {
		c.Network.Add(e)
	}
	for _, b := range s.contacts {
		c.Contacts = append(c.Contacts, c.Network.Add(network.NewContact(b.From, b.To, false)))
	}
	for i, gang := range s.axes {
		axis := Axis{Name: fmt.Sprint("knob ", i)}
		for _, p := range gang {
			axis.Knobs = append(axis.Knobs, Knob{ID: c.Network.Add(p(0)), Low: p(-1), Middle: p(0), High: p(1)})
		}
		c.Axes = append(c.Axes, axis)
	}
	return c
}

// solve is the same by the full solve: closed contacts join nodes, open ones do not exist.
func (s sample) solve(closed []bool, x []float64) (complex128, error) {
	c := &network.Circuit{}
	for _, e := range s.fixed {
		c.Add(e)
	}
	for i, b := range s.contacts {
		if closed[i] {
			c.Join(b.From, b.To)
		}
	}
	for i, gang := range s.axes {
		for _, p := range gang {
			c.Add(p(x[i]))
		}
	}
	r, err := network.Insert(c, in, out, s.source, s.load).Response(s.frequency, 1)
	return r.Load, err
}

// model prepares the sample and skips draws that have no solution.
func (s sample) model(t *rapid.T) *Model {
	m, err := NewModel(s.circuit(), s.frequency)
	if _, singular := errors.AsType[*network.SingularError](err); singular {
		t.Skip(err)
	}
	if err != nil {
		t.Fatal(err)
	}
	return m
}

// combinations draws a few combinations of contacts.
func (s sample) combinations(t *rapid.T, count int) [][]bool {
	c := make([][]bool, count)
	for i := range c {
		c[i] = make([]bool, len(s.contacts))
		for j := range c[i] {
			c[i][j] = rapid.Bool().Draw(t, "closed")
		}
	}
	return c
}

// functions are the sample's functions at its frequency, one per combination.
func (s sample) functions(t *rapid.T, combinations [][]bool) []*Function {
	m := s.model(t)
	var v View
	if err := m.View(s.frequency, &v); err != nil {
		t.Fatal(err)
	}
	p, err := m.Plan(combinations)
	if err != nil {
		t.Fatal(err)
	}
	functions := make([]*Function, len(combinations))
	var w Walker
	w.Walk(&v, p, func(i int, f *Function) bool {
		functions[i] = &Function{}
		f.Copy(functions[i])
		return true
	})
	for i, f := range functions {
		if f == nil {
			t.Fatalf("combination %d was not visited", i)
		}
	}
	return functions
}

// position draws a point of the axes.
func position(t *rapid.T, axes int) []float64 {
	x := make([]float64, axes)
	for i := range x {
		x[i] = rapid.Float64Range(-1, 1).Draw(t, "x")
	}
	return x
}

func relative(got, want complex128) float64 { return cmplx.Abs(got-want) / cmplx.Abs(want) }
