package quantity

import (
	"math"
	"slices"
	"strings"
)

func finite(v float64) bool { return !math.IsNaN(v) && !math.IsInf(v, 0) }

// ParseScale reads the scale printed round a knob: "0 .. 10", "10 .. 0", or "0 .. 100 %". The ends are in the order
// written, finite and different. With percent, they are the numbers before the percent sign (100 for 100 %).
func ParseScale(text string) (from, to float64, percentage bool, err error) {
	u := dialUnit(text)
	p, err := enter(text, u)
	if err != nil {
		return 0, 0, false, err
	}
	first, last, found := p.cut("..")
	if !found || strings.HasPrefix(first.String(), "?") {
		return 0, 0, false, p.fail(u, show(p.String())+" is no scale", "write both ends with two dots between, like 0 .. 10 or 0 .. 100 %")
	}
	if from, to, err = parseEnds(p, first, last, u); err != nil {
		return 0, 0, false, err
	}
	if from == to || !finite(to-from) {
		return 0, 0, false, p.fail(u, "the ends of the scale do not differ by a usable step", "write it like 0 .. 10 or 0 .. 100 %")
	}
	return from, to, u == percent, nil
}

// FormatScale prints a scale so that ParseScale gives it back.
func FormatScale(from, to float64, percentage bool) string {
	u := One
	if percentage {
		u = percent
	}
	return FormatExact(from, u) + " .. " + FormatExact(to, u)
}

// ParseReading reads where a knob stands: "4", "4.5" or "40 %". With percent, the value is the number before the percent
// sign.
func ParseReading(text string) (value float64, percentage bool, err error) {
	u := dialUnit(text)
	value, err = ParseValue(text, u)
	return value, u == percent, err
}

// ParseDoubtfulReading reads any form of a reading: "? 5", "? 30 % .. 50 %", "4 ± 0.2". With percent, the numbers are
// those before the percent sign; a tolerance of a percentage is refused, since it could be percent of either.
func ParseDoubtfulReading(text string) (q Quantity, percentage bool, err error) {
	value := text
	for _, mark := range plusMinus {
		value, _, _ = strings.Cut(value, mark) // a percent sign behind the mark belongs to the tolerance
	}
	u := dialUnit(value)
	q, err = Parse(text, u)
	return q, u == percent, err
}

// Doubtful reports whether a text says that its value is not certain: by a question mark or a tolerance.
func Doubtful(text string) bool {
	return strings.Contains(text, "?") || slices.ContainsFunc(plusMinus, func(mark string) bool { return strings.Contains(text, mark) })
}

// dialUnit tells a scale in percent from one in plain numbers.
func dialUnit(text string) Unit {
	if strings.Contains(text, "%") {
		return percent
	}
	return One
}
