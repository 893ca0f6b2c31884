package touchstone

import (
	"math"
	"math/cmplx"
)

// MaxGain returns the largest singular value of S over the file and the frequency in hertz where it occurs. Its square
// is the largest ratio of power that leaves the ports to power that enters them, over all ways to drive them: a passive
// network has at most 1, so a caller can warn of a file that delivers power. Where the Y, Z, G or H of a frequency have
// no finite S, the result is +Inf at that frequency. Where d does not pass Check, it is NaN at 0 Hz.
func (d *Data) MaxGain() (worst, atHz float64) {
	if d.Check() != nil {
		return math.NaN(), 0
	}
	worst = -1
	var m [4]complex128
	for i, row := range d.Values {
		s := m[:len(row)]
		copy(s, row)
		gain := math.Inf(1)
		if rowToS(d.Parameter, d.Reference, s) {
			gain = largestSingularValue(s)
		}
		if gain > worst {
			worst, atHz = gain, d.Frequencies[i]
		}
	}
	return worst, atHz
}

// largestSingularValue returns that of a 1×1 or 2×2 matrix, row-major.
//
// With columns p and q it is the root of the larger eigenvalue of the Hermitian matrix ((p·p, p·q), (q·p, q·q)):
// the mean of p·p and q·q plus √((half their difference)² + |p·q|²). No step cancels.
func largestSingularValue(s []complex128) float64 {
	if len(s) == 1 {
		return cmplx.Abs(s[0])
	}
	largest := 0.0
	for _, v := range s {
		largest = max(largest, math.Abs(real(v)), math.Abs(imag(v)))
	}
	if largest == 0 {
		return 0
	}
	a, b, c, e := s[0]/complex(largest, 0), s[1]/complex(largest, 0), s[2]/complex(largest, 0), s[3]/complex(largest, 0)
	pp, qq := square(a)+square(c), square(b)+square(e)
	pq := cmplx.Conj(a)*b + cmplx.Conj(c)*e
	return largest * math.Sqrt((pp+qq)/2+math.Hypot((pp-qq)/2, cmplx.Abs(pq)))
}

func square(v complex128) float64 { return real(v)*real(v) + imag(v)*imag(v) }
