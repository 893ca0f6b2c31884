package tune

import (
	"fmt"
	"math"
	"strings"

	"knobwise/bench/box"
	"knobwise/bench/hookup"
	"knobwise/study/sweep"
)

// figures measures what a setting does, by the full solve.
type figures struct {
	*tuner
	h   *hookup.Hookup
	err error // the first failure; afterwards gains are NaN
}

// powers are the insertion gain and |H|², as ratios, at g Hz.
func (m *figures) powers(g float64) (insertion, voltage float64) {
	if m.err != nil {
		return math.NaN(), math.NaN()
	}
	x, err := m.h.Response(g)
	if err != nil {
		m.err = err
		return math.NaN(), math.NaN()
	}
	load, straight := squared(x.Load), squared(x.Straight)
	emf := m.h.Setup.Source.EMF
	return load / straight, load / (emf * emf)
}

func squared(z complex128) float64 { return dot(z, z) }

func (a *tuner) figures(s box.Setting) (*figures, error) {
	h, err := hookup.Connect(a.q.Box, s, a.q.Setup)
	return &figures{tuner: a, h: h}, err
}

// choice is what a setting does.
func (a *tuner) choice(s box.Setting) (Choice, error) {
	m, err := a.figures(s)
	if err != nil {
		return Choice{}, err
	}
	x, err := m.h.Response(a.f)
	if err != nil {
		return Choice{}, err
	}
	c := Choice{Setting: s, InsertionGain: decibels(squared(x.Load) / squared(x.Straight)), TransducerGain: decibels(x.LoadPower / x.AvailablePower)}
	if math.IsInf(c.TransducerGain, 0) {
		c.TransducerGain = math.NaN()
	}
	c.Objective = m.objective(c.InsertionGain)
	return c, m.err
}

func (m *figures) objective(gain float64) float64 {
	switch m.q.Aim {
	case Rejection:
		return m.rejection(m.q.Reject)
	case Level:
		return m.rejection(m.only(m.f*sides[0], m.f*sides[1])) + decibels(skirt(m.strongestInside()))
	case Width:
		return m.band(bandLow) + m.band(bandHigh)
	case Flat:
		low, high := m.span()
		return high - low
	}
	return gain
}

// rejection is that of the worst of some frequencies, in dB.
func (m *figures) rejection(at []float64) float64 {
	_, wanted := m.powers(m.f)
	worst := float64(mostRejection)
	for _, g := range at {
		_, other := m.powers(g)
		worst = min(worst, decibels(wanted/other))
	}
	return worst
}

// strongestInside is by what ratio the strongest of the frequencies inside passes the wanted one.
func (m *figures) strongestInside() (most float64) {
	_, wanted := m.powers(m.f)
	for _, part := range inside {
		for _, g := range m.only(m.f * part) {
			_, other := m.powers(g)
			most = max(most, other/wanted)
		}
	}
	return most
}

// band is how far the passband reaches towards an end, in Hz.
func (m *figures) band(end float64) float64 {
	wanted, _ := m.powers(m.f)
	way := math.Copysign(1, end-1)
	inside := func(d float64) bool {
		other, _ := m.powers(m.f + way*d)
		r := wanted / other
		return r <= halfPower && r >= 1./halfPower
	}
	last := 0.0
	for _, d := range m.outwards(m.f, end, measuring) {
		if inside(d) {
			last = d
			continue
		}
		for range 45 {
			if middle := last + (d-last)/2; inside(middle) {
				last = middle
			} else {
				d = middle
			}
		}
		break
	}
	return last
}

// span is the least and the largest insertion gain over the span, in dB.
func (m *figures) span() (low, high float64) {
	low, high = math.Inf(1), math.Inf(-1)
	for _, g := range m.q.Span.points(spanMeasured) {
		p, _ := m.powers(g)
		low, high = min(low, decibels(p)), max(high, decibels(p))
	}
	return low, high
}

// grid is how many frequencies are looked at for the width of a peak.
const grid = 601

// resonance writes the peak that lies nearest, and its width.
func (a *tuner) resonance(r *Answer) error {
	r.Peak, r.Bandwidth, r.LoadedQ = math.NaN(), math.NaN(), math.NaN()
	m, err := a.figures(r.Setting)
	if err != nil {
		return err
	}
	low, high := a.reach(a.f, bandLow), a.reach(a.f, bandHigh)
	peak, err := sweep.PeakNear(m.h, sweep.LoadVoltage, a.f, low, high)
	if err != nil {
		return err
	}
	if peak == a.f { // also what PeakNear gives where there is none
		_, at := m.powers(peak)
		for _, g := range a.only(peak*(1-apart), peak*(1+apart)) {
			if _, beside := m.powers(g); !(beside < at) {
				return m.err
			}
		}
	}
	r.Peak = peak
	frequencies := make([]float64, grid)
	for i := range frequencies {
		frequencies[i] = low * math.Pow(high/low, float64(i)/(grid-1))
	}
	frequencies[grid-1] = high
	if r.Bandwidth, err = sweep.Width(m.h, sweep.LoadVoltage, peak, frequencies); err != nil {
		return err
	}
	r.LoadedQ = r.Peak / r.Bandwidth
	return m.err
}

// meaning is the unit of the objective, and what it is.
func (a *tuner) meaning() (unit, words string) {
	switch a.q.Aim {
	case Rejection:
		return "dB", "rejection of " + a.rejected() + " against the load voltage at the frequency"
	case Level:
		return "dB", "of what lies a fifth of the frequency to either side, the lesser of both; less where something between is more than 3 dB stronger"
	case Width:
		return "Hz", "width of the band in which the insertion gain stays within half and double power of that at the frequency"
	case Flat:
		return "dB", fmt.Sprintf("ripple of the insertion gain from %s to %s", hertz(a.q.Span.From), hertz(a.q.Span.To))
	}
	return "dB", "insertion gain"
}

func (a *tuner) rejected() string {
	var all []string
	for _, f := range a.q.Reject {
		all = append(all, hertz(f))
	}
	if len(all) == 1 {
		return all[0]
	}
	return "the worst of " + strings.Join(all, ", ")
}
