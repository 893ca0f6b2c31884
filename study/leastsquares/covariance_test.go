package leastsquares

import (
	"context"
	"errors"
	"math"
	"slices"
	"testing"

	"gonum.org/v1/gonum/mat"
	"pgregory.net/rapid"
)

// Of a linear problem the covariance is variance (AᵀA)⁻¹, here by gonum's inverse of the normal matrix.
func TestCovarianceOfLinearProblems(t *testing.T) {
	entries := 0
	rapid.Check(t, func(t *rapid.T) {
		n := rapid.IntRange(1, 5).Draw(t, "n")
		m := n + rapid.IntRange(1, 10).Draw(t, "more rows")
		a, b := drawLinear(t, n, m)
		r, err := Fit(context.Background(), linear(a, b, nil, nil), make([]float64, n), Options{})
		if err != nil {
			t.Fatal(err)
		}
		variance, ok := r.Variance()
		if want := 2 * r.Cost / float64(m-n); !ok || math.Abs(variance-want) > 1e-12*want {
			t.Fatalf("variance %v, want %v", variance, want)
		}
		variance++ // never zero
		c, err := r.Covariance(variance, 0)
		if err != nil || c.Rank != n || len(c.Null()) != 0 || len(c.Free) != n {
			t.Fatal(err, c)
		}
		var normal, inverse mat.Dense
		normal.Mul(a.T(), a)
		if err := inverse.Inverse(&normal); err != nil {
			t.Fatal(err)
		}
		for k := range n {
			for l := range n {
				scale := math.Sqrt(inverse.At(k, k)*inverse.At(l, l)) * variance
				if math.Abs(c.Matrix[k*n+l]-variance*inverse.At(k, l)) > 1e-9*scale {
					t.Fatalf("covariance of %d and %d is %v, want %v", k, l, c.Matrix[k*n+l], variance*inverse.At(k, l))
				}
				entries++
			}
			deviation, ok := c.Deviation(k)
			if !ok || math.Abs(deviation-math.Sqrt(variance*inverse.At(k, k))) > 1e-9*deviation {
				t.Fatalf("deviation of %d is %v", k, deviation)
			}
		}
		// V and the singular values give back the scaled normal matrix.
		for k := range n {
			for l := range n {
				sum := 0.0
				for j, s := range c.Singular {
					sum += s * s * c.Vectors[j][k] * c.Vectors[j][l]
				}
				if want := normal.At(k, l) / c.Scale[k] / c.Scale[l]; math.Abs(sum-want) > 1e-10 {
					t.Fatalf("V S² Vᵀ is %v at %d, %d, want %v", sum, k, l, want)
				}
			}
		}
	})
	if entries < 1000 {
		t.Error("entries:", entries)
	}
}

// Parameters that are fixed or at a bound are as if their columns were not there.
func TestCovarianceLeavesOutHeldParameters(t *testing.T) {
	a := mat.NewDense(5, 4, []float64{1, 2, 0, 1, 0, 1, 3, 1, 2, 0, 1, -1, 1, 1, 1, 4, 0, 2, 2, 1})
	b := []float64{5, 1, 2, 8, 3}
	lower, upper := []float64{-9, 0.5, 2, -9}, []float64{9, 0.5, 9, 9}
	r, err := Fit(context.Background(), linear(a, b, lower, upper), []float64{0, 0, 3, 0}, Options{})
	if err != nil || !slices.Equal(r.AtBound, []int8{0, 0, -1, 0}) {
		t.Fatal(err, r.P, r.AtBound)
	}
	c, err := r.Covariance(1, 0)
	if err != nil || !slices.Equal(c.Free, []int{0, 3}) {
		t.Fatal(err, c.Free)
	}
	aa, ad, dd := 0.0, 0.0, 0.0
	for i := range 5 {
		aa, ad, dd = aa+a.At(i, 0)*a.At(i, 0), ad+a.At(i, 0)*a.At(i, 3), dd+a.At(i, 3)*a.At(i, 3)
	}
	determinant := aa*dd - ad*ad
	want := []float64{dd / determinant, 0, 0, -ad / determinant, 0, 0, 0, 0, 0, 0, 0, 0, -ad / determinant, 0, 0, aa / determinant}
	for i := range want {
		if math.Abs(c.Matrix[i]-want[i]) > 1e-12 {
			t.Error(i, c.Matrix[i], want[i])
		}
	}
	for k, want := range []bool{true, false, false, true} {
		if _, ok := c.Deviation(k); ok != want {
			t.Error(k, ok)
		}
	}
	variance, ok := r.Variance()
	if !ok || math.Abs(variance-2*r.Cost/3) > 1e-12 {
		t.Error("five rows and two free parameters leave three degrees of freedom:", variance, ok)
	}
}

