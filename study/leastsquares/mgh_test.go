package leastsquares

import (
	"context"
	"math"
	"testing"

	"gonum.org/v1/gonum/num/dual"
)

// classic is a function of Moré, Garbow and Hillstrom, "Testing unconstrained optimization software", ACM Transactions on
// Mathematical Software 7, 1981, with its standard start and its least sum of squares (from memory; exact where zero).
type classic struct {
	name    string
	m       int
	start   []float64
	rows    func(p []d, r []d)
	squares []float64   // of the minima
	minima  [][]float64 // nil where not known to enough digits
	digits  float64     // of the sum of squares
}

var classics = []classic{
	{"Rosenbrock", 2, []float64{-1.2, 1}, func(p, r []d) {
		r[0], r[1] = times(10, sub(p[1], mul(p[0], p[0]))), sub(c(1), p[0])
	}, []float64{0}, [][]float64{{1, 1}}, 0},
	{"Freudenstein and Roth", 2, []float64{0.5, -2}, func(p, r []d) {
		r[0] = add(c(-13), p[0], mul(sub(mul(sub(c(5), p[1]), p[1]), c(2)), p[1]))
		r[1] = add(c(-29), p[0], mul(sub(mul(add(p[1], c(1)), p[1]), c(14)), p[1]))
	}, []float64{0, 48.9842536792}, [][]float64{{5, 4}, {11.4127789869, -0.896805253274}}, 9},
	{"Brown badly scaled", 3, []float64{1, 1}, func(p, r []d) {
		r[0], r[1], r[2] = sub(p[0], c(1e6)), sub(p[1], c(2e-6)), sub(mul(p[0], p[1]), c(2))
	}, []float64{0}, [][]float64{{1e6, 2e-6}}, 0},
	{"Beale", 3, []float64{1, 1}, func(p, r []d) {
		y := c(1)
		for i, v := range []float64{1.5, 2.25, 2.625} {
			y = mul(y, p[1])
			r[i] = sub(c(v), mul(p[0], sub(c(1), y)))
		}
	}, []float64{0}, [][]float64{{3, 0.5}}, 0},
	{"Jennrich and Sampson", 10, []float64{0.3, 0.4}, func(p, r []d) {
		for i := range r {
			t := float64(i + 1)
			r[i] = sub(c(2+2*t), add(dual.Exp(times(t, p[0])), dual.Exp(times(t, p[1]))))
		}
	}, []float64{124.362182356}, nil, 9},
	{"Helical valley", 3, []float64{-1, 0, 0}, func(p, r []d) {
		turn := times(1/(2*math.Pi), dual.Atan(div(p[1], p[0])))
		if p[0].Real < 0 {
			turn = add(turn, c(0.5))
		}
		r[0] = times(10, sub(p[2], times(10, turn)))
		r[1] = times(10, sub(dual.Sqrt(add(mul(p[0], p[0]), mul(p[1], p[1]))), c(1)))
		r[2] = p[2]
	}, []float64{0}, [][]float64{{1, 0, 0}}, 0},
	{"Bard", 15, []float64{1, 1, 1}, func(p, r []d) {
		y := []float64{0.14, 0.18, 0.22, 0.25, 0.29, 0.32, 0.35, 0.39, 0.37, 0.58, 0.73, 0.96, 1.34, 2.10, 4.39}
		for i := range r {
			u := float64(i + 1)
			v := 16 - u
			r[i] = sub(c(y[i]), add(p[0], div(c(u), add(times(v, p[1]), times(min(u, v), p[2])))))
		}
	}, []float64{8.21487730657e-3}, nil, 9},
	{"Box three-dimensional", 10, []float64{0, 10, 20}, func(p, r []d) {
		for i := range r {
			t := 0.1 * float64(i+1)
			r[i] = sub(sub(dual.Exp(times(-t, p[0])), dual.Exp(times(-t, p[1]))), times(math.Exp(-t)-math.Exp(-10*t), p[2]))
		}
	}, []float64{0}, nil, 0},
	{"Powell singular", 4, []float64{3, -1, 0, 1}, func(p, r []d) {
		a, b := sub(p[1], times(2, p[2])), sub(p[0], p[3])
		r[0], r[1] = add(p[0], times(10, p[1])), times(math.Sqrt(5), sub(p[2], p[3]))
		r[2], r[3] = mul(a, a), times(math.Sqrt(10), mul(b, b))
	}, []float64{0}, nil, 0},
	{"Wood", 6, []float64{-3, -1, -3, -1}, func(p, r []d) {
		r[0], r[1] = times(10, sub(p[1], mul(p[0], p[0]))), sub(c(1), p[0])
		r[2], r[3] = times(math.Sqrt(90), sub(p[3], mul(p[2], p[2]))), sub(c(1), p[2])
		r[4], r[5] = times(math.Sqrt(10), add(p[1], p[3], c(-2))), times(1/math.Sqrt(10), sub(p[1], p[3]))
	}, []float64{0}, [][]float64{{1, 1, 1, 1}}, 0},
	{"Brown and Dennis", 20, []float64{25, 5, -5, -1}, func(p, r []d) {
		for i := range r {
			t := float64(i+1) / 5
			a := sub(add(p[0], times(t, p[1])), c(math.Exp(t)))
			b := sub(add(p[2], times(math.Sin(t), p[3])), c(math.Cos(t)))
			r[i] = add(mul(a, a), mul(b, b))
		}
	}, []float64{85822.2016263}, nil, 9},
}

// exact makes a problem of rows written with dual numbers.
func exact(n, m int, lower, upper []float64, rows func(p, r []d)) Problem {
	if lower == nil {
		lower, upper = unbounded(n)
	}
	return Problem{Lower: lower, Upper: upper, Residuals: m, Evaluate: func(_ context.Context, p, r, jac []float64) error {
		b, out := make([]d, n), make([]d, m)
		for k, v := range p {
			b[k] = c(v)
		}
		rows(b, out)
		for i := range out {
			r[i] = out[i].Real
		}
		for k := range b {
			if jac == nil {
				break
			}
			b[k].Emag = 1
			rows(b, out)
			b[k].Emag = 0
			for i := range out {
				jac[i*n+k] = out[i].Emag
			}
		}
		return nil
	}}
}

func TestClassicFunctions(t *testing.T) {
	found, evaluations := 0, 0
	for _, f := range classics {
		r, err := Fit(context.Background(), exact(len(f.start), f.m, nil, nil, f.rows), f.start, Options{MaxEvaluations: 2000})
		if err != nil {
			t.Error(f.name, err)
			continue
		}
		which := -1
		for i, want := range f.squares {
			if want == 0 && 2*r.Cost < 1e-18 || want > 0 && digits(2*r.Cost, want) >= f.digits {
				which = i
			}
		}
		t.Logf("%-22s %v, %g, %d evaluations, %v", f.name, r.P, 2*r.Cost, r.Evaluations, r.Reason)
		if which < 0 || !r.Reason.Converged() {
			t.Error(f.name, r.P, 2*r.Cost, r.Reason)
			continue
		}
		if f.minima != nil {
			for k, want := range f.minima[which] {
				if math.Abs(r.P[k]-want) > 1e-7*(1+math.Abs(want)) && f.name != "Brown badly scaled" || digits(r.P[k], want) < 6 && want != 0 {
					t.Error(f.name, k, r.P[k], want)
				}
			}
		}
		found++
		evaluations += r.Evaluations
	}
	// 453 when this was written.
	if found != 11 || evaluations > 550 {
		t.Error("functions, evaluations:", found, evaluations)
	}
	t.Log("evaluations:", evaluations)
}
