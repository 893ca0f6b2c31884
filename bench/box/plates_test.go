package box

import (
	"fmt"
	"math"
	"regexp"
	"strconv"
	"strings"
	"testing"

	"knobwise/bench/folder"
	"knobwise/internal/reference"
	"knobwise/physics/network"
)

const pF = 1e-12

var lawOfRow = map[string]string{"SLC": linear, "SLW": slWavelength, "SLF": slFrequency, "LOG": logarithmic}

// givens reads "Cmax=365;Cmin=15;Cstray=0 pF" into numbers, units left to the caller.
func givens(text string) map[string]float64 {
	all := map[string]float64{}
	for part := range strings.SplitSeq(text, ";") {
		if name, value, ok := strings.Cut(part, "="); ok {
			all[name], _ = strconv.ParseFloat(strings.Fields(value)[0], 64)
		}
	}
	return all
}

// susceptance is Im(Y) in siemens of what a circuit shows at node a against ground, at f Hz.
func susceptance(t *testing.T, w *Wired, f float64) float64 {
	t.Helper()
	in := network.Insert(w.Circuit, "a", "b", network.NewResistor("a", network.Ground, 50), network.NewResistor("b", network.Ground, 50))
	r, err := in.Response(f, 1)
	if err != nil {
		t.Fatal(err)
	}
	return imag(1 / r.InputImpedance)
}

// resonance is where the susceptance of a circuit at node a changes its sign, in Hz.
func resonance(t *testing.T, b *Box, s Setting) float64 {
	t.Helper()
	return bisect(1e4, 1e8, func(f float64) float64 {
		w, err := b.Wire(s)
		if err != nil {
			t.Fatal(err)
		}
		return susceptance(t, w, f)
	})
}

// bisect finds where a rising function passes zero, to a relative 1e-12.
func bisect(low, high float64, f func(float64) float64) float64 {
	for high/low > 1+1e-12 {
		if middle := math.Sqrt(low * high); f(middle) < 0 {
			low = middle
		} else {
			high = middle
		}
	}
	return low
}

func parsed(t *testing.T, text string) *Box {
	t.Helper()
	b, err := Parse(folder.Disk(), "t.box.yaml", []byte(text))
	if err != nil {
		t.Fatalf("%v\n%s", err, text)
	}
	return b
}

// tuned is a box with a coil across a variable capacitor and its strays, in pF.
func tuned(t *testing.T, law string, low, high, stray float64) *Box {
	t.Helper()
	text := fmt.Sprintf("box: T\nterminals: {antenna: a, receiver: b}\nparts:\n  L: {kind: inductor, nodes: [a, ground], value: 200 uH}\n  C: {kind: variable capacitor, nodes: [a, ground], range: %g pF .. %g pF, law: %s}\n  R: {kind: resistor, nodes: [b, ground], value: 50 ohm}\n", low, high, law)
	if stray > 0 {
		text += fmt.Sprintf("  Cs: {kind: capacitor, nodes: [a, ground], value: %g pF}\n", stray)
	}
	return parsed(t, text+"controls: {K: {knob: C, scale: 0 .. 1}}\n")
}

func at(x float64) Setting { return Setting{"K": {Number: x}} }

