package trace

import (
	"errors"
	"fmt"
	"io"

	"knobwise/bench/fault"
	"knobwise/bench/measurement"
	"knobwise/bench/quantity"
	"knobwise/bench/touchstone"
)

// refuseMany refuses a file whose name says that it has more ports than a box.
func refuseMany(name string) error {
	if _, err := touchstone.PortsFromName(name); many.MatchString(name) && err != nil {
		return fault.New(fault.Request, name+" is a file of more ports than a box has", "take one that ends in .s1p or .s2p")
	}
	return nil
}

// Renormalise takes S-parameters to one reference in ohm. Errors are *fault.Error.
func (t *Trace) Renormalise(reference float64) error {
	d := &touchstone.Data{File: t.File, Ports: t.Ports, Parameter: 'S', Frequencies: t.Frequency, Values: t.S, Reference: t.References}
	one, err := d.Renormalise(reference)
	if err != nil {
		f := fault.New(fault.Request, fmt.Sprintf("%s has no S-parameters at %s", t.File, quantity.FormatExact(reference, quantity.Ohm)), "use another reference")
		f.Cause = err
		return f
	}
	t.S, t.References = one.Values, one.Reference
	return nil
}

func frequencies(n int) string {
	if n == 1 {
		return "1 frequency"
	}
	return fmt.Sprintf("%d frequencies", n)
}

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
	t.Read = []string{fmt.Sprintf("%s: Touchstone %s, %s, %s", name, d.Version, counted(d.Ports, "port"), frequencies(len(d.Frequencies)))}
	if gain, at := d.MaxGain(); gain > 1.01 {
		t.Notices = append(t.Notices, fmt.Sprintf("%s passes more than it gets (%.3g times the amplitude at %s), which a passive box cannot: check the calibration", name, gain, hertz(at)))
	}
	return t, nil
}
