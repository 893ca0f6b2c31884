package network

import (
	"math/big"
)

// bits is the precision of the referee: some 72 decimal digits.
const bits = 240

// exact is a complex number of high precision, for a referee whose own rounding does not count.
type exact struct{ re, im *big.Float }

func ex(z complex128) exact {
	return exact{new(big.Float).SetPrec(bits).SetFloat64(real(z)), new(big.Float).SetPrec(bits).SetFloat64(imag(z))}
}

func fresh() *big.Float { return new(big.Float).SetPrec(bits) }

func (x exact) plus(y exact) exact {
	return exact{fresh().Add(x.re, y.re), fresh().Add(x.im, y.im)}
}

func (x exact) minus(y exact) exact {
	return exact{fresh().Sub(x.re, y.re), fresh().Sub(x.im, y.im)}
}

func (x exact) times(y exact) exact {
	return exact{
		fresh().Sub(fresh().Mul(x.re, y.re), fresh().Mul(x.im, y.im)),
		fresh().Add(fresh().Mul(x.re, y.im), fresh().Mul(x.im, y.re)),
	}
}

func (x exact) over(y exact) exact {
	size := y.norm()
	z := x.times(exact{y.re, fresh().Neg(y.im)})
	return exact{fresh().Quo(z.re, size), fresh().Quo(z.im, size)}
}

// norm is the square of the magnitude.
func (x exact) norm() *big.Float {
	return fresh().Add(fresh().Mul(x.re, x.re), fresh().Mul(x.im, x.im))
}

func (x exact) complex() complex128 {
	re, _ := x.re.Float64()
	im, _ := x.im.Float64()
	return complex(re, im)
}

// exactSolve solves a·x = b for several right-hand sides (n×m, row by row) in place; it reports false where a is singular.
func exactSolve(a, b []exact, n, m int) bool {
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
		for j := range m {
			b[k*m+j], b[p*m+j] = b[p*m+j], b[k*m+j]
		}
		for i := range n {
			if i == k || a[i*n+k].norm().Sign() == 0 {
				continue
			}
			factor := a[i*n+k].over(a[k*n+k])
			for j := k; j < n; j++ {
				a[i*n+j] = a[i*n+j].minus(factor.times(a[k*n+j]))
			}
			for j := range m {
				b[i*m+j] = b[i*m+j].minus(factor.times(b[k*m+j]))
			}
		}
	}
	for i := range n {
		for j := range m {
			b[i*m+j] = b[i*m+j].over(a[i*n+i])
		}
	}
	return true
}
