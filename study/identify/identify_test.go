package identify_test

import (
	"context"
	"errors"
	"fmt"
	"math"
	"math/cmplx"
	"math/rand/v2"
	"strings"
	"testing"
	"testing/fstest"
	"time"

	"knobwise/bench/box"
	"knobwise/bench/fault"
	"knobwise/bench/folder"
	"knobwise/bench/hookup"
	"knobwise/bench/measurement"
	"knobwise/bench/trace"
	"knobwise/study/identify"
)

// bench is a box with true values, the same box with some of them unknown, and traces taken from the true one.
type bench struct {
	truth   string            // box file
	hide    map[string]string // what stands in the true file, to what stands in the other
	every   map[string]string // the same, wherever it stands
	setups  map[string]string // file to text
	entries []entry
	noise   float64 // of each amplitude, relative
	misread float64 // of each dial, at most, part of the scale
	seed    uint64
	points  int
	floor   float64               // of the detector, as part of a trace's highest level: it adds in power
	ranges  bool                  // the detector has another floor for each trace
	ends    map[string]complex128 // of setups: the reflection of its load; traces of S-parameters are then reflections at the antenna socket
	single  bool                  // the detector shows each point once: the floor's noise is in it as it happened to be
}

type entry struct {
	setup     string
	setting   map[string]string
	reference bool
	quantity  string
}

const (
	fifty = "setup: F\nsource: {kind: generator, emf: 1 V, impedance: 50 ohm, series: 200 ohm}\nload: {kind: resistor, value: 50 ohm}\nsweep: {from: 0.5 MHz, to: 4 MHz, points: 101}\n"
	probe = "setup: P\nsource: {kind: generator, emf: 1 V, impedance: 50 ohm, series: 200 ohm}\nload: {kind: open}\nprobe: {resistance: 1 Mohm, capacitance: 12 pF}\nsweep: {from: 0.5 MHz, to: 4 MHz, points: 101}\n"
)

// question measures the true box and makes the question.
func (x *bench) question(t testing.TB) identify.Question {
	t.Helper()
	random := rand.New(rand.NewPCG(x.seed, 7))
	known := x.truth
	for from, to := range x.hide {
		if !strings.Contains(known, from) {
			t.Fatalf("the box has no %q", from)
		}
		known = strings.Replace(known, from, to, 1)
	}
	for from, to := range x.every {
		known = strings.ReplaceAll(known, from, to)
	}
	fsys := fstest.MapFS{"x.box.yaml": {Data: []byte(known)}}
	for name, text := range x.setups {
		fsys[name] = &fstest.MapFile{Data: []byte(text)}
	}
	list := "box: x.box.yaml\nmeasurements:\n"
	for i, e := range x.entries {
		fsys[fmt.Sprintf("m%d.csv", i)] = &fstest.MapFile{Data: []byte("1,1\n")}
		fsys["straight.csv"] = &fstest.MapFile{Data: []byte("1,1\n")}
		list += fmt.Sprintf("  - {file: m%d.csv, setup: %s, quantity: %s", i, e.setup, e.quantity)
		if e.reference {
			list += ", reference: straight.csv"
		}
		list += ", setting: {"
		var all []string
		for c, at := range e.setting {
			all = append(all, fmt.Sprintf("%s: %q", c, at))
		}
		list += strings.Join(all, ", ") + "}}\n"
	}
	files := folder.Within(fsys)
	f, err := measurement.Parse(files, "x.measurements.yaml", []byte(list))
	if err != nil {
		t.Fatal(err)
	}
	truth, err := box.Parse(files, "truth.box.yaml", []byte(x.truth))
	if err != nil {
		t.Fatal(err)
	}
	q := identify.Question{Box: f.Box, Measurements: f.Measurements, ReadingError: identify.DefaultReadingError, Seed: 1}
	for _, m := range f.Measurements {
		stood := truth.Start()
		// In the order of the box: from a map the misreadings would be others in every run.
		for _, c := range truth.Controls {
			r, ok := m.Setting[c.Name]
			if !ok {
				continue
			}
			if c.Knob != nil {
				span := c.Knob.To - c.Knob.From
				r.Number = min(max(r.Number+(2*random.Float64()-1)*x.misread*span, c.Knob.From), c.Knob.To)
			}
			stood[c.Name] = r
		}
		q.Traces = append(q.Traces, measured(t, truth, stood, m, x, random))
	}
	return q
}

