package family

import (
	"math"
	"strconv"

	"knobwise/bench/box"
	"knobwise/bench/form"
	"knobwise/bench/quantity"
)

// Reactances between these, at the frequencies that were measured, are looked through: what is smaller is a wire and what
// is larger a gap in a circuit of the trade (common practice, no source; as in package identify).
const (
	leastReactance = 2.0    // ohm
	mostReactance  = 20_000 // ohm
)

// A coupling of two tuned circuits may be lighter: by this much less than the least or more than the most reactance.
const lighter = 10

// beyond is how far outside the measured frequencies a tuned circuit may have its resonance, as a factor.
const beyond = 3

// guessSpan is how far from a guess a value may lie, as a factor; as in package identify.
const guessSpan = 20

// span is where a value is looked for, in SI units.
type span struct{ low, high float64 }

// bounds are the spans of the values of one family.
type bounds struct {
	capacitor, small, large span // F: in general, at the top of two circuits, at their foot
	coil, tuning            span // H: in general, of a circuit that a variable capacitor tunes
}

var (
	resistorSpan = span{leastReactance, mostReactance}
	straySpan    = span{0.5e-12, 30e-12}
	qSpan        = span{20, 500}
	linkCoupling = span{0.02, 0.9}
	// Two tuned circuits are seldom coupled more closely than a few percent.
	mutualCoupling = span{0.002, 0.9}
)

// boundsOf chooses them for traces from low to high Hz and the variable capacitors that may tune a coil.
func boundsOf(low, high float64, capacitors []*box.Part) bounds {
	first, last := 2*math.Pi*low, 2*math.Pi*high
	b := bounds{
		capacitor: span{1 / (last * mostReactance), 1 / (first * leastReactance)},
		coil:      span{leastReactance / last, mostReactance / first},
	}
	b.small = span{b.capacitor.low / lighter, b.capacitor.high}
	b.large = span{b.capacitor.low, b.capacitor.high * lighter}
	// ω²·L·C = 1. In parallel the capacitors give at most their sum, in series at least the smallest of it.
	var most, least float64
	for _, p := range capacitors {
		t := travelOf(p, b.capacitor)
		most += t.high
		least += 1 / t.low
	}
	least = 1 / least
	square := func(x float64) float64 { return x * x }
	b.tuning = span{
		max(b.coil.low, 1/(square(last*beyond)*most)),
		min(b.coil.high, square(beyond/first)/least),
	}
	if !(b.tuning.low < b.tuning.high) { // capacitors that tune no coil of the trade at these frequencies
		b.tuning = b.coil
	}
	return b
}

// travelOf is between which values a variable part may come to stand; where the file says nothing, anywhere.
func travelOf(p *box.Part, anywhere span) span {
	if low, high, err := p.Travel(); err == nil && !p.Values.Has("min") {
		return span{low, high}
	}
	end := func(field string) span {
		q, _ := form.Get[quantity.Quantity](p.Values, field)
		switch q.Form {
		case quantity.Unknown:
			return anywhere
		case quantity.Guess:
			return span{q.Value / guessSpan, q.Value * guessSpan}
		case quantity.Bounds:
			if q.Low > 0 {
				return span{q.Low, q.High}
			}
			return span{min(anywhere.low, q.High), q.High}
		}
		return span{q.Value, q.Value}
	}
	return span{end("min").low, end("max").high}
}

// unknown writes a value that is looked for.
func (s span) unknown(u quantity.Unit) string {
	return "? " + short(s.low, u) + " .. " + short(s.high, u)
}

// short prints a value to three digits, without zeros behind them.
func short(v float64, u quantity.Unit) string {
	rounded, _ := strconv.ParseFloat(strconv.FormatFloat(v, 'e', 2, 64), 64) // what FormatFloat writes is a number
	return quantity.FormatExact(rounded, u)
}
