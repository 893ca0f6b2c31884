package network_test

import (
	"math"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"testing"

	"knobwise/physics/network"
)

var prefixed = map[string]float64{"": 1, "uH": 1e-6, "nH": 1e-9, "pF": 1e-12, "ohm": 1, "kohm": 1e3, "1": 1, "rad/s": 1}

// netList is a parsed `net` cell of network_benchmarks.csv.
type netList struct {
	circuit *network.Circuit
	input   string
	output  string          // node of the load
	load    network.Element // nil where the load is not against ground
	counted network.ID      // of the resistor whose power is counted, where the load is not against ground
}

// readNet understands `L a-b value unit Q=q`, `C …`, `R …`, `load R …`, `coupled L … and L … k=k both Q=q`,
// `source at node` and `power counted in the … ohm`; node 0 is ground.
func readNet(t *testing.T, text string) netList {
	t.Helper()
	net := netList{circuit: &network.Circuit{}, input: "1"}
	number := func(s string) float64 {
		v, err := strconv.ParseFloat(s, 64)
		if err != nil {
			t.Fatalf("%q: %v", text, err)
		}
		return v
	}
	nodes := func(s string) network.Branch {
		from, to, found := strings.Cut(s, "-")
		if !found {
			t.Fatalf("%q: no nodes in %q", text, s)
		}
		ground := func(n string) string {
			if n == "0" {
				return network.Ground
			}
			return n
		}
		return network.Branch{From: ground(from), To: ground(to)}
	}
	quality := func(s string) network.Loss {
		q, found := strings.CutPrefix(s, "Q=")
		if !found {
			t.Fatalf("%q: no Q in %q", text, s)
		}
		if q == "inf" {
			return network.Loss{}
		}
		return network.Loss{Model: network.ConstantQ, Q: number(q)}
	}
	value := func(v, unit string) float64 {
		scale, known := prefixed[unit]
		if !known {
			t.Fatalf("%q: unit %q", text, unit)
		}
		return number(v) * scale
	}
	resistors := map[float64]network.ID{}
	for statement := range strings.SplitSeq(text, ";") {
		w := strings.Fields(statement)
		switch {
		case w[0] == "L" && (len(w) == 4 || len(w) == 5):
			loss := network.Loss{}
			if len(w) == 5 {
				loss = quality(w[4])
			}
			at := nodes(w[1])
			net.circuit.Add(network.NewInductor(at.From, at.To, value(w[2], w[3]), loss))
		case w[0] == "C" && (len(w) == 4 || len(w) == 5):
			loss := network.Loss{}
			if len(w) == 5 {
				loss = quality(w[4])
			}
			at := nodes(w[1])
			net.circuit.Add(network.NewCapacitor(at.From, at.To, value(w[2], w[3]), loss))
		case w[0] == "R" && len(w) == 3:
			at := nodes(w[1])
			ohm := value(w[2], "")
			resistors[ohm] = net.circuit.Add(network.NewResistor(at.From, at.To, ohm))
		case w[0] == "load" && w[1] == "R" && len(w) == 4:
			at := nodes(w[2])
			if at.To != network.Ground {
				t.Fatalf("%q: the load is not against ground", text)
			}
			net.output, net.load = at.From, network.NewResistor(at.From, at.To, value(w[3], ""))
		case w[0] == "coupled" && len(w) == 13 && w[1] == "L" && w[5] == "and" && w[6] == "L" && w[11] == "both":
			k, found := strings.CutPrefix(w[10], "k=")
			if !found {
				t.Fatalf("%q: no k in %q", text, w[10])
			}
			coils, err := network.NewCoupledCoils(
				[]network.Branch{nodes(w[2]), nodes(w[7])},
				[]float64{value(w[3], w[4]), value(w[8], w[9])},
				[]network.Coupling{{First: 0, Second: 1, Factor: number(k)}}, quality(w[12]))
			if err != nil {
				t.Fatal(err)
			}
			net.circuit.Add(coils)
		case w[0] == "source" && w[1] == "at" && len(w) == 3:
			net.input = w[2]
		case strings.HasPrefix(strings.TrimSpace(statement), "power counted in the ") && len(w) == 6:
			id, known := resistors[value(w[4], w[5])]
			if !known {
				t.Fatalf("%q: no resistor of %s ohm", text, w[4])
			}
			net.counted = id
			at := net.circuit.Element(id).Branches()[0]
			net.output = at.From
		default:
			t.Fatalf("%q: statement %q is not understood", text, statement)
		}
	}
	if net.output == "" {
		t.Fatalf("%q: no load", text)
	}
	return net
}

