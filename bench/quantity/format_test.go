package quantity_test

import (
	"math"
	"strconv"
	"strings"
	"testing"

	. "knobwise/bench/quantity"
)

func TestFormat(t *testing.T) {
	for _, c := range []struct {
		v      float64
		u      Unit
		digits int
		want   string
	}{
		{999.96, Hertz, 4, "1.000 kHz"},
		{999.94, Hertz, 4, "999.9 Hz"},
		{-999.96, Volt, 4, "-1.000 kV"},
		{330e-12, Farad, 4, "330.0 pF"},
		{330e-12, Farad, 1, "300 pF"},
		{330e-12, Farad, 2, "330 pF"},
		{4700, Ohm, 3, "4.70 kohm"},
		{1e6, Ohm, 1, "1 Mohm"},
		{22e-6, Henry, 3, "22.0 uH"},
		{0.032, Metre, 3, "32.0 mm"},
		{14.25, Metre, 4, "14.25 m"},
		{-3.0103, Decibel, 3, "-3.01 dB"},
		{123456, One, 4, "123500"},
		{180, One, 3, "180"},
		{0.00035, One, 2, "0.00035"},
		{0.25, Hertz, 2, "0.25 Hz"}, // hertz takes no milli
		{1e-6, Hertz, 2, "1.0e-6 Hz"},
		{0, Volt, 4, "0 V"},
		{1e12, Hertz, 3, "1.00e12 Hz"},
		{999.9e9, Hertz, 3, "1.00e12 Hz"},
		{999e9, Hertz, 3, "999 GHz"},
		{1e-18, Farad, 3, "1.00e-18 F"},
		{0.9996e-15, Farad, 3, "1.00 fF"},
		{5e-324, Farad, 3, "4.94e-324 F"},
		{math.MaxFloat64, Ohm, 5, "1.7977e308 ohm"},
		{math.Inf(1), Ohm, 4, "∞"},
		{math.Inf(-1), Decibel, 4, "-∞"},
		{math.NaN(), Ohm, 4, "undefined"},
		{1.5, Volt, 0, "2 V"},
		{1.5, Volt, 99, "1.5000000000000000 V"},
	} {
		if got := Format(c.v, c.u, c.digits); got != c.want {
			t.Errorf("Format(%g, %s, %d) = %q, want %q", c.v, c.u.Name(), c.digits, got, c.want)
		}
	}
}

func TestFormatExact(t *testing.T) {
	for _, c := range []struct {
		v    float64
		u    Unit
		want string
	}{
		{330e-12, Farad, "330 pF"},
		{0.1e-12, Farad, "100 fF"},
		{4.7e3, Ohm, "4.7 kohm"},
		{1e6, Hertz, "1 MHz"},
		{math.Nextafter(1000, 0), Hertz, "999.9999999999999 Hz"},
		{math.Nextafter(1000, 2000), Hertz, "1.0000000000000001 kHz"},
		{3.3e-20, Farad, "3.3e-20 F"},
		{1e12, Hertz, "1e12 Hz"},
		{180, One, "180"},
		{math.Copysign(0, -1), Volt, "-0 V"},
		{math.Inf(1), Volt, "∞"},
		{math.NaN(), Volt, "undefined"},
	} {
		if got := FormatExact(c.v, c.u); got != c.want {
			t.Errorf("FormatExact(%g, %s) = %q, want %q", c.v, c.u.Name(), got, c.want)
		}
	}
}

