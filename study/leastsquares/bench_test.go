package leastsquares

import (
	"context"
	"math"
	"testing"
)

// fortyForty is 4040 rows over 10 parameters: ten overlapping resonances whose places and heights interact.
func fortyForty() (Problem, []float64) {
	const m, n = 4040, 10
	truth, start := make([]float64, n), make([]float64, n)
	for k := range n {
		truth[k] = 1 + 0.3*math.Sin(float64(k))
		start[k] = truth[k] * (1 + 0.3*math.Cos(3*float64(k)))
	}
	y := make([]float64, m)
	model := func(p, r, jac []float64) error {
		for i := range m {
			x := float64(i) / m * 5
			sum := 0.0
			for k := 0; k < n; k += 2 {
				z := (x - 0.5 - float64(k)/2*p[k+1]) * 2
				bell := 1 / (1 + z*z)
				sum += p[k] * bell
				if jac != nil {
					jac[i*n+k] = bell
					jac[i*n+k+1] = p[k] * 2 * bell * bell * z * float64(k)
					if k == 0 {
						jac[i*n+1] = x
					}
				}
			}
			r[i] = sum + p[1]*x - y[i]
		}
		return nil
	}
	r := make([]float64, m)
	_ = model(truth, r, nil)
	noise := noisy(11)
	for i := range y {
		y[i] = r[i] + 0.01*noise()
	}
	lower, upper := unbounded(n)
	return Problem{Lower: lower, Upper: upper, Residuals: m, Evaluate: func(_ context.Context, p, r, jac []float64) error { return model(p, r, jac) }}, start
}

func BenchmarkFold4040x10(b *testing.B) {
	p, start := fortyForty()
	r, jac := make([]float64, p.Residuals), make([]float64, p.Residuals*10)
	_ = p.Evaluate(context.Background(), start, r, jac)
	t := newTriangle(10)
	columns := []int{0, 1, 2, 3, 4, 5, 6, 7, 8, 9}
	b.ReportAllocs()
	for b.Loop() {
		t.fold(jac, 10, columns, nil, r)
	}
}

// One damped step, with the decomposition that is made once per point.
func BenchmarkStep10(b *testing.B) {
	p, start := fortyForty()
	options, _ := Options{}.filled(10)
	f := newFitter(&p, options)
	if err := f.begin(context.Background(), start); err != nil {
		b.Fatal(err)
	}
	b.ReportAllocs()
	for b.Loop() {
		f.sub.changed()
		f.sub.solve(1e-3)
	}
}

func BenchmarkFit4040x10(b *testing.B) {
	p, start := fortyForty()
	b.ReportAllocs()
	evaluations := 0
	for b.Loop() {
		r, err := Fit(context.Background(), p, start, Options{})
		if err != nil || !r.Reason.Converged() {
			b.Fatal(err, r.Reason)
		}
		evaluations = r.Evaluations
	}
	b.ReportMetric(float64(evaluations), "evaluations")
}

// What of a fit is the model's.
func BenchmarkEvaluate4040x10(b *testing.B) {
	p, start := fortyForty()
	r, jac := make([]float64, p.Residuals), make([]float64, p.Residuals*10)
	for b.Loop() {
		_ = p.Evaluate(context.Background(), start, r, jac)
	}
}
