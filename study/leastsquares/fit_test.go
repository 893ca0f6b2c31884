package leastsquares

import (
	"context"
	"errors"
	"fmt"
	"math"
	"math/rand/v2"
	"slices"
	"strings"
	"sync"
	"testing"

	"pgregory.net/rapid"
)

// noisy gives seeded normal numbers.
func noisy(seed uint64) func() float64 { return rand.New(rand.NewPCG(seed, 1)).NormFloat64 }

// twoDecays is a p0 exp(-p1 x) + p2 exp(-p3 x) over 30 points, drawn with its box, for properties of nonlinear fits.
func twoDecays(t *rapid.T) (p Problem, start []float64) {
	r := noisy(rapid.Uint64().Draw(t, "noise"))
	truth := []float64{2, 0.3, 1, 2}
	lower, upper := make([]float64, 4), make([]float64, 4)
	start = make([]float64, 4)
	for k := range truth {
		truth[k] *= math.Exp(rapid.Float64Range(-0.5, 0.5).Draw(t, "ln truth"))
		// The truth may lie outside.
		lower[k] = truth[k] * rapid.Float64Range(0.3, 1.1).Draw(t, "lower")
		upper[k] = lower[k] * rapid.Float64Range(1.2, 4).Draw(t, "upper")
		start[k] = lower[k] + (upper[k]-lower[k])*rapid.Float64Range(0, 1).Draw(t, "start")
	}
	y := make([]float64, 30)
	for i := range y {
		x := 0.2 * float64(i)
		y[i] = truth[0]*math.Exp(-truth[1]*x) + truth[2]*math.Exp(-truth[3]*x) + 0.02*r()
	}
	return Problem{Lower: lower, Upper: upper, Residuals: len(y), Evaluate: func(_ context.Context, p, r, jac []float64) error {
		for i := range r {
			x := 0.2 * float64(i)
			a, b := math.Exp(-p[1]*x), math.Exp(-p[3]*x)
			r[i] = (p[0]*a + p[2]*b - y[i]) / 0.02
			if jac != nil {
				copy(jac[4*i:], []float64{a / 0.02, -x * p[0] * a / 0.02, b / 0.02, -x * p[2] * b / 0.02})
			}
		}
		return nil
	}}, start
}

// At every result the conditions of Karush, Kuhn and Tucker hold, by a gradient computed here from the model.
func TestConditionsOfTheMinimum(t *testing.T) {
	inside, held := 0, 0
	rapid.Check(t, func(t *rapid.T) {
		p, start := twoDecays(t)
		l := rapid.SampledFrom(losses[:4]).Draw(t, "loss")
		r, err := Fit(context.Background(), p, start, Options{Loss: l, MaxEvaluations: 3000, Reduction: 1e-15})
		if err != nil {
			t.Fatal(err)
		}
		if !r.Reason.Converged() {
			t.Fatal(r.Reason, r.P)
		}
		res, jac := make([]float64, p.Residuals), make([]float64, 4*p.Residuals)
		_ = p.Evaluate(context.Background(), r.P, res, jac)
		length := 0.0
		for _, x := range res {
			length = math.Hypot(length, x)
		}
		for k := range 4 {
			g, norm := 0.0, 0.0
			for i, x := range res {
				_, w, _ := l.At(x * x)
				g += w * x * jac[4*i+k]
				norm = math.Hypot(norm, jac[4*i+k])
			}
			if math.Abs(g-r.Gradient[k]) > 1e-8*norm*length {
				t.Fatalf("gradient %d is %v, and the result says %v", k, g, r.Gradient[k])
			}
			at := r.AtBound[k]
			if at == 0 && math.Abs(g) > 2e-6*norm*length || at < 0 && g < -1e-6*norm*length || at > 0 && g > 1e-6*norm*length {
				t.Fatalf("parameter %d at bound %d has the gradient %g of %g; %v after %d", k, at, g, norm*length, r.Reason, r.Evaluations)
			}
			if at == 0 {
				inside++
			} else {
				held++
			}
		}
	})
	if inside < 200 || held < 200 {
		t.Error("inside, held:", inside, held)
	}
}

