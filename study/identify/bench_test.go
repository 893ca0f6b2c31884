package identify

import (
	"context"
	"fmt"
	"math"
	"strings"
	"testing"
	"testing/fstest"

	"knobwise/bench/box"
	"knobwise/bench/folder"
	"knobwise/bench/hookup"
	"knobwise/bench/measurement"
	"knobwise/bench/trace"
	"knobwise/study/leastsquares"
)

// The ten unknown values of the comparison with tools/ratio/fit.py, which has the same circuit, settings, data and start.
const ten = `box: Ten
terminals: {antenna: ant, receiver: rx}
parts:
  C1: {kind: variable capacitor, nodes: [a, ground], range: 12 pF .. 365 pF}
  C2: {kind: variable capacitor, nodes: [b, ground], range: 12 pF .. 365 pF}
  C3: {kind: capacitor, nodes: [ant, a], value: C3}
  C4: {kind: capacitor, nodes: [a, b], value: C4}
  C5: {kind: capacitor, nodes: [b, c], value: C5}
  C6: {kind: capacitor, nodes: [d, ground], value: C6}
  L1: {kind: inductor, nodes: [a, ground], value: L1, Q: Q1}
  L2: {kind: inductor, nodes: [b, ground], value: L2, Q: Q2}
  L3: {kind: inductor, nodes: [c, d], value: L3, Q: 100}
  R1: {kind: resistor, nodes: [c, ground], value: R1}
  L4: {kind: inductor, nodes: [d, rx], value: 2 uH, Q: 100}
  C7: {kind: capacitor, nodes: [e, rx], value: 47 pF}
  R2: {kind: resistor, nodes: [e, ground], value: 1 kohm}
  R3: {kind: resistor, nodes: [e, f], value: 1 kohm}
  C8: {kind: capacitor, nodes: [f, ground], value: 100 pF}
controls:
  Front: {knob: C1, scale: 0 .. 10}
  Rear: {knob: C2, scale: 0 .. 10}
`

var (
	tenTruth = map[string]string{"C3": "56 pF", "C4": "9 pF", "C5": "120 pF", "C6": "68 pF", "L1": "47 uH", "L2": "45 uH", "L3": "5 uH", "Q1": "150", "Q2": "130", "R1": "2 kohm"}
	tenStart = map[string]string{"C3": "? 80 pF", "C4": "? 14 pF", "C5": "? 90 pF", "C6": "? 50 pF", "L1": "? 40 uH", "L2": "? 52 uH", "L3": "? 7 uH", "Q1": "? 100", "Q2": "? 100", "R1": "? 1.5 kohm"}
)

func tenBox(t testing.TB, values map[string]string) *box.Box {
	t.Helper()
	text := ten
	for name, v := range values {
		field := "value: "
		if name[0] == 'Q' {
			field = "Q: "
		}
		text = strings.Replace(text, field+name, field+`"`+v+`"`, 1)
	}
	b, err := box.Parse(folder.Disk(), "ten.box.yaml", []byte(text))
	if err != nil {
		t.Fatal(err)
	}
	return b
}

// tenSystem is the problem: 40 settings of 101 points, ratios to straight through, 1 % noise that is known.
func tenSystem(t testing.TB, workers int) *system {
	t.Helper()
	s, _, err := prepare(tenQuestion(t, workers))
	if err != nil {
		t.Fatal(err)
	}
	for i, m := range s.models {
		for k := range m.data {
			s.sigma[i][k] = 0.01 * m.data[k]
		}
	}
	return s
}

func tenQuestion(t testing.TB, workers int) Question {
	t.Helper()
	const st = "setup: S\nsource: {kind: generator, emf: 1 V, impedance: 50 ohm, series: 220 ohm}\nload: {kind: resistor, value: 50 ohm}\nsweep: {from: 0.8 MHz, to: 4 MHz, points: 101}\n"
	list := "box: x.box.yaml\nmeasurements:\n"
	for i := range 40 {
		list += fmt.Sprintf("  - {file: m.csv, setup: s.setup.yaml, reference: r.csv, setting: {Front: %g, Rear: %g}}\n", 1+float64(i%8), 1+2*float64(i/8)*0.9)
	}
	truth := tenBox(t, tenTruth)
	known := tenBox(t, tenStart)
	files := folder.Within(fstest.MapFS{"x.box.yaml": {Data: known.Document.Source}, "s.setup.yaml": {Data: []byte(st)}, "x.measurements.yaml": {Data: []byte(list)}})
	f, err := measurement.LoadFile(files, "x.measurements.yaml")
	if err != nil {
		t.Fatal(err)
	}
	q := Question{Box: f.Box, Measurements: f.Measurements, Workers: workers}
	point := 0
	for _, m := range f.Measurements {
		h, err := hookup.Connect(truth, m.Setting, m.Setup)
		if err != nil {
			t.Fatal(err)
		}
		tr := &trace.Trace{File: "m", Quantity: measurement.Amplitude, Relative: true, Frequency: m.Setup.Sweep.Frequencies()}
		for _, hz := range tr.Frequency {
			if _, err := h.Insertion().Transfer(hz); err != nil {
				t.Fatal(err)
			}
			v := h.Insertion().Forward().Voltage("rx")
			s := h.Insertion().Straight()
			// Noise that two languages can make alike: the golden ratio's multiples, spread like a sine.
			_, part := math.Modf(float64(point) * 0.6180339887498949)
			tr.Level = append(tr.Level, math.Hypot(real(v), imag(v))/math.Hypot(real(s), imag(s))*(1+0.01*math.Sqrt2*math.Cos(2*math.Pi*part)))
			point++
		}
		q.Traces = append(q.Traces, tr)
	}
	return q
}

func benchmarkTen(b *testing.B, workers int) {
	s := tenSystem(b, workers)
	var start []float64
	for _, v := range s.vars {
		start = append(start, v.coordinate(v.guess))
	}
	var res leastsquares.Result
	for b.Loop() {
		var err error
		if res, err = leastsquares.Fit(context.Background(), s.problem(), start, leastsquares.Options{Reduction: 1e-8, Step: 1e-8, Gradient: 1e-8}); err != nil {
			b.Fatal(err)
		}
	}
	b.ReportMetric(res.Cost, "cost")
	b.ReportMetric(float64(res.Evaluations), "evaluations")
	b.ReportMetric(float64(res.Jacobians), "jacobians")
}

func BenchmarkFitTen(b *testing.B) {
	b.Run("one_thread", func(b *testing.B) { benchmarkTen(b, 1) })
	b.Run("two_threads", func(b *testing.B) { benchmarkTen(b, 2) })
}

// The whole question: 32 starts, the best polished, the noise learnt, intervals.
func BenchmarkRunTen(b *testing.B) {
	q := tenQuestion(b, 0)
	for b.Loop() {
		if _, err := Run(context.Background(), q); err != nil {
			b.Fatal(err)
		}
	}
}

func BenchmarkEvaluateTen(b *testing.B) {
	s := tenSystem(b, 1)
	var p []float64
	for _, v := range s.vars {
		p = append(p, v.coordinate(v.guess))
	}
	r, jac := make([]float64, s.total), make([]float64, s.total*s.size())
	for b.Loop() {
		if err := s.evaluate(context.Background(), p, r, jac); err != nil {
			b.Fatal(err)
		}
	}
}
