package touchstone

import (
	"fmt"
	"math"
	"math/cmplx"
)

// Normalised network parameters relate v/√R and i·√R in place of v and i, R being the reference of the port: then
// every port has the reference 1, and the conversions to S are the same for equal and different references
// (K. Kurokawa, IEEE Trans. MTT-13 (1965) 194-202, for real references; from memory).
//
// Each of Z, Y, H, G gives one of voltage and current at each port as a function of the other one. With u = √R at a
// port where it gives the voltage and u = 1/√R where it gives the current, m(absolute) = u_j·u_k·m(normalised).

// givesVoltage reports whether row j of the matrix gives a voltage: V = Z·I, I = Y·V, (V1, I2) = H·(I1, V2),
// (I1, V2) = G·(V1, I2).
func givesVoltage(parameter byte, j int) bool {
	switch parameter {
	case 'Z':
		return true
	case 'H':
		return j == 0
	case 'G':
		return j == 1
	}
	return false
}

// toAbsolute turns normalised values, row-major, into ohm and siemens, in place; S stays as it is.
func toAbsolute(parameter byte, reference []float64, values []complex128) {
	scale(parameter, reference, values, false)
}

// toNormalised is the inverse of toAbsolute.
func toNormalised(parameter byte, reference []float64, values []complex128) {
	scale(parameter, reference, values, true)
}

func scale(parameter byte, reference []float64, values []complex128, inverse bool) {
	if parameter == 'S' {
		return
	}
	n := len(reference)
	for j := range n {
		for k := range n {
			factor, divide := weight(givesVoltage(parameter, j), givesVoltage(parameter, k), reference[j], reference[k])
			v := &values[j*n+k]
			if divide != inverse {
				*v = complex(real(*v)/factor, imag(*v)/factor)
			} else {
				*v = complex(real(*v)*factor, imag(*v)*factor)
			}
		}
	}
}

// weight gives u_j·u_k as a factor or divisor, exact (R or 1) where the references are equal.
func weight(voltage1, voltage2 bool, r1, r2 float64) (factor float64, divide bool) {
	product, ratio := r1, 1.0
	if r1 != r2 {
		product, ratio = math.Sqrt(r1)*math.Sqrt(r2), math.Sqrt(r1)/math.Sqrt(r2)
	}
	if voltage1 == voltage2 {
		return product, !voltage1
	}
	return ratio, !voltage1
}

// ToS returns d as scattering parameters at d's references, row-major; a copy where d has S already. It fails where d
// does not pass Check, and where S has no finite value (a network that delivers power without limit into the reference).
//
// With waves a = (v+i)/2, b = (v−i)/2 of normalised v and i, Z gives (1+z)·b = (z−1)·a, and Y gives (1+y)·b = (1−y)·a.
// H exchanges voltage and current at port 2, that is, the sign of b2: J·(1+h)⁻¹·(h−1) with J = diag(1, −1), and G
// likewise J·(1+g)⁻¹·(1−g). (D. A. Frickey, IEEE Trans. MTT-42 (1994) 205-211, tabulates them; the tests check against
// that table, from memory.)
func (d *Data) ToS() (*Data, error) {
	if err := d.Check(); err != nil {
		return nil, err
	}
	s := d.clone()
	s.Parameter = 'S'
	for i, row := range s.Values {
		if !rowToS(d.Parameter, d.Reference, row) {
			return nil, fmt.Errorf("touchstone data %q: the %c-parameters at %s have no finite S; use data of a passive network",
				d.File, d.Parameter, inHertz(d.Frequencies[i]))
		}
	}
	return s, nil
}

// rowToS converts one matrix in place and reports whether that was possible.
func rowToS(parameter byte, reference []float64, m []complex128) bool {
	if parameter == 'S' {
		return true
	}
	toNormalised(parameter, reference, m)
	var sum, difference [4]complex128
	n := len(reference)
	for j := range n {
		for k := range n {
			at := j*n + k
			sum[at], difference[at] = m[at], m[at]
			if j == k {
				sum[at]++
				difference[at]--
			}
		}
	}
	if !solve(n, &sum, &difference) {
		return false
	}
	copy(m, difference[:n*n])
	for j := range n {
		// b1 has the sign of what row 1 gives; H and G differ from Z and Y at port 2.
		if !givesVoltage(parameter, j) {
			for k := range n {
				m[j*n+k] = -m[j*n+k]
			}
		}
	}
	for _, v := range m {
		if !finite(v) {
			return false
		}
	}
	return true
}

// solve replaces b by a⁻¹·b, both n×n with n of 1 or 2, by elimination with row exchange.
func solve(n int, a, b *[4]complex128) bool {
	if n == 1 {
		b[0] /= a[0]
		return a[0] != 0
	}
	if cmplx.Abs(a[2]) > cmplx.Abs(a[0]) {
		a[0], a[1], a[2], a[3] = a[2], a[3], a[0], a[1]
		b[0], b[1], b[2], b[3] = b[2], b[3], b[0], b[1]
	}
	if a[0] == 0 {
		return false
	}
	factor := a[2] / a[0]
	pivot := a[3] - factor*a[1]
	if pivot == 0 {
		return false
	}
	for k := range 2 {
		lower := (b[2+k] - factor*b[k]) / pivot
		b[k], b[2+k] = (b[k]-a[1]*lower)/a[0], lower
	}
	return true
}
