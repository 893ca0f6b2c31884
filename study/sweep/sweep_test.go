package sweep

import (
	"fmt"
	"maps"
	"math"
	"math/cmplx"
	"os"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"knobwise/bench/box"
	"knobwise/bench/demo"
	"knobwise/bench/folder"
	"knobwise/bench/hookup"
	"knobwise/bench/setup"
	"knobwise/internal/seeded"
)

func TestMain(m *testing.M) { os.Exit(seeded.Run(m, 1832, 300)) }

// connect wires a box and a setup written as YAML.
func connect(t testing.TB, boxYAML, setupYAML string, set ...string) *hookup.Hookup {
	t.Helper()
	b, err := box.Parse(folder.Disk(), "test.box.yaml", []byte(boxYAML))
	if err != nil {
		t.Fatal(err)
	}
	s, err := setup.Parse(folder.Disk(), "test.setup.yaml", []byte(setupYAML))
	if err != nil {
		t.Fatal(err)
	}
	setting := b.Start()
	for _, x := range set {
		control, position, _ := strings.Cut(x, "=")
		if err := b.Set(setting, control, position); err != nil {
			t.Fatal(err)
		}
	}
	h, err := hookup.Connect(b, setting, s)
	if err != nil {
		t.Fatal(err)
	}
	return h
}

func run(t testing.TB, h *hookup.Hookup, q Question) *Result {
	t.Helper()
	if q.Sweep.Points == 0 {
		q.Sweep = h.Setup.Sweep
	}
	if q.Features == nil {
		q.Features = []Trace{LoadVoltage}
	}
	r, err := Run(h, q)
	if err != nil {
		t.Fatal(err)
	}
	return r
}

// tank is a parallel resonant circuit across the wire from antenna to receiver.
const tank = `
box: Tank
terminals: {antenna: a, receiver: a}
parts:
  L1: {kind: inductor, nodes: [a, ground], value: %g H}
  C1: {kind: capacitor, nodes: [a, ground], value: %g F}
`

// resistive is a source and a load of pure resistance.
const resistive = `
setup: Resistive
source: {kind: generator, emf: 1 V, impedance: %g ohm}
load: {kind: resistor, value: %g ohm}
sweep: {from: %g Hz, to: %g Hz, points: %d, spacing: %s}
`

