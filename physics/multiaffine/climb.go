package multiaffine

import "math"

// climbFrom improves a setting until it is a local maximum, to about 1e-7 of its power at worst.
func (s *Searcher) climbFrom(p Point) Point {
	y := make([]float64, s.outer)
	for k := range y {
		y[k] = p.X[s.order[k]]
	}
	x := s.climb(y)
	if better := s.point(y, x); better.Power > p.Power {
		return better
	}
	return p
}

// climb moves the outer axes y uphill on the ridge that the row's optimum forms, and returns the row's position there.
// Each step is Newton's for ln|H|² with the row's own axis eliminated (variable projection: G. H. Golub, V. Pereyra,
// 1973, from memory), shortened until it gains, shifted where the ridge is not concave, clipped to the box.
func (s *Searcher) climb(y []float64) float64 {
	r := s.row(y)
	x, power := r.Best()
	n := s.outer
	s.trial, s.step = room(s.trial, n), room(s.step, n)
	for range 60 {
		if n == 0 || !(power > 0) || math.IsInf(power, 0) || !s.newton(y, x) {
			return x
		}
		gained := false
		for length := 1.0; length > 1e-6; length /= 3 {
			for k := range n {
				s.trial[k] = min(max(y[k]+length*s.step[k], -1), 1)
			}
			r := s.row(s.trial)
			if at, better := r.Best(); better > power {
				gained = better > power*(1+1e-15)
				copy(y, s.trial)
				x, power = at, better
				break
			}
		}
		if !gained {
			return x
		}
	}
	return x
}

// newton writes a step uphill for the outer axes; false where there is none.
func (s *Searcher) newton(y []float64, x float64) bool {
	n := s.outer
	all := append(append(make([]float64, 0, 8), y...), x)
	if !s.rowed {
		all = all[:n]
	}
	s.derivatives(all)
	total := len(all)
	g, h := s.gradient, s.hessian
	if s.rowed && x > -1 && x < 1 {
		if xx := h[n*total+n]; xx < 0 {
			for j := range n {
				for k := range n {
					h[j*total+k] -= h[j*total+n] * h[n*total+k] / xx
				}
			}
		}
	}
	// Axes at a bound that would leave it stay.
	free := make([]int, 0, 8)
	for k := range n {
		if (y[k] <= -1 && g[k] <= 0) || (y[k] >= 1 && g[k] >= 0) {
			s.step[k] = 0
			continue
		}
		free = append(free, k)
	}
	size, slope := 0.0, 0.0
	for _, k := range free {
		size, slope = max(size, math.Abs(h[k*total+k])), max(slope, math.Abs(g[k]))
	}
	if len(free) == 0 || slope == 0 || math.IsNaN(slope+size) {
		return false
	}
	m := len(free)
	a, b := make([]float64, m*m), make([]float64, m)
	for shift := 0.0; ; shift = max(4*shift, 1e-3*size, slope) {
		for i, j := range free {
			b[i] = g[j]
			for l, k := range free {
				a[i*m+l] = -h[j*total+k]
			}
			a[i*m+i] += shift
		}
		if cholesky(a, b, m) {
			break
		}
		if math.IsInf(shift, 0) {
			return false
		}
	}
	for i, k := range free {
		s.step[k] = b[i]
	}
	return true
}

// derivatives writes the gradient and the Hessian of ln|H|² at a point of s.f.
//
// For a determinant whose columns are affine in one x each, with slopes a_k, and G = A⁻¹·(a_1 … a_n), the derivatives
// of ln det A are G_kk and −G_jk·G_kj (Jacobi's formula, textbook). D is such a determinant, and N that of the bordered
// matrix. A gang's derivatives are the sums over its knobs.
func (s *Searcher) derivatives(at []float64) {
	axes := len(at)
	s.gradient, s.hessian = room(s.gradient, axes), room(s.hessian, axes*axes)
	clear(s.gradient)
	clear(s.hessian)
	for border := range 2 {
		sign := float64(2 - 4*(1-border)) // + for N, − for D, twice the real part
		g := s.f.slopes(at, border == 1)
		n := len(s.f.columns)
		j := 0
		for axis, degree := range s.f.degrees {
			for range degree {
				s.gradient[axis] += sign * real(g[j*n+j])
				k := 0
				for other, degree := range s.f.degrees {
					for range degree {
						s.hessian[axis*axes+other] -= sign * real(g[j*n+k]*g[k*n+j])
						k++
					}
				}
				j++
			}
		}
	}
}

// slopes is G = A⁻¹·(a_1 … a_n), its first n rows, for the matrix of D or the bordered one of N. It is NaN where that is
// singular.
func (f *Function) slopes(at []float64, bordered bool) []complex128 {
	n := len(f.columns)
	m := n
	if bordered {
		m++
	}
	a, b := make([]complex128, m*m), make([]complex128, m*n)
	k := 0
	for axis, degree := range f.degrees {
		for range degree {
			c := &f.columns[k]
			alpha, delta := c.at(at[axis])
			for i := range m {
				z := f.w[i*(n+1)+k]
				a[i*m+k], b[i*n+k] = delta*z, c.d1*z
			}
			a[k*m+k] += alpha
			b[k*n+k] += c.a1
			k++
		}
	}
	if bordered {
		for i := range m {
			a[i*m+n] = f.w[i*(n+1)+n]
		}
	}
	gauss(a, b, m, n)
	return b[:n*n]
}

// gauss solves a·x = b for n right-hand sides in place, m×m and m×n row by row, with partial pivoting.
func gauss(a, b []complex128, m, n int) {
	for k := range m {
		p := k
		for i := k + 1; i < m; i++ {
			if squared(a[i*m+k]) > squared(a[p*m+k]) {
				p = i
			}
		}
		if p != k {
			for j := range m {
				a[k*m+j], a[p*m+j] = a[p*m+j], a[k*m+j]
			}
			for j := range n {
				b[k*n+j], b[p*n+j] = b[p*n+j], b[k*n+j]
			}
		}
		inverse := reciprocal(a[k*m+k])
		for i := range m {
			if i == k {
				continue
			}
			factor := a[i*m+k] * inverse
			for j := k; j < m; j++ {
				a[i*m+j] -= factor * a[k*m+j]
			}
			for j := range n {
				b[i*n+j] -= factor * b[k*n+j]
			}
		}
	}
	for i := range m {
		inverse := reciprocal(a[i*m+i])
		for j := range n {
			b[i*n+j] *= inverse
		}
	}
}

// cholesky solves a·x = b in place for a symmetric m×m matrix; false where it is not positive definite.
func cholesky(a, b []float64, m int) bool {
	for i := range m {
		for j := range i + 1 {
			sum := a[i*m+j]
			for k := range j {
				sum -= a[i*m+k] * a[j*m+k]
			}
			if i != j {
				a[i*m+j] = sum / a[j*m+j]
				continue
			}
			if !(sum > 0) {
				return false
			}
			a[i*m+i] = math.Sqrt(sum)
		}
	}
	for i := range m {
		for k := range i {
			b[i] -= a[i*m+k] * b[k]
		}
		b[i] /= a[i*m+i]
	}
	for i := m - 1; i >= 0; i-- {
		for k := i + 1; k < m; k++ {
			b[i] -= a[k*m+i] * b[k]
		}
		b[i] /= a[i*m+i]
	}
	return true
}
