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

// matching is one row of matching_examples.csv together with the other rows of its example.
type matching struct {
	*published
	example  map[string]reference.Row // by quantity
	row      reference.Row
	f, w     float64 // Hz, rad/s
	rs, rl   complex128
	checked  bool // the row's quantity was found by the analysis
	compared bool // so was the reflection with the published values
}

// values gives the quantities of an example in SI base units.
type values func(quantity string) float64

// design builds the network of an example from its values.
type design func(m *matching, v values) *network.Insertion

func (m *matching) column(column string) values {
	return func(quantity string) float64 {
		row, ok := m.example[quantity]
		if !ok {
			m.t.Fatalf("%s has no quantity %q", m.row.Text("id"), quantity)
		}
		return row.Float(column) * m.unit(row)
	}
}

func (m *matching) unit(row reference.Row) float64 {
	scale, ok := prefixed[row.Text("unit")]
	if !ok {
		m.t.Fatalf("%s %s: unit %q", row.Text("id"), row.Text("quantity"), row.Text("unit"))
	}
	return scale
}

func (m *matching) exact(quantity string) float64 { return m.column("exact_recomputed")(quantity) }

// own is the row's own recomputed value.
func (m *matching) own() float64 { return m.exact(m.row.Text("quantity")) }

// is checks what the analysis found, in SI base units, against the row: the recomputed column to 1e-6 (the file's
// tolerance, and what seven printed digits allow), the published one to 2 %, and the deviation between the two.
func (m *matching) is(found float64) {
	m.t.Helper()
	m.note(m.row, m.row.Text("quantity"), found, m.own(), 0)
	m.about(found, 1e-6)
}

func (m *matching) about(found, relative float64) {
	m.t.Helper()
	m.checked = true
	found /= m.unit(m.row)
	quantity := m.row.Text("quantity")
	want := m.row.Float("exact_recomputed")
	m.Near(m.row, quantity, found, want, relative)
	if !m.row.Has("published") {
		return
	}
	printed := m.row.Float("published")
	m.Near(m.row, quantity+" as published", found, printed, 0.02)
	m.Within(m.row, quantity+", deviation of the published value in %", 100*(printed/found-1), m.row.Float("deviation_pct"), 0.00501)
}

// around finds the zero of a function between 20 % below and 20 % above the row's own value.
func (m *matching) around(f func(x float64) float64) float64 {
	return crossing(f, 0.8*m.own(), 1.2*m.own())
}

func (m *matching) source() part { return inSeries(m.rs, m.f) }

func (m *matching) load() part { return inSeries(m.rl, m.f) }

// x is a reactance of so many ohm at the row's frequency.
func (m *matching) x(ohm float64) part { return reactance(ohm, m.f) }

// alone is the impedance of a part on its own.
func (m *matching) alone(p part) complex128 { return m.impedance(p("x", network.Ground), m.f) }

func (m *matching) mismatch(d design, v values) float64 {
	return reflection(m.respond(d(m, v), m.f).InputImpedance, m.rs)
}

// matched checks that a design with the recomputed values matches, and that the quantity of the row is what matches:
// with the others as they are, the analysis finds the value that leaves the least reflection between 20 % less and
// 20 % more than the row says.
func (m *matching) matched(d design) {
	m.t.Helper()
	r := m.respond(d(m, m.exact), m.f)
	m.Within(m.row, "|Gamma| with the recomputed values", reflection(r.InputImpedance, m.rs), 0, 1e-5)
	m.Near(m.row, "power in the load of a lossless match", r.LoadPower, r.AvailablePower, 1e-10)
	quantity := m.row.Text("quantity")
	ends := []float64{0.8 * m.own(), 1.2 * m.own()}
	m.is(lowest(func(x float64) float64 {
		return m.mismatch(d, func(q string) float64 {
			if q == quantity {
				return x
			}
			return m.exact(q)
		})
	}, min(ends[0], ends[1]), max(ends[0], ends[1])))
}

// asPublished checks the reflection that the rounded published values leave in a design.
func (m *matching) asPublished(d design) {
	m.t.Helper()
	m.compared = true
	r := m.respond(d(m, m.column("published")), m.f)
	gamma := reflection(r.InputImpedance, m.rs)
	m.near(m.row, "|Gamma| with the published values", gamma, "gamma_with_published_values", 0)
	m.Near(m.row, "reflected part of the available power", r.ReflectedPower/r.AvailablePower, gamma*gamma, 1e-9)
}

