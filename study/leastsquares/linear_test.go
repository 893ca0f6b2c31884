package leastsquares

import (
	"context"
	"math"
	"slices"
	"testing"

	"gonum.org/v1/gonum/mat"
	"pgregory.net/rapid"
)

// linear is the problem A p - b.
func linear(a *mat.Dense, b []float64, lower, upper []float64) Problem {
	m, n := a.Dims()
	if lower == nil {
		lower, upper = unbounded(n)
	}
	return Problem{Lower: lower, Upper: upper, Residuals: m, Evaluate: func(_ context.Context, p, r, jac []float64) error {
		for i := range r {
			row := a.RawRowView(i)
			r[i] = -b[i]
			for k, v := range row {
				r[i] += v * p[k]
			}
			if jac != nil {
				copy(jac[i*n:], row)
			}
		}
		return nil
	}}
}

// drawLinear draws m x n numbers and a right-hand side; the diagonal keeps the columns apart.
func drawLinear(t *rapid.T, n, m int) (*mat.Dense, []float64) {
	numbers := rapid.SliceOfN(rapid.Float64Range(-1, 1), m*n, m*n).Draw(t, "A")
	a := mat.NewDense(m, n, numbers)
	for k := range n {
		a.Set(k, k, a.At(k, k)+2*float64(n))
	}
	return a, rapid.SliceOfN(rapid.Float64Range(-10, 10), m, m).Draw(t, "b")
}

// direct is the least-squares solution over some columns by gonum's QR, the others standing at given values.
func direct(a *mat.Dense, b []float64, columns []int, others []float64) ([]float64, float64) {
	m, _ := a.Dims()
	p := slices.Clone(others)
	right := mat.NewVecDense(m, slices.Clone(b))
	for k, v := range others {
		if !slices.Contains(columns, k) {
			right.AddScaledVec(right, -v, a.ColView(k))
		}
	}
	if len(columns) > 0 {
		part := mat.NewDense(m, len(columns), nil)
		for c, k := range columns {
			part.SetCol(c, mat.Col(nil, k, a))
		}
		var qr mat.QR
		qr.Factorize(part)
		var x mat.VecDense
		if err := qr.SolveVecTo(&x, false, right); err != nil {
			panic(err)
		}
		for c, k := range columns {
			p[k] = x.AtVec(c)
		}
		var ax mat.VecDense
		ax.MulVec(part, &x)
		right.SubVec(right, &ax)
	}
	return p, mat.Dot(right, right) / 2
}

func TestLinearProblemsEqualTheQRSolution(t *testing.T) {
	rows, fits, evaluations := 0, 0, 0
	rapid.Check(t, func(t *rapid.T) {
		n := rapid.IntRange(1, 6).Draw(t, "n")
		m := n + rapid.IntRange(0, 20).Draw(t, "more rows")
		a, b := drawLinear(t, n, m)
		start := rapid.SliceOfN(rapid.Float64Range(-100, 100), n, n).Draw(t, "start")
		r, err := Fit(context.Background(), linear(a, b, nil, nil), start, Options{Reduction: 1e-17, Gradient: 1e-12, Step: 1e-13})
		if err != nil {
			t.Fatal(err)
		}
		all := make([]int, n)
		for k := range all {
			all[k] = k
		}
		want, cost := direct(a, b, all, make([]float64, n))
		for k := range want {
			if math.Abs(r.P[k]-want[k]) > 1e-7*(1+math.Abs(want[k])) {
				t.Fatalf("parameter %d is %v, QR says %v", k, r.P[k], want[k])
			}
		}
		if math.Abs(r.Cost-cost) > 1e-10*(1+cost) || !r.Reason.Converged() {
			t.Fatalf("cost %v, QR says %v; %v", r.Cost, cost, r.Reason)
		}
		rows += m
		fits++
		evaluations += r.Evaluations
	})
	if rows < 1000 || 2*evaluations > 11*fits {
		t.Error("rows, fits, evaluations:", rows, fits, evaluations)
	}
	t.Log("evaluations of a fit:", float64(evaluations)/float64(fits))
}

