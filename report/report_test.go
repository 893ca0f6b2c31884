package report

import (
	"math"
	"strconv"
	"testing"

	"pgregory.net/rapid"

	"knobwise/bench/box"
)

// A reading set as it is printed stays within a thousandth of the scale; beside its limits it lies between them as printed.
func TestReadings(t *testing.T) {
	for _, c := range []struct {
		from, to, reading float64
		want              string
	}{{0, 10, 3.14159, "3.14"}, {0, 180, 30.26, "30.3"}, {0, 100, 42.34, "42.3"}, {0, 101, 42.345, "42.3"}, {0, 1, 0.12345, "0.123"}, {10, 0, -0.0001, "0.00"}, {0, 5000, 1234.5, "1234"}} {
		if got := ReadingText(&box.Knob{From: c.from, To: c.to}, c.reading); got != c.want {
			t.Errorf("%g on %g .. %g: %s, want %s", c.reading, c.from, c.to, got, c.want)
		}
	}
	checked := 0
	rapid.Check(t, func(t *rapid.T) {
		k := &box.Knob{From: 0, To: rapid.SampledFrom([]float64{1, 9, 10, 11, 100, 180, 360, 1000}).Draw(t, "scale")}
		at := rapid.Float64Range(0, k.To).Draw(t, "reading")
		low := max(0, at-k.To*math.Pow(10, -rapid.Float64Range(1, 5).Draw(t, "below")))
		high := min(k.To, at+k.To*math.Pow(10, -rapid.Float64Range(1, 5).Draw(t, "above")))
		from, middle, to := RangeText(k, low, at, high)
		var x [3]float64
		for i, text := range []string{from, middle, to} {
			var err error
			if x[i], err = strconv.ParseFloat(text, 64); err != nil {
				t.Fatal(err)
			}
		}
		checked++
		off := (high - low) / 4
		if math.Abs(x[0]-low) > off || math.Abs(x[1]-at) > off || math.Abs(x[2]-high) > off {
			t.Fatalf("%g within %g .. %g is printed %s within %s .. %s", at, low, high, middle, from, to)
		}
	})
	if checked < 50 {
		t.Errorf("%d checked", checked)
	}
}
