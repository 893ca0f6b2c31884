package touchstone

import (
	"math"
	"math/cmplx"
	"testing"

	"gonum.org/v1/gonum/mat"
	"pgregory.net/rapid"
)

func inverse(m []complex128) []complex128 {
	if len(m) == 1 {
		return []complex128{1 / m[0]}
	}
	det := m[0]*m[3] - m[1]*m[2]
	return []complex128{m[3] / det, -m[1] / det, -m[2] / det, m[0] / det}
}

// zFromS is the table of D. A. Frickey, IEEE Trans. MTT-42 (1994) 205-211, for real references (from memory).
func zFromS(s []complex128, r []float64) []complex128 {
	if len(s) == 1 {
		return []complex128{complex(r[0], 0) * (1 + s[0]) / (1 - s[0])}
	}
	r1, r2, root := complex(r[0], 0), complex(r[1], 0), complex(2*math.Sqrt(r[0]*r[1]), 0)
	det := (1-s[0])*(1-s[3]) - s[1]*s[2]
	return []complex128{
		r1 * ((1+s[0])*(1-s[3]) + s[1]*s[2]) / det, root * s[1] / det,
		root * s[2] / det, r2 * ((1-s[0])*(1+s[3]) + s[1]*s[2]) / det,
	}
}

// hFromZ and gFromZ follow from the definitions.
func hFromZ(z []complex128) []complex128 {
	return []complex128{(z[0]*z[3] - z[1]*z[2]) / z[3], z[1] / z[3], -z[2] / z[3], 1 / z[3]}
}

func gFromZ(z []complex128) []complex128 {
	return []complex128{1 / z[0], -z[1] / z[0], z[2] / z[0], (z[0]*z[3] - z[1]*z[2]) / z[0]}
}

// anyMatrix draws one with all singular values well below 1, so that the way through Z is well conditioned.
func anyMatrix(t *rapid.T, ports int, largest float64) []complex128 {
	part := rapid.Float64Range(-largest, largest)
	m := make([]complex128, ports*ports)
	for e := range m {
		m[e] = complex(part.Draw(t, "re"), part.Draw(t, "im"))
	}
	return m
}

func TestToSFromEveryParameter(t *testing.T) {
	checked := 0
	rapid.Check(t, func(t *rapid.T) {
		ports := rapid.IntRange(1, 2).Draw(t, "ports")
		s := anyMatrix(t, ports, 0.3) // norm at most 0.3·√2·2 = 0.85
		r := []float64{rapid.Float64Range(1, 1000).Draw(t, "r1"), rapid.Float64Range(1, 1000).Draw(t, "r2")}[:ports]
		z := zFromS(s, r)
		forms := map[byte][]complex128{'S': s, 'Z': z, 'Y': inverse(z)}
		if ports == 2 {
			forms['H'], forms['G'] = hFromZ(z), gFromZ(z)
		}
		for parameter, values := range forms {
			d := &Data{Ports: ports, Parameter: parameter, Frequencies: []float64{1}, Values: [][]complex128{values}, Reference: r}
			got, err := d.ToS()
			if err != nil {
				t.Fatal(err)
			}
			if got.Parameter != 'S' || &got.Values[0][0] == &values[0] {
				t.Fatalf("%c: no copy as S", got.Parameter)
			}
			for e := range s {
				if cmplx.Abs(got.Values[0][e]-s[e]) > 1e-12 {
					t.Fatalf("%c: %v, want %v", parameter, got.Values[0], s)
				}
			}
			checked++
		}
	})
	if checked < 300 {
		t.Errorf("%d conversions checked", checked)
	}
}

