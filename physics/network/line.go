package network

import "knobwise/physics/line"

// Line is a uniform transmission line between two nodes, both against ground. With i1 and i2 flowing into its ends,
// s = sinh(γl/2) and c = cosh(γl/2) it obeys
//
//	c·(v1 − v2) = Z0·s·(i1 − i2)
//	s·(v1 + v2) = Z0·c·(i1 + i2)
//
// (derived in package line), which is regular for every length: no half or quarter wave needs a special case.
type Line struct {
	branches [2]Branch
	Line     line.Line
}

// NewLine places a line between two nodes, against ground.
func NewLine(one, other string, l line.Line) *Line {
	return &Line{branches: [2]Branch{{one, Ground}, {other, Ground}}, Line: l}
}

func (l *Line) Branches() []Branch { return l.branches[:] }

func (l *Line) Form() Form { return Current }

func (l *Line) Equations(at Frequency, b, a []complex128) error {
	s, c := l.Line.HalfSinhCosh(at.Hz)
	l.fill(b, a, s, c, l.Line.Impedance)
	return nil
}

func (l *Line) fill(b, a []complex128, s, c complex128, z0 float64) {
	z := complex(z0, 0)
	b[0] += c
	b[1] -= c
	b[2] += s
	b[3] += s
	a[0] += z * s
	a[1] -= z * s
	a[2] += z * c
	a[3] += z * c
}

func (l *Line) Params() []Param {
	return []Param{
		{"impedance", &l.Line.Impedance},
		{"length", &l.Line.Length},
		{"velocity", &l.Line.Velocity},
		{"loss", &l.Line.LossDBPerMetre},
	}
}

func (l *Line) Derivative(at Frequency, k int, db, da []complex128) {
	if k == 0 {
		s, c := l.Line.HalfSinhCosh(at.Hz)
		var none [4]complex128
		l.fill(none[:], da, s, c, 1)
		return
	}
	d := l.Line.Derivatives(at.Hz)
	part := d.Length
	switch k {
	case 2:
		part = d.Velocity
	case 3:
		part = d.LossDBPerMetre
	}
	l.fill(db, da, part.S, part.C, l.Line.Impedance)
}
