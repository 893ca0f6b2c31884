package simulate_test

import (
	"bytes"
	"fmt"
	"math"
	"slices"
	"strconv"
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

// resonator is a lightly coupled tuned circuit of a given unloaded Q.
func resonator(t testing.TB, q float64) (*box.Box, *setup.Setup) {
	t.Helper()
	files := folder.Within(fstest.MapFS{
		"r.box.yaml": {Data: fmt.Appendf(nil, `box: Resonator
terminals: {antenna: a, receiver: b}
parts:
  C1: {kind: capacitor, nodes: [a, m], value: 3 pF}
  C2: {kind: capacitor, nodes: [m, b], value: 3 pF}
  C3: {kind: capacitor, nodes: [m, ground], value: 300 pF}
  L1: {kind: inductor, nodes: [m, ground], value: 20 uH, Q: %g}
`, q)},
		"s.setup.yaml": {Data: []byte(`setup: Bench
source: {kind: generator, emf: 1 V, impedance: 50 ohm}
load: {kind: resistor, value: 1 kohm}
sweep: {from: 1.6 MHz, to: 2.4 MHz, points: 401, time: 1 s}
`)},
	})
	b, err := box.Load(files, "r.box.yaml")
	if err != nil {
		t.Fatal(err)
	}
	s, err := setup.LoadFile(files, "s.setup.yaml")
	if err != nil {
		t.Fatal(err)
	}
	return b, s
}

// csv is a record as `knobwise simulate` writes it.
func csv(r *simulate.Result) []byte {
	text := []byte("time_s,voltage_v\n")
	for i, v := range r.Voltage {
		text = strconv.AppendFloat(text, float64(i)*r.Interval, 'g', -1, 64)
		text = append(text, ',')
		text = strconv.AppendFloat(text, v, 'g', -1, 64)
		text = append(text, '\n')
	}
	return text
}

// within keeps the part of a trace that stands out of the noise.
func within(t *trace.Trace, dB float64) {
	top, n := slices.Max(t.Level), 0
	for i := range t.Level {
		if t.Level[i] >= top*math.Pow(10, -dB/20) {
			t.Frequency[n], t.Level[n] = t.Frequency[i], t.Level[i]
			n++
		}
	}
	t.Frequency, t.Level = t.Frequency[:n], t.Level[:n]
}

// The whole chain, from the response in time through a file to a trace beside the model, for three Qs and three rates: a
// slow sweep gives the model back; a faster one shows its lag, which the known bandwidth or the deconvolution takes out.
func TestChain(t *testing.T) {
	rows := 0
	for _, q := range []float64{30, 100, 300} {
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
		for _, rho := range []float64{0.003, 0.03, 0.3} {
			over := s.Sweep
			over.Time = span / (rho * f.Bandwidth * f.Bandwidth)
			// Four samples per period at the highest frequency, or as many as a test has time for.
			samples := int(min(4*over.To*over.Time, 1.2e6))
			short := float64(samples) < 2.6*over.To*over.Time
			if short { // the record is read by the fit of the carrier then
				samples = 60_000
			}
			r, err := simulate.Run(t.Context(), simulate.Question{Hookup: h, Sweep: over, Samples: samples})
			if err != nil {
				t.Fatal(err)
			}
			text := csv(r)
			read := func(spec trace.Spec) *residual.Result {
				spec.Quantity, spec.Sweep = measurement.Waveform, over
				x, err := trace.Read(t.Context(), bytes.NewReader(text), "c.csv", spec)
				if err != nil {
					t.Fatal(err)
				}
				within(x, 25)
				m := &measurement.Measurement{Name: "c", Setup: s, Setting: b.Start(), Quantity: measurement.Waveform}
				y, err := residual.Run(t.Context(), b, m, x)
				if err != nil {
					t.Fatal(err)
				}
				return y
			}
			raw, corrected, whole := read(trace.Spec{}), read(trace.Spec{Bandwidth: f.Bandwidth}), &residual.Result{PeakShift: math.NaN(), RMS: math.NaN()}
			if over.Time > 1e-3 && !short { // a shorter one leaves no room for what the deconvolution needs at its ends
				whole = read(trace.Spec{Deconvolve: true})
			}
			rows++
			t.Logf("loaded Q %5.1f, rho %5.3f (%s in %.3g s, %d samples): raw shift %+7.1f Hz, rms %.4f dB; lag corrected shift %+7.1f Hz, rms %.4f dB; deconvolved shift %+6.2f Hz, rms %.5f dB",
				f.LoadedQ, rho, "0.8 MHz", over.Time, samples, raw.PeakShift, raw.RMS, corrected.PeakShift, corrected.RMS, whole.PeakShift, whole.RMS)
			if want := 2 / math.Pi * rho * f.Bandwidth; rho < 0.1 && math.Abs(raw.PeakShift-want) > 0.05*want+span/2000*0.1 {
				t.Errorf("Q %g, rho %g: the peak lags by %g Hz, (2/π)·S/B is %g Hz", q, rho, raw.PeakShift, want)
			}
			if math.Abs(corrected.PeakShift) > 0.1*math.Abs(raw.PeakShift)+20 {
				t.Errorf("Q %g, rho %g: corrected the peak still lags by %g Hz", q, rho, corrected.PeakShift)
			}
			if whole.RMS > 0.02 || math.Abs(whole.Offset) > 0.01 {
				t.Errorf("Q %g, rho %g: deconvolved it is %g dB off, level %g dB", q, rho, whole.RMS, whole.Offset)
			}
		}
	}
	if rows != 9 {
		t.Errorf("%d rows, not 9", rows)
	}
}