// A parallel resonant circuit across R has its peak at f0 = 1/(2π√(LC)), its points d dB below the peak
// B·√(10^(d/10) − 1) apart with B = 1/(2πRC), and so Q = f0/B and the shape factor √(10⁶ − 1)/√(10^0.6 − 1) = 577.9
// (textbook definitions of the single tuned circuit; exact for lossless L and C). The peak is found between the sweep's
// points whatever its width: loaded Q runs from 2 to 100,000 on 401 points.
func TestSingleTunedCircuit(t *testing.T) {
	cases, narrow := 0, 0
	rapid.Check(t, func(t *rapid.T) {
		f0 := 1e6 * math.Pow(10, rapid.Float64Range(-0.3, 0.9).Draw(t, "decades"))
		q := math.Pow(10, rapid.Float64Range(0.3, 5).Draw(t, "log Q"))
		r := math.Pow(10, rapid.Float64Range(1.7, 4.5).Draw(t, "log R"))
		spacing := rapid.SampledFrom([]string{"linear", "log"}).Draw(t, "spacing")
		c := q / (2 * math.Pi * f0 * r / 2) // R is source and load in parallel
		l := 1 / (math.Pow(2*math.Pi*f0, 2) * c)
		b, _ := box.Parse(folder.Disk(), "tank.box.yaml", fmt.Appendf(nil, tank, l, c))
		s, err := setup.Parse(folder.Disk(), "r.setup.yaml", fmt.Appendf(nil, resistive, r, r, f0/3.1, f0*2.7, 401, spacing))
		if b == nil || err != nil {
			t.Fatal(err)
		}
		h, err := hookup.Connect(b, b.Start(), s)
		if err != nil {
			t.Fatal(err)
		}
		result, err := Run(h, Question{Sweep: s.Sweep, Features: []Trace{LoadVoltage}, Reject: []float64{2 * f0}})
		if err != nil {
			t.Fatal(err)
		}
		f := result.Features[0]
		width := f0 / q
		if f.Where != Inside || len(f.Others) != 0 {
			t.Fatalf("%s, others %v", f.Where, f.Others)
		}
		within := func(what string, got, want, allowed float64) {
			if !(math.Abs(got-want) <= allowed) {
				t.Fatalf("%s: got %.12g, want %.12g (Q %g)", what, got, want, q)
			}
		}
		// The top of a resonance is flat: 1e-15 of rounding in the level hides 3e-8 of the width.
		within("peak", f.Peak.Frequency, f0, 1e-6*width+1e-12*f0)
		within("peak level", f.Peak.Level, 20*math.Log10(0.5), 1e-9)
		// Edges are found to 1e-12 of the frequency, which is 1e-12·Q of the width.
		tolerance := 1e-9 + 4e-12*q
		if 2*q > 3 { // both edges inside the sweep
			within("bandwidth", f.Bandwidth/width, 1, tolerance)
			within("loaded Q", f.LoadedQ/q, 1, tolerance+1e-6/q)
			within("edges", f.Low3*f.High3/f0/f0, 1, 1e-11)
		}
		if width*1000/2 < 0.6*f0 {
			within("shape factor", f.ShapeFactor/math.Sqrt((1e6-1)/(math.Pow(10, 0.6)-1)), 1, tolerance)
		}
		// At twice f0 a tank of loaded Q lies 10·log10(1 + (Q·1.5)²) below the peak.
		within("rejection", f.Rejections[0].DB, 10*math.Log10(1+math.Pow(q*1.5, 2)), 1e-9*q)
		cases++
		if width < (s.Sweep.To-s.Sweep.From)/400 {
			narrow++
			if len(result.Notices) == 0 {
				t.Fatal("a peak narrower than the sweep's step goes without a notice")
			}
		}
	})
	t.Logf("%d circuits, %d of them narrower than the step of the sweep", cases, narrow)
	if narrow < 20 || cases-narrow < 20 {
		t.Error("too few cases of one kind")
	}
}

// Two equal lossless circuits, inductively coupled beyond critical coupling and lightly damped, peak at f0/√(1 ± k)
// (F. E. Terman, Radio Engineers' Handbook, coupled circuits; from memory).
func TestDoubleTunedPeaks(t *testing.T) {
	const f0, k = 1e6, 0.1
	const c = 1e-9
	l := 1 / (math.Pow(2*math.Pi*f0, 2) * c)
	h := connect(t, fmt.Sprintf(`
box: Double
terminals: {antenna: in, receiver: out}
parts:
  T: {kind: coupled coils, windings: [{nodes: [a, ground], value: %g H}, {nodes: [b, ground], value: %g H}], coupling: %g}
  C1: {kind: capacitor, nodes: [a, ground], value: 1 nF}
  C2: {kind: capacitor, nodes: [b, ground], value: 1 nF}
  R1: {kind: resistor, nodes: [in, a], value: 10 Mohm}
  R2: {kind: resistor, nodes: [b, out], value: 10 Mohm}
`, l, l, k), fmt.Sprintf(resistive, 50., 50., 0.8e6, 1.25e6, 401, "linear"))
	f := run(t, h, Question{}).Features[0]
	if len(f.Others) != 1 {
		t.Fatalf("%d further peaks, want 1", len(f.Others))
	}
	low, high := min(f.Peak.Frequency, f.Others[0].Frequency), max(f.Peak.Frequency, f.Others[0].Frequency)
	for _, x := range []struct{ got, want float64 }{{low, f0 / math.Sqrt(1+k)}, {high, f0 / math.Sqrt(1-k)}} {
		if math.Abs(x.got/x.want-1) > 1e-6 {
			t.Errorf("peak at %.9g Hz, want %.9g", x.got, x.want)
		}
	}
}

