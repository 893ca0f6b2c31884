package quantity

import (
	"math"
	"strings"
	"unicode"
)

// Form is how much a text says about a value.
type Form int

// The forms of a quantity.
const (
	Exact      Form = iota // "330 pF": Value
	Toleranced             // "330 pF ± 5 %": Value, Tolerance, and the limits they give in Low and High
	Range                  // "14 pF .. 390 pF": Low and High
	Unknown                // "?": nothing
	Guess                  // "? 22 uH": Value
	Bounds                 // "? 10 uH .. 40 uH": Low and High; "? 22 uH ± 20 %": also Value and Tolerance
)

// Quantity is a value as written in a file, in SI base units. Numbers that the form does not give are 0; none is ever NaN
// or infinite. Where Low and High are limits, Low < High, except that a tolerance too small for a float64 leaves them equal.
// Two quantities may be compared with ==; Text takes part.
type Quantity struct {
	Value     float64
	Low, High float64
	Tolerance float64 // relative: 0.05 for 5 %; above 0 and below 1 where the form has one
	Form      Form
	Unit      Unit
	Text      string // as written, trimmed
}

// Parse reads any form. The sign is not judged; see ParseWith.
func Parse(text string, u Unit) (Quantity, error) { return ParseWith(text, u, Any) }

// ParseValue reads a single value without tolerance; every other form is an error.
func ParseValue(text string, u Unit) (float64, error) {
	p, err := enter(text, u)
	if err != nil {
		return 0, err
	}
	return parseExact(p, u)
}

func parseExact(p piece, u Unit) (float64, error) {
	q, err := parse(p, u)
	if err != nil {
		return 0, err
	}
	if q.Form != Exact {
		return 0, p.fail(u, show(p.String())+" where a single known value belongs", "write "+units[u].quantity+" like "+units[u].example)
	}
	return q.Value, nil
}

// parse reads any form from a trimmed piece that is not empty.
func parse(p piece, u Unit) (Quantity, error) {
	rest, doubtful := p, false
	if strings.HasPrefix(p.String(), "?") {
		rest, doubtful = p.after(1), true
		if rest.empty() {
			return Quantity{Form: Unknown, Unit: u, Text: p.String()}, nil
		}
	}
	q, err := parseKnown(rest, u)
	if err != nil {
		return Quantity{}, err
	}
	if doubtful {
		if q.Form == Exact {
			q.Form = Guess
		} else {
			q.Form = Bounds
		}
	}
	q.Unit = u
	q.Text = p.String()
	return q, nil
}

// plusMinus are the marks of a tolerance.
var plusMinus = []string{"±", "+-", "+/-"}

// parseKnown reads what may stand after a question mark: a value, a value with tolerance, or a range.
func parseKnown(p piece, u Unit) (Quantity, error) {
	if low, high, found := p.cut(".."); found {
		a, b, err := parseEnds(p, low, high, u)
		if err != nil {
			return Quantity{}, err
		}
		if a >= b {
			return Quantity{}, notRising(p, low, high, a, b, u)
		}
		return Quantity{Low: a, High: b, Form: Range}, nil
	}
	for _, mark := range plusMinus {
		if value, tolerance, found := p.cut(mark); found {
			return parseToleranced(p, value, tolerance, u)
		}
	}
	s, err := parseSingle(p, u)
	if err != nil {
		return Quantity{}, err
	}
	if s.tolerance != 0 {
		return toleranced(p, s.value, s.tolerance, u)
	}
	return Quantity{Value: s.value, Form: Exact}, nil
}

// parseEnds reads the two ends of a range, in the order written. A bare first end takes the unit of the last.
func parseEnds(p, first, last piece, u Unit) (a, b float64, err error) {
	if strings.HasPrefix(p.whole[last.from:p.to], ".") && p.whole[last.from-1] == '.' {
		return 0, 0, p.fail(u, "three dots", "write a range with two dots and spaces round them, like "+exampleRange(u))
	}
	if first.empty() || last.empty() {
		return 0, 0, p.fail(u, "a range needs both ends", "write it like "+exampleRange(u))
	}
	if n, ok := scanNumber(last.String()); ok && n.size == len(last.String()) && u != One {
		if a, exponent, shared, err := parseEnd(first, u); err == nil && shared {
			if b, ok := n.times(exponent); ok && (a < b || u == percent) { // only a scale may fall
				return 0, 0, last.fail(u, "the last end of a range needs its unit", "write "+first.String()+" .. "+FormatExact(b, u))
			}
		}
	}
	b, exponent, shared, err := parseEnd(last, u)
	if err != nil {
		return 0, 0, err
	}
	if n, ok := scanNumber(first.String()); ok && n.size == len(first.String()) && shared {
		if a, ok = n.times(exponent); ok {
			return a, b, nil
		}
	}
	a, _, _, err = parseEnd(first, u)
	return a, b, err
}

