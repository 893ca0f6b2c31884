package chirp

import "math"

// sine is what least squares make of a window: the amplitude in its middle of v = a + b(t)·cos φ(t) + c(t)·sin φ(t) with the
// known phase φ, and b and c polynomials of time. With b and c constant this is the three-parameter sine fit of
// IEEE Std 1057 (from memory).
type sine struct {
	ok             bool    // there is an answer: enough samples, at phases that tell its columns apart
	amplitude      float64 // V
	variance       float64 // of amplitude, for noise of unit variance
	offset         float64 // V
	offsetVariance float64 // for noise of unit variance
	left           float64 // V², the sum of squares that is left
	free           float64 // degrees of freedom
	power          float64 // V², the mean square of the samples
	turning        float64 // turns per half window by which the carrier's phase leaves the one that is known, in the middle
	// dilution is the variance of the worse of b and c over that of a constant one of a carrier sampled at all phases,
	// 2/n: 9/4 inside such a record, 9 at its ends, and without bound where the samples stand still against the carrier.
	dilution float64
}

// mostDilution is the most that counts as an answer, and leastPivot the least square of a column's sine against the
// columns before it.
const (
	mostDilution = 40
	leastPivot   = 1e-9
	mostSize     = 2*(degree+1) + 1
)

// solve fits within a half window in the unit of the moments, with a constant or without.
func (m *moments) solve(half float64, constant bool) (f sine) {
	size := 2 * (degree + 1)
	if constant {
		size++
	}
	n := m.sum[0][sumOne]
	if n < float64(size)+2 {
		return f
	}
	var g [mostSize][mostSize]float64
	var y [mostSize]float64
	var scale [2*degree + 1]float64
	for k := range scale {
		scale[k] = math.Pow(half, -float64(k))
	}
	for i := range degree + 1 {
		for j := range degree + 1 {
			s := &m.sum[i+j]
			g[2*i][2*j], g[2*i][2*j+1] = scale[i+j]*s[sumCC], scale[i+j]*s[sumCS]
			g[2*i+1][2*j], g[2*i+1][2*j+1] = scale[i+j]*s[sumCS], scale[i+j]*s[sumSS]
		}
		s := &m.sum[i]
		y[2*i], y[2*i+1] = scale[i]*s[sumVC], scale[i]*s[sumVS]
		if constant {
			g[size-1][2*i], g[size-1][2*i+1] = scale[i]*s[sumC], scale[i]*s[sumS]
		}
	}
	if constant {
		g[size-1][size-1], y[size-1] = n, m.sum[0][sumV]
	}
	inverse, ok := invert(&g, size)
	if !ok {
		return f
	}
	var x [mostSize]float64
	f.left = m.sum[0][sumVV]
	for i := range size {
		for j := range size {
			x[i] += inverse[i][j] * y[j]
		}
		f.left -= x[i] * y[i]
	}
	f.left, f.free, f.power = max(0, f.left), n-float64(size), m.sum[0][sumVV]/n
	b, c := x[0], x[1]
	bb, bc, cc := inverse[0][0], inverse[0][1], inverse[1][1]
	f.amplitude = math.Hypot(b, c)
	f.variance = (bb + cc) / 2
	// The envelope over the carrier is b - jc; c and b stand beside their slopes.
	if f.amplitude > 0 {
		f.turning = (c*x[2] - b*x[3]) / (b*b + c*c) / (2 * math.Pi)
		f.variance = (b*b*bb + 2*b*c*bc + c*c*cc) / (b*b + c*c)
	}
	f.dilution = n / 2 * ((bb+cc)/2 + math.Hypot((bb-cc)/2, bc))
	if constant {
		f.offset, f.offsetVariance = x[size-1], inverse[size-1][size-1]
	}
	f.ok = f.dilution < mostDilution
	return f
}

// invert inverts the symmetric positive matrix of which the lower triangle is given, by Cholesky's factors of the matrix
// scaled to ones on the diagonal; false where it is as good as singular.
func invert(g *[mostSize][mostSize]float64, size int) (inverse [mostSize][mostSize]float64, ok bool) {
	var l, w [mostSize][mostSize]float64
	var d [mostSize]float64
	for i := range size {
		if !(g[i][i] > 0) {
			return inverse, false
		}
		d[i] = 1 / math.Sqrt(g[i][i])
	}
	for i := range size {
		for j := 0; j <= i; j++ {
			v := g[i][j] * d[i] * d[j]
			for k := range j {
				v -= l[i][k] * l[j][k]
			}
			switch {
			case i > j:
				l[i][j] = v / l[j][j]
			case !(v > leastPivot):
				return inverse, false
			default:
				l[i][i] = math.Sqrt(v)
			}
		}
	}
	for j := range size {
		w[j][j] = 1 / l[j][j]
		for i := j + 1; i < size; i++ {
			v := 0.0
			for k := j; k < i; k++ {
				v -= l[i][k] * w[k][j]
			}
			w[i][j] = v / l[i][i]
		}
	}
	for i := range size {
		for j := range size {
			for k := max(i, j); k < size; k++ {
				inverse[i][j] += w[k][i] * w[k][j]
			}
			inverse[i][j] *= d[i] * d[j]
		}
	}
	return inverse, true
}
