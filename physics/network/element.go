package network

import "math"

// Branch is a path for current between two nodes of a circuit, from From to To.
type Branch struct{ From, To string }

// Form says how an element enters the matrix.
type Form int

const (
	// Current keeps the branch currents as unknowns: right for every value of the element, zero and infinite included.
	Current Form = iota
	// Nodal adds the admittance B/A between the nodes: smaller, and as accurate while the admittance is moderate.
	// Only an element of one branch whose A is never zero may ask for it.
	Nodal
)

// Frequency is one frequency in both of its units. Both are kept, so that measured data are asked for exactly the
// frequency that the caller named.
type Frequency struct{ Hz, Rad float64 } // Hz, rad/s

// AtHertz is the frequency of f Hz.
func AtHertz(f float64) Frequency { return Frequency{f, 2 * math.Pi * f} }

// Element is one part as the analysis sees it: m branches and m equations B(ω)·v = A(ω)·i.
type Element interface {
	// Branches lists the m branches.
	Branches() []Branch
	// Form says how the element enters the matrix. It must not change between solves.
	Form() Form
	// Equations adds B and A at a positive frequency to b and a: m×m row by row, zero on entry.
	// B and A may be scaled by any common non-zero factor per row. The error is a measured element's own where it is
	// known by measurement and the frequency lies outside it.
	Equations(at Frequency, b, a []complex128) error
	// Params lists the values that the element's equations depend on; the order never changes.
	Params() []Param
	// Derivative adds the derivatives of B and A (as Equations scales them) with respect to parameter k to db and da.
	Derivative(at Frequency, k int, db, da []complex128)
}

// Param is one value of an element, in SI base units, that may be read, changed between solves, and asked for its sensitivity.
type Param struct {
	Name  string
	Value *float64
}

// oneBranch is the common part of elements with two terminals.
type oneBranch struct{ branch [1]Branch }

func between(from, to string) oneBranch { return oneBranch{[1]Branch{{from, to}}} }

func (o *oneBranch) Branches() []Branch { return o.branch[:] }

// Impedance returns A/B of an element with one branch: its impedance in ohm at f Hz.
// It is infinite for an open contact; callers that cannot use that must test for it.
func Impedance(e Element, f float64) (complex128, error) {
	var b, a [1]complex128
	if err := e.Equations(AtHertz(f), b[:], a[:]); err != nil {
		return 0, err
	}
	return a[0] / b[0], nil
}