// element is the check of a row that is an element of a design.
func element(d design) func(*matching) {
	return func(m *matching) {
		m.matched(d)
		if m.row.Has("gamma_with_published_values") {
			m.asPublished(d)
		}
	}
}

// withStray checks that the load columns are the series form of a resistance with a stray capacitance across it, which
// the topology of the row gives, before the row itself.
func withStray(ohm, farad float64, check func(*matching)) func(*matching) {
	return func(m *matching) {
		z := m.alone(beside(resistance(ohm), capacitance(farad)))
		m.Near(m.row, "series form of the load, R", real(z), real(m.rl), 1e-5)
		m.Near(m.row, "series form of the load, X", imag(z), imag(m.rl), 1e-5)
		check(m)
	}
}

// The L networks. Each has the coil or the capacitor in series with the source and the other across the load.

func seriesCoil(m *matching, v values) *network.Insertion {
	return ladder(m.source(), m.load(), series(inductance(v("L"))), shunt(capacitance(v("C"))))
}

func seriesCapacitor(m *matching, v values) *network.Insertion {
	return ladder(m.source(), m.load(), series(capacitance(v("C"))), shunt(inductance(v("L"))))
}

// sideShunt is M07: the capacitor across the source, the coil in series with the load.
func sideShunt(m *matching, v values) *network.Insertion {
	return ladder(m.source(), m.load(), shunt(capacitance(v("C"))), series(inductance(v("L"))))
}

func reactances(seriesX, shuntX string) design {
	return func(m *matching, v values) *network.Insertion {
		return ladder(m.source(), m.load(), series(m.x(v(seriesX))), shunt(m.x(-v(shuntX))))
	}
}

// bothSigns is M09: the series coil with the shunt capacitor, and the series capacitor with the shunt coil.
func bothSigns(seriesX, shuntX string) func(*matching) {
	mirrored := func(m *matching, v values) *network.Insertion {
		return ladder(m.source(), m.load(), series(m.x(-v(seriesX))), shunt(m.x(v(shuntX))))
	}
	return func(m *matching) {
		m.matched(reactances(seriesX, shuntX))
		m.matched(mirrored)
	}
}

// absorbing is M02: the load's stray is part of the shunt capacitance, the source's reactance part of the coil.
func absorbing(m *matching, v values) *network.Insertion {
	return ladder(m.source(), beside(resistance(1000), capacitance(2e-12)), series(inductance(v("L"))), shunt(capacitance(v("C"))))
}

// resonated is M03 and M11: one coil matches and tunes out the stray.
func resonated(ohm, farad float64) design {
	return func(m *matching, v values) *network.Insertion {
		return ladder(m.source(), beside(resistance(ohm), capacitance(farad)), series(capacitance(v("C"))), shunt(inductance(v("L_combined"))))
	}
}

// apart is the same with the two coils side by side.
func apart(ohm, farad float64, tuning, match string) design {
	return func(m *matching, v values) *network.Insertion {
		return ladder(m.source(), beside(resistance(ohm), capacitance(farad)),
			series(capacitance(v("C"))), shunt(inductance(v(tuning))), shunt(inductance(v(match))))
	}
}

// tunesOut checks the coil that makes the stray capacitance vanish.
func tunesOut(farad float64) func(*matching) {
	return func(m *matching) {
		m.is(m.around(func(henry float64) float64 {
			return imag(1 / m.alone(beside(inductance(henry), capacitance(farad))))
		}))
	}
}

// M04: a pi cut in the middle of its series arm. s1 and s2 are the signs of the series reactances.
func piOfReactances(s1, s2 float64) design {
	return func(m *matching, v values) *network.Insertion {
		return ladder(m.source(), m.load(),
			shunt(m.x(-s1*v("Xp1_source_side"))), series(m.x(s1*v("Xs1"))),
			series(m.x(s2*v("Xs2"))), shunt(m.x(-s2*v("Xp2_load_side"))))
	}
}

