package multiaffine

import (
	"math"
	"math/cmplx"

	"knobwise/physics/network"
)

// View is a circuit at one frequency as its contacts and knobs see it. It is data: once made it does not change.
//
// Each is a port, and every knob's port holds a reference admittance; all contacts are open. With Z the ports' impedances,
// o their open voltages, t their transfers to the load and h the load voltage in this state, an element β·v = α·i in place
// of the reference r acts as a current of its own: with δ = β − α·r and v = α·u that current is −δ·u, and
//
//	(diag α + Z·diag δ)·u = o,   H = h − t·diag(δ)·u.
//
// Column k of this system is α_k·e_k + δ_k·Z_k, linear in (α, δ): H is a quotient of two determinants (Cramer), each
// affine in x where α and β are.
type View struct {
	Frequency float64 // Hz
	contacts  int
	knobs     Function // the knobs' columns; its matrix is [Z o; t h] with the contacts still in it, and first
}

// View looks at the circuit at f Hz, positive: one factorisation, and a solve per port. It writes to v, reusing its
// room. Errors: *NotAffineError where a knob is not affine at this frequency, and those of network.Solver.At.
//
// A knob's reference is |y|·(1+j) with y its admittance in the middle: lossy, so that no reference ever falls on a
// resonance.
func (m *Model) View(f float64, v *View) error {
	at := network.AtHertz(f)
	v.Frequency, v.contacts = f, len(m.circuit.Contacts)
	v.knobs.degrees, v.knobs.columns = append(v.knobs.degrees[:0], m.gangs...), v.knobs.columns[:0]
	for i := range m.knobs {
		k := &m.knobs[i]
		low, high, size, err := m.ends(k, at)
		if err != nil {
			return err
		}
		r := complex(size, size)
		m.stand[i].Value = r
		dl, dh := low.beta-low.alpha*r, high.beta-high.alpha*r
		v.knobs.columns = append(v.knobs.columns, column{(low.alpha + high.alpha) / 2, (high.alpha - low.alpha) / 2, (dl + dh) / 2, (dh - dl) / 2})
	}
	if err := m.inserted.Ports(f, m.ports, &m.seen); err != nil {
		return err
	}
	p := len(m.ports)
	w := v.knobs.w[:0]
	for j := range p {
		w = append(append(w, m.seen.Impedance[j*p:j*p+p]...), m.seen.Open[j])
	}
	v.knobs.w = append(append(w, m.seen.Transfer...), m.seen.Through)
	return nil
}

// equation is β·v = α·i.
type equation struct{ beta, alpha complex128 }

// equationOf asks an element of one branch for its equation.
func (m *Model) equationOf(e network.Element, at network.Frequency) (equation, error) {
	m.ask = [2]complex128{}
	err := e.Equations(at, m.ask[:1], m.ask[1:])
	return equation{m.ask[0], m.ask[1]}, err
}

// affine is by how much a knob's equation may miss the mean of its ends: rounding, no more.
const affine = 1e-10

// ends gives a knob's equations at x = -1 and 1 and the size of its admittance in siemens at 0, and checks that it is
// affine in between.
func (m *Model) ends(k *knob, at network.Frequency) (low, high equation, size float64, err error) {
	low, err = m.equationOf(k.Low, at)
	if err != nil {
		return low, high, 0, err
	}
	middle, err := m.equationOf(k.Middle, at)
	if err != nil {
		return low, high, 0, err
	}
	high, err = m.equationOf(k.High, at)
	if err != nil {
		return low, high, 0, err
	}
	beta, alpha := (low.beta+high.beta)/2, (low.alpha+high.alpha)/2
	off := cmplx.Abs(middle.beta*alpha - middle.alpha*beta)
	most := cmplx.Abs(middle.beta)*(cmplx.Abs(low.alpha)+cmplx.Abs(high.alpha)) + cmplx.Abs(middle.alpha)*(cmplx.Abs(low.beta)+cmplx.Abs(high.beta))
	if !(off <= affine*most) || most == 0 {
		return low, high, 0, &NotAffineError{Axis: m.circuit.Axes[k.axis].Name, Knob: k.number, At: at.Hz, Why: "its equation is not the mean of those at the ends when the knob is in the middle; vary it by full solves, or give it a scale in which it is affine"}
	}
	size = cmplx.Abs(middle.beta) / cmplx.Abs(middle.alpha)
	if math.IsNaN(size) {
		size = 1
	}
	return low, high, min(max(size, 1e-9), 1e2), nil
}
