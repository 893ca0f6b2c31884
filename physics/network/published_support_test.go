package network_test

import (
	"math"
	"math/cmplx"
	"strings"
	"testing"

	"knobwise/internal/reference"
	"knobwise/physics/network"
)

// published is a ledger that also keeps the worst relative disagreement with a number printed finely enough to show one
// of 1e-5.
type published struct {
	*reference.Ledger
	t         *testing.T
	compared  int
	worst     float64
	worstNote string
}

func openPublished(t *testing.T, file string) *published {
	t.Helper()
	p := &published{Ledger: reference.Open(t, file), t: t}
	t.Cleanup(func() {
		t.Logf("%s: %d numbers compared whose print shows 1e-5, the worst %.2g off relative (%s)", file, p.compared, p.worst, p.worstNote)
	})
	return p
}

// near checks against a printed number, relative or half a unit of its last decimal, whichever is larger.
func (p *published) near(row reference.Row, what string, got float64, column string, relative float64) {
	p.t.Helper()
	want := row.Float(column)
	p.note(row, what, got, want, halfLastDecimal(row.Text(column)))
	p.Within(row, what, got, want, max(relative*math.Abs(want), halfLastDecimal(row.Text(column))))
}

func (p *published) note(row reference.Row, what string, got, want, resolution float64) {
	if want == 0 || resolution > 1e-5*math.Abs(want) {
		return
	}
	p.compared++
	if off := math.Abs(got/want - 1); off > p.worst {
		p.worst, p.worstNote = off, strings.TrimSpace(row.Text("id")+" "+what)
	}
}

// halfLastDecimal is half a unit of the last decimal of a number printed without exponent, and a hair for the
// rounding of a tie.
func halfLastDecimal(printed string) float64 {
	_, decimals, found := strings.Cut(printed, ".")
	if !found {
		return 0
	}
	return 0.5000001 * math.Pow10(-len(decimals))
}

// respond solves an insertion with 1 V in the source.
func (p *published) respond(in *network.Insertion, f float64) network.Response {
	p.t.Helper()
	r, err := in.Response(f, 1)
	if err != nil {
		p.t.Fatal(err)
	}
	return r
}

// impedance is that of one element.
func (p *published) impedance(e network.Element, f float64) complex128 {
	p.t.Helper()
	z, err := network.Impedance(e, f)
	if err != nil {
		p.t.Fatal(err)
	}
	return z
}

// part makes an element between two nodes.
type part func(from, to string) network.Element

func resistance(ohm float64) part {
	return func(from, to string) network.Element { return network.NewResistor(from, to, ohm) }
}

func inductance(henry float64) part {
	return func(from, to string) network.Element {
		return network.NewInductor(from, to, henry, network.Loss{})
	}
}

func capacitance(farad float64) part {
	return func(from, to string) network.Element {
		return network.NewCapacitor(from, to, farad, network.Loss{})
	}
}

// nothing is an open contact.
func nothing(from, to string) network.Element { return network.NewContact(from, to, false) }

// reactance is a coil or a capacitor of so many ohm at f Hz.
func reactance(ohm, f float64) part {
	if ohm >= 0 {
		return inductance(ohm / (2 * math.Pi * f))
	}
	return capacitance(-1 / (2 * math.Pi * f * ohm))
}

// inSeries is a resistance and a reactance of so many ohm at f Hz as one element.
func inSeries(z complex128, f float64) part {
	return func(from, to string) network.Element {
		w := 2 * math.Pi * f
		if imag(z) >= 0 {
			return network.NewSeries(from, to, real(z), imag(z)/w, 0)
		}
		return network.NewSeries(from, to, real(z), 0, -1/(w*imag(z)))
	}
}

// beside is two parts in parallel as one element.
func beside(one, other part) part {
	return func(from, to string) network.Element { return network.NewParallel(one(from, to), other(from, to)) }
}

// arm is one arm of a ladder.
type arm struct {
	part  part
	shunt bool
}

func series(p part) arm { return arm{p, false} }

func shunt(p part) arm { return arm{p, true} }

// ladder inserts arms, from the source to the load, between the two.
func ladder(source, load part, arms ...arm) *network.Insertion {
	c := &network.Circuit{}
	names := "abcdefgh"
	at := 0
	node := func() string { return names[at : at+1] }
	for _, a := range arms {
		if a.shunt {
			c.Add(a.part(node(), network.Ground))
			continue
		}
		from := node()
		at++
		c.Add(a.part(from, node()))
	}
	input := names[:1]
	return network.Insert(c, input, node(), source(input, network.Ground), load(node(), network.Ground))
}

// reflection is |(Zin − Zs*)/(Zin + Zs)|.
func reflection(zin, zs complex128) float64 {
	return cmplx.Abs((zin - cmplx.Conj(zs)) / (zin + zs))
}

// crossing bisects for the zero of a function that changes its sign once between lo and hi; NaN where it does not.
func crossing(f func(float64) float64, lo, hi float64) float64 {
	low, high := f(lo), f(hi)
	if !(low*high <= 0) {
		return math.NaN()
	}
	for range 80 {
		middle := (lo + hi) / 2
		if v := f(middle); v*low > 0 {
			lo = middle
		} else {
			hi = middle
		}
	}
	return (lo + hi) / 2
}

// lowest is the place of the only minimum of a function between lo and hi, by golden section.
func lowest(f func(float64) float64, lo, hi float64) float64 {
	golden := (math.Sqrt(5) - 1) / 2
	x1, x2 := hi-golden*(hi-lo), lo+golden*(hi-lo)
	f1, f2 := f(x1), f(x2)
	for range 80 {
		if f1 < f2 {
			hi, x2, f2 = x2, x1, f1
			x1 = hi - golden*(hi-lo)
			f1 = f(x1)
		} else {
			lo, x1, f1 = x1, x2, f2
			x2 = lo + golden*(hi-lo)
			f2 = f(x2)
		}
	}
	return (lo + hi) / 2
}

// halfPower is the peak of a level (an amplitude) between lo and hi, and the frequencies on both sides of it where
// half the power is left.
func halfPower(level func(f float64) float64, lo, hi float64) (peak, below, above float64) {
	peak = lowest(func(f float64) float64 { return -level(f) }, lo, hi)
	edge := func(f float64) float64 { return level(f)/level(peak) - math.Sqrt(0.5) }
	return peak, crossing(edge, lo, peak), crossing(edge, peak, hi)
}

func decibel(power float64) float64 { return 10 * math.Log10(power) }
