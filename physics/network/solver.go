package network

import (
	"fmt"
	"math"
	"math/cmplx"
)

// z0 is the reference impedance in ohm by which branch currents are scaled to the size of voltages.
const z0 = 50.0

// Solver solves one circuit at one frequency after another. It is laid out once; values of the elements may change
// between frequencies, their nodes, joins and forms may not. Not safe for concurrent use.
type Solver struct {
	circuit *Circuit
	joined  groups
	nodes   map[string]int // unknown of each node's voltage; -1 for ground
	places  []place        // per element
	size    int            // number of unknowns
	fast    *sparse
	full    *lu
	useFull bool      // the last At needed the full factorisation
	at      Frequency // of the last At
}

// place is where an element stands in the matrix.
type place struct {
	form     Form
	from, to []int        // unknown of each branch's end nodes; -1 for ground
	row      int          // Current: the first of its rows and of its currents
	b, a     []complex128 // its equations at the last frequency
	db, da   []complex128 // scratch for derivatives
	// Indices of the matrix entries that it adds to. Nodal: from-from, to-to, from-to, to-from of its branch.
	// Current: per branch the current in the node equations of from and to; then per equation and branch the voltages
	// of from and to, and the current.
	entries []int32
}

// NewSolver lays out the unknowns of a circuit. A part of the circuit that hangs free of ground gets its first node
// as its own zero of potential: no current flows in or out of it, so nothing else changes.
func NewSolver(c *Circuit) *Solver {
	joined, islands := groups{}, groups{}
	s := &Solver{circuit: c, joined: joined, nodes: map[string]int{}}
	for _, j := range c.joins {
		joined.union(j[0], j[1])
		islands.union(j[0], j[1])
	}
	var order []string
	seen := map[string]bool{}
	for _, e := range c.elements {
		for _, b := range e.Branches() {
			for _, n := range []string{b.From, b.To} {
				root := joined.find(n)
				if !seen[root] {
					seen[root] = true
					order = append(order, root)
				}
			}
			if conducts(e) {
				islands.union(b.From, b.To)
			}
		}
	}
	for _, j := range c.joins {
		for _, n := range j {
			if root := joined.find(n); !seen[root] { // joined, but no element touches it
				seen[root] = true
				order = append(order, root)
			}
		}
	}
	zero := map[string]bool{joined.find(Ground): true}
	referenced := map[string]bool{islands.find(Ground): true}
	for _, n := range order {
		if island := islands.find(n); !referenced[island] {
			referenced[island] = true
			zero[n] = true
		}
	}
	unknown := map[string]int{}
	size := 0
	for _, n := range order {
		if zero[n] {
			unknown[n] = -1
			continue
		}
		unknown[n] = size
		size++
	}
	index := func(name string) int {
		root := joined.find(name)
		if zero[root] {
			return -1
		}
		return unknown[root]
	}
	for _, e := range c.elements {
		p := place{form: e.Form(), row: -1}
		m := len(e.Branches())
		for _, b := range e.Branches() {
			p.from = append(p.from, index(b.From))
			p.to = append(p.to, index(b.To))
			s.nodes[b.From], s.nodes[b.To] = index(b.From), index(b.To)
		}
		if p.form == Current {
			p.row = size
			size += m
		}
		p.b, p.a = make([]complex128, m*m), make([]complex128, m*m)
		p.db, p.da = make([]complex128, m*m), make([]complex128, m*m)
		s.places = append(s.places, p)
	}
	for _, j := range c.joins {
		s.nodes[j[0]], s.nodes[j[1]] = index(j[0]), index(j[1])
	}
	s.nodes[Ground] = -1
	s.size = size
	s.layOut()
	return s
}

// layOut numbers the entries of the matrix.
func (s *Solver) layOut() {
	var places []int
	s.visit(func(i, j int) int32 {
		places = append(places, i*s.size+j)
		return 0
	})
	s.fast, s.full = newSparse(s.size, places), newLU(s.size)
	s.number()
}

// number notes for every element the indices of its entries.
func (s *Solver) number() {
	trash := int32(s.fast.trash())
	for i := range s.places {
		s.places[i].entries = s.places[i].entries[:0]
	}
	s.visit(func(i, j int) int32 { return int32(s.fast.slot[i*s.size+j]) })
	for i := range s.places {
		for k, index := range s.places[i].entries {
			if index < 0 {
				s.places[i].entries[k] = trash
			}
		}
	}
}

// visit calls index for the place of every entry that an element adds to, and keeps what it returns; -1 stands for
// entries in ground's row or column.
func (s *Solver) visit(index func(i, j int) int32) {
	for e := range s.places {
		p := &s.places[e]
		add := func(i, j int) {
			k := int32(-1)
			if i >= 0 && j >= 0 {
				k = index(i, j)
			}
			p.entries = append(p.entries, k)
		}
		if p.form == Nodal {
			from, to := p.from[0], p.to[0]
			add(from, from)
			add(to, to)
			add(from, to)
			add(to, from)
			continue
		}
		for k := range p.from {
			add(p.from[k], p.row+k)
			add(p.to[k], p.row+k)
		}
		for j := range p.from {
			for k := range p.from {
				add(p.row+j, p.from[k])
				add(p.row+j, p.to[k])
				add(p.row+j, p.row+k)
			}
		}
	}
}

// Grounded reports whether joins make a node one with ground.
func (s *Solver) Grounded(node string) bool { return s.joined.find(node) == s.joined.find(Ground) }

// Size is the number of unknowns.
func (s *Solver) Size() int { return s.size }