// A start next to zero is no reason for small steps where the cost has little to lose.
func TestStartNextToZero(t *testing.T) {
	a := mat.NewDense(2, 1, []float64{8, 0})
	r, err := Fit(context.Background(), linear(a, []float64{8e-3, 20}, nil, nil), []float64{4.5e-9}, Options{Reduction: 1e-15})
	if err != nil || math.Abs(r.P[0]-1e-3) > 1e-8 || r.Evaluations > 5 {
		t.Error(err, r.P, r.Evaluations, r.Reason)
	}
}

// With bounds: every one of the 3^n sets of free, low and high parameters is tried.
func TestBoundedLinearProblemsEqualEnumeration(t *testing.T) {
	held, free, fits, evaluations := 0, 0, 0, 0
	rapid.Check(t, func(t *rapid.T) {
		n := rapid.IntRange(1, 4).Draw(t, "n")
		m := n + rapid.IntRange(0, 6).Draw(t, "more rows")
		a, b := drawLinear(t, n, m)
		lower, upper := make([]float64, n), make([]float64, n)
		start := make([]float64, n)
		for k := range n {
			lower[k] = rapid.Float64Range(-2, 2).Draw(t, "lower")
			upper[k] = lower[k] + rapid.Float64Range(0, 2).Draw(t, "width") // width 0 fixes
			start[k] = rapid.Float64Range(-3, 5).Draw(t, "start")
		}
		var best []float64
		cost := math.Inf(1)
		for set := range int(math.Pow(3, float64(n))) {
			at, columns := make([]float64, n), []int{}
			for k := range n {
				switch set % 3 {
				case 0:
					columns = append(columns, k)
				case 1:
					at[k] = lower[k]
				case 2:
					at[k] = upper[k]
				}
				set /= 3
			}
			p, c := direct(a, b, columns, at)
			inside := true
			for k := range n {
				inside = inside && p[k] >= lower[k]-1e-12 && p[k] <= upper[k]+1e-12
			}
			if inside && c < cost {
				best, cost = p, c
			}
		}
		r, err := Fit(context.Background(), linear(a, b, lower, upper), start, Options{Reduction: 1e-17, Gradient: 1e-12, Step: 1e-13})
		if err != nil {
			t.Fatal(err)
		}
		for k := range n {
			if math.Abs(r.P[k]-best[k]) > 1e-7 {
				t.Fatalf("parameter %d is %v, enumeration says %v; %v", k, r.P, best, r.Reason)
			}
			switch {
			case r.AtBound[k] < 0 && r.P[k] != lower[k], r.AtBound[k] > 0 && r.P[k] != upper[k], r.P[k] < lower[k], r.P[k] > upper[k]:
				t.Fatalf("parameter %d is %v in %v to %v, at bound %d", k, r.P[k], lower[k], upper[k], r.AtBound[k])
			case r.AtBound[k] != 0:
				held++
			default:
				free++
			}
		}
		if math.Abs(r.Cost-cost) > 1e-9*(1+cost) || !r.Reason.Converged() {
			t.Fatalf("cost %v, enumeration says %v; %v", r.Cost, cost, r.Reason)
		}
		if r.Evaluations > 25 {
			t.Fatalf("%d evaluations: a bound stalls the fit", r.Evaluations)
		}
		fits++
		evaluations += r.Evaluations
	})
	t.Log("evaluations of a fit:", float64(evaluations)/float64(fits))
	if evaluations >= 3*fits {
		t.Error("fits, evaluations:", fits, evaluations)
	}
	if held < 100 || free < 100 {
		t.Error("held, free:", held, free)
	}
}

