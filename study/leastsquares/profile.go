package leastsquares

import (
	"context"
	"math"
	"slices"
)

// End says how one end of an interval was come by.
type End int8

// The ends.
const (
	// Found is a value at which the cost has risen by the amount asked for.
	Found End = iota + 1
	// BoundReached is a bound at which the cost has not risen that far.
	BoundReached
	// NotReached is the farthest value at which the cost had not risen that far: it is flat, 40 refits were not enough, or beyond it
	// the refits came to another, higher minimum only.
	NotReached
	// NotEvaluable is the farthest value at which the model could be evaluated; the cost has not risen that far.
	NotEvaluable
)

// String is the end in words.
func (e End) String() string {
	switch e {
	case Found:
		return "found"
	case BoundReached:
		return "bound reached"
	case NotReached:
		return "not reached"
	case NotEvaluable:
		return "not reached: model cannot be evaluated"
	}
	return "not looked for"
}

// Interval is the likelihood interval of one parameter.
type Interval struct {
	Low, High       float64
	LowEnd, HighEnd End
	Refits          int // of the other parameters
	Unfinished      int // refits that ended at the limit of evaluations: the interval may be too narrow
	Evaluations     int // of all refits
	// Better is the best point met whose cost is below that of the fit, by more than a millionth of the rise: the fit was not
	// at the lowest minimum, and the interval is not to be relied on. nil otherwise.
	Better     []float64
	BetterCost float64 // zero without Better
}

// The search for one end.
const (
	refitsPerEnd    = 40
	widenings       = 12 // of at most widest times the distance each
	widest          = 4.0
	closeEnough     = 1e-4 // of the distance from the fit
	strayed         = 2.0  // times the distance: four times the rise, where the model is linear
	closeBy         = 0.1  // of the distance from the fit
	narrowest       = 1e-9 // of the distance from the fit
	betterThanNoise = 1e-6 // of the rise
)

// Profile finds where the cost, with parameter k held and all others fitted anew, stands rise above the cost of a fit
// (Bates and Watts 1988, chapter 6; Venzon and Moolgavkar, Applied Statistics 37, 1988). Rise gives the amount for a level. The
// search runs on the distance at which the linear model puts a rise in cost, for a parameter that no bound holds its root but
// for a factor: for a linear problem that is a straight line. It takes at most 40 refits per end. problem and result belong together; options are those of the refits. Ends are
// good to about a part in ten thousand of their distance from the fit. Errors are *Error, or the context's own with what was
// found until then.
func Profile(ctx context.Context, problem Problem, result Result, k int, rise float64, options Options) (Interval, error) {
	switch {
	case len(result.P) == 0 || len(result.P) != len(problem.Lower):
		return Interval{}, wrong("the result is not one of this problem; give the result of a fit")
	case k < 0 || k >= len(result.P):
		return Interval{}, wrong("there is no parameter %d; give one from 0 to %d", k, len(result.P)-1)
	case result.fixed[k]:
		return Interval{}, wrongParameter(k, "is fixed; give its bounds some room")
	case !(rise > 0) || math.IsInf(rise, 1):
		return Interval{}, wrong("the rise in cost is %g; give a positive number", rise)
	}
	if err := problem.check(result.P); err != nil {
		return Interval{}, err
	}
	options, err := options.filled(len(result.P))
	if err != nil {
		return Interval{}, err
	}
	options.Progress = nil
	s := search{
		problem: problem, options: options, k: k, rise: rise, result: &result,
		slope: make([]float64, len(result.P)),
	}
	s.problem.Lower, s.problem.Upper = slices.Clone(problem.Lower), slices.Clone(problem.Upper)
	s.lower, s.upper = problem.Lower[k], problem.Upper[k]
	if err := s.guess(); err != nil {
		return Interval{}, err
	}
	s.found.Low, s.found.LowEnd, err = s.end(ctx, -1)
	if err == nil {
		s.found.High, s.found.HighEnd, err = s.end(ctx, +1)
	}
	return s.found, err
}

