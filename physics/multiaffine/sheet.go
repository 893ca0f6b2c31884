package multiaffine

// Sheet is a function of two axes with a single knob each, prepared for many rows: what of the last axis's row does not
// depend on the position of the first is worked out once.
//
// With φ = δ/(α + δ·Z) of the first knob, its elimination takes φ·(column)·(row) from the matrix of the second. Z, h and
// the 2×2 determinant Z·h − t·o of that are affine in φ, so the row's four coefficients are too.
type Sheet struct {
	first column
	z     complex128
	at    Row // at φ = 0
	slope Row // with φ
}

// Sheet prepares a function of two axes; ok is false where it has not just two, with a single knob each.
func (f *Function) Sheet() (s Sheet, ok bool) {
	if len(f.degrees) != 2 || len(f.columns) != 2 {
		return s, false
	}
	s.prepare(f.columns, f.w)
	return s, true
}

// prepare works on the columns of two knobs and their matrix.
func (s *Sheet) prepare(columns []column, w []complex128) {
	w = w[:9]
	s.first, s.z = columns[0], w[0]
	o1, z12, z21, t1 := w[2], w[1], w[3], w[6]
	z, o, t, h := w[4], w[5], w[7], w[8]
	c := &columns[1]
	q, dz, dh := z*h-t*o, -z21*z12, -t1*o1
	dq := z*dh + h*dz + t*z21*o1 + o*t1*z12
	s.at = Row{c.a0*h + c.d0*q, c.a1*h + c.d1*q, c.a0 + c.d0*z, c.a1 + c.d1*z}
	s.slope = Row{c.a0*dh + c.d0*dq, c.a1*dh + c.d1*dq, c.d0 * dz, c.d1 * dz}
}

// Row is the row of the last axis at x of the first. It is infinite or NaN where the first resonates without loss.
func (s *Sheet) Row(x float64) Row {
	phi, _ := s.first.factor(x, s.z)
	a, b := &s.at, &s.slope
	return Row{a.N0 + b.N0*phi, a.N1 + b.N1*phi, a.D0 + b.D0*phi, a.D1 + b.D1*phi}
}
