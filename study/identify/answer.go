package identify

import (
	"context"
	"fmt"
	"math"
	"slices"
	"strings"

	"gonum.org/v1/gonum/stat/distuv"

	"knobwise/bench/quantity"
	"knobwise/study/leastsquares"
)

const (
	level = 0.95
	// narrow is the widest interval of a value that counts as determined: half of it, as part of the value.
	narrow = 0.25
)

// answer turns the best fit into what can be said of it.
func (r *Result) answer(ctx context.Context, restarts int) error {
	st := r.state
	s := st.system
	var err error
	r.dialsOff = false
	if st.information, st.held, err = s.information(st.res); err != nil {
		return err
	}
	r.Stop = st.res.Reason.String()
	r.Cost = st.res.Cost
	r.Parameters, r.Points = s.size(), s.total
	r.Freedom = s.total - s.free()
	own, explained := r.judge()
	st.scale = own
	if !r.quick {
		r.otherMinima(ctx)
	}
	// What a circuit that does not explain the traces says of its values is not to be trusted: no refitting for it.
	r.values(ctx, !r.quick && explained)
	if ctx.Err() != nil {
		return ctx.Err()
	}
	if st.better != nil && restarts > 0 {
		// Refitting came upon a lower minimum: everything once more from there.
		res, err := leastsquares.Fit(ctx, s.problem(), st.better, leastsquares.Options{Loss: robust, MaxEvaluations: lastEvaluations, Reduction: 1e-9, Step: 1e-8, Gradient: 1e-8})
		if ctx.Err() != nil {
			return ctx.Err()
		}
		if err == nil && res.Cost < st.res.Cost {
			st.res, st.better, r.Values = res, nil, nil
			return r.answer(ctx, restarts-1)
		}
	}
	if _, off := s.dialsOff(st.res.P); off > 0 && slices.ContainsFunc(r.Values, func(v Value) bool { return v.AtBound }) {
		explained, r.dialsOff = false, true // a value at its end and a dial far off go together where the circuit is another
	}
	r.count()
	lonely := r.Same <= 1 && r.Starts >= 16 && slices.ContainsFunc(r.Values, func(v Value) bool { return !v.Determined })
	r.readings()
	r.bands()
	r.tell(ctx)
	determined := 0
	for i := range r.Values {
		v := &r.Values[i]
		switch {
		case !v.Determined:
		case !explained:
			v.Determined, v.Why = false, "the circuit does not explain the traces"
		case !st.res.Reason.Converged():
			v.Determined, v.Why = false, "the fit did not come to rest"
		case lonely:
			v.Determined, v.Why = false, "only one start came to this minimum, and not all values are held: there may be others"
		case r.Freedom < leastFreedom:
			v.Determined, v.Why = false, "there are hardly more points than values"
		}
		if v.Determined {
			determined++
		}
	}
	switch {
	case !explained:
		r.Status = Unexplained
	case !st.res.Reason.Converged():
		r.Status = Ended
	case determined == len(r.Values):
		r.Status = Found
	case determined == 0:
		r.Status = Undecided
	default:
		r.Status = Partly
	}
	r.notices()
	return nil
}

// leastFreedom is how many points must be left over beside the values and levels.
const leastFreedom = 4

// Misfits beyond these say that the circuit is another: differences so many times the roughness of the traces, with a shape that
// chance does not make, and larger than a part of the level.
const (
	misfit      = 2.0
	misfitShape = -6.0
	misfitLevel = 0.015
	misfitLarge = 0.1 // of the level: whatever shape it has
)

// trust is for how many points the noise counts that was seen or assumed before anything was fitted: with few points left over, what
// is left says nothing of the noise.
const trust = 10.0

// farOff is how many times the reading error that was named a dial may be off before it is told.
const farOff = 4.0

// dialsOff counts the dials whose reading error was named, and those that came out far from what was read.
func (s *system) dialsOff(p []float64) (named, off int) {
	for j, d := range s.dials {
		k := &s.models[d.model].knobs[d.knob]
		if k.own || math.IsInf(k.sd, 1) {
			continue
		}
		named++
		if math.Abs(p[len(s.vars)+j]-k.reading) > farOff*k.named {
			off++
		}
	}
	return named, off
}

