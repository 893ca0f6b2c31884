// Package measured loads the one-ports and two-ports that box and setup files know by a Touchstone file.
package measured

import (
	"bytes"
	"errors"
	"fmt"

	"knobwise/bench/document"
	"knobwise/bench/fault"
	"knobwise/bench/folder"
	"knobwise/bench/quantity"
	"knobwise/bench/touchstone"
)

// Ports is measured data ready to be asked at any frequency inside its range.
type Ports struct {
	File       string
	References []float64 // ohm, one per port
	Notice     string    // what is suspicious about the file; empty where nothing is
	*touchstone.Interpolator
}

// passive is how far above 1 the largest singular value of S may lie before a file of a passive thing is suspicious:
// the usual accuracy of a calibrated measurement.
const passive = 1.01

// Load reads the file that the node names, relative to the file that names it. Errors are *fault.Error: about the
// naming place where the file cannot be read, about the file itself where its content is wrong.
func Load(n *document.Node, files folder.Files, namedBy string, ports int) (*Ports, error) {
	name := files.Beside(namedBy, n.Text)
	if got, err := touchstone.PortsFromName(name); err == nil && got != ports {
		return nil, n.Fault(fmt.Sprintf("%q is a %d-port file by its name", n.Text, got), fmt.Sprintf("name a file ending in .s%dp", ports))
	}
	data, err := files.Read(name)
	if err != nil {
		what, instead := err.Error(), ""
		if e, ok := errors.AsType[*fault.Error](err); ok {
			what, instead = e.What, e.Instead
		}
		f := n.Fault(fmt.Sprintf("%s: %s", name, what), instead)
		f.Cause = err
		return nil, f
	}
	read, err := touchstone.Read(bytes.NewReader(data), name, ports)
	if err != nil {
		return nil, inFile(name, err)
	}
	interpolator, err := touchstone.NewInterpolator(read)
	if err != nil {
		return nil, inFile(name, err)
	}
	p := &Ports{File: name, References: read.Reference, Interpolator: interpolator}
	s, err := read.ToS()
	if err != nil {
		return nil, inFile(name, err)
	}
	if gain, at := s.MaxGain(); gain > passive {
		p.Notice = fmt.Sprintf("%s reflects or passes more than it gets (%.3g times the amplitude at %s); a passive thing cannot: check its calibration", name, gain, quantity.Format(at, quantity.Hertz, 5))
	}
	return p, nil
}

// inFile is an error about the content of a Touchstone file.
func inFile(name string, err error) error {
	f := fault.At(fault.Place{File: name}, err.Error(), "")
	f.Cause = err
	if e, ok := errors.AsType[*touchstone.Error](err); ok {
		f.Place = fault.Place{File: e.File, Line: e.Line, Column: e.Column, Source: e.SourceLine}
		f.What, f.Instead = e.What, e.Instead
	}
	return f
}
