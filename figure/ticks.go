package figure

import (
	"math"
	"strconv"
	"strings"
)

// tick is a labelled position on an axis; value is in the base unit.
type tick struct {
	value float64
	label string
}

// scale maps the values of one axis, in the base unit, to a fraction of its length, and carries its ticks.
type scale struct {
	lo, hi float64
	log    bool
	unit   string // as written on the axis: with the prefix that all tick labels share
	ticks  []tick
	minor  []float64 // positions without a label, on logarithmic axes
}

// at returns the place of v: 0 at the low end, 1 at the high end, also beyond both.
func (s scale) at(v float64) float64 {
	if s.log {
		return math.Log(v/s.lo) / math.Log(s.hi/s.lo)
	}
	return (v - s.lo) / (s.hi - s.lo)
}

// room tells how many pixels an axis has, and how many a label needs up to the next one.
type room struct {
	length float64
	need   func(label string) float64
}

// decimal is mantissa·10^exponent. Ticks are kept in this form so that their labels are exact.
type decimal struct {
	mantissa int64
	exponent int
}

// float returns the value, correctly rounded for exponents within ±22, where Pow10 is exact.
func (d decimal) float() float64 {
	if d.exponent < 0 && d.exponent >= -300 {
		return float64(d.mantissa) / math.Pow10(-d.exponent)
	}
	return float64(d.mantissa) * math.Pow10(d.exponent)
}

// text writes the value in units of 10^unit, with a true minus sign, no exponent, and all digits of the mantissa.
func (d decimal) text(unit int) string {
	if d.mantissa == 0 && d.exponent >= unit {
		return "0"
	}
	digits := strconv.FormatInt(max(d.mantissa, -d.mantissa), 10)
	sign := ""
	if d.mantissa < 0 {
		sign = "−"
	}
	shift := d.exponent - unit
	if shift >= 0 {
		return sign + digits + strings.Repeat("0", shift)
	}
	if missing := 1 - shift - len(digits); missing > 0 {
		digits = strings.Repeat("0", missing) + digits
	}
	return sign + digits[:len(digits)+shift] + "." + digits[len(digits)+shift:]
}

// magnitude returns the power of ten of the leading digit; 0 for zero.
func (d decimal) magnitude() int {
	if d.mantissa == 0 {
		return 0
	}
	return len(strconv.FormatInt(max(d.mantissa, -d.mantissa), 10)) - 1 + d.exponent
}

// quotient returns v / (m·10^e) without losing digits to an inexact power of ten.
func quotient(v float64, m int64, e int) float64 {
	if e < 0 {
		return v * math.Pow10(-e) / float64(m)
	}
	return v / math.Pow10(e) / float64(m)
}

// newScale lays out an axis over lo to hi (finite, lo <= hi; above zero if log). With widen, the ends may move outwards to
// whole ticks. A range too narrow to be told apart in twelve digits is widened in any case.
func newScale(lo, hi float64, log, widen bool, unit string, r room) scale {
	lo, hi = spread(lo, hi, log)
	if log {
		return logScale(lo, hi, unit, r)
	}
	return linearScale(lo, hi, widen, unit, r)
}

// spread opens a range that is empty or too narrow for its own digits.
func spread(lo, hi float64, log bool) (float64, float64) {
	big := max(math.Abs(lo), math.Abs(hi))
	switch {
	case log && hi-lo < 1e-9*big:
		return lo / 1.5, hi * 1.5
	case log:
		return lo, hi
	case big < tiniest:
		return -1, 1
	case hi-lo == 0:
		return lo - 0.1*big, hi + 0.1*big
	case hi-lo < 1e-9*big:
		middle := lo + (hi-lo)/2
		return middle - 0.5e-9*big, middle + 0.5e-9*big
	}
	return lo, hi
}

// widest is how far an axis may grow to reach whole ticks; beyond this the empty room is worse than ends without a label.
const widest = 1.5

