package multiaffine

// eliminate settles the first port of an m×m matrix [Z o; t h]: it subtracts (first column)·(first row)·factor from the
// rest (a Schur complement). For an element (α, δ) the factor is δ/(α + δ·Z_00), whose denominator is the element's
// share of the determinant D.
//
// Settling ports one after another keeps the digits of D, a product, where the coefficients of D lose them: with three
// resonances of Q = 1000 at once D is 1e-9 of its largest coefficient.
func eliminate(from, to []complex128, m int, factor complex128) {
	if m == 3 { // the last elimination before a row, by far the most frequent
		to, from = to[:4], from[:9]
		o, h := from[1], from[2]
		f, g := from[3]*factor, from[6]*factor
		to[0], to[1] = from[4]-f*o, from[5]-f*h
		to[2], to[3] = from[7]-g*o, from[8]-g*h
		return
	}
	top := from[1:m]
	for i := 1; i < m; i++ {
		row := from[i*m : i*m+m]
		f := row[0] * factor
		row = row[1:][:len(top)]
		into := to[(i-1)*(m-1):][:len(top)]
		for j, t := range top {
			into[j] = row[j] - f*t
		}
	}
}

// eliminateAt is eliminate for port k.
func eliminateAt(from, to []complex128, m, k int, factor complex128) {
	next := 0
	for i := range m {
		if i == k {
			continue
		}
		f := from[i*m+k] * factor
		for j := range m {
			if j != k {
				to[next] = from[i*m+j] - f*from[k*m+j]
				next++
			}
		}
	}
}

// drop copies an m×m matrix without its first row and column.
func drop(from, to []complex128, m int) {
	for i := 1; i < m; i++ {
		copy(to[(i-1)*(m-1):], from[i*m+1:i*m+m])
	}
}

// reciprocal is 1/z without the language's care for infinities; a zero gives NaN.
func reciprocal(z complex128) complex128 {
	k := 1 / squared(z)
	return complex(real(z)*k, -imag(z)*k)
}

// squared is |z|².
func squared(z complex128) float64 {
	return float64(real(z)*real(z)) + float64(imag(z)*imag(z))
}

// along is a + b·x.
func along(a, b complex128, x float64) complex128 {
	return complex(real(a)+float64(real(b)*x), imag(a)+float64(imag(b)*x))
}

// dot is Re(a·b*).
func dot(a, b complex128) float64 {
	return float64(real(a)*real(b)) + float64(imag(a)*imag(b))
}

// cross is Im(a·b*).
func cross(a, b complex128) float64 {
	return float64(imag(a)*real(b)) - float64(real(a)*imag(b))
}

// room is a slice of n numbers in the room of another where that is enough.
func room[T any](s []T, n int) []T {
	if cap(s) < n {
		return make([]T, n)
	}
	return s[:n]
}
