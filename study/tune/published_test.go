package tune

import (
	"fmt"
	"math"
	"strings"
	"testing"

	"knobwise/bench/box"
	"knobwise/bench/setup"
	"knobwise/internal/reference"
)

// value is what a part is at a setting of its knob, by the linear law of every knob here, from the numbers put into the box.
func value(s box.Setting, control string, low, high float64) float64 {
	return low + (high-low)*s[control].Number
}

// L networks that the textbooks of matching_examples.csv match: with both parts on knobs, the strongest signal delivers the
// available power, and the knobs stand at the textbook's values (column exact_recomputed; X_s and B_p of a lossless L follow
// from Q = √(R_high/R_low − 1), D. M. Pozar, Microwave Engineering, chapter 5).
func TestConjugateMatch(t *testing.T) {
	type network struct {
		series, shunt string // kinds of part; the shunt part stands at the load
		source, load  string
		parts         map[string]string // by the row's quantity: which knob
	}
	networks := map[string]network{
		"M01": {"L", "C", "{kind: generator, emf: 1 V, impedance: 100 ohm}", "{kind: resistor, value: 1000 ohm}", map[string]string{"L": "Series", "C": "Shunt"}},
		"M02": {"L", "C", "{kind: impedance, emf: 1 V, resistance: 100 ohm, inductance: 200.535228 nH}", // X = 126 ohm
			"{kind: receiver, resistance: 1000 ohm, capacitance: 2 pF}", map[string]string{"L": "Series", "C": "Shunt"}},
		"M03": {
			"C", "L", "{kind: generator, emf: 1 V, impedance: 50 ohm}", "{kind: receiver, resistance: 600 ohm, capacitance: 40 pF}",
			map[string]string{"C": "Series", "L_combined": "Shunt"},
		},
		// The load of 200 − j100 ohm at 500 MHz as 250 ohm in parallel with 0.636620 pF.
		"M06a": {
			"L", "C", "{kind: generator, emf: 1 V, impedance: 100 ohm}", "{kind: receiver, resistance: 250 ohm, capacitance: 0.6366197724 pF}",
			map[string]string{"L": "Series", "C": "Shunt"},
		},
		"M06b": {
			"C", "L", "{kind: generator, emf: 1 V, impedance: 100 ohm}", "{kind: receiver, resistance: 250 ohm, capacitance: 0.6366197724 pF}",
			map[string]string{"C": "Series", "L": "Shunt"},
		},
		"M10": {"C", "L", "{kind: generator, emf: 1 V, impedance: 50 ohm}", "{kind: resistor, value: 500 ohm}", map[string]string{"C": "Series", "L": "Shunt"}},
		"M11": {
			"C", "L", "{kind: generator, emf: 1 V, impedance: 50 ohm}", "{kind: receiver, resistance: 500 ohm, capacitance: 42 pF}",
			map[string]string{"C": "Series", "L_combined": "Shunt"},
		},
	}
	ledger := reference.Open(t, "matching_examples.csv")
	unit := map[string]float64{"nH": 1e-9, "pF": 1e-12}
	answers := map[string]Answer{}
	rows := 0
	for _, row := range ledger.Rows {
		id := row.Text("id")
		n, ok := networks[id]
		knob := n.parts[row.Text("quantity")]
		if !ok || knob == "" {
			ledger.Elsewhere(row, "physics/network")
			continue
		}
		kinds := map[string]string{"L": "variable inductor", "C": "variable capacitor"}
		ranges := map[string]string{"L": "5 nH .. 1500 nH", "C": "0.5 pF .. 60 pF"}
		limits := map[string][2]float64{"L": {5e-9, 1500e-9}, "C": {0.5e-12, 60e-12}}
		a, known := answers[id]
		f := row.Float("f_MHz") * 1e6
		if !known {
			b, st := parse(t, fmt.Sprintf("box: L network\nterminals: {antenna: a, receiver: c}\nparts:\n  S: {kind: %s, nodes: [a, c], range: %s}\n  P: {kind: %s, nodes: [c, ground], range: %s}\n"+
				"controls:\n  Series: {knob: S, scale: 0 .. 1}\n  Shunt: {knob: P, scale: 0 .. 1}\n", kinds[n.series], ranges[n.series], kinds[n.shunt], ranges[n.shunt]),
				"setup: Example\nsource: "+n.source+"\nload: "+n.load+"\nsweep: {from: 1 MHz, to: 1 GHz}\n")
			a = run(t, Question{Box: b, Setup: st, Frequencies: []float64{f}}).Answers[0]
			answers[id] = a
			ledger.Within(row, "transducer gain of the matched network, dB", a.TransducerGain, 0, 1e-8)
			ledger.True(row, "proven", a.Proven)
		}
		kind := n.series
		if knob == "Shunt" {
			kind = n.shunt
		}
		rows++
		// At a match the gain is flat: 1e-6 of the column is reached to the root of the digits.
		ledger.Near(row, row.Text("quantity"), value(a.Setting, knob, limits[kind][0], limits[kind][1])/unit[row.Text("unit")], row.Float("exact_recomputed"), 2e-6)
	}
	if rows != 14 || len(answers) != len(networks) {
		t.Errorf("%d rows, %d networks", rows, len(answers))
	}
}

