package coil

import (
	"math"

	"gonum.org/v1/gonum/mathext"
)

// seriesFrom is the diameter over length from which Nagaoka uses the series in k'. At 2 neither form has lost a
// digit yet and the series needs about 20 terms.
const seriesFrom = 2

// Nagaoka returns the coefficient K by which the inductance of a cylindrical current sheet falls short of that of
// the same piece of an endless one; dimensionless, 1 at diameterOverLength 0, falling to 0 for flat coils.
// It is NaN for a negative or NaN argument, and 0 at +Inf.
//
// The formula is L. Lorenz's (1879), tabulated by Nagaoka (1909):
//
//	K = 4/(3πk') [ (k'²/k²)(K(k) - E(k)) + E(k) - k ],  k² = x²/(1+x²),  k'² = 1/(1+x²),  x = D/l.
//
// As it stands it divides 0 by 0 at both ends. Two rewritings keep full precision (a few units in the last place)
// over the whole range:
//
//   - With D(k) = (K-E)/k² = R_D(0,k'²,1)/3 and K(k) = R_F(0,k'²,1) (DLMF 19.25.1) nothing is subtracted that
//     matters for small x.
//   - For large x the bracket vanishes as k'²; dividing it out,
//     K = 4k'/(3π) [ D(k) + (E(k)-1)/k'² + 1/(1+k) ],
//     where K(k) and (E(k)-1)/k'² come from their series in k'² (DLMF 19.12.1, 19.12.2), all terms positive.
func Nagaoka(diameterOverLength float64) float64 {
	x := diameterOverLength
	switch {
	case math.IsNaN(x) || x < 0:
		return math.NaN()
	case math.IsInf(x, 1):
		return 0
	case x >= seriesFrom:
		return nagaokaFlat(x)
	}
	kc2 := 1 / (1 + x*x)
	k2 := x * x * kc2
	d := mathext.EllipticRD(0, kc2, 1) / 3
	// E = K - k²D, so k'²D + E = K + (k'²-k²)D.
	bracket := mathext.EllipticRF(0, kc2, 1) + (kc2-k2)*d - math.Sqrt(k2)
	return 4 / (3 * math.Pi) * math.Sqrt(1+x*x) * bracket
}

// nagaokaFlat is Nagaoka for coils shorter than their radius, x at least seriesFrom.
func nagaokaFlat(x float64) float64 {
	kc := 1 / math.Hypot(1, x)
	kc2 := kc * kc
	k := x * kc
	logKc := -math.Log(kc)

	var bigK, eMinusOne float64 // K(k) and (E(k)-1)/k'²
	power := 1.0                // k'^(2m)
	a, b := 1.0, 1.0            // (½)m²/m!² and (½)m(3/2)m/((2)m m!)
	d := 2 * math.Ln2           // ψ(1+m) - ψ(½+m)
	for m := 0.0; ; m++ {
		step := 1 / ((2*m + 1) * (2*m + 2))
		termK := a * power * (logKc + d)
		termE := 0.5 * b * power * (logKc + d - step)
		bigK += termK
		eMinusOne += termE
		if termK <= 1e-18*bigK && termE <= 1e-18*eMinusOne {
			break
		}
		d -= 2 * step
		a *= (m + 0.5) * (m + 0.5) / ((m + 1) * (m + 1))
		b *= (m + 0.5) * (m + 1.5) / ((m + 2) * (m + 1))
		power *= kc2
	}
	bigD := (bigK - 1 - kc2*eMinusOne) / (k * k)
	return 4 / (3 * math.Pi) * kc * (bigD + eMinusOne + 1/(1+k))
}
