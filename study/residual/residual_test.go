package residual_test

import (
	"fmt"
	"math"
	"math/cmplx"
	"math/rand/v2"
	"strings"
	"testing"

	"knobwise/bench/box"
	"knobwise/bench/demo"
	"knobwise/bench/folder"
	"knobwise/bench/hookup"
	"knobwise/bench/measurement"
	"knobwise/bench/setup"
	"knobwise/bench/trace"
	"knobwise/study/residual"
	"knobwise/study/sweep"
)

func loaded(t *testing.T, setupFile string) (*box.Box, *setup.Setup) {
	t.Helper()
	files := folder.Within(demo.FS())
	b, err := box.Load(files, demo.DefaultBox)
	if err != nil {
		t.Fatal(err)
	}
	s, err := setup.LoadFile(files, setupFile)
	if err != nil {
		t.Fatal(err)
	}
	return b, s
}

// A trace made from the model, with noise and another level, leaves the noise and the level.
func TestNoiseIsLeft(t *testing.T) {
	random := rand.New(rand.NewPCG(3, 9))
	rows := 0
	for _, setupFile := range []string{"bench-50.setup.yaml", "bench-probe.setup.yaml"} {
		b, s := loaded(t, setupFile)
		at := b.Start()
		h, err := hookup.Connect(b, at, s)
		if err != nil {
			t.Fatal(err)
		}
		for _, c := range []struct {
			quantity measurement.Quantity
			relative bool
			level    float64 // by which the generator is stronger than the setup says, dB
		}{{measurement.Amplitude, false, -3.2}, {measurement.Amplitude, true, 0}, {measurement.Decibel, false, 40}, {measurement.Decibel, true, 0}} {
			x := &trace.Trace{File: "x.csv", Quantity: c.quantity, Relative: c.relative}
			const noise = 0.02 // relative
			for _, f := range s.Sweep.Frequencies() {
				r, err := h.Response(f)
				if err != nil {
					t.Fatal(err)
				}
				v := cmplx.Abs(r.Load)
				if c.relative {
					v /= cmplx.Abs(r.Straight)
				}
				v *= math.Pow(10, c.level/20) * (1 + noise*random.NormFloat64())
				if c.quantity == measurement.Decibel {
					v = 20 * math.Log10(v)
				}
				x.Frequency, x.Level = append(x.Frequency, f), append(x.Level, v)
			}
			if c.quantity == measurement.Decibel {
				x.Noise = noise * 20 / math.Ln10
			}
			r, err := residual.Run(t.Context(), b, &measurement.Measurement{Name: "x", Setup: s, Setting: at}, x)
			if err != nil {
				t.Fatal(err)
			}
			rows++
			if want := noise * 20 / math.Ln10; math.Abs(r.RMS/want-1) > 0.12 {
				t.Errorf("%+v: rms %g dB, the noise makes %g dB", c, r.RMS, want)
			}
			if math.Abs(r.Offset+c.level) > 0.03 || r.Fitted == c.relative {
				t.Errorf("%+v: offset %g dB", c, r.Offset)
			}
			if c.quantity == measurement.Decibel && math.Abs(r.Noise-x.Noise) > 1e-12 {
				t.Errorf("%+v: noise %g dB", c, r.Noise)
			}
			gain, volts := r.InsertionGain(), r.LoadVoltage()
			for i := range gain {
				if x, err := h.Response(r.Frequency[i]); err != nil || math.Abs(volts[i]/cmplx.Abs(x.Straight)/math.Pow(10, gain[i]/20)-1) > 1e-12 {
					t.Fatalf("%+v: gain and voltage disagree at %g Hz", c, r.Frequency[i])
				}
			}
			if (r.Shown == residual.InsertionGain) != c.relative || len(r.Residual) != len(x.Frequency) {
				t.Errorf("%+v: %s, %d points", c, r.Shown, len(r.Residual))
			}
		}
	}
	if rows != 8 {
		t.Errorf("%d rows", rows)
	}
}

