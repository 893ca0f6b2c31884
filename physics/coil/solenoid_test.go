package coil

import (
	"errors"
	"fmt"
	"math"
	"regexp"
	"strconv"
	"strings"
	"testing"

	"gonum.org/v1/gonum/mat"
	"pgregory.net/rapid"

	"knobwise/internal/reference"
)

func TestPublishedCoils(t *testing.T) {
	ledger := reference.Open(t, "single_layer_coil_examples.csv")
	round, lowest, highest := 0, 0.0, 0.0
	for _, row := range ledger.Rows {
		n, d, l := row.Float("N"), row.Float("D_mm")*1e-3, row.Float("l_mm")*1e-3
		sheet := CurrentSheet(n, d, l)
		ledger.Near(row, "current sheet, uH", sheet*1e6, row.Float("L_current_sheet_uH"), 1e-6)
		if row.Has("published_uH") {
			// The handbook's examples are worked with its own 1 % formula.
			ledger.Near(row, "handbook answer, uH", sheet*1e6, row.Float("published_uH"), 0.01)
		}
		if !row.Has("L_rosa_uH") {
			continue
		}
		round++
		wire := row.Float("d_mm") * 1e-3
		got := RoundWire(n, d, l, wire)
		ledger.Near(row, "round wire, uH", got*1e6, row.Float("L_rosa_uH"), 1e-5)
		ledger.Near(row, "round wire against the sum of rings, uH", got*1e6, row.Float("L_loop_sum_lf_uH"), 0.005)
		// The tests' own rings are the referee of the section matrix below: they must be sound themselves.
		ledger.Near(row, "rings of the tests, uH", ringCoil(int(n), d, l/n, wire)*1e6, row.Float("L_loop_sum_lf_uH"), 1e-6)
		lowest, highest = min(lowest, got/sheet-1), max(highest, got/sheet-1)
		t.Logf("%s: d/p %.3f, round wire less current sheet %+.2f %%", row.Text("id"), wire*n/l, 100*(got/sheet-1))
	}
	if round != 12 {
		t.Errorf("checked %d coils of round wire, the file has 12", round)
	}
	// The span that the docstring of Sections quotes.
	if math.Abs(lowest+0.027) > 0.0005 || math.Abs(highest-0.077) > 0.0005 {
		t.Errorf("round wire changes the total by %.4f to %.4f, not by -0.027 to +0.077", lowest, highest)
	}
}

// number finds the number that follows a pattern in a text.
func number(t *testing.T, text, pattern string) float64 {
	t.Helper()
	found := regexp.MustCompile(pattern + `\s*([0-9.]+)`).FindStringSubmatch(text)
	if found == nil {
		t.Fatalf("no %q in %q", pattern, text)
	}
	v, err := strconv.ParseFloat(found[1], 64)
	if err != nil {
		t.Fatal(err)
	}
	return v
}

func TestPublishedTappedCoils(t *testing.T) {
	ledger := reference.Open(t, "tapped_variable_cap.csv")
	var whole Solenoid
	totals, taps := 0, 0
	for _, row := range ledger.Rows {
		switch row.Text("quantity") {
		case "tapped_coil_total":
			totals++
			in := row.Text("inputs")
			n := number(t, in, "N=")
			whole = Solenoid{
				Diameter: number(t, in, "D=") * 1e-3,
				Length:   number(t, in, "pitch=") * 1e-3 * n,
				Wire:     number(t, in, "wire") * 1e-3,
				Turns:    []float64{n},
			}
			sections, err := whole.Sections()
			if err != nil {
				t.Fatal(err)
			}
			ledger.Near(row, "whole coil, uH", sections.At(0, 0)*1e6, row.Float("value"), 1e-5)
			ledger.Near(row, "sum of rings, uH", ringCoil(int(n), whole.Diameter, whole.Length/n, whole.Wire)*1e6,
				number(t, row.Text("note"), `rings sum \(l\.f\.\)`), 1e-5)
		case "tapped_coil_section":
			taps++
			tap, n := number(t, row.Text("inputs"), "tap at"), whole.Turns[0]
			s := whole
			s.Turns = []float64{tap, n - tap}
			sections, err := s.Sections()
			if err != nil {
				t.Fatal(err)
			}
			la, lb, m := sections.At(0, 0), sections.At(1, 1), sections.At(0, 1)
			note := row.Text("note")
			// The last printed digit limits the agreement: 5 decimals, 4 in the ratios.
			ledger.Within(row, "section, uH", la*1e6, row.Float("value"), 0.51e-5)
			ledger.Within(row, "rest, uH", lb*1e6, number(t, note, "rest"), 0.51e-5)
			ledger.Within(row, "M, uH", m*1e6, number(t, note, `\)/2 =`), 0.51e-5)
			ledger.Within(row, "k", m/math.Sqrt(la*lb), number(t, note, "k between the sections ="), 0.51e-5)
			ledger.Within(row, "voltage ratio", mat.Sum(sections)/(la+m), number(t, note, `Ltot/\(La\+M\) =`), 0.51e-4)
			ledger.Within(row, "turns ratio", n/tap, number(t, note, "turns ratio N/t ="), 0.51e-4)
		case "typical_Q":
			ledger.NotApplicable(row, "default value only, never an oracle")
		default:
			ledger.Elsewhere(row, "bench/box")
		}
	}
	if totals != 3 || taps != 12 {
		t.Errorf("checked %d whole coils and %d taps, the file has 3 and 12", totals, taps)
	}
}