// At each boundary between two prefixes, and at the float64 just below it, no printed number reaches 1000, and it has
// the digits asked for.
func TestFormatAtEveryBoundary(t *testing.T) {
	below := []string{"", "f", "p", "n", "u", "m", "", "k", "M", "G", ""}
	checked := 0
	for i, symbol := range []string{"f", "p", "n", "u", "m", "", "k", "M", "G"} {
		boundary, err := strconv.ParseFloat("1e"+strconv.Itoa(3*i-15), 64)
		if err != nil {
			t.Fatal(err)
		}
		for digits := 1; digits <= 15; digits++ {
			want := "1"
			if digits > 1 {
				want = "1." + strings.Repeat("0", digits-1)
			}
			for _, v := range []float64{boundary, math.Nextafter(boundary, 0), math.Nextafter(boundary, math.Inf(1))} {
				for _, sign := range []string{"", "-"} {
					if sign == "-" {
						v = -v
					}
					// Every float64 next to the boundary is nearer to it than the fifteenth digit.
					if got := Format(v, Ohm, digits); got != sign+want+" "+symbol+"ohm" {
						t.Errorf("Format(%v, ohm, %d) = %q", v, digits, got)
					}
					checked++
				}
			}
			// Half a digit below the boundary still rounds up to it; a whole digit below does not.
			step := boundary * math.Pow10(-digits)
			if got := Format(boundary-0.4*step, Ohm, digits); got != want+" "+symbol+"ohm" {
				t.Errorf("Format(%v, ohm, %d) = %q", boundary-0.4*step, digits, got)
			}
			if digits >= 3 && i > 0 {
				nines := strings.Repeat("9", digits)
				if digits > 3 {
					nines = nines[:3] + "." + nines[3:]
				}
				if got := Format(boundary-step, Ohm, digits); got != nines+" "+below[i]+"ohm" {
					t.Errorf("Format(%v, ohm, %d) = %q, want %q", boundary-step, digits, got, nines+" "+below[i]+"ohm")
				}
			}
		}
		exact := FormatExact(math.Nextafter(boundary, 0), Ohm)
		if number, _, _ := strings.Cut(exact, " "); i > 0 && (len(number) < 17 || number[:4] != "999.") {
			t.Errorf("just below %v: %q", boundary, exact)
		}
	}
	if checked != 9*15*6 {
		t.Errorf("%d boundaries checked", checked)
	}
}

func TestSharedPrefix(t *testing.T) {
	for _, c := range []struct {
		values []float64
		u      Unit
		label  string
		factor float64
	}{
		{[]float64{0.5e6, 2e6}, Hertz, "MHz", 1e6},
		{[]float64{14e-12, 390e-12}, Farad, "pF", 1e-12},
		{[]float64{999.9999e3}, Hertz, "MHz", 1e6},
		{[]float64{999.99e3}, Hertz, "kHz", 1e3},
		{[]float64{math.Nextafter(1e6, 0)}, Hertz, "MHz", 1e6},
		{[]float64{1e6}, Hertz, "MHz", 1e6},
		{[]float64{1e-3}, Hertz, "Hz", 1},
		{[]float64{4e15}, Hertz, "GHz", 1e9},
		{[]float64{4e-20}, Farad, "fF", 1e-15},
		{[]float64{12345}, One, "", 1},
		{[]float64{-12345}, Decibel, "dB", 1},
		{[]float64{-12345}, Ohm, "kohm", 1e3},
		{[]float64{0, math.NaN(), math.Inf(1)}, Volt, "V", 1},
		{nil, Volt, "V", 1},
	} {
		label, factor := SharedPrefix(c.values, c.u)
		if label != c.label || factor != c.factor {
			t.Errorf("%v %s: %q, %g", c.values, c.u.Name(), label, factor)
		}
	}
	if symbol, factor := Prefix([]float64{0.02, -0.3}); symbol != "m" || factor != 1e-3 {
		t.Errorf("got %q, %g", symbol, factor)
	}
	if symbol, factor := Prefix(nil); symbol != "" || factor != 1 {
		t.Errorf("got %q, %g", symbol, factor)
	}
}

func BenchmarkParse(b *testing.B) {
	for _, text := range []string{"330 pF", "4n7", "? 10 pF .. 40 pF"} {
		b.Run(text, func(b *testing.B) {
			b.ReportAllocs()
			for b.Loop() {
				if _, err := Parse(text, Farad); err != nil {
					b.Fatal(err)
				}
			}
		})
	}
}

func BenchmarkFormat(b *testing.B) {
	b.ReportAllocs()
	for b.Loop() {
		Format(330.4e-12, Farad, 4)
	}
}
