package touchstone

import (
	"math"
	"math/cmplx"
	"math/rand/v2"
	"testing"
)

// S at another reference belongs to the same impedances: Z of one and of the other, each by Z = √R·(1-S)⁻¹(1+S)·√R written out
// for two ports, are equal. And there and back is where it began.
func TestRenormalise(t *testing.T) {
	impedances := func(s []complex128, r []float64) [4]complex128 {
		d := (1-s[0])*(1-s[3]) - s[1]*s[2]
		c := complex(math.Sqrt(r[0]*r[1]), 0)
		return [4]complex128{
			complex(r[0], 0) * ((1+s[0])*(1-s[3]) + s[1]*s[2]) / d, c * 2 * s[1] / d,
			c * 2 * s[2] / d, complex(r[1], 0) * ((1-s[0])*(1+s[3]) + s[1]*s[2]) / d,
		}
	}
	rng := rand.New(rand.NewPCG(3, 9))
	number := func() complex128 { return complex(rng.Float64()-0.5, rng.Float64()-0.5) }
	checked := 0
	for range 200 {
		d := &Data{Ports: 2, Parameter: 'S', Frequencies: []float64{1e6}, Reference: []float64{10 + 300*rng.Float64(), 10 + 300*rng.Float64()}}
		d.Values = [][]complex128{{number(), number(), number(), number()}}
		to := 5 + 500*rng.Float64()
		one, err := d.Renormalise(to)
		if err != nil {
			t.Fatal(err)
		}
		if one.Reference[0] != to || one.Reference[1] != to || d.Reference[0] == to {
			t.Fatalf("references %v, of the origin %v", one.Reference, d.Reference)
		}
		want, got := impedances(d.Values[0], d.Reference), impedances(one.Values[0], one.Reference)
		for i := range want {
			checked++
			if cmplx.Abs(got[i]-want[i]) > 1e-9*(cmplx.Abs(want[i])+1) {
				t.Fatalf("Z%d is %v, not %v", i, got[i], want[i])
			}
		}
	}
	// A one-port: the reflection of its impedance.
	p := &Data{Ports: 1, Parameter: 'S', Frequencies: []float64{1e6}, Reference: []float64{75}, Values: [][]complex128{{0.3 - 0.2i}}}
	q, err := p.Renormalise(50)
	if err != nil {
		t.Fatal(err)
	}
	z := 75 * (1 + p.Values[0][0]) / (1 - p.Values[0][0])
	if want := (z - 50) / (z + 50); cmplx.Abs(q.Values[0][0]-want) > 1e-14 {
		t.Errorf("%v, not %v", q.Values[0][0], want)
	}
	for _, bad := range []float64{0, -1, math.NaN(), math.Inf(1)} {
		if _, err := p.Renormalise(bad); err == nil {
			t.Errorf("a reference of %v ohm was taken", bad)
		}
	}
	if checked != 800 {
		t.Errorf("%d checked", checked)
	}
}
