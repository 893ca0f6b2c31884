package leastsquares

import (
	"context"
	"math"
	"math/rand/v2"
	"testing"

	"gonum.org/v1/gonum/optimize"
	"pgregory.net/rapid"
)

var losses = []Loss{Squares(), Huber(1.345), Cauchy(2.385), SoftL1(0.7), Tukey(4.685)}

// The derivatives against central differences, whose error is (h²/6) times the third derivative.
func TestLossDerivatives(t *testing.T) {
	checked := 0
	rapid.Check(t, func(t *rapid.T) {
		k := math.Exp(rapid.Float64Range(-5, 5).Draw(t, "ln k"))
		x := math.Exp(rapid.Float64Range(-6, 6).Draw(t, "ln of z over k²"))
		for _, l := range []Loss{Squares(), Huber(k), Cauchy(k), SoftL1(k), Tukey(k)} {
			z := x * k * k
			h := 1e-4 * z
			if (x-1e-4*x-1)*(x+1e-4*x-1) <= 0 {
				continue // across the bend of Huber and Tukey
			}
			_, first, second := l.At(z)
			above, firstAbove, _ := l.At(z + h)
			below, firstBelow, _ := l.At(z - h)
			if d := (above - below) / (2 * h); math.Abs(d-first) > 1e-6*math.Abs(first)+1e-7 {
				t.Errorf("%v at z = %g: rho' = %g, differences %g", l, z, first, d)
			}
			if d := (firstAbove - firstBelow) / (2 * h); math.Abs(d-second)*k*k > 1e-6*math.Abs(second)*k*k+1e-7 {
				t.Errorf("%v at z = %g: rho'' = %g, differences %g", l, z, second, d)
			}
			checked++
		}
	})
	if checked < 900 {
		t.Error("checked only", checked)
	}
}

// Values by hand: Rho(k²) and Rho(4k²) of each loss from the formula in its paper, with k = 2.
func TestLossValues(t *testing.T) {
	for _, v := range []struct {
		loss      Loss
		at4, at16 float64
	}{
		{Squares(), 4, 16},
		{Huber(2), 4, 2*2*4 - 4},
		{Cauchy(2), 4 * math.Ln2, 4 * math.Log(5)},
		{SoftL1(2), 8 * (math.Sqrt2 - 1), 8 * (math.Sqrt(5) - 1)},
		{Tukey(2), 4.0 / 3, 4.0 / 3},
	} {
		a, _, _ := v.loss.At(4)
		b, _, _ := v.loss.At(16)
		zero, one, _ := v.loss.At(0)
		if math.Abs(a-v.at4) > 1e-14 || math.Abs(b-v.at16) > 1e-14 || zero != 0 || one != 1 {
			t.Error(v.loss, a, b, zero, one)
		}
	}
}

// decay is y = a exp(-b x) + c at 40 points with seeded noise of standard deviation 0.05 and the given number of outliers.
func decay(outliers int) (p Problem, truth []float64) {
	r := rand.New(rand.NewPCG(7, 7))
	truth = []float64{3, 0.8, 0.5}
	x, y := make([]float64, 40), make([]float64, 40)
	for i := range x {
		x[i] = 0.15 * float64(i)
		y[i] = truth[0]*math.Exp(-truth[1]*x[i]) + truth[2] + 0.05*r.NormFloat64()
	}
	for i := range outliers {
		y[3+7*i] += 2
	}
	lower, upper := unbounded(3)
	return Problem{Lower: lower, Upper: upper, Residuals: len(x), Evaluate: func(_ context.Context, p, res, jac []float64) error {
		for i, x := range x {
			e := math.Exp(-p[1] * x)
			res[i] = (p[0]*e + p[2] - y[i]) / 0.05
			if jac != nil {
				jac[3*i], jac[3*i+1], jac[3*i+2] = e/0.05, -x*p[0]*e/0.05, 1/0.05
			}
		}
		return nil
	}}, truth
}

func TestOutliersBarelyMoveRobustFits(t *testing.T) {
	clean, truth := decay(0)
	dirty, _ := decay(5)
	distance := func(a, b []float64) float64 {
		s := 0.0
		for k := range a {
			s = math.Hypot(s, a[k]-b[k])
		}
		return s
	}
	base, err := Fit(context.Background(), clean, []float64{1, 1, 0}, Options{})
	if err != nil || distance(base.P, truth) > 0.2 {
		t.Fatal(err, base.P)
	}
	moved := map[string]float64{}
	for _, l := range losses {
		r, err := Fit(context.Background(), dirty, base.P, Options{Loss: l})
		if err != nil || !r.Reason.Converged() {
			t.Fatal(l, err, r.Reason)
		}
		moved[l.String()] = distance(r.P, base.P)
		t.Logf("%-14v moved by %.4f in %d evaluations, weight of an outlier %.3g, %v", l, moved[l.String()], r.Evaluations, r.Weights[3], r.Reason)
		if l.kind != squares && (r.Weights[3] > 0.1 || r.Weights[4] < 0.3) {
			t.Error(l, "weights an outlier by", r.Weights[3], "and a good row by", r.Weights[4])
		}
	}
	for _, l := range losses[1:] {
		if moved[l.String()] > moved["squares"]/4 {
			t.Error(l, "moved by", moved[l.String()], "squares by", moved["squares"])
		}
	}
	if len(moved) != 5 {
		t.Error(moved)
	}
}

// The minimum of the robust cost, found by other means: Nelder and Mead's simplex on the cost as one number.
func TestRobustFitsEqualAnotherMinimiser(t *testing.T) {
	dirty, _ := decay(5)
	for _, l := range losses {
		fit, err := Fit(context.Background(), dirty, []float64{2.5, 0.7, 0.4}, Options{Loss: l})
		if err != nil {
			t.Fatal(err)
		}
		res := make([]float64, dirty.Residuals)
		cost := func(p []float64) float64 {
			_ = dirty.Evaluate(context.Background(), p, res, nil)
			s := 0.0
			for _, r := range res {
				rho, _, _ := l.At(r * r)
				s += rho / 2
			}
			return s
		}
		if math.Abs(cost(fit.P)-fit.Cost) > 1e-12*fit.Cost {
			t.Error(l, "says the cost is", fit.Cost, "and it is", cost(fit.P))
		}
		start := []float64{fit.P[0] + 0.05, fit.P[1] - 0.03, fit.P[2] + 0.02}
		var best *optimize.Result
		for range 3 { // restarted, since a simplex may shrink too early
			best, err = optimize.Minimize(optimize.Problem{Func: cost}, start, &optimize.Settings{Converger: &optimize.FunctionConverge{Absolute: 1e-13, Iterations: 200}}, &optimize.NelderMead{})
			if err != nil {
				t.Fatal(err)
			}
			start = best.X
		}
		if math.Abs(best.F-fit.Cost) > 1e-9*fit.Cost {
			t.Error(l, "fit", fit.Cost, "simplex", best.F)
		}
		for k := range fit.P {
			if math.Abs(best.X[k]-fit.P[k]) > 1e-5 {
				t.Error(l, k, "fit", fit.P[k], "simplex", best.X[k])
			}
		}
	}
}
