package network

import (
	"fmt"
	"math"
	"math/cmplx"
	"slices"
)

// Turned evaluates one circuit at many settings of a few elements, one frequency at a time: the voltage of a node for an emf
// of 1 V, and its derivatives by the values of other elements and by the turned elements themselves. A frequency costs one
// factorisation and a few solves with it, a setting only as many multiplications as there are turned elements and chosen
// parameters. The numbers are those of Solver and Sensitivity, up to rounding: some 1e-15 of the emf and of the output at the
// references, which beside an output of -120 dB may be 1e-9 of it. Not safe for concurrent use.
//
// With a reference in place of each turned element the matrix is A. An element that is not its reference adds D·e·εᵀ, where ε
// senses its branch voltage and D = y − y_ref (or, where its impedance is small, its current and D = z_ref − z), and e is its
// place in the equations. With W = εᵀ·A⁻¹·e, w = εᵀ·A⁻¹·b, l = cᵀ·A⁻¹·e for all turned elements together, output c and
// drive b, the solution and its adjoint are (M. A. Woodbury 1950; W. W. Hager, SIAM Review 31 (1989) 221-239, from memory)
//
//	x = A⁻¹·b − A⁻¹·e·δs  with (α + W·δ)·s = w
//	λ = A⁻ᵀ·c − A⁻ᵀ·ε·δt  with (α + Wᵀ·δ)·t = l
//
// where D = δ/α, so that α may be zero. The derivative by a value elsewhere is −λᵀ·(dA·x − db), and that by (B, A) of a
// turned element −s·t·(A·dB − B·dA).
type Turned struct {
	solver     *Solver
	source     ID
	output     int // unknown; -1 for ground
	references []*reference
	places     []*place // of the references
	chosen     []chosen
	k          int // number of turned elements

	x       []*Solution    // drive, then the place of each reference
	adjoint [][]complex128 // output, then what each reference senses

	h        complex128   // the output at the references
	w, l     []complex128 // k
	senses   []complex128 // W, k×k row by row
	rowAt    []rowOf
	rows     []complex128 // adjoints of the rows in rowAt, each with its k+1 parts
	terms    []term
	columns  []complex128 // what each term's derivative makes of the solution, each with its k+1 parts
	prepared bool         // rows and columns belong to the last At

	delta, alpha, s, t []complex128 // k
	matrix             []complex128 // k×k
	now                []complex128 // the adjoint of each row at the setting
}

// rowOf is an equation of an element with a chosen parameter: the one of a branch, or the element's only one.
type rowOf struct {
	element ID
	branch  int
}

// term is the share of one equation in the derivative by one chosen parameter.
type term struct{ row, parameter int }

// reference stands in the place of a turned element: an admittance of the size and the kind of its middle value, but with as
// much loss as reactance. A lossless one that resonates with the rest of the circuit would bring the matrix near to one
// without an inverse.
type reference struct {
	Element
	given   bool
	b, a    [1]complex128 // of the middle value
	y       complex128    // S
	z       complex128    // ohm
	current bool          // stamped as an impedance, its current sensed
}

func (r *reference) Equations(at Frequency, b, a []complex128) error {
	if !r.given {
		r.b[0], r.a[0] = 0, 0
		if err := r.Element.Equations(at, r.b[:], r.a[:]); err != nil {
			return err
		}
	}
	size := cmplx.Abs(r.b[0]) / cmplx.Abs(r.a[0])
	if !(size > 0) || math.IsInf(size, 0) {
		size = 1 / z0 // a contact says nothing of its size
	}
	part := size / math.Sqrt2
	r.y = complex(part, part)
	if imag(r.b[0]*cmplx.Conj(r.a[0])) < 0 {
		r.y = complex(part, -part)
	}
	r.z = reciprocal(r.y)
	r.current = r.Form() == Current && size*z0 > 1
	if r.current {
		b[0]++
		a[0] += r.z
	} else {
		b[0] += r.y
		a[0]++
	}
	return nil
}

