package sweep

import (
	"knobwise/bench/box"
	"knobwise/bench/hookup"
	"knobwise/bench/setup"
)

// Scattering is the box at one setting as a two-port: port 1 the antenna socket, port 2 the receiver socket.
type Scattering struct {
	Box       string
	Setting   box.Setting
	Reference float64         // ohm, of both ports
	Frequency []float64       // Hz
	S         [][4]complex128 // S11, S12, S21, S22 at each frequency
	Notices   []string
}

// RunScattering computes the S-parameters of a box at a setting against a reference in ohm. Errors are *fault.Error.
func RunScattering(b *box.Box, s box.Setting, over setup.Sweep, reference float64) (*Scattering, error) {
	if err := over.Check(); err != nil {
		return nil, err
	}
	between, err := hookup.ConnectBetween(b, s, reference)
	if err != nil {
		return nil, err
	}
	if err := between.Covers(over.From, over.To); err != nil {
		return nil, err
	}
	r := &Scattering{Box: b.Name, Setting: s, Reference: reference, Frequency: over.Frequencies(), Notices: between.Notices}
	for _, f := range r.Frequency {
		x, err := between.Scattering(f)
		if err != nil {
			return nil, err
		}
		r.S = append(r.S, x)
	}
	return r, nil
}