// M05: a T cut in the middle of its shunt arm.
func teeOfReactances(s1, s2 float64) design {
	return func(m *matching, v values) *network.Insertion {
		return ladder(m.source(), m.load(),
			series(m.x(s1*v("Xs1"))), shunt(m.x(-s1*v("Xp1"))),
			shunt(m.x(-s2*v("Xp2"))), series(m.x(s2*v("Xs2"))))
	}
}

// inAllSigns checks an element row of M04 or M05 in the four variants that the file speaks of.
func inAllSigns(d func(s1, s2 float64) design) func(*matching) {
	return func(m *matching) {
		for _, s1 := range []float64{1, -1} {
			for _, s2 := range []float64{1, -1} {
				m.matched(d(s1, s2))
			}
		}
	}
}

// cut checks R_virtual, which each half of the network shows at the cut on its own and without reactance.
func cut(back, onwards func(m *matching) *network.Insertion, whole design) func(*matching) {
	return func(m *matching) {
		behind := m.respond(back(m), m.f).OutputImpedance
		ahead := m.respond(onwards(m), m.f).InputImpedance
		for _, z := range []complex128{behind, ahead} {
			m.is(real(z))
			m.Within(m.row, "reactance at the cut", imag(z)/real(z), 0, 1e-5)
		}
		m.asPublished(whole)
	}
}

// slope is |reactance|/resistance: the Q of a branch.
func slope(z complex128) float64 { return math.Abs(imag(z)) / real(z) }

// pozar is M06 in normalised form: reactance x·Z0 in series, susceptance b/Z0 across the load.
func pozar(m *matching, v values) *network.Insertion {
	z0 := real(m.rs)
	return ladder(m.source(), m.load(), series(m.x(v("x_normalised")*z0)), shunt(m.x(-z0/v("b_normalised"))))
}

// susceptance checks b as the one that matches and as that of the element; elements is the network of the other rows.
func susceptance(of func(v float64) part, named string, elements design) func(*matching) {
	return func(m *matching) {
		m.matched(pozar)
		m.is(imag(m.rs / m.alone(of(m.exact(named)))))
		m.asPublished(elements)
	}
}

func seriesReactance(of func(v float64) part, named string) func(*matching) {
	return func(m *matching) {
		m.matched(pozar)
		m.is(imag(m.alone(of(m.exact(named))) / m.rs))
	}
}

// conductanceIs50 is M08: what is in series with 10 ohm so that the parallel form has 50 ohm.
func conductanceIs50(m *matching, z complex128) float64 { return real(1/z) - 1/real(m.rs) }

// lossyCoil is M12: 15 uH and 2 ohm in series.
func lossyCoil(from, to string) network.Element {
	return network.NewInductor(from, to, 15e-6, network.Loss{Model: network.SeriesResistance, R: 2})
}

// bandPass is M13: a series circuit with 50 ohm in all (20 in the source, 30 in the load); it returns the
// half-power frequencies of the voltage across the load.
func bandPass(m *matching, henry, farad float64) (below, above float64) {
	in := ladder(resistance(20), resistance(30), series(inductance(henry)), series(capacitance(farad)))
	_, below, above = halfPower(func(f float64) float64 { return cmplx.Abs(m.respond(in, f).Load) }, 0.7*m.f, 1.3*m.f)
	return below, above
}

// tank is M14: 10 uH and 10 pF with a resistance across them (the coil's), fed by a source of 100 kohm.
func tank(parallel float64) *network.Insertion {
	return ladder(resistance(100e3), nothing, shunt(inductance(10e-6)), shunt(resistance(parallel)), shunt(capacitance(10e-12)))
}

// sharpness is the Q of a peak near the row's frequency: peak over the width at half power.
func (m *matching) sharpness(level func(r network.Response) complex128, in *network.Insertion) float64 {
	peak, below, above := halfPower(func(f float64) float64 { return cmplx.Abs(level(m.respond(in, f))) }, 0.8*m.f, 1.2*m.f)
	return peak / (above - below)
}

func loadVoltage(r network.Response) complex128 { return r.Load }

// withoutSource is what the source sees, whatever its own resistance.
func withoutSource(r network.Response) complex128 { return r.InputImpedance }

