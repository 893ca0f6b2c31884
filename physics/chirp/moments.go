package chirp

import "math"

// degree is that of the polynomials by which the two amplitudes of the carrier may change within a window: with 2 a
// window may be twice as long as with 1 for the same bias.
const degree = 2

// The products of a sample v, the carrier's cosine c and its sine s whose sums a fit needs.
const (
	sumOne = iota
	sumC
	sumS
	sumCC
	sumCS
	sumSS
	sumV
	sumVC
	sumVS
	sumVV
	sums
)

// moments are sums of products over the samples of a stretch of a record, each times powers of the distance in units of
// time from the middle of the stretch.
type moments struct {
	at  float64 // in units
	sum [2*degree + 1][sums]float64
}

// add takes one sample at a distance d from the middle.
func (m *moments) add(d, c, s, v float64) {
	power := 1.0
	for k := range m.sum {
		for j, p := range [sums]float64{1, c, s, c * c, c * s, s * s, v, v * c, v * s, v * v} {
			m.sum[k][j] += power * p
		}
		power *= d
	}
}

// gather takes another stretch, whose powers are moved to this one's middle by the binomial theorem.
func (m *moments) gather(o *moments) {
	d := o.at - m.at
	for j := range sums {
		a, b, c, e, f := o.sum[0][j], o.sum[1][j], o.sum[2][j], o.sum[3][j], o.sum[4][j]
		m.sum[0][j] += a
		m.sum[1][j] += b + d*a
		m.sum[2][j] += c + d*(2*b+d*a)
		m.sum[3][j] += e + d*(3*c+d*(3*b+d*a))
		m.sum[4][j] += f + d*(4*e+d*(6*c+d*(4*b+d*a)))
	}
}

// shift takes a constant off every sample.
func (m *moments) shift(offset float64) {
	for k := range m.sum {
		s := &m.sum[k]
		s[sumVV] -= offset * (2*s[sumV] - offset*s[sumOne])
		s[sumV] -= offset * s[sumOne]
		s[sumVC] -= offset * s[sumC]
		s[sumVS] -= offset * s[sumS]
	}
}

// stretches are a record, cut into stretches of equal length in time, and the same ones joined by two, four, eight ...
type stretches struct {
	from   float64 // s, the start of the first stretch
	length float64 // s, of a stretch of the first level; the unit of the moments
	levels [][]moments
}

// mostStretches bounds the memory: 27 MB, and as much again for the joined ones.
const mostStretches = 1 << 16

// cut reduces the samples from a to before b that are there to moments, and joins them to as many levels.
func cut(samples []float64, s Sampling, r *Reading, a, b int, length float64, levels int) *stretches {
	x := &stretches{from: s.Time(a) - s.Interval/2, length: length}
	first := make([]moments, int(math.Ceil(float64(b-a)*s.Interval/length))+1)
	for i := range first {
		first[i].at = float64(i) + 0.5
	}
	r.present(a, b, func(i int) {
		t := s.Time(i)
		at := (t - x.from) / length
		m := &first[min(int(at), len(first)-1)]
		sin, cos := math.Sincos(r.Law.Phase(t))
		m.add(at-m.at, cos, sin, samples[i])
	})
	x.levels = [][]moments{first}
	for width := 1.0; len(x.levels) < levels; width *= 2 {
		fine := x.levels[len(x.levels)-1]
		coarse := make([]moments, (len(fine)+1)/2)
		for i := range coarse {
			coarse[i].at = fine[2*i].at + width/2
			for j := 2 * i; j < min(2*i+2, len(fine)); j++ {
				coarse[i].gather(&fine[j])
			}
		}
		x.levels = append(x.levels, coarse)
	}
	return x
}

// around are the moments of the window of half a width on either side of a time, both in s, by the stretches of a level.
func (x *stretches) around(at, half float64, level int) moments {
	m := moments{at: (at - x.from) / x.length}
	all := x.levels[level]
	width := math.Exp2(float64(level))
	first := max(0, int(math.Round((m.at-half/x.length)/width)))
	behind := min(len(all), int(math.Round((m.at+half/x.length)/width)))
	for i := first; i < behind; i++ {
		m.gather(&all[i])
	}
	return m
}

// shift takes a constant off every sample.
func (x *stretches) shift(v float64) {
	for _, level := range x.levels {
		for i := range level {
			level[i].shift(v)
		}
	}
}