// rescaled measures parameter k in units of unit[k].
func rescaled(p Problem, unit []float64) Problem {
	q := p
	q.Lower, q.Upper = slices.Clone(p.Lower), slices.Clone(p.Upper)
	for k, u := range unit {
		q.Lower[k] /= u
		q.Upper[k] /= u
	}
	q.Evaluate = func(ctx context.Context, x, r, jac []float64) error {
		y := slices.Clone(x)
		for k, u := range unit {
			y[k] *= u
		}
		if err := p.Evaluate(ctx, y, r, jac); err != nil {
			return err
		}
		for i := range jac {
			jac[i] *= unit[i%len(unit)]
		}
		return nil
	}
	return q
}

func TestUnitsDoNotMatter(t *testing.T) {
	rows := 0
	rapid.Check(t, func(t *rapid.T) {
		p, start := twoDecays(t)
		a, err := Fit(context.Background(), p, start, Options{})
		if err != nil {
			t.Fatal(err)
		}
		// Units that are powers of two are exact: every number of the fit is the same to the bit.
		unit, scaled := make([]float64, 4), make([]float64, 4)
		for k := range unit {
			unit[k] = math.Ldexp(1, rapid.IntRange(-40, 40).Draw(t, "power"))
			scaled[k] = start[k] / unit[k]
		}
		b, err := Fit(context.Background(), rescaled(p, unit), scaled, Options{})
		if err != nil {
			t.Fatal(err)
		}
		if a.Cost != b.Cost || a.Evaluations != b.Evaluations || a.Reason != b.Reason {
			t.Fatalf("cost %v and %v, %d and %d evaluations, %v and %v", a.Cost, b.Cost, a.Evaluations, b.Evaluations, a.Reason, b.Reason)
		}
		for k := range unit {
			if a.P[k] != b.P[k]*unit[k] {
				t.Fatalf("parameter %d is %v and %v", k, a.P[k], b.P[k]*unit[k])
			}
			rows++
		}
	})
	if rows < 1000 {
		t.Error("rows:", rows)
	}
}

// Any order of the rows leads to the same minimum, up to rounding.
func TestOrderOfRowsDoesNotMatter(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		p, start := twoDecays(t)
		order := rapid.Permutation([]int{0, 1, 2, 3, 4, 5, 6, 7, 8, 9, 10, 11, 12, 13, 14, 15, 16, 17, 18, 19, 20, 21, 22, 23, 24, 25, 26, 27, 28, 29}).Draw(t, "order")
		q := p
		q.Evaluate = func(ctx context.Context, x, r, jac []float64) error {
			rr, jj := make([]float64, len(r)), make([]float64, len(jac))
			if jac == nil {
				jj = nil
			}
			_ = p.Evaluate(ctx, x, rr, jj)
			for i, from := range order {
				r[i] = rr[from]
				if jac != nil {
					copy(jac[4*i:4*i+4], jj[4*from:])
				}
			}
			return nil
		}
		a, err := Fit(context.Background(), p, start, Options{Reduction: 1e-15})
		b, err2 := Fit(context.Background(), q, start, Options{Reduction: 1e-15})
		if err != nil || err2 != nil {
			t.Fatal(err, err2)
		}
		if math.Abs(a.Cost-b.Cost) > 1e-9*(1+a.Cost) {
			t.Fatal(a.Cost, b.Cost)
		}
		c, err := a.Covariance(1, 0)
		if err != nil {
			t.Fatal(err)
		}
		for k := range a.P {
			deviation, _ := c.Deviation(k)
			if a.AtBound[k] == 0 && math.Abs(a.P[k]-b.P[k]) > 1e-4*deviation+1e-9 {
				t.Fatalf("parameter %d is %v and %v; deviation %v", k, a.P[k], b.P[k], deviation)
			}
		}
	})
}

func TestTheSameBitsOnEveryRun(t *testing.T) {
	p, _ := decay(5)
	var wait sync.WaitGroup
	results := make([]Result, 8)
	for i := range results {
		wait.Go(func() { results[i], _ = Fit(context.Background(), p, []float64{1, 1, 0}, Options{Loss: Cauchy(2)}) })
	}
	wait.Wait()
	want := fmt.Sprintf("%+v", results[0])
	for i, r := range results {
		if fmt.Sprintf("%+v", r) != want || r.Reason == 0 {
			t.Error(i, r)
		}
	}
}

func TestProgressFalls(t *testing.T) {
	p, _ := decay(0)
	calls, last := 0, math.Inf(1)
	r, err := Fit(context.Background(), p, []float64{1, 5, 0}, Options{Progress: func(s Progress) {
		calls++
		if !(s.Cost < last) || len(s.P) != 3 {
			t.Error(s, "after", last)
		}
		last = s.Cost
	}})
	if err != nil || last != r.Cost || calls < 4 || calls > r.Jacobians {
		t.Error(err, calls, last, r.Cost, r.Jacobians)
	}
}