func measured(t testing.TB, truth *box.Box, stood box.Setting, m *measurement.Measurement, x *bench, random *rand.Rand) *trace.Trace {
	t.Helper()
	out := &trace.Trace{File: m.Trace, Quantity: m.Quantity, Relative: m.Reference != ""}
	over := m.Setup.Sweep
	if x.points > 0 {
		over.Points = x.points
	}
	h, err := hookup.Connect(truth, stood, m.Setup)
	if err != nil {
		t.Fatal(err)
	}
	between, err := hookup.ConnectBetween(truth, stood, 50)
	if err != nil {
		t.Fatal(err)
	}
	out.Ports, out.References = 2, []float64{50, 50}
	for _, f := range over.Frequencies() {
		r, err := h.Response(f)
		if err != nil {
			t.Fatal(err)
		}
		out.Frequency = append(out.Frequency, f)
		switch m.Quantity {
		case measurement.Scattering:
			s, err := between.Scattering(f)
			if err != nil {
				t.Fatal(err)
			}
			if end, ok := x.ends[m.SetupFile]; ok {
				// A two-port that is closed at the far side: the textbook's S11 + S12·S21·Γ/(1 - S22·Γ).
				s[0] += s[1] * s[2] * end / (1 - s[3]*end)
				s[0] += complex(random.NormFloat64(), random.NormFloat64()) * complex(x.noise/math.Sqrt2, 0)
				out.S, out.Ports, out.References = append(out.S, []complex128{s[0]}), 1, []float64{50}
				continue
			}
			for i := range s {
				s[i] += complex(random.NormFloat64(), random.NormFloat64()) * complex(x.noise/math.Sqrt2, 0)
			}
			out.S = append(out.S, s[:])
			continue
		}
		v := cmplx.Abs(r.Load)
		if out.Relative {
			v /= cmplx.Abs(r.Straight)
		} else {
			v *= 0.37 // whatever the generator gave
		}
		out.Level = append(out.Level, v)
	}
	top := 0.0
	for _, v := range out.Level {
		top = max(top, v)
	}
	floor := x.floor * top
	if x.ranges {
		floor *= 0.5 + 1.5*random.Float64()
	}
	for i, v := range out.Level {
		switch {
		case x.single:
			v = cmplx.Abs(complex(v, 0) + complex(random.NormFloat64(), random.NormFloat64())*complex(floor/math.Sqrt2, 0))
		case x.floor > 0:
			v = math.Hypot(v, floor)
		}
		out.Level[i] = v * (1 + x.noise*random.NormFloat64())
		if m.Quantity == measurement.Decibel {
			out.Level[i] = 20 * math.Log10(out.Level[i])
		}
	}
	return out
}

func run(t testing.TB, q identify.Question) *identify.Result {
	t.Helper()
	begun := time.Now()
	r, err := identify.Run(context.Background(), q)
	if err != nil {
		t.Fatal(err)
	}
	t.Logf("%s in %v: rms %.2f, runs %.1f, stop %q, %d of %d starts, %d evaluations, reading error %.4f", r.Status, time.Since(begun).Round(time.Millisecond), r.RMS, r.Runs, r.Stop, r.Same, r.Starts, r.Evaluations, r.ReadingError)
	for _, v := range r.Values {
		t.Logf("  %s %s: %.5g in %.5g .. %.5g, determined %v, profile %v %s", v.Part, v.Field, v.Value, v.Low, v.High, v.Determined, v.ByProfile, v.Why)
	}
	for _, d := range r.Degenerate {
		t.Log("  ", d.Text)
	}
	for _, n := range r.Notices {
		t.Log("  note:", n)
	}
	return r
}

