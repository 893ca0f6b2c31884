package coil

import (
	"math"
	"testing"

	"pgregory.net/rapid"

	"knobwise/internal/reference"
)

func TestRosaTable(t *testing.T) {
	ledger := reference.Open(t, "rosa_corrections.csv")
	terms := map[string]func(float64) float64{"A": RosaA, "B": RosaB}
	recalled := 0
	for _, row := range ledger.Rows {
		got := terms[row.Text("term")](row.Float("argument"))
		ledger.Within(row, row.Text("term"), got, row.Float("value_computed"), 0.51e-6) // printed to 6 decimals
		if row.Has("memory_value") {
			recalled++
			ledger.Within(row, row.Text("term")+" in Rosa's table, from memory", got, row.Float("memory_value"), 0.6e-4)
		}
	}
	if recalled != 10 {
		t.Errorf("checked %d recalled table values, the file has 10", recalled)
	}
}

// rosaSum is Rosa's sum as printed. From n = 9 it takes ln n - ln g(n) from Maxwell's series
// 1/(12n²) + 1/(60n⁴) + 1/(168n⁶) + 1/(360n⁸) + 1/(660n¹⁰) + … (Rosa & Grover, Sci. Paper 169), because the printed
// difference loses its digits there.
func rosaSum(turns int) float64 {
	sum := 0.0
	for i := 1; i < turns; i++ {
		n := float64(i)
		var g float64
		if i < 9 {
			// For n = 1 the term in (n-1)² ln(n-1) is 0.
			g = math.Log(n) - ((n+1)*(n+1)/2*math.Log(n+1) - n*n*math.Log(n) - 1.5)
			if i > 1 {
				g -= (n - 1) * (n - 1) / 2 * math.Log(n-1)
			}
		} else {
			u := 1 / (n * n)
			g = u * (1.0/12 + u*(1.0/60+u*(1.0/168+u*(1.0/360+u*(1.0/660+u*1.0/1092)))))
		}
		sum += (float64(turns) - n) * g
	}
	return 2 / float64(turns) * sum
}

func TestRosaBIsRosasSum(t *testing.T) {
	worst, worstAt, count := 0.0, 0, 0
	for turns := 1; turns <= 3000; turns++ {
		count++
		if off := math.Abs(RosaB(float64(turns)) - rosaSum(turns)); !(off <= worst) {
			worst, worstAt = off, turns
		}
	}
	t.Logf("%d whole numbers of turns: largest error %.2g at N = %d", count, worst, worstAt)
	if !(worst < 1e-13) {
		t.Errorf("off by %g at N = %d", worst, worstAt)
	}
}

// An asymptotic series is off by less than the first term left out, here (2/N)·b(14)/(4·6·7 N¹²) = 1/(72 N¹³); at
// so few turns that a wrong later term would show.
func TestBarnesSeries(t *testing.T) {
	for turns := 4; turns <= 7; turns++ {
		n := float64(turns)
		omitted := 1 / (72 * math.Pow(n, 13))
		if off := math.Abs(rosaBMany(n) - rosaSum(turns)); !(off < omitted+1e-14) {
			t.Errorf("N = %d: off by %g, the term left out is %g", turns, off, omitted)
		}
	}
}

func TestRosaBBetweenWholeTurns(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		n := rapid.Float64Range(1, 1000).Draw(t, "turns")
		low, b, high := RosaB(math.Floor(n)), RosaB(n), RosaB(math.Floor(n)+1)
		if !(low <= b && b <= high) {
			t.Fatalf("B(%g) = %g, not between its neighbours %g and %g", n, b, low, high)
		}
		if step := RosaB(n+1e-6) - b; !(step > -1e-12 && step < 1e-6) {
			t.Fatalf("B jumps by %g at %g", step, n)
		}
	})
	// The recurrence and the series must meet where one hands over to the other.
	below, above := RosaB(math.Nextafter(barnesFrom, 0)), RosaB(barnesFrom)
	if math.Abs(below-above) > 1e-13 {
		t.Errorf("B breaks at %d turns: %.17g and %.17g", barnesFrom, below, above)
	}
}

func TestRosaOutsideDomain(t *testing.T) {
	for _, bad := range []float64{-1, math.NaN(), math.Inf(-1)} {
		if a, b := RosaA(bad), RosaB(bad); !math.IsNaN(a) || !math.IsNaN(b) {
			t.Errorf("A(%g) = %g, B = %g, want NaN", bad, a, b)
		}
	}
	if !math.IsNaN(RosaA(0)) {
		t.Errorf("A(0) = %g, want NaN", RosaA(0))
	}
	for _, n := range []float64{0, 0.5, 1} {
		if b := RosaB(n); b != 0 {
			t.Errorf("B(%g) = %g, want 0", n, b)
		}
	}
	limit := math.Log(2*math.Pi) - 1.5
	for _, n := range []float64{1e15, 1e300, math.Inf(1)} {
		if b := RosaB(n); math.Abs(b-limit) > 1e-13 {
			t.Errorf("B(%g) = %g, want %g", n, b, limit)
		}
	}
}
