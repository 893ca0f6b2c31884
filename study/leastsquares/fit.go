package leastsquares

import (
	"context"
	"math"
	"slices"

	"gonum.org/v1/gonum/blas/blas64"
)

// The first step, in scaled parameters whose columns are no longer than one, and how far the damping may rise.
const (
	firstDamping    = 1e-3
	cautiousDamping = 100 // the most that the first step is held back by
	largestDamping  = 1e30
)

// The radius of the next step, as part of the step just tried.
const (
	departure   = 0.4 // of the ratio from one, that the next step is to have
	growth      = 3.0 // at most, of a step taken
	leastKept   = 0.25
	wellKept    = 0.25 // a ratio above which the radius does not fall (MINPACK's)
	leastBack   = 0.1  // these two of a step not taken are MINPACK's
	mostBack    = 0.5
	unevaluated = 0.25 // where the model cannot be evaluated
)

// When a step is taken, and when nothing falls any more.
const (
	acceptedRatio   = 1e-4  // of the fall in cost to the one predicted
	nearlyExact     = 0.1   // how close to one that ratio is where the linear model holds
	foreseen        = 1e-3  // of the tolerance: a predicted fall that is believed without a look
	lessDamping     = 0.01  // after a step taken, at least that part of the damping is kept
	finestReduction = 1e-15 // of the cost: what rounding leaves of a difference
	looks           = 2     // refused in a row, before which the Jacobian is asked for with the residuals
)

// Fit minimises half the sum of the loss of the squared residuals from start, which is first brought into the box.
//
// The result is the point of the last step taken, the lowest of all, and its Reason says why it is the last. Errors are
// *Error, where the problem or the options are not well formed or the model cannot be evaluated at the start, and the
// context's own where it ended before the start was evaluated.
//
// A robust loss weights the rows by its first derivative; the second enters the model of the cost as Triggs et al. 1999
// (section 4.3) have it for a scalar residual, but no row keeps less than a tenth of its weight, so that the triangle stays
// well defined and the model convex.
func Fit(ctx context.Context, problem Problem, start []float64, options Options) (Result, error) {
	if err := problem.check(start); err != nil {
		return Result{}, err
	}
	options, err := options.filled(len(start))
	if err != nil {
		return Result{}, err
	}
	f := newFitter(&problem, options)
	if err := f.begin(ctx, start); err != nil {
		return Result{}, err
	}
	reason := f.run(ctx)
	return f.result(reason), nil
}

// fitter is a fit under way.
type fitter struct {
	problem *Problem
	options Options
	n       int
	live    []int // parameters that are not fixed

	now, next point
	jac       []float64
	// The rows of the linear model: scale[i]*(row i of the Jacobian) with the right-hand side right[i].
	scale, right []float64
	model        *triangle
	weighted     *triangle // with plain weights, for the covariance; model itself for squares
	longest      []float64 // the largest norm of each live column so far
	sub          *subproblem
	// What the present point's fold left: the weighted triangle, and the length of the right-hand side.
	kept   []float64
	length float64

	evaluations, jacobians int
}

// point is where the residuals are known.
type point struct {
	p, r []float64
	loss []float64 // of each row; nil for squares
	cost float64
}

func newFitter(problem *Problem, options Options) *fitter {
	n, m := len(problem.Lower), problem.Residuals
	f := &fitter{problem: problem, options: options, n: n}
	for k := range n {
		if problem.Lower[k] < problem.Upper[k] {
			f.live = append(f.live, k)
		}
	}
	for _, p := range []*point{&f.now, &f.next} {
		p.p, p.r = make([]float64, n), make([]float64, m)
		if options.Loss.kind != squares {
			p.loss = make([]float64, m)
		}
	}
	f.jac = make([]float64, m*n)
	f.model = newTriangle(len(f.live))
	f.weighted = f.model
	if options.Loss.kind != squares {
		f.scale, f.right = make([]float64, m), make([]float64, m)
		f.weighted = newTriangle(len(f.live))
	}
	f.kept = make([]float64, len(f.weighted.r))
	f.longest = make([]float64, len(f.live))
	f.sub = newSubproblem(len(f.live), options.RankTolerance)
	return f
}