// judge compares what is left with what neighbours do not share. It returns the variance of a row of weight one, as the
// intervals need it, and whether the circuit explains the traces.
func (r *Result) judge() (variance float64, explained bool) {
	s := r.state.system
	left := s.residuals(r.state.res.Residuals)
	rough := s.roughness()
	var scaled, inSigma, first []float64
	runs, expected, spreadOfRuns := 0.0, 0.0, 0.0
	levels, points := 0.0, 0.0
	correlation, norm := 0.0, 0.0
	for i, m := range s.models {
		per := len(m.data) / len(m.f)
		top := highest(m.levels)
		for c := range per {
			plus, minus, before := 0.0, 0.0, 0.0
			own := 1.0
			for k := c; k < len(m.data); k += per {
				z := left[i][k] / s.sigma[i][k]
				sign := math.Copysign(1, z)
				if before != 0 && sign != before {
					own++
				}
				if k >= per {
					a, b := min(max(z, -4), 4), left[i][k-per]/s.sigma[i][k-per]
					correlation += a * min(max(b, -4), 4)
					norm += a * a
				}
				before = sign
				if sign > 0 {
					plus++
				} else {
					minus++
				}
				scaled, inSigma = append(scaled, left[i][k]/rough[i][k]), append(inSigma, z)
				first = append(first, rough[i][k]*rough[i][k]/(s.sigma[i][k]*s.sigma[i][k]))
				part := left[i][k] / max(math.Abs(m.levels[k]), 0.02*top)
				if m.kind == decibel {
					part = left[i][k] / decibelsPerNeper
				}
				levels += min(part*part, 1)
				points++
			}
			// A. Wald and J. Wolfowitz, Ann. Math. Stat. 11 (1940) 147 (from memory): mean and variance of the number of runs.
			if n := plus + minus; n > 6 && plus > 0 && minus > 0 {
				mean := 2*plus*minus/n + 1
				runs += own
				expected += mean
				spreadOfRuns += (mean - 1) * (mean - 2) / (n - 1)
			}
		}
	}
	r.RMS = spread(scaled)
	if spreadOfRuns > 0 {
		r.Runs = (runs - expected) / math.Sqrt(spreadOfRuns)
	}
	apart := math.Sqrt(levels / points)
	explained = !(r.RMS > misfit && r.Runs < misfitShape && apart > misfitLevel) && !(r.RMS > misfit && apart > misfitLarge)
	free := float64(max(r.Freedom, 0))
	sigma := spread(inSigma)
	variance = (trust*median(first) + free*sigma*sigma*float64(s.total)/math.Max(1, free)) / (trust + free)
	if named, off := s.dialsOff(r.state.res.P); off > 1 && off >= named/4 {
		// Only with many dials far from what was read: the law of a part, or the circuit, is another.
		explained, r.dialsOff = false, true
	}
	// What is left of a shape is worth fewer points than it has: as many as independent ones with this correlation of neighbours.
	if r.Runs < -3 && norm > 0 {
		if rho := min(max(correlation/norm, 0), 0.98); rho > 0 {
			variance *= (1 + rho) / (1 - rho)
		}
	}
	return variance, explained
}

// times is how many standard deviations the interval of parameter k has on each side: Student's quantile. How badly dials are read
// is learnt from as many dials as there are, which may be few; what of the variance comes from them has as few degrees of
// freedom (F. E. Satterthwaite, Biometrics Bulletin 2 (1946) 110, from memory).
func (r *Result) times(k int) float64 {
	st := r.state
	free := float64(max(1, r.Freedom))
	nu := free
	if n := st.system.learnt(); n > 0 && k >= 0 {
		part := 1 - st.held.variance(k)/st.information.variance(k)
		if part > 0 && part <= 1 {
			nu = 1 / (part*part/(float64(n)+priorWeight) + (1-part)*(1-part)/free)
		}
	}
	return distuv.StudentsT{Mu: 0, Sigma: 1, Nu: max(nu, 1)}.Quantile(0.5 + level/2)
}

