package network

// sparse factors matrices of one structure again and again. The order of elimination is found once, from the numbers of a
// first matrix; afterwards a factorisation is a fixed list of multiplications over the few entries that are not zero.
//
// That order is right as long as the numbers keep their proportions. Where a multiplier shows that they do not, factor
// reports false, and the dense LU with its own pivoting takes over for that matrix. So results depend on the matrix and
// on the first matrix only, never on what was solved in between.
//
// Sources: H. M. Markowitz, Management Science 3 (1957) 255-269 (order of few new entries); threshold pivoting as in
// I. S. Duff, A. M. Erisman, J. K. Reid, Direct Methods for Sparse Matrices, 1986 (both from memory).
type sparse struct {
	n      int
	slot   map[int]int  // place i·n+j of an entry to its index in v
	v      []complex128 // entries, new ones of the elimination included; one more at the end takes what goes to ground
	steps  []step
	scale  []float64    // power of two of each row, from the first matrix
	pivots []complex128 // inverses of the pivots
	tmp    []complex128
}

// step eliminates one unknown.
type step struct {
	row, column int
	pivot       int // index in v
	below       []elimination
	right       []entry // the rest of the pivot row
}

// elimination subtracts a multiple of the pivot row from one row.
type elimination struct {
	row    int
	factor int     // index in v: the entry that becomes the multiplier
	limit  float64 // largest magnitude of the multiplier, squared, while the order of elimination is sound
	pairs  []pair
}

// pair is v[target] -= multiplier·v[source].
type pair struct{ target, source int32 }

type entry struct{ index, column int }

// worstMultiplier is by how much rows of like size may be multiplied before the order of elimination counts as unsound:
// at worst it costs that share of the 16 digits.
const worstMultiplier = 1e3

// threshold: a pivot is at least this share of the largest entry in its column.
const threshold = 0.1

// newSparse prepares the structure: the places i·n+j that stamps may fill.
func newSparse(n int, places []int) *sparse {
	s := &sparse{n: n, slot: map[int]int{}, scale: make([]float64, n), pivots: make([]complex128, n), tmp: make([]complex128, n)}
	for _, p := range places {
		if _, ok := s.slot[p]; !ok {
			s.slot[p] = len(s.slot)
		}
	}
	s.v = make([]complex128, len(s.slot)+1)
	return s
}

// ordered reports whether order was called.
func (s *sparse) ordered() bool { return s.steps != nil }

// trash is the index of the entry that takes what goes to ground.
func (s *sparse) trash() int { return len(s.v) - 1 }

// order finds the order of elimination from a dense copy of the first matrix, row by row, and whether there is one.
// Indices of entries stay what they were; new entries come behind, trash last.
func (s *sparse) order(a []complex128) bool {
	n := s.n
	a = append([]complex128(nil), a...)
	filled := make([]bool, n*n)
	for p := range s.slot {
		filled[p] = true
	}
	for i := range n {
		largest := 0.0
		for j := range n {
			largest = max(largest, magnitude(a[i*n+j]))
		}
		s.scale[i] = powerOfTwo(largest)
		for j := range n {
			a[i*n+j] *= complex(s.scale[i], 0)
		}
	}
	rowDone, columnDone := make([]bool, n), make([]bool, n)
	type plan struct {
		row, column int
		rows        []int
		columns     []int
	}
	var plans []plan
	for range n {
		p, q := s.choose(a, filled, rowDone, columnDone)
		if p < 0 {
			return false
		}
		rowDone[p], columnDone[q] = true, true
		next := plan{row: p, column: q}
		for j := range n {
			if !columnDone[j] && filled[p*n+j] {
				next.columns = append(next.columns, j)
			}
		}
		for i := range n {
			if rowDone[i] || !filled[i*n+q] {
				continue
			}
			next.rows = append(next.rows, i)
			factor := a[i*n+q] / a[p*n+q]
			for _, j := range next.columns {
				a[i*n+j] -= factor * a[p*n+j]
				filled[i*n+j] = true
			}
		}
		plans = append(plans, next)
	}
	index := func(i, j int) int {
		p := i*n + j
		if _, ok := s.slot[p]; !ok {
			s.slot[p] = len(s.slot)
		}
		return s.slot[p]
	}
	for _, p := range plans {
		st := step{row: p.row, column: p.column, pivot: index(p.row, p.column)}
		for _, j := range p.columns {
			st.right = append(st.right, entry{index(p.row, j), j})
		}
		for _, i := range p.rows {
			limit := worstMultiplier * s.scale[p.row] / s.scale[i]
			e := elimination{row: i, factor: index(i, p.column), limit: limit * limit}
			for _, j := range p.columns {
				e.pairs = append(e.pairs, pair{int32(index(i, j)), int32(index(p.row, j))})
			}
			st.below = append(st.below, e)
		}
		s.steps = append(s.steps, st)
	}
	s.v = make([]complex128, len(s.slot)+1)
	return true
}

