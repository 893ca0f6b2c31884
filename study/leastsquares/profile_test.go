package leastsquares

import (
	"context"
	"errors"
	"math"
	"testing"

	"pgregory.net/rapid"
)

// Quantiles from the tables: chi-square with one degree 3.841 at 95 %, F with 1 and 10 degrees 4.965 at 95 % and 10.04 at 99 %.
func TestRise(t *testing.T) {
	for _, v := range []struct{ level, variance, freedom, want, digits float64 }{
		{0.95, 1, math.Inf(1), 3.841459 / 2, 6},
		{0.95, 4, math.Inf(1), 2 * 3.841459, 6},
		{0.95, 1, 10, 4.9646 / 2, 4},
		{0.99, 1, 10, 10.044 / 2, 4},
	} {
		got, err := Rise(v.level, v.variance, v.freedom)
		if err != nil || digits(got, v.want) < v.digits {
			t.Error(v, got, err)
		}
	}
	for _, bad := range [][3]float64{{0, 1, 5}, {1, 1, 5}, {math.NaN(), 1, 5}, {0.9, 0, 5}, {0.9, math.Inf(1), 5}, {0.9, 1, 0}, {0.9, 1, math.NaN()}} {
		if _, err := Rise(bad[0], bad[1], bad[2]); err == nil {
			t.Error(bad)
		}
	}
}

// Of a linear problem the interval is the estimate and the deviation times the root of twice the rise.
func TestProfileOfLinearProblemsIsExact(t *testing.T) {
	ends, refits := 0, 0
	rapid.Check(t, func(t *rapid.T) {
		n := rapid.IntRange(1, 5).Draw(t, "n")
		m := n + rapid.IntRange(1, 10).Draw(t, "more rows")
		a, b := drawLinear(t, n, m)
		p := linear(a, b, nil, nil)
		r, err := Fit(context.Background(), p, make([]float64, n), Options{})
		if err != nil {
			t.Fatal(err)
		}
		rise := math.Exp(rapid.Float64Range(-3, 5).Draw(t, "ln rise"))
		c, err := r.Covariance(1, 0)
		if err != nil {
			t.Fatal(err)
		}
		for k := range n {
			deviation, _ := c.Deviation(k)
			v, err := Profile(context.Background(), p, r, k, rise, Options{})
			if err != nil || v.LowEnd != Found || v.HighEnd != Found || v.Better != nil || v.Unfinished != 0 {
				t.Fatalf("%v %+v", err, v)
			}
			want := deviation * math.Sqrt(2*rise)
			if math.Abs(r.P[k]-v.Low-want) > 1e-4*want || math.Abs(v.High-r.P[k]-want) > 1e-4*want {
				t.Fatalf("from %v to %v, want %v and %v", v.Low, v.High, r.P[k]-want, r.P[k]+want)
			}
			ends += 2
			refits += v.Refits
		}
	})
	if ends < 1000 || refits > ends+ends/20 {
		t.Error("ends, refits:", ends, refits)
	}
}

// costAt is the least cost with parameter k held, from many starts.
func costAt(t *testing.T, p Problem, k int, at float64, starts [][]float64) float64 {
	q := p
	q.Lower, q.Upper = append([]float64{}, p.Lower...), append([]float64{}, p.Upper...)
	q.Lower[k], q.Upper[k] = at, at
	best := math.Inf(1)
	for _, s := range starts {
		r, err := Fit(context.Background(), q, s, Options{})
		if err != nil {
			t.Fatal(err)
		}
		best = min(best, r.Cost)
	}
	return best
}