const pi = `box: Pi
terminals: {antenna: ant, receiver: rx}
parts:
  C1: {kind: variable capacitor, nodes: [a, ground], range: 14 pF .. 390 pF, Q: 300}
  C2: {kind: variable capacitor, nodes: [b, ground], range: 14 pF .. 390 pF, Q: 300}
  C3: {kind: capacitor, nodes: [ant, a], value: 47 pF, Q: 500}
  C4: {kind: capacitor, nodes: [b, rx], value: 82 pF, Q: 500}
  L1: {kind: inductor, nodes: [a, b], value: 33 uH, Q: 140}
controls:
  Front: {knob: C1, scale: 0 .. 10}
  Rear: {knob: C2, scale: 0 .. 10}
`

func settings(setup string, reference bool, quantity string, at ...[2]string) (all []entry) {
	for _, x := range at {
		all = append(all, entry{setup, map[string]string{"Front": x[0], "Rear": x[1]}, reference, quantity})
	}
	return all
}

func TestPi(t *testing.T) {
	for name, x := range map[string]*bench{
		"exact dials": {noise: 0.01},
		"misread":     {noise: 0.01, misread: 0.01},
		"noisy":       {noise: 0.02, misread: 0.01},
	} {
		t.Run(name, func(t *testing.T) {
			x.truth, x.seed = pi, 5
			x.hide = map[string]string{"value: 47 pF": `value: "? 10 pF .. 200 pF"`, "value: 82 pF": `value: "?"`, "value: 33 uH, Q: 140": `value: "? 5 uH .. 200 uH", Q: "? 100"`}
			x.setups = map[string]string{"f.setup.yaml": fifty, "p.setup.yaml": probe}
			x.entries = append(settings("f.setup.yaml", true, "amplitude", [2]string{"2", "3"}, [2]string{"5", "3"}, [2]string{"8", "7"}, [2]string{"3", "8"}), settings("p.setup.yaml", false, "amplitude", [2]string{"5", "5"}, [2]string{"9", "2"})...)
			r := run(t, x.question(t))
			want := map[string]float64{"C3 value": 47e-12, "C4 value": 82e-12, "L1 value": 33e-6, "L1 Q": 140}
			for _, v := range r.Values {
				truth := want[v.Part+" "+v.Field]
				if !v.Determined || math.Abs(v.Value/truth-1) > 0.1 {
					t.Errorf("%s %s: %g, is %g", v.Part, v.Field, v.Value, truth)
				}
			}
		})
	}
}

// Decibels, S-parameters of both sockets, an absolute level, and a setup with an unknown probe all lead to the same values.
func TestEveryQuantity(t *testing.T) {
	want := map[string]float64{"C3 value": 47e-12, "C4 value": 82e-12, "L1 value": 33e-6, "L1 Q": 140, "probe capacitance": 20e-12}
	hide := map[string]string{"value: 47 pF": `value: "? 10 pF .. 200 pF"`, "value: 82 pF": `value: "? 20 pF .. 300 pF"`, "value: 33 uH, Q: 140": `value: "? 5 uH .. 200 uH", Q: "? 100"`}
	five := [][2]string{{"2", "3"}, {"5", "3"}, {"8", "7"}, {"3", "8"}, {"6", "5"}}
	for name, c := range map[string]struct {
		entries []entry
		setup   string
	}{
		"dB over a reference":   {settings("f.setup.yaml", true, "dB", five...), probe},
		"dB of unknown level":   {settings("f.setup.yaml", false, "dB", five...), probe},
		"S-parameters":          {settings("f.setup.yaml", false, "s-parameters", five[:3]...), probe},
		"an unknown probe":      {append(settings("f.setup.yaml", true, "amplitude", five[:3]...), settings("p.setup.yaml", true, "amplitude", five...)...), strings.Replace(probe, "12 pF", `"? 20 pF"`, 1)},
		"amplitudes, all sorts": {append(settings("f.setup.yaml", true, "amplitude", five[:2]...), append(settings("p.setup.yaml", false, "dB", five[2:]...), settings("f.setup.yaml", false, "s-parameters", five[4])...)...), probe},
	} {
		t.Run(name, func(t *testing.T) {
			x := &bench{truth: pi, hide: hide, seed: 9, noise: 0.005, misread: 0.005, entries: c.entries, setups: map[string]string{"f.setup.yaml": fifty, "p.setup.yaml": c.setup}}
			r := run(t, x.question(t))
			seen := 0
			for _, v := range r.Values {
				truth, ok := want[v.Part+" "+v.Field]
				if !ok || !v.Determined || math.Abs(v.Value/truth-1) > 0.1 || v.Low > truth*1.02 || v.High < truth*0.98 {
					t.Errorf("%s %s: %g in %g .. %g, is %g", v.Part, v.Field, v.Value, v.Low, v.High, truth)
				}
				seen++
			}
			if seen < 4 {
				t.Errorf("%d values", seen)
			}
		})
	}
}

