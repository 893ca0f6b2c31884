package network_test

import (
	"fmt"
	"math"
	"math/cmplx"
	"strings"
	"testing"

	"knobwise/internal/reference"
	"knobwise/physics/network"
)

// ireDummy holds the values of the IRE standard dummy antenna in SI base units.
type ireDummy struct{ c1, l1, c2, r1, generator float64 }

// insertion is the dummy between its generator and an open receiver terminal: C1, then L1 with C2 and R1 in series
// across it; or, as the file says it makes no difference, the other way round.
func (d ireDummy) insertion(blockFirst bool) *network.Insertion {
	c := &network.Circuit{}
	block, one := [2]string{"middle", "receiver"}, [2]string{"generator", "middle"}
	if blockFirst {
		block, one = [2]string{"generator", "middle"}, [2]string{"middle", "receiver"}
	}
	c.Add(capacitance(d.c1)(one[0], one[1]))
	c.Add(inductance(d.l1)(block[0], block[1]))
	c.Add(capacitance(d.c2)(block[0], "inside"))
	c.Add(resistance(d.r1)("inside", block[1]))
	return network.Insert(c, "generator", "receiver", resistance(d.generator)("generator", network.Ground), nothing("receiver", network.Ground))
}

// carDummy holds the values of the car makers' dummy.
type carDummy struct{ r, c, shunt, generator float64 }

func (d carDummy) insertion() *network.Insertion {
	return ladder(resistance(d.generator), nothing, series(resistance(d.r)), series(capacitance(d.c)), shunt(capacitance(d.shunt)))
}

// tolerated is what the file allows: 1e-5, or half of the last of its four decimals. A bare 0 is a root, found to rounding.
func tolerated(row reference.Row, column string) float64 {
	if row.Text(column) == "0" {
		return 1e-9
	}
	return max(1e-5*math.Abs(row.Float(column)), halfLastDecimal(row.Text(column)))
}

var impedanceColumns = [4]string{"R_or_value", "X_or_unit", "abs_Z_ohm", "phase_deg"}

// inColumns gives an impedance as the file does.
func inColumns(z complex128) [4]float64 {
	return [4]float64{real(z), imag(z), cmplx.Abs(z), cmplx.Phase(z) * 180 / math.Pi}
}

// agrees says whether an impedance is that of a row in all four columns.
func agrees(row reference.Row, z complex128) bool {
	for i, got := range inColumns(z) {
		column := impedanceColumns[i]
		if !(math.Abs(got-row.Float(column)) <= tolerated(row, column)) {
			return false
		}
	}
	return true
}

func (p *published) fourColumns(row reference.Row, z complex128) {
	p.t.Helper()
	for i, got := range inColumns(z) {
		column := impedanceColumns[i]
		want := row.Float(column)
		p.note(row, row.Text("quantity_or_f_MHz")+" MHz "+column, got, want, halfLastDecimal(row.Text(column)))
		p.Within(row, column, got, want, tolerated(row, column))
	}
}

// seenByReceiver is the impedance at the receiver's terminals.
func (p *published) seenByReceiver(in *network.Insertion, f float64) complex128 {
	return p.respond(in, f).OutputImpedance
}

