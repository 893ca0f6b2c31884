package quantity_test

import (
	"fmt"
	"math"
	"strings"
	"testing"

	"pgregory.net/rapid"

	. "knobwise/bench/quantity"
)

var anyUnit = rapid.Custom(func(t *rapid.T) Unit { return Unit(rapid.IntRange(int(One), int(Decibel)).Draw(t, "unit")) })

// anyValue is any finite float64, or one of the size met in radio work, or a round one.
var anyValue = rapid.OneOf(
	rapid.Custom(func(t *rapid.T) float64 {
		v := math.Float64frombits(rapid.Uint64().Draw(t, "bits"))
		if math.IsNaN(v) || math.IsInf(v, 0) {
			return math.MaxFloat64
		}
		return v
	}),
	rapid.Custom(func(t *rapid.T) float64 {
		return rapid.Float64Range(-10, 10).Draw(t, "mantissa") * math.Pow10(rapid.IntRange(-20, 14).Draw(t, "power"))
	}),
	rapid.Custom(func(t *rapid.T) float64 {
		return float64(rapid.IntRange(-9999, 9999).Draw(t, "digits")) * math.Pow10(rapid.IntRange(-16, 10).Draw(t, "power"))
	}),
)

func TestFormatExactReadsBackTheSameFloat(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		v, u := anyValue.Draw(t, "v"), anyUnit.Draw(t, "u")
		text := FormatExact(v, u)
		got, err := ParseValue(text, u)
		if err != nil || math.Float64bits(got) != math.Float64bits(v) {
			t.Fatalf("%g printed as %q reads %g, %v", v, text, got, err)
		}
	})
}

func TestFormatReadsBackWithinItsDigits(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		v, u := anyValue.Draw(t, "v"), anyUnit.Draw(t, "u")
		digits := rapid.IntRange(1, 17).Draw(t, "digits")
		if math.Abs(v) > 1e308 {
			t.Skip("may round up beyond the largest float64")
		}
		text := Format(v, u, digits)
		got, err := ParseValue(text, u)
		// Half a unit of the last digit, at worst relative to a leading 1; and one step of the subnormal floats.
		allowed := math.Abs(v)*0.5*math.Pow10(1-digits)*(1+1e-9) + math.Abs(v)*0x1p-52 + math.SmallestNonzeroFloat64
		if err != nil || !(math.Abs(got-v) <= allowed) {
			t.Fatalf("%g printed as %q reads %g, %v", v, text, got, err)
		}
	})
}

// anyQuantity draws a quantity of every form, as Parse would give it.
var anyQuantity = rapid.Custom(func(t *rapid.T) Quantity {
	q := Quantity{Unit: anyUnit.Draw(t, "unit"), Form: Form(rapid.IntRange(int(Exact), int(Bounds)).Draw(t, "form"))}
	toleranced := q.Form == Toleranced || q.Form == Bounds && rapid.Bool().Draw(t, "toleranced")
	switch {
	case toleranced:
		q.Value = anyValue.Filter(func(v float64) bool { return v != 0 && math.Abs(v) < 8e307 }).Draw(t, "value")
		q.Tolerance = rapid.OneOf(
			rapid.Float64Range(1e-9, 0.999),
			rapid.SampledFrom([]float64{0.001, 0.01, 0.02, 0.05, 0.07, 0.1, 0.2, 1e-300}),
		).Draw(t, "tolerance")
		a, b := q.Value*(1-q.Tolerance), q.Value*(1+q.Tolerance)
		q.Low, q.High = min(a, b), max(a, b)
	case q.Form == Range || q.Form == Bounds:
		a := anyValue.Draw(t, "a")
		b := anyValue.Filter(func(b float64) bool { return b != a }).Draw(t, "b")
		q.Low, q.High = min(a, b), max(a, b)
	case q.Form != Unknown:
		q.Value = anyValue.Draw(t, "value")
	}
	return q
})

func TestEveryFormPrintsAndReadsBack(t *testing.T) {
	seen := map[Form]int{}
	rapid.Check(t, func(t *rapid.T) {
		q := anyQuantity.Draw(t, "q")
		seen[q.Form]++
		got, err := Parse(q.String(), q.Unit)
		q.Text = q.String()
		if err != nil || got != q {
			t.Fatalf("%q reads %#v, %v; want %#v", q.String(), got, err, q)
		}
	})
	for f := Exact; f <= Bounds; f++ {
		if seen[f] == 0 {
			t.Errorf("form %d was never drawn", f)
		}
	}
}

// A prefix only moves the decimal point: the same digits with every prefix agree with strconv's reading of the number.
func TestPrefixesAreExactPowersOfTen(t *testing.T) {
	powers := map[string]int{"f": -15, "p": -12, "n": -9, "u": -6, "µ": -6, "μ": -6, "m": -3, "": 0, "k": 3, "M": 6, "G": 9}
	rapid.Check(t, func(t *rapid.T) {
		prefix := rapid.SampledFrom([]string{"f", "p", "n", "u", "µ", "μ", "m", "", "k", "M", "G"}).Draw(t, "prefix")
		whole, fraction := rapid.StringMatching(`[0-9]{1,6}`).Draw(t, "whole"), rapid.StringMatching(`[0-9]{1,6}`).Draw(t, "fraction")
		space := rapid.SampledFrom([]string{"", " ", "  ", "\u00a0"}).Draw(t, "space")
		var want float64
		if _, err := fmt.Sscanf(fmt.Sprintf("%s.%se%d", whole, fraction, powers[prefix]), "%g", &want); err != nil {
			t.Fatal(err)
		}
		got, err := ParseValue(whole+"."+fraction+space+prefix+"ohm", Ohm)
		if err != nil || got != want {
			t.Fatalf("got %g, %v; want %g", got, err, want)
		}
	})
}

// A letter code reads as the same digits with the letter taken for the point.
func TestLetterCodeEqualsItsDecimal(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		digits := rapid.StringMatching(`[0-9]{1,4}`)
		whole, fraction := digits.Draw(t, "whole"), digits.Draw(t, "fraction")
		for letter, prefix := range map[string]string{"R": "", "L": "m", "m": "m", "K": "k", "k": "k", "M": "M", "G": "G"} {
			code, err := ParseValue(whole+letter+fraction, Ohm)
			plain, err2 := ParseValue(whole+"."+fraction+" "+prefix+"ohm", Ohm)
			if err != nil || err2 != nil || code != plain {
				t.Fatalf("%s%s%s: %g, %v; plain %g, %v", whole, letter, fraction, code, err, plain, err2)
			}
		}
	})
}

// What SharedPrefix chooses puts the largest value between 1 and 1000, where the unit's prefixes reach that far.
func TestSharedPrefixSuitsTheLargestValue(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		largest := rapid.Float64Range(1, 9.99).Draw(t, "mantissa") * math.Pow10(rapid.IntRange(-15, 11).Draw(t, "power"))
		values := []float64{largest / 7, -largest, 0, math.NaN(), math.Inf(1)}
		symbol, factor := Prefix(values)
		if shown := largest / factor; shown < 0.999999 || shown > 1000.001 {
			t.Fatalf("%g is shown as %g %s", largest, shown, symbol)
		}
		for u := One; u <= Decibel; u++ {
			label, factor := SharedPrefix(values, u)
			if got, err := ParseValue("1 "+label, u); err != nil || got != factor || !strings.HasSuffix(label, u.Symbol()) {
				t.Fatalf("unit %s: label %q stands for %g, %v, factor %g", u.Name(), label, got, err, factor)
			}
		}
	})
}
