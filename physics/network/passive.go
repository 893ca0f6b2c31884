package network

import "math"

// nodalFrom is the resistance in ohm from which a resistor is stamped as an admittance. A smaller one beside the
// 1e-5 S of a tuned circuit would cost digits (1 ohm: five of them), so its current is kept as an unknown.
const nodalFrom = 10.0

// Resistor is a resistance with the inductance of its leads in series with it, and the stray capacitance of its
// body across the resistance alone: Z = R/(1 + jωRC) + jωL.
type Resistor struct {
	oneBranch
	Resistance float64 // ohm, not negative
	Leads      float64 // series inductance, H
	Stray      float64 // parallel capacitance, F
}

// NewResistor places a resistance in ohm between two nodes.
func NewResistor(from, to string, resistance float64) *Resistor {
	return &Resistor{oneBranch: between(from, to), Resistance: resistance}
}

func (r *Resistor) Form() Form {
	if r.Resistance >= nodalFrom && r.Leads == 0 {
		return Nodal
	}
	return Current
}

func (r *Resistor) Equations(at Frequency, b, a []complex128) error {
	w := at.Rad
	body := complex(1, w*r.Resistance*r.Stray)
	b[0] += body
	a[0] += complex(r.Resistance, 0) + complex(0, w*r.Leads)*body
	return nil
}

func (r *Resistor) Params() []Param {
	return []Param{{"value", &r.Resistance}, {"leads", &r.Leads}, {"stray", &r.Stray}}
}

func (r *Resistor) Derivative(at Frequency, k int, db, da []complex128) {
	w := at.Rad
	body := complex(1, w*r.Resistance*r.Stray)
	leads := complex(0, w*r.Leads)
	var dbody complex128
	switch k {
	case 0:
		dbody = complex(0, w*r.Stray)
		da[0]++
	case 1:
		da[0] += complex(0, w) * body
	case 2:
		dbody = complex(0, w*r.Resistance)
	}
	db[0] += dbody
	da[0] += leads * dbody
}

// LossModel says how the series resistance of a coil or a capacitor depends on frequency.
type LossModel int

const (
	// Lossless means no resistance.
	Lossless LossModel = iota
	// ConstantQ means reactance/Q at every frequency.
	ConstantQ
	// SkinQ means reactance/Q at the frequency At, growing with the square root of frequency from there (skin effect).
	SkinQ
	// SeriesResistance means the same resistance at every frequency.
	SeriesResistance
)

// Loss is the series loss of a coil or a capacitor.
type Loss struct {
	Model LossModel
	Q     float64 // ConstantQ, SkinQ: positive
	At    float64 // SkinQ: Hz
	R     float64 // SeriesResistance: ohm
}

// growth is the factor by which the resistance at angular frequency w exceeds (reactance at w)/Q for a coil:
// 1 for ConstantQ; for SkinQ R(f) = (2π·At·L/Q)·sqrt(f/At), which is (ωL/Q)·sqrt(At/f).
func (l *Loss) growth(w float64) float64 {
	if l.Model == SkinQ {
		return math.Sqrt(2 * math.Pi * l.At / w)
	}
	return 1
}

// coil returns the series resistance of inductance henry, and its derivatives with respect to the inductance and
// to the loss parameter (Q or R).
func (l *Loss) coil(w, henry float64) (r, dHenry, dLoss float64) {
	switch l.Model {
	case ConstantQ, SkinQ:
		dHenry = w / l.Q * l.growth(w)
		r = dHenry * henry
		return r, dHenry, -r / l.Q
	case SeriesResistance:
		return l.R, 0, 1
	}
	return 0, 0, 0
}

func (l *Loss) param() []Param {
	switch l.Model {
	case ConstantQ, SkinQ:
		return []Param{{"Q", &l.Q}}
	case SeriesResistance:
		return []Param{{"resistance", &l.R}}
	}
	return nil
}

// Capacitor is a capacitance in series with its loss and its leads: Z = 1/(jωC) + R + jωL.
// With ConstantQ R = 1/(ωCQ); with SkinQ R = sqrt(f/At)/(2π·At·C·Q).
type Capacitor struct {
	oneBranch
	Capacitance float64 // F, positive
	Loss        Loss
	Leads       float64 // H
}