// What the round wire would change in the sections of coil T046, as the docstring of Sections says.
func TestRoundWireOnSections(t *testing.T) {
	const diameter, pitch, wire = 50e-3, 2e-3, 1.5e-3
	both := func(turns float64) (sheet, round float64) {
		return CurrentSheet(turns, diameter, turns*pitch), RoundWire(turns, diameter, turns*pitch, wire)
	}
	sheetA, roundA := both(10)
	sheetB, roundB := both(20)
	sheetAll, roundAll := both(30)
	self := roundA/sheetA - 1
	mutual := (roundAll-roundA-roundB)/(sheetAll-sheetA-sheetB) - 1
	if math.Abs(self+0.029) > 0.0005 || math.Abs(mutual+0.004) > 0.0005 {
		t.Errorf("round wire changes the 10 turns by %.4f and M by %.4f, not by -0.029 and -0.004", self, mutual)
	}
}

// drawSolenoid makes a coil from flat to slender with up to 8 sections.
func drawSolenoid(t *rapid.T) Solenoid {
	s := Solenoid{
		Diameter: math.Exp(rapid.Float64Range(math.Log(1e-2), math.Log(1)).Draw(t, "ln diameter")),
		Turns:    rapid.SliceOfN(rapid.Float64Range(0.25, 100), 1, 8).Draw(t, "turns"),
	}
	s.Length = s.Diameter * math.Exp(rapid.Float64Range(math.Log(1e-3), math.Log(1e2)).Draw(t, "ln l/D"))
	s.Wire = min(s.Length/s.TotalTurns(), s.Diameter/2) * rapid.Float64Range(0.1, 1).Draw(t, "d/p")
	return s
}

func TestSectionsAreAnInductanceMatrix(t *testing.T) {
	lowestK, highestK, weakest := math.Inf(1), 0.0, math.Inf(1)
	largest, coils := 0, 0
	rapid.Check(t, func(t *rapid.T) {
		s := drawSolenoid(t)
		sections, err := s.Sections()
		if err != nil {
			t.Fatal(err)
		}
		n := len(s.Turns)
		coils++
		largest = max(largest, n)
		whole := CurrentSheet(s.TotalTurns(), s.Diameter, s.Length)
		perMetre := s.TotalTurns() / s.Length

		// Every run of sections is one coil.
		for i := range n {
			turns := 0.0
			for j := i; j < n; j++ {
				turns += s.Turns[j]
				block := 0.0
				for a := i; a <= j; a++ {
					for b := i; b <= j; b++ {
						block += sections.At(a, b)
					}
				}
				want := CurrentSheet(turns, s.Diameter, turns/perMetre)
				if off := math.Abs(block - want); !(off <= 1e-13*want) {
					t.Fatalf("sections %d to %d: %g H, as one coil %g H", i+1, j+1, block, want)
				}
			}
		}
		if off := math.Abs(mat.Sum(sections)/whole - 1); !(off < 1e-13) {
			t.Fatalf("the matrix totals %g H, the coil has %g H", mat.Sum(sections), whole)
		}

		// No set of currents may give negative energy, judged on the matrix of couplings.
		couplings := mat.NewSymDense(n, nil)
		for i := range n {
			for j := range n {
				k := sections.At(i, j) / math.Sqrt(sections.At(i, i)*sections.At(j, j))
				couplings.SetSym(i, j, k)
				if i != j {
					if !(k > 0 && k < 1) {
						t.Fatalf("k(%d,%d) = %g", i+1, j+1, k)
					}
					lowestK, highestK = min(lowestK, k), max(highestK, k)
				}
			}
		}
		var cholesky mat.Cholesky
		if !cholesky.Factorize(sections) {
			t.Fatalf("not positive definite: %v", mat.Formatted(sections))
		}
		var eigen mat.EigenSym
		if !eigen.Factorize(couplings, false) {
			t.Fatal("no eigenvalues")
		}
		if low := eigen.Values(nil)[0]; !(low > 0) {
			t.Fatalf("lowest eigenvalue of the couplings %g", low)
		} else {
			weakest = min(weakest, low)
		}

		// The same coil wound from the other end.
		back := s
		back.Turns = make([]float64, n)
		for i := range n {
			back.Turns[n-1-i] = s.Turns[i]
		}
		reversed, err := back.Sections()
		if err != nil {
			t.Fatal(err)
		}
		for i := range n {
			for j := range n {
				if off := math.Abs(reversed.At(n-1-i, n-1-j) - sections.At(i, j)); !(off <= 1e-14*whole) {
					t.Fatalf("from the other end (%d,%d) differs by %g H", i+1, j+1, off)
				}
			}
		}
	})
	t.Logf("%d coils, up to %d sections: k from %.3g to %.3g, lowest eigenvalue of the couplings %.3g", coils, largest, lowestK, highestK, weakest)
	if largest != 8 {
		t.Errorf("no coil had 8 sections, at most %d", largest)
	}
}

