package multiaffine

import "math"

// Searcher looks for the settings with the largest |H|². It is scratch for one goroutine, to be used again and again; what
// it returns depends on the function and the effort alone.
//
// One axis of degree one, the last such, is the row: its optimum is closed form for every position of the others. What
// remains to be searched is smooth even where H has a sharp peak, because the row follows the resonance.
type Searcher struct {
	base   Function       // the caller's function without the axes on which H does not depend
	kept   []int          // axis of the caller's function for each axis of base
	rest   []float64      // positions of the caller's axes that are not in base
	f      Function       // base as searched: the row last
	order  []int          // axis of the caller's function for each axis of f
	rowed  bool           // the last axis is the row; without one every axis is outer
	outer  int            // axes besides the row
	levels [][]complex128 // matrices with 0, 1, 2, … knobs settled
	here   Row            // the last row asked for
	sheet  Sheet          // of the last outer axis and the row, in a scan
	prover prover
	side   *Searcher // for an end of the row
	// scratch of climb
	gradient, hessian, step, trial []float64
	// scratch of load
	spare Function
	axes  []int
	a, b  []complex128
}

// Effort says how hard to search. The zero value is a sound choice.
type Effort struct {
	Rows  int     // rows along each outer axis of the coarse search, at least 2; 0 means 64. Many axes get fewer.
	Gap   float64 // how far above the best value the proven bound may lie, relative; 0 means 1e-9
	Boxes int     // how many boxes the proof may examine; 0 means 200000
	// Stop ends the proof early where it returns true, as if its budget were used up, and leaves the bound infinite. It is
	// asked every few dozen boxes; may be nil.
	Stop func() bool
}

// patience is how many boxes are examined between two looks at Stop: some tens of microseconds.
const patience = 64

// mostRows bounds a coarse search: 256 × 256 rows, or 16 along each of four axes.
const mostRows = 1 << 16

func (e Effort) settled(outer int) Effort {
	if e.Rows == 0 {
		e.Rows = 64
	}
	if outer > 0 {
		e.Rows = min(e.Rows, int(math.Pow(mostRows, 1/float64(outer))+1e-9))
	}
	e.Rows = max(e.Rows, 2)
	if !(e.Gap > 0) {
		e.Gap = 1e-9
	}
	if e.Boxes <= 0 {
		e.Boxes = 200000
	}
	return e
}

// Point is a setting of all axes and |H|² there. An axis on which H does not depend stays in the middle. The power is
// infinite or NaN where D vanishes.
type Point struct {
	X     []float64
	Power float64
}

// load takes a function up.
func (s *Searcher) load(f *Function) {
	s.rest, s.kept = room(s.rest, len(f.degrees)), s.kept[:0]
	clear(s.rest)
	f.Copy(&s.base)
	for k := range f.degrees {
		at, idle := s.idle(len(s.kept))
		if !idle {
			s.kept = append(s.kept, k)
			continue
		}
		s.rest[k] = at
		s.base.Fix(len(s.kept), at, &s.spare)
		s.base, s.spare = s.spare, s.base
	}
	row := -1
	for i, d := range s.base.degrees {
		if d == 1 {
			row = i
		}
	}
	s.arrange(row)
}

// arrange makes one axis of base the row; -1 is none.
func (s *Searcher) arrange(row int) {
	s.axes, s.order = s.axes[:0], s.order[:0]
	for i := range s.kept {
		if i != row {
			s.axes = append(s.axes, i)
		}
	}
	s.outer, s.rowed = len(s.axes), row >= 0
	if s.rowed {
		s.axes = append(s.axes, row)
	}
	for _, i := range s.axes {
		s.order = append(s.order, s.kept[i])
	}
	s.base.reordered(s.axes, &s.f)
	size := len(s.f.columns) + 1
	s.levels = room(s.levels, size)
	for k := range s.levels {
		s.levels[k] = room(s.levels[k], (size-k)*(size-k))
	}
	copy(s.levels[0], s.f.w)
}

// sharpest makes the row of that axis of degree one along which ln|H|² bends most at a maximum, if any has it inside: the
// proof is shortest then.
func (s *Searcher) sharpest(p Point) {
	at := make([]float64, len(s.order))
	for i, k := range s.order {
		at[i] = p.X[k]
	}
	s.derivatives(at)
	best, axis := 0.0, -1
	for i, x := range at {
		if bend := s.hessian[i*len(at)+i]; s.f.degrees[i] == 1 && x > -1 && x < 1 && bend < best {
			best, axis = bend, i
		}
	}
	if axis >= 0 {
		s.arrange(s.axes[axis])
	}
}

