package identify

import (
	"math"

	"knobwise/bench/box"
	"knobwise/bench/measurement"
	"knobwise/bench/quantity"
)

// DefaultReadingError is how far a dial may be off what was read, as part of its scale, where the file of measurements does
// not say: a fifth of a division of a scale of twenty (common practice, no source).
const DefaultReadingError = 0.01

// uniform is the standard deviation of an even spread over ±1.
var uniform = 1 / math.Sqrt(3)

// knobOf says how well a dial was read. readingError is a part of the scale; 0 takes plain readings as exact.
func knobOf(c *box.Control, m *measurement.Measurement, readingError float64) knob {
	low, high := min(c.Knob.From, c.Knob.To), max(c.Knob.From, c.Knob.To)
	k := knob{control: c, reading: m.Setting[c.Name].Number, low: low, top: high, sd: readingError * (high - low) * uniform}
	k.named = k.sd
	q, doubtful := m.Doubtful[c.Name]
	if !doubtful {
		return k
	}
	k.own = true
	switch q.Form {
	case quantity.Toleranced:
		k.sd = (q.High - q.Low) / 2 * uniform
	case quantity.Bounds:
		k.sd, k.low, k.top = math.Inf(1), max(low, q.Low), min(high, q.High)
	default:
		k.sd = math.Inf(1)
	}
	return k
}
