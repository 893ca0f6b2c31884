package plan

import (
	"fmt"
	"math"

	"knobwise/bench/form"
	"knobwise/bench/hookup"
	"knobwise/bench/quantity"
	"knobwise/bench/setup"
	"knobwise/study/sweep"
)

// A probe that changes the height by more than this, in dB, is told.
const muchGain = 0.5

// probe compares with the same bench without the probe.
func (r *Result) probe(q Question, with *sweep.Result) error {
	if q.Setup.Probe == nil || with.Features[0].Where == sweep.Nowhere {
		return nil
	}
	p, err := probed(q, q.Setup, with)
	if err != nil {
		r.Notices = append(r.Notices, "without the probe this bench has no answer: "+err.Error())
		return nil //nolint:nilerr // an open end alone has no voltage; that is told
	}
	r.Probe = p
	if !(math.Abs(p.Shift) > usualShift*r.Bandwidth) && !(math.Abs(p.Gain) > muchGain) {
		return nil
	}
	told := fmt.Sprintf("the probe %s: keep it in the setup when the trace is compared", effect(p))
	across := resistor(q.Setup, 50)
	if q.Setup.Load.Describe() != across.Load.Describe() {
		h, err := hookup.Connect(q.Box, q.At, across)
		if err != nil {
			return err
		}
		trace, err := sweep.Run(h, sweep.Question{Sweep: across.Sweep, Features: []sweep.Trace{sweep.LoadVoltage}})
		if err != nil {
			return err
		}
		if p.Across50, err = probed(q, across, trace); err != nil {
			return err
		}
		told += fmt.Sprintf("; across a load of 50 ohm it %s", effect(p.Across50))
	}
	r.Notices = append(r.Notices, told)
	return nil
}

// effect says what a probe does.
func effect(p *Probe) string {
	if math.IsNaN(p.Shift) {
		return fmt.Sprintf("changes the highest level by %+.2f dB", p.Gain)
	}
	return fmt.Sprintf("moves the peak by %s and changes it by %+.2f dB", hertz(p.Shift), p.Gain)
}

// probed is what the probe of a bench does, whose trace with it is given.
func probed(q Question, s *setup.Setup, with *sweep.Result) (*Probe, error) {
	bare := *s
	bare.Probe = nil
	h, err := hookup.Connect(q.Box, q.At, &bare)
	if err != nil {
		return nil, err
	}
	without, err := sweep.Run(h, sweep.Question{Sweep: bare.Sweep, Features: []sweep.Trace{sweep.LoadVoltage}})
	if err != nil {
		return nil, err
	}
	a, b := with.Features[0], without.Features[0]
	p := &Probe{Shift: math.NaN(), Gain: a.Peak.Level - b.Peak.Level}
	if a.Where == sweep.Inside && b.Where == sweep.Inside {
		p.Shift = a.Peak.Frequency - b.Peak.Frequency
	}
	return p, nil
}

// resistor is a setup with a resistor in ohm for its load.
func resistor(s *setup.Setup, value float64) *setup.Setup {
	other := *s
	other.Load = setup.Load{Kind: setup.LoadKinds[0], Values: form.Values{"value": {Of: quantity.Quantity{Value: value, Low: value, High: value, Unit: quantity.Ohm}}}}
	return &other
}