// begin evaluates the start.
func (f *fitter) begin(ctx context.Context, start []float64) error {
	if err := ctx.Err(); err != nil {
		return err
	}
	for k, v := range start {
		f.next.p[k] = f.inside(k, v)
	}
	if err := f.evaluate(ctx, true); err != nil {
		if stopped := ctx.Err(); stopped != nil {
			return stopped
		}
		return err
	}
	if err := f.linearise(); err != nil {
		return err
	}
	f.advance()
	return nil
}

// inside brings a value of parameter k into the box.
func (f *fitter) inside(k int, v float64) float64 {
	return min(max(v, f.problem.Lower[k]), f.problem.Upper[k])
}

// evaluate asks the model at the next point for the residuals, and the Jacobian where wanted.
func (f *fitter) evaluate(ctx context.Context, jacobian bool) error {
	p, jac := &f.next, f.jac
	if notFinite(p.p) >= 0 {
		return wrong("a step leads to infinity")
	}
	f.evaluations++
	if jacobian {
		f.jacobians++
	} else {
		jac = nil
	}
	if err := f.problem.Evaluate(ctx, p.p, p.r, jac); err != nil {
		return &Error{Row: -1, Parameter: -1, What: "the model cannot be evaluated at the start", Cause: err}
	}
	p.cost = f.cost(p)
	if math.IsNaN(p.cost) || math.IsInf(p.cost, 0) {
		if i := notFinite(p.r); i >= 0 {
			e := wrong("residual %d is %g at the start; start where the model can be evaluated", i, p.r[i])
			e.Row = i
			return e
		}
		return wrong("the squares of the residuals overflow at the start; give residuals in units of their uncertainty")
	}
	return nil
}

// cost is half the sum of the loss; it notes the loss of each row.
func (f *fitter) cost(p *point) float64 {
	sum := 0.0
	if p.loss == nil {
		for _, r := range p.r {
			sum += r * r
		}
		return sum / 2
	}
	for i, r := range p.r {
		p.loss[i], _, _ = f.options.Loss.At(r * r)
		sum += p.loss[i]
	}
	return sum / 2
}

// fall is the cost now less the cost at the next point, row by row: far below the rounding of either.
func (f *fitter) fall() float64 {
	sum := 0.0
	if f.now.loss == nil {
		for i, r := range f.now.r {
			s := f.next.r[i]
			sum += (r - s) * (r + s)
		}
		return sum / 2
	}
	for i, l := range f.now.loss {
		sum += l - f.next.loss[i]
	}
	return sum / 2
}

// linearise folds the Jacobian at the next point.
func (f *fitter) linearise() error {
	right := f.next.r
	if f.weighted != f.model {
		for i, r := range f.next.r {
			_, first, _ := f.options.Loss.At(r * r)
			f.scale[i] = math.Sqrt(first)
			f.right[i] = f.scale[i] * r
		}
		f.weighted.fold(f.jac, f.n, f.live, f.scale, f.right)
		for i, r := range f.next.r {
			_, first, second := f.options.Loss.At(r * r)
			f.scale[i], f.right[i] = 0, 0
			if first > 0 {
				f.scale[i] = math.Sqrt(max(first+2*second*r*r, first/10))
				f.right[i] = first * r / f.scale[i]
			}
		}
		right = f.right
	}
	f.model.fold(f.jac, f.n, f.live, f.scale, right)
	if notFinite(f.model.r) < 0 && notFinite(f.model.q) < 0 && notFinite(f.weighted.r) < 0 {
		return nil
	}
	for i := range f.problem.Residuals {
		for _, k := range f.live {
			if d := f.jac[i*f.n+k]; math.IsNaN(d) || math.IsInf(d, 0) {
				e := wrong("the derivative of residual %d by parameter %d is %g at the start; start where the model can be evaluated", i, k, d)
				e.Row, e.Parameter = i, k
				return e
			}
		}
	}
	return wrong("the Jacobian's squares overflow at the start; give parameters and residuals of moderate size")
}