// transformer is M15: 25 uH with 8 pF and 25 kohm across, perfectly coupled to 400 uH with 2 pF across.
func transformer(m *matching) *network.Insertion {
	c := &network.Circuit{}
	coils, err := network.NewCoupledCoils(
		[]network.Branch{{From: "primary", To: network.Ground}, {From: "secondary", To: network.Ground}},
		[]float64{25e-6, 400e-6}, []network.Coupling{{First: 0, Second: 1, Factor: 1}}, network.Loss{})
	if err != nil {
		m.t.Fatal(err)
	}
	c.Add(coils)
	c.Add(capacitance(8e-12)("primary", network.Ground))
	c.Add(capacitance(2e-12)("secondary", network.Ground))
	return network.Insert(c, "primary", "primary", m.source()("primary", network.Ground), m.load()("primary", network.Ground))
}

// harmonic is M16: by how much in amplitude a tank of the given Q, fed through its resistance, lowers the fifth harmonic.
func harmonic(m *matching, q float64) float64 {
	const henry = 1e-6
	in := ladder(resistance(q*m.w*henry), nothing, shunt(inductance(henry)), shunt(capacitance(1/(m.w*m.w*henry))))
	return cmplx.Abs(m.respond(in, m.f).Load) / cmplx.Abs(m.respond(in, 5*m.f).Load)
}

// terman is M17 in reactances, termanElements in elements.
func terman(m *matching, v values) *network.Insertion {
	return ladder(m.source(), m.load(), shunt(m.x(-v("XC1"))), series(m.x(v("XL"))), shunt(m.x(-v("XC2"))))
}

func termanElements(m *matching, v values) *network.Insertion {
	return ladder(m.source(), m.load(), shunt(capacitance(v("C1"))), series(inductance(v("L"))), shunt(capacitance(v("C2"))))
}