// Circuits whose S follows from its definition by hand.
func TestToSOfKnownCircuits(t *testing.T) {
	for _, c := range []struct {
		name, file, text string
		want             []complex128
	}{
		{"75 ohm in 50 ohm", "a.s1p", "# Z RI R 50\n1 1.5 0\n", []complex128{0.2}},
		{"short", "a.s1p", "# Z RI R 50\n1 0 0\n", []complex128{-1}},
		{"open", "a.s1p", "# Y RI R 50\n1 0 0\n", []complex128{1}},
		{"very high impedance", "a.s1p", "# Z RI R 50\n1 1e200 1e200\n", []complex128{1}},
		{"100 ohm in series", "a.s2p", "# Y RI R 50\n1 .5 0 -.5 0 -.5 0 .5 0\n", []complex128{0.5, 0.5, 0.5, 0.5}},
		{"25 ohm across", "a.s2p", "# Z RI R 50\n1 .5 0 .5 0 .5 0 .5 0\n", []complex128{-0.5, 0.5, 0.5, -0.5}},
		{"ideal transformer 2:1, as H", "a.s2p", "# H RI R 50\n1 0 0 -2 0 2 0 0 0\n", []complex128{0.6, 0.8, 0.8, -0.6}},
		{"ideal transformer 2:1, as G", "a.s2p", "# G RI R 50\n1 0 0 .5 0 -.5 0 0 0\n", []complex128{0.6, 0.8, 0.8, -0.6}},
		{"ideal transformer 2:1 between 200 and 50 ohm", "a.s2p", "# H RI R 200 50\n1 0 0 -1 0 1 0 0 0\n", []complex128{0, 1, 1, 0}},
		{"ideal amplifier: voltage gain 2 with 50 ohm in and out", "a.s2p", "# G RI R 50\n1 1 0 2 0 0 0 1 0\n", []complex128{0, 0, 1, 0}},
	} {
		s, err := read(t, c.file, c.text).ToS()
		if err != nil {
			t.Errorf("%s: %v", c.name, err)
			continue
		}
		for e := range c.want {
			if cmplx.Abs(s.Values[0][e]-c.want[e]) > 1e-15 {
				t.Errorf("%s: %v, want %v", c.name, s.Values[0], c.want)
			}
		}
	}
}

func TestNegativeResistanceHasNoS(t *testing.T) {
	for file, text := range map[string]string{
		"a.s1p": "# MHz Z RI R 50\n3 -1 0\n",
		"a.s2p": "# MHz Z RI R 50\n3 -1 0 0 0 0 0 0 0\n",
		"b.s2p": "# MHz Y RI R 50\n3 -1 0 0 0 0 0 -1 0\n",
	} {
		d := read(t, file, text)
		if _, err := d.ToS(); err == nil {
			t.Errorf("%s: S of %v", file, d.Values)
		}
		if g, f := d.MaxGain(); !math.IsInf(g, 1) || f != 3e6 {
			t.Errorf("%s: gain %v at %v", file, g, f)
		}
	}
}

// The complex matrix A+jB has the singular values of the real one ((A, −B), (B, A)), each twice.
func TestLargestSingularValue(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		m := anyMatrix(t, 2, rapid.SampledFrom([]float64{1e-200, 1, 1e200}).Draw(t, "size"))
		real4 := mat.NewDense(4, 4, nil)
		for j := range 2 {
			for k := range 2 {
				v := m[j*2+k]
				real4.Set(j, k, real(v))
				real4.Set(j+2, k+2, real(v))
				real4.Set(j, k+2, -imag(v))
				real4.Set(j+2, k, imag(v))
			}
		}
		var svd mat.SVD
		if !svd.Factorize(real4, mat.SVDNone) {
			t.Fatal("no singular values")
		}
		want := svd.Values(nil)[0]
		if got := largestSingularValue(m); math.Abs(got-want) > 1e-14*want {
			t.Fatalf("%v, want %v", got, want)
		}
	})
}

func TestMaxGain(t *testing.T) {
	d := read(t, "a.s2p", "# MHz S RI\n1 0 0 .6 0 .6 0 0 0\n2 .6 0 .8 0 .8 0 -.6 0\n3 0 0 1.5 0 .1 0 0 0\n4 0 0 .1 0 .1 0 0 0\n")
	if g, f := d.MaxGain(); g != 1.5 || f != 3e6 {
		t.Errorf("%v at %v", g, f)
	}
	d.Values, d.Frequencies = d.Values[:2], d.Frequencies[:2]
	if g, f := d.MaxGain(); math.Abs(g-1) > 1e-15 || f != 2e6 {
		t.Errorf("%v at %v", g, f)
	}
}
