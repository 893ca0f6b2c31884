package touchstone

import (
	"fmt"
	"math"
	"sort"
)

// Interpolator gives S at any frequency inside a file's range: by a cubic through the file's points (see slopes), never
// more active than the straight line between them (see limitGain). It does not change after it is made.
//
// The choice was measured on four resonant circuits with and without loss (TestErrorOnResonators). Worst |ΔS| between
// the points, and by how much the largest singular value of a lossless circuit passes 1:
//
//	points in the bandwidth      5        10        20        40     gain − 1 at 20
//	straight lines            7.3e-2    2.0e-2    5.0e-3    1.2e-3    2e-16
//	monotone cubic            3.9e-2    6.6e-3    2.0e-3    4.6e-4    1e-3
//	Akima, each part alone    3.9e-2    6.1e-3    7.6e-4    9.4e-5    2e-4
//	natural spline            6.8e-3    2.6e-4    3.0e-5    7.5e-6    8e-6
//	this one                  1.4e-2    1.6e-3    1.9e-4    2.4e-5    4e-16
//
// Straight lines keep a passive file passive, since S-matrices of norm at most 1 form a convex set, but they cut corners:
// midway between 20 points in the bandwidth they turn 1 % of the power into a loss that is not there. The spline is the
// most exact on smooth data, but carries a fault or a kink on over many points, and is active. A cubic with local slopes,
// scaled back where it gains more than both 1 and the straight line, has neither fault: a point acts on the three intervals
// on each side of it, no more.
type Interpolator struct {
	file        string
	size        int // elements of the matrix
	frequencies []float64
	values      []complex128 // size for each frequency
	slopes      []complex128 // per hertz, likewise
}

// edge is the relative distance by which a frequency may miss the ends of the file (or its only frequency) and still
// count as the end: the rounding of a sweep's arithmetic, as in 2π·f/2π.
const edge = 1e-12

// NewInterpolator prepares the interpolation of d, converted to S at d's references.
func NewInterpolator(d *Data) (*Interpolator, error) {
	s, err := d.ToS()
	if err != nil {
		return nil, err
	}
	ip := &Interpolator{file: d.File, size: d.Ports * d.Ports, frequencies: s.Frequencies}
	for _, row := range s.Values {
		ip.values = append(ip.values, row...)
	}
	ip.slopes = slopes(ip.frequencies, ip.values, ip.size)
	for i, m := range ip.slopes {
		if !finite(m) {
			return nil, fmt.Errorf("touchstone data %q: the values near %s change too fast to interpolate; use data of a passive network",
				d.File, inHertz(ip.frequencies[i/ip.size]))
		}
	}
	return ip, nil
}

// Range returns the lowest and the highest frequency in hertz.
func (ip *Interpolator) Range() (low, high float64) {
	return ip.frequencies[0], ip.frequencies[len(ip.frequencies)-1]
}

// Eval writes S at f hertz to out, row-major, Ports×Ports elements. Outside the file's range it returns a *RangeError
// and leaves out alone. It takes O(log n) steps and does not allocate where it succeeds.
func (ip *Interpolator) Eval(f float64, out []complex128) error {
	if len(out) < ip.size {
		return fmt.Errorf("touchstone: %d places for S; give %d", len(out), ip.size)
	}
	k, t, err := locate(ip.file, ip.frequencies, f)
	if err != nil {
		return err
	}
	n := ip.size
	out = out[:n]
	v0 := ip.values[k*n : (k+1)*n]
	if t == 0 {
		copy(out, v0)
		return nil
	}
	v1 := ip.values[(k+1)*n : (k+2)*n]
	d0, d1 := ip.slopes[k*n:(k+1)*n], ip.slopes[(k+1)*n:(k+2)*n]
	h := ip.frequencies[k+1] - ip.frequencies[k]
	// The cubic Hermite polynomial as the chord plus what bends it.
	u := 1 - t
	for i := range out {
		chord := v1[i] - v0[i]
		bend := times(times(d0[i], h)-chord, u) - times(times(d1[i], h)-chord, t)
		out[i] = v0[i] + times(chord, t) + times(bend, t*u)
	}
	limitGain(out, v0, v1, t)
	return nil
}

// limitGain scales the cubic's value down where its largest singular value passes both 1 and that of the straight line
// between the two points of the file.
func limitGain(s, v0, v1 []complex128, t float64) {
	gain := largestSingularValue(s)
	if gain <= 1 {
		return
	}
	var chord [4]complex128
	for i := range s {
		chord[i] = v0[i] + times(v1[i]-v0[i], t)
	}
	limit := max(1, largestSingularValue(chord[:len(s)]))
	if gain > limit {
		for i := range s {
			s[i] = times(s[i], limit/gain)
		}
	}
}

// locate finds the interval k of f and the place t in it, 0 ≤ t < 1. A frequency of the file has t = 0.
func locate(file string, frequencies []float64, f float64) (k int, t float64, err error) {
	last := len(frequencies) - 1
	low, high := frequencies[0], frequencies[last]
	switch {
	case f >= low && f < high:
		k = sort.Search(last, func(i int) bool { return frequencies[i+1] > f })
		return k, (f - frequencies[k]) / (frequencies[k+1] - frequencies[k]), nil
	case math.Abs(f-high) <= edge*high:
		return last, 0, nil
	case math.Abs(f-low) <= edge*low:
		return 0, 0, nil
	}
	return 0, 0, &RangeError{File: file, Asked: f, Low: low, High: high}
}

// reach is how many points beside an interval its cubic depends on.
const reach = 2

// At returns S at f hertz, row-major, at d's references: the same bits as an Interpolator made once, which is the faster
// way for more than a few frequencies. Outside the file's range the error is a *RangeError.
func (d *Data) At(f float64) (s []complex128, err error) {
	if err := d.Check(); err != nil {
		return nil, err
	}
	k, _, err := locate(d.File, d.Frequencies, f)
	if err != nil {
		return nil, err
	}
	from, to := max(0, k-reach), min(len(d.Frequencies), k+2+reach)
	near := *d
	near.Frequencies, near.Values, near.Comments, near.Noise = d.Frequencies[from:to], d.Values[from:to], nil, nil
	ip, err := NewInterpolator(&near)
	if err != nil {
		return nil, err
	}
	s = make([]complex128, ip.size)
	return s, ip.Eval(f, s)
}

func times(v complex128, x float64) complex128 { return complex(real(v)*x, imag(v)*x) }