// parseEnd reads one end of a range. shared says that the end was a number with a unit, whose power of ten a bare number
// at the other end may take.
func parseEnd(p piece, u Unit) (v float64, exponent int, shared bool, err error) {
	s, err := parseSingle(p, u)
	if err != nil {
		return 0, 0, false, err
	}
	if s.tolerance != 0 {
		return 0, 0, false, p.fail(u, "an end of a range has no tolerance of its own", "write the limits themselves, like "+exampleRange(u))
	}
	return s.value, s.exponent, s.united, nil
}

// notRising is the error for a range whose ends are equal or in falling order.
func notRising(p, low, high piece, a, b float64, u Unit) error {
	if a == b {
		return p.fail(u, "both ends of the range are "+show(FormatExact(a, u)), "write "+FormatExact(a, u)+" for a fixed value")
	}
	return p.fail(u, "the range falls from "+show(low.String())+" to "+show(high.String()),
		"write the lower end first: "+FormatExact(b, u)+" .. "+FormatExact(a, u))
}

func exampleRange(u Unit) string {
	switch u {
	case Farad:
		return "14 pF .. 390 pF"
	case One:
		return "0 .. 10"
	case percent:
		return "0 % .. 100 %"
	}
	n, unit, _ := strings.Cut(units[u].example, " ")
	return units[u].example + " .. " + n + "0 " + unit
}

// parseToleranced reads the value and the tolerance on either side of the plus-minus sign.
func parseToleranced(p, value, tolerance piece, u Unit) (Quantity, error) {
	if value.empty() || tolerance.empty() {
		return Quantity{}, p.fail(u, "a tolerance needs a value before ± and a percentage after it", "write it like "+units[u].example+" ± 5 %")
	}
	if u == percent {
		return Quantity{}, p.fail(u, "the tolerance of a percentage may be percent of either", "write its limits, like ? 35 % .. 45 %")
	}
	s, err := parseSingle(value, u)
	if err != nil {
		return Quantity{}, err
	}
	if s.tolerance != 0 {
		return Quantity{}, p.fail(u, "the tolerance is written twice, by its letter and by ±", "write "+FormatExact(s.value, u)+" ± 5 %")
	}
	if s.value == 0 {
		return Quantity{}, p.fail(u, noToleranceOfZero, "give limits like "+exampleRange(u))
	}
	relative, bare, err := relativeTolerance(tolerance, s.value, u)
	switch {
	case err != nil:
		return Quantity{}, err
	case bare && relative > 0 && relative < 1:
		return Quantity{}, tolerance.fail(u, "a tolerance needs its percent sign",
			"write "+FormatExact(s.value, u)+" ± "+shiftedText(relative, 2)+" %")
	case !(relative > 0 && relative < 1):
		return Quantity{}, tolerance.fail(u, "a tolerance of "+show(tolerance.String())+" does not lie between 0 and 100 %",
			"write it like "+units[u].example+" ± 5 %, or give limits like "+exampleRange(u))
	}
	return toleranced(p, s.value, relative, u)
}

const noToleranceOfZero = "a relative tolerance says nothing of zero"

// relativeTolerance reads what stands behind the plus-minus sign: a percentage, or a spread in the unit, which is related
// to the value (not zero). The result is 0 where no float64 can hold it. bare says that a percentage lacks its sign.
func relativeTolerance(p piece, value float64, u Unit) (relative float64, bare bool, err error) {
	if n, ok := scanNumber(p.String()); ok {
		rest := p.after(n.size)
		if rest.String() == "%" || rest.empty() && u != One {
			relative, _ = n.times(-2)
			return relative, rest.empty(), nil
		}
	}
	spread, err := parseSingle(p, u)
	if err != nil || spread.tolerance != 0 {
		return 0, false, err
	}
	return spread.value / math.Abs(value), false, nil
}

// toleranced works out the limits of a value other than zero; relative lies between 0 and 1.
func toleranced(p piece, v, relative float64, u Unit) (Quantity, error) {
	low, high := v*(1-relative), v*(1+relative)
	if v < 0 {
		low, high = high, low
	}
	if math.IsInf(low, 0) || math.IsInf(high, 0) {
		return Quantity{}, outOfRange(p, u)
	}
	return Quantity{Value: v, Low: low, High: high, Tolerance: relative, Form: Toleranced}, nil
}

// single is one value, before it is known what form it is part of.
type single struct {
	value     float64
	tolerance float64 // from a letter code; 0 where there is none
	exponent  int     // of prefix and unit
	united    bool    // a number followed by prefix or unit, or a plain number where no unit is wanted
}

// read is the grammar of a single value; it gives no reason where it refuses.
func read(text string, u Unit) (s single, ok bool) {
	if n, found := scanNumber(text); found {
		rest := strings.TrimLeftFunc(text[n.size:], unicode.IsSpace)
		if exponent, found := unitExponent(rest, u); found {
			v, ok := n.times(exponent)
			return single{value: v, exponent: exponent, united: true}, ok
		}
	}
	return readCode(text, u)
}

func parseSingle(p piece, u Unit) (single, error) {
	if s, ok := read(p.String(), u); ok {
		return s, nil
	}
	return single{}, diagnose(p, u)
}