// otherMinima looks whether the other ends that were polished explain the traces as well as the best, with its noise: what is said of a
// value must hold for all of them.
func (r *Result) otherMinima(ctx context.Context) {
	st := r.state
	s := st.system
	times := r.times(-1)
	rise := times * times / 2 * st.scale
	st.alike = nil
	for _, p := range st.ends {
		if s.near(p, st.res.P, apart/10) {
			continue
		}
		res, err := leastsquares.Fit(ctx, s.problem(), p, leastsquares.Options{Loss: robust, MaxEvaluations: refitEvaluations, Reduction: 1e-7, Step: 1e-7, Gradient: 1e-7})
		switch {
		case err != nil || res.Cost > st.res.Cost+rise:
		case res.Cost < st.res.Cost-0.05*rise:
			st.better = res.P
		default:
			st.alike = append(st.alike, res.P)
		}
	}
}

// count is how many starts came to this minimum, as far as the determined values go.
func (r *Result) count() {
	r.Same = 0
	for _, b := range r.state.began {
		same := b.cost <= r.state.from.cost*1.03
		for k := range r.Values {
			if r.Values[k].Determined && math.Abs(b.p[k]-r.state.from.p[k]) > 0.3 {
				same = false
			}
		}
		if same {
			r.Same++
		}
	}
}

// learnt is how many dials the reading error was learnt from.
func (s *system) learnt() int {
	n := 0
	for _, d := range s.dials {
		if k := &s.models[d.model].knobs[d.knob]; !k.own && !math.IsInf(k.sd, 1) {
			n++
		}
	}
	return n
}

// strangers names traces that fit far worse than the others: a setting that was written down wrongly looks like that.
func (r *Result) strangers(add func(string, ...any)) {
	if len(r.Fits) < 3 || r.Status == Unexplained {
		return
	}
	var all []float64
	for _, f := range r.Fits {
		all = append(all, f.RMS)
	}
	for _, f := range r.Fits {
		if f.RMS > 5 && f.RMS > 4*median(all) {
			add("%s does not fit like the others: what is left of it is %.0f times its noise, most at %s; check its setting, and try without it (--only)", f.Name, f.RMS, quantity.Format(f.WorstAt, quantity.Hertz, 4))
		}
	}
}

// values gives each value its interval, by refitting where the curvature does not tell it.
func (r *Result) values(ctx context.Context, refit bool) {
	st := r.state
	s := st.system
	lower, upper := s.bounds()
	for k, v := range s.vars {
		at := st.res.P[k]
		x := v.found(at)
		sd := math.Sqrt(st.information.variance(k) * st.scale)
		times := r.times(k)
		half := times * sd
		low, high := at-half, at+half
		open := [2]bool{low <= lower[k], high >= upper[k]}
		x.AtBound = at-lower[k] < 1e-6 || upper[k]-at < 1e-6
		// Beyond some percent the surface bends, and so it does near an end of the room.
		if known := refit && half < 2*(upper[k]-lower[k]); known && (half > 0.05*max(1, b2f(!v.log)*math.Abs(at)) || open[0] || open[1] || x.AtBound || s.bends(ctx, st, k, sd)) {
			var better []float64
			low, high, open, better = s.profile(ctx, st, k, times)
			x.ByProfile = true
			if better != nil {
				st.better = better
			}
		}
		for _, p := range st.alike {
			if p[k] < low || p[k] > high {
				// Another minimum has an interval of its own, about as wide.
				low, high = min(low, p[k]-half), max(high, p[k]+half)
			}
		}
		for _, p := range st.doubted {
			low, high = min(low, p[k]), max(high, p[k])
		}
		x.Low, x.High = v.value(max(low, lower[k])), v.value(min(high, upper[k]))
		width := math.Abs((x.High - x.Low) / (x.High + x.Low)) // the same from whichever of two minima one looks
		switch {
		case math.IsNaN(width) || math.IsInf(sd, 1) && !x.ByProfile:
			x.Low, x.High = v.low, v.high
			x.Why = "these traces do not depend on it, or only together with others"
		case open[0] && open[1]:
			x.Why = "it may be anything in the room that was looked through"
		case open[0]:
			x.Why = "it may be as small as the room that was looked through allows"
		case open[1]:
			x.Why = "it may be as large as the room that was looked through allows"
		case !(width <= narrow):
			x.Why = fmt.Sprintf("its interval is ±%.0f %% wide", 100*width)
		default:
			x.Determined = true
		}
		r.Values = append(r.Values, x)
	}
}