// linearSteps returns the ticks of the smallest step 1, 2 or 5·10^e whose labels fit, and the ends of the axis. There are always at
// least two ticks, even where the room is too small for them.
func linearSteps(lo, hi float64, widen bool, fits func(lo, hi float64, ticks []decimal) bool) (float64, float64, []decimal) {
	// Start where there would be 100 to 1000 ticks; the loop ends at fewer than two.
	first := int(math.Floor(math.Log10(hi-lo))) - 2
	var best []decimal
	bestLo, bestHi := lo, hi
	for e := first; ; e++ {
		for _, m := range []int64{1, 2, 5} {
			// 1e-9 of a step lets an end that is a tick up to rounding count as one.
			k0 := int64(math.Ceil(quotient(lo, m, e) - 1e-9))
			k1 := int64(math.Floor(quotient(hi, m, e) + 1e-9))
			if widen {
				k0 = int64(math.Floor(quotient(lo, m, e) + 1e-9))
				k1 = int64(math.Ceil(quotient(hi, m, e) - 1e-9))
			}
			if k1-k0 < 1 {
				// No whole step fits: the outermost ticks of the last one stand alone.
				return bestLo, bestHi, []decimal{best[0], best[len(best)-1]}
			}
			ticks := make([]decimal, 0, k1-k0+1)
			for k := k0; k <= k1; k++ {
				ticks = append(ticks, decimal{k * m, e})
			}
			if widen {
				newLo, newHi := min(lo, ticks[0].float()), max(hi, ticks[len(ticks)-1].float())
				if newHi-newLo > widest*(hi-lo) {
					return linearSteps(lo, hi, false, fits)
				}
				bestLo, bestHi = newLo, newHi
			}
			best = ticks
			if fits(bestLo, bestHi, ticks) {
				return bestLo, bestHi, best
			}
		}
	}
}

func linearScale(lo, hi float64, widen bool, unit string, r room) scale {
	s := scale{}
	var ticks []decimal
	s.lo, s.hi, ticks = linearSteps(lo, hi, widen, func(lo, hi float64, ticks []decimal) bool {
		labels, _ := linearLabels(ticks, unit)
		return spaced(scale{lo: lo, hi: hi}, ticks, labels, r)
	})
	labels, written := linearLabels(ticks, unit)
	s.unit = written
	s.ticks = join(ticks, labels)
	return s
}

// spaced reports whether every pair of neighbouring labels has the room it needs.
func spaced(s scale, ticks []decimal, labels []string, r room) bool {
	for i := 1; i < len(ticks); i++ {
		gap := (s.at(ticks[i].float()) - s.at(ticks[i-1].float())) * r.length
		if gap < (r.need(labels[i])+r.need(labels[i-1]))/2 {
			return false
		}
	}
	return true
}

func join(ticks []decimal, labels []string) []tick {
	out := make([]tick, len(ticks))
	for i, t := range ticks {
		out[i] = tick{t.float(), labels[i]}
	}
	return out
}

// linearLabels writes ticks of one common exponent with the same number of decimals, so that they can be told apart and no more.
func linearLabels(ticks []decimal, unit string) ([]string, string) {
	top := math.MinInt
	for _, t := range ticks {
		if t.mantissa != 0 {
			top = max(top, t.magnitude())
		}
	}
	power := sharedPower(top, ticks[0].exponent, unit)
	labels := make([]string, len(ticks))
	for i, t := range ticks {
		labels[i] = t.text(power)
	}
	return labels, withPower(unit, power)
}

// sharedPower returns the power of ten that an axis takes out of its labels: the SI prefix of the largest tick where the unit
// takes one, otherwise none unless the numbers become long.
func sharedPower(top, step int, unit string) int {
	third := int(math.Floor(float64(top)/3)) * 3
	if prefixed[unit] || top > 5 || top < -3 {
		return third
	}
	return 0
}

// prefixed lists the units that take an SI prefix on an axis. Levels, angles, ratios and counts do not.
var prefixed = map[string]bool{
	"Hz": true, "Ω": true, "\u2126": true /* ohm sign */, "ohm": true, "S": true, "F": true, "H": true, "V": true, "Vrms": true, "Vpp": true,
	"A": true, "W": true, "VA": true, "s": true, "m": true, "T": true, "Wb": true, "C": true, "J": true, "N": true,
	"V/m": true, "A/m": true, "W/Hz": true, "Ω/m": true, "F/m": true, "H/m": true,
}

// prefixes are those of the SI brochure, 9th edition with the 2022 additions, every third power.
var prefixes = map[int]string{
	-30: "q", -27: "r", -24: "y", -21: "z", -18: "a", -15: "f", -12: "p", -9: "n", -6: "µ", -3: "m", 0: "",
	3: "k", 6: "M", 9: "G", 12: "T", 15: "P", 18: "E", 21: "Z", 24: "Y", 27: "R", 30: "Q",
}

// withPower writes the unit in which the labels count: "MHz", or "10⁻⁶ dB" for a unit without prefixes.
func withPower(unit string, power int) string {
	if p, ok := prefixes[power]; ok && prefixed[unit] {
		return p + unit
	}
	if power == 0 {
		return unit
	}
	return strings.TrimSpace(tenTo(power) + " " + unit)
}

// tenTo writes a power of ten with a raised exponent.
func tenTo(n int) string {
	const figures = "⁰¹²³⁴⁵⁶⁷⁸⁹"
	raised := []rune(figures)
	var b strings.Builder
	b.WriteString("10")
	for _, c := range strconv.Itoa(n) {
		if c == '-' {
			b.WriteRune('⁻')
		} else {
			b.WriteRune(raised[c-'0'])
		}
	}
	return b.String()
}

