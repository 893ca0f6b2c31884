package network

import (
	"fmt"
	"math"

	"pgregory.net/rapid"

	"knobwise/physics/line"
)

// sample is a random circuit between two nodes with everything that the kinds of elements can do.
type sample struct {
	circuit   *Circuit
	source    Element
	load      Element
	reactive  bool // no resistors, no loss anywhere but in source and load
	frequency float64
}

const (
	in  = "n1"
	out = "n2"
)

// logUniform draws a positive value spread evenly over decades.
func logUniform(t *rapid.T, low, high float64, label string) float64 {
	return low * math.Pow(high/low, rapid.Float64Range(0, 1).Draw(t, label))
}

// draw makes a random circuit of 2 to 6 nodes; every node is reached. lossless leaves all losses out.
func draw(t *rapid.T, lossless bool) sample {
	s := sample{circuit: &Circuit{}, reactive: lossless}
	nodes := []string{Ground, in, out}
	for i := range rapid.IntRange(0, 4).Draw(t, "inner nodes") {
		nodes = append(nodes, fmt.Sprintf("n%d", i+3))
	}
	other := func(not string) string {
		n := rapid.SampledFrom(nodes).Draw(t, "node")
		if n == not {
			n = nodes[(indexOf(nodes, n)+1)%len(nodes)]
		}
		return n
	}
	coilLoss := func() Loss {
		if lossless {
			return Loss{}
		}
		q := logUniform(t, 20, 1000, "Q")
		return rapid.SampledFrom([]Loss{{}, {Model: ConstantQ, Q: q}, {Model: SkinQ, Q: q, At: 2e6}, {Model: SeriesResistance, R: logUniform(t, 0.01, 30, "R")}}).Draw(t, "loss")
	}
	henry := func() float64 { return logUniform(t, 0.2e-6, 200e-6, "L") }
	farad := func() float64 { return logUniform(t, 5e-12, 2e-9, "C") }
	add := func(from string) {
		to := other(from)
		kinds := 9
		if lossless {
			kinds = 6
		}
		switch rapid.IntRange(0, kinds-1).Draw(t, "kind") {
		case 0:
			c := NewCapacitor(from, to, farad(), coilLoss())
			if rapid.Bool().Draw(t, "has leads") {
				c.Leads = logUniform(t, 1e-9, 30e-9, "leads")
			}
			s.circuit.Add(c)
		case 1:
			l := NewInductor(from, to, henry(), coilLoss())
			if rapid.Bool().Draw(t, "has self capacitance") {
				l.SelfCapacitance = logUniform(t, 0.5e-12, 5e-12, "self capacitance")
			}
			s.circuit.Add(l)
		case 2:
			c := rapid.SampledFrom([]float64{0.05, 0.3, -0.7, 0.98}).Draw(t, "coupling")
			coils, err := NewCoupledCoils([]Branch{{from, to}, {other(Ground), Ground}}, []float64{henry(), henry()}, []Coupling{{0, 1, c}}, coilLoss())
			if err != nil {
				t.Fatal(err)
			}
			s.circuit.Add(coils)
		case 3:
			tap := fmt.Sprintf("tap%d", len(s.circuit.elements))
			s.circuit.Add(NewTappedCoil([]string{from, tap, to}, []float64{3, 8}, []float64{1, 0.9, 0.9, 5}, henry(), coilLoss()))
		case 4:
			s.circuit.Add(NewContact(from, to, rapid.Bool().Draw(t, "closed")))
		case 5:
			l := line.Line{Impedance: logUniform(t, 20, 600, "impedance"), Velocity: 0.66, Length: logUniform(t, 0.1, 30, "length")}
			if !lossless {
				l.LossDBPerMetre, l.LossAtHz = logUniform(t, 1e-3, 0.1, "line loss"), 10e6
			}
			s.circuit.Add(NewLine(from, to, l))
		case 6:
			s.circuit.Add(NewCrystal(from, to, logUniform(t, 5, 100, "motional R"), 80e-3, 0.02e-12, 5e-12))
		default:
			r := NewResistor(from, to, logUniform(t, 0.5, 1e5, "R"))
			if rapid.Bool().Draw(t, "has strays") {
				r.Leads, r.Stray = 8e-9, 0.4e-12
			}
			s.circuit.Add(r)
		}
	}
	for _, n := range nodes[1:] {
		add(n)
	}
	for range rapid.IntRange(0, 5).Draw(t, "further elements") {
		add(rapid.SampledFrom(nodes).Draw(t, "from"))
	}
	s.source = NewSeries(in, Ground, logUniform(t, 5, 2000, "source R"), 2e-6, rapid.SampledFrom([]float64{0, 90e-12}).Draw(t, "source C"))
	load := NewResistor(out, Ground, logUniform(t, 20, 1e6, "load R"))
	load.Stray = 12e-12
	s.load = load
	s.frequency = logUniform(t, 0.1e6, 30e6, "frequency")
	return s
}

func indexOf(list []string, x string) int {
	for i, v := range list {
		if v == x {
			return i
		}
	}
	return -1
}

// insert solves the sample, and skips the draws that have no solution: contacts may short-circuit lossless loops, where
// the error is the right answer.
func (s sample) insert(t *rapid.T) (*Insertion, Response) {
	inserted := Insert(s.circuit, in, out, s.source, s.load)
	r, err := inserted.Response(s.frequency, 1)
	if err != nil {
		t.Skip(err)
	}
	return inserted, r
}