// choose picks the next pivot: of those not small in their column, the one that creates the fewest new entries.
func (s *sparse) choose(a []complex128, filled, rowDone, columnDone []bool) (row, column int) {
	n := s.n
	inRow, inColumn := make([]int, n), make([]int, n)
	largest := make([]float64, n)
	for i := range n {
		for j := range n {
			if !rowDone[i] && !columnDone[j] && filled[i*n+j] {
				inRow[i]++
				inColumn[j]++
				largest[j] = max(largest[j], magnitude(a[i*n+j]))
			}
		}
	}
	row, column = -1, -1
	best, bestSize := n*n, 0.0
	for i := range n {
		for j := range n {
			size := magnitude(a[i*n+j])
			if rowDone[i] || columnDone[j] || !filled[i*n+j] || !(size >= threshold*largest[j]) || !(size > smallestPivot) {
				continue
			}
			cost := (inRow[i] - 1) * (inColumn[j] - 1)
			if cost < best || (cost == best && size > bestSize) {
				row, column, best, bestSize = i, j, cost, size
			}
		}
	}
	return row, column
}

// factor overwrites the entries with their factors. It reports false where the order of elimination is not sound for
// these numbers; the entries are spoilt then.
func (s *sparse) factor() bool {
	v := s.v
	for k := range s.steps {
		st := &s.steps[k]
		pivot := v[st.pivot]
		if !(magnitude(pivot)*s.scale[st.row] > smallestPivot) {
			return false
		}
		inverse := reciprocal(pivot)
		s.pivots[k] = inverse
		for e := range st.below {
			elim := &st.below[e]
			f := v[elim.factor]
			if f == 0 {
				continue
			}
			f *= inverse
			if !(squared(f) <= elim.limit) {
				return false
			}
			v[elim.factor] = f
			for _, p := range elim.pairs {
				v[p.target] -= f * v[p.source]
			}
		}
	}
	return true
}

// reciprocal is 1/z without the care for infinities that the language's division takes; the numbers here are far from
// both ends of the range.
func reciprocal(z complex128) complex128 {
	k := 1 / squared(z)
	return complex(real(z)*k, -imag(z)*k)
}

// solve overwrites b, by row, with the solution x, by column.
func (s *sparse) solve(b []complex128) {
	v, x := s.v, s.tmp
	for k := range s.steps {
		st := &s.steps[k]
		y := b[st.row]
		if y == 0 {
			continue
		}
		for e := range st.below {
			b[st.below[e].row] -= v[st.below[e].factor] * y
		}
	}
	for k := len(s.steps) - 1; k >= 0; k-- {
		st := &s.steps[k]
		sum := b[st.row]
		for _, e := range st.right {
			sum -= v[e.index] * x[e.column]
		}
		x[st.column] = sum * s.pivots[k]
	}
	copy(b, x)
}

// solveTransposed overwrites c, by column, with the solution of Aᵀ·x = c, by row.
func (s *sparse) solveTransposed(c []complex128) {
	v, x := s.v, s.tmp
	for k := range s.steps {
		st := &s.steps[k]
		z := c[st.column] * s.pivots[k]
		x[st.row] = z
		for _, e := range st.right {
			c[e.column] -= v[e.index] * z
		}
	}
	for k := len(s.steps) - 1; k >= 0; k-- {
		st := &s.steps[k]
		sum := x[st.row]
		for e := range st.below {
			sum -= v[st.below[e].factor] * x[st.below[e].row]
		}
		x[st.row] = sum
	}
	copy(c, x)
}
