package trace

import (
	"errors"
	"fmt"
	"io"

	"knobwise/bench/fault"
	"knobwise/bench/measurement"
	"knobwise/bench/touchstone"
)

func readTouchstone(r io.Reader, name string, ports int) (*Trace, error) {
	d, err := touchstone.Read(r, name, ports)
	if err == nil {
		d, err = d.ToS()
	}
	if err != nil {
		f := fault.At(fault.Place{File: name}, err.Error(), "")
		if e, ok := errors.AsType[*touchstone.Error](err); ok {
			f.Place = fault.Place{File: e.File, Line: e.Line, Column: e.Column, Source: e.SourceLine}
			f.What, f.Instead = e.What, e.Instead
		}
		f.Cause = err
		return nil, f
	}
	t := &Trace{File: name, Quantity: measurement.Scattering, Frequency: d.Frequencies, S: d.Values, Ports: d.Ports, References: d.Reference}
	t.Read = []string{fmt.Sprintf("%s: Touchstone %s, %d port(s), %d frequencies", name, d.Version, d.Ports, len(d.Frequencies))}
	if gain, at := d.MaxGain(); gain > 1.01 {
		t.Notices = append(t.Notices, fmt.Sprintf("%s passes more than it gets (%.3g times the amplitude at %s), which a passive box cannot: check the calibration", name, gain, hertz(at)))
	}
	return t, nil
}