// The mutual inductances come out of sheet formulas as differences; here rings are summed up instead.
func TestMutualsAgainstRings(t *testing.T) {
	pairs, apart := 0, 0
	worstTouching, worstApart, worstOfWhole := 0.0, 0.0, 0.0
	for _, slender := range []float64{0.01, 0.1, 0.5, 1, 2, 5, 20, 100, 1000} { // l/D
		s := Solenoid{Diameter: 0.032, Length: 0.032 * slender, Wire: 1e-6, Turns: []float64{3, 0.5, 8, 10, 4.25, 14}}
		sections, err := s.Sections()
		if err != nil {
			t.Fatal(err)
		}
		perMetre := s.TotalTurns() / s.Length
		whole := mat.Sum(sections)
		for i := range s.Turns {
			gap := 0.0
			for j := i + 1; j < len(s.Turns); j++ {
				pairs++
				want := sheetsMutual(perMetre, s.Diameter, s.Turns[i]/perMetre, gap, s.Turns[j]/perMetre)
				off := math.Abs(sections.At(i, j) - want)
				if j > i+1 {
					apart++
					worstApart = max(worstApart, off/want)
				} else {
					worstTouching = max(worstTouching, off/want)
				}
				worstOfWhole = max(worstOfWhole, off/whole)
				if !(off <= 1e-9*want) { // at l/D 1000 the rings themselves keep only ten digits
					t.Errorf("l/D %g, sections %d and %d: M = %.12g H, rings %.12g H", slender, i+1, j+1, sections.At(i, j), want)
				}
				gap += s.Turns[j] / perMetre
			}
		}
	}
	t.Logf("%d pairs, %d of them apart: largest relative difference %.2g (apart), %.2g (touching); %.2g of the whole coil's inductance",
		pairs, apart, worstApart, worstTouching, worstOfWhole)
	if pairs != 135 || apart != 90 {
		t.Errorf("checked %d pairs, %d apart; want 135 and 90", pairs, apart)
	}
	if !(worstOfWhole < 1e-14) {
		t.Errorf("a mutual inductance is off by %g of the whole coil's inductance", worstOfWhole)
	}
}

func TestMutualsOfRandomCoilsAgainstRings(t *testing.T) {
	pairs, worst := 0, 0.0
	rapid.Check(t, func(t *rapid.T) {
		s := drawSolenoid(t)
		if len(s.Turns) < 2 {
			t.Skip("one section only")
		}
		i := rapid.IntRange(0, len(s.Turns)-2).Draw(t, "i")
		j := rapid.IntRange(i+1, len(s.Turns)-1).Draw(t, "j")
		sections, err := s.Sections()
		if err != nil {
			t.Fatal(err)
		}
		perMetre, gap := s.TotalTurns()/s.Length, 0.0
		for _, turns := range s.Turns[i+1 : j] {
			gap += turns / perMetre
		}
		want := sheetsMutual(perMetre, s.Diameter, s.Turns[i]/perMetre, gap, s.Turns[j]/perMetre)
		off := math.Abs(sections.At(i, j)-want) / mat.Sum(sections)
		pairs++
		worst = max(worst, off)
		if !(off < 1e-14) {
			t.Fatalf("sections %d and %d: M = %.15g H, rings %.15g H, off by %.2g of the whole coil", i+1, j+1, sections.At(i, j), want, off)
		}
	})
	t.Logf("%d pairs: off by at most %.2g of the whole coil's inductance", pairs, worst)
	if pairs < 500 {
		t.Errorf("only %d pairs", pairs)
	}
}

