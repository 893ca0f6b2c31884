package multiaffine

import "math"

// Bernstein writes the Bernstein coefficients of N and D over a box of the axes from low to high: Π(d+1) of each, in n
// and d, the last axis fastest. Both have the same factor for every box of one function. For axes of degree one they are
// the values at the corners.
//
// They bound: over the box a polynomial lies between the least and the largest coefficient (for complex ones: in their
// convex hull), those at corners are its values, and halving the box brings the bound four times nearer (G. T. Cargo,
// O. Shisha 1966; J. Garloff 1986; both from memory). In terms of the knobs coefficient i of a gang is the mean of the
// values with i of its knobs at the high end and the others at the low one (the polar form or blossom: L. Ramshaw
// 1987, from memory). Every value is found by elimination, so it has all its digits however small the box.
func (f *Function) Bernstein(low, high []float64, n, d []complex128) {
	var b bernstein
	b.prepare(f.degrees)
	b.fill(f, low, high, [4][]complex128{d, n})
}

// bernstein is scratch for the coefficients of functions with the same degrees.
type bernstein struct {
	axes   []int // of each knob
	stride []int // what a knob at its high end adds to the index of a coefficient
	share  []float64
	levels [][]complex128
	low    []float64 // of each knob
	high   []float64
}

// prepare lays out the axes; a row's axis is left out of them.
func (b *bernstein) prepare(degrees []int) {
	*b = bernstein{}
	strides := make([]int, len(degrees))
	size := 1
	for k := len(degrees) - 1; k >= 0; k-- {
		strides[k] = size
		size *= degrees[k] + 1
	}
	for i := range size {
		share := 1.0
		for k, d := range degrees {
			share /= binomial(d, i/strides[k]%(d+1))
		}
		b.share = append(b.share, share)
	}
	for k, d := range degrees {
		for range d {
			b.axes, b.stride = append(b.axes, k), append(b.stride, strides[k])
		}
	}
	b.low, b.high = make([]float64, len(b.axes)), make([]float64, len(b.axes))
}

// fill writes the coefficients over a box. Where one axis is left beyond those prepared, it is a row, and into is D and N
// at its low end, then at its high end; else it is D and N.
func (b *bernstein) fill(f *Function, low, high []float64, into [4][]complex128) {
	for k, axis := range b.axes {
		b.low[k], b.high[k] = low[axis], high[axis]
	}
	m := len(f.columns) + 1
	for len(b.levels) < len(b.axes) {
		b.levels = append(b.levels, nil)
	}
	for k := range b.axes {
		b.levels[k] = room(b.levels[k], (m-k-1)*(m-k-1))
	}
	for _, c := range into {
		clear(c)
	}
	b.corners(f, f.w, m, 0, 0, 1, into)
}

// corners goes through the ends of the knobs from k on; share is the product of the shares of D of those before.
func (b *bernstein) corners(f *Function, w []complex128, m, k, index int, share complex128, into [4][]complex128) {
	if k == len(b.axes) {
		weight := complex(b.share[index], 0) * share
		if len(f.columns) == k {
			into[0][index] += weight
			into[1][index] += weight * w[0]
			return
		}
		r := f.columns[k].row(w)
		into[0][index] += weight * (r.D0 - r.D1)
		into[1][index] += weight * (r.N0 - r.N1)
		into[2][index] += weight * (r.D0 + r.D1)
		into[3][index] += weight * (r.N0 + r.N1)
		return
	}
	rest := b.levels[k]
	factor, own := f.columns[k].factor(b.low[k], w[0])
	eliminate(w, rest, m, factor)
	b.corners(f, rest, m-1, k+1, index, share*own, into)
	factor, own = f.columns[k].factor(b.high[k], w[0])
	eliminate(w, rest, m, factor)
	b.corners(f, rest, m-1, k+1, index+b.stride[k], share*own, into)
}

// binomial is n over k.
func binomial(n, k int) float64 {
	b := 1.0
	for i := range k {
		b = b * float64(n-i) / float64(i+1)
	}
	return b
}

// shape is a tensor of Bernstein coefficients, the last axis fastest.
type shape struct {
	degrees []int
	strides []int
	size    int
	middle  []float64 // weights of the coefficients in the value at the middle of the box
}

func newShape(degrees []int, times int) shape {
	s := shape{size: 1, strides: make([]int, len(degrees))}
	for k := len(degrees) - 1; k >= 0; k-- {
		s.strides[k] = s.size
		s.size *= times*degrees[k] + 1
	}
	for _, d := range degrees {
		s.degrees = append(s.degrees, times*d)
	}
	for i := range s.size {
		w := 1.0
		for k, d := range s.degrees {
			w *= binomial(d, s.index(i, k)) / math.Pow(2, float64(d))
		}
		s.middle = append(s.middle, w)
	}
	return s
}

// index is the position of coefficient i along axis k.
func (s shape) index(i, k int) int { return i / s.strides[k] % (s.degrees[k] + 1) }

// pair is a product of coefficients j and k that counts with weight in coefficient into, with both orders of j < k.
type pair struct {
	j, k, into int32
	weight     float64
}

// products lists the pairs whose weighted sums are the coefficients of a product of two polynomials of shape s.
func (s shape) products(of shape) []pair {
	var list []pair
	for j := range s.size {
		for k := j; k < s.size; k++ {
			into, w := 0, 1.0
			for a, d := range s.degrees {
				p, q := s.index(j, a), s.index(k, a)
				into += (p + q) * of.strides[a]
				w *= binomial(d, p) * binomial(d, q) / binomial(2*d, p+q)
			}
			list = append(list, pair{int32(j), int32(k), int32(into), w})
		}
	}
	return list
}

// bend is the largest second difference of coefficients along axis k: what their bound has to spare there.
func (s shape) bend(c []float64, k int) float64 {
	most, stride, d := 0.0, s.strides[k], s.degrees[k]
	block := stride * (d + 1)
	for b := 0; b < s.size; b += block {
		for j := b; j < b+stride; j++ {
			for i := 2; i <= d; i++ {
				at := j + i*stride
				most = max(most, math.Abs(c[at]-2*c[at-stride]+c[at-2*stride]))
			}
		}
	}
	return most
}
