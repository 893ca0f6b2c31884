package network

import (
	"fmt"
	"math"
)

// Measured is what a measured element asks of its data: S-parameters at any frequency inside their range.
type Measured interface {
	// Eval writes the S-parameters at f hertz to s, ports×ports row by row.
	// Outside the range of the data it returns an error that names both.
	Eval(f float64, s []complex128) error
}

// MeasuredPorts is a one-port or two-port known by its S-parameters. With reference impedance Zk at port k the
// definition b = S·a of the travelling waves (K. Kurokawa, IEEE Trans. MTT-13 (1965) 194-202, real references, from
// memory) reads, without any inverse,
//
//	Σ_k (δ_jk − S_jk)·v_k/√Z_k = Σ_k (δ_jk + S_jk)·√Z_k·i_k
type MeasuredPorts struct {
	branches []Branch
	root     []float64 // square root of each reference impedance
	data     Measured
	s        []complex128
}

// NewMeasuredOnePort places measured S11, with reference in ohm, between two nodes.
func NewMeasuredOnePort(from, to string, data Measured, reference float64) *MeasuredPorts {
	return newMeasured([]Branch{{from, to}}, data, []float64{reference})
}

// NewMeasuredTwoPort places a measured two-port with its ports at one and other, both against ground.
func NewMeasuredTwoPort(one, other string, data Measured, references [2]float64) *MeasuredPorts {
	return newMeasured([]Branch{{one, Ground}, {other, Ground}}, data, references[:])
}

func newMeasured(branches []Branch, data Measured, references []float64) *MeasuredPorts {
	m := &MeasuredPorts{branches: branches, data: data, s: make([]complex128, len(branches)*len(branches))}
	for _, z := range references {
		m.root = append(m.root, math.Sqrt(z))
	}
	return m
}

func (m *MeasuredPorts) Branches() []Branch { return m.branches }

func (m *MeasuredPorts) Form() Form { return Current }

func (m *MeasuredPorts) Equations(at Frequency, b, a []complex128) error {
	if err := m.data.Eval(at.Hz, m.s); err != nil {
		return fmt.Errorf("measured element: %w", err)
	}
	n := len(m.branches)
	for j := range n {
		for k := range n {
			s := m.s[j*n+k]
			unit := complex128(0)
			if j == k {
				unit = 1
			}
			root := complex(m.root[k], 0)
			b[j*n+k] += (unit - s) / root
			a[j*n+k] += (unit + s) * root
		}
	}
	return nil
}

func (m *MeasuredPorts) Params() []Param { return nil }

func (m *MeasuredPorts) Derivative(Frequency, int, []complex128, []complex128) {}