// NewTurned lays out the evaluation of a circuit with an emf of 1 V in the element source, which has one branch and Current
// form (as those of Insert have). The output is the voltage of a node against ground. turned are the elements that change
// from setting to setting, of one branch each. elements and numbers name the parameters of other elements whose derivatives
// are wanted, as for Solver.Sensitivity. The elements are shared with the circuit, so that values set in them count; none is
// changed, nor the circuit. Elements added to the circuit later do not count. The error says which argument cannot be used.
func NewTurned(c *Circuit, source ID, output string, turned []ID, elements []ID, numbers []int) (*Turned, error) {
	known := func(id ID) bool { return id >= 0 && int(id) < len(c.elements) }
	if !known(source) || c.elements[source].Form() != Current || len(c.elements[source].Branches()) != 1 {
		return nil, fmt.Errorf("network: the source must be an element of one branch in current form, and element %d is not", source)
	}
	if len(elements) != len(numbers) {
		return nil, fmt.Errorf("network: each parameter needs its element and its number, got %d elements and %d numbers", len(elements), len(numbers))
	}
	own := &Circuit{elements: append([]Element(nil), c.elements...), joins: append([][2]string(nil), c.joins...)}
	k := len(turned)
	t := &Turned{source: source, k: k}
	isTurned := map[ID]bool{}
	for _, id := range turned {
		switch {
		case !known(id):
			return nil, fmt.Errorf("network: no element %d to turn; the circuit has %d, counted from 0", id, len(c.elements))
		case len(c.elements[id].Branches()) != 1:
			return nil, fmt.Errorf("network: element %d has %d branches; turn elements of one branch", id, len(c.elements[id].Branches()))
		case id == source:
			return nil, fmt.Errorf("network: element %d is the source; turn other elements", id)
		case isTurned[id]:
			return nil, fmt.Errorf("network: element %d is turned twice; name it once", id)
		}
		isTurned[id] = true
		r := &reference{Element: c.elements[id]}
		t.references = append(t.references, r)
		own.elements[id] = r
	}
	if err := own.staysWhole(c, turned); err != nil {
		return nil, err
	}
	row := map[rowOf]int{}
	for i, id := range elements {
		switch {
		case !known(id):
			return nil, fmt.Errorf("network: no element %d with a parameter; the circuit has %d, counted from 0", id, len(c.elements))
		case isTurned[id]:
			return nil, fmt.Errorf("network: element %d is turned; Setting gives its derivatives in another way", id)
		case numbers[i] < 0 || numbers[i] >= len(c.elements[id].Params()):
			return nil, fmt.Errorf("network: no parameter %d of element %d; it has %d, counted from 0", numbers[i], id, len(c.elements[id].Params()))
		}
		t.chosen = append(t.chosen, chosen{id, numbers[i]})
		for branch := range c.elements[id].Branches() {
			at := rowOf{id, branch}
			if _, ok := row[at]; !ok {
				row[at] = len(t.rowAt)
				t.rowAt = append(t.rowAt, at)
			}
			t.terms = append(t.terms, term{row[at], i})
		}
	}
	t.solver = NewSolver(own)
	var ok bool
	if t.output, ok = t.solver.nodes[output]; !ok {
		return nil, fmt.Errorf("network: no node %q for the output", output)
	}
	for _, id := range turned {
		t.places = append(t.places, &t.solver.places[id])
	}
	for range k + 1 {
		t.x = append(t.x, t.solver.NewSolution())
		t.adjoint = append(t.adjoint, make([]complex128, t.solver.size))
	}
	t.w, t.l, t.senses = make([]complex128, k), make([]complex128, k), make([]complex128, k*k)
	t.rows, t.columns = make([]complex128, len(t.rowAt)*(k+1)), make([]complex128, len(t.terms)*(k+1))
	t.delta, t.alpha, t.s, t.t = make([]complex128, k), make([]complex128, k), make([]complex128, k), make([]complex128, k)
	t.matrix, t.now = make([]complex128, k*k), make([]complex128, len(t.rowAt))
	return t, nil
}

