package chirp

import (
	"math"
	"slices"
)

// Gap is a place where the samples of a sweep stand still against its carrier, so that the record may show a gap, or
// a swelling, that is not there.
type Gap struct {
	Multiple  int     // of half the sampling rate
	Frequency float64 // Hz, of the carrier
	Time      float64 // s
	WidthTime float64 // s
	Width     float64 // Hz
}

// MostGaps bounds the list of FalseGaps.
const MostGaps = 1000

// FalseGaps lists, in the order of time, where the carrier meets a multiple k of half the sampling rate 1/interval.
// There its phase at the samples moves by kπ per sample and by π·S·t² around the time of the meeting: where that is the
// zero of the carrier the samples show |sin(π·S·t²)| of the envelope, which is whole again at t = ±1/√(2S). The width is
// from there to there, √(2/S) in time and √(2S) in hertz; at half that width 38 % of the envelope is left.
//
// Where the gaps would overlap, or none holds two samples, the samples fall at phases as good as random and none is
// listed. Of more than MostGaps the widest are listed; CountGaps tells how many there are. An error where the law or the
// interval is wrong.
func FalseGaps(law Law, interval float64) ([]Gap, error) {
	first, last, err := meetings(law, interval)
	if err != nil {
		return nil, err
	}
	half := 0.5 / interval
	lo, hi := min(law.From, law.To), max(law.From, law.To)
	var gaps []Gap
	// The widest are where the sweep is fastest, at the top.
	for k := max(first, last-MostGaps+1); k <= last; k++ {
		f := min(hi, max(lo, k*half))
		rate := math.Abs(law.Rate(f))
		gaps = append(gaps, Gap{Multiple: int(k), Frequency: f, Time: law.At(f), WidthTime: math.Sqrt(2 / rate), Width: math.Sqrt(2 * rate)})
	}
	if law.From > law.To {
		slices.Reverse(gaps)
	}
	return gaps, nil
}

// CountGaps is how many gaps there are, as far as an int holds it; the error is that of FalseGaps.
func CountGaps(law Law, interval float64) (int, error) {
	first, last, err := meetings(law, interval)
	return int(min(1e18, max(0, last-first+1))), err
}

// meetings are the first and last multiple of half the sampling rate at which there is a gap; first is above last where
// there is none. A gap is narrower than half the sampling rate, which is to say that the rate is below an eighth of the square
// of the sampling rate; it then holds two samples and more.
func meetings(law Law, interval float64) (first, last float64, err error) {
	if err := law.Validate(); err != nil {
		return 0, 0, err
	}
	if err := positive("sample interval", interval, "s"); err != nil {
		return 0, 0, err
	}
	half := 0.5 / interval
	lo, hi := min(law.From, law.To), max(law.From, law.To)
	first, last = max(1, math.Ceil(lo/half*(1-1e-12))), math.Floor(hi/half*(1+1e-12))
	fastest := half * half / 2 // Hz/s
	switch perHertz := math.Abs(law.Rate(1)); {
	case law.Spacing == Logarithmic:
		last = min(last, math.Ceil(fastest/perHertz/half)-1) // of which the rate is a multiple
	case perHertz >= fastest:
		last = 0
	}
	return first, last, nil
}
