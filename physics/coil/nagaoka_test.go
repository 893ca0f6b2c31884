package coil

import (
	"math"
	"math/big"
	"strconv"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"knobwise/internal/reference"
)

func TestNagaokaTable(t *testing.T) {
	ledger := reference.Open(t, "nagaoka.csv")
	published, wheeler := 0, 0
	for _, row := range ledger.Rows {
		x := row.Float("d_over_l")
		k := Nagaoka(x)
		ledger.Within(row, "K", k, row.Float("K_exact"), 0.51e-8) // printed to 8 decimals
		if row.Has("K_published") {
			published++
			difference := row.Text("published_minus_exact") // printed to two digits, as in -7.1e-06
			_, exponent, _ := strings.Cut(difference, "e")
			power, err := strconv.Atoi(exponent)
			if err != nil {
				t.Fatal(err)
			}
			ledger.Within(row, "published K less exact K", row.Float("K_published")-k, row.Float("published_minus_exact"),
				0.051*math.Pow(10, float64(power))+1e-11)
		}
		if row.Has("wheeler1928_error_pct") {
			wheeler++
			// H. A. Wheeler, Proc. IRE 16 (1928) 1398: r²N²/(9r+10l) microhenry, r and l in inches. It checks the
			// whole current-sheet formula, units included, and not only K.
			r, l := 1.0, 2/x
			simple := r * r / (9*r + 10*l) * 1e-6
			ledger.Within(row, "error of Wheeler's formula, %", 100*(simple/CurrentSheet(1, 2*r*0.0254, l*0.0254)-1),
				row.Float("wheeler1928_error_pct"), 0.51e-3)
		}
	}
	if published != 39 || wheeler != 49 {
		t.Errorf("checked %d published values and %d of Wheeler's, the table has 39 and 49", published, wheeler)
	}
}

// lorenz is the formula in the table's header, in 400-bit arithmetic, with both complete elliptic integrals from the
// arithmetic-geometric mean (DLMF 19.8.5, 19.8.6). It loses 2·log2(x) bits to cancellation and has them to spare.
func lorenz(x float64) float64 {
	const precision = 400
	num := func(v float64) *big.Float { return new(big.Float).SetPrec(precision).SetFloat64(v) }
	fresh := func() *big.Float { return new(big.Float).SetPrec(precision) }
	pi, _ := fresh().SetString("3.14159265358979323846264338327950288419716939937510582097494459230781640628620899862803482534211706798214808651")

	x2 := fresh().Mul(num(x), num(x))
	onePlus := fresh().Add(num(1), x2)
	k2 := fresh().Quo(x2, onePlus)
	k := fresh().Sqrt(k2)
	kc := fresh().Quo(num(1), fresh().Sqrt(onePlus))

	a, b, c2 := num(1), fresh().Set(kc), fresh().Set(k2)
	sum, weight := fresh().Quo(k2, num(2)), num(1) // Σ 2^(n-1) c_n²
	for range 40 {
		mean := fresh().Quo(fresh().Add(a, b), num(2))
		half := fresh().Quo(fresh().Sub(a, b), num(2))
		b = fresh().Sqrt(fresh().Mul(a, b))
		a = mean
		c2.Mul(half, half)
		sum.Add(sum, fresh().Mul(weight, c2))
		weight.Mul(weight, num(2))
	}
	bigK := fresh().Quo(pi, fresh().Mul(num(2), a))
	kMinusE := fresh().Mul(bigK, sum)
	bigE := fresh().Sub(bigK, kMinusE)

	bracket := fresh().Quo(kMinusE, x2) // k'²/k² = 1/x²
	bracket.Add(bracket, bigE).Sub(bracket, k)
	result := fresh().Quo(bracket, fresh().Mul(fresh().Mul(num(0.75), pi), kc))
	value, _ := result.Float64()
	return value
}

func TestNagaokaAgainstExtendedPrecision(t *testing.T) {
	if got := lorenz(1); math.Abs(got-0.68842261) > 0.51e-8 {
		t.Fatalf("the oracle gives %.10g at 1, Nagaoka's table 0.688423", got)
	}
	worst, worstAt, count := 0.0, 0.0, 0
	check := func(x float64) {
		count++
		if off := math.Abs(Nagaoka(x)/lorenz(x) - 1); !(off <= worst) {
			worst, worstAt = off, x
		}
	}
	for exponent := -8.0; exponent <= 8; exponent += 0.01 {
		check(math.Pow(10, exponent))
	}
	check(seriesFrom)
	check(math.Nextafter(seriesFrom, 0))
	check(math.Nextafter(seriesFrom, 3))
	t.Logf("%d arguments from 1e-8 to 1e8: largest relative error %.2g at x = %g", count, worst, worstAt)
	if !(worst < 2e-15) {
		t.Errorf("relative error %g at x = %g", worst, worstAt)
	}
}

func TestNagaokaEnds(t *testing.T) {
	for x, want := range map[float64]float64{0: 1, math.Inf(1): 0} {
		if got := Nagaoka(x); math.Abs(got-want) > 1e-15 {
			t.Errorf("K(%g) = %g, want %g", x, got, want)
		}
	}
	for _, x := range []float64{-1, math.Inf(-1), math.NaN()} {
		if got := Nagaoka(x); !math.IsNaN(got) {
			t.Errorf("K(%g) = %g, want NaN", x, got)
		}
	}
	// K = 1 - 4x/(3π) + x²/8 - … for a slender coil; 2/(πx) (ln 4x - ½) for a flat one: the leading terms of
	// the series in the docstrings.
	if x := 1e-5; math.Abs(Nagaoka(x)-(1-4*x/(3*math.Pi)+x*x/8)) > 1e-15 {
		t.Errorf("slender limit missed: %.17g", Nagaoka(x))
	}
	if x, want := 1e9, 2/(math.Pi*1e9)*(math.Log(4e9)-0.5); math.Abs(Nagaoka(x)/want-1) > 1e-12 {
		t.Errorf("flat limit missed: %.17g, want %.17g", Nagaoka(x), want)
	}
	if got := Nagaoka(math.MaxFloat64); !(got >= 0 && got < 1e-300) {
		t.Errorf("K(largest float) = %g", got)
	}
}

func TestNagaokaFalls(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		x := math.Exp(rapid.Float64Range(-10, 20).Draw(t, "ln x"))
		step := rapid.Float64Range(1e-8, 1).Draw(t, "step")
		if a, b := Nagaoka(x), Nagaoka(x*(1+step)); !(a > b && b > 0 && a < 1) {
			t.Fatalf("K(%g) = %.17g, K(%g) = %.17g", x, a, x*(1+step), b)
		}
	})
}

func BenchmarkNagaoka(b *testing.B) {
	for _, x := range []float64{0.1, 1, 2, 10, 1000} {
		b.Run(strconv.FormatFloat(x, 'g', -1, 64), func(b *testing.B) {
			b.ReportAllocs()
			sum := 0.0
			for b.Loop() {
				sum += Nagaoka(x)
			}
			if math.IsNaN(sum) {
				b.Fatal("NaN")
			}
		})
	}
}
