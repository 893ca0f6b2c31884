package quantity

import (
	"math"
	"strconv"
	"strings"
)

// Numbers whose unit takes no fitting prefix are printed plainly while their leading digit stands at a power of ten from
// plainLow up to, but not including, plainHigh; beyond that with an exponent.
const (
	plainLow  = -4
	plainHigh = 9
)

// maxDigits is as many significant digits as can matter to a float64.
const maxDigits = 17

// Format prints a value with its unit to the given number of significant digits (held to 1..17). Prefix and digits are
// chosen together: 999.96 Hz at four digits is "1.000 kHz". Where no prefix fits, the exponent form is used. Infinities and
// NaN print as "∞", "-∞" and "undefined", without a unit; these alone do not read back.
func Format(v float64, u Unit, digits int) string {
	digits = min(max(digits, 1), maxDigits)
	return format(v, u, digits-1)
}

// FormatExact prints the shortest text that reads back as the identical float64, for files and for machines. Infinities
// and NaN print as by Format.
func FormatExact(v float64, u Unit) string { return format(v, u, -1) }

// Label prints a value that stands as it is written as short as a drawing needs it: exactly where that is short, else to
// four digits, with the signs µ and Ω.
func Label(v float64, u Unit) string {
	text := FormatExact(v, u)
	if len(text) > longestLabel {
		text = Format(v, u, 4)
	}
	return Signs(text)
}

// longestLabel is the longest exact value that a label takes, like 48.854 uH.
const longestLabel = 9

// Signs replaces the letters that a keyboard has by the signs µ and Ω.
func Signs(text string) string { return signs.Replace(text) }

var signs = strings.NewReplacer(" u", " µ", "ohm", "Ω")

// format prints with so many digits after the first; -1 for as many as it takes to read back.
func format(v float64, u Unit, after int) string {
	switch {
	case math.IsNaN(v):
		return "undefined"
	case math.IsInf(v, 1):
		return "∞"
	case math.IsInf(v, -1):
		return "-∞"
	case v == 0:
		return withUnit(strconv.FormatFloat(v, 'g', -1, 64), u.Symbol()) // keeps the sign of zero
	}
	d := decimalOf(v, after)
	for _, p := range prefixes {
		if u.takes(p) && d.power >= p.exponent && d.power < p.exponent+3 {
			return withUnit(d.plain(p.exponent), p.symbol+u.Symbol())
		}
	}
	if d.power >= plainLow && d.power < plainHigh {
		return withUnit(d.plain(0), u.Symbol())
	}
	return withUnit(d.scientific(), u.Symbol())
}

func withUnit(number, unit string) string {
	if unit == "" {
		return number
	}
	return number + " " + unit
}

// decimal is a number as sign, digits with the point after the first, and a power of ten.
type decimal struct {
	sign   string
	digits string
	power  int
}

// decimalOf rounds a finite number; rounding comes before the power is known, so 999.96 has power 3 at four digits.
func decimalOf(v float64, after int) decimal {
	text := strconv.FormatFloat(v, 'e', after, 64)
	var d decimal
	if strings.HasPrefix(text, "-") {
		d.sign, text = "-", text[1:]
	}
	mantissa, power, _ := strings.Cut(text, "e")
	d.digits = strings.Replace(mantissa, ".", "", 1)
	d.power, _ = strconv.Atoi(power) // FormatFloat wrote it
	return d
}

// plain writes the number divided by ten to the exponent, without any exponent.
func (d decimal) plain(exponent int) string {
	point := d.power - exponent + 1 // digits before the point
	switch {
	case point <= 0:
		return d.sign + "0." + strings.Repeat("0", -point) + d.digits
	case point >= len(d.digits):
		return d.sign + d.digits + strings.Repeat("0", point-len(d.digits))
	}
	return d.sign + d.digits[:point] + "." + d.digits[point:]
}

func (d decimal) scientific() string {
	mantissa := d.digits[:1]
	if len(d.digits) > 1 {
		mantissa += "." + d.digits[1:]
	}
	return d.sign + mantissa + "e" + strconv.Itoa(d.power)
}

// shiftedText prints v times a power of ten exactly as v's own shortest digits, so that reading it and shifting it back
// gives the identical float64. v is finite and not zero.
func shiftedText(v float64, power int) string {
	d := decimalOf(v, -1)
	d.power += power
	if d.power >= plainLow && d.power < plainHigh {
		return d.plain(0)
	}
	return d.scientific()
}

// String prints the quantity in its own form; Parse gives it back, apart from Text.
func (q Quantity) String() string {
	switch q.Form {
	case Unknown:
		return "?"
	case Guess:
		return "? " + FormatExact(q.Value, q.Unit)
	case Toleranced:
		return q.toleranceText()
	case Range:
		return q.rangeText()
	case Bounds:
		if q.Tolerance != 0 {
			return "? " + q.toleranceText()
		}
		return "? " + q.rangeText()
	}
	return FormatExact(q.Value, q.Unit)
}

func (q Quantity) rangeText() string {
	return FormatExact(q.Low, q.Unit) + " .. " + FormatExact(q.High, q.Unit)
}

func (q Quantity) toleranceText() string {
	return FormatExact(q.Value, q.Unit) + " ± " + shiftedText(q.Tolerance, 2) + " %"
}

// sharedDigits decides near a boundary which prefix a column takes: at six digits, 999.9999 kHz counts as 1 MHz.
const sharedDigits = 6

// Prefix gives one SI prefix for all values of an axis or a column: that of the largest finite magnitude, from f to G. A
// value divided by factor is the number to print before symbol and unit. Where all values are zero, or none is finite, the
// symbol is empty and the factor 1.
func Prefix(values []float64) (symbol string, factor float64) {
	p := sharedPrefix(values, func(prefix) bool { return true })
	return p.symbol, p.factor()
}

// SharedPrefix is Prefix for a unit: only prefixes that the unit is written with are chosen, and the label has the unit in
// it, such as "MHz".
func SharedPrefix(values []float64, u Unit) (label string, factor float64) {
	p := sharedPrefix(values, u.takes)
	return p.symbol + u.Symbol(), p.factor()
}

func (p prefix) factor() float64 {
	v, _ := strconv.ParseFloat("1e"+strconv.Itoa(p.exponent), 64) // the nearest float64, which math.Pow10 need not be
	return v
}

func sharedPrefix(values []float64, allowed func(prefix) bool) prefix {
	largest := 0.0
	for _, v := range values {
		if !math.IsInf(v, 0) && math.Abs(v) > largest {
			largest = math.Abs(v)
		}
	}
	var chosen prefix
	if largest == 0 {
		return chosen
	}
	power := decimalOf(largest, sharedDigits-1).power
	first := true
	for _, p := range prefixes {
		if allowed(p) && (first || power >= p.exponent) {
			chosen, first = p, false
		}
	}
	return chosen
}