// Without noise and with dials read exactly the values come out to the digits of the traces.
func TestExact(t *testing.T) {
	x := &bench{
		truth: pi, seed: 3, hide: map[string]string{"value: 47 pF": `value: "?"`, "value: 33 uH, Q: 140": `value: "?", Q: "?"`},
		setups: map[string]string{"f.setup.yaml": fifty}, entries: settings("f.setup.yaml", true, "amplitude", [2]string{"2", "3"}, [2]string{"6", "4"}),
	}
	q := x.question(t)
	q.ReadingError = 0
	r := run(t, q)
	for _, v := range r.Values {
		truth := map[string]float64{"C3 value": 47e-12, "L1 value": 33e-6, "L1 Q": 140}[v.Part+" "+v.Field]
		if math.Abs(v.Value/truth-1) > 1e-5 {
			t.Errorf("%s %s: %.9g, is %g", v.Part, v.Field, v.Value, truth)
		}
	}
	if len(r.Values) != 3 || r.Status != identify.Found {
		t.Errorf("%d values, %s", len(r.Values), r.Status)
	}
}

// Two capacitors side by side: only their sum is determined, and that is said with its interval.
func TestOnlyTheSum(t *testing.T) {
	two := strings.Replace(pi, "  L1:", "  C5: {kind: capacitor, nodes: [a, ground], value: 30 pF}\n  C6: {kind: capacitor, nodes: [a, ground], value: 82 pF}\n  L1:", 1)
	for seed := range uint64(6) {
		x := &bench{
			truth: two, seed: seed, noise: 0.01, misread: 0.005,
			hide:   map[string]string{"value: 30 pF": `value: "? 5 pF .. 200 pF"`, "ground], value: 82 pF": `ground], value: "? 5 pF .. 200 pF"`, "value: 33 uH": `value: "? 10 uH .. 100 uH"`},
			setups: map[string]string{"f.setup.yaml": fifty}, entries: settings("f.setup.yaml", true, "amplitude", [2]string{"1", "3"}, [2]string{"6", "4"}, [2]string{"9", "8"}),
		}
		r := run(t, x.question(t))
		if r.Status != identify.Partly || len(r.Degenerate) != 1 {
			t.Fatalf("%s, %d directions", r.Status, len(r.Degenerate))
		}
		d := r.Degenerate[0]
		if fmt.Sprint(d.Parts) != "[C5 C6]" || d.What != "sum" || math.Abs(d.Value-112e-12) > 2*d.Half || d.Half > 8e-12 || !strings.Contains(d.Text, "only their sum") {
			t.Errorf("%+v", d)
		}
		for _, v := range r.Values {
			if v.Determined != (v.Part == "L1") {
				t.Errorf("%s determined: %v", v.Part, v.Determined)
			}
		}
	}
}

