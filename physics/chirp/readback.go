package chirp

import (
	"context"
	"math"
	"slices"
)

// Method is how the amplitude is found in the samples.
type Method int

const (
	// Automatic takes of PhaseFit and, where the carrier is sampled well enough, Analytic the one with the smaller error by
	// its own account, and WindowMaximum where neither can be had.
	Automatic Method = iota
	// Analytic is the magnitude of the analytic signal, within a band that follows the sweep. It needs 2.5 samples per
	// period at the highest frequency.
	Analytic
	// WindowMaximum is the greatest magnitude within a window in time, at any sampling rate.
	WindowMaximum
	// PhaseFit fits the carrier, whose phase the law of the sweep gives up to a constant, to the samples of windows in time by
	// least squares, at any sampling rate. Each window is as long as the envelope's change within it allows. It needs a
	// generator that sweeps by the law, and the time of the sweep's start.
	PhaseFit
)

func (m Method) String() string {
	return [...]string{"automatic", "analytic signal", "greatest magnitude per window", "fit of the carrier"}[m]
}

// analyticSamples is the least number of samples per period for Analytic.
const analyticSamples = 2.5

// Reading says how a record is read. Law, and the sampling that goes with the samples, must be given; the sweep begins
// at t = 0 of that sampling.
type Reading struct {
	Law    Law
	Method Method
	After  After // what the generator did after the sweep: beside a jump at its end, points are left out
	Points int   // equally spaced in time over the sweep; 16 to 1 million, 0 for 2001
	// Bandwidth, where above 0, is the 3 dB bandwidth in Hz of the resonance whose lag is corrected. The correction
	// moves the frequency axis by Passage.Delay/Bandwidth in time; height and width stay as they were swept.
	Bandwidth float64
	// Offset is the direct voltage in V that lies on the samples. It counts in WindowMaximum alone, and where Automatic falls
	// back to it 0 stands for the median of the samples: the band of Analytic holds no direct voltage, and PhaseFit finds it.
	Offset float64
	// Deconvolve removes what a linear sweep adds, lag, loss and ringing, without any knowledge of the network but that
	// it rings for less than 16/√rate. It needs Analytic and a linear law, and replaces Bandwidth.
	Deconvolve bool
	Holes      []Hole           // where samples are missing, in order; there and so near that they are needed, points are left out
	Progress   func(of float64) // called now and then with the part done; may be nil

	sampled bool // well enough for Analytic
}

// Trace is an amplitude over frequency.
type Trace struct {
	Frequency []float64 // Hz, ascending
	Amplitude []float64 // V, peak
	Method    Method    // the one used
	// Noise is the rms of the amplitude's error that is not common to neighbours, in V: 1.4826 times the median
	// magnitude of what a cubic through the two neighbours on either side leaves, over the factor by which white noise
	// grows in it. Where the amplitude itself is below the noise, its magnitude is rectified noise: too high by as much,
	// and scattering a third less than stated above it. Zero where the trace has fewer than 16 independent points.
	Noise float64
	// Window is the width in s over which an amplitude is gathered: the window of WindowMaximum, the median one of PhaseFit,
	// or the inverse of the band of Analytic. Points closer than that are not independent. WindowHertz is what the sweep passes
	// in that time, where it is fastest, in Hz.
	Window, WindowHertz float64
	// Shortfall is the part by which the greatest of the samples in a window falls short of the envelope on the
	// average, if their phases are random; the amplitude has been divided by 1 - Shortfall. Zero for Analytic.
	Shortfall float64
	// Passage is that of the resonance whose lag was corrected; its Peak and Width tell what was not. Zero without.
	Passage Passage
	Omitted int // points left out because the record, or what the correction needs of it, does not reach them
	// Unsettled counts those of them at which the samples stand still against the carrier, so that no fit settles it.
	Unsettled int
	// Bias is the rms by which the amplitude may be off because the envelope changes within a window, in V, at most: what a
	// fit leaves of the samples beyond their noise, which noise makes larger than it is. Zero but for PhaseFit.
	Bias float64
	// SampleNoise is the rms of a sample beyond the carrier, in V, the steps of a converter included; 0 where no fit told it.
	SampleNoise float64
	Offset      float64 // V, the direct voltage found or given; zero for Analytic
	// Unfit says that PhaseFit was tried and the carrier's phase is not that of the law: Misfit is the part of the power that
	// it left unexplained, and Late the time in s by which the sweep seems to have begun later than t = 0 (where the law is
	// right; 0 where too little of the carrier is followed to tell).
	Unfit        bool
	Misfit, Late float64
}

// MostOmitted is the part of the points that may be missing from a trace before the record counts as too short.
const MostOmitted = 0.9