// endEffect has two forms; they must meet, and agree with its definition by Nagaoka's coefficient.
func TestEndEffect(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		x := math.Exp(rapid.Float64Range(math.Log(1e-3), math.Log(1e3)).Draw(t, "ln D/l"))
		want := Nagaoka(x) - 1 + 4/(3*math.Pi)*x
		if got := endEffect(x, 1); math.Abs(got-want) > 2e-15*(1+x) {
			t.Fatalf("h at D/l %g: %.17g, want %.17g", x, got, want)
		}
	})
	below, above := endEffect(0.5, 1), endEffect(math.Nextafter(0.5, 1), 1)
	if math.Abs(below-above) > 5e-16 {
		t.Errorf("the two forms differ by %g where they meet", above-below)
	}
}

func TestScale(t *testing.T) {
	s := Solenoid{Diameter: 0.032, Length: 0.04, Wire: 0.5e-3, Turns: []float64{8, 10, 14}}
	sections, err := s.Sections()
	if err != nil {
		t.Fatal(err)
	}
	before := mat.DenseCopyOf(sections)
	scaled, err := Scale(sections, 20e-6)
	if err != nil {
		t.Fatal(err)
	}
	if got := mat.Sum(scaled); math.Abs(got/20e-6-1) > 1e-14 {
		t.Errorf("scaled to %g H, want 20e-6", got)
	}
	factor := scaled.At(0, 0) / sections.At(0, 0)
	for i := range 3 {
		for j := range 3 {
			if got := scaled.At(i, j) / sections.At(i, j); math.Abs(got/factor-1) > 1e-15 {
				t.Errorf("entry (%d,%d) scaled by %g, the first by %g", i, j, got, factor)
			}
		}
	}
	if !mat.Equal(before, sections) {
		t.Error("Scale changed its argument")
	}
	for _, whole := range []float64{0, -1e-6, math.NaN(), math.Inf(1)} {
		var bad *ScaleError
		if m, err := Scale(sections, whole); !errors.As(err, &bad) || m != nil {
			t.Errorf("scaling to %g: got %v, %v", whole, m, err)
		}
	}
	var bad *ScaleError
	if _, err := Scale(mat.NewSymDense(2, nil), 1e-6); !errors.As(err, &bad) {
		t.Errorf("scaling a matrix of zeros: %v", err)
	}
}

func TestValidate(t *testing.T) {
	sound := func() Solenoid { return Solenoid{Diameter: 0.032, Length: 0.007, Wire: 0.0005, Turns: []float64{8, 6}} }
	if err := sound().Validate(); err != nil {
		t.Fatalf("a close winding that just fits: %v", err)
	}
	nan := math.NaN()
	fields := 0
	for _, bad := range []struct {
		field string
		spoil func(*Solenoid, float64)
	}{
		{"diameter", func(s *Solenoid, v float64) { s.Diameter = v }},
		{"length", func(s *Solenoid, v float64) { s.Length = v }},
		{"wire", func(s *Solenoid, v float64) { s.Wire = v }},
		{"turns of section 2", func(s *Solenoid, v float64) { s.Turns[1] = v }},
	} {
		for _, v := range []float64{0, -0.01, nan, math.Inf(1), math.Inf(-1), 1e-300, 1e300} {
			s := sound()
			bad.spoil(&s, v)
			var got *FieldError
			if err := s.Validate(); !errors.As(err, &got) || got.Field != bad.field || !strings.Contains(err.Error(), "coil "+bad.field+" is ") {
				t.Errorf("%s = %g: %v", bad.field, v, err)
			}
			if m, err := s.Sections(); err == nil || m != nil {
				t.Errorf("Sections accepted %s = %g", bad.field, v)
			}
			fields++
		}
	}
	if fields != 28 {
		t.Errorf("spoiled %d fields", fields)
	}

	s := sound()
	s.Length = 0.006
	var fit *FitError
	if err := s.Validate(); !errors.As(err, &fit) || fit.Turns != 14 || !strings.Contains(err.Error(), "14 turns of 0.5 mm need 7 mm") {
		t.Errorf("turns that do not fit: %v", err)
	}
	s = sound()
	s.Wire, s.Length = 0.032, 10
	var field *FieldError
	if err := s.Validate(); !errors.As(err, &field) || field.Field != "wire" {
		t.Errorf("a wire as thick as the coil: %v", err)
	}
	for _, count := range []int{0, MaxSections + 1} {
		s = sound()
		s.Turns = make([]float64, count)
		var number *SectionCountError
		if err := s.Validate(); !errors.As(err, &number) || number.Count != count {
			t.Errorf("%d sections: %v", count, err)
		}
	}
}