// An exponential decay: where the cost crosses the level on a dense grid, with refits from other starts.
func TestProfileOfADecayAgainstAGrid(t *testing.T) {
	p, truth := decay(0)
	r, err := Fit(context.Background(), p, truth, Options{})
	if err != nil {
		t.Fatal(err)
	}
	c, err := r.Covariance(1, 0)
	if err != nil {
		t.Fatal(err)
	}
	uneven := 0.0
	for k := range 3 {
		for _, rise := range []float64{0.5, 2, 60} { // one, two and eleven deviations
			v, err := Profile(context.Background(), p, r, k, rise, Options{})
			if err != nil || v.LowEnd != Found || v.HighEnd != Found || v.Better != nil {
				t.Fatalf("%v %+v", err, v)
			}
			deviation, _ := c.Deviation(k)
			reach := deviation * math.Sqrt(2*rise)
			starts := [][]float64{truth, {1, 0.5, 0}, {4, 1.5, 1}}
			crossings := []float64{}
			const points = 300
			above := true
			for i := range points + 1 {
				at := r.P[k] + reach*3*(2*float64(i)/points-1)
				now := costAt(t, p, k, at, starts) > r.Cost+rise
				if now != above {
					crossings = append(crossings, at)
				}
				above = now
			}
			step := reach * 6 / points
			if len(crossings) != 2 || v.Low > crossings[0] || v.Low < crossings[0]-step || v.High > crossings[1] || v.High < crossings[1]-step {
				t.Errorf("parameter %d, rise %g: from %v to %v, the grid says %v in steps of %v", k, rise, v.Low, v.High, crossings, step)
			}
			for _, at := range []float64{v.Low, v.High} {
				if got := costAt(t, p, k, at, starts) - r.Cost; math.Abs(got-rise) > 1e-4*rise {
					t.Errorf("parameter %d at %v: the cost rises by %v, asked for %v", k, at, got, rise)
				}
			}
			t.Logf("parameter %d, rise %4.1f: %.4f to %.4f (linear %.4f to %.4f), %d refits, %d evaluations", k, rise, v.Low, v.High, r.P[k]-reach, r.P[k]+reach, v.Refits, v.Evaluations)
			uneven = max(uneven, math.Abs((v.High-r.P[k])/(r.P[k]-v.Low)-1))
			if v.Refits > 12 {
				t.Error("refits:", v.Refits)
			}
		}
	}
	if uneven < 0.1 {
		t.Error("the intervals are even: the check is of a linear model", uneven)
	}
}

func TestEndsOfProfiles(t *testing.T) {
	ctx := context.Background()
	p, _ := decay(0)
	p.Lower, p.Upper = []float64{0, 0.78, 0}, []float64{10, 3, 10}
	r, err := Fit(ctx, p, []float64{3, 1, 0.5}, Options{})
	if err != nil {
		t.Fatal(err)
	}
	// A bound before the end, and a fit that stands at one.
	v, err := Profile(ctx, p, r, 1, 50, Options{})
	if err != nil || v.Low != 0.78 || v.LowEnd != BoundReached || v.HighEnd != Found {
		t.Errorf("%v %+v", err, v)
	}
	p.Lower[1] = 0.9
	r, err = Fit(ctx, p, []float64{3, 1, 0.5}, Options{})
	if err != nil || r.AtBound[1] != -1 {
		t.Fatal(err, r.P)
	}
	v, err = Profile(ctx, p, r, 1, 2, Options{})
	if err != nil || v.Low != 0.9 || v.LowEnd != BoundReached || v.HighEnd != Found || v.Refits > 6 {
		t.Errorf("%v %+v", err, v)
	}
	if got := costAt(t, p, 1, v.High, [][]float64{r.P}) - r.Cost; math.Abs(got-2) > 1e-3 {
		t.Error("the cost rises by", got)
	}
	// A parameter that no row sees, without bounds and with.
	lower, upper := unbounded(2)
	idle := Problem{Lower: lower, Upper: upper, Residuals: 2, Evaluate: func(_ context.Context, p, r, jac []float64) error {
		r[0], r[1] = p[0]-1, p[0]+1
		copy(jac, []float64{1, 0, 1, 0})
		return nil
	}}
	r, err = Fit(ctx, idle, []float64{3, 4}, Options{})
	if err != nil || r.P[1] != 4 {
		t.Fatal(err, r.P)
	}
	v, err = Profile(ctx, idle, r, 1, 1, Options{})
	if err != nil || v.LowEnd != NotReached || v.HighEnd != NotReached || !(v.Low < 0 && v.High > 1000) || v.Refits > 30 {
		t.Errorf("%v %+v", err, v)
	}
	idle.Lower, idle.Upper = []float64{-5, 0}, []float64{5, 7}
	r, err = Fit(ctx, idle, []float64{3, 4}, Options{})
	if err != nil {
		t.Fatal(err)
	}
	v, err = Profile(ctx, idle, r, 1, 1, Options{})
	if err != nil || v.LowEnd != BoundReached || v.HighEnd != BoundReached || v.Low != 0 || v.High != 7 {
		t.Errorf("%v %+v", err, v)
	}
	// A model that ends at 2, and one whose cost jumps there.
	for _, jump := range []float64{math.NaN(), 5} {
		lower, upper = unbounded(1)
		wall := Problem{Lower: lower, Upper: upper, Residuals: 1, Evaluate: func(_ context.Context, p, r, jac []float64) error {
			r[0] = p[0]
			copy(jac, []float64{1})
			if p[0] > 2 {
				r[0] += jump
			}
			return nil
		}}
		r, err = Fit(ctx, wall, []float64{-1}, Options{})
		if err != nil {
			t.Fatal(err)
		}
		v, err = Profile(ctx, wall, r, 0, 8, Options{})
		want := map[bool]End{true: NotEvaluable, false: Found}[math.IsNaN(jump)]
		if err != nil || v.LowEnd != Found || math.Abs(v.Low+4) > 1e-3 || v.HighEnd != want || math.Abs(v.High-2) > 1e-3 || v.Refits > 60 {
			t.Errorf("%v %+v", err, v)
		}
	}
}

