package sweep

import (
	"cmp"
	"math"
	"math/cmplx"
	"slices"

	"knobwise/bench/fault"
	"knobwise/bench/hookup"
	"knobwise/bench/quantity"
	"knobwise/physics/network"
)

// Trace is an amplitude over frequency whose features may be asked for.
type Trace string

// The traces.
const (
	LoadVoltage   Trace = "load_v"             // 20·log10 of the load voltage in volt
	InsertionGain Trace = "insertion_gain_db"  // dB
	Transducer    Trace = "transducer_gain_db" // dB
)

// level is the trace in dB at a response.
func (t Trace) level(x network.Response) float64 {
	switch t {
	case InsertionGain:
		return insertionGain(x)
	case Transducer:
		return transducerGain(x)
	}
	return 2 * decibels(cmplx.Abs(x.Load))
}

// column is the trace in dB over the sweep's own frequencies.
func (t Trace) column(r *Result) []float64 {
	switch t {
	case InsertionGain:
		return r.InsertionGain
	case Transducer:
		return r.TransducerGain
	}
	level := make([]float64, len(r.LoadV))
	for i, v := range r.LoadV {
		level[i] = 2 * decibels(v)
	}
	return level
}

// Where says whether the highest value of a trace is a peak.
type Where string

// Where the highest value lies.
const (
	Inside  Where = "peak"                                 // a maximum inside the sweep
	LowEnd  Where = "highest at the low end of the sweep"  // the trace falls from its first frequency
	HighEnd Where = "highest at the high end of the sweep" // the trace rises to its last frequency
	Flat    Where = "flat"                                 // the same at every frequency
	Nowhere Where = "no signal"                            // nothing reaches the load
)

// Peak is a highest point.
type Peak struct {
	Frequency float64 // Hz
	Level     float64 // of its trace, dB
}

// Features is what stands out in one trace. Every frequency is found on the model, not on the sweep's points. A value
// that does not exist inside the sweep is NaN.
type Features struct {
	Trace       Trace
	Where       Where
	Peak        Peak    // the highest point of the sweep
	Others      []Peak  // further peaks inside the sweep within 40 dB of it, from the highest down
	Low3, High3 float64 // Hz, where the trace first falls 3 dB (half the power) below the highest point to either side
	Bandwidth   float64 // Hz, High3 - Low3
	LoadedQ     float64 // Peak.Frequency/Bandwidth
	ShapeFactor float64 // width 60 dB down over width 6 dB down
	Rejections  []Rejection
}

// Rejection is how far one frequency lies below the peak.
type Rejection struct {
	Frequency float64 // Hz
	DB        float64 // dB below the peak, positive
}

// halfPower is -3 dB exactly: half the power.
var halfPower = 10 * math.Log10(2)

// othersWithin is how far below the highest point a further peak may lie to be told, in dB, and mostOthers how many are.
const (
	othersWithin    = 40.0
	mostOthers      = 6
	leastProminence = 0.01 // dB above the saddle to higher ground
	ripple          = 1e-9 // dB: less is rounding
)

// model is a trace that can be asked at any frequency.
type model struct {
	h     *hookup.Hookup
	trace Trace
	grid  []float64 // Hz
	level []float64 // dB on the grid
	err   error     // the first failure; afterwards at returns NaN
}

func (m *model) at(f float64) float64 {
	if m.err != nil {
		return math.NaN()
	}
	x, err := m.h.Response(f)
	if err != nil {
		m.err = err
		return math.NaN()
	}
	return m.trace.level(x)
}

