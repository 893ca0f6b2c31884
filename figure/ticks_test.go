package figure

import (
	"math"
	"strings"
	"testing"

	"pgregory.net/rapid"
)

// wide is a room like the X axis of the default figure.
var wide = room{876, func(s string) float64 { return max(66, tickFace.width(s)+26) }}

func labelsOf(s scale) string {
	var out []string
	for _, t := range s.ticks {
		out = append(out, t.label)
	}
	return strings.Join(out, " ")
}

// The wanted labels were written down by hand from the rule (steps 1, 2 or 5; one prefix; no needless digit).
func TestTicks(t *testing.T) {
	cases := []struct {
		name   string
		lo, hi float64
		log    bool
		widen  bool
		unit   string
		want   string
		axis   string
	}{
		{"narrow band", 7.0e6, 7.2e6, false, false, "Hz", "7.00 7.02 7.04 7.06 7.08 7.10 7.12 7.14 7.16 7.18 7.20", "MHz"},
		{"narrow band, log", 7.0e6, 7.2e6, true, false, "Hz", "7.00 7.02 7.04 7.06 7.08 7.10 7.12 7.14 7.16 7.18 7.20", "MHz"},
		{"short waves, log", 0.5e6, 30e6, true, false, "Hz", "0.5 0.7 1 2 3 5 7 10 20 30", "MHz"},
		{"two decades, log", 10, 1000, true, false, "Hz", "10 20 50 100 200 500 1000", "Hz"},
		{"under a decade, log", 1.6e6, 3.4e6, true, false, "Hz", "1.6 1.8 2.0 2.2 2.4 2.6 2.8 3.0 3.2 3.4", "MHz"},
		{"many decades, log", 1, 1e12, true, false, "Hz", "10⁰ 10¹ 10² 10³ 10⁴ 10⁵ 10⁶ 10⁷ 10⁸ 10⁹ 10¹⁰ 10¹¹ 10¹²", "Hz"},
		{"medium waves", 0.5e6, 4e6, false, false, "Hz", "0.5 1.0 1.5 2.0 2.5 3.0 3.5 4.0", "MHz"},
		{"below a prefix", 100e3, 900e3, false, false, "Hz", "100 200 300 400 500 600 700 800 900", "kHz"},
		{"up to a prefix", 0, 1e6, false, false, "Hz", "0.0 0.1 0.2 0.3 0.4 0.5 0.6 0.7 0.8 0.9 1.0", "MHz"},
		{"small levels", -0.1, 0.1, false, false, "dB", "−0.10 −0.08 −0.06 −0.04 −0.02 0.00 0.02 0.04 0.06 0.08 0.10", "dB"},
		{"widened", -33.2, 1.4, false, true, "dB", "−35 −30 −25 −20 −15 −10 −5 0 5", "dB"},
		{"capacitance", 14e-12, 390e-12, false, false, "F", "50 100 150 200 250 300 350", "pF"},
		{"flat at zero", 0, 0, false, true, "dB", "−1.0 −0.8 −0.6 −0.4 −0.2 0.0 0.2 0.4 0.6 0.8 1.0", "dB"},
		{"one value", 50, 50, false, true, "Ω", "45 46 47 48 49 50 51 52 53 54 55", "Ω"},
		{"huge", 0, 3e90, false, false, "Hz", "0.0 0.5 1.0 1.5 2.0 2.5 3.0", "10⁹⁰ Hz"},
		{"tiny", 0, 4e-40, false, false, "V", "0 50 100 150 200 250 300 350 400", "10⁻⁴² V"},
		{"no prefix for a ratio", 0, 2e-6, false, false, "", "0.0 0.2 0.4 0.6 0.8 1.0 1.2 1.4 1.6 1.8 2.0", "10⁻⁶"},
		{"a hertz at a gigahertz", 1e9, 1e9 + 10, false, false, "Hz", "1.000000000 1.000000002 1.000000004 1.000000006 1.000000008 1.000000010", "GHz"},
	}
	for _, c := range cases {
		s := newScale(c.lo, c.hi, c.log, c.widen, c.unit, wide)
		if got := labelsOf(s); got != c.want || s.unit != c.axis {
			t.Errorf("%s: labels %q in %q, want %q in %q", c.name, got, s.unit, c.want, c.axis)
		}
	}
	t.Logf("%d ranges checked", len(cases))
}

// What must hold for every axis: ticks inside the ends and ascending, no label twice, labels that read back as their value in
// the unit of the axis, and room between labels wherever more than two are shown.
func TestTicksProperties(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		log := rapid.Bool().Draw(t, "log")
		size := math.Pow(10, rapid.Float64Range(-24, 24).Draw(t, "decade"))
		lo := rapid.Float64Range(-10, 10).Draw(t, "lo") * size
		if log {
			lo = size
		}
		hi := lo + math.Abs(size)*math.Pow(10, rapid.Float64Range(-6, 6).Draw(t, "span"))
		length := rapid.Float64Range(60, 4000).Draw(t, "length")
		r := room{length, wide.need}
		s := newScale(lo, hi, log, !log && rapid.Bool().Draw(t, "widen"), "", r)
		if len(s.ticks) < 1 || len(s.ticks) < 2 && !log {
			t.Fatalf("%g to %g: only %d ticks", lo, hi, len(s.ticks))
		}
		seen := map[string]bool{}
		for i, k := range s.ticks {
			if at := s.at(k.value); at < -1e-6 || at > 1+1e-6 {
				t.Fatalf("tick %g outside %g to %g", k.value, s.lo, s.hi)
			}
			if seen[k.label] {
				t.Fatalf("label %q twice", k.label)
			}
			seen[k.label] = true
			if i == 0 {
				continue
			}
			gap := (s.at(k.value) - s.at(s.ticks[i-1].value)) * length
			if gap <= 0 || len(s.ticks) > 2 && gap < (wide.need(k.label)+wide.need(s.ticks[i-1].label))/2-1e-6 {
				t.Fatalf("ticks %g and %g are %g pixels apart", s.ticks[i-1].value, k.value, gap)
			}
		}
	})
}

func TestDecimalText(t *testing.T) {
	cases := []struct {
		d    decimal
		unit int
		want string
	}{
		{decimal{5, -1}, 0, "0.5"},
		{decimal{-125, -2}, 0, "−1.25"},
		{decimal{705, 4}, 6, "7.05"},
		{decimal{0, -2}, 0, "0.00"},
		{decimal{0, 3}, 0, "0"},
		{decimal{2, 3}, 0, "2000"},
		{decimal{1, -3}, 0, "0.001"},
	}
	for _, c := range cases {
		if got := c.d.text(c.unit); got != c.want {
			t.Errorf("%v in 10^%d: %q, want %q", c.d, c.unit, got, c.want)
		}
	}
}