// point is a setting in the caller's order of axes.
func (s *Searcher) point(y []float64, x float64) Point {
	p := Point{X: append([]float64(nil), s.rest...)}
	for k, v := range y {
		p.X[s.order[k]] = v
	}
	full := append([]float64(nil), y...)
	if s.rowed {
		p.X[s.order[s.outer]] = x
		full = append(full, x)
	}
	p.Power = s.f.Power(full)
	return p
}

// row is the function along the row at a position of the outer axes; constant where there is no row axis. It is valid
// until the next.
func (s *Searcher) row(y []float64) *Row {
	k := 0
	for axis, x := range y {
		k = s.settle(axis, k, x)
	}
	return s.rowAt(k)
}

// settle eliminates the knobs of one axis, from knob k on, at x, from level k of the matrices, and returns the next.
func (s *Searcher) settle(axis, k int, x float64) int {
	for range s.f.degrees[axis] {
		from := s.levels[k]
		factor, _ := s.f.columns[k].factor(x, from[0])
		eliminate(from, s.levels[k+1], len(s.f.columns)+1-k, factor)
		k++
	}
	return k
}

// rowAt is the row when k knobs, all of the outer axes, are settled.
func (s *Searcher) rowAt(k int) *Row {
	if s.rowed {
		s.here = s.f.columns[k].row(s.levels[k])
	} else {
		s.here = Row{N0: s.levels[k][0], D0: 1}
	}
	return &s.here
}

// gridAt is the i-th of rows positions along an axis.
func gridAt(i, rows int) float64 { return 2*float64(i)/float64(rows-1) - 1 }

// scan visits every row of the grid, the last outer axis fastest.
func (s *Searcher) scan(rows int, visit func(i int, r *Row)) {
	next := 0
	s.scanFrom(0, 0, rows, &next, visit)
}

func (s *Searcher) scanFrom(axis, k, rows int, next *int, visit func(i int, r *Row)) {
	if axis == s.outer {
		visit(*next, s.rowAt(k))
		*next++
		return
	}
	if axis == s.outer-1 && s.rowed && s.f.degrees[axis] == 1 {
		s.sheet.prepare(s.f.columns[k:], s.levels[k])
		for i := range rows {
			s.here = s.sheet.Row(gridAt(i, rows))
			visit(*next, &s.here)
			*next++
		}
		return
	}
	for i := range rows {
		s.scanFrom(axis+1, s.settle(axis, k, gridAt(i, rows)), rows, next, visit)
	}
}

// outerAt writes the position of the i-th row of the grid.
func (s *Searcher) outerAt(i, rows int, y []float64) {
	for k := s.outer - 1; k >= 0; k-- {
		y[k] = gridAt(i%rows, rows)
		i /= rows
	}
}

// Coarse is the best setting on a grid of rows: rows positions along each outer axis, ends included, at least 2 (fewer
// where Effort would allow fewer), with the row's own axis at its exact optimum. It is at least as good as the best
// point of the grid that has any number of positions along the row.
func (s *Searcher) Coarse(f *Function, rows int) Point {
	s.load(f)
	return s.coarse(Effort{Rows: rows}.settled(s.outer).Rows)
}

func (s *Searcher) coarse(rows int) Point {
	best, bestRow, x := math.Inf(-1), 0, 0.0
	s.scan(rows, func(i int, r *Row) {
		if at, power := r.Best(); power > best {
			best, bestRow, x = power, i, at
		}
	})
	y := make([]float64, s.outer)
	s.outerAt(bestRow, rows, y)
	return s.point(y, x)
}

// Maximum is the largest |H|² over all axes.
type Maximum struct {
	Point
	Bound  float64 // no setting has more; infinite where nothing was proven
	Proven bool    // Bound is within the wanted gap
	Boxes  int     // examined for the proof
}

// Maximum finds the best setting over [-1, 1] on every axis and proves it: a coarse search, a climb, and branch and bound
// over the outer axes (see prover). Where the proof does not come to an end within its budget, Proven is false and
// Bound says how far it came. Fix or Restrict axes first to search a part of them.
//
// The proof is one of real arithmetic done in floating point: a gap below 1e-11, or an unloaded Q far above 1e5, is
// beyond its digits. Power is infinite or NaN where D vanishes to the last digit, and nothing is proven then.
func (s *Searcher) Maximum(f *Function, e Effort) Maximum {
	s.load(f)
	e = e.settled(s.outer)
	m := Maximum{Point: s.climbFrom(s.coarse(e.Rows)), Bound: math.Inf(1)}
	if !(m.Power >= 0) || math.IsInf(m.Power, 0) {
		return m
	}
	s.sharpest(m.Point)
	s.prove(&m, e)
	return m
}