// terminal is what network_benchmarks.csv prints of a network.
type terminal struct{ re, im, gamma, gain, efficiency float64 }

// roundedValue is an element value that was rounded to six decimals; 0.500000 was not.
var roundedValue = regexp.MustCompile(`\b[0-9]+\.[0-9]{5}[1-9]\b`)

// Source: network_benchmarks.csv, computed by nodal analysis elsewhere and confirmed by hand-written mesh equations.
func TestPublishedNetworks(t *testing.T) {
	p := openPublished(t, "network_benchmarks.csv")
	const relative = 1e-5 // the file's own
	var loads, resistorsInside, lossy, coupled, rounded int
	for _, row := range p.Rows {
		f, rs := row.Float("f_MHz")*1e6, row.Float("Rs_ohm")
		solve := func(text string) (netList, *network.Insertion, network.Response, float64, terminal) {
			net := readNet(t, text)
			load := net.load
			if load == nil {
				load = nothing(net.output, network.Ground)
			}
			in := network.Insert(net.circuit, net.input, net.output, network.NewResistor(net.input, network.Ground, rs), load)
			r := p.respond(in, f)
			power := r.LoadPower
			if net.load == nil {
				power = in.Forward().Dissipation(net.counted)
			}
			return net, in, r, power, terminal{
				real(r.InputImpedance), imag(r.InputImpedance), reflection(r.InputImpedance, complex(rs, 0)),
				decibel(power / r.AvailablePower), power / r.InputPower,
			}
		}
		text := row.Text("net")
		net, in, r, power, got := solve(text)
		if net.load == nil {
			resistorsInside++
		} else {
			loads++
		}

		// The file computed with the values before it rounded them to six decimals; what half a unit of the last one
		// changes cannot be asked of the answer.
		var slack terminal
		for _, at := range roundedValue.FindAllStringIndex(text, -1) {
			rounded++
			_, _, _, _, other := solve(text[:at[1]] + "5" + text[at[1]:])
			slack.re += math.Abs(other.re - got.re)
			slack.im += math.Abs(other.im - got.im)
			slack.gamma += math.Abs(other.gamma - got.gamma)
			slack.gain += math.Abs(other.gain - got.gain)
			slack.efficiency += math.Abs(other.efficiency - got.efficiency)
		}
		check := func(what string, got float64, column string, slack float64) {
			want := row.Float(column)
			resolution := halfLastDecimal(row.Text(column))
			p.note(row, what, got, want, resolution)
			p.Within(row, what, got, want, max(relative*math.Abs(want), resolution)+slack)
		}
		check("Re Zin", got.re, "Zin_re", slack.re)
		check("Im Zin", got.im, "Zin_im", slack.im)
		check("|Gamma|", got.gamma, "gamma", slack.gamma)
		check("|Gamma| of the reflected power", math.Sqrt(r.ReflectedPower/r.AvailablePower), "gamma", slack.gamma)
		check("transducer gain", got.gain, "transducer_gain_dB", slack.gain)
		check("efficiency", got.efficiency, "efficiency", slack.efficiency)

		// The power that enters and is not in the load is in the losses, where the file has some.
		var lost float64
		for _, id := range elementsOf(net.circuit) {
			if id != in.Source && id != in.Load && (net.load != nil || id != net.counted) {
				lost += in.Forward().Dissipation(id)
			}
		}
		if lost > 0 {
			lossy++
		}
		p.Near(row, "power entering, as the sum of its parts", power+lost, r.InputPower, 1e-10)
		if strings.Contains(text, "coupled") {
			coupled++
		}
	}
	if loads != 10 || resistorsInside != 1 || lossy != 8 || coupled != 3 || rounded != 18 {
		t.Errorf("%d loads against ground, %d inside, %d lossy networks, %d with coupled coils, %d rounded values; the file has 10, 1, 8, 3, 18",
			loads, resistorsInside, lossy, coupled, rounded)
	}
}

// elementsOf lists the elements that have parameters.
func elementsOf(c *network.Circuit) []network.ID {
	var ids []network.ID
	for _, p := range c.Params() {
		ids = append(ids, p.Element)
	}
	return slices.Compact(ids)
}