// A noise that the file of measurements gives is a part of each amplitude: it is the same number of dB at every point.
func TestNoiseIsAPart(t *testing.T) {
	b, s := loaded(t, demo.DefaultSetup)
	cases := 0
	for _, quantity := range []measurement.Quantity{measurement.Amplitude, measurement.Decibel} {
		for _, peak := range []bool{false, true} {
			x := &trace.Trace{File: "x.csv", Quantity: quantity, Frequency: []float64{1e6, 2e6, 3e6}, Level: []float64{1, 0.001, 20}, NoisePart: 0.01, Noise: 7, Peak: peak}
			r, err := residual.Run(t.Context(), b, &measurement.Measurement{Name: "x", Setup: s, Setting: b.Start()}, x)
			cases++
			if err != nil || math.Abs(r.Noise-0.0868589) > 1e-6 { // 20·log10(e)·0.01
				t.Errorf("%s: noise %g dB, %v", quantity, r.Noise, err)
			}
		}
	}
	if cases != 4 {
		t.Errorf("%d cases", cases)
	}
	// One that was found in the trace is in volts: half the amplitude has twice the dB.
	x := &trace.Trace{File: "x.csv", Quantity: measurement.Amplitude, Frequency: []float64{1e6, 2e6}, Level: []float64{1, 0.5}, Noise: 0.01}
	r, err := residual.Run(t.Context(), b, &measurement.Measurement{Name: "x", Setup: s, Setting: b.Start()}, x)
	if want := 0.0868589 * math.Sqrt(2.5); err != nil || math.Abs(r.Noise-want) > 1e-6 {
		t.Errorf("noise %g dB, want %g, %v", r.Noise, want, err)
	}
}

// A dial that stood elsewhere shows as a shift of the peak.
func TestShift(t *testing.T) {
	b, s := loaded(t, demo.DefaultSetup)
	there := b.Start().With("Input", box.Reading{Number: 4})
	found := func(at box.Setting) *sweep.Result {
		h, err := hookup.Connect(b, at, s)
		if err != nil {
			t.Fatal(err)
		}
		r, err := sweep.Run(h, sweep.Question{Sweep: s.Sweep, Features: []sweep.Trace{sweep.LoadVoltage}})
		if err != nil {
			t.Fatal(err)
		}
		return r
	}
	a, z := found(b.Start()), found(there)
	x := &trace.Trace{Quantity: measurement.Amplitude, Frequency: z.Frequency, Level: z.LoadV}
	r, err := residual.Run(t.Context(), b, &measurement.Measurement{Name: "x", Setup: s, Setting: b.Start()}, x)
	if err != nil {
		t.Fatal(err)
	}
	if want := z.Features[0].Peak.Frequency - a.Features[0].Peak.Frequency; math.Abs(r.PeakShift-want) > 300 {
		t.Errorf("shift %g Hz, the peaks are %g Hz apart", r.PeakShift, want)
	}
	if math.Abs(r.Worst) < 1 || r.RMS < 0.3 {
		t.Errorf("worst %g dB, rms %g dB", r.Worst, r.RMS)
	}
}