// TestPublishedVariableCapacitors checks tapped_variable_cap.csv; the source of each row stands in the file.
func TestPublishedVariableCapacitors(t *testing.T) {
	l := reference.Open(t, "tapped_variable_cap.csv")
	note := regexp.MustCompile(`no strays: ([0-9.]+) kHz`)
	for _, row := range l.Rows {
		id, in := row.Text("id"), givens(row.Text("inputs"))
		switch quantity := row.Text("quantity"); quantity {
		case "tuning_ratio":
			// textbook: fmax/fmin = sqrt((Cmax+Cs)/(Cmin+Cs)); the analysis must agree for any values.
			b := tuned(t, linear, 11, 420, 7)
			l.Near(row, "resonances of a box", resonance(t, b, at(0))/resonance(t, b, at(1)), math.Sqrt((420+7)/(11+7.0)), 1e-9)
		case "tuning_ratio_value":
			b := tuned(t, linear, in["Cmin"], in["Cmax"], in["Cstray"])
			l.Within(row, "resonances of a box", resonance(t, b, at(0))/resonance(t, b, at(1)), row.Float("value"), 1e-5)
		case "capacitance_ratio_needed":
			l.Near(row, "capacitances at 550 and 1710 kHz", capacitanceFor(t, 200e-6, 550e3)/capacitanceFor(t, 200e-6, 1710e3), row.Float("value"), 1e-4)
		case "C_for_tuning":
			f := in["f"] * 1e3
			l.Within(row, "capacitance that resonates", capacitanceFor(t, 200e-6, f)/pF, row.Float("value"), 1e-4)
			published := map[string]float64{"T008": 198.1, "T009": 88.04}[id] // computed there with π = 3.14
			l.Near(row, "as published with π = 3.14", capacitanceFor(t, 200e-6, f)/pF*math.Pow(math.Pi/3.14, 2), published, 1e-4)
		case "plate_law_SLC", "plate_law_SLW", "plate_law_SLF", "plate_law_LOG":
			// What each law is named for runs straight between its ends.
			law := Law{name: lawOfRow[strings.TrimPrefix(quantity, "plate_law_")]}
			straight := map[string]func(c float64) float64{
				linear:       func(c float64) float64 { return c },
				slWavelength: math.Sqrt, // wavelength goes with √C
				slFrequency:  func(c float64) float64 { return 1 / math.Sqrt(c) },
				logarithmic:  math.Log,
			}[law.name]
			for _, x := range []float64{0, 0.2, 0.5, 0.9, 1} {
				want := straight(11*pF) + (straight(420*pF)-straight(11*pF))*x
				l.Near(row, fmt.Sprintf("straight at %g", x), straight(law.At(x, 11*pF, 420*pF)), want, 1e-12)
			}
		case "plate_law_value":
			name, _, _ := strings.Cut(row.Text("inputs"), ";")
			x, want := in["x"], row.Float("value")
			law := Law{name: lawOfRow[name]}
			l.Within(row, "Law.At", law.At(x, in["Cmin"]*pF, in["Cmax"]*pF)/pF, want, 5.1e-6)
			b := tuned(t, law.name, in["Cmin"], in["Cmax"], 0)
			w, err := b.Wire(at(x))
			if err != nil {
				t.Fatal(err)
			}
			if w.Placed[1].Part.Name != "C" {
				t.Fatal("the parts are out of order")
			}
			l.Within(row, "value in a box", w.Placed[1].Value/pF, want, 5.1e-6)
			khz, _ := strconv.ParseFloat(note.FindStringSubmatch(row.Text("note"))[1], 64)
			l.Within(row, "resonance with 200 uH in kHz", resonance(t, b, at(x))/1e3, khz, 5.1e-4)
		case "series_padder":
			// textbook: C1·C2/(C1+C2)
			b := parsed(t, "box: T\nterminals: {antenna: a, receiver: b}\nparts:\n  L: {kind: inductor, nodes: [a, ground], value: 200 uH}\n  C1: {kind: capacitor, nodes: [a, m], value: 365 pF}\n  C2: {kind: capacitor, nodes: [m, ground], value: 600 pF}\n  R: {kind: resistor, nodes: [b, ground], value: 50 ohm}\n")
			series := 365 * 600 / (365 + 600.0) * pF
			l.Near(row, "resonance with a padder", resonance(t, b, b.Start()), 1/(2*math.Pi*math.Sqrt(200e-6*series)), 1e-9)
		case "tapped_coil_total", "tapped_coil_section":
			l.Elsewhere(row, "physics/coil")
		case "tapped_capacitor":
			// ((C1+C2)/C1)²·R at the top, to the order of 1/(ωC2R)²
			const c1, c2, r, f = 100, 400, 5000.0, 3e6
			b := parsed(t, fmt.Sprintf("box: T\nterminals: {antenna: a, receiver: b}\nparts:\n  C1: {kind: capacitor, nodes: [a, m], value: %d pF}\n  C2: {kind: capacitor, nodes: [m, ground], value: %d pF}\n  R: {kind: resistor, nodes: [m, ground], value: %g ohm}\n  RB: {kind: resistor, nodes: [b, ground], value: 50 ohm}\n", c1, c2, r))
			w, err := b.Wire(b.Start())
			if err != nil {
				t.Fatal(err)
			}
			in := network.Insert(w.Circuit, "a", "b", network.NewResistor("a", network.Ground, 50), network.NewResistor("b", network.Ground, 50))
			x, err := in.Response(f, 1)
			if err != nil {
				t.Fatal(err)
			}
			loose := math.Pow(2*math.Pi*f*c2*pF*r, -2)
			l.Near(row, "resistance at the top", 1/real(1/x.InputImpedance), r*math.Pow((c1+c2)/float64(c1), 2), loose)
		case "typical_Q":
			l.NotApplicable(row, "a default for a person to choose, never an oracle")
		}
	}
}

// capacitanceFor is the capacitance in F that resonates with l henry at f Hz, found with the analysis.
func capacitanceFor(t *testing.T, l, f float64) float64 {
	t.Helper()
	return bisect(1*pF, 1e6*pF, func(c float64) float64 {
		w := &Wired{Circuit: &network.Circuit{}}
		w.Circuit.Add(network.NewInductor("a", network.Ground, l, network.Loss{}))
		w.Circuit.Add(network.NewCapacitor("a", network.Ground, c, network.Loss{}))
		w.Circuit.Add(network.NewResistor("b", network.Ground, 50))
		return susceptance(t, w, f)
	})
}