// Whatever Validate lets through gives finite numbers, and Sections never panics.
func TestExtremeCoilsStayFinite(t *testing.T) {
	accepted, refused := 0, 0
	rapid.Check(t, func(t *rapid.T) {
		size := rapid.OneOf(rapid.Map(rapid.Float64Range(-10, 7), func(e float64) float64 { return math.Pow(10, e) }),
			rapid.Float64(), rapid.SampledFrom([]float64{1e-9, 1e6, 0}))
		turns := rapid.OneOf(rapid.Map(rapid.Float64Range(-3, 6), func(e float64) float64 { return math.Pow(10, e) }),
			rapid.SampledFrom([]float64{1e-3, 1, 1e6}))
		s := Solenoid{Diameter: size.Draw(t, "diameter"), Length: size.Draw(t, "length"), Turns: rapid.SliceOfN(turns, 0, 5).Draw(t, "turns")}
		s.Wire = rapid.OneOf(size, rapid.Just(min(s.Diameter/2, s.Length/max(1, s.TotalTurns())))).Draw(t, "wire")
		sections, err := s.Sections()
		if err != nil {
			refused++
			return
		}
		accepted++
		for i := range s.Turns {
			for j := range s.Turns {
				if v := sections.At(i, j); math.IsNaN(v) || math.IsInf(v, 0) || (i == j && v <= 0) {
					t.Fatalf("entry (%d,%d) is %g", i, j, v)
				}
			}
		}
	})
	t.Logf("%d accepted, %d refused", accepted, refused)
	if accepted < 10 || refused < 10 {
		t.Error("the draw is lopsided")
	}
	for _, s := range []Solenoid{
		{Diameter: 1e6, Length: 1e-9, Wire: 1e-9, Turns: []float64{1e-3, 1e-3, 0.5}},
		{Diameter: 1e6, Length: 1e6, Wire: 1e-9, Turns: []float64{1e6, 1e-3, 1e6}},
		{Diameter: 1e-8, Length: 1e6, Wire: 1e-9, Turns: []float64{1e6, 1e-3, 1e6}},
	} {
		sections, err := s.Sections()
		if err != nil {
			t.Errorf("%v: %v", s, err)
			continue
		}
		if total := mat.Sum(sections); !(total > 0) || math.IsInf(total, 0) {
			t.Errorf("%v: total %g H", s, total)
		}
	}
}

func TestFormulasOutsideDomain(t *testing.T) {
	cases := 0
	for _, bad := range []float64{0, -1, math.NaN(), math.Inf(-1)} {
		for _, got := range []float64{
			CurrentSheet(bad, 1, 1), CurrentSheet(1, bad, 1), CurrentSheet(1, 1, bad),
			RoundWire(bad, 1, 1, 1e-3), RoundWire(1, bad, 1, 1e-3), RoundWire(1, 1, bad, 1e-3), RoundWire(1, 1, 1, bad),
		} {
			cases++
			if !math.IsNaN(got) {
				t.Errorf("with %g: got %g, want NaN", bad, got)
			}
		}
	}
	if cases != 28 {
		t.Errorf("tried %d cases", cases)
	}
}

func ExampleSolenoid_Sections() {
	coil := Solenoid{Diameter: 32e-3, Length: 40e-3, Wire: 0.5e-3, Turns: []float64{8, 10, 14}}
	sections, err := coil.Sections()
	if err != nil {
		fmt.Println(err)
		return
	}
	fmt.Printf("whole coil %.3f uH\n", mat.Sum(sections)*1e6)
	fmt.Printf("first section %.3f uH, coupled to the last by k = %.3f\n",
		sections.At(0, 0)*1e6, sections.At(0, 2)/math.Sqrt(sections.At(0, 0)*sections.At(2, 2)))
	// Output:
	// whole coil 19.018 uH
	// first section 2.681 uH, coupled to the last by k = 0.106
}

func BenchmarkSections(b *testing.B) {
	s := Solenoid{Diameter: 0.032, Length: 0.04, Wire: 0.2e-3, Turns: []float64{8, 10, 14, 3, 5, 7, 11, 2}}
	b.ReportAllocs()
	total := 0.0
	for b.Loop() {
		sections, err := s.Sections()
		if err != nil {
			b.Fatal(err)
		}
		total += sections.At(0, 7)
	}
	if !(total > 0) {
		b.Fatal(total)
	}
}
