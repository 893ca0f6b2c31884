package network

// Parallel is two one-branch elements side by side as one branch, such as a load with the probe across it.
// Its equation is (b1·a2 + b2·a1)·v = a1·a2·i.
type Parallel struct {
	oneBranch
	first, second Element
}

// NewParallel joins two elements of one branch each; the nodes of the first count for both.
func NewParallel(first, second Element) *Parallel {
	at := first.Branches()[0]
	return &Parallel{between(at.From, at.To), first, second}
}

func (p *Parallel) Form() Form { return Current }

func (p *Parallel) Equations(at Frequency, b, a []complex128) error {
	var b1, a1, b2, a2 [1]complex128
	if err := p.first.Equations(at, b1[:], a1[:]); err != nil {
		return err
	}
	if err := p.second.Equations(at, b2[:], a2[:]); err != nil {
		return err
	}
	b[0] += b1[0]*a2[0] + b2[0]*a1[0]
	a[0] += a1[0] * a2[0]
	return nil
}

// Params lists the first element's parameters, then the second's.
func (p *Parallel) Params() []Param { return append(p.first.Params(), p.second.Params()...) }

func (p *Parallel) Derivative(at Frequency, k int, db, da []complex128) {
	changed, other := p.first, p.second
	if n := len(p.first.Params()); k >= n {
		changed, other, k = p.second, p.first, k-n
	}
	var dbC, daC, bO, aO, bC, aC [1]complex128
	changed.Derivative(at, k, dbC[:], daC[:])
	// Both elements were solved at this frequency before a derivative is asked for, so their equations exist.
	_ = other.Equations(at, bO[:], aO[:])
	_ = changed.Equations(at, bC[:], aC[:])
	db[0] += dbC[0]*aO[0] + bO[0]*daC[0]
	da[0] += daC[0] * aO[0]
}
