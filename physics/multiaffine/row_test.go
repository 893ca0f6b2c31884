package multiaffine

import (
	"math"
	"math/big"
	"math/cmplx"
	"testing"

	"pgregory.net/rapid"
)

// drawRow makes a row as circuits have them: a peak anywhere, from flat to a Q of a million, a zero as deep.
func drawRow(t *rapid.T) Row {
	polar := func(name string) complex128 {
		return cmplx.Rect(logUniform(t, 1e-3, 1e3, name), rapid.Float64Range(-math.Pi, math.Pi).Draw(t, name))
	}
	root := func(name string) complex128 { // of N or D: at x with a distance from the real axis
		x := rapid.Float64Range(-2, 2).Draw(t, name)
		d := logUniform(t, 1e-6, 10, name)
		if rapid.Bool().Draw(t, name) {
			d = -d
		}
		return complex(x, d)
	}
	n, d := polar("N"), polar("D")
	r := Row{N0: -n * root("zero"), N1: n, D0: -d * root("pole"), D1: d}
	switch rapid.IntRange(0, 7).Draw(t, "special") {
	case 0:
		r.N1 = 0
	case 1:
		r.D1 = 0
	case 2:
		r.N0 = complex(real(r.N1), imag(r.N1)) * complex(rapid.Float64Range(-1, 1).Draw(t, "real zero"), 0)
	}
	return r
}

// golden is the maximum of f between two points by golden section.
func golden(f func(float64) float64, low, high float64) float64 {
	const g = 0.6180339887498949
	a, b := high-g*(high-low), low+g*(high-low)
	fa, fb := f(a), f(b)
	for range 80 {
		if fa > fb {
			high, b, fb = b, a, fa
			a = high - g*(high-low)
			fa = f(a)
		} else {
			low, a, fa = a, b, fb
			b = low + g*(high-low)
			fb = f(b)
		}
	}
	return max(fa, fb)
}

// The closed-form optimum is as good as a dense scan refined by golden section, and its power is that of its place.
func TestRowBest(t *testing.T) {
	r := counting(t, "rows", 300)
	inside := 0
	rapid.Check(t, func(t *rapid.T) {
		row := drawRow(t)
		x, power := row.Best()
		if !(x >= -1 && x <= 1) || power != row.Power(x) {
			t.Fatalf("best %g with %g, there %g", x, power, row.Power(x))
		}
		if x > -1 && x < 1 {
			inside++
		}
		const points = 2001
		best, at := 0.0, 0
		for i := range points {
			if p := row.Power(gridAt(i, points)); p > best {
				best, at = p, i
			}
		}
		best = max(best, golden(row.Power, gridAt(max(at-1, 0), points), gridAt(min(at+1, points-1), points)))
		off := best/power - 1
		r.saw(math.Max(off, 0))
		// Near a peak of width w the power falls by (Δx/w)²; the place is right to rounding of x and of the coefficients.
		if off > 1e-9 {
			t.Fatalf("%+v: best %.17g at %.17g, a scan found %.17g", row, power, x, best)
		}
		summits, powers, n := row.Summits()
		for k := range n {
			if powers[k] < 1.01*row.Power(lowest(row)) {
				continue // the bottom of a valley: rounding says which way is up
			}
			for _, d := range []float64{-1e-6, 1e-6} {
				if at := summits[k] + d; at >= -1 && at <= 1 && row.Power(at) > powers[k]*(1+1e-9) {
					t.Fatalf("%+v: %.17g is no summit", row, summits[k])
				}
			}
		}
	})
	if inside < 50 {
		t.Errorf("only %d peaks were inside", inside)
	}
}