// At assembles and factors the matrix at frequency f in Hz, positive. The error is a *SingularError, or a measured
// element's own where f lies outside its data.
func (s *Solver) At(f float64) error {
	if !(f > 0) || math.IsInf(f, 0) {
		return fmt.Errorf("network: the frequency must be positive and finite, got %g Hz", f)
	}
	s.at = AtHertz(f)
	for id, e := range s.circuit.elements {
		p := &s.places[id]
		clear(p.b)
		clear(p.a)
		if err := e.Equations(s.at, p.b, p.a); err != nil {
			return err
		}
	}
	s.assemble()
	if !s.fast.ordered() && s.fast.order(s.dense()) {
		s.number()
		s.assemble()
	}
	s.useFull = !s.fast.ordered() || !s.fast.factor()
	if !s.useFull {
		return nil
	}
	s.assemble()
	copy(s.full.a, s.dense())
	if !s.full.factor() {
		return &SingularError{f}
	}
	return nil
}

// assemble adds every element to the entries of the matrix.
func (s *Solver) assemble() {
	v := s.fast.v
	clear(v)
	for i := range s.places {
		p := &s.places[i]
		x := p.entries
		if p.form == Nodal {
			if p.from[0] == p.to[0] {
				continue
			}
			y := p.b[0] / p.a[0] * z0
			v[x[0]] += y
			v[x[1]] += y
			v[x[2]] -= y
			v[x[3]] -= y
			continue
		}
		m := len(p.from)
		for k := range m {
			v[x[2*k]]++
			v[x[2*k+1]]--
		}
		x = x[2*m:]
		for jk := range m * m {
			v[x[3*jk]] += p.b[jk]
			v[x[3*jk+1]] -= p.b[jk]
			v[x[3*jk+2]] -= p.a[jk] / z0
		}
	}
}

// dense is the assembled matrix with all its zeros, row by row.
func (s *Solver) dense() []complex128 {
	a := make([]complex128, s.size*s.size)
	for place, index := range s.fast.slot {
		a[place] = s.fast.v[index]
	}
	return a
}

func (s *Solver) solve(b []complex128) {
	if s.useFull {
		s.full.solve(b)
	} else {
		s.fast.solve(b)
	}
}

func (s *Solver) solveTransposed(c []complex128) {
	if s.useFull {
		s.full.solveTransposed(c)
	} else {
		s.fast.solveTransposed(c)
	}
}

// Solution is the state of a circuit driven by one emf, at the frequency of the last At.
// It stays valid until the solver's next At.
type Solution struct {
	solver *Solver
	x      []complex128
	driven ID
	emf    complex128
}

// NewSolution makes room for a solution.
func (s *Solver) NewSolution() *Solution {
	return &Solution{solver: s, x: make([]complex128, s.size), driven: -1}
}

// Drive solves the circuit with an emf in volt in series with the only branch of an element of Current form
// (positive towards its first node) and nothing else.
func (s *Solver) Drive(id ID, emf complex128, x *Solution) {
	p := &s.places[id]
	if p.form != Current || len(p.from) != 1 {
		panic("network: only an element of one branch in current form can be driven")
	}
	clear(x.x)
	x.driven, x.emf = id, emf
	x.x[p.row] = p.b[0] * emf
	s.solve(x.x)
}

// DriveThrough solves the circuit with an arbitrary drive of its own in the equation of one element: a drive that also
// exists where the element is open (B = 0) and no emf could reach the circuit. Only ratios of voltages and currents
// have a meaning; those outside the element do not depend on how it was driven.
func (s *Solver) DriveThrough(id ID, x *Solution) {
	p := &s.places[id]
	if p.form != Current || len(p.from) != 1 {
		panic("network: only an element of one branch in current form can be driven")
	}
	clear(x.x)
	x.driven, x.emf = -1, 0
	x.x[p.row] = 1
	s.solve(x.x)
}

func (x *Solution) at(unknown int) complex128 {
	if unknown < 0 {
		return 0
	}
	return x.x[unknown]
}

// Voltage is the voltage of a node against ground, in volt. It panics on a node that the circuit does not have.
func (x *Solution) Voltage(node string) complex128 {
	i, ok := x.solver.nodes[node]
	if !ok {
		panic(fmt.Sprintf("network: no node %q", node))
	}
	return x.at(i)
}

// BranchVoltage is the voltage from the first node of an element's branch to its second, in volt.
func (x *Solution) BranchVoltage(id ID, branch int) complex128 {
	p := &x.solver.places[id]
	return x.at(p.from[branch]) - x.at(p.to[branch])
}

// Current is the current through an element's branch from its first node to its second, in ampere.
func (x *Solution) Current(id ID, branch int) complex128 {
	p := &x.solver.places[id]
	if p.form == Nodal {
		return x.BranchVoltage(id, branch) * p.b[0] / p.a[0]
	}
	return x.x[p.row+branch] / z0
}

// Dissipation is the real power in watt that an element turns into heat (negative for a measured element that
// delivers power).
func (x *Solution) Dissipation(id ID) float64 {
	p := &x.solver.places[id]
	if len(p.from) > 1 {
		var power float64
		for k := range p.from {
			power += real(x.BranchVoltage(id, k) * cmplx.Conj(x.Current(id, k)))
		}
		return power
	}
	// Re(B·A*) is exactly zero for a lossless element, where Re(v·i*) would leave rounding noise.
	b, a := p.b[0], p.a[0]
	loss := real(b)*real(a) + imag(b)*imag(a)
	if p.form == Nodal || squared(b)*z0*z0 < squared(a) {
		v := x.BranchVoltage(id, 0)
		if x.driven == id {
			v -= x.emf
		}
		return squared(v) * loss / squared(a)
	}
	return squared(x.Current(id, 0)) * loss / squared(b)
}

func squared(z complex128) float64 { return real(z)*real(z) + imag(z)*imag(z) }