// Of two capacitors in series only their series value is determined: that of 180 pF and 220 pF, all but equal, is 99 pF.
func TestOnlyTheSeriesValue(t *testing.T) {
	two := strings.Replace(pi, "  L1:", "  C5: {kind: capacitor, nodes: [a, z], value: 180 pF}\n  C6: {kind: capacitor, nodes: [z, ground], value: 220 pF}\n  L1:", 1)
	for seed := range uint64(6) {
		x := &bench{
			truth: two, seed: seed, noise: 0.01, misread: 0.005,
			hide:   map[string]string{"value: 180 pF": `value: "? 105 pF .. 2 nF"`, "value: 220 pF": `value: "? 105 pF .. 2 nF"`, "value: 33 uH": `value: "? 10 uH .. 100 uH"`},
			setups: map[string]string{"f.setup.yaml": fifty}, entries: settings("f.setup.yaml", true, "amplitude", [2]string{"1", "3"}, [2]string{"6", "4"}, [2]string{"9", "8"}),
		}
		r := run(t, x.question(t))
		if len(r.Degenerate) != 1 {
			t.Fatalf("%s, %d directions", r.Status, len(r.Degenerate))
		}
		if d := r.Degenerate[0]; fmt.Sprint(d.Parts) != "[C5 C6]" || d.What != "series value" || math.Abs(d.Value-99e-12) > 2*d.Half || d.Half > 8e-12 {
			t.Errorf("%+v", d)
		}
	}
}

// A value on which nothing that was measured depends is said to be so.
func TestNoEffect(t *testing.T) {
	x := &bench{
		truth: strings.Replace(pi, "  L1:", "  C9: {kind: capacitor, nodes: [z, ground], value: 30 pF}\n  L1:", 1), seed: 4, noise: 0.01,
		hide:   map[string]string{"value: 30 pF": `value: "? 5 pF .. 200 pF"`, "value: 33 uH": `value: "? 10 uH .. 100 uH"`},
		setups: map[string]string{"f.setup.yaml": fifty}, entries: settings("f.setup.yaml", true, "amplitude", [2]string{"1", "3"}, [2]string{"6", "4"}),
	}
	r := run(t, x.question(t))
	if v := r.Values[0]; v.Determined || v.Why == "" || v.Low > 5.1e-12 || v.High < 199e-12 {
		t.Errorf("%+v", v)
	}
	if v := r.Values[1]; !v.Determined || math.Abs(v.Value/33e-6-1) > 0.05 {
		t.Errorf("%+v", v)
	}
	if len(r.Degenerate) != 1 || !strings.Contains(r.Degenerate[0].Text, "hardly depend") {
		t.Errorf("%+v", r.Degenerate)
	}
}

// A circuit that cannot explain the traces says so, says where, and calls no value determined.
func TestWrongCircuit(t *testing.T) {
	x := &bench{truth: pi, seed: 6, noise: 0.01, misread: 0.005, hide: map[string]string{
		"C3: {kind: capacitor, nodes: [ant, a], value: 47 pF, Q: 500}": `C3: {kind: inductor, nodes: [ant, a], value: "?", Q: 100}`,
		"value: 33 uH, Q: 140": `value: "?", Q: "? 100"`,
	}, setups: map[string]string{"f.setup.yaml": fifty}, entries: settings("f.setup.yaml", true, "amplitude", [2]string{"2", "3"}, [2]string{"5", "3"}, [2]string{"8", "7"}, [2]string{"3", "8"})}
	r := run(t, x.question(t))
	if r.Status != identify.Unexplained || r.RMS < 2 || r.Runs > -6 {
		t.Errorf("%s, left %g, runs %g", r.Status, r.RMS, r.Runs)
	}
	for _, v := range r.Values {
		if v.Determined {
			t.Errorf("%s counts as determined", v.Part)
		}
	}
	if !strings.Contains(strings.Join(r.Notices, " "), "it fails most in m") {
		t.Error(r.Notices)
	}
}

