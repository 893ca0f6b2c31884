package multiaffine

// Function is H = N/D, volt across the load per volt of emf, at one frequency and one combination of contacts, in the
// axes x: N and D are polynomials of degree Degrees()[k] in axis k. It is held as the small matrix that the knobs see,
// not as the coefficients of N and D, which would lose digits where several parts resonate at once; Bernstein gives
// coefficients over any part of the axes with all their digits.
type Function struct {
	degrees []int        // knobs on each axis
	columns []column     // of the knobs, axis by axis
	w       []complex128 // [Z o; t h] with a port per knob, row by row
}

// column is a knob's equation against its reference: α = a0 + a1·x, δ = d0 + d1·x.
type column struct{ a0, a1, d0, d1 complex128 }

func (c *column) at(x float64) (alpha, delta complex128) {
	return along(c.a0, c.a1, x), along(c.d0, c.d1, x)
}

// factor is what eliminate takes for the knob at x whose port has impedance z, and its share of D.
func (c *column) factor(x float64, z complex128) (factor, share complex128) {
	alpha, delta := c.at(x)
	share = alpha + delta*z
	return delta * reciprocal(share), share
}

// Degrees lists the degree of N and D in each axis: the number of knobs on it.
func (f *Function) Degrees() []int { return append([]int(nil), f.degrees...) }

// Copy makes into the same function as f, in its own room.
func (f *Function) Copy(into *Function) {
	into.degrees = append(into.degrees[:0], f.degrees...)
	into.columns = append(into.columns[:0], f.columns...)
	into.w = append(into.w[:0], f.w...)
}

// first is the first knob of an axis.
func (f *Function) first(axis int) int {
	k := 0
	for _, d := range f.degrees[:axis] {
		k += d
	}
	return k
}

// inline is the size of a matrix that is worked on without asking for memory.
const inline = 7 * 7

// Value is H at a point, one x in [-1, 1] per axis (others are extrapolated). It is infinite or NaN where D vanishes.
func (f *Function) Value(x []float64) complex128 {
	if len(x) != len(f.degrees) {
		panic("multiaffine: a point must have a coordinate for every axis")
	}
	var a, b [inline]complex128
	from, to := f.w, a[:]
	other := b[:]
	if len(from) > inline {
		to, other = make([]complex128, len(from)), make([]complex128, len(from))
	}
	m, k := len(f.columns)+1, 0
	for axis, degree := range f.degrees {
		for range degree {
			factor, _ := f.columns[k].factor(x[axis], from[0])
			eliminate(from, to, m, factor)
			from, to, other = to, other, to
			m, k = m-1, k+1
		}
	}
	return from[0]
}

// Power is |H|² at a point. It is infinite or NaN where D vanishes.
func (f *Function) Power(x []float64) float64 { return squared(f.Value(x)) }

// Gradient writes ∂H/∂x of each axis to into and returns H. Both are infinite or NaN where D vanishes.
//
// With all other knobs settled, one sees H = h − t·o·δ/(α + δ·Z), so ∂H/∂x = −t·o·(δ'·α − δ·α')/(α + δ·Z)².
func (f *Function) Gradient(x []float64, into []complex128) complex128 {
	size := len(f.w)
	buffer := make([]complex128, 2*size)
	k := 0
	for axis, degree := range f.degrees {
		into[axis] = 0
		for range degree {
			w := f.seenBy(k, x, buffer[:size], buffer[size:])
			c := &f.columns[k]
			alpha, delta := c.at(x[axis])
			inverse := reciprocal(alpha + delta*w[0])
			into[axis] -= w[1] * w[2] * (c.d1*alpha - delta*c.a1) * inverse * inverse
			k++
		}
	}
	return f.Value(x)
}

// seenBy is the 2×2 matrix that one knob sees with all others settled at x; a and b are room for the matrix each.
func (f *Function) seenBy(knob int, x []float64, a, b []complex128) []complex128 {
	from := f.w
	m, k := len(f.columns)+1, 0
	for axis, degree := range f.degrees {
		for range degree {
			if k != knob {
				at := 0
				if k > knob {
					at = 1
				}
				factor, _ := f.columns[k].factor(x[axis], from[at*m+at])
				eliminateAt(from, a, m, at, factor)
				from, a, b = a, b, a
				m--
			}
			k++
		}
	}
	return from
}

// Fix sets one axis to x and writes the function of the others to into, which must not be f. Axes that vary slowly should
// come first and be fixed first. The result is infinite or NaN where the fixed part resonates without loss.
func (f *Function) Fix(axis int, x float64, into *Function) {
	k, degree := f.first(axis), f.degrees[axis]
	into.degrees = append(append(into.degrees[:0], f.degrees[:axis]...), f.degrees[axis+1:]...)
	into.columns = append(append(into.columns[:0], f.columns[:k]...), f.columns[k+degree:]...)
	into.w = room(into.w, len(f.w))
	room := [2][]complex128{into.w, nil}
	if degree > 1 {
		room[1] = make([]complex128, len(f.w))
	}
	m, from := len(f.columns)+1, f.w
	for i := range degree {
		factor, _ := f.columns[k+i].factor(x, from[k*m+k])
		to := room[(degree-1-i)%2] // so that the last is into's own
		if k == 0 {
			eliminate(from, to, m, factor)
		} else {
			eliminateAt(from, to, m, k, factor)
		}
		from = to
		m--
	}
	into.w = into.w[:m*m]
}

// Restrict rewrites an axis so that its new -1 and 1 are the old low and high, which may lie anywhere. It changes f.
func (f *Function) Restrict(axis int, low, high float64) {
	middle, half := (low+high)/2, complex((high-low)/2, 0)
	k := f.first(axis)
	for i := range f.degrees[axis] {
		c := &f.columns[k+i]
		alpha, delta := c.at(middle)
		*c = column{alpha, c.a1 * half, delta, c.d1 * half}
	}
}

// reordered writes the function with its axes in another order to into, which must not be f.
func (f *Function) reordered(order []int, into *Function) {
	into.degrees, into.columns, into.w = into.degrees[:0], into.columns[:0], into.w[:0]
	ports := make([]int, 0, maxKnobs+1)
	for _, axis := range order {
		k := f.first(axis)
		into.degrees = append(into.degrees, f.degrees[axis])
		into.columns = append(into.columns, f.columns[k:k+f.degrees[axis]]...)
		for i := range f.degrees[axis] {
			ports = append(ports, k+i)
		}
	}
	m := len(f.columns) + 1
	ports = append(ports, m-1)
	for _, i := range ports {
		for _, j := range ports {
			into.w = append(into.w, f.w[i*m+j])
		}
	}
}

// Row is the function itself where one axis with a single knob is left; ok is false where it is not so.
func (f *Function) Row() (r Row, ok bool) {
	if len(f.degrees) != 1 || f.degrees[0] != 1 {
		return r, false
	}
	return f.columns[0].row(f.w), true
}

// row is what a knob's 2×2 matrix [Z o; t h] makes of it: D = α + δ·Z, N = α·h + δ·(Z·h − t·o).
func (c *column) row(w []complex128) Row {
	w = w[:4]
	z, h := w[0], w[3]
	q := z*h - w[1]*w[2]
	return Row{c.a0*h + c.d0*q, c.a1*h + c.d1*q, c.a0 + c.d0*z, c.a1 + c.d1*z}
}