// Source: dummy_antennas.csv, which names the document of every row and how it is known.
func TestPublishedDummyAntennas(t *testing.T) {
	p := openPublished(t, "dummy_antennas.csv")

	// The element rows make the networks.
	element := map[string]reference.Row{}
	table := map[string][]reference.Row{}
	for _, row := range p.Rows {
		switch row.Text("kind") {
		case "element":
			element[row.Text("id")+" "+row.Text("quantity_or_f_MHz")] = row
		case "impedance", "thevenin_impedance":
			table[row.Text("id")] = append(table[row.Text("id")], row)
		}
	}
	value := func(name string) float64 {
		row, ok := element[name]
		if !ok {
			t.Fatalf("the file has no element %q", name)
		}
		scale, ok := prefixed[row.Text("X_or_unit")]
		if !ok {
			t.Fatalf("element %q: unit %q", name, row.Text("X_or_unit"))
		}
		return row.Float("R_or_value") * scale
	}
	const (
		c1, l1    = "IRE C1 series to receiver", "IRE L1 in series with C1"
		c2, r1    = "IRE C2 in series with R1, this pair across L1", "IRE R1"
		generator = "IRE generator resistance"
		carR      = "CAR_A R series"
		carC      = "CAR_A C series"
		carShunt  = "CAR_A C shunt at the receiver"
		rmaC      = "RMA_BC C series (up to 1.7 MHz, high-impedance input)"
		rmaR      = "RMA_SW R series (above 1.7 MHz)"
	)
	ire := ireDummy{value(c1), value(l1), value(c2), value(r1), value(generator)}
	car := carDummy{value(carR), value(carC), value(carShunt), 0} // the rows say: generator resistance 0
	agreement := func(id string, in *network.Insertion) (agreeing int) {
		for _, row := range table[id] {
			if agrees(row, p.seenByReceiver(in, row.Float("quantity_or_f_MHz")*1e6)) {
				agreeing++
			}
		}
		return agreeing
	}

	// An element row is checked by what hangs on it: the whole table agrees with it, and does not with a value a part
	// in a thousand off (in the generator, 0.01 ohm off).
	const off = 1.001
	changed := map[string]func() (id string, in *network.Insertion){
		c1:        func() (string, *network.Insertion) { d := ire; d.c1 *= off; return "IRE", d.insertion(false) },
		l1:        func() (string, *network.Insertion) { d := ire; d.l1 *= off; return "IRE", d.insertion(false) },
		c2:        func() (string, *network.Insertion) { d := ire; d.c2 *= off; return "IRE", d.insertion(false) },
		r1:        func() (string, *network.Insertion) { d := ire; d.r1 *= off; return "IRE", d.insertion(false) },
		generator: func() (string, *network.Insertion) { d := ire; d.generator += 0.01; return "IRE", d.insertion(false) },
		carR:      func() (string, *network.Insertion) { d := car; d.r *= off; return "CAR_A", d.insertion() },
		carC:      func() (string, *network.Insertion) { d := car; d.c *= off; return "CAR_A", d.insertion() },
		carShunt:  func() (string, *network.Insertion) { d := car; d.shunt *= off; return "CAR_A", d.insertion() },
	}
	whole := map[string]int{"IRE": 23, "CAR_A": 8}
	for id, in := range map[string]*network.Insertion{"IRE": ire.insertion(false), "CAR_A": car.insertion()} {
		if agreement(id, in) != whole[id] || len(table[id]) != whole[id] {
			t.Errorf("%s: %d of %d impedances agree, the file has %d", id, agreement(id, in), len(table[id]), whole[id])
		}
	}
	for name, change := range changed {
		id, in := change()
		p.True(element[name], fmt.Sprintf("the table of %s depends on %s", id, name), agreement(id, in) < whole[id])
	}

	zeros := 0
	for _, row := range p.Rows {
		switch row.Text("kind") + " " + row.Text("id") {
		case "impedance IRE":
			f := row.Float("quantity_or_f_MHz") * 1e6
			z := p.seenByReceiver(ire.insertion(false), f)
			p.fourColumns(row, z)
			other := p.seenByReceiver(ire.insertion(true), f)
			p.Within(row, "impedance with the order of C1 and the block turned", cmplx.Abs(other-z), 0, 1e-12*cmplx.Abs(z))

		case "reactance_zero IRE":
			zeros++
			in := ire.insertion(false)
			f := crossing(func(f float64) float64 { return imag(p.seenByReceiver(in, f)) }, 1e6, 30e6)
			p.near(row, "frequency of the reactance zero", f/1e6, "quantity_or_f_MHz", 0)
			p.fourColumns(row, p.seenByReceiver(in, f))
			least := lowest(func(f float64) float64 { return cmplx.Abs(p.seenByReceiver(in, f)) }, 1e6, 5e6)
			p.Within(row, "frequency of the least |Z| in the note", least, 2.2e6, 0.05e6)
			p.Within(row, "least |Z| in the note", cmplx.Abs(p.seenByReceiver(in, least)), 221.7, 0.05)

		case "thevenin_impedance CAR_A":
			p.True(row, "generator resistance 0", row.Text("source") == "generator resistance 0")
			r := p.respond(car.insertion(), row.Float("quantity_or_f_MHz")*1e6)
			p.fourColumns(row, r.OutputImpedance)
			printed, found := strings.CutPrefix(row.Text("note"), "open-circuit ratio ")
			var ratio float64
			if _, err := fmt.Sscanf(printed, "%f dB", &ratio); err != nil || !found {
				t.Fatalf("row %d: no open-circuit ratio in %q", row.Number, row.Text("note"))
			}
			got := 20 * math.Log10(cmplx.Abs(r.Load)) // of 1 V
			p.note(row, "open-circuit ratio", got, ratio, 0.5e-4)
			p.Within(row, "open-circuit ratio", got, ratio, 0.51e-4)
			p.Within(row, "straight through into nothing, V", cmplx.Abs(r.Straight), 1, 1e-12)

		case "loss CAR_A":
			// At low frequency the 30 ohm count for nothing: at 10 kHz for less than 1e-8 dB.
			p.near(row, "open-circuit ratio at low frequency", 20*math.Log10(cmplx.Abs(p.respond(car.insertion(), 10e3).Load)), "R_or_value", 1e-5)

		case "element RMA_BC":
			// Service practice has no table of its own, but both of its values must be what the standard dummy comes to
			// at the ends of its range: C1 and L1 in series at the bottom (0.16 % from C1 alone at 0.1 MHz) …
			const f = 0.1e6
			alone := p.impedance(capacitance(value(rmaC))("x", network.Ground), f)
			p.Near(row, "|Z| of the IRE dummy at 0.1 MHz", cmplx.Abs(p.seenByReceiver(ire.insertion(false), f)), cmplx.Abs(alone), 0.002)

		case "element RMA_SW":
			// … and R1 at the top.
			p.Near(row, "|Z| of the IRE dummy at 30 MHz", cmplx.Abs(p.seenByReceiver(ire.insertion(false), 30e6)), value(rmaR), 0.005)

		case "element CAR_B":
			p.NotApplicable(row, "the row itself says: unverified, do not test against it")
		case "element ROD_1m":
			p.NotApplicable(row, "the capacitance follows from a rod's size, which this package does not know")
		case "element IEC_315":
			p.NotApplicable(row, "the row itself says: topology not certain, NOT to be tested")
		}
	}
	if zeros != 1 {
		t.Errorf("%d reactance zeros, the file has 1", zeros)
	}
}