func (r *Reading) complete(s Sampling) error {
	if err := r.Law.Validate(); err != nil {
		return err
	}
	if err := s.Validate(); err != nil {
		return err
	}
	if r.Points == 0 {
		r.Points = 2001
	}
	if r.Points < 16 || r.Points > 1_000_000 {
		return &FieldError{"number of points", float64(r.Points), "", "16 to 1000000, or 0 for 2001"}
	}
	if !(r.Bandwidth >= 0) || !finite(r.Bandwidth) {
		return &FieldError{"bandwidth", r.Bandwidth, "Hz", "a finite number above 0, or 0 for no correction"}
	}
	if !finite(r.Offset) {
		return &FieldError{"offset", r.Offset, "V", "a finite number"}
	}
	if r.After < Hold || r.After > Silence {
		return &FieldError{"behaviour after the sweep", float64(r.After), "", "hold, return or silence"}
	}
	perPeriod := 1 / (max(r.Law.From, r.Law.To) * s.Interval)
	switch r.Method {
	case Automatic:
		if r.Deconvolve {
			r.Method = Analytic
		}
	case Analytic:
		if perPeriod < analyticSamples {
			return &FieldError{"samples per period", perPeriod, "", "2.5 or more for the analytic signal, or use the greatest magnitude per window"}
		}
	case WindowMaximum, PhaseFit:
	default:
		return &FieldError{"method", float64(r.Method), "", "automatic, analytic, window maximum or phase fit"}
	}
	r.sampled = perPeriod >= analyticSamples
	if err := r.holes(s); err != nil {
		return err
	}
	if r.Deconvolve && (r.Method != Analytic || !r.sampled) {
		return &FieldError{"samples per period", perPeriod, "", "2.5 or more for a deconvolution"}
	}
	if r.Deconvolve && r.Law.Spacing != Linear {
		return &FieldError{"sweep law", float64(r.Law.Spacing), "", "a linear sweep for a deconvolution, or correct the lag by a bandwidth"}
	}
	return nil
}

// ReadBack turns the samples of a sweep into an amplitude over frequency. Samples must be finite and as many as the
// sampling says; they are not changed. Beyond the samples it takes a few tens of megabytes, however long the record.
//
// Returns a *FieldError for a wrong argument or a record that misses the sweep, a *TooFastError where the sweep is too
// fast for the correction asked, an *UnfitError where PhaseFit alone is asked for and cannot be had, and the context's error
// where that ended the work.
func ReadBack(ctx context.Context, samples []float64, s Sampling, r Reading) (*Trace, error) {
	if err := r.complete(s); err != nil {
		return nil, err
	}
	if len(samples) != s.Count {
		return nil, &FieldError{"number of samples", float64(len(samples)), "", "as many as the sampling has"}
	}
	times := make([]float64, r.Points)
	for i := range times {
		times[i] = r.Law.Time * float64(i) / float64(r.Points-1)
	}
	if r.Method != Automatic {
		return read(ctx, samples, s, r, times)
	}
	return best(ctx, samples, s, r, times)
}

// fill puts the points that are there on the frequency axis, moved by the lag where that is asked for.
func (t *Trace) fill(r Reading, times, amplitude []float64) error {
	lag := func(float64) float64 { return 0 }
	if r.Bandwidth > 0 && !r.Deconvolve {
		fastestRate := max(math.Abs(r.Law.Rate(r.Law.From)), math.Abs(r.Law.Rate(r.Law.To)))
		rho := fastestRate / (r.Bandwidth * r.Bandwidth)
		if rho > mostCorrectable {
			return &TooFastError{Rho: rho, Most: mostCorrectable}
		}
		p, err := NewPassage(rho)
		if err != nil {
			return err
		}
		t.Passage = p
		lag = func(float64) float64 { return p.Delay / r.Bandwidth }
		if r.Law.Spacing == Logarithmic {
			table, err := lagTable(r.Law, r.Bandwidth)
			if err != nil {
				return err
			}
			lag = table
		}
	}
	for i, v := range amplitude {
		at := times[i] - lag(times[i])
		if math.IsNaN(v) || at < 0 {
			t.Omitted++
			continue
		}
		t.Frequency = append(t.Frequency, r.Law.Frequency(at))
		t.Amplitude = append(t.Amplitude, v)
	}
	if float64(t.Omitted) > MostOmitted*float64(len(times)) {
		return &FieldError{
			"part of the sweep within the record", 1 - float64(t.Omitted)/float64(len(times)), "",
			"a record that holds at least a tenth of the sweep, and a start that counts from the sweep's",
		}
	}
	if r.Law.From > r.Law.To {
		slices.Reverse(t.Frequency)
		slices.Reverse(t.Amplitude)
	}
	return nil
}

// lagTable is the lag over time of a logarithmic sweep, whose rate and with it rho changes on the way.
func lagTable(law Law, bandwidth float64) (func(float64) float64, error) {
	const steps = 64
	var lags [steps + 1]float64
	for i := range lags {
		rate := math.Abs(law.Rate(law.Frequency(law.Time * float64(i) / steps)))
		p, err := NewPassage(rate / (bandwidth * bandwidth))
		if err != nil {
			return nil, err
		}
		lags[i] = p.Delay / bandwidth
	}
	return func(t float64) float64 {
		x := min(max(t/law.Time, 0), 1) * steps
		i := min(int(x), steps-1)
		return lags[i] + (lags[i+1]-lags[i])*(x-float64(i))
	}, nil
}