// A trace without a peak says where it is highest, and gives no bandwidth.
func TestNoPeak(t *testing.T) {
	const lowPass = `
box: Low-pass
terminals: {antenna: a, receiver: b}
parts:
  L1: {kind: inductor, nodes: [a, b], value: 5 uH}
`
	const highPass = `
box: High-pass
terminals: {antenna: a, receiver: b}
parts:
  C1: {kind: capacitor, nodes: [a, b], value: 100 pF}
`
	over := fmt.Sprintf(resistive, 50., 50., 1e6, 10e6, 101, "log")
	// L in series with 2R falls by half the power where ωL = 2R; at 1 MHz it is already |1 + jωL/2R|² down.
	f := run(t, connect(t, lowPass, over), Question{}).Features[0]
	x := 2 * math.Pi * 1e6 * 5e-6 / 100
	corner := math.Sqrt(2*(1+x*x)-1) * 100 / (2 * math.Pi * 5e-6)
	if f.Where != LowEnd || f.Peak.Frequency != 1e6 || !math.IsNaN(f.Bandwidth) || !math.IsNaN(f.Low3) || math.Abs(f.High3/corner-1) > 1e-9 {
		t.Errorf("low-pass: %+v, want the corner at %g", f, corner)
	}
	const wire = `
box: Wire
terminals: {antenna: a, receiver: a}
parts:
  R1: {kind: resistor, nodes: [a, ground], value: 1 kohm}
`
	f = run(t, connect(t, wire, over), Question{}).Features[0]
	if f.Where != Flat || !math.IsNaN(f.Bandwidth) || !math.IsNaN(f.Low3) || !math.IsNaN(f.High3) || len(f.Others) != 0 {
		t.Errorf("wire: %+v", f)
	}
	// A steep low-pass is flat to the last digit far below its cut-off: it has no peak there all the same.
	const steep = `
box: Steep
terminals: {antenna: a, receiver: c}
parts:
  L1: {kind: inductor, nodes: [a, b], value: 0.1 uH}
  C1: {kind: capacitor, nodes: [b, ground], value: 80 pF}
  L2: {kind: inductor, nodes: [b, c], value: 0.1 uH}
`
	f = run(t, connect(t, steep, fmt.Sprintf(resistive, 50., 50., 1e3, 300e6, 2001, "log")), Question{}).Features[0]
	if f.Where != LowEnd || len(f.Others) != 0 || !math.IsNaN(f.Bandwidth) || math.IsNaN(f.High3) {
		t.Errorf("steep low-pass: %+v", f)
	}
	f = run(t, connect(t, highPass, over), Question{}).Features[0]
	if f.Where != HighEnd || f.Peak.Frequency != 10e6 || !math.IsNaN(f.Bandwidth) || math.IsNaN(f.Low3) || !math.IsNaN(f.High3) {
		t.Errorf("high-pass: %+v", f)
	}
	silent := connect(t, strings.Replace(highPass, "nodes: [a, b]", "nodes: [a, ground]", 1)+"  R1: {kind: resistor, nodes: [b, ground], value: 1 kohm}\n", over)
	r := run(t, silent, Question{AtPeak: LoadVoltage})
	if f = r.Features[0]; f.Where != Nowhere || !math.IsNaN(f.Peak.Frequency) {
		t.Errorf("nothing connected: %+v", f)
	}
}