// advance makes the next point, whose Jacobian has been folded, the present one.
func (f *fitter) advance() {
	f.now, f.next = f.next, f.now
	copy(f.kept, f.weighted.r)
	f.length = math.Sqrt(2 * f.now.cost)
	if f.right != nil {
		f.length = blas64.Nrm2(blas64.Vector{N: len(f.right), Data: f.right, Inc: 1})
	}
	for c := range f.live {
		f.longest[c] = max(f.longest[c], f.model.norm(c))
	}
	n := len(f.live)
	for c := range n {
		s := f.longest[c]
		if s == 0 {
			s = 1
		}
		for i := 0; i <= c; i++ {
			f.sub.a[i*n+c] = f.model.r[i*n+c] / s
		}
	}
	copy(f.sub.q, f.model.q)
	for c, k := range f.live {
		f.sub.lower[c] = f.scaled(c, f.problem.Lower[k]-f.now.p[k])
		f.sub.upper[c] = f.scaled(c, f.problem.Upper[k]-f.now.p[k])
	}
	f.sub.changed()
	if f.options.Progress != nil {
		f.options.Progress(Progress{P: slices.Clone(f.now.p), Cost: f.now.cost, Evaluations: f.evaluations})
	}
}

// scaled is a difference of live parameter c in units of its column.
func (f *fitter) scaled(c int, d float64) float64 {
	if f.longest[c] == 0 {
		return d
	}
	return d * f.longest[c]
}

// run takes steps until one of the reasons to stop holds. The damping of each but the first follows from a radius, but falls
// no faster than lessDamping: a radius alone lets go at once in directions that are hardly seen, which leads far off.
func (f *fitter) run(ctx context.Context) Stop {
	radius := 0.0 // of the next step
	wall := false // the model could not be evaluated ahead, and no step but a short one was taken since
	refusals := 0 // steps not taken since the last one that was
	ratio := 0.0  // of the last step
	damping, least := firstDamping, 0.0
	for {
		if refusals == 0 {
			if done := f.flat(); done != 0 {
				return done
			}
		}
		if ctx.Err() != nil {
			return Cancelled
		}
		if f.evaluations >= f.options.MaxEvaluations {
			return Limit
		}
		if math.Abs(ratio-1) < nearlyExact && f.sub.solve(0) && f.sub.fall() <= foreseen*f.level() {
			return CostFlat // the model without damping, which holds here, sees nothing to gain
		}
		first := f.evaluations == 1
		moves := false
		if first {
			moves = f.sub.solve(damping)
		} else {
			damping, moves = f.sub.within(radius, least)
		}
		if !moves {
			return GradientZero
		}
		step, size := f.place()
		for first && size > 0 && step > size && damping < cautiousDamping && f.sub.fall() > f.now.cost/10 {
			// The first step is to be no longer than the parameters: a start far off must not be thrown where the model is flat.
			damping *= 2
			f.sub.solve(damping)
			step, size = f.place()
		}
		if step == 0 {
			return small(wall)
		}
		short := step <= f.options.Step*size
		// A step is likely to be taken: its Jacobian is asked for at once.
		t := f.try(ctx, !short && refusals < looks, damping)
		if ctx.Err() != nil && !t.taken {
			return Cancelled
		}
		wall = t.refused || wall && !(t.taken && damping <= 1)
		radius = step * t.next
		ratio = t.ratio
		least = damping
		if t.taken {
			least = damping * lessDamping
			f.advance()
			refusals = 0
		} else {
			refusals++
		}
		switch {
		case t.flat:
			return CostFlat
		case short || damping > largestDamping:
			return small(wall)
		}
	}
}