// search is a profile under way.
type search struct {
	problem      Problem
	options      Options
	result       *Result
	k            int
	rise         float64
	lower, upper float64   // of parameter k
	variance     float64   // of parameter k in the linear model, for residuals of variance 1; 0 where it does not tell
	push         float64   // the gradient by parameter k in the direction of the search: above zero only from a bound
	reach        float64   // the first step where the linear model does not tell
	slope        []float64 // of the others by parameter k, in the linear model
	found        Interval
}

// guess takes the first step's length and direction from the covariance.
func (s *search) guess() error {
	c, err := s.result.covariance(1, 0, s.k)
	if err != nil {
		return err
	}
	n, k := len(s.result.P), s.k
	deviation, ok := c.Deviation(k)
	if ok && deviation > 0 {
		s.variance = deviation * deviation
		for j := range s.slope {
			s.slope[j] = c.Matrix[j*n+k] / s.variance
		}
		return nil
	}
	s.reach = math.Abs(s.result.P[k]) / 10
	if !math.IsInf(s.lower, 0) && !math.IsInf(s.upper, 0) {
		s.reach = (s.upper - s.lower) / 10
	}
	if s.reach == 0 {
		s.reach = 1
	}
	return nil
}

// distance is how far from the fit the linear model puts a rise in cost: where push*d + d²/(2 variance) is that. Where it
// does not tell it is the root of the rise.
func (s *search) distance(rise float64) float64 {
	if s.variance == 0 {
		return math.Sqrt(rise)
	}
	return 2 * rise / (s.push + math.Sqrt(s.push*s.push+2*rise/s.variance))
}

// station is a value of parameter k with the others fitted.
type station struct {
	at   float64
	root float64 // the distance of the rise in cost
	p    []float64
}

// refit holds parameter k at a value. It is not ok where the model cannot be evaluated at either start.
func (s *search) refit(ctx context.Context, at float64, starts ...[]float64) (station, bool, error) {
	s.problem.Lower[s.k], s.problem.Upper[s.k] = at, at
	for _, start := range starts {
		if notFinite(start) >= 0 {
			continue
		}
		r, err := Fit(ctx, s.problem, start, s.options)
		if stopped := ctx.Err(); stopped != nil {
			return station{}, false, stopped
		}
		if err != nil {
			continue
		}
		s.found.Refits++
		s.found.Evaluations += r.Evaluations
		if r.Reason == Limit {
			s.found.Unfinished++
		}
		rise := r.Cost - s.result.Cost
		if rise < -betterThanNoise*s.rise && (s.found.Better == nil || r.Cost < s.found.BetterCost) {
			s.found.Better, s.found.BetterCost = r.P, r.Cost
		}
		return station{at: at, root: s.distance(max(rise, 0)), p: r.P}, true, nil
	}
	return station{}, false, nil
}

