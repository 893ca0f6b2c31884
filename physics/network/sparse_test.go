package network

import (
	"fmt"
	"math/cmplx"
	"testing"

	"pgregory.net/rapid"
)

// Over frequencies and values far from those that the order of elimination was found with, the sparse factors solve both
// ways as the dense ones with their own pivoting do; where they would not, they step back.
func TestSparseEqualsDenseOverFrequencies(t *testing.T) {
	r := counting(t)
	var fast, steppedBack int
	rapid.Check(t, func(t *rapid.T) {
		s := draw(t, false)
		inserted, _ := s.insert(t)
		solver := inserted.Solver()
		for i, f := range []float64{0.1e6, 1e6, 7.77e6, 30e6, 0.1e6} {
			if i == 3 {
				for _, p := range s.circuit.Params() {
					v := s.circuit.Element(p.Element).Params()[p.Index].Value
					*v *= 2.5
				}
			}
			if err := solver.At(f); err != nil {
				t.Skip(err)
			}
			if solver.useFull {
				steppedBack++
			} else {
				fast++
			}
			x := solver.NewSolution()
			solver.Drive(inserted.Source, 1, x)
			c := make([]complex128, solver.size)
			c[0] = 1
			transposed := append([]complex128(nil), c...)
			solver.solveTransposed(transposed)

			useFull := solver.useFull
			solver.assemble()
			copy(solver.full.a, solver.dense())
			if !solver.full.factor() {
				t.Fatal("the sparse factors exist, the dense ones do not")
			}
			solver.useFull = true
			want := solver.NewSolution()
			solver.Drive(inserted.Source, 1, want)
			wantTransposed := append([]complex128(nil), c...)
			solver.solveTransposed(wantTransposed)
			solver.useFull = useFull

			for _, pair := range [][2][]complex128{{x.x, want.x}, {transposed, wantTransposed}} {
				size := 0.0
				for _, v := range pair[1] {
					size = max(size, cmplx.Abs(v))
				}
				for k := range pair[0] {
					off := cmplx.Abs(pair[0][k]-pair[1][k]) / size
					r.saw(off)
					if !(off < 1e-9) {
						t.Fatalf("%g Hz, unknown %d: sparse %v, dense %v", f, k, pair[0][k], pair[1][k])
					}
				}
			}
		}
	})
	t.Logf("%d factorisations in the order found first, %d with new pivots", fast, steppedBack)
	if fast == 0 || steppedBack == 0 {
		t.Error("one of the two ways was never taken")
	}
}

// A response has the same bits whatever was asked before it.
func TestResponseDoesNotRememberOtherFrequencies(t *testing.T) {
	cases := 0
	rapid.Check(t, func(t *rapid.T) {
		s := draw(t, false)
		inserted, _ := s.insert(t)
		first, err := inserted.Response(2e6, 1)
		if err != nil {
			t.Skip(err)
		}
		for _, f := range []float64{0.1e6, 29e6} {
			if _, err := inserted.Response(f, 1); err != nil {
				t.Skip(err)
			}
		}
		again, err := inserted.Response(2e6, 1)
		if err != nil {
			t.Fatal(err)
		}
		cases++
		if fmt.Sprint(first) != fmt.Sprint(again) { // text, so that NaN equals NaN
			t.Fatalf("at first %v, then %v", first, again)
		}
	})
	if cases < 50 {
		t.Errorf("only %d cases", cases)
	}
}