// The rank follows the threshold, and a problem with fewer rows than parameters has no variance.
func TestRankAndFewRows(t *testing.T) {
	a := mat.NewDense(3, 3, []float64{1, 0, 0, 0, 1, 1, 0, 1e-6, 0})
	r, err := Fit(context.Background(), linear(a, []float64{1, 1, 0}, nil, nil), []float64{0, 0, 0}, Options{})
	if err != nil {
		t.Fatal(err)
	}
	for _, v := range []struct {
		tolerance float64
		rank      int
	}{{0, 3}, {1e-8, 3}, {1e-5, 2}, {0.9, 1}} {
		c, err := r.Covariance(1, v.tolerance)
		if err != nil || c.Rank != v.rank || len(c.Null()) != 3-v.rank {
			t.Error(v, err, c.Rank, c.Singular)
		}
	}
	wide := mat.NewDense(1, 2, []float64{3, 4})
	r, err = Fit(context.Background(), linear(wide, []float64{50}, nil, nil), []float64{1, 1}, Options{})
	if err != nil || math.Abs(3*r.P[0]+4*r.P[1]-50) > 1e-6 {
		t.Fatal(err, r.P)
	}
	// In scaled parameters both move alike: 3 dp0 = 4 dp1.
	if math.Abs(3*(r.P[0]-1)-4*(r.P[1]-1)) > 1e-9 {
		t.Error(r.P)
	}
	if _, ok := r.Variance(); ok {
		t.Error("one row and two parameters have a variance")
	}
	c, err := r.Covariance(1, 0)
	if err != nil || c.Rank != 1 || math.Abs(3*c.Null()[0][0]+4*c.Null()[0][1]) > 1e-12 {
		t.Error(err, c)
	}
	for _, bad := range [][2]float64{{-1, 0}, {math.NaN(), 0}, {math.Inf(1), 0}, {1, -1}, {1, 1}, {1, math.NaN()}} {
		var e *Error
		if _, err := r.Covariance(bad[0], bad[1]); !errors.As(err, &e) {
			t.Error(bad, err)
		}
	}
}

// Every slice of every parameter's range holds one start.
func TestStarts(t *testing.T) {
	lower, upper := []float64{-1, 5, 1e-12, 3}, []float64{1, 6, 1e-9, 3}
	starts, err := Starts(lower, upper, 50, 7)
	if err != nil || len(starts) != 50 {
		t.Fatal(err, len(starts))
	}
	for k := range lower {
		seen := map[int]bool{}
		for _, s := range starts {
			if s[k] < lower[k] || s[k] > upper[k] {
				t.Fatal(k, s)
			}
			seen[int(50*(s[k]-lower[k])/(upper[k]-lower[k]+1e-300))] = true
		}
		if want := map[bool]int{true: 1, false: 50}[lower[k] == upper[k]]; len(seen) != want {
			t.Error(k, len(seen), want)
		}
	}
	again, _ := Starts(lower, upper, 50, 7)
	other, _ := Starts(lower, upper, 50, 8)
	if !slices.EqualFunc(starts, again, slices.Equal[[]float64]) || slices.EqualFunc(starts, other, slices.Equal[[]float64]) {
		t.Error("the seed does not decide")
	}
	for i, bad := range []func() ([][]float64, error){
		func() ([][]float64, error) { return Starts(nil, nil, 5, 1) },
		func() ([][]float64, error) { return Starts([]float64{1}, []float64{2, 3}, 5, 1) },
		func() ([][]float64, error) { return Starts([]float64{1}, []float64{2}, 0, 1) },
		func() ([][]float64, error) { return Starts([]float64{1}, []float64{0}, 5, 1) },
		func() ([][]float64, error) { return Starts([]float64{math.Inf(-1)}, []float64{0}, 5, 1) },
		func() ([][]float64, error) { return Starts([]float64{0}, []float64{math.NaN()}, 5, 1) },
	} {
		var e *Error
		if _, err := bad(); !errors.As(err, &e) {
			t.Error(i, err)
		}
	}
}

// Of a robust fit the rows count with their weights, and without the second derivative of the loss.
func TestCovarianceOfRobustFits(t *testing.T) {
	p, _ := decay(5)
	for _, l := range losses {
		r, err := Fit(context.Background(), p, []float64{2.5, 0.7, 0.4}, Options{Loss: l})
		if err != nil {
			t.Fatal(err)
		}
		c, err := r.Covariance(1, 0)
		if err != nil {
			t.Fatal(err)
		}
		res, jac := make([]float64, p.Residuals), make([]float64, 3*p.Residuals)
		_ = p.Evaluate(context.Background(), r.P, res, jac)
		normal, inverse := mat.NewDense(3, 3, nil), mat.NewDense(3, 3, nil)
		sum := 0.0
		for i, x := range res {
			_, w, _ := l.At(x * x)
			if w != r.Weights[i] {
				t.Fatal(l, i, w, r.Weights[i])
			}
			sum += w * x * x
			for k := range 3 {
				for j := range 3 {
					normal.Set(k, j, normal.At(k, j)+w*jac[3*i+k]*jac[3*i+j])
				}
			}
		}
		if err := inverse.Inverse(normal); err != nil {
			t.Fatal(err)
		}
		for i, want := range inverse.RawMatrix().Data {
			if math.Abs(c.Matrix[i]-want) > 1e-9*math.Abs(want) {
				t.Error(l, i, c.Matrix[i], want)
			}
		}
		if v, ok := r.Variance(); !ok || math.Abs(v-sum/37) > 1e-12*v {
			t.Error(l, v, sum/37)
		}
	}
}