// Two parameters of which only the sum counts, and one that counts for nothing: they stay where the start put them.
func TestNullDirectionsDoNotWander(t *testing.T) {
	moved := 0
	rapid.Check(t, func(t *rapid.T) {
		x := rapid.SliceOfN(rapid.Float64Range(-2, 2), 4, 4).Draw(t, "start")
		lower, upper := unbounded(4)
		r := noisy(3)
		y := make([]float64, 50)
		for i := range y {
			y[i] = 3*math.Exp(-0.1*float64(i)) + 0.1*r()
		}
		p := Problem{Lower: lower, Upper: upper, Residuals: 50, Evaluate: func(_ context.Context, p, r, jac []float64) error {
			for i := range r {
				e := math.Exp(-0.1 * float64(i) * math.Exp(p[2]))
				r[i] = (p[0]+p[1])*e - y[i]
				if jac != nil {
					copy(jac[4*i:], []float64{e, e, -(p[0] + p[1]) * 0.1 * float64(i) * math.Exp(p[2]) * e, 0})
				}
			}
			return nil
		}}
		res, err := Fit(context.Background(), p, x, Options{})
		if err != nil {
			t.Fatal(err)
		}
		if res.P[3] != x[3] {
			t.Fatalf("the idle parameter went from %v to %v", x[3], res.P[3])
		}
		// Where the fit runs away the third parameter is all but unseen itself, and its direction good to fewer digits.
		if math.Abs(res.P[0]-res.P[1]-(x[0]-x[1])) > 1e-6 {
			t.Fatalf("the difference went from %v to %v", x[0]-x[1], res.P[0]-res.P[1])
		}
		if math.Abs(res.P[0]+res.P[1]-3) < 0.2 && math.Abs(res.P[2]) < 0.2 {
			moved++
			if math.Abs(res.P[0]-res.P[1]-(x[0]-x[1])) > 1e-8 {
				t.Fatalf("the difference went from %v to %v", x[0]-x[1], res.P[0]-res.P[1])
			}
			c, err := res.Covariance(1, 0)
			if err != nil || c.Rank != 2 || len(c.Null()) != 2 {
				t.Fatal(err, c.Rank, c.Singular)
			}
			for k, want := range []bool{false, false, true, false} {
				if _, ok := c.Deviation(k); ok != want {
					t.Fatalf("parameter %d determined: %v", k, ok)
				}
			}
			for _, d := range c.Null() {
				if math.Abs(d[0]+d[1]) > 1e-12 || math.Abs(d[2]) > 1e-12 || d[0] == 0 && d[3] == 0 {
					t.Fatalf("the null direction is %v", d)
				}
			}
		}
	})
	if moved < 100 {
		t.Error("found the minimum only", moved, "times")
	}
}

// notEverywhere is r = (log x - log 0.5, (x - 3)/10) with x = p - 10, which cannot be evaluated for p <= 10: Evaluate says so by an error, a
// residual or a derivative.
func notEverywhere(how string) Problem {
	lower, upper := unbounded(1)
	return Problem{Lower: lower, Upper: upper, Residuals: 2, Evaluate: func(_ context.Context, p, r, jac []float64) error {
		x := p[0] - 10
		r[0], r[1] = math.Log(x/0.5), (x-3)/10
		if jac != nil {
			jac[0], jac[1] = 1/x, 0.1
		}
		if x > 0 {
			return nil
		}
		switch how {
		case "error":
			return errors.New("no logarithm")
		case "derivative":
			r[0], r[1] = 0.01, 0 // looks good
			if jac != nil {
				jac[0] = math.Inf(1)
			}
		case "derivative of none":
			r[0], r[1] = 0, 0
			if jac != nil {
				jac[0], jac[1] = math.NaN(), math.NaN()
			}
		}
		return nil
	}}
}