// staysWhole reports, as an error, a contact among the turned elements of the original whose opening could leave a part of
// the circuit without a zero of potential.
func (c *Circuit) staysWhole(original *Circuit, turned []ID) error {
	islands := groups{}
	for _, j := range c.joins {
		islands.union(j[0], j[1])
	}
	for id, e := range c.elements {
		if _, opens := original.elements[id].(*Contact); opens && (!conducts(e) || slices.Contains(turned, ID(id))) {
			continue
		}
		for _, b := range e.Branches() {
			islands.union(b.From, b.To)
		}
	}
	for _, id := range turned {
		b := original.elements[id].Branches()[0]
		if islands.find(b.From) != islands.find(b.To) {
			return fmt.Errorf("network: element %d cannot be turned: opened, it may leave one of %q and %q without a connection to ground; lay out a circuit for each of its states", id, b.From, b.To)
		}
	}
	return nil
}

// At prepares a frequency f in Hz, positive: it reads the values of all other elements as they are now. b and a are the
// equations B and A of each turned element at a middle setting, which every setting should resemble within some powers of
// ten; both nil takes the turned elements as they stand. derivatives says whether Setting will be asked for any. Errors are
// those of Solver.At.
func (t *Turned) At(f float64, b, a []complex128, derivatives bool) error {
	t.prepared = false
	for j, r := range t.references {
		if r.given = b != nil; r.given {
			r.b[0], r.a[0] = b[j], a[j]
		}
	}
	s := t.solver
	if err := s.At(f); err != nil {
		return err
	}
	s.Drive(t.source, 1, t.x[0])
	t.h = t.x[0].at(t.output)
	for j, p := range t.places {
		z := t.x[1+j]
		clear(z.x)
		if p.form == Current {
			z.x[p.row] = 1
		} else {
			p.spread(z.x, z0)
		}
		s.solve(z.x)
		t.l[j] = z.at(t.output)
	}
	for j := range t.places {
		t.w[j] = t.sense(j, t.x[0])
		for i := range t.places {
			t.senses[j*t.k+i] = t.sense(j, t.x[1+i])
		}
	}
	if derivatives {
		t.prepare()
	}
	return nil
}

// spread adds size to the unknown of the branch's first node and takes it from that of its second.
func (p *place) spread(into []complex128, size complex128) {
	if p.from[0] >= 0 {
		into[p.from[0]] += size
	}
	if p.to[0] >= 0 {
		into[p.to[0]] -= size
	}
}

// sense is the voltage or the current of a turned element.
func (t *Turned) sense(j int, x *Solution) complex128 {
	p := t.places[j]
	if t.references[j].current {
		return x.x[p.row] / z0
	}
	return x.at(p.from[0]) - x.at(p.to[0])
}

// prepare finds the adjoints, and evaluates the derivatives of all equations with them and with the solutions.
func (t *Turned) prepare() {
	s, parts := t.solver, t.k+1
	for n, c := range t.adjoint {
		clear(c)
		switch {
		case n == 0:
			if t.output >= 0 {
				c[t.output] = 1
			}
		case t.references[n-1].current:
			c[t.places[n-1].row] = 1 / complex(z0, 0)
		default:
			t.places[n-1].spread(c, 1)
		}
		s.solveTransposed(c)
	}
	for i, at := range t.rowAt {
		p := &s.places[at.element]
		for n, c := range t.adjoint {
			var v complex128
			switch {
			case p.form == Current:
				v = c[p.row+at.branch]
			default:
				if p.from[0] >= 0 {
					v = c[p.from[0]]
				}
				if p.to[0] >= 0 {
					v -= c[p.to[0]]
				}
			}
			t.rows[i*parts+n] = v
		}
	}
	next := 0
	for _, c := range t.chosen {
		p := &s.places[c.id]
		clear(p.db)
		clear(p.da)
		s.circuit.elements[c.id].Derivative(s.at, c.k, p.db, p.da)
		for branch := range p.from {
			for n, x := range t.x {
				t.columns[next] = s.equation(x, c.id, p, branch, n == 0)
				next++
			}
		}
	}
	t.prepared = true
}

