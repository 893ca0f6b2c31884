package leastsquares

import (
	"context"
	"math"
	"slices"

	"gonum.org/v1/gonum/blas/blas64"
)

// The damping, in scaled parameters whose columns are no longer than one: where it starts, and how far it may fall and rise.
const (
	firstDamping    = 1e-3
	cautiousDamping = 100 // the most that the first step is held back by
	smallestDamping = 1e-30
	largestDamping  = 1e30
	acceptedRatio   = 1e-4  // of the fall in cost to the one predicted
	nearlyExact     = 0.01  // how close to one that ratio is where the linear model holds
	finestReduction = 1e-15 // of the cost: what rounding leaves of a difference
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

// run takes steps until one of the reasons to stop holds.
func (f *fitter) run(ctx context.Context) Stop {
	damping, factor := firstDamping, 2.0
	wall := false // the model could not be evaluated ahead, and no step but a short one was taken since
	taken := true // the last step was taken
	for {
		if taken {
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
		if !f.sub.solve(damping) {
			return GradientZero
		}
		step, size := f.place()
		for f.evaluations == 1 && size > 0 && step > size && damping < cautiousDamping && f.sub.fall() > f.now.cost/10 {
			// The first step is to be no longer than the parameters: a start far off must not be thrown where the model is flat.
			damping *= 2
			f.sub.solve(damping)
			step, size = f.place()
		}
		if step == 0 {
			return small(wall)
		}
		short := step <= f.options.Step*size
		// After a step taken the next one is likely to be, too: its Jacobian is asked for at once.
		t := f.try(ctx, taken && !short, damping)
		if ctx.Err() != nil && !t.taken {
			return Cancelled
		}
		taken = t.taken
		wall = t.refused || wall && !(taken && damping <= 1)
		if taken {
			f.advance()
			damping = max(damping*t.shrink(wall), smallestDamping)
			factor = 2
		} else {
			damping *= factor
			factor *= 2
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
}

// try evaluates the next point, with its Jacobian at once or only where the step is worth taking.
func (f *fitter) try(ctx context.Context, both bool, damping float64) (t trial) {
	if f.evaluate(ctx, both) != nil {
		t.refused = true
		return t
	}
	fall, predicted := f.fall(), f.sub.fall()
	t.ratio = fall / predicted
	level := max(f.options.Reduction, finestReduction) * f.now.cost
	t.flat = damping <= 1 && predicted <= level && math.Abs(fall) <= level
	if !(fall > 0 && t.ratio > acceptedRatio) {
		return t
	}
	if !both && (ctx.Err() != nil || f.evaluate(ctx, true) != nil) || f.linearise() != nil {
		t.refused, t.flat = true, false
		return t
	}
	t.taken = true
	return t
}

// shrink is the factor by which damping falls after a step taken: Nielsen's, and a stronger one where the linear model is
// nearly exact and no wall is near.
func (t trial) shrink(wall bool) float64 {
	if math.Abs(t.ratio-1) < nearlyExact && !wall {
		return 0.01
	}
	return max(1.0/3, 1-math.Pow(2*min(t.ratio, 2)-1, 3))
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
