package leastsquares

import (
	"context"
	"math"
	"slices"
	"testing"

	"gonum.org/v1/gonum/mat"
	"pgregory.net/rapid"
)

// The step within a radius is the minimum in the box for its damping, and as long as the radius unless the damping is the
// least one.
func TestStepWithinARadius(t *testing.T) {
	whole, limited, held := 0, 0, 0
	rapid.Check(t, func(t *rapid.T) {
		n := rapid.IntRange(1, 6).Draw(t, "n")
		s := newSubproblem(n, defaultRank)
		for i := range n {
			for k := i; k < n; k++ {
				s.a[i*n+k] = rapid.Float64Range(-1, 1).Draw(t, "a") * math.Pow(10, -rapid.SampledFrom([]float64{0, 0, 0, 160, 300}).Draw(t, "decades down"))
			}
			s.q[i] = rapid.Float64Range(-3, 3).Draw(t, "q")
			s.lower[i] = -math.Exp(rapid.Float64Range(-4, 4).Draw(t, "ln below"))
			s.upper[i] = math.Exp(rapid.Float64Range(-4, 4).Draw(t, "ln above"))
		}
		radius := math.Exp(rapid.Float64Range(-20, 4).Draw(t, "ln radius"))
		least := rapid.SampledFrom([]float64{0, 1e-6, 1e-2}).Draw(t, "least damping")
		damping, moves := s.within(radius, least)
		if !moves {
			t.Skip("nothing moves")
		}
		got, length := slices.Clone(s.x), s.length()
		switch {
		case damping == least && length <= 1.1*radius:
			whole++
		case damping > least && math.Abs(length-radius) <= 0.1*radius:
			limited++
		default:
			t.Fatalf("a step of %g with the damping %g for the radius %g and the least damping %g", length, damping, radius, least)
		}
		for k, x := range got {
			if x == s.lower[k] || x == s.upper[k] {
				held++
			}
		}
		s.solve(damping)
		if !slices.Equal(got, s.x) {
			t.Fatalf("the step is %v, for its damping %v", got, s.x)
		}
		s.solve(0)
		// The slope against a difference along the step: the model is a parabola, so that only rounding is left.
		slope, far := s.slope(), s.fall()
		for k := range s.x {
			s.x[k] /= 2
		}
		s.product()
		if want := far - 4*s.fall(); math.Abs(slope-want) > 1e-12*(1+math.Abs(far)+math.Abs(slope)) {
			t.Fatalf("the slope is %g, by differences %g", slope, want)
		}
	})
	if whole < 20 || limited < 20 || held < 20 {
		t.Error("whole, limited, held:", whole, limited, held)
	}
}

func TestNextRadius(t *testing.T) {
	checked := 0
	rapid.Check(t, func(t *rapid.T) {
		// The cost along a step is a parabola, least at the part at which it is to be cut.
		least := rapid.Float64Range(0.01, 0.49).Draw(t, "least at")
		slope := -math.Exp(rapid.Float64Range(-9, 9).Draw(t, "ln slope"))
		fall := -slope * (1 - 1/(2*least)) // of -slope t (1 - t/(2 least)) at t = 1
		if got, want := back(fall, slope), max(least, 0.1); math.Abs(got-want) > 1e-9 {
			t.Fatalf("cut to %g, want %g", got, want)
		}
		// Where the ratio departs from one as the third power, the next one departs by 0.4, within what the radius may change.
		departs := rapid.Float64Range(0.4/27, 0.74).Draw(t, "departs")
		part := onward(1 - departs)
		want := departure
		if departs > departure {
			want = departs // not made shorter for a ratio above a quarter
		}
		if next := departs * part * part * part; math.Abs(next-want) > 1e-9 {
			t.Fatalf("the ratio is to depart by %g, not %g", next, want)
		}
		checked++
	})
	for ratio, want := range map[float64]float64{1: 3, 1 + 1e-9: 3, 2: 1, 1e9: 1, 0.3: 1, -0.2 + 0.4: math.Cbrt(0.5)} {
		if got := onward(ratio); math.Abs(got-want) > 1e-12 {
			t.Error("ratio", ratio, "gives", got, "not", want)
		}
	}
	if checked < 100 {
		t.Error("checked:", checked)
	}
}

// A linear model that held at the last step and predicts nothing more is believed: no evaluation is spent on a look.
func TestLastLookIsSaved(t *testing.T) {
	a := mat.NewDense(3, 2, []float64{2, 1, 1, 3, 1, 1})
	calls, points := 0, map[[2]float64]bool{}
	p := linear(a, []float64{1, 2, 4}, nil, nil)
	inner := p.Evaluate
	p.Evaluate = func(ctx context.Context, x, r, jac []float64) error {
		calls++
		points[[2]float64(x)] = true
		return inner(ctx, x, r, jac)
	}
	r, err := Fit(context.Background(), p, []float64{5, 5}, Options{Reduction: 1e-6})
	// Two steps: a damped one, and one that is all but the whole.
	if err != nil || r.Reason != CostFlat || r.Evaluations != 3 || calls != 3 || len(points) != 3 {
		t.Error(err, r.Reason, r.Evaluations, calls, points)
	}
	want, cost := direct(a, []float64{1, 2, 4}, []int{0, 1}, []float64{0, 0})
	if r.Cost-cost > 1e-9*cost || math.Abs(r.P[0]-want[0]) > 1e-4 || math.Abs(r.P[1]-want[1]) > 1e-4 {
		t.Error(r.P, want, r.Cost, cost)
	}
}

// A step that overshoots costs one evaluation more, not two: the next is asked for with its Jacobian.
func TestJacobianIsAskedForAgainAfterARefusal(t *testing.T) {
	lower, upper := unbounded(1)
	after, was := 0, math.Inf(1)
	refused := false
	p := Problem{Lower: lower, Upper: upper, Residuals: 1, Evaluate: func(_ context.Context, x, r, jac []float64) error {
		y := x[0] - 10
		r[0] = math.Atan(y)
		if jac != nil {
			jac[0] = 1 / (1 + y*y)
		}
		if refused && jac != nil {
			after++
		}
		refused = math.Abs(r[0]) > was
		was = min(was, math.Abs(r[0]))
		return nil
	}}
	r, err := Fit(context.Background(), p, []float64{11.5}, Options{})
	if err != nil || math.Abs(r.P[0]-10) > 1e-9 || after == 0 {
		t.Error(err, r.P, r.Reason, "after", after)
	}
}
