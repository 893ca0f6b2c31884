package trace

import (
	"cmp"
	"context"
	"errors"
	"fmt"
	"math"
	"slices"

	"knobwise/bench/capture"
	"knobwise/bench/fault"
	"knobwise/bench/measurement"
	"knobwise/bench/quantity"
	"knobwise/bench/setup"
	"knobwise/physics/chirp"
)

// leastPerPeriod is how many samples per period a deconvolution needs.
const leastPerPeriod = 2.5

func (t *Trace) fromWaveform(ctx context.Context, table *capture.Table, channel *capture.Channel, spec Spec) error {
	if table.Guess.Axis != capture.Time {
		return fault.New(fault.Request, t.File+" is over frequency, not over time as a waveform is", "write `quantity: amplitude`")
	}
	law, err := lawOf(spec.Sweep)
	if err != nil {
		return err
	}
	samples, err := t.settle(table, channel)
	if err != nil {
		return err
	}
	n := len(table.X)
	if n < 2 {
		return fault.New(fault.Request, t.File+" has a single sample", "export the whole record")
	}
	step := chirp.Step(samples)
	sampling, holes, samples, err := t.grid(table.X, samples)
	if err != nil {
		return err
	}
	sampling.Start -= spec.Start
	reading := chirp.Reading{Law: law, Points: spec.Points, Bandwidth: spec.Bandwidth, Deconvolve: spec.Deconvolve, Holes: holes}
	if err := t.readable(law, sampling, reading); err != nil {
		return err
	}
	read, err := chirp.ReadBack(ctx, samples, sampling, reading)
	if err != nil {
		return t.explain(err)
	}
	t.Quantity, t.Peak = measurement.Amplitude, true
	t.Frequency, t.Level, t.Noise = read.Frequency, read.Amplitude, read.Noise
	t.holes(sampling, spec.Start, holes)
	if err := t.allZero(); err != nil {
		return err
	}
	if err := t.steps(step, read.SampleNoise); err != nil {
		return err
	}
	read.Frequency, read.Amplitude = t.Frequency, t.Level
	t.Read = append(t.Read, fmt.Sprintf("%s: a record of %s, read by the %s, which gathers an amplitude over %s, in which the sweep passes %s", t.File,
		quantity.Format(sampling.Time(sampling.Count-1)-sampling.Start, quantity.Second, 4), read.Method, quantity.Format(read.Window, quantity.Second, 3), quantity.Format(read.WindowHertz, quantity.Hertz, 3)))
	t.distinct()
	return t.sampling(law, sampling, reading, read)
}

// readable refuses a record that could not be read, in the words of who took it.
func (t *Trace) readable(law chirp.Law, s chirp.Sampling, r chirp.Reading) error {
	end := s.Start + float64(s.Count-1)*s.Interval
	perPeriod := 1 / (max(law.From, law.To) * s.Interval)
	covered := (min(end, law.Time) - max(s.Start, 0)) / law.Time
	seconds := func(x float64) string { return quantity.Format(x, quantity.Second, 4) }
	switch {
	case !(s.Interval > 0):
		return fault.New(fault.Request, t.File+": all its samples stand at one time", "export times with more digits, or give the `interval` between the samples")
	case covered < 1-chirp.MostOmitted:
		return fault.New(fault.Request, fmt.Sprintf("%s: the record runs from %s to %s of the sweep, which takes %s", t.File, seconds(s.Start), seconds(end), seconds(law.Time)),
			"check the sweep's `time` and `start`, and the unit of the times; a record must hold a tenth of the sweep")
	case r.Deconvolve && len(r.Holes) > 0:
		return fault.New(fault.Request, t.File+": samples are missing, and only a whole record can be deconvolved", "leave out `deconvolve`, or export the whole record")
	case r.Deconvolve && law.Spacing != chirp.Linear:
		return fault.New(fault.Request, t.File+": only a linear sweep can be deconvolved", "leave out `deconvolve`, or correct the lag of one resonance: `lag of: 20 kHz`")
	case r.Deconvolve && perPeriod < leastPerPeriod:
		return fault.New(fault.Request, fmt.Sprintf("%s: %.3g samples per period at %s are too few to deconvolve", t.File, perPeriod, hertz(max(law.From, law.To))),
			fmt.Sprintf("take %g per period or more, or leave out `deconvolve`", leastPerPeriod))
	}
	return nil
}