// every runs a function on every box, setup and combination of switch positions of the demonstration bench.
func every(t *testing.T, do func(name string, h *hookup.Hookup)) {
	t.Helper()
	boxes, err := demo.Files().List(".box.yaml")
	if err != nil || len(boxes) < 3 {
		t.Fatal(boxes, err)
	}
	setups, err := demo.Files().List(".setup.yaml")
	if err != nil || len(setups) < 4 {
		t.Fatal(setups, err)
	}
	for _, boxName := range boxes {
		b, err := box.Load(demo.Files(), boxName)
		if err != nil {
			t.Fatal(err)
		}
		for _, setupName := range setups {
			s, err := setup.LoadFile(demo.Files(), setupName)
			if err != nil {
				t.Fatal(err)
			}
			settings := []box.Setting{b.Start()}
			for _, c := range b.Controls {
				if c.Switch == nil {
					continue
				}
				var more []box.Setting
				for _, base := range settings {
					for _, p := range c.Switch.Positions {
						next := box.Setting{}
						maps.Copy(next, base)
						next[c.Name] = box.Reading{Word: p.Name}
						more = append(more, next)
					}
				}
				settings = more
			}
			for _, setting := range settings {
				h, err := hookup.Connect(b, setting, s)
				if err != nil {
					t.Fatal(err)
				}
				do(fmt.Sprintf("%s, %s, %s", boxName, setupName, b.Describe(setting)), h)
			}
		}
	}
}

// On the whole demonstration bench: the power budget closes within 1e-9 and no share is negative; transducer gain is
// mismatch times dissipation; the gain over a straight wire stays under the bound of matched power, which for resistances
// is (Rs+Rl)²/(4·Rs·Rl) (conjugate match; any textbook); nothing is NaN.
func TestDemonstrationBench(t *testing.T) {
	cases, budgets := 0, 0
	worst := 0.0
	every(t, func(name string, h *hookup.Hookup) {
		cases++
		over := h.Setup.Sweep
		over.Points = 101
		r := run(t, h, Question{Sweep: over, AtPeak: LoadVoltage, At: []float64{0.7e6, 1.3e6, 3.9e6}})
		if len(r.Readings) != 4 || r.Readings[0].Frequency != r.Features[0].Peak.Frequency {
			t.Fatalf("%s: %d readings", name, len(r.Readings))
		}
		onGrid := run(t, h, Question{Sweep: over, At: []float64{r.Frequency[17]}}).Readings[0]
		if want := (Reading{
			r.Frequency[17], r.LoadV[17], r.LoadPhase[17], r.StraightV[17], r.InsertionGain[17], r.TransducerGain[17], r.InputMismatch[17],
			r.Dissipation[17], r.InputImpedance[17], r.OutputImpedance[17],
		}); onGrid != want {
			t.Errorf("%s: a reading at a point of the sweep is not the sweep's:\n%+v\n%+v", name, onGrid, want)
		}
		for _, b := range r.Budgets {
			budgets++
			worst = math.Max(worst, math.Abs(b.Sum()-1))
			if !(math.Abs(b.Sum()-1) < 1e-9) {
				t.Errorf("%s: the shares at %g Hz add to %.12f", name, b.Frequency, b.Sum())
			}
			for _, s := range b.Shares {
				if s.Fraction < -1e-12 {
					t.Errorf("%s: %s takes %g at %g Hz", name, s.Name, s.Fraction, b.Frequency)
				}
			}
		}
		for i, f := range r.Frequency {
			if h.Setup.Source.Kind.Name == "generator" && h.Setup.Load.Kind.Name == "resistor" {
				const rs, rl = 270., 50.
				if bound := 10 * math.Log10((rs+rl)*(rs+rl)/(4*rs*rl)); r.InsertionGain[i] > bound+1e-9 {
					t.Errorf("%s: %g dB over a straight wire at %g Hz, the bound is %g", name, r.InsertionGain[i], f, bound)
				}
			}
			if sum := r.InputMismatch[i] + r.Dissipation[i]; math.Abs(sum-r.TransducerGain[i]) > 1e-6 {
				t.Errorf("%s: at %g Hz transducer gain %g dB, mismatch and dissipation %g dB", name, f, r.TransducerGain[i], sum)
			}
			if r.InputMismatch[i] > 1e-9 || r.Dissipation[i] > 1e-9 {
				t.Errorf("%s: at %g Hz mismatch %g dB, dissipation %g dB", name, f, r.InputMismatch[i], r.Dissipation[i])
			}
			for _, v := range []float64{r.LoadV[i], r.LoadPhase[i], r.StraightV[i], r.InsertionGain[i], real(r.InputImpedance[i]), real(r.OutputImpedance[i])} {
				if math.IsNaN(v) {
					t.Fatalf("%s: NaN at %g Hz", name, f)
				}
			}
		}
	})
	t.Logf("%d settings, %d budgets, the worst sum off by %.2g", cases, budgets, worst)
	if cases < 50 || budgets < 200 {
		t.Error("too few cases")
	}
}