// The ranges above a threshold hold what is above it and nothing else.
func TestRowAbove(t *testing.T) {
	r := counting(t, "points", 10000)
	counts := map[int]int{}
	rapid.Check(t, func(t *rapid.T) {
		row := drawRow(t)
		_, top := row.Best()
		threshold := top * logUniform(t, 1e-6, 1.5, "threshold")
		ranges, n := row.Above(threshold)
		counts[n]++
		within := func(x, margin float64) bool {
			for _, a := range ranges[:n] {
				if x >= a.Low-margin && x <= a.High+margin {
					return true
				}
			}
			return false
		}
		for i := range 401 {
			x := gridAt(i, 401)
			p := row.Power(x)
			r.saw(0)
			if p > threshold*(1+1e-6) && !within(x, 1e-9) || p < threshold*(1-1e-6) && within(x, -1e-9) {
				t.Fatalf("%+v: %g has %g, threshold %g, ranges %v", row, x, p, threshold, ranges[:n])
			}
		}
		for _, a := range ranges[:n] {
			for _, x := range []float64{a.Low, a.High} {
				if x == -1 || x == 1 {
					continue
				}
				// An end is right to rounding of x times the slope there.
				slope := math.Abs(row.Power(x+1e-7)-row.Power(x-1e-7)) / 2e-7
				if off := math.Abs(row.Power(x) - threshold); off > 1e-6*threshold+1e-10*slope {
					t.Fatalf("%+v: the end %.17g has %.17g, threshold %.17g", row, x, row.Power(x), threshold)
				}
			}
		}
	})
	t.Logf("rows by number of ranges: %v", counts)
	if counts[0] == 0 || counts[1] == 0 || counts[2] == 0 {
		t.Error("a number of ranges was never met")
	}
}

// The rotated row gives the row's own powers, beside zeros too, and the same bits by fused arithmetic done exactly.
func TestRotatedPowers(t *testing.T) {
	r := counting(t, "values", 10000)
	rapid.Check(t, func(t *rapid.T) {
		row := drawRow(t)
		x := make([]float64, 67)
		for i := range x {
			x[i] = rapid.Float64Range(-1, 1).Draw(t, "x")
		}
		x[0], x[1] = lowest(row), -1
		got := make([]float64, len(x))
		rotated := row.Rotate()
		rotated.Powers(x, got)
		for i, x := range x {
			want := row.Power(x)
			// |N| and |D| are right to rounding of their largest term.
			n, d := cmplx.Abs(row.N0)+cmplx.Abs(row.N1), cmplx.Abs(row.D0)+cmplx.Abs(row.D1)
			allowed := 1e-14 * (n/cmplx.Abs(along(row.N0, row.N1, x)) + d/cmplx.Abs(along(row.D0, row.D1, x)))
			if allowed > 1 {
				continue // a zero in the last digit
			}
			off := math.Abs(got[i]/want - 1)
			r.saw(off / allowed)
			if !(off <= allowed) {
				t.Fatalf("%+v at %.17g: %.17g, rotated %.17g", row, x, want, got[i])
			}
		}
	})
}

// The bits of the row kernel: every step is rounded once, as exact arithmetic rounded to 53 digits says, on every
// processor; and one golden set.
func TestRotatedBits(t *testing.T) {
	r := counting(t, "values", 1000)
	fused := func(a, b, c float64) float64 {
		exact := new(big.Float).SetPrec(2200).SetMode(big.ToNearestEven)
		exact.Mul(big.NewFloat(a).SetPrec(2200), big.NewFloat(b).SetPrec(2200))
		rounded, _ := exact.Add(exact, big.NewFloat(c).SetPrec(2200)).Float64()
		return rounded
	}
	rapid.Check(t, func(t *rapid.T) {
		row := drawRow(t)
		rotated := row.Rotate()
		x := make([]float64, 16)
		for i := range x {
			x[i] = rapid.Float64Range(-1, 1).Draw(t, "x")
		}
		got := make([]float64, len(x))
		rotated.Powers(x, got)
		for i, x := range x {
			n, d := fused(rotated.NS, x, rotated.NO), fused(rotated.DS, x, rotated.DO)
			want := fused(n, n, rotated.NQ) / fused(d, d, rotated.DQ)
			r.saw(0)
			if math.Float64bits(got[i]) != math.Float64bits(want) {
				t.Fatalf("%+v at %.17g: %#x, exactly rounded %#x", rotated, x, math.Float64bits(got[i]), math.Float64bits(want))
			}
		}
	})
	row := Row{0.3 + 0.1i, -0.2 + 0.7i, 0.01 - 0.4i, 0.9 + 0.02i}
	rotated := row.Rotate()
	x := []float64{-1, -0.5, 0.011, 0.25, 1}
	got := make([]float64, len(x))
	rotated.Powers(x, got)
	for i, want := range []uint64{0x3fe427a6210a70de, 0x3fe3af50792b871c, 0x3fe4077eca91a46b, 0x3fe4ec4ec4ec4ec5, 0x3fe5635f6c960bd6} {
		if math.Float64bits(got[i]) != want {
			t.Errorf("x = %g: %#x, want %#x", x[i], math.Float64bits(got[i]), want)
		}
	}
}