func TestPlacesWhereTheModelCannotBeEvaluated(t *testing.T) {
	met := 0
	for _, how := range []string{"error", "residual", "derivative", "derivative of none"} {
		p := notEverywhere(how)
		inner, refused := p.Evaluate, 0
		p.Evaluate = func(ctx context.Context, x, r, jac []float64) error {
			if x[0] <= 10 {
				refused++
			}
			return inner(ctx, x, r, jac)
		}
		r, err := Fit(context.Background(), p, []float64{16}, Options{})
		if x := r.P[0] - 10; err != nil || !r.Reason.Converged() || math.Abs(math.Log(x/0.5)/x+(x-3)/100) > 1e-8 {
			t.Error(how, err, r.P, r.Reason)
		}
		met += refused
		r, err = Fit(context.Background(), p, []float64{-1}, Options{})
		var e *Error
		if !errors.As(err, &e) || strings.Contains(err.Error(), "\n") {
			t.Error(how, err)
			continue
		}
		if wantRow := map[string]int{"error": -1}; how != "error" && e.Row != 0 || how == "error" && e.Row != wantRow[how] {
			t.Error(how, "names row", e.Row, err)
		}
		if strings.HasPrefix(how, "derivative") && e.Parameter != 0 {
			t.Error(how, "names parameter", e.Parameter)
		}
	}
	if met < 4 {
		t.Error("the wall was met only", met, "times")
	}
	// The minimum lies behind the wall, where the model fails or only its derivative does.
	lower, upper := unbounded(1)
	for _, beyond := range []struct {
		err   error
		slope float64
	}{{errors.New("wall"), 1}, {nil, math.NaN()}} {
		r, err := Fit(context.Background(), Problem{Lower: lower, Upper: upper, Residuals: 1, Evaluate: func(_ context.Context, p, r, jac []float64) error {
			slope := 1.0
			if p[0] < 1 {
				if beyond.err != nil {
					return beyond.err
				}
				slope = beyond.slope
			}
			r[0] = p[0]
			copy(jac, []float64{slope})
			return nil
		}}, []float64{5}, Options{})
		if err != nil || r.Reason != Blocked || r.P[0] < 1 || r.P[0] > 1.001 {
			t.Error(beyond, err, r.P, r.Reason)
		}
	}
	// Residuals and derivatives whose squares overflow.
	for i, big := range [][2]float64{{1e200, 1}, {1, 1e200}} {
		_, err := Fit(context.Background(), Problem{Lower: lower, Upper: upper, Residuals: 1, Evaluate: func(_ context.Context, p, r, jac []float64) error {
			r[0] = big[0]
			if jac != nil {
				jac[0] = big[1]
			}
			return nil
		}}, []float64{5}, Options{})
		if (err == nil) != (i == 1) {
			t.Error(big, err)
		}
	}
}

func TestCancelling(t *testing.T) {
	p, _ := decay(0)
	inner := p.Evaluate
	o := Options{Step: 1e-5, Reduction: 1e-15} // the last step is a short one
	whole, err := Fit(context.Background(), p, []float64{1, 5, 0}, o)
	if err != nil || whole.Reason != StepSmall {
		t.Fatal(err, whole.Reason)
	}
	last := math.Inf(1)
	for n := range whole.Evaluations {
		for _, obeys := range []bool{false, true} {
			ctx, cancel := context.WithCancel(context.Background())
			calls := 0
			p.Evaluate = func(ctx context.Context, x, r, jac []float64) error {
				if calls++; calls > n {
					cancel()
				}
				if obeys && ctx.Err() != nil {
					return ctx.Err()
				}
				return inner(ctx, x, r, jac)
			}
			r, err := Fit(ctx, p, []float64{1, 5, 0}, o)
			cancel()
			switch {
			case n == 0 && obeys:
				if !errors.Is(err, context.Canceled) {
					t.Error(err)
				}
			case err != nil:
				t.Error(n, obeys, err)
			case r.Reason != Cancelled && (obeys || n < whole.Evaluations-1) || calls > n+1:
				t.Error(n, obeys, r.Reason, calls)
			case obeys:
				if r.Cost > last {
					t.Error(n, "cost", r.Cost, "after", last)
				}
				last = r.Cost
			}
		}
	}
	ctx, cancel := context.WithCancel(context.Background())
	cancel()
	if _, err := Fit(ctx, p, []float64{1, 5, 0}, Options{}); !errors.Is(err, context.Canceled) {
		t.Error(err)
	}
	for n := 1; n < whole.Evaluations-1; n++ {
		p.Evaluate = inner
		r, err := Fit(context.Background(), p, []float64{1, 5, 0}, Options{Step: o.Step, Reduction: o.Reduction, MaxEvaluations: n})
		if err != nil || r.Reason != Limit || r.Evaluations > n+1 {
			t.Error(n, err, r.Reason, r.Evaluations)
		}
	}
}