// reflections integrates ln(1/|Γ|) of a lossless box, which follows from its transducer gain: |Γ|² = 1 − G.
type reflections struct {
	t testing.TB
	h solved
}

func (r reflections) logarithm(f float64) float64 {
	_, transducer, _ := r.h.at(f)
	return -0.5 * math.Log(-math.Expm1(transducer*math.Ln10/10))
}

// mean is the average over a band, weighted.
func (r reflections) mean(from, to float64, weight func(f float64) float64) float64 {
	const n = 4000
	sum, weights := 0.0, 0.0
	for i := range n {
		f := from + (to-from)*(float64(i)+0.5)/n
		sum += weight(f) * r.logarithm(f)
		weights += weight(f)
	}
	return sum / weights
}

func even(float64) float64      { return 1 }
func inverse(f float64) float64 { return 1 / (f * f) }

// A lossless box never beats the limit of Bode and Fano over a band, whatever it is tuned for (bode_fano.csv).
func TestBodeFano(t *testing.T) {
	ledger := reference.Open(t, "bode_fano.csv")
	asked, closest := 0, 0.0
	// Each load with a box whose every part is lossless and on a knob, a T that a switch makes an L, about f Hz and r ohm.
	ladder := func(f, r float64, receiver, inside string) string {
		w := 2 * math.Pi * f
		henry := fmt.Sprintf("%.6g nH .. %.6g nH", 0.02*r/w*1e9, 6*r/w*1e9)
		farad := fmt.Sprintf("%.6g pF .. %.6g pF", 0.02/(r*w)*1e12, 4/(r*w)*1e12)
		return fmt.Sprintf(`
box: Lossless ladder
terminals: {antenna: a, receiver: %s}
parts:
  L1: {kind: variable inductor, nodes: [a, m], range: %s}
  C1: {kind: variable capacitor, nodes: [m, ground], range: %s}
  L2: {kind: variable inductor, nodes: [m, n], range: %s}
%s
controls:
  K1: {knob: L1, scale: 0 .. 1}
  K2: {knob: C1, scale: 0 .. 1}
  K3: {knob: L2, scale: 0 .. 1}
  Shape:
    switch:
      tee: {}
      ell: {joins: [[a, m]]}
`, receiver, henry, farad, henry, inside)
	}
	// held asks every aim in the middle of a band and compares the average with the limit.
	held := func(row reference.Row, b *box.Box, st *setup.Setup, from, to, limit float64, weight func(float64) float64) {
		most := 0.0
		for _, aim := range []Aim{Signal, Width, Flat} {
			q := Question{Box: b, Setup: st, Frequencies: []float64{math.Sqrt(from * to)}, Aim: aim}
			if aim == Flat {
				q.Span = &Span{from, to}
			}
			a := run(t, q).Answers[0]
			average := reflections{t, solve(t, b, a.Setting, st)}.mean(from, to, weight)
			most = math.Max(most, average)
			asked++
			ledger.True(row, fmt.Sprintf("%s: the average %.4g of ln(1/|Γ|) is at most %.4g", aim, average, limit), average > 0 && average <= limit*(1+1e-6))
		}
		closest = math.Max(closest, most/limit)
		ledger.True(row, "the limit is not far: a check of nothing would pass too", most > 0.1*limit)
	}
	for _, row := range ledger.Rows {
		inputs := row.Text("inputs")
		switch row.Text("quantity") {
		case "gamma_min":
			var r, c, from, to float64
			text := inputs[strings.Index(inputs, "R="):]
			if _, err := fmt.Sscanf(strings.NewReplacer(" GHz", "", "-", " ").Replace(text), "R=%g C=%g pF band %g %g", &r, &c, &from, &to); err != nil {
				t.Fatal(inputs, err)
			}
			b, st := parse(t, ladder(math.Sqrt(from*to)*1e9, math.Sqrt(50*r), "n", ""), fmt.Sprintf(
				"setup: Load\nsource: {kind: generator, emf: 1 V, impedance: 50 ohm}\nload: {kind: receiver, resistance: %g ohm, capacitance: %g pF}\nsweep: {from: 1 GHz, to: 20 GHz}\n", r, c))
			// Γ of the row is exp(−limit) (B001: π/(RC) over the whole band).
			limit := math.Pi / (r * c * 1e-12) / (2 * math.Pi * (to - from) * 1e9)
			ledger.Near(row, "Γ", math.Exp(-limit), row.Float("value"), 1e-4)
			held(row, b, st, from*1e9, to*1e9, limit, even)
		case "gamma_min_series_RC":
			var r, c, from, to float64
			if _, err := fmt.Sscanf(strings.NewReplacer(" (short antenna)", "", " MHz", "", "-", " ").Replace(inputs), "R=%g ohm,C=%g pF, %g %g", &r, &c, &from, &to); err != nil {
				t.Fatal(inputs, err)
			}
			b, st := parse(t, ladder(math.Sqrt(from*to)*1e6, 100, "n", ""), fmt.Sprintf(
				"setup: Short antenna\nsource: {kind: impedance, emf: 1 V, resistance: %g ohm, capacitance: %g pF}\nload: {kind: resistor, value: 50 ohm}\nsweep: {from: 1 MHz, to: 20 MHz}\n", r, c))
			// B003: ∫ ln(1/|Γ|)/ω² dω ≤ πRC.
			w1, w2 := 2*math.Pi*from*1e6, 2*math.Pi*to*1e6
			limit := math.Pi * r * c * 1e-12 / (1/w1 - 1/w2)
			ledger.Within(row, "Γ", math.Exp(-limit), row.Float("value"), 1e-6) // the row's last digit
			held(row, b, st, from*1e6, to*1e6, limit, inverse)
		case "max_fractional_bandwidth":
			var q, worst float64
			if _, err := fmt.Sscanf(inputs, "resonant load Q=%g, |G|<=%g", &q, &worst); err != nil {
				t.Fatal(inputs, err)
			}
			const f0, r = 10e6, 50.0
			l := q * r / (2 * math.Pi * f0)
			// The coil of the load stands in the box and its resistance is the receiver; what is before the coil is the matching network.
			b, st := parse(t, ladder(f0, r, "c", fmt.Sprintf("  C0: {kind: capacitor, nodes: [n, o], value: %.9g pF}\n  L0: {kind: inductor, nodes: [o, c], value: %.9g nH}",
				1e12/(4*math.Pi*math.Pi*f0*f0*l), l*1e9)), fmt.Sprintf("setup: Resonant load\nsource: {kind: generator, emf: 1 V, impedance: 50 ohm}\nload: {kind: resistor, value: %g ohm}\nsweep: {from: 5 MHz, to: 20 MHz}\n", r))
			most := 0.0
			for _, aim := range []Aim{Signal, Width} {
				a := run(t, Question{Box: b, Setup: st, Frequencies: []float64{f0}, Aim: aim}).Answers[0]
				g := reflections{t, solve(t, b, a.Setting, st)}
				wanted := -math.Log(worst)
				// The widest band anywhere near in which |Γ| is small enough.
				band, in := 0.0, 0.0
				for f := 0.7 * f0; f < 1.4*f0; f += f0 * 2e-5 {
					if g.logarithm(f) >= wanted {
						in += f0 * 2e-5
						band = math.Max(band, in)
					} else {
						in = 0
					}
				}
				asked++
				most = math.Max(most, band/f0)
				ledger.True(row, fmt.Sprintf("%s: a band of %.4g·f0 of at most %.4g", aim, band/f0, row.Float("value")), band/f0 <= row.Float("value"))
			}
			closest = math.Max(closest, most/row.Float("value"))
			// (B014 note: a single tuned circuit reaches 1/4 of the limit.)
			ledger.True(row, "something is matched", most > 0.1*row.Float("value"))
		case "check_no_network":
			check(t, ledger, row)
		case "limit_parallel_RC", "limit_series_RL", "limit_series_RC", "limit_parallel_RL":
			ledger.True(row, "a formula that other rows use", strings.Contains(inputs, "<= pi"))
		case "chu_limit", "chu_limit_value":
			ledger.NotApplicable(row, "about antennas, which the program knows by their impedance alone")
		}
	}
	t.Logf("%d settings; the closest comes to %.3g of its limit", asked, closest)
	if asked != 22 {
		t.Errorf("%d settings", asked)
	}
}