// S-parameters of the model itself are no distance away, those of another setting are.
func TestScattering(t *testing.T) {
	b, s := loaded(t, demo.DefaultSetup)
	over := s.Sweep
	over.Points = 51
	for _, reference := range []float64{50, 75} {
		model, err := sweep.RunScattering(b, b.Start(), over, reference)
		if err != nil {
			t.Fatal(err)
		}
		x := &trace.Trace{File: "m.s2p", Quantity: measurement.Scattering, Frequency: model.Frequency, Ports: 2, References: []float64{reference, reference}}
		for _, row := range model.S {
			x.S = append(x.S, row[:])
		}
		m := &measurement.Measurement{Name: "m", Setup: s, Setting: b.Start(), Quantity: measurement.Scattering}
		r, err := residual.Run(t.Context(), b, m, x)
		if err != nil {
			t.Fatal(err)
		}
		if r.Distance > 1e-12 || r.RMS > 1e-9 || r.Shown != residual.Forward || r.Fitted {
			t.Errorf("distance %g, rms %g dB", r.Distance, r.RMS)
		}
		m.Setting = b.Start().With("Input", box.Reading{Number: 5})
		if r, err = residual.Run(t.Context(), b, m, x); err != nil || r.Distance < 0.05 {
			t.Errorf("another setting: distance %g, %v", r.Distance, err)
		}
	}
	// Where S21 is zero there is no level, but a distance: here of S21 itself.
	model, err := sweep.RunScattering(b, b.Start(), over, 50)
	if err != nil {
		t.Fatal(err)
	}
	zero := &trace.Trace{File: "m.s2p", Quantity: measurement.Scattering, Frequency: model.Frequency, Ports: 2, References: []float64{50, 50}}
	want := 0.0
	for i, row := range model.S {
		measured := []complex128{row[0], row[1], row[2], row[3]}
		if i%2 == 1 {
			want += cmplx.Abs(row[2]) * cmplx.Abs(row[2])
			measured[2] = 0
		}
		zero.S = append(zero.S, measured)
	}
	want = math.Sqrt(want / float64(4*len(model.S)))
	at, err := residual.Run(t.Context(), b, &measurement.Measurement{Name: "m", Setup: s, Setting: b.Start(), Quantity: measurement.Scattering}, zero)
	if err != nil || math.Abs(at.Distance/want-1) > 1e-9 || !strings.Contains(strings.Join(at.Notices, "; "), "25 of 51 points have an S21 of zero") {
		t.Errorf("distance %g, want %g; %q %v", at.Distance, want, at.Notices, err)
	}
	// A one-port is what the source sees.
	h, err := hookup.Connect(b, b.Start(), s)
	if err != nil {
		t.Fatal(err)
	}
	y := &trace.Trace{File: "m.s1p", Quantity: measurement.Scattering, Ports: 1, References: []float64{50}}
	for _, f := range over.Frequencies() {
		x, err := h.Response(f)
		if err != nil {
			t.Fatal(err)
		}
		y.Frequency, y.S = append(y.Frequency, f), append(y.S, []complex128{(x.InputImpedance - 50) / (x.InputImpedance + 50)})
	}
	r, err := residual.Run(t.Context(), b, &measurement.Measurement{Name: "m", Setup: s, Setting: b.Start()}, y)
	if err != nil || r.Distance > 1e-12 || r.Shown != residual.Reflection {
		t.Errorf("one-port: %+v %v", r, err)
	}
	y.References = []float64{50, 75}
	y.Ports = 2
	if _, err := residual.Run(t.Context(), b, &measurement.Measurement{Name: "m", Setup: s, Setting: b.Start()}, y); err == nil || !strings.Contains(err.Error(), "50 and 75 ohm") {
		t.Error(err)
	}
}

// What cannot be compared is left out and told.
func TestLeftOut(t *testing.T) {
	b, s := loaded(t, "parapet-wire.setup.yaml") // covers 300 kHz to 12 MHz
	x := &trace.Trace{File: "x.csv", Quantity: measurement.Amplitude, Frequency: []float64{1e5, 1e6, 2e6, 3e6, 4e6, 2e7}, Level: []float64{1, 1, 0, 1, 1e-9, 1}}
	r, err := residual.Run(t.Context(), b, &measurement.Measurement{Name: "x", Setup: s, Setting: b.Start()}, x)
	if err != nil {
		t.Fatal(err)
	}
	told := strings.Join(r.Notices, "; ")
	for _, says := range []string{"2 of 6 points lie outside", "1 of 6 points have no level", "1 points more than 120 dB below"} {
		if !strings.Contains(told, says) {
			t.Errorf("%q is not told in %q", says, told)
		}
	}
	if fmt.Sprint(r.Frequency) != "[1e+06 3e+06]" || !math.IsNaN(r.PeakShift) {
		t.Errorf("%v, shift %g", r.Frequency, r.PeakShift)
	}
	// What was left out has no part in what the noise lets expect.
	x.Noise = 0.01
	if r, err = residual.Run(t.Context(), b, &measurement.Measurement{Name: "x", Setup: s, Setting: b.Start()}, x); err != nil || math.Abs(r.Noise/(0.01*20/math.Ln10)-1) > 1e-9 {
		t.Errorf("noise %g dB, %v", r.Noise, err)
	}
	x.Frequency, x.Level = x.Frequency[:1], x.Level[:1]
	if _, err := residual.Run(t.Context(), b, &measurement.Measurement{Name: "x", Setup: s, Setting: b.Start()}, x); err == nil || !strings.Contains(err.Error(), "no point at which the model can be asked") {
		t.Error(err)
	}
}