func TestFixedParametersAndHeldFits(t *testing.T) {
	p, _ := decay(0)
	inner := p.Evaluate
	p.Evaluate = func(ctx context.Context, x, r, jac []float64) error {
		err := inner(ctx, x, r, jac)
		for i := 1; i < len(jac); i += 3 {
			jac[i] = math.NaN() // of the fixed parameter: not to be read
		}
		return err
	}
	p.Lower[1], p.Upper[1] = 0.9, 0.9
	r, err := Fit(context.Background(), p, []float64{1, 7, 0}, Options{})
	if err != nil || r.P[1] != 0.9 || r.AtBound[1] != 0 || r.Gradient[1] != 0 || r.Reason == HeldByBounds || !r.Reason.Converged() {
		t.Error(err, r.P, r.AtBound, r.Reason)
	}
	p.Lower, p.Upper = []float64{10, 0.9, 10}, []float64{20, 0.9, 20}
	r, err = Fit(context.Background(), p, []float64{15, 0.9, 15}, Options{})
	if err != nil || r.Reason != HeldByBounds || !slices.Equal(r.AtBound, []int8{-1, 0, -1}) || r.Gradient[0] <= 0 {
		t.Error(err, r.P, r.AtBound, r.Reason)
	}
	p.Lower, p.Upper = []float64{1, 1, 1}, []float64{1, 1, 1}
	r, err = Fit(context.Background(), p, []float64{0, 0, 0}, Options{})
	if err != nil || r.Reason != HeldByBounds || !slices.Equal(r.P, []float64{1, 1, 1}) {
		t.Error(err, r.P, r.Reason)
	}
}

func TestWrongQuestionsAreRefused(t *testing.T) {
	good, _ := decay(0)
	refused := 0
	for name, spoil := range map[string]func(p *Problem, start *[]float64, o *Options){
		"no parameters":  func(p *Problem, _ *[]float64, _ *Options) { p.Lower = nil },
		"uneven bounds":  func(p *Problem, _ *[]float64, _ *Options) { p.Upper = p.Upper[:2] },
		"short start":    func(_ *Problem, s *[]float64, _ *Options) { *s = (*s)[:2] },
		"no rows":        func(p *Problem, _ *[]float64, _ *Options) { p.Residuals = 0 },
		"no model":       func(p *Problem, _ *[]float64, _ *Options) { p.Evaluate = nil },
		"crossed bounds": func(p *Problem, _ *[]float64, _ *Options) { p.Lower[1], p.Upper[1] = 2, 1 },
		"NaN bound":      func(p *Problem, _ *[]float64, _ *Options) { p.Lower[1] = math.NaN() },
		"infinite box":   func(p *Problem, _ *[]float64, _ *Options) { p.Lower[1] = math.Inf(1) },
		"NaN start":      func(_ *Problem, s *[]float64, _ *Options) { (*s)[1] = math.NaN() },
		"infinite start": func(_ *Problem, s *[]float64, _ *Options) { (*s)[1] = math.Inf(-1) },
		"loss":           func(_ *Problem, _ *[]float64, o *Options) { o.Loss = Huber(0) },
		"NaN loss":       func(_ *Problem, _ *[]float64, o *Options) { o.Loss = Cauchy(math.NaN()) },
		"limit":          func(_ *Problem, _ *[]float64, o *Options) { o.MaxEvaluations = -1 },
		"step":           func(_ *Problem, _ *[]float64, o *Options) { o.Step = -1 },
		"gradient":       func(_ *Problem, _ *[]float64, o *Options) { o.Gradient = math.NaN() },
		"reduction":      func(_ *Problem, _ *[]float64, o *Options) { o.Reduction = 1 },
		"rank":           func(_ *Problem, _ *[]float64, o *Options) { o.RankTolerance = 2 },
	} {
		p := good
		p.Lower, p.Upper = slices.Clone(good.Lower), slices.Clone(good.Upper)
		start, o := []float64{1, 1, 1}, Options{}
		spoil(&p, &start, &o)
		_, err := Fit(context.Background(), p, start, o)
		var e *Error
		if !errors.As(err, &e) || strings.Contains(err.Error(), "\n") || !strings.HasPrefix(err.Error(), "least squares: ") {
			t.Error(name, err)
			continue
		}
		refused++
	}
	if refused != 17 {
		t.Error("refused", refused)
	}
	for s := range Stop(9) {
		if (s.String() == "not stopped") != (s < GradientZero || s > Cancelled) {
			t.Error(int(s), s)
		}
	}
}