// logMantissas are the labels within one decade, from the densest to the sparsest choice.
var logMantissas = [][]int64{{1, 2, 3, 4, 5, 6, 7, 8, 9}, {1, 2, 3, 5, 7}, {1, 2, 5}, {1, 3}, {1}}

// fewLabels is the number of labels under which a logarithmic axis looks for a better choice.
const fewLabels = 4

func logScale(lo, hi float64, unit string, r room) scale {
	s := scale{lo: lo, hi: hi, log: true}
	var best []tick
	take := func(ticks []decimal, labels []string, written string) {
		if len(ticks) > len(best) && spaced(s, ticks, labels, r) {
			best, s.unit = join(ticks, labels), written
		}
	}
	for _, set := range logMantissas {
		ticks := decadeTicks(lo, hi, set, 1)
		labels, written := logLabels(ticks, unit)
		take(ticks, labels, written)
	}
	// Many decades: every second, third, … of them.
	for every := 2; len(best) == 0 && every < 256; every++ {
		ticks := decadeTicks(lo, hi, []int64{1}, every)
		if len(ticks) < 2 {
			break
		}
		labels, written := logLabels(ticks, unit)
		take(ticks, labels, written)
	}
	// Less than about a decade: even steps, which on this scale stand closest at the upper end.
	if len(best) < fewLabels {
		var labels []string
		var written string
		_, _, ticks := linearSteps(lo, hi, false, func(_, _ float64, ticks []decimal) bool {
			labels, written = linearLabels(ticks, unit)
			return spaced(s, ticks, labels, r)
		})
		labels, written = linearLabels(ticks, unit)
		if len(ticks) > 1 && ticks[0].mantissa == 0 {
			ticks, labels = ticks[1:], labels[1:]
		}
		take(ticks, labels, written)
		if len(best) == 0 {
			best, s.unit = join(ticks, labels), written
		}
	}
	s.ticks = best
	s.minor = logMinor(s, r)
	return s
}

// decadeTicks returns mantissa·10^k inside lo to hi, for every so many-th decade.
func decadeTicks(lo, hi float64, mantissas []int64, every int) []decimal {
	var out []decimal
	for k := int(math.Floor(math.Log10(lo))); k <= int(math.Floor(math.Log10(hi)))+1; k++ {
		if k%every != 0 {
			continue
		}
		for _, m := range mantissas {
			// As on linear axes, an end that is a tick up to rounding counts as one.
			if v := (decimal{m, k}).float(); v >= lo*(1-1e-12) && v <= hi*(1+1e-12) {
				out = append(out, decimal{m, k})
			}
		}
	}
	return out
}

// logLabels writes each tick with its own digits, in the shared prefix that gives the shortest labels; over very many
// decades as powers of ten.
func logLabels(ticks []decimal, unit string) ([]string, string) {
	if len(ticks) == 0 {
		return nil, unit
	}
	from, to := 0, 0
	if prefixed[unit] {
		from = max(-30, int(math.Floor(float64(ticks[0].magnitude())/3))*3)
		to = min(30, int(math.Floor(float64(ticks[len(ticks)-1].magnitude())/3))*3)
	}
	var best []string
	bestPower, bestCost, longest := 0, math.MaxInt, 0
	for power := to; power >= from; power -= 3 {
		labels := make([]string, len(ticks))
		cost, widest := 0, 0
		for i, t := range ticks {
			labels[i] = t.text(power)
			cost += len(labels[i]) + strings.Count(labels[i], ".")
			widest = max(widest, len(labels[i]))
		}
		if cost < bestCost {
			best, bestPower, bestCost, longest = labels, power, cost, widest
		}
	}
	const readable = 7
	if best != nil && longest <= readable {
		return best, withPower(unit, bestPower)
	}
	best = make([]string, len(ticks))
	for i, t := range ticks {
		best[i] = tenTo(t.exponent)
		if t.mantissa != 1 {
			best[i] = strconv.FormatInt(t.mantissa, 10) + "·" + best[i]
		}
	}
	return best, unit
}

// logMinor returns the unlabelled whole mantissas, if their lines can be told apart.
func logMinor(s scale, r room) []float64 {
	decade := r.length * math.Ln10 / math.Log(s.hi/s.lo)
	const closest = 3 // pixels between the lines of 9 and 10
	if decade*math.Log10(10.0/9) < closest {
		return nil
	}
	labelled := make(map[float64]bool, len(s.ticks))
	for _, t := range s.ticks {
		labelled[t.value] = true
	}
	var out []float64
	for _, d := range decadeTicks(s.lo, s.hi, logMantissas[0], 1) {
		if v := d.float(); !labelled[v] {
			out = append(out, v)
		}
	}
	return out
}