// explain names the file that could not be read.
func (t *Trace) explain(err error) error {
	err = setup.Explain(err)
	f, ok := errors.AsType[*fault.Error](err)
	if !ok || f.Place.File != "" {
		return err
	}
	named := *f
	named.What = t.File + ": " + f.What
	return &named
}

// sampling says what the record may show that is not there.
func (t *Trace) sampling(law chirp.Law, s chirp.Sampling, r chirp.Reading, read *chirp.Trace) error {
	tell := func(format string, a ...any) { t.Notices = append(t.Notices, t.File+fmt.Sprintf(format, a...)) }
	if s.Start > law.Time*1e-6 {
		tell(" begins %s after the sweep does", quantity.Format(s.Start, quantity.Second, 3))
	}
	switch end := s.Time(s.Count - 1); {
	case end < law.Time*(1-1e-6):
		tell(" ends %s before the sweep does", quantity.Format(law.Time-end, quantity.Second, 3))
	case end > law.Time*1.02:
		tell(" goes on for %s after the sweep, which was left out; is the sweep's time right?", quantity.Format(end-law.Time, quantity.Second, 3))
	}
	t.ends(law, r, read)
	if read.Shortfall > 0 {
		tell(": the carrier is not sampled closely enough for its envelope; amplitudes are the greatest samples of each window, raised by %.2g %% for what they miss on the average", 100*read.Shortfall)
	}
	if read.Unfit {
		tell(": the samples do not follow the carrier that the sweep says (%.0f %% of their power is left); check its `from`, `to`, `time` and `start`%s", 100*read.Misfit, late(law, read))
	}
	if read.Unsettled > 0 {
		tell(": %d of the points were left out, where the samples stand still against the carrier", read.Unsettled)
	}
	if top := slices.Max(read.Amplitude); math.Abs(read.Offset) > top/100 {
		tell(": a direct voltage of %s lies on the samples and was taken off", quantity.Format(read.Offset, quantity.Volt, 3))
	}
	gaps, err := chirp.FalseGaps(law, s.Interval)
	if err != nil {
		return t.explain(err)
	}
	count, err := chirp.CountGaps(law, s.Interval)
	if err != nil {
		return t.explain(err)
	}
	if len(gaps) > 0 && read.Method == chirp.WindowMaximum {
		widest := slices.MaxFunc(gaps, func(a, b chirp.Gap) int { return cmp.Compare(a.Width, b.Width) })
		tell(": the samples stand still against the carrier at %d frequencies, such as %s; gaps some %s wide there are the sampling's", count, hertz(widest.Frequency), hertz(widest.Width))
	}
	return nil
}

// late is by how much the sweep seems to have begun later than said, where that is more than a cycle and less than the sweep.
func late(law chirp.Law, read *chirp.Trace) string {
	if by := math.Abs(read.Late); by*max(law.From, law.To) > 1 && by < law.Time/2 {
		return fmt.Sprintf("; it seems to begin %s %s", quantity.Format(by, quantity.Second, 3), map[bool]string{true: "later", false: "earlier"}[read.Late > 0])
	}
	return ""
}

// ends says which parts of the sweep are not in the trace, and what kept them out.
func (t *Trace) ends(law chirp.Law, r chirp.Reading, read *chirp.Trace) {
	low, high := min(law.From, law.To), max(law.From, law.To)
	first, last := read.Frequency[0], read.Frequency[len(read.Frequency)-1]
	points := r.Points
	if points == 0 {
		points = len(read.Frequency) + read.Omitted
	}
	step := 1.5 * max(math.Abs(law.Rate(low)), math.Abs(law.Rate(high))) * law.Time / float64(points-1)
	why := "it gathers an amplitude from both sides of a point, which the record must hold"
	switch {
	case r.Deconvolve:
		why = "a deconvolution needs what rang before and after a point, and costs the ends of the sweep"
	case r.Bandwidth > 0:
		why = "correcting the lag moves the trace back by it"
	}
	var parts []string
	if first-low > step {
		parts = append(parts, fmt.Sprintf("the lowest %s, to %s", quantity.Format(first-low, quantity.Hertz, 3), hertz(first)))
	}
	if high-last > step {
		parts = append(parts, fmt.Sprintf("the highest %s, from %s", quantity.Format(high-last, quantity.Hertz, 3), hertz(last)))
	}
	if len(parts) > 0 {
		t.Notices = append(t.Notices, fmt.Sprintf("%s: not in the trace are %s: read by the %s, %s", t.File, join(parts), read.Method, why))
	}
}

func join(parts []string) string {
	if len(parts) == 2 {
		return parts[0] + ", and " + parts[1]
	}
	return parts[0]
}