// Where the line on which the others are foreseen leads out of the model they start from where they were: the second
// parameter follows the first as exp(-3 p0), which costs nothing, and the line is below zero from p0 = 4/3 on.
func TestProfileWhereTheForeseenStartCannotBeEvaluated(t *testing.T) {
	lower, upper := unbounded(2)
	p := Problem{Lower: lower, Upper: upper, Residuals: 2, Evaluate: func(_ context.Context, p, r, jac []float64) error {
		r[0], r[1] = p[0]-1, 10*(math.Log(p[1])+3*p[0])
		copy(jac, []float64{1, 0, 30, 10 / p[1]})
		return nil
	}}
	r, err := Fit(context.Background(), p, []float64{1.1, math.Exp(-3)}, Options{})
	if err != nil || math.Abs(r.P[0]-1) > 1e-6 {
		t.Fatal(err, r.P)
	}
	v, err := Profile(context.Background(), p, r, 0, 0.5, Options{})
	if err != nil || v.LowEnd != Found || v.HighEnd != Found || math.Abs(v.Low) > 1e-3 || math.Abs(v.High-2) > 1e-3 {
		t.Errorf("%v %+v", err, v)
	}
}

// An interval finer than the numbers near the fit ends after a few refits.
func TestProfileOfAnIntervalBelowTheNumbers(t *testing.T) {
	lower, upper := unbounded(1)
	p := Problem{Lower: lower, Upper: upper, Residuals: 1, Evaluate: func(_ context.Context, p, r, jac []float64) error {
		r[0] = 1e10 * (p[0] - 1e9)
		copy(jac, []float64{1e10})
		return nil
	}}
	r, err := Fit(context.Background(), p, []float64{1e9 - 1}, Options{})
	if err != nil {
		t.Fatal(err)
	}
	v, err := Profile(context.Background(), p, r, 0, 1e-3, Options{})
	if err != nil || v.LowEnd != Found || v.HighEnd != Found || math.Abs(v.Low-1e9) > 1e-6 || math.Abs(v.High-1e9) > 1e-6 || v.Refits > 10 {
		t.Errorf("%v %+v", err, v)
	}
}

// Of a fit that was broken off the profile says that there is a better point.
func TestProfileTellsOfABetterPoint(t *testing.T) {
	p, truth := decay(0)
	r, err := Fit(context.Background(), p, truth, Options{MaxEvaluations: 1})
	if err != nil || r.Reason != Limit {
		t.Fatal(err, r.Reason)
	}
	best, err := Fit(context.Background(), p, truth, Options{})
	if err != nil {
		t.Fatal(err)
	}
	v, err := Profile(context.Background(), p, r, 0, 0.5, Options{})
	if err != nil || v.Better == nil || !(v.BetterCost < r.Cost) || v.BetterCost < best.Cost {
		t.Errorf("%v %+v", err, v)
	}
	v, err = Profile(context.Background(), p, best, 0, 0.5, Options{MaxEvaluations: 1})
	if err != nil || v.Unfinished == 0 {
		t.Errorf("%v %+v", err, v)
	}
}

// From the higher minimum of Freudenstein and Roth, where the Jacobian is all but singular and the first step far too long: with
// the first parameter fitted the cost is h²/4 with h = -2y³ + 4y² + 12y + 16, which rises by 300 where h² = 1200 + h0².
func TestProfileWhereTheFirstStepIsFarTooLong(t *testing.T) {
	f := classics[1]
	p := exact(2, 2, nil, nil, f.rows)
	r, err := Fit(context.Background(), p, f.start, Options{})
	if err != nil || digits(2*r.Cost, f.squares[1]) < 9 {
		t.Fatal(err, r.Cost)
	}
	h := func(y float64) float64 { return ((-2*y+4)*y+12)*y + 16 }
	v, err := Profile(context.Background(), p, r, 1, 300, Options{})
	if err != nil || v.LowEnd != Found || v.HighEnd != Found {
		t.Fatalf("%v %+v", err, v)
	}
	for _, y := range []float64{v.Low, v.High} {
		if rise := h(y)*h(y)/4 - r.Cost; math.Abs(rise-300) > 0.1 {
			t.Errorf("at %v the cost rises by %v; %+v", y, rise, v)
		}
	}
}