// NewCapacitor places a capacitance in farad between two nodes.
func NewCapacitor(from, to string, capacitance float64, loss Loss) *Capacitor {
	return &Capacitor{oneBranch: between(from, to), Capacitance: capacitance, Loss: loss}
}

// Form is nodal unless the leads can bring the capacitor to series resonance, where its admittance has no bound.
func (c *Capacitor) Form() Form {
	if c.Leads == 0 {
		return Nodal
	}
	return Current
}

// jwCR is jωCR, the loss term of A; it does not depend on C where Q is given.
func (c *Capacitor) jwCR(w float64) complex128 {
	switch c.Loss.Model {
	case ConstantQ:
		return complex(0, 1/c.Loss.Q)
	case SkinQ:
		ratio := w / (2 * math.Pi * c.Loss.At)
		return complex(0, ratio*math.Sqrt(ratio)/c.Loss.Q)
	case SeriesResistance:
		return complex(0, w*c.Capacitance*c.Loss.R)
	}
	return 0
}

func (c *Capacitor) Equations(at Frequency, b, a []complex128) error {
	w := at.Rad
	b[0] += complex(0, w*c.Capacitance)
	a[0] += complex(1-w*w*c.Capacitance*c.Leads, 0) + c.jwCR(w)
	return nil
}

func (c *Capacitor) Params() []Param {
	return append([]Param{{"value", &c.Capacitance}, {"leads", &c.Leads}}, c.Loss.param()...)
}

func (c *Capacitor) Derivative(at Frequency, k int, db, da []complex128) {
	w := at.Rad
	switch k {
	case 0:
		db[0] += complex(0, w)
		da[0] += complex(-w*w*c.Leads, 0)
		if c.Loss.Model == SeriesResistance {
			da[0] += complex(0, w*c.Loss.R)
		}
	case 1:
		da[0] += complex(-w*w*c.Capacitance, 0)
	case 2:
		if c.Loss.Model == SeriesResistance {
			da[0] += complex(0, w*c.Capacitance)
		} else {
			da[0] -= c.jwCR(w) / complex(c.Loss.Q, 0)
		}
	}
}

// Inductor is an inductance with its series loss, and the self-capacitance across both:
// Z = (R + jωL)/(1 + jωC·(R + jωL)).
type Inductor struct {
	oneBranch
	Inductance      float64 // H, positive
	Loss            Loss
	SelfCapacitance float64 // F
}

// NewInductor places an inductance in henry between two nodes.
func NewInductor(from, to string, inductance float64, loss Loss) *Inductor {
	return &Inductor{oneBranch: between(from, to), Inductance: inductance, Loss: loss}
}

func (l *Inductor) Form() Form { return Current }

func (l *Inductor) coil(w float64) (z, dL, dLoss complex128) {
	r, dR, dLossR := l.Loss.coil(w, l.Inductance)
	return complex(r, w*l.Inductance), complex(dR, w), complex(dLossR, 0)
}

func (l *Inductor) Equations(at Frequency, b, a []complex128) error {
	w := at.Rad
	z, _, _ := l.coil(w)
	b[0] += 1 + complex(0, w*l.SelfCapacitance)*z
	a[0] += z
	return nil
}

func (l *Inductor) Params() []Param {
	return append([]Param{{"value", &l.Inductance}, {"self capacitance", &l.SelfCapacitance}}, l.Loss.param()...)
}

func (l *Inductor) Derivative(at Frequency, k int, db, da []complex128) {
	w := at.Rad
	z, dL, dLoss := l.coil(w)
	var dz complex128
	switch k {
	case 0:
		dz = dL
	case 1:
		db[0] += complex(0, w) * z
	case 2:
		dz = dLoss
	}
	da[0] += dz
	db[0] += complex(0, w*l.SelfCapacitance) * dz
}

