package chirp

import "math"

// Gap is a place where the samples of a sweep stand still against its carrier, so that the record may show a gap, or
// a swelling, that is not there.
type Gap struct {
	Multiple  int     // of half the sampling rate
	Frequency float64 // Hz, of the carrier
	Time      float64 // s
	WidthTime float64 // s
	Width     float64 // Hz
}

// FalseGaps lists, in the order of time, where the carrier meets a multiple k of half the sampling rate 1/interval.
// There its phase at the samples moves by kπ per sample and by π·S·t² around the time of the meeting: where that is the
// zero of the carrier the samples show |sin(π·S·t²)| of the envelope, which is whole again at t = ±1/√(2S). The width is
// from there to there, √(2/S) in time and √(2S) in hertz; at half that width 38 % of the envelope is left.
//
// Where the gaps would overlap, or none holds two samples, the samples fall at phases as good as random and none is
// listed. An error where the law or the interval is wrong.
func FalseGaps(law Law, interval float64) ([]Gap, error) {
	if err := law.Validate(); err != nil {
		return nil, err
	}
	if err := positive("sample interval", interval, "s"); err != nil {
		return nil, err
	}
	half := 0.5 / interval
	lo, hi := min(law.From, law.To), max(law.From, law.To)
	first, last := math.Ceil(lo/half*(1-1e-12)), math.Floor(hi/half*(1+1e-12))
	slowest := min(math.Abs(law.Rate(lo)), math.Abs(law.Rate(hi)))
	if math.Sqrt(2*slowest) >= half {
		return nil, nil // overlapping everywhere
	}
	var gaps []Gap
	for k := max(1, first); k <= last; k++ {
		f := min(hi, max(lo, k*half))
		rate := math.Abs(law.Rate(f))
		g := Gap{Multiple: int(k), Frequency: f, Time: law.At(f), WidthTime: math.Sqrt(2 / rate), Width: math.Sqrt(2 * rate)}
		if g.Width < half && g.WidthTime > 2*interval {
			gaps = append(gaps, g)
		}
	}
	if law.From > law.To {
		for i, j := 0, len(gaps)-1; i < j; i, j = i+1, j-1 {
			gaps[i], gaps[j] = gaps[j], gaps[i]
		}
	}
	return gaps, nil
}
