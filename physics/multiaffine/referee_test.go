package multiaffine

import (
	"math/big"

	"knobwise/physics/network"
)

// bits is the precision of the referee: some 72 decimal digits, so that its own rounding does not count.
const bits = 240

type exact struct{ re, im *big.Float }

func fresh() *big.Float { return new(big.Float).SetPrec(bits) }

func ex(z complex128) exact {
	return exact{fresh().SetFloat64(real(z)), fresh().SetFloat64(imag(z))}
}

func (x exact) plus(y exact) exact { return exact{fresh().Add(x.re, y.re), fresh().Add(x.im, y.im)} }

func (x exact) minus(y exact) exact { return exact{fresh().Sub(x.re, y.re), fresh().Sub(x.im, y.im)} }

func (x exact) times(y exact) exact {
	return exact{
		fresh().Sub(fresh().Mul(x.re, y.re), fresh().Mul(x.im, y.im)),
		fresh().Add(fresh().Mul(x.re, y.im), fresh().Mul(x.im, y.re)),
	}
}

func (x exact) norm() *big.Float {
	return fresh().Add(fresh().Mul(x.re, x.re), fresh().Mul(x.im, x.im))
}

func (x exact) over(y exact) exact {
	size := y.norm()
	z := x.times(exact{y.re, fresh().Neg(y.im)})
	return exact{fresh().Quo(z.re, size), fresh().Quo(z.im, size)}
}

// referee solves a sample at a setting with all digits: node voltages and all branch currents as unknowns, by the
// equations of the elements alone. It reports false where there is no unique solution.
func (s sample) referee(closed []bool, x []float64) (complex128, bool) {
	c := &network.Circuit{}
	elements := append([]network.Element(nil), s.fixed...)
	for i, gang := range s.axes {
		for _, p := range gang {
			elements = append(elements, p(x[i]))
		}
	}
	elements = append(elements, s.load, s.source)
	for _, e := range elements {
		c.Add(e)
	}
	for i, b := range s.contacts {
		if closed[i] {
			c.Join(b.From, b.To)
		}
	}
	ties := c.Ties()
	unknown := map[string]int{ties.Joined[network.Ground]: -1}
	pinned := map[string]bool{ties.Galvanic[network.Ground]: true}
	size := 0
	node := func(name string) int {
		j := ties.Joined[name]
		if i, ok := unknown[j]; ok {
			return i
		}
		if piece := ties.Galvanic[name]; !pinned[piece] {
			pinned[piece] = true
			unknown[j] = -1
			return -1
		}
		unknown[j] = size
		size++
		return size - 1
	}
	var ends [][2]int
	for _, e := range elements {
		for _, b := range e.Branches() {
			ends = append(ends, [2]int{node(b.From), node(b.To)})
		}
	}
	n := size + len(ends)
	a, rhs := make([]exact, n*n), make([]exact, n)
	for i := range a {
		a[i] = ex(0)
	}
	for i := range rhs {
		rhs[i] = ex(0)
	}
	add := func(i, j int, z complex128) {
		if i >= 0 && j >= 0 {
			a[i*n+j] = a[i*n+j].plus(ex(z))
		}
	}
	first := 0
	for k, e := range elements {
		m := len(e.Branches())
		eb, ea := make([]complex128, m*m), make([]complex128, m*m)
		if err := e.Equations(network.AtHertz(s.frequency), eb, ea); err != nil {
			return 0, false
		}
		for j := range m {
			current := size + first + j
			add(ends[first+j][0], current, 1)
			add(ends[first+j][1], current, -1)
			for i := range m {
				row := size + first + i
				add(row, ends[first+j][0], eb[i*m+j])
				add(row, ends[first+j][1], -eb[i*m+j])
				add(row, current, -ea[i*m+j])
			}
		}
		if k == len(elements)-1 {
			rhs[size+first] = ex(eb[0]) // the emf, towards the first node
		}
		first += m
	}
	if !exactSolve(a, rhs, n) {
		return 0, false
	}
	output := unknown[ties.Joined[out]]
	if output < 0 {
		return 0, true
	}
	re, _ := rhs[output].re.Float64()
	im, _ := rhs[output].im.Float64()
	return complex(re, im), true
}

// exactSolve solves a·x = b in place; it reports false where a is singular.
func exactSolve(a, b []exact, n int) bool {
	for k := range n {
		p := k
		for i := k; i < n; i++ {
			if a[i*n+k].norm().Cmp(a[p*n+k].norm()) > 0 {
				p = i
			}
		}
		if a[p*n+k].norm().Sign() == 0 {
			return false
		}
		for j := range n {
			a[k*n+j], a[p*n+j] = a[p*n+j], a[k*n+j]
		}
		b[k], b[p] = b[p], b[k]
		for i := k + 1; i < n; i++ {
			if a[i*n+k].norm().Sign() == 0 {
				continue
			}
			factor := a[i*n+k].over(a[k*n+k])
			for j := k; j < n; j++ {
				a[i*n+j] = a[i*n+j].minus(factor.times(a[k*n+j]))
			}
			b[i] = b[i].minus(factor.times(b[k]))
		}
	}
	for i := n - 1; i >= 0; i-- {
		for j := i + 1; j < n; j++ {
			b[i] = b[i].minus(a[i*n+j].times(b[j]))
		}
		b[i] = b[i].over(a[i*n+i])
	}
	return true
}