// features finds what stands out in one trace of the result.
func (r *Result) features(h *hookup.Hookup, t Trace, reject []float64) (Features, error) {
	m := &model{h: h, trace: t, grid: r.Frequency, level: t.column(r)}
	nan := math.NaN()
	f := Features{Trace: t, Where: Nowhere, Peak: Peak{nan, nan}, Low3: nan, High3: nan, Bandwidth: nan, LoadedQ: nan, ShapeFactor: nan}
	top := highest(m.level)
	if top < 0 {
		return f, nil
	}
	f.Where = Inside
	peaks := m.peaks(top)
	f.Peak = Peak{m.grid[top], m.level[top]}
	for _, p := range peaks {
		if p.Level > f.Peak.Level {
			f.Peak = p
		}
	}
	// A top that does not stand out from an end of the sweep is that end: rounding ripples what is flat.
	last := len(m.grid) - 1
	switch {
	case f.Peak.Level-slices.Min(m.level) < ripple:
		f.Where, f.Peak = Flat, Peak{m.grid[0], m.level[0]}
	case f.Peak.Level-m.level[0] < ripple:
		f.Where, f.Peak = LowEnd, Peak{m.grid[0], m.level[0]}
	case f.Peak.Level-m.level[last] < ripple:
		f.Where, f.Peak = HighEnd, Peak{m.grid[last], m.level[last]}
	}
	for _, p := range peaks {
		if p != f.Peak && p.Level > f.Peak.Level-othersWithin && m.prominence(p) > leastProminence && len(f.Others) < mostOthers {
			f.Others = append(f.Others, p)
		}
	}
	low3, high3 := m.edge(f.Peak, halfPower, -1), m.edge(f.Peak, halfPower, +1)
	f.Low3, f.High3 = low3, high3
	if f.Where == Inside {
		f.Bandwidth = high3 - low3
		f.LoadedQ = f.Peak.Frequency / f.Bandwidth
		if far := m.edge(f.Peak, 60, +1) - m.edge(f.Peak, 60, -1); !math.IsNaN(far) {
			f.ShapeFactor = far / (m.edge(f.Peak, 6, +1) - m.edge(f.Peak, 6, -1))
		}
	}
	for _, at := range reject {
		if !(at > 0) || math.IsInf(at, 0) {
			return f, fault.New(fault.Request, "a frequency to reject is not above zero", "give one like 1.53 MHz")
		}
		f.Rejections = append(f.Rejections, Rejection{at, f.Peak.Level - m.at(at)})
	}
	if step := m.step(f.Peak.Frequency); f.Bandwidth < 2*step && t == LoadVoltage {
		r.notice("the peak at %s is %s wide, narrower than two steps of the sweep (%s): a plot of these points does not show its shape; sweep closer or with more points",
			quantity.Format(f.Peak.Frequency, quantity.Hertz, 6), quantity.Format(f.Bandwidth, quantity.Hertz, 3), quantity.Format(step, quantity.Hertz, 3))
	}
	return f, m.err
}

// Width is how wide in Hz a peak of a trace at f Hz is between its points of half power; NaN where the trace does not fall
// that far inside the frequencies (Hz, rising), of which two neighbours lie close enough to tell it from others.
func Width(h *hookup.Hookup, t Trace, f float64, frequencies []float64) (float64, error) {
	m := &model{h: h, trace: t, grid: frequencies, level: make([]float64, len(frequencies))}
	p := Peak{f, m.at(f)}
	// Only the neighbourhood is asked for: outwards from the peak until both edges lie inside.
	i, _ := slices.BinarySearch(frequencies, f)
	for j := range m.level {
		m.level[j] = math.NaN()
	}
	for _, way := range []int{-1, 1} {
		from := i
		if way < 0 {
			from = i - 1
		}
		for j := from; j >= 0 && j < len(frequencies); j += way {
			if m.level[j] = m.at(frequencies[j]); m.level[j] < p.Level-halfPower {
				break
			}
		}
	}
	width := m.edge(p, halfPower, +1) - m.edge(p, halfPower, -1)
	return width, m.err
}

// PeakNear is the frequency in Hz of the peak of a trace nearest to f between low and high; f itself where there is none from
// half of it to one and a half times.
func PeakNear(h *hookup.Hookup, t Trace, f, low, high float64) (float64, error) {
	m := &model{h: h, trace: t}
	for reach := 1e-4; reach < 0.5; reach *= 1.6 {
		if p, ok := maximum(m.at, max(low, f*(1-reach)), min(high, f*(1+reach))); ok {
			return p.Frequency, m.err
		}
	}
	return f, m.err
}