// A hollow y = 2·x² in a plain: beside it the cost is flat, and a refit that starts there stays there. In the hollow it rises by x²/200,
// so the ends are ±√(200·rise); what is called an end is one, and an end that was missed is not called one.
func TestProfileAlongABentHollow(t *testing.T) {
	lower, upper := unbounded(2)
	p := Problem{Lower: lower, Upper: upper, Residuals: 2, Evaluate: func(_ context.Context, p, r, jac []float64) error {
		off := p[1] - 2*p[0]*p[0]
		hollow := math.Exp(-off * off / 2)
		r[0], r[1] = p[0]/10, 5*(1-hollow)
		copy(jac, []float64{0.1, 0, 5 * hollow * off * -4 * p[0], 5 * hollow * off})
		return nil
	}}
	r, err := Fit(context.Background(), p, []float64{0.2, 0.1}, Options{})
	if err != nil || math.Abs(r.P[0]) > 1e-3 {
		t.Fatal(err, r.P)
	}
	held, missed := 0, 0
	for _, rise := range []float64{1e-4, 1e-3, 0.01, 0.1, 1, 1.92, 3.3, 5} {
		v, err := Profile(context.Background(), p, r, 0, rise, Options{})
		if err != nil {
			t.Fatal(err)
		}
		want := math.Sqrt(200 * rise)
		for _, end := range []struct {
			how End
			at  float64
		}{{v.LowEnd, -v.Low}, {v.HighEnd, v.High}} {
			switch {
			case end.how != Found:
				missed++
			case math.Abs(end.at/want-1) > 0.02:
				t.Errorf("rise %g: the end is %g, truly %g", rise, end.at, want)
			default:
				held++
			}
		}
	}
	t.Logf("%d ends found, %d missed", held, missed)
	if held < 8 || missed == 0 {
		t.Errorf("%d ends found, %d missed: neither case is tried", held, missed)
	}
}

func TestProfileIsCancelledAndRefuses(t *testing.T) {
	p, truth := decay(0)
	r, err := Fit(context.Background(), p, truth, Options{})
	if err != nil {
		t.Fatal(err)
	}
	ctx, cancel := context.WithCancel(context.Background())
	inner, calls := p.Evaluate, 0
	p.Evaluate = func(ctx context.Context, x, r, jac []float64) error {
		if calls++; calls == 5 {
			cancel()
		}
		return inner(ctx, x, r, jac)
	}
	if _, err := Profile(ctx, p, r, 1, 2, Options{}); !errors.Is(err, context.Canceled) || calls > 6 {
		t.Error(err, calls)
	}
	p.Evaluate = inner
	fixed := p
	fixed.Lower, fixed.Upper = append([]float64{}, p.Lower...), append([]float64{}, p.Upper...)
	fixed.Lower[1], fixed.Upper[1] = 1, 1
	rf, err := Fit(context.Background(), fixed, truth, Options{})
	if err != nil {
		t.Fatal(err)
	}
	for i, bad := range []func() (Interval, error){
		func() (Interval, error) { return Profile(context.Background(), p, Result{}, 1, 2, Options{}) },
		func() (Interval, error) { return Profile(context.Background(), p, r, 3, 2, Options{}) },
		func() (Interval, error) { return Profile(context.Background(), p, r, -1, 2, Options{}) },
		func() (Interval, error) { return Profile(context.Background(), p, r, 1, 0, Options{}) },
		func() (Interval, error) { return Profile(context.Background(), p, r, 1, math.NaN(), Options{}) },
		func() (Interval, error) { return Profile(context.Background(), fixed, rf, 1, 2, Options{}) },
		func() (Interval, error) { return Profile(context.Background(), p, r, 1, 2, Options{Step: -1}) },
	} {
		var e *Error
		if _, err := bad(); !errors.As(err, &e) {
			t.Error(i, err)
		}
	}
	for e := range End(6) {
		if (e.String() == "not looked for") != (e < Found || e > NotEvaluable) {
			t.Error(int(e), e)
		}
	}
}
