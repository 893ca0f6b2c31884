package network

// Sensitivity asks for the derivatives of one output by chosen parameters again and again, frequency after frequency: what
// Gradient does for all of them, without its allocations. Not safe for concurrent use.
type Sensitivity struct {
	solver  *Solver
	output  Output
	chosen  []chosen
	adjoint []complex128
}

// chosen is a parameter: number k of an element.
type chosen struct {
	id ID
	k  int
}

// Sensitivity prepares the derivatives of an output by parameters, each named by its element and its number in the
// element's Params.
func (s *Solver) Sensitivity(o Output, elements []ID, numbers []int) *Sensitivity {
	x := &Sensitivity{solver: s, output: o, adjoint: make([]complex128, s.size)}
	for i, id := range elements {
		x.chosen = append(x.chosen, chosen{id, numbers[i]})
	}
	return x
}

// Solve finds the adjoint at the frequency of the solver's last At; the derivatives for any drive follow from it.
func (x *Sensitivity) Solve() {
	x.solver.outputRow(x.output, x.adjoint)
	x.solver.solveTransposed(x.adjoint)
}

// Of writes to into, in the order in which the parameters were named, the derivatives of the output at a solution made
// since the last Solve's At, in output units per SI unit of the parameter.
func (x *Sensitivity) Of(solution *Solution, into []complex128) {
	s := x.solver
	for i, c := range x.chosen {
		p := &s.places[c.id]
		clear(p.db)
		clear(p.da)
		s.circuit.elements[c.id].Derivative(s.at, c.k, p.db, p.da)
		into[i] = s.contribution(solution, x.adjoint, c.id, p)
	}
}