// highest is the index of the largest finite level, or -1.
func highest(level []float64) int {
	best := -1
	for i, v := range level {
		if math.IsInf(v, 0) || math.IsNaN(v) {
			continue
		}
		if best < 0 || v > level[best] {
			best = i
		}
	}
	return best
}

// prominence is how far a peak in dB stands above the highest saddle between it and higher ground or the sweep's ends.
func (m *model) prominence(p Peak) float64 {
	above, _ := slices.BinarySearch(m.grid, p.Frequency)
	saddle := math.Inf(-1)
	for _, way := range []struct{ from, step int }{{above - 1, -1}, {above, +1}} {
		lowest := p.Level
		for i := way.from; i >= 0 && i < len(m.grid) && !(m.level[i] > p.Level); i += way.step {
			lowest = min(lowest, m.level[i])
		}
		saddle = max(saddle, lowest)
	}
	return p.Level - saddle
}

// step is the distance in Hz between the points of the grid round a frequency.
func (m *model) step(f float64) float64 {
	i, _ := slices.BinarySearch(m.grid, f)
	i = max(1, min(i, len(m.grid)-1))
	return m.grid[i] - m.grid[i-1]
}

// peaks refines every local maximum of the grid within othersWithin of the highest point, and returns them from the
// highest down. A peak much narrower than the grid shows there by its flanks, which rise towards it from both sides.
func (m *model) peaks(top int) []Peak {
	last := len(m.grid) - 1
	var candidates []int
	for i := range m.grid {
		v := m.level[i]
		if !(v > m.level[top]-othersWithin) {
			continue
		}
		if (i == 0 || !(m.level[i-1] > v)) && (i == last || m.level[i+1] < v) {
			candidates = append(candidates, i)
		}
	}
	slices.SortStableFunc(candidates, func(a, b int) int { return cmp.Compare(m.level[b], m.level[a]) })
	if len(candidates) > 2*mostOthers {
		candidates = candidates[:2*mostOthers]
	}
	var peaks []Peak
	for _, i := range candidates {
		low, high := m.grid[max(0, i-1)], m.grid[min(last, i+1)]
		if p, ok := maximum(m.at, low, high); ok {
			peaks = append(peaks, p)
		}
	}
	slices.SortStableFunc(peaks, func(a, b Peak) int { return cmp.Compare(b.Level, a.Level) })
	return peaks
}

// edge is the frequency where the trace, seen from the peak in a direction (-1 or +1), first lies down dB below it;
// NaN where the sweep ends before.
func (m *model) edge(p Peak, down float64, direction int) float64 {
	wanted := p.Level - down
	below := func(f float64) float64 { return m.at(f) - wanted }
	// Leave the peak in steps that begin well inside it, whatever its width, until the grid takes over.
	i, _ := slices.BinarySearch(m.grid, p.Frequency)
	if direction < 0 {
		i--
	} else if i < len(m.grid) && m.grid[i] == p.Frequency {
		i++
	}
	if i < 0 || i >= len(m.grid) {
		return math.NaN()
	}
	distance := math.Abs(m.grid[i] - p.Frequency)
	inside := p.Frequency
	for _, part := range []float64{1. / 4096, 1. / 1024, 1. / 256, 1. / 64, 1. / 32, 1. / 16, 1. / 8, 1. / 4, 1. / 2, 1} {
		f := p.Frequency + float64(direction)*distance*part
		if part == 1 {
			f = m.grid[i]
		}
		if below(f) < 0 {
			return root(below, inside, f)
		}
		inside = f
	}
	for i += direction; i >= 0 && i < len(m.grid); i += direction {
		if m.level[i] < wanted {
			return root(below, inside, m.grid[i])
		}
		inside = m.grid[i]
	}
	return math.NaN()
}