// The step itself: the minimum of the damped model in the box, against enumeration of the damped problem, whose rows are
// those of the model and the root of the damping on the diagonal.
func TestStepIsTheMinimumInTheBox(t *testing.T) {
	inside, blocked := 0, 0
	rapid.Check(t, func(t *rapid.T) {
		n := rapid.IntRange(1, 4).Draw(t, "n")
		damping := math.Exp(rapid.Float64Range(-12, 3).Draw(t, "ln damping"))
		s := newSubproblem(n, defaultRank)
		rows := mat.NewDense(2*n, n, nil)
		right := make([]float64, 2*n)
		for i := range n {
			for k := i; k < n; k++ {
				v := rapid.Float64Range(-1, 1).Draw(t, "a")
				if i == k {
					v = 0.3 + math.Abs(v) // not much more than what couples the columns
				}
				s.a[i*n+k] = v
				rows.Set(i, k, v)
			}
			rows.Set(n+i, i, math.Sqrt(damping))
			s.q[i] = rapid.Float64Range(-3, 3).Draw(t, "q")
			right[i] = -s.q[i]
			s.lower[i] = -rapid.Float64Range(0, 2).Draw(t, "below")
			s.upper[i] = rapid.Float64Range(0, 2).Draw(t, "above")
		}
		var best []float64
		cost := math.Inf(1)
		for set := range int(math.Pow(3, float64(n))) {
			at, columns := make([]float64, n), []int{}
			for k := range n {
				at[k] = []float64{0, s.lower[k], s.upper[k]}[set%3]
				if set%3 == 0 {
					columns = append(columns, k)
				}
				set /= 3
			}
			p, c := direct(rows, right, columns, at)
			ok := true
			for k := range n {
				ok = ok && p[k] >= s.lower[k]-1e-12 && p[k] <= s.upper[k]+1e-12
			}
			if ok && c < cost {
				best, cost = p, c
			}
		}
		s.solve(damping)
		for k := range n {
			if math.Abs(s.x[k]-best[k]) > 1e-7 {
				t.Fatalf("the step is %v, enumeration says %v", s.x, best)
			}
			if s.x[k] == s.lower[k] || s.x[k] == s.upper[k] {
				blocked++
			} else {
				inside++
			}
		}
		if s.fall() < -1e-12 {
			t.Fatalf("the model rises by %g", -s.fall())
		}
		// The same with every sign turned: upper bounds for lower ones.
		first := slices.Clone(s.x)
		for k := range n {
			s.q[k] = -s.q[k]
			s.lower[k], s.upper[k] = -s.upper[k], -s.lower[k]
		}
		s.solve(damping)
		for k := range n {
			if s.x[k] != -first[k] {
				t.Fatalf("the step is %v, and with every sign turned %v", first, s.x)
			}
		}
	})
	if inside < 100 || blocked < 100 {
		t.Error("inside, blocked:", inside, blocked)
	}
}

// The folded triangle against gonum's QR of the whole matrix: the same up to the signs of its rows.
func TestFoldEqualsWholeQR(t *testing.T) {
	for _, m := range []int{1, 3, 255, 256, 257, 1000} {
		n, width := 4, 6
		columns := []int{0, 2, 3, 5}
		jac, right, scale := make([]float64, m*width), make([]float64, m), make([]float64, m)
		r := noisy(uint64(m))
		for i := range jac {
			jac[i] = r()
		}
		whole := mat.NewDense(m+n, n+1, nil) // zero rows below, so that it is never wide
		for i := range m {
			scale[i], right[i] = 1+r()*r(), r()
			for c, k := range columns {
				whole.Set(i, c, scale[i]*jac[i*width+k])
			}
			whole.Set(i, n, right[i])
		}
		tri := newTriangle(n)
		for range 2 { // the second time over what the first left
			tri.fold(jac, width, columns, scale, right)
		}
		var qr mat.QR
		qr.Factorize(whole)
		var want mat.Dense
		qr.RTo(&want)
		for i := range min(n, m) {
			sign := 1.0
			if want.At(i, i)*tri.r[i*n+i] < 0 {
				sign = -1
			}
			for k := i; k <= n; k++ {
				got := tri.q[i]
				if k < n {
					got = tri.r[i*n+k]
				}
				if m >= n && math.Abs(got-sign*want.At(i, k)) > 1e-12*math.Sqrt(float64(m)) {
					t.Errorf("%d rows: R[%d,%d] is %v, want %v", m, i, k, got, sign*want.At(i, k))
				}
			}
		}
		for c := range n { // the norms and products hold for any number of rows
			norm, product := 0.0, 0.0
			for i := range m {
				norm += whole.At(i, c) * whole.At(i, c)
				product += whole.At(i, c) * right[i]
			}
			got := 0.0
			for i := 0; i <= c; i++ {
				got += tri.r[i*n+c] * tri.q[i]
			}
			if math.Abs(tri.norm(c)-math.Sqrt(norm)) > 1e-12*math.Sqrt(norm) || math.Abs(got-product) > 1e-11*(1+norm) {
				t.Errorf("%d rows, column %d: norm %v want %v, product %v want %v", m, c, tri.norm(c), math.Sqrt(norm), got, product)
			}
		}
	}
}