func b2f(b bool) float64 {
	if b {
		return 1
	}
	return 0
}

// bends reports whether the cost a step along the axis of what is not known differs from what the curvature at the minimum says.
func (s *system) bends(ctx context.Context, st *state, k int, sd float64) bool {
	lower, upper := s.bounds()
	axis := st.information.axis(k)
	want := 2 * st.scale // of two standard deviations, half the sum of squares
	r := make([]float64, s.total+s.priors())
	for _, sign := range []float64{-1, 1} {
		p := make([]float64, len(st.res.P))
		for i := range p {
			p[i] = min(max(st.res.P[i]+sign*2*sd*axis[i], lower[i]), upper[i])
		}
		if s.evaluate(ctx, p, r, nil) != nil {
			return true
		}
		rise := costOf(r) - st.res.Cost
		if math.Abs(rise-want) > 0.3*want {
			return true
		}
	}
	return false
}

func costOf(r []float64) float64 {
	sum := 0.0
	for _, x := range r {
		rho, _, _ := robust.At(x * x)
		sum += rho
	}
	return sum / 2
}

// profile finds how far coordinate k can go, all others fitted anew, until the cost has risen as far as the level asks. An end that
// the room closes first, or that the refits did not settle, is open. better is a point below the fit, where one was met.
func (s *system) profile(ctx context.Context, st *state, k int, times float64) (low, high float64, open [2]bool, better []float64) {
	lower, upper := s.bounds()
	rise := times * times / 2 * st.scale
	found, err := leastsquares.Profile(ctx, s.problem(), st.res, k, rise, leastsquares.Options{Loss: robust, MaxEvaluations: refitEvaluations, Reduction: 1e-7, Step: 1e-7, Gradient: 1e-7})
	low, high = found.Low, found.High
	open = [2]bool{found.LowEnd != leastsquares.Found, found.HighEnd != leastsquares.Found}
	if err != nil || found.Unfinished > 0 {
		open = [2]bool{true, true}
	}
	if open[0] {
		low = lower[k]
	}
	if open[1] {
		high = upper[k]
	}
	if found.Better != nil && found.BetterCost < st.res.Cost-0.05*rise {
		better = found.Better
	}
	return low, high, open, better
}

// refitEvaluations bounds each refit of a profile.
const refitEvaluations = 150

// axis is how all parameters move when parameter k moves by one, others fitted anew: its column of the covariance over its variance.
func (x *information) axis(k int) []float64 {
	out := make([]float64, x.n)
	if x.scale[k] == 0 {
		out[k] = 1
		return out
	}
	// C·e_k = R⁻¹·R⁻ᵀ·e_k, in scaled columns.
	b := make([]float64, x.n)
	b[x.place[k]] = 1 / x.scale[k]
	y, _ := x.forward(b, math.Inf(1))
	norm := squares(y)
	for j := x.n - 1; j >= 0; j-- {
		for i := j + 1; i < x.n; i++ {
			y[j] -= x.r.At(j, i) * y[i]
		}
		if d := x.r.At(j, j); math.Abs(d) >= smallest {
			y[j] /= d
		} else {
			y[j] = 0
		}
	}
	for j, p := range x.order {
		if x.scale[p] > 0 {
			out[p] = y[j] / x.scale[p] / norm
		}
	}
	return out
}