// check integrates the plain mismatch of a load without a network over all frequencies; the answers of a box without
// controls are the integrand. Frequencies are ω = Ω·e^u with Ω = 1 Mrad/s, R = 100 ohm and elements to match.
func check(t *testing.T, ledger *reference.Ledger, row reference.Row) {
	t.Helper()
	const r, omega = 100.0, 1e6
	inputs := row.Text("inputs")
	source := r
	if _, after, ok := strings.Cut(inputs, "source R0="); ok {
		var n float64
		if _, err := fmt.Sscanf(after, "%g", &n); err != nil {
			t.Fatal(inputs)
		}
		source = n * r
	}
	part, antenna := "", "a"
	inverted := false // ∫ ln(1/|Γ|)/ω² dω
	pf, uh := fmt.Sprintf("%.9g pF", 1e12/(r*omega)), fmt.Sprintf("%.9g uH", 1e6*r/omega)
	switch {
	case strings.HasPrefix(inputs, "series RC"):
		part, inverted = "kind: capacitor, value: "+pf+", nodes: [a, c]", true
	case strings.HasPrefix(inputs, "parallel RL"):
		part, inverted = "kind: inductor, value: "+uh+", nodes: [c, ground]", true
	case strings.HasPrefix(inputs, "series RL"):
		part = "kind: inductor, value: " + uh + ", nodes: [a, c]"
	case strings.HasPrefix(inputs, "parallel RC"):
		part = "kind: capacitor, value: " + pf + ", nodes: [c, ground]"
	default:
		t.Fatal(inputs)
	}
	if strings.HasPrefix(inputs, "parallel") {
		antenna = "c"
	}
	b, st := parse(t, "box: No network\nterminals: {antenna: "+antenna+", receiver: c}\nparts:\n  E: {"+part+"}\n",
		fmt.Sprintf("setup: Check\nsource: {kind: generator, emf: 1 V, impedance: %g ohm}\nload: {kind: resistor, value: %g ohm}\nsweep: {from: 1 kHz, to: 1 GHz}\n", source, r))
	// Trapezoids in u = ln ω: the integrand falls at both ends.
	const low, high, n = -17.0, 17.0, 340
	var frequencies, weights []float64
	for i := range n + 1 {
		u := low + (high-low)*float64(i)/n
		w := math.Exp(u)
		frequencies = append(frequencies, omega*w/(2*math.Pi))
		weight := w * (high - low) / n
		if inverted {
			weight = 1 / w * (high - low) / n
		}
		weights = append(weights, weight)
	}
	sum := 0.0
	for i, a := range run(t, Question{Box: b, Setup: st, Frequencies: frequencies}).Answers {
		sum += weights[i] * -0.5 * math.Log(-math.Expm1(a.TransducerGain*math.Ln10/10))
	}
	ledger.Near(row, "integral", sum, row.Float("value"), 1e-4)
}
