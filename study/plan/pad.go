package plan

import (
	"fmt"
	"maps"
	"math"

	"knobwise/bench/form"
	"knobwise/bench/quantity"
	"knobwise/bench/setup"
)

// e24 is the E24 series of IEC 60063.
var e24 = []float64{1, 1.1, 1.2, 1.3, 1.5, 1.6, 1.8, 2, 2.2, 2.4, 2.7, 3, 3.3, 3.6, 3.9, 4.3, 4.7, 5.1, 5.6, 6.2, 6.8, 7.5, 8.2, 9.1}

// pad chooses the resistor in series with a generator for a wanted source resistance, and puts it into the setup: all the rest is
// asked with the source that results.
func (r *Result) pad(q *Question) {
	if q.Wanted == 0 {
		return
	}
	own, ok := q.Setup.GeneratorImpedance()
	switch {
	case !ok:
		r.Notices = append(r.Notices, "the source is no generator, so no pad makes it another")
		return
	case q.Wanted < own:
		r.Notices = append(r.Notices, fmt.Sprintf("the generator's own %s is more than the %s that are wanted: a resistor in series cannot lower it", ohms(own), ohms(q.Wanted)))
		return
	}
	series := q.Wanted - own
	if series < 0.5 { // the generator is as good as that
		r.Pad = &Pad{0, own}
		q.Setup = padded(q.Setup, 0)
		return
	}
	decade := math.Pow(10, math.Floor(math.Log10(series)))
	best := math.Inf(1)
	for _, scale := range []float64{decade, 10 * decade} {
		for _, v := range e24 {
			if math.Abs(math.Log(v*scale/series)) < math.Abs(math.Log(best/series)) {
				best = v * scale
			}
		}
	}
	r.Pad = &Pad{best, own + best}
	q.Setup = padded(q.Setup, best)
}

// padded is a setup with another resistor in series with its generator, in place of any that it has.
func padded(s *setup.Setup, series float64) *setup.Setup {
	other := *s
	other.Source.Values = maps.Clone(s.Source.Values)
	other.Source.Values["series"] = form.Value{Of: quantity.Quantity{Value: series, Low: series, High: series, Unit: quantity.Ohm}}
	return &other
}

// generator is how a setup's generator must be set.
func generator(s *setup.Setup) Generator {
	own, ok := s.GeneratorImpedance()
	if !ok {
		return Generator{math.NaN(), math.NaN(), math.NaN()}
	}
	into := s.Source.EMF * 50 / (50 + own)
	return Generator{s.Source.EMF, into, peakToPeak * into}
}
