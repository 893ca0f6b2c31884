package tune

import (
	"context"
	"fmt"
	"math"
	"sort"
	"strings"

	"knobwise/bench/box"
	"knobwise/bench/quantity"
)

// Runners-up: how many are told; how much worse they may be (in dB of signal, rejection or ripple, or as a part of the
// width); and how far a knob must stand elsewhere to be a different setting, as a part of its scale.
const (
	mostRunners = 5
	asGood      = 0.5
	asWide      = 0.1
	elsewhere   = 0.1
)

// mostMeasured is how many spots are measured for the answer and its runners-up.
const mostMeasured = 24

// report measures the spots found, the best first, and writes the answer.
func (a *tuner) report(ctx context.Context, r *Answer, spots []spot) error {
	var all []Choice
	for _, p := range spots {
		if len(all) == mostMeasured || (len(all) > 0 && !a.near(p.score, spots[0].score)) {
			break
		}
		if err := ctx.Err(); err != nil {
			return err
		}
		c, err := a.choice(p.setting())
		if err != nil {
			return err
		}
		all = append(all, c)
	}
	if r.Met {
		a.rank(all)
	}
	var err error
	var idle []string
	if r.Choice, idle, err = a.rested(all[0]); err != nil {
		return err
	}
	if r.Strongest, err = a.choice(a.peak.setting()); err != nil {
		return err
	}
	if r.Strongest, _, err = a.rested(r.Strongest); err != nil {
		return err
	}
	if err := a.runners(r, all[1:]); err != nil {
		return err
	}
	if a.deaf { // what follows would judge rounding
		r.Objective, r.Peak, r.Bandwidth, r.LoadedQ = math.NaN(), math.NaN(), math.NaN(), math.NaN()
		return nil
	}
	if r.Tolerance, err = a.tolerances(r.Setting); err != nil {
		return err
	}
	if err := a.resonance(r); err != nil {
		return err
	}
	if a.q.Aim == Flat && r.Met {
		if err := a.held(r); err != nil {
			return err
		}
	}
	a.sacrificed(r)
	a.notices(r, idle)
	return nil
}

// near reports whether a score may belong to a runner-up of the best; scores of wide bands are only nearly right.
func (a *tuner) near(score, best float64) bool {
	switch {
	case a.goal == nil, a.q.Aim == Rejection, a.q.Aim == Level:
		return score >= best*ratio(-asGood)
	case a.q.Aim == Width:
		return score >= best*(1-1.5*asWide)
	}
	return score >= best*ratio(1.5*asGood) // both negative
}

// rank sorts by what was measured where the search had only samples of it.
func (a *tuner) rank(all []Choice) {
	switch a.q.Aim {
	case Width:
		sort.SliceStable(all, func(i, j int) bool { return all[i].Objective > all[j].Objective })
	case Flat:
		if a.peakFloor() <= a.lowest(all[0]) {
			sort.SliceStable(all, func(i, j int) bool { return all[i].Objective < all[j].Objective })
		}
	}
}

// peakFloor is the least gain in dB that a span must hold, less what sampling it may hide.
func (a *tuner) peakFloor() float64 {
	const sampling = 0.01
	return decibels(a.least*a.straight) - sampling
}

// lowest is the least insertion gain over the span, dB.
func (a *tuner) lowest(c Choice) float64 {
	m, err := a.figures(c.Setting)
	if err != nil {
		return math.Inf(-1)
	}
	low, _ := m.span()
	return low
}

// held says whether the span is held within what may be given up.
func (a *tuner) held(r *Answer) error {
	low := a.lowest(r.Choice)
	if short := a.peakFloor() - low; short > 0 {
		wanted := decibels(a.least * a.straight)
		a.missed(r, wanted-low, fmt.Sprintf("no setting found keeps all of %s to %s within %.3g dB of the strongest signal; the best falls to %s dB, %.3g dB too low",
			hertz(a.q.Span.From), hertz(a.q.Span.To), *a.q.Within, signed(low), wanted-low))
		r.RunnersUp = nil
	}
	return nil
}

// same is within how many dB a gain is the same.
const same = 1e-9

// rested leaves knobs that change nothing where the question has them, and lists them.
func (a *tuner) rested(c Choice) (Choice, []string, error) {
	var idle []string
	for _, k := range a.q.Box.Controls {
		if k.Knob == nil || a.q.Fixed[k.Name] {
			continue
		}
		still := true
		for _, reading := range []float64{k.Knob.From, k.Knob.To, k.Knob.From + 0.37*(k.Knob.To-k.Knob.From), a.q.At[k.Name].Number} {
			m, err := a.figures(c.Setting.With(k.Name, box.Reading{Number: reading}))
			if err != nil {
				return c, nil, err
			}
			p, _ := m.powers(a.f)
			still = still && m.err == nil && math.Abs(decibels(p)-c.InsertionGain) <= same
		}
		if !still {
			continue
		}
		moved, err := a.choice(c.Setting.With(k.Name, a.q.At[k.Name]))
		if err != nil {
			return c, nil, err
		}
		if math.Abs(moved.Objective-c.Objective) <= same*(1+math.Abs(c.Objective)) {
			c, idle = moved, append(idle, k.Name)
		}
	}
	return c, idle, nil
}

