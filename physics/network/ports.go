package network

// Admittance is a complex admittance that stands for another element of one branch while the circuit is looked at from
// that element's place: see Insertion.Ports. The caller sets its value before a solve.
type Admittance struct {
	oneBranch
	Value complex128 // S, finite
	form  Form
}

// NewAdmittance places an admittance where an element of one branch stood, in that element's form.
func NewAdmittance(instead Element) *Admittance {
	at := instead.Branches()[0]
	return &Admittance{oneBranch: between(at.From, at.To), form: instead.Form()}
}

func (y *Admittance) Form() Form { return y.form }

func (y *Admittance) Equations(_ Frequency, b, a []complex128) error {
	b[0] += y.Value
	a[0]++
	return nil
}

func (y *Admittance) Params() []Param { return nil }

func (y *Admittance) Derivative(Frequency, int, []complex128, []complex128) {}

// With is a copy of the circuit in which other elements stand in some places. Numbers stay; the elements that are not
// replaced are shared with the original.
func (c *Circuit) With(instead map[ID]Element) *Circuit {
	other := &Circuit{elements: append([]Element(nil), c.elements...), joins: append([][2]string(nil), c.joins...)}
	for id, e := range instead {
		other.elements[id] = e
	}
	return other
}

// Len is the number of elements of a circuit.
func (c *Circuit) Len() int { return len(c.elements) }

// Ties says what holds the nodes of a circuit together. Every node is mapped to the name of one node of its group;
// ground's group has the name Ground. Galvanic groups hang together by conducting branches and joints (of a free one the
// solver fixes the potential, see NewSolver), joined ones by joints and closed contacts alone, so that they are one node.
type Ties struct{ Galvanic, Joined map[string]string }

// Ties finds the groups of nodes of the circuit.
func (c *Circuit) Ties() Ties {
	galvanic, joined := groups{}, groups{}
	for _, j := range c.joins {
		galvanic.union(j[0], j[1])
		joined.union(j[0], j[1])
	}
	for _, e := range c.elements {
		_, contact := e.(*Contact)
		for _, b := range e.Branches() {
			galvanic.find(b.From)
			galvanic.find(b.To)
			if !conducts(e) {
				continue
			}
			galvanic.union(b.From, b.To)
			if contact {
				joined.union(b.From, b.To)
			}
		}
	}
	t := Ties{map[string]string{}, map[string]string{}}
	for node := range galvanic {
		t.Galvanic[node], t.Joined[node] = galvanic.find(node), joined.find(node)
	}
	return t
}

// Ports is an inserted circuit at one frequency as p of its elements see it, each of them a port with the element itself
// left in place. A current put into a port enters at the first node of the element and leaves at the second. A current
// that a port brings into a part that hangs free leaves it where the solver has fixed that part's potential.
type Ports struct {
	Impedance []complex128 // ohm, p×p row by row: voltage at the port of the row per current into the port of the column
	Open      []complex128 // p: voltage at the port per emf in the source
	Transfer  []complex128 // ohm, p: voltage across the load per current into the port
	Through   complex128   // voltage across the load per emf in the source
}

// Ports solves the circuit at f Hz, positive, once for the source and once for each port, with one factorisation, and
// writes what it finds to into, which is enlarged where needed. ids are elements of one branch. No symmetry is assumed:
// a measured two-port need not be reciprocal. Errors are those of Solver.At. Forward is as after Response, Backward has no
// meaning afterwards.
func (in *Insertion) Ports(f float64, ids []ID, into *Ports) error {
	s := in.solver
	if err := s.At(f); err != nil {
		return err
	}
	p := len(ids)
	into.Impedance, into.Open, into.Transfer = sized(into.Impedance, p*p), sized(into.Open, p), sized(into.Transfer, p)
	s.Drive(in.Source, 1, in.forward)
	into.Through = in.forward.Voltage(in.Output)
	for j, id := range ids {
		into.Open[j] = in.forward.BranchVoltage(id, 0)
	}
	x := in.backward
	for k, id := range ids {
		clear(x.x)
		x.driven, x.emf = -1, 0
		place := &s.places[id]
		if i := place.from[0]; i >= 0 {
			x.x[i] += z0 // rows of nodes are currents times the reference impedance
		}
		if i := place.to[0]; i >= 0 {
			x.x[i] -= z0
		}
		s.solve(x.x)
		into.Transfer[k] = x.Voltage(in.Output)
		for j, other := range ids {
			into.Impedance[j*p+k] = x.BranchVoltage(other, 0)
		}
	}
	return nil
}

// sized is a slice of n numbers in the room of another where that is enough.
func sized(s []complex128, n int) []complex128 {
	if cap(s) < n {
		return make([]complex128, n)
	}
	return s[:n]
}