// readings lists the dials as they came out.
func (r *Result) readings() {
	st := r.state
	s := st.system
	sum, n := 0.0, 0
	for j, d := range s.dials {
		m := s.models[d.model]
		k := &m.knobs[d.knob]
		column := len(s.vars) + j
		half := r.times(-1) * math.Sqrt(st.information.variance(column)*st.scale)
		at := st.res.P[column]
		r.Dials = append(r.Dials, Dial{Measurement: m.measured.Name, Control: k.control.Name, Read: k.reading, Found: at, Low: max(k.low, at-half), High: min(k.top, at+half), far: !math.IsInf(k.sd, 1) && math.Abs(at-k.reading) > farOff*max(k.named, b2f(k.own)*k.sd)})
		if !k.own && !math.IsInf(k.sd, 1) {
			sum += k.sd / (k.top - k.low)
			n++
		}
	}
	r.ReadingError = math.NaN()
	if n > 0 {
		r.ReadingError = sum / float64(n)
	}
}

// farApart is how far two minima lie apart in a value, in its coordinate, to be told as two: 5 %.
const farApart = 0.05

// twoSets tells of other values that explain the traces as well.
func (r *Result) twoSets(add func(string, ...any)) {
	if r.Status == Unexplained {
		return
	}
	st := r.state
	for _, p := range st.alike {
		var differ []string
		for k, v := range st.system.vars {
			if math.Abs(p[k]-st.res.P[k]) > farApart && len(differ) < 4 {
				differ = append(differ, fmt.Sprintf("%s %s", v.name(), quantity.Format(v.value(p[k]), v.Unit, 4)))
			}
		}
		if len(differ) > 0 {
			add("another set of values explains these traces as well, with %s; the intervals hold both. Another load or setup may tell them apart", list(differ))
			return
		}
	}
}

// notices says what a person should know before trusting the numbers.
func (r *Result) notices() {
	add := func(format string, a ...any) { r.Notices = append(r.Notices, fmt.Sprintf(format, a...)) }
	if r.dialsOff {
		add("the traces are explained only with dials far from what was read: check the law of the parts that they turn, the settings, or the circuit; or say how badly they were read (--reading 3%%)")
	}
	for _, d := range r.Dials {
		if d.far {
			add("%s of %s was read as %.4g and comes out at %.4g: was it written down right?", d.Control, d.Measurement, d.Read, d.Found)
		}
	}
	if told := r.floorNotice(); told != "" {
		add("%s", told)
	}
	r.strangers(add)
	if r.Freedom < leastFreedom {
		add("%d points are hardly more than the %d values and levels that are looked for: measure more points", r.Points, r.state.system.free())
	}
	if r.Status == Unexplained && (!r.dialsOff || r.RMS > misfit) {
		worst := 0
		for i := range r.Fits {
			if r.Fits[i].RMS > r.Fits[worst].RMS {
				worst = i
			}
		}
		add("the circuit does not explain the traces: what is left is %.1f times what their noise makes, and has a shape; it fails most in %s, at %s. No value is to be trusted: check the circuit and the settings, try more starts (--starts), or `knobwise compare`",
			r.RMS, r.Fits[worst].Name, quantity.Format(r.Fits[worst].WorstAt, quantity.Hertz, 4))
	} else if r.Status != Unexplained && (r.RMS > 1.5 && r.Runs < -3 || r.Runs < misfitShape) {
		add("what is left is %.1f times what the traces' noise makes, and has a shape: something small is missing in the circuit or the setup; the intervals allow for it as well as they can", r.RMS)
	}
	r.twoSets(add)
	for _, v := range r.Values {
		if v.AtBound {
			add("%s stands at the end of the room that was looked through: widen its bounds, or ask whether the circuit is right", v.Name())
		}
	}
	if r.Starts > 4 && r.Same == 1 {
		add("only one of %d starts came to this minimum: try more starts (--starts)", r.Starts)
	}
	if r.Status != Unexplained {
		var open []string
		for _, v := range r.Values {
			if !v.Determined {
				open = append(open, v.Name())
			}
		}
		if len(open) > 0 {
			add("not determined: %s. `knobwise next` says which measurement would tell", strings.Join(open, ", "))
		}
	}
}