// trial is what came of a step.
type trial struct {
	refused bool    // the model cannot be evaluated there
	taken   bool    // and its Jacobian is folded
	flat    bool    // nothing falls any more
	ratio   float64 // of the fall in cost to the one predicted
	next    float64 // the next radius as part of the step
}

// level is the fall in cost that is none.
func (f *fitter) level() float64 { return max(f.options.Reduction, finestReduction) * f.now.cost }

// try evaluates the next point, with its Jacobian at once or only where the step is worth taking.
func (f *fitter) try(ctx context.Context, both bool, damping float64) (t trial) {
	if f.evaluate(ctx, both) != nil {
		return trial{refused: true, next: unevaluated}
	}
	fall, predicted := f.fall(), f.sub.fall()
	t.ratio = fall / predicted
	t.flat = damping <= 1 && predicted <= f.level() && math.Abs(fall) <= f.level()
	if !(fall > 0 && t.ratio > acceptedRatio) {
		t.next = back(fall, f.sub.slope())
		return t
	}
	if !both && (ctx.Err() != nil || f.evaluate(ctx, true) != nil) || f.linearise() != nil {
		return trial{refused: true, next: unevaluated}
	}
	t.taken = true
	t.next = onward(t.ratio)
	return t
}

// back is the next radius after a step that was not taken: where the parabola of the cost along it, through the slope at the
// present point and the value at the other, is least (Moré 1978, section 4).
func back(fall, slope float64) float64 {
	if fall >= 0 {
		return mostBack
	}
	return min(max(slope/(2*(slope+fall)), leastBack), mostBack)
}

// onward is the next radius after a step taken. The ratio's departure from one is taken to grow as the third power of the
// step, as it does in the long curved valleys in which most evaluations are spent; to double the radius there at every good
// step (MINPACK) gets every other step refused. The third power stands in Nielsen's rule for the damping, too.
func onward(ratio float64) float64 {
	part := min(max(math.Cbrt(departure/math.Abs(ratio-1)), leastKept), growth)
	if ratio > wellKept {
		return max(part, 1)
	}
	return part
}

// small is the reason of a step below the tolerance.
func small(wall bool) Stop {
	if wall {
		return Blocked
	}
	return StepSmall
}

// place puts the next point where the solved model leads, and gives the scaled lengths of the step and of the parameters.
func (f *fitter) place() (step, size float64) {
	copy(f.next.p, f.now.p)
	for c, k := range f.live {
		x := f.sub.x[c]
		s := f.longest[c]
		if s == 0 {
			s = 1
		}
		switch {
		case x <= f.sub.lower[c]:
			f.next.p[k] = f.problem.Lower[k]
		case x >= f.sub.upper[c]:
			f.next.p[k] = f.problem.Upper[k]
		default:
			f.next.p[k] = f.inside(k, f.now.p[k]+x/s)
		}
		step = math.Hypot(step, (f.next.p[k]-f.now.p[k])*s)
		size = math.Hypot(size, f.now.p[k]*s)
	}
	return step, size
}

// flat says whether the conditions of Karush, Kuhn and Tucker hold: every parameter stands at a bound that its gradient
// pushes against, or its column is at right angles to the residuals (the cosine test of Moré 1978, by which the units of the
// residuals do not matter).
func (f *fitter) flat() Stop {
	held := 0
	for c := range f.live {
		g, norm := f.sub.gradient(c)
		switch {
		case f.sub.lower[c] >= 0 && g > 0, f.sub.upper[c] <= 0 && g < 0:
			held++
		case math.Abs(g) > f.options.Gradient*norm*f.length:
			return 0
		}
	}
	if held == len(f.live) {
		return HeldByBounds
	}
	return GradientZero
}