// end looks for one end of the interval, downwards or upwards.
func (s *search) end(ctx context.Context, way float64) (float64, End, error) {
	home := s.result.P[s.k]
	bound := s.lower
	if way > 0 {
		bound = s.upper
	}
	if home == bound {
		return bound, BoundReached, nil
	}
	s.push = max(0, way*s.result.Gradient[s.k])
	target := s.distance(s.rise)
	next := home + way*s.reach
	if s.variance > 0 {
		next = home + way*target
	}
	if next == home {
		next = math.Nextafter(home, bound)
	}
	inner := station{at: home, p: s.result.P}
	slope := s.slope // from the inner station on
	own := s.slope   // and behind it
	var outer station
	bracketed, wall := false, math.NaN() // wall: the nearest value at which the model cannot be evaluated
	wider, sameSide, last := 0, 0, 0
	alone := len(s.problem.Lower) == 1 // nothing to refit: a jump of the cost is the model's own
	for range refitsPerEnd {
		if (next-bound)*way > 0 {
			next = bound
		}
		ahead := make([]float64, len(inner.p))
		for j, v := range inner.p {
			ahead[j] = v + slope[j]*(next-inner.at)
		}
		ahead[s.k] = next
		now, ok, err := s.refit(ctx, next, ahead, inner.p)
		if ok && now.root > strayed*target && !alone {
			// Perhaps another, higher minimum: a long step, or a slope over a jump, led astray.
			again, better, stopped := s.refit(ctx, next, inner.p)
			if stopped != nil {
				return inner.at, 0, stopped
			}
			if better && again.root < now.root {
				now = again
			}
		}
		side := 0
		switch {
		case err != nil:
			return inner.at, 0, err
		case !ok:
			wall = next
		case math.Abs(now.root-target) <= closeEnough*target:
			// One more step of the secant, without a refit.
			at := now.at + (target-now.root)*(now.at-inner.at)/(now.root-inner.root)
			if (at-bound)*way > 0 || math.IsNaN(at) || math.IsInf(at, 0) {
				at = now.at
			}
			return at, Found, nil
		case now.root > target:
			outer, bracketed, side = now, true, 1
		case next == bound:
			return bound, BoundReached, nil
		default:
			own = secant(inner, now)
			slope = own
			gain := (now.root - inner.root) / math.Abs(now.at-inner.at)
			inner, side = now, -1
			if !bracketed && math.IsNaN(wall) {
				if wider++; wider > widenings {
					return inner.at, NotReached, nil
				}
				gone := math.Abs(inner.at - home)
				step := (widest - 1) * gone
				if gain > 0 {
					step = min(step, 1.01*(target-inner.root)/gain) // a little beyond, so as to bracket
				}
				next = inner.at + way*step
				if math.IsInf(next, 0) {
					return inner.at, NotReached, nil
				}
				continue
			}
		}
		if !ok || !bracketed {
			// The model ends before the cost has risen: halve the way to the wall, until little of it is left.
			end := wall
			if bracketed && math.Abs(outer.at-inner.at) < math.Abs(wall-inner.at) {
				end = outer.at
			}
			if math.Abs(end-inner.at) <= closeEnough*math.Abs(inner.at-home) || math.Abs(end-inner.at) <= narrowest*math.Abs(end-home) {
				return inner.at, NotEvaluable, nil
			}
			next = inner.at + (end-inner.at)/2
			continue
		}
		if side == last {
			sameSide++
		} else {
			sameSide = 0
		}
		last = side
		part := (target - inner.root) / (outer.root - inner.root)
		if sameSide >= 2 || outer.root > 10*target {
			part, sameSide = middle(math.Abs(inner.at-home), math.Abs(outer.at-home)), 0
		}
		next = inner.at + part*(outer.at-inner.at)
		gap, gone := math.Abs(outer.at-inner.at), math.Abs(inner.at-home)
		if next == inner.at || next == outer.at {
			return inner.at, Found, nil // the numbers are no finer
		}
		if alone || outer.root-inner.root <= target {
			slope = secant(inner, outer)
			if gap <= narrowest*math.Abs(outer.at-home) {
				return inner.at, Found, nil
			}
			continue
		}
		// The least cost over all other parameters has no jumps: in a narrow bracket the refits beyond missed the lowest minimum. From
		// close by they may find it.
		slope = own
		switch {
		case gap <= narrowest*math.Abs(outer.at-home):
			return inner.at, NotReached, nil
		case gap < closeBy*gone && inner.root < 0.9*target:
			bracketed, sameSide, last = false, 0, 0
			next = inner.at + way*2*closeBy*gone
		}
	}
	if !math.IsNaN(wall) && !bracketed {
		return inner.at, NotEvaluable, nil
	}
	return inner.at, NotReached, nil
}

// secant is how the other parameters moved from one station to another, by parameter k.
func secant(from, to station) []float64 {
	slope := make([]float64, len(to.p))
	for j := range slope {
		slope[j] = (to.p[j] - from.p[j]) / (to.at - from.at)
	}
	return slope
}

// middle is where to cut a bracket whose ends stand at two distances from the fit: in the geometric middle while they are of
// unlike size, so that a first step much too long costs few refits.
func middle(near, far float64) float64 {
	switch {
	case near == 0:
		return 0.01
	case far > 4*near:
		return (math.Sqrt(near)*math.Sqrt(far) - near) / (far - near)
	}
	return 0.5
}