// An open load without a probe takes no power: the ratios of power do not exist and a notice says so; the voltage does.
func TestOpenLoadWithoutProbe(t *testing.T) {
	h := connect(t, fmt.Sprintf(tank, 10e-6, 1e-9), `
setup: Open
source: {kind: generator, emf: 2 V, impedance: 50 ohm}
load: {kind: open}
sweep: {from: 1 MHz, to: 2 MHz, points: 11}
`)
	r := run(t, h, Question{})
	for i := range r.Frequency {
		if !math.IsInf(r.TransducerGain[i], -1) || !(r.LoadV[i] > 0) || r.StraightV[i] != 2 {
			t.Fatalf("row %d: transducer gain %g, load %g, straight %g", i, r.TransducerGain[i], r.LoadV[i], r.StraightV[i])
		}
	}
	if len(r.Notices) == 0 || !strings.Contains(strings.Join(r.Notices, " "), "no real power") {
		t.Errorf("notices: %q", r.Notices)
	}
}

// The S-parameters of a series impedance Z between references R are S11 = Z/(Z+2R), S21 = 2R/(Z+2R) (textbook).
func TestScatteringOfASeriesCoil(t *testing.T) {
	b, err := box.Parse(folder.Disk(), "coil.box.yaml", []byte(`
box: Coil
terminals: {antenna: a, receiver: b}
parts:
  L1: {kind: inductor, nodes: [a, b], value: 5 uH, Q: 100}
`))
	if err != nil {
		t.Fatal(err)
	}
	for _, reference := range []float64{50, 600} {
		r, err := RunScattering(b, b.Start(), setup.Sweep{From: 1e6, To: 30e6, Points: 7}, reference)
		if err != nil {
			t.Fatal(err)
		}
		for i, f := range r.Frequency {
			x := 2 * math.Pi * f * 5e-6
			z := complex(x/100, x)
			two := complex(2*reference, 0)
			want := [4]complex128{z / (z + two), two / (z + two), two / (z + two), z / (z + two)}
			for k := range want {
				if cmplx.Abs(r.S[i][k]-want[k]) > 1e-13 {
					t.Errorf("%g ohm, %g Hz: S[%d] = %v, want %v", reference, f, k, r.S[i][k], want[k])
				}
			}
		}
	}
}

// BenchmarkSweep is one setting over 401 points with its features and power budget: the computation of one sweep.
func BenchmarkSweep(b *testing.B) {
	for _, name := range []string{"tern-point.box.yaml", "harbour-t.box.yaml", "lamp-room.box.yaml"} {
		bx, err := box.Load(demo.Files(), name)
		if err != nil {
			b.Fatal(err)
		}
		s, err := setup.LoadFile(demo.Files(), demo.DefaultSetup)
		if err != nil {
			b.Fatal(err)
		}
		b.Run(name, func(b *testing.B) {
			b.ReportAllocs()
			for b.Loop() {
				h, err := hookup.Connect(bx, bx.Start(), s)
				if err != nil {
					b.Fatal(err)
				}
				if _, err := Run(h, Question{Sweep: s.Sweep, AtPeak: LoadVoltage, Features: []Trace{LoadVoltage}}); err != nil {
					b.Fatal(err)
				}
			}
		})
	}
}