// equation is −(dA·x − db) in one equation of an element, for the derivative held in its place; the emf belongs to the drive
// alone.
func (s *Solver) equation(x *Solution, id ID, p *place, branch int, driven bool) complex128 {
	if p.form == Nodal {
		b, a := p.b[0], p.a[0]
		inverse := reciprocal(a)
		return -(p.db[0]*a - b*p.da[0]) * inverse * inverse * z0 * (x.at(p.from[0]) - x.at(p.to[0]))
	}
	m := len(p.from)
	var sum complex128
	for k := range m {
		v := x.at(p.from[k]) - x.at(p.to[k])
		if driven && x.driven == id {
			v -= x.emf
		}
		sum -= p.db[branch*m+k]*v - p.da[branch*m+k]*(x.x[p.row+k]/z0)
	}
	return sum
}

// singular is the share of its own parts below which the determinant of a setting has no correct digit left; three
// resonances of Q = 1000 at once leave 1e-9.
const singular = 1e-14

// Setting returns the output in volt for the turned elements at a setting, given by their equations b[j]·v = a[j]·i at the
// frequency of the last At, scaled as you like. It writes the derivatives by the chosen parameters to grad, in volt per SI
// unit, and to turned for each turned element the number g by which any change of its equations counts:
//
//	dH = g·(a·db − b·da)
//
// so that g·a² is the derivative by its admittance. Both may be nil, and must be where At prepared no derivatives.
// All are NaN where the circuit has no unique solution at the setting: an exactly lossless resonance, or an admittance of zero
// in the last connection of a part of the circuit to ground.
func (t *Turned) Setting(b, a []complex128, grad, turned []complex128) complex128 {
	if !t.prepared && (grad != nil || turned != nil) {
		panic("network: a setting's derivatives were asked for at a frequency prepared without")
	}
	for j, r := range t.references {
		if r.current {
			t.delta[j], t.alpha[j] = b[j]*r.z-a[j], b[j]
		} else {
			t.delta[j], t.alpha[j] = b[j]-a[j]*r.y, a[j]
		}
	}
	derivatives := grad != nil || turned != nil
	if !t.settle(derivatives) {
		for i := range grad {
			grad[i] = cmplx.NaN()
		}
		for j := range turned {
			turned[j] = cmplx.NaN()
		}
		return cmplx.NaN()
	}
	for j := range turned {
		turned[j] = -t.s[j] * t.t[j]
	}
	h := t.h
	for j, d := range t.delta {
		t.s[j] *= -d
		t.t[j] *= -d
		h += t.l[j] * t.s[j]
	}
	if grad != nil {
		t.combine(grad)
	}
	return h
}

// settle solves the equations for s and, where wanted, t. It reports whether there is a solution.
func (t *Turned) settle(adjoint bool) bool {
	switch t.k {
	case 0:
		return true
	case 1:
		part := t.senses[0] * t.delta[0]
		d := t.alpha[0] + part
		if !(magnitude(d) > singular*(magnitude(t.alpha[0])+magnitude(part))) {
			return false
		}
		inverse := reciprocal(d)
		t.s[0], t.t[0] = t.w[0]*inverse, t.l[0]*inverse
		return true
	case 2:
		return t.settleTwo()
	}
	if !t.settleMany(t.s, t.w, false) {
		return false
	}
	return !adjoint || t.settleMany(t.t, t.l, true)
}

