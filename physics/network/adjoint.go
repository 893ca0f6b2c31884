package network

// Output is a voltage or a current of a circuit whose sensitivity is asked for.
type Output struct {
	node    string
	element ID
	branch  int
	current bool
}

// VoltageOf is the voltage of a node against ground.
func VoltageOf(node string) Output { return Output{node: node} }

// CurrentOf is the current through a branch of an element of Current form.
func CurrentOf(id ID, branch int) Output { return Output{element: id, branch: branch, current: true} }

// Value is the output in a solution, in volt or ampere.
func (o Output) Value(x *Solution) complex128 {
	if o.current {
		return x.Current(o.element, o.branch)
	}
	return x.Voltage(o.node)
}

// Gradient writes to into, in the order of Circuit.Params, the derivative of an output with respect to every
// parameter of every element, in output units per SI unit of the parameter, at the solution x made by Drive. One
// transposed solve with the factors at hand gives them all: with A·x = b and Aᵀ·λ = c, d(cᵀx) = λᵀ·(db − dA·x).
func (s *Solver) Gradient(x *Solution, o Output, into []complex128) {
	adjoint := make([]complex128, s.size)
	s.outputRow(o, adjoint)
	s.solveTransposed(adjoint)
	next := 0
	for id, e := range s.circuit.elements {
		p := &s.places[id]
		for k := range e.Params() {
			clear(p.db)
			clear(p.da)
			e.Derivative(s.at, k, p.db, p.da)
			into[next] = s.contribution(x, adjoint, ID(id), p)
			next++
		}
	}
}

// outputRow is the right-hand side c of the transposed solve whose output is cᵀx.
func (s *Solver) outputRow(o Output, c []complex128) {
	clear(c)
	switch {
	case o.current:
		p := &s.places[o.element]
		if p.form != Current {
			panic("network: the sensitivity of a current needs an element in current form")
		}
		c[p.row+o.branch] = 1 / complex(z0, 0)
	case s.nodes[o.node] >= 0:
		c[s.nodes[o.node]] = 1
	}
}

// contribution is λᵀ·(db − dA·x) for the derivative of one element's equations held in its place.
func (s *Solver) contribution(x *Solution, adjoint []complex128, id ID, p *place) complex128 {
	at := func(unknown int) complex128 {
		if unknown < 0 {
			return 0
		}
		return adjoint[unknown]
	}
	if p.form == Nodal {
		b, a := p.b[0], p.a[0]
		dy := (p.db[0]*a - b*p.da[0]) / (a * a)
		return -(at(p.from[0]) - at(p.to[0])) * dy * z0 * x.BranchVoltage(id, 0)
	}
	m := len(p.from)
	var sum complex128
	for j := range m {
		var row complex128
		for k := range m {
			v := x.BranchVoltage(id, k)
			if x.driven == id {
				v -= x.emf
			}
			row += p.db[j*m+k]*v - p.da[j*m+k]*x.Current(id, k)
		}
		sum -= adjoint[p.row+j] * row
	}
	return sum
}