// Series is a resistance, an inductance and, where it is not zero, a capacitance in series:
// the impedance of a source such as a short wire.
type Series struct {
	oneBranch
	Resistance, Inductance, Capacitance float64 // ohm, H, F; Capacitance 0 means none (a short)
}

// NewSeries places a series circuit between two nodes; capacitance 0 leaves the capacitor out.
func NewSeries(from, to string, resistance, inductance, capacitance float64) *Series {
	return &Series{between(from, to), resistance, inductance, capacitance}
}

func (s *Series) Form() Form { return Current }

func (s *Series) Equations(at Frequency, b, a []complex128) error {
	w := at.Rad
	z := complex(s.Resistance, w*s.Inductance)
	if s.Capacitance == 0 {
		b[0]++
		a[0] += z
		return nil
	}
	jwC := complex(0, w*s.Capacitance)
	b[0] += jwC
	a[0] += 1 + jwC*z
	return nil
}

func (s *Series) Params() []Param {
	p := []Param{{"resistance", &s.Resistance}, {"inductance", &s.Inductance}}
	if s.Capacitance != 0 {
		p = append(p, Param{"capacitance", &s.Capacitance})
	}
	return p
}

func (s *Series) Derivative(at Frequency, k int, db, da []complex128) {
	w := at.Rad
	factor := complex128(1)
	if s.Capacitance != 0 {
		factor = complex(0, w*s.Capacitance)
	}
	switch k {
	case 0:
		da[0] += factor
	case 1:
		da[0] += factor * complex(0, w)
	case 2:
		db[0] += complex(0, w)
		da[0] += complex(0, w) * complex(s.Resistance, w*s.Inductance)
	}
}

// Crystal is a quartz resonator: motional resistance, inductance and capacitance in series, with the holder's
// capacitance across them (K. S. Van Dyke's equivalent circuit, 1925; IEC 60444; both from memory).
type Crystal struct {
	oneBranch
	Resistance, Inductance, Capacitance, Holder float64 // ohm, H, F, F
}

// NewCrystal places a crystal between two nodes.
func NewCrystal(from, to string, resistance, inductance, capacitance, holder float64) *Crystal {
	return &Crystal{between(from, to), resistance, inductance, capacitance, holder}
}

func (c *Crystal) Form() Form { return Current }

// motional is jωC·(R + jωL + 1/(jωC)).
func (c *Crystal) motional(w float64) complex128 {
	return complex(1-w*w*c.Inductance*c.Capacitance, w*c.Resistance*c.Capacitance)
}

func (c *Crystal) Equations(at Frequency, b, a []complex128) error {
	w := at.Rad
	m := c.motional(w)
	b[0] += complex(0, w*c.Capacitance) + complex(0, w*c.Holder)*m
	a[0] += m
	return nil
}

func (c *Crystal) Params() []Param {
	return []Param{
		{"resistance", &c.Resistance},
		{"inductance", &c.Inductance},
		{"capacitance", &c.Capacitance},
		{"holder", &c.Holder},
	}
}

func (c *Crystal) Derivative(at Frequency, k int, db, da []complex128) {
	w := at.Rad
	var dm complex128
	switch k {
	case 0:
		dm = complex(0, w*c.Capacitance)
	case 1:
		dm = complex(-w*w*c.Capacitance, 0)
	case 2:
		dm = complex(-w*w*c.Inductance, w*c.Resistance)
		db[0] += complex(0, w)
	case 3:
		db[0] += complex(0, w) * c.motional(w)
	}
	da[0] += dm
	db[0] += complex(0, w*c.Holder) * dm
}

// Contact is a switch contact: nothing at all when open, a perfect joint when closed.
type Contact struct {
	oneBranch
	Closed bool
}

// NewContact places a contact between two nodes.
func NewContact(from, to string, closed bool) *Contact { return &Contact{between(from, to), closed} }

func (c *Contact) Form() Form { return Current }

func (c *Contact) Equations(_ Frequency, b, a []complex128) error {
	if c.Closed {
		b[0]++
	} else {
		a[0]++
	}
	return nil
}

func (c *Contact) Params() []Param { return nil }

func (c *Contact) Derivative(Frequency, int, []complex128, []complex128) {}