var matchingChecks = map[string]func(*matching){
	"M01/Q": func(m *matching) {
		// What the coil sees: the load with the capacitor across it.
		behind := ladder(resistance(50), m.load(), shunt(capacitance(m.exact("C"))))
		z := m.respond(behind, m.f).InputImpedance
		m.Near(m.row, "resistance behind the coil", real(z), real(m.rs), 1e-6)
		m.is(slope(z))
		m.is(imag(m.alone(inductance(m.exact("L")))) / real(z))
		m.asPublished(seriesCoil)
	},
	"M01/X_series": element(reactances("X_series", "X_shunt")),
	"M01/X_shunt":  element(reactances("X_series", "X_shunt")),
	"M01/L":        element(seriesCoil),
	"M01/C":        element(seriesCoil),

	"M02/L": withStray(1000, 2e-12, element(absorbing)),
	"M02/C": withStray(1000, 2e-12, element(absorbing)),

	"M03/C":                  withStray(600, 40e-12, element(resonated(600, 40e-12))),
	"M03/L_combined":         withStray(600, 40e-12, element(resonated(600, 40e-12))),
	"M03/L_match":            element(apart(600, 40e-12, "L_to_resonate_40pF", "L_match")),
	"M03/L_to_resonate_40pF": tunesOut(40e-12),
	"M11/C":                  withStray(500, 42e-12, element(resonated(500, 42e-12))),
	"M11/L_combined":         withStray(500, 42e-12, element(resonated(500, 42e-12))),
	"M11/L_to_resonate_42pF": tunesOut(42e-12),
	"M10/C":                  element(seriesCapacitor),
	"M10/L":                  element(seriesCapacitor),
	"M07/C":                  element(sideShunt),
	"M07/L":                  element(sideShunt),
	"M06a/C":                 element(seriesCoil),
	"M06a/L":                 element(seriesCoil),
	"M06b/C":                 element(seriesCapacitor),
	"M06b/L":                 element(seriesCapacitor),
	"M06a/b_normalised":      susceptance(capacitance, "C", seriesCoil),
	"M06a/x_normalised":      seriesReactance(inductance, "L"),
	"M06b/b_normalised":      susceptance(inductance, "L", seriesCapacitor),
	"M06b/x_normalised":      seriesReactance(capacitance, "C"),
	"M09/X_series":           bothSigns("X_series", "X_parallel"),
	"M09/X_parallel":         bothSigns("X_series", "X_parallel"),
	"M04/Xp1_source_side":    inAllSigns(piOfReactances),
	"M04/Xs1":                inAllSigns(piOfReactances),
	"M04/Xs2":                inAllSigns(piOfReactances),
	"M04/Xp2_load_side":      inAllSigns(piOfReactances),
	"M05/Xs1":                inAllSigns(teeOfReactances),
	"M05/Xp1":                inAllSigns(teeOfReactances),
	"M05/Xp2":                inAllSigns(teeOfReactances),
	"M05/Xs2":                inAllSigns(teeOfReactances),
	"M04/R_virtual": cut(func(m *matching) *network.Insertion {
		return ladder(m.source(), nothing, shunt(m.x(-m.exact("Xp1_source_side"))), series(m.x(m.exact("Xs1"))))
	}, func(m *matching) *network.Insertion {
		return ladder(resistance(50), m.load(), series(m.x(m.exact("Xs2"))), shunt(m.x(-m.exact("Xp2_load_side"))))
	}, piOfReactances(1, 1)),
	"M05/R_virtual": cut(func(m *matching) *network.Insertion {
		return ladder(m.source(), nothing, series(m.x(m.exact("Xs1"))), shunt(m.x(-m.exact("Xp1"))))
	}, func(m *matching) *network.Insertion {
		return ladder(resistance(50), m.load(), shunt(m.x(-m.exact("Xp2"))), series(m.x(m.exact("Xs2"))))
	}, teeOfReactances(1, 1)),
	"M04/Q1": func(m *matching) {
		m.is(slope(m.respond(ladder(m.source(), nothing, shunt(m.x(-m.exact("Xp1_source_side")))), m.f).OutputImpedance))
	},
	"M05/Q2": func(m *matching) {
		m.is(slope(m.respond(ladder(resistance(50), m.load(), series(m.x(m.exact("Xs2")))), m.f).InputImpedance))
	},

	"M08/X_series_needed": func(m *matching) {
		m.is(m.around(func(x float64) float64 { return conductanceIs50(m, m.alone(inSeries(m.rl+complex(0, x), m.f))) }))
	},
	"M08/X_parallel": func(m *matching) {
		needed := m.alone(inSeries(m.rl+complex(0, m.exact("X_series_needed")), m.f))
		m.is(-1 / imag(1/needed))
	},
	"M08/X_of_0.2uH": func(m *matching) { m.is(imag(m.alone(inductance(0.2e-6)))) },
	"M08/X_series_C": func(m *matching) {
		m.is(m.around(func(x float64) float64 {
			return conductanceIs50(m, m.alone(func(from, to string) network.Element {
				return network.NewSeries(from, to, real(m.rl), 0.2e-6, 1/(m.w*x))
			}))
		}))
	},

	"M12/Q":  func(m *matching) { m.is(slope(m.alone(lossyCoil))) },
	"M12/Rp": func(m *matching) { m.is(1 / real(1/m.alone(lossyCoil))) },
	"M12/Lp": func(m *matching) { m.is(-1 / imag(1/m.alone(lossyCoil)) / m.w) },

	"M13/L": func(m *matching) {
		m.is(m.around(func(henry float64) float64 {
			below, above := bandPass(m, henry, m.exact("C"))
			return above - below - 100e3
		}))
	},
	"M13/C": func(m *matching) {
		m.is(m.around(func(farad float64) float64 {
			below, above := bandPass(m, m.exact("L"), farad)
			return math.Sqrt(below*above) - m.f
		}))
	},

	"M14/omega0": func(m *matching) {
		in := tank(100e3)
		w := m.around(func(w float64) float64 { return imag(1 / m.respond(in, w/(2*math.Pi)).InputImpedance) })
		m.is(w)
		m.near(m.row, "resonance in MHz", w/(2*math.Pi)/1e6, "f_MHz", 0)
	},
	"M14/Rp_of_coil": func(m *matching) {
		q := m.row.Float("Q")
		m.is(m.around(func(ohm float64) float64 { return m.sharpness(withoutSource, tank(ohm)) - q }))
		// A coil of this Q with its loss in series has the same resistance in parallel but for the 1/Q² of the exact
		// conversion, which the example leaves out.
		lossy := m.alone(func(from, to string) network.Element {
			return network.NewInductor(from, to, 10e-6, network.Loss{Model: network.ConstantQ, Q: q})
		})
		m.about(1/real(1/lossy), 1.01/(q*q))
	},
	"M14/Q_loaded": func(m *matching) { m.is(m.sharpness(loadVoltage, tank(100e3))) },

	"M15/turns_ratio": func(m *matching) {
		in := transformer(m)
		for _, f := range []float64{0.1 * m.f, m.f, 3 * m.f} {
			m.respond(in, f)
			ratio := in.Forward().Voltage("primary") / in.Forward().Voltage("secondary")
			m.is(real(ratio))
			m.Within(m.row, "phase between the windings", imag(ratio), 0, 1e-12)
		}
	},
	"M15/C_total": func(m *matching) {
		// Im Y = ωC − 1/(ωL) at two frequencies gives both.
		in := transformer(m)
		w1, w2 := 0.5*m.w, 2*m.w
		b1 := imag(1 / m.respond(in, w1/(2*math.Pi)).InputImpedance)
		b2 := imag(1 / m.respond(in, w2/(2*math.Pi)).InputImpedance)
		m.is((w2*b2 - w1*b1) / (w2*w2 - w1*w1))
	},
	"M15/omega0": func(m *matching) {
		in := transformer(m)
		w := m.around(func(w float64) float64 { return imag(1 / m.respond(in, w/(2*math.Pi)).InputImpedance) })
		m.is(w)
		m.near(m.row, "resonance in MHz", w/(2*math.Pi)/1e6, "f_MHz", 0)
	},
	"M15/Q": func(m *matching) { m.is(m.sharpness(withoutSource, transformer(m))) },

	"M16/Q_min": func(m *matching) {
		// The row's formula leaves out a 1 under a root, 1/(2·100²) of the answer; its note has the exact value.
		found := m.around(func(q float64) float64 { return harmonic(m, q) - 100 })
		m.about(found, 0.51e-4)
		_, printed, ok := strings.Cut(m.row.Text("note"), "exact sqrt(1e4-1)/(n-1/n)=")
		var exact float64
		if _, err := fmt.Sscan(printed, &exact); err != nil || !ok {
			m.t.Fatalf("no exact value in the note %q", m.row.Text("note"))
		}
		m.Within(m.row, "exact Q_min", found, exact, 0.51e-4)
	},

	"M17/XC1": func(m *matching) {
		m.matched(terman)
		// The Q of the row is that of the source with the first capacitor across it.
		m.Near(m.row, "Q", 1/slope(1/m.respond(ladder(m.source(), nothing, shunt(m.x(-m.own()))), m.f).OutputImpedance), 1/m.row.Float("Q"), 1e-6)
	},
	"M17/XL":  element(terman),
	"M17/XC2": element(terman),
	"M17/C1":  element(termanElements),
	"M17/L":   element(termanElements),
	"M17/C2":  element(termanElements),
}

