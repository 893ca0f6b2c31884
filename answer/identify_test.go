package answer

import (
	"bytes"
	"math"
	"strings"
	"testing"

	"knobwise/bench/box"
	"knobwise/study/identify"
)

// A fit is drawn in decibels whatever was measured: amplitudes with the band of the model, S21 of a two-port, S11 of a one-port.
func TestFitPicture(t *testing.T) {
	f := []float64{1e6, 2e6}
	two := make([]float64, 16)
	two[4], two[5], two[12], two[13] = 0.3, 0.4, 0, -0.1
	drawn := 0
	for name, c := range map[string]struct {
		fit  identify.Fit
		unit string
		want []float64
	}{
		"amplitude": {identify.Fit{Frequency: f, Measured: []float64{0.1, 1}, Model: []float64{0.1, 1}, Low: []float64{0.09, -1}, High: []float64{0.11, 1.1}}, "V", []float64{-20, 0}},
		"decibels":  {identify.Fit{Frequency: f, Measured: []float64{-3, -4}, Model: []float64{-3, -4}, Low: []float64{-5, -5}, High: []float64{-2, -2}}, "dB", []float64{-3, -4}},
		"two-port":  {identify.Fit{Frequency: f, Measured: two, Model: two, Low: two, High: two}, "", []float64{20 * math.Log10(0.5), -20}},
		"one-port":  {identify.Fit{Frequency: f, Measured: []float64{0.6, 0.8, 0, 0.1}, Model: []float64{0.6, 0.8, 0, 0.1}}, "", []float64{0, -20}},
	} {
		got := decibelsOf(c.fit.Measured, 2, c.unit)
		for i := range got {
			if math.Abs(got[i]-c.want[i]) > 1e-12 {
				t.Errorf("%s: %v dB, want %v", name, got, c.want)
			}
		}
		var out bytes.Buffer
		if err := FitPicture(&out, "svg", &box.Box{Name: "X"}, &c.fit, c.unit, false); err != nil || !strings.Contains(out.String(), "<svg") {
			t.Errorf("%s: %v", name, err)
		}
		drawn++
	}
	if x := decibelsOf([]float64{0, -1}, 2, "V"); !math.IsNaN(x[0]) || !math.IsNaN(x[1]) {
		t.Errorf("%v", x)
	}
	if drawn != 4 {
		t.Errorf("%d pictures", drawn)
	}
}