// runners are settings as good as the answer and different from it and from one another.
func (a *tuner) runners(r *Answer, all []Choice) error {
	kept := []Choice{r.Choice}
	for _, c := range all {
		if len(kept) > mostRunners {
			break
		}
		if !a.asGood(r, c) {
			continue
		}
		c, _, err := a.rested(c)
		if err != nil {
			return err
		}
		different := true
		for _, k := range kept {
			different = different && a.different(c.Setting, k.Setting)
		}
		if different {
			kept = append(kept, c)
		}
	}
	r.RunnersUp = kept[1:]
	return nil
}

func (a *tuner) asGood(r *Answer, c Choice) bool {
	switch {
	case a.q.Aim == Signal, !r.Met:
		return c.InsertionGain >= r.InsertionGain-asGood
	case a.q.Aim == Width:
		return c.Objective >= r.Objective*(1-asWide)
	case a.q.Aim == Flat:
		return c.Objective <= r.Objective+asGood
	}
	return c.Objective >= r.Objective-asGood
}

func (a *tuner) different(s, o box.Setting) bool {
	for _, c := range a.q.Box.Controls {
		if c.Switch != nil && s[c.Name] != o[c.Name] {
			return true
		}
		if k := c.Knob; k != nil && math.Abs(s[c.Name].Number-o[c.Name].Number) > elsewhere*math.Abs(k.To-k.From) {
			return true
		}
	}
	return false
}

// sacrificed says what the aim cost.
func (a *tuner) sacrificed(r *Answer) {
	const least = 0.05 // dB
	given := r.Strongest.InsertionGain - r.InsertionGain
	if !(given >= least) || !r.Met {
		return
	}
	gained := ""
	switch a.q.Aim {
	case Rejection:
		gained = fmt.Sprintf("for %.1f dB more rejection of %s", r.Objective-r.Strongest.Objective, a.rejected())
	case Level:
		gained = fmt.Sprintf("to come down to the wanted %s dB", signed(a.q.Level))
	case Width:
		gained = fmt.Sprintf("for a band of %s instead of %s", quantity.Format(r.Objective, quantity.Hertz, 4), quantity.Format(r.Strongest.Objective, quantity.Hertz, 4))
	case Flat:
		gained = fmt.Sprintf("for a ripple of %.2f dB instead of %.2f dB", r.Objective, r.Strongest.Objective)
	}
	r.Sacrificed = append(r.Sacrificed, fmt.Sprintf("%.1f dB of signal given up %s", given, gained))
}

func (a *tuner) notices(r *Answer, idle []string) {
	add := func(format string, args ...any) { r.Notices = append(r.Notices, fmt.Sprintf(format, args...)) }
	if s := a.q.Setup.Sweep; a.f < s.From || a.f > s.To {
		add("%s lies outside the sweep of the setup, %s to %s", hertz(a.f), hertz(s.From), hertz(s.To))
	}
	if len(idle) == 1 {
		add("%s changes nothing here and was left where it stood", idle[0])
	} else if len(idle) > 1 {
		add("%s and %s change nothing here and were left where they stood", strings.Join(idle[:len(idle)-1], ", "), idle[len(idle)-1])
	}
	if a.q.Aim == Signal && !r.Proven && !math.IsNaN(r.Gap) {
		if math.IsInf(r.Gap, 1) {
			add("that no setting has more signal was searched for but not proven")
		} else {
			add("no setting has more than %.2g dB above this signal; nearer than that is not proven", r.Gap)
		}
	}
	if a.q.Aim == Rejection && r.Met && r.Objective < asFar {
		add("no setting found rejects %s well: against %s by %s dB", a.rejected(), hertz(a.f), signed(r.Objective))
	}
	if a.q.Aim == Level && r.Met {
		if m, err := a.figures(r.Setting); err == nil {
			if most := m.strongestInside(); most > tolerated {
				add("%s stands on a skirt: something nearer than a fifth of it comes through %.3g dB stronger", hertz(a.f), decibels(most))
			}
		}
	}
	if math.IsNaN(r.TransducerGain) {
		add("transducer gain does not exist: no power is available from the source, or the load takes none")
	}
	if math.IsNaN(r.Peak) {
		add("the load voltage has no peak near %s", hertz(a.f))
	} else if math.IsNaN(r.Bandwidth) {
		add("the peak at %s does not fall to half its power on both sides, so it has no bandwidth", hertz(r.Peak))
	}
}

// asFar is the rejection in dB below which frequencies can hardly be told apart.
const asFar = 3
