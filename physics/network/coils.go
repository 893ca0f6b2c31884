package network

import (
	"fmt"
	"math"

	"gonum.org/v1/gonum/mat"
)

// CoupledCoils is a set of windings with mutual inductance: v_j = R_j·i_j + jω·Σ_k M_jk·i_k with
// M_jk = k_jk·sqrt(L_j·L_k). The first node of each winding is its dotted end. R_j = ωL_j/Q from the winding's own
// inductance; a SeriesResistance is that of each winding.
// Coupling factors of one, and windings without loss, need no special case.
type CoupledCoils struct {
	branches    []Branch
	Inductances []float64 // H, one per winding
	Couplings   []Coupling
	Loss        Loss
}

// Coupling is the coupling factor between two windings, numbered from 0: -1 to 1, negative for opposed dots.
type Coupling struct {
	First, Second int
	Factor        float64
}

// NewCoupledCoils places coupled windings; branches[j] carries inductances[j] in henry.
// The error says why no real set of coils can have these couplings.
func NewCoupledCoils(branches []Branch, inductances []float64, couplings []Coupling, loss Loss) (*CoupledCoils, error) {
	c := &CoupledCoils{branches: branches, Inductances: inductances, Couplings: couplings, Loss: loss}
	// A real set of coils stores positive energy for any currents, so the matrix of coupling factors is positive
	// semidefinite; rounding may leave a hair below zero where the coupling is perfect.
	k := mat.NewSymDense(len(branches), nil)
	for j := range branches {
		k.SetSym(j, j, 1)
	}
	for _, pair := range couplings {
		k.SetSym(pair.First, pair.Second, pair.Factor)
	}
	var eigen mat.EigenSym
	if !eigen.Factorize(k, false) {
		return nil, fmt.Errorf("the coupling factors could not be examined; every one must be between -1 and 1")
	}
	if lowest := eigen.Values(nil)[0]; !(lowest >= -1e-12) {
		return nil, fmt.Errorf("no coils can have these coupling factors together (their matrix has the negative eigenvalue %.3g); lower them", lowest)
	}
	return c, nil
}

func (c *CoupledCoils) Branches() []Branch { return c.branches }

func (c *CoupledCoils) Form() Form { return Current }

func (c *CoupledCoils) Equations(at Frequency, b, a []complex128) error {
	w := at.Rad
	m := len(c.branches)
	for j, l := range c.Inductances {
		r, _, _ := c.Loss.coil(w, l)
		b[j*m+j]++
		a[j*m+j] += complex(r, w*l)
	}
	for _, pair := range c.Couplings {
		mutual := complex(0, w*pair.Factor*math.Sqrt(c.Inductances[pair.First]*c.Inductances[pair.Second]))
		a[pair.First*m+pair.Second] += mutual
		a[pair.Second*m+pair.First] += mutual
	}
	return nil
}

func (c *CoupledCoils) Params() []Param {
	var p []Param
	for j := range c.Inductances {
		p = append(p, Param{fmt.Sprintf("value %d", j+1), &c.Inductances[j]})
	}
	for i := range c.Couplings {
		pair := &c.Couplings[i]
		p = append(p, Param{fmt.Sprintf("coupling %d-%d", pair.First+1, pair.Second+1), &pair.Factor})
	}
	return append(p, c.Loss.param()...)
}

func (c *CoupledCoils) Derivative(at Frequency, k int, _, da []complex128) {
	w := at.Rad
	m := len(c.branches)
	switch {
	case k < m:
		_, dR, _ := c.Loss.coil(w, c.Inductances[k])
		da[k*m+k] += complex(dR, w)
		for _, pair := range c.Couplings {
			other := -1
			switch k {
			case pair.First:
				other = pair.Second
			case pair.Second:
				other = pair.First
			}
			if other < 0 {
				continue
			}
			d := complex(0, w*pair.Factor/2*math.Sqrt(c.Inductances[other]/c.Inductances[k]))
			da[k*m+other] += d
			da[other*m+k] += d
		}
	case k < m+len(c.Couplings):
		pair := c.Couplings[k-m]
		d := complex(0, w*math.Sqrt(c.Inductances[pair.First]*c.Inductances[pair.Second]))
		da[pair.First*m+pair.Second] += d
		da[pair.Second*m+pair.First] += d
	default:
		for j, l := range c.Inductances {
			_, _, d := c.Loss.coil(w, l)
			da[j*m+j] += complex(d, 0)
		}
	}
}

// TappedCoil is one winding in sections: consecutive branches from its first node through the taps to its last,
// every pair of sections coupled. The inductance matrix of the sections is Value times Shape; the whole coil's
// resistance is shared out by Share.
type TappedCoil struct {
	branches []Branch
	Value    float64   // inductance of the whole coil, H
	Shape    []float64 // m×m row by row; all entries together make 1
	Share    []float64 // of the whole coil's resistance; together 1
	Loss     Loss
}

// NewTappedCoil places a tapped coil along nodes: one end, each tap, the other end. shape is the inductance matrix
// of the sections in any scale, m×m row by row for m = len(nodes)-1 sections; turns is the number of turns of each
// section, by which the resistance is shared out; value is the inductance of the whole coil in henry.
func NewTappedCoil(nodes []string, turns, shape []float64, value float64, loss Loss) *TappedCoil {
	m := len(nodes) - 1
	c := &TappedCoil{Value: value, Shape: make([]float64, m*m), Share: make([]float64, m), Loss: loss}
	var total, allTurns float64
	for _, x := range shape {
		total += x
	}
	for _, n := range turns {
		allTurns += n
	}
	for k := range m {
		c.branches = append(c.branches, Branch{nodes[k], nodes[k+1]})
		c.Share[k] = turns[k] / allTurns
	}
	for i, x := range shape {
		c.Shape[i] = x / total
	}
	return c
}

func (c *TappedCoil) Branches() []Branch { return c.branches }

func (c *TappedCoil) Form() Form { return Current }

func (c *TappedCoil) Equations(at Frequency, b, a []complex128) error {
	w := at.Rad
	m := len(c.branches)
	r, _, _ := c.Loss.coil(w, c.Value)
	c.fill(a, w*c.Value, r)
	for j := range m {
		b[j*m+j]++
	}
	return nil
}

func (c *TappedCoil) fill(a []complex128, reactance, resistance float64) {
	m := len(c.branches)
	for i, x := range c.Shape {
		a[i] += complex(0, reactance*x)
	}
	for j, s := range c.Share {
		a[j*m+j] += complex(resistance*s, 0)
	}
}

func (c *TappedCoil) Params() []Param {
	return append([]Param{{"value", &c.Value}}, c.Loss.param()...)
}

func (c *TappedCoil) Derivative(at Frequency, k int, _, da []complex128) {
	w := at.Rad
	_, dR, dLoss := c.Loss.coil(w, c.Value)
	if k == 0 {
		c.fill(da, w, dR)
	} else {
		c.fill(da, 0, dLoss)
	}
}