// settleTwo is settle for two elements by Cramer's rule, which for two unknowns has as small an error as elimination has
// (N. J. Higham, Accuracy and Stability of Numerical Algorithms, section 1.10.1, from memory).
func (t *Turned) settleTwo() bool {
	senses, delta, alpha, w, l := t.senses[:4], t.delta[:2], t.alpha[:2], t.w[:2], t.l[:2]
	p, q := senses[0]*delta[0], senses[3]*delta[1]
	up, down := senses[1]*delta[1], senses[2]*delta[0]
	upT, downT := senses[2]*delta[1], senses[1]*delta[0]
	d0, d1, cross := alpha[0]+p, alpha[1]+q, up*down
	d := d0*d1 - cross
	scale := (magnitude(alpha[0])+magnitude(p))*(magnitude(alpha[1])+magnitude(q)) + magnitude(cross)
	if !(magnitude(d) > singular*scale) {
		return false
	}
	inverse := reciprocal(d)
	t.s[0], t.s[1] = (d1*w[0]-up*w[1])*inverse, (d0*w[1]-down*w[0])*inverse
	t.t[0], t.t[1] = (d1*l[0]-upT*l[1])*inverse, (d0*l[1]-downT*l[0])*inverse
	return true
}

// settleMany solves (α + W·δ)·x = rhs, or with Wᵀ, by elimination. The pivots stand where they are: the product of the first
// few belongs to the circuit with as many elements at the setting and the others at their references, whose loss keeps it
// from zero.
func (t *Turned) settleMany(x, rhs []complex128, transposed bool) bool {
	k, m := t.k, t.matrix
	copy(x, rhs)
	for i := range k {
		for j := range k {
			w := t.senses[i*k+j]
			if transposed {
				w = t.senses[j*k+i]
			}
			m[i*k+j] = w * t.delta[j]
		}
	}
	for j := range k {
		m[j*k+j] += t.alpha[j]
	}
	for c := range k {
		largest := 0.0
		for i := range k {
			w := t.senses[i*k+c]
			if transposed {
				w = t.senses[c*k+i]
			}
			largest = max(largest, magnitude(w))
		}
		if !(magnitude(m[c*k+c]) > singular*(magnitude(t.alpha[c])+largest*magnitude(t.delta[c]))) {
			return false
		}
		inverse := reciprocal(m[c*k+c])
		for i := c + 1; i < k; i++ {
			f := m[i*k+c] * inverse
			for j := c + 1; j < k; j++ {
				m[i*k+j] -= f * m[c*k+j]
			}
			x[i] -= f * x[c]
		}
	}
	for i := k - 1; i >= 0; i-- {
		for j := i + 1; j < k; j++ {
			x[i] -= m[i*k+j] * x[j]
		}
		x[i] *= reciprocal(m[i*k+i])
	}
	return true
}

// combine writes the derivatives by the chosen parameters, for s and t times −δ.
func (t *Turned) combine(grad []complex128) {
	parts := t.k + 1
	if t.k == 2 { // two knobs are what most boxes have
		s0, s1, t0, t1 := t.s[0], t.s[1], t.t[0], t.t[1]
		rows, columns := t.rows, t.columns
		for i := range t.now {
			r := rows[3*i : 3*i+3]
			t.now[i] = r[0] + t0*r[1] + t1*r[2]
		}
		clear(grad)
		for i, at := range t.terms {
			c := columns[3*i : 3*i+3]
			grad[at.parameter] += t.now[at.row] * (c[0] + s0*c[1] + s1*c[2])
		}
		return
	}
	for i := range t.now {
		r := t.rows[i*parts : i*parts+parts]
		v := r[0]
		for j, f := range t.t {
			v += f * r[1+j]
		}
		t.now[i] = v
	}
	clear(grad)
	for i, at := range t.terms {
		c := t.columns[i*parts : i*parts+parts]
		v := c[0]
		for j, f := range t.s {
			v += f * c[1+j]
		}
		grad[at.parameter] += t.now[at.row] * v
	}
}