// Source: matching_examples.csv, which names the textbook of every row and how it is known.
func TestPublishedMatching(t *testing.T) {
	p := openPublished(t, "matching_examples.csv")
	examples := map[string]map[string]reference.Row{}
	for _, row := range p.Rows {
		id := row.Text("id")
		if examples[id] == nil {
			examples[id] = map[string]reference.Row{}
		}
		examples[id][row.Text("quantity")] = row
	}
	done := map[string]bool{}
	reflections := 0
	for _, row := range p.Rows {
		key := row.Text("id") + "/" + row.Text("quantity")
		check, ok := matchingChecks[key]
		if !ok {
			t.Errorf("row %d (%s) has no check", row.Number, key)
			continue
		}
		f := row.Float("f_MHz") * 1e6
		m := &matching{
			published: p, example: examples[row.Text("id")], row: row, f: f, w: 2 * math.Pi * f,
			rs: complex(row.Float("Rs_ohm"), row.Float("Xs_ohm")), rl: complex(row.Float("RL_ohm"), row.Float("XL_ohm")),
		}
		check(m)
		done[key] = true
		if !m.checked {
			t.Errorf("row %d (%s): nothing was compared with its value", row.Number, key)
		}
		if row.Has("gamma_with_published_values") {
			reflections++
			if !m.compared {
				t.Errorf("row %d (%s): the reflection with the published values was not compared", row.Number, key)
			}
		}
	}
	for key := range matchingChecks {
		if !done[key] {
			t.Errorf("the file has no row for the check %s", key)
		}
	}
	if reflections != 8 {
		t.Errorf("compared %d reflections with published values, the file has 8", reflections)
	}
}
