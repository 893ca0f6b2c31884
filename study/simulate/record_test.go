package simulate_test

import (
	"bytes"
	"math"
	"slices"
	"strings"
	"testing"
	"testing/fstest"

	"knobwise/bench/box"
	"knobwise/bench/folder"
	"knobwise/bench/hookup"
	"knobwise/bench/measurement"
	"knobwise/bench/setup"
	"knobwise/bench/trace"
	"knobwise/study/residual"
	"knobwise/study/simulate"
	"knobwise/study/sweep"
)

// The chain of TestChain from records that are much too short for their carrier: slow sweeps of 0.002 to 0.2 samples per
// period, with the noise of an oscilloscope. What is left is no more than the noise lets expect and a few hundredths of a decibel.
func TestUndersampledChain(t *testing.T) {
	rows := 0
	for _, q := range []float64{30, 100} {
		b, s := resonator(t, q)
		h, err := hookup.Connect(b, b.Start(), s)
		if err != nil {
			t.Fatal(err)
		}
		found, err := sweep.Run(h, sweep.Question{Sweep: s.Sweep, Features: []sweep.Trace{sweep.LoadVoltage}})
		if err != nil {
			t.Fatal(err)
		}
		f := found.Features[0]
		span := s.Sweep.To - s.Sweep.From
		over := s.Sweep
		over.Time = span / (0.003 * f.Bandwidth * f.Bandwidth)
		for _, perBandwidth := range []float64{128, 1000} {
			samples := int(perBandwidth * span / f.Bandwidth)
			peak := math.Sqrt2 * math.Pow(10, f.Peak.Level/20)
			r, err := simulate.Run(t.Context(), simulate.Question{Hookup: h, Sweep: over, Samples: samples, Noise: 0.005 * peak, Seed: 7})
			if err != nil {
				t.Fatal(err)
			}
			x, err := trace.Read(t.Context(), bytes.NewReader(csv(r)), "c.csv", trace.Spec{Quantity: measurement.Waveform, Sweep: over})
			if err != nil {
				t.Fatal(err)
			}
			within(x, 20)
			y, err := residual.Run(t.Context(), b, &measurement.Measurement{Name: "c", Setup: s, Setting: b.Start(), Quantity: measurement.Waveform}, x)
			if err != nil {
				t.Fatal(err)
			}
			rows++
			t.Logf("loaded Q %.1f, %d samples in %.3g s: shift %+.1f Hz of %.0f Hz, rms %.3f dB, noise %.3f dB", f.LoadedQ, samples, over.Time, y.PeakShift, f.Bandwidth, y.RMS, y.Noise)
			if math.Abs(y.PeakShift) > 0.03*f.Bandwidth || y.RMS > 1.5*y.Noise+0.05 {
				t.Errorf("Q %g, %d samples: shift %g Hz, rms %g dB, noise %g dB", q, samples, y.PeakShift, y.RMS, y.Noise)
			}
		}
	}
	if rows != 4 {
		t.Errorf("%d rows", rows)
	}
}

// The trace and its reference have noise of their own, each the same for the same seed.
func TestNoiseOfTheReference(t *testing.T) {
	b, s := resonator(t, 100)
	h, err := hookup.Connect(b, b.Start(), s)
	if err != nil {
		t.Fatal(err)
	}
	noise := func(straight bool, seed uint64) []float64 {
		over := s.Sweep
		over.Time = 1e-3
		q := simulate.Question{Hookup: h, Sweep: over, Samples: 4000, Straight: straight, Seed: seed}
		clean, err := simulate.Run(t.Context(), q)
		if err != nil {
			t.Fatal(err)
		}
		q.Noise = 1e-2
		rough, err := simulate.Run(t.Context(), q)
		if err != nil {
			t.Fatal(err)
		}
		out := make([]float64, len(clean.Voltage))
		for i := range out {
			out[i] = (rough.Voltage[i] - clean.Voltage[i]) / q.Noise
		}
		return out
	}
	alike := func(a, b []float64) float64 {
		sum := 0.0
		for i := range a {
			sum += a[i] * b[i] / float64(len(a))
		}
		return sum
	}
	through, straight := noise(false, 1), noise(true, 1)
	if c := alike(through, noise(false, 1)); math.Abs(c-1) > 0.1 {
		t.Errorf("the same seed: correlation %g", c)
	}
	for name, other := range map[string][]float64{"the reference": straight, "another seed": noise(false, 2)} {
		if c := alike(through, other); math.Abs(c) > 0.08 {
			t.Errorf("%s: correlation %g", name, c)
		}
	}
}

// The curve of an endless sweep has the peak of a crystal that is ten thousand times narrower than the sweep.
func TestEndlessSweepOfACrystal(t *testing.T) {
	files := folder.Within(fstest.MapFS{
		"x.box.yaml": {Data: []byte(`box: Crystal
terminals: {antenna: a, receiver: b}
parts:
  X1: {kind: crystal, nodes: [a, b], resistance: 20 ohm, inductance: 300 mH, capacitance: 0.004 pF, holder: 5 pF}
`)},
		"s.setup.yaml": {Data: []byte(`setup: Bench
source: {kind: generator, emf: 1 V, impedance: 50 ohm}
load: {kind: resistor, value: 50 ohm}
sweep: {from: 4.2 MHz, to: 5 MHz, time: 1 ms}
`)},
	})
	b, err := box.Load(files, "x.box.yaml")
	if err != nil {
		t.Fatal(err)
	}
	s, err := setup.LoadFile(files, "s.setup.yaml")
	if err != nil {
		t.Fatal(err)
	}
	h, err := hookup.Connect(b, b.Start(), s)
	if err != nil {
		t.Fatal(err)
	}
	r, err := simulate.Run(t.Context(), simulate.Question{Hookup: h, Sweep: s.Sweep, Samples: 1201})
	if err != nil {
		t.Fatal(err)
	}
	// 120 ohm at series resonance, 64 Hz wide.
	if want := math.Sqrt2 * 50 / 120; math.Abs(r.SteadyHighest/want-1) > 0.01 {
		t.Errorf("highest %g V, want %g V", r.SteadyHighest, want)
	}
	// Between its nodes the curve is that of the model.
	checked := 0
	for i := 0; i < len(r.Steady); i += 10 {
		x, err := h.Response(s.Sweep.From + (s.Sweep.To-s.Sweep.From)*float64(i)/1200)
		if err != nil {
			t.Fatal(err)
		}
		checked++
		if want := math.Sqrt2 * math.Hypot(real(x.Load), imag(x.Load)); math.Abs(r.Steady[i]/want-1) > 0.01 {
			t.Errorf("sample %d: %g V, want %g V", i, r.Steady[i], want)
		}
	}
	if checked != 121 || slices.ContainsFunc(r.Notices, func(n string) bool { return strings.Contains(n, "clipped") }) {
		t.Errorf("%d checked, %v", checked, r.Notices)
	}
}