// A few bad points move no value out of its interval.
func TestBadPoints(t *testing.T) {
	x := &bench{
		truth: pi, seed: 8, noise: 0.01, misread: 0.005, hide: map[string]string{"value: 47 pF": `value: "? 20 pF .. 100 pF"`, "value: 33 uH, Q: 140": `value: "? 10 uH .. 100 uH", Q: "? 100"`},
		setups: map[string]string{"f.setup.yaml": fifty}, entries: settings("f.setup.yaml", true, "amplitude", [2]string{"2", "3"}, [2]string{"5", "3"}, [2]string{"8", "7"}),
	}
	q := x.question(t)
	clean := run(t, q)
	for _, tr := range q.Traces {
		for i := 5; i < len(tr.Level); i += 21 {
			tr.Level[i] *= 1.6
		}
	}
	spoilt := run(t, q)
	for i, v := range spoilt.Values {
		was := clean.Values[i]
		if math.Abs(v.Value-was.Value) > (was.High-was.Low)*0.6 {
			t.Errorf("%s %s: %g with five bad points in each trace, %g without, %g .. %g", v.Part, v.Field, v.Value, was.Value, was.Low, was.High)
		}
	}
}

// The same question gives the same answer to the bit, on one worker and on several; another seed comes to the same minimum.
func TestDeterministic(t *testing.T) {
	x := &bench{
		truth: pi, seed: 5, noise: 0.01, misread: 0.01, hide: map[string]string{"value: 47 pF": `value: "?"`, "value: 33 uH, Q: 140": `value: "?", Q: "? 100"`},
		setups: map[string]string{"f.setup.yaml": fifty}, entries: settings("f.setup.yaml", true, "amplitude", [2]string{"2", "3"}, [2]string{"5", "3"}, [2]string{"8", "7"}),
	}
	q := x.question(t)
	first := run(t, q)
	q.Workers = 1
	second := run(t, q)
	q.Seed = 99
	third := run(t, q)
	for i := range first.Values {
		a, b, c := first.Values[i], second.Values[i], third.Values[i]
		if a.Value != b.Value || a.Low != b.Low || a.High != b.High {
			t.Errorf("%s: %v and %v", a.Part, a, b)
		}
		if math.Abs(c.Value-a.Value) > (a.High-a.Low)/50 {
			t.Errorf("%s: %g with one seed, %g with another", a.Part, a.Value, c.Value)
		}
	}
}

// Cancelled, it ends with the context's error.
func TestCancelled(t *testing.T) {
	x := &bench{
		truth: pi, seed: 5, noise: 0.01, hide: map[string]string{"value: 47 pF": `value: "?"`}, setups: map[string]string{"f.setup.yaml": fifty},
		entries: settings("f.setup.yaml", true, "amplitude", [2]string{"2", "3"}),
	}
	q := x.question(t)
	ctx, stop := context.WithCancel(context.Background())
	q.Progress = func(p identify.Progress) {
		if p.Starts == 2 {
			stop()
		}
	}
	if _, err := identify.Run(ctx, q); !errors.Is(err, context.Canceled) {
		t.Errorf("%v", err)
	}
}

// What cannot be asked is refused in one line that says what to do.
func TestBadQuestions(t *testing.T) {
	base := bench{truth: pi, seed: 5, noise: 0.01, setups: map[string]string{"f.setup.yaml": fifty}, entries: settings("f.setup.yaml", false, "amplitude", [2]string{"2", "3"})}
	refused := func(name, says string, q identify.Question) {
		t.Helper()
		_, err := identify.Run(context.Background(), q)
		if f, ok := errors.AsType[*fault.Error](err); !ok || !strings.Contains(f.Error(), says) || f.Instead == "" {
			t.Errorf("%s: %v", name, err)
		}
	}
	refused("nothing unknown", "nothing is marked as unknown", base.question(t))
	refused("no measurement", "there is no measurement", identify.Question{Box: base.question(t).Box})
	few := base
	few.hide, few.points = map[string]string{"value: 47 pF": `value: "?"`, "value: 33 uH, Q: 140": `value: "?", Q: "? 100"`, "value: 82 pF": `value: "?"`}, 4
	refused("more unknowns than data", "Pi: 5 values and levels are to be found from 4 points", few.question(t))
	silent := base
	silent.hide = few.hide
	q := silent.question(t)
	clear(q.Traces[0].Level)
	refused("a trace of zeros", "is zero throughout", q)
	q.Traces[0].Level[3] = 1e300
	refused("a level beyond any instrument", "m0.csv has a level of 1e+300", q)
}
