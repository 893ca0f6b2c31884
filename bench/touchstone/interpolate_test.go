package touchstone

import (
	"errors"
	"math"
	"math/cmplx"
	"slices"
	"strings"
	"testing"

	"gonum.org/v1/gonum/interp"
	"pgregory.net/rapid"
)

func interpolator(t rapid.TB, d *Data) *Interpolator {
	t.Helper()
	ip, err := NewInterpolator(d)
	if err != nil {
		t.Fatal(err)
	}
	return ip
}

func eval(t rapid.TB, ip *Interpolator, f float64) []complex128 {
	t.Helper()
	out := []complex128{cmplx.NaN(), cmplx.NaN(), cmplx.NaN(), cmplx.NaN()}[:ip.size]
	if err := ip.Eval(f, out); err != nil {
		t.Fatal(err)
	}
	return out
}

// anySweep draws S on an uneven grid; largest bounds each real and imaginary part.
func anySweep(t *rapid.T, largest float64) *Data {
	ports := rapid.IntRange(1, 2).Draw(t, "ports")
	d := &Data{Ports: ports, Parameter: 'S', Reference: []float64{50, 75}[:ports]}
	f := rapid.Float64Range(0, 1e6).Draw(t, "first")
	for range rapid.IntRange(1, 9).Draw(t, "points") {
		d.Frequencies = append(d.Frequencies, f)
		d.Values = append(d.Values, anyMatrix(t, ports, largest))
		f += math.Pow(10, rapid.Float64Range(1, 6).Draw(t, "step"))
	}
	return d
}

func inside(t *rapid.T, d *Data) float64 {
	low, high := d.Frequencies[0], d.Frequencies[len(d.Frequencies)-1]
	return low + rapid.Float64Range(0, 1).Draw(t, "place")*(high-low)
}

func TestPointsOfTheFileComeBackExactly(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		d := anySweep(t, 2)
		ip := interpolator(t, d)
		for i, f := range d.Frequencies {
			if got := eval(t, ip, f); !slices.Equal(got, d.Values[i]) {
				t.Fatalf("at %v: %v, want %v", f, got, d.Values[i])
			}
		}
	})
}

// At converts and interpolates a few points about f; the result must not show it.
func TestAtEqualsEval(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		d := anySweep(t, 0.3)
		if rapid.Bool().Draw(t, "as Z") {
			d.Parameter = 'Z'
			for i, s := range d.Values {
				d.Values[i] = zFromS(s, d.Reference)
			}
		}
		f := inside(t, d)
		got, err := d.At(f)
		if err != nil {
			t.Fatal(err)
		}
		if want := eval(t, interpolator(t, d), f); !slices.Equal(got, want) {
			t.Fatalf("at %v: %v, want %v", f, got, want)
		}
	})
}

// A passive file stays passive, and an active one gains no more than on the straight line: to rounding.
func TestNeverMoreActiveThanTheChord(t *testing.T) {
	limited := 0
	rapid.Check(t, func(t *rapid.T) {
		d := anySweep(t, rapid.SampledFrom([]float64{0.5, 1, 2}).Draw(t, "size"))
		if rapid.Bool().Draw(t, "lossless") {
			for _, row := range d.Values {
				gain := largestSingularValue(row)
				for e := range row {
					if gain > 0 {
						row[e] = times(row[e], 1/gain)
					}
				}
			}
		}
		f := inside(t, d)
		s := eval(t, interpolator(t, d), f)
		k, place, err := locate("", d.Frequencies, f)
		if err != nil {
			t.Fatal(err)
		}
		chord := slices.Clone(d.Values[k])
		if place > 0 {
			for e := range chord {
				chord[e] += times(d.Values[k+1][e]-chord[e], place)
			}
		}
		limit := max(1, largestSingularValue(chord))
		gain := largestSingularValue(s)
		if gain > limit*(1+2e-15) {
			t.Fatalf("gain %v, on the chord %v", gain, limit)
		}
		if gain > limit*(1-1e-12) && place > 0 {
			limited++
		}
	})
	if limited == 0 {
		t.Error("the limit never mattered")
	}
	t.Logf("at the limit %d times", limited)
}

// S12 = S21 stays, and so does any linear relation with constant coefficients.
func TestLinearRelationsHoldBetweenPoints(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		d := anySweep(t, 0.3)
		if d.Ports == 1 {
			t.Skip("one-port")
		}
		for _, row := range d.Values {
			row[2], row[3] = row[1], 1-row[1]
		}
		s := eval(t, interpolator(t, d), inside(t, d))
		// Where the gain is at its limit the matrix is scaled, and only relations without a constant stay.
		if s[1] != s[2] || cmplx.Abs(s[3]+s[1]-1) > 1e-12 && largestSingularValue(s) < 1-1e-9 {
			t.Fatalf("%v", s)
		}
	})
}

func TestParabolaComesBackExactly(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		d := anySweep(t, 1)
		if len(d.Frequencies) < 3 {
			t.Skip("too few points")
		}
		low, high := d.Frequencies[0], d.Frequencies[len(d.Frequencies)-1]
		turn := rapid.Float64Range(0, 2*math.Pi).Draw(t, "turn")
		parabola := func(f float64) complex128 {
			x := (f - low) / (high - low)
			return cmplx.Rect(0.3, turn)*complex(1+x, x*x) + cmplx.Rect(0.2, 2*turn)
		}
		for i, f := range d.Frequencies {
			for e := range d.Values[i] {
				d.Values[i][e] = parabola(f) / complex(float64(2*(e+1)), 0)
			}
		}
		f := inside(t, d)
		s := eval(t, interpolator(t, d), f)
		for e := range s {
			if want := parabola(f) / complex(float64(2*(e+1)), 0); cmplx.Abs(s[e]-want) > 1e-9 {
				t.Fatalf("element %d: %v, want %v", e, s[e], want)
			}
		}
	})
}

func TestContinuousAtThePoints(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		d := anySweep(t, 1)
		ip := interpolator(t, d)
		for i, f := range d.Frequencies {
			for _, side := range []float64{math.Nextafter(f, 0), math.Nextafter(f, math.Inf(1))} {
				if side < d.Frequencies[0] || side > d.Frequencies[len(d.Frequencies)-1] {
					continue
				}
				for e, v := range eval(t, ip, side) {
					if cmplx.Abs(v-d.Values[i][e]) > 1e-8 {
						t.Fatalf("beside %v: %v, at it %v", f, v, d.Values[i][e])
					}
				}
			}
		}
	})
}

func TestOutsideTheRange(t *testing.T) {
	d := read(t, "wire.s1p", "# MHz S RI\n1 .5 0\n2 .4 0\n3 .3 0\n10 .2 0\n")
	ip := interpolator(t, d)
	if low, high := ip.Range(); low != 1e6 || high != 10e6 {
		t.Errorf("range %v to %v", low, high)
	}
	for _, f := range []float64{0, 0.999999e6, 10.000001e6, -1, math.NaN(), math.Inf(1), math.Inf(-1)} {
		out := []complex128{7}
		err := ip.Eval(f, out)
		var outside *RangeError
		if !errors.As(err, &outside) || outside.Low != 1e6 || outside.High != 10e6 || outside.File != "wire.s1p" || out[0] != 7 {
			t.Errorf("%v: %v, %v", f, out, err)
		}
		if _, err := d.At(f); !errors.As(err, &outside) {
			t.Errorf("At %v: %v", f, err)
		}
	}
	_, err := d.At(30e6)
	if want := "wire.s1p: 30 MHz is asked for, but the file covers 1 MHz to 10 MHz; stay inside it or measure further"; err.Error() != want {
		t.Errorf("%v", err)
	}
	// The rounding of 2π·f/2π is no step outside.
	for _, f := range []float64{math.Nextafter(1e6, 0), math.Nextafter(10e6, math.Inf(1))} {
		if _, err := d.At(f); err != nil {
			t.Errorf("%v: %v", f, err)
		}
	}
	if err := ip.Eval(2e6, nil); err == nil {
		t.Error("no room for the result")
	}
}

func TestSinglePoint(t *testing.T) {
	d := read(t, "one.s1p", "# MHz S RI\n5 .5 .1\n")
	if s, err := d.At(5e6); err != nil || s[0] != 0.5+0.1i {
		t.Errorf("%v, %v", s, err)
	}
	_, err := d.At(5.1e6)
	var outside *RangeError
	if !errors.As(err, &outside) || !strings.Contains(err.Error(), "at 5 MHz only") {
		t.Errorf("%v", err)
	}
}

func TestTooFastToInterpolate(t *testing.T) {
	if _, err := NewInterpolator(read(t, "a.s1p", "# Hz S RI\n1 1e300 0\n1.0000000001 -1e300 0\n2 0 0\n")); err == nil {
		t.Error("no error")
	}
}

func TestEvalDoesNotAllocate(t *testing.T) {
	ip := interpolator(t, sampled(resonators[2], 20))
	out := make([]complex128, 4)
	if n := testing.AllocsPerRun(100, func() {
		if err := ip.Eval(1.00037, out); err != nil {
			t.Fatal(err)
		}
	}); n != 0 {
		t.Errorf("%v allocations", n)
	}
}

// resonator is a circuit with a closed form for S: from the definition, with f in units of the resonant frequency.
type resonator struct {
	name  string
	ports int
	s     func(f float64) []complex128
}

const loadedQ = 40

var resonators = []resonator{
	{"one-port, series RLC", 1, func(f float64) []complex128 {
		z := complex(0.5, 1.5*loadedQ*(f-1/f)) // loaded Q = X/(R+1)
		return []complex128{(z - 1) / (z + 1)}
	}},
	{"one-port, series LC without loss", 1, func(f float64) []complex128 {
		z := complex(0, loadedQ*(f-1/f))
		return []complex128{(z - 1) / (z + 1)}
	}},
	{"two-port, series LC without loss", 2, func(f float64) []complex128 {
		z := complex(0, 2*loadedQ*(f-1/f))
		return []complex128{z / (z + 2), 2 / (z + 2), 2 / (z + 2), z / (z + 2)}
	}},
	{"two-port, parallel RLC across, behind a line", 2, func(f float64) []complex128 {
		y := complex(0.2, 2.2*loadedQ*(f-1/f))
		turn := cmplx.Exp(complex(0, -20*f))
		s11, s21 := -y/(y+2)*turn, 2/(y+2)*turn
		return []complex128{s11, s21, s21, s11}
	}},
}

func sampled(r resonator, perBandwidth float64) *Data {
	d := &Data{Ports: r.ports, Parameter: 'S', Reference: []float64{50, 50}[:r.ports]}
	for f := 0.85; f < 1.15; f += 1 / (loadedQ * perBandwidth) {
		d.Frequencies = append(d.Frequencies, f)
		d.Values = append(d.Values, r.s(f))
	}
	return d
}

// worst returns the largest error of an interpolation between the points of d, and its largest gain.
func worst(r resonator, d *Data, at func(f float64) []complex128) (distance, gain float64) {
	for k := range d.Frequencies[:len(d.Frequencies)-1] {
		for _, u := range []float64{0.1, 0.25, 0.5, 0.75, 0.9} {
			f := d.Frequencies[k] + u*(d.Frequencies[k+1]-d.Frequencies[k])
			got, want := at(f), r.s(f)
			for e := range got {
				distance = max(distance, cmplx.Abs(got[e]-want[e]))
			}
			gain = max(gain, largestSingularValue(got))
		}
	}
	return distance, gain
}

// perPart interpolates each real and imaginary part by itself: what the choice of this package is measured against.
func perPart(t *testing.T, d *Data, newPart func() interp.FittablePredictor) func(f float64) []complex128 {
	n := d.Ports * d.Ports
	parts := make([]interp.FittablePredictor, 2*n)
	for e := range parts {
		y := make([]float64, len(d.Values))
		for i, row := range d.Values {
			y[i] = []float64{real(row[e/2]), imag(row[e/2])}[e%2]
		}
		parts[e] = newPart()
		if err := parts[e].Fit(d.Frequencies, y); err != nil {
			t.Fatal(err)
		}
	}
	return func(f float64) []complex128 {
		out := make([]complex128, n)
		for e := range out {
			out[e] = complex(parts[2*e].Predict(f), parts[2*e+1].Predict(f))
		}
		return out
	}
}

// The figures behind the choice of interpolation. The bounds are 1.3 times what was seen; the seen figures are in the
// comment on Interpolator.
func TestErrorOnResonators(t *testing.T) {
	bounds := map[float64]float64{5: 1.8e-2, 10: 2.1e-3, 20: 2.5e-4, 40: 3.1e-5}
	others := map[string]func() interp.FittablePredictor{
		"linear":         func() interp.FittablePredictor { return &interp.PiecewiseLinear{} },
		"monotone cubic": func() interp.FittablePredictor { return &interp.FritschButland{} },
		"Akima of each":  func() interp.FittablePredictor { return &interp.AkimaSpline{} },
		"natural spline": func() interp.FittablePredictor { return &interp.NaturalCubic{} },
	}
	for per, bound := range bounds {
		largest, active := map[string]float64{}, map[string]float64{}
		for _, r := range resonators {
			d := sampled(r, per)
			ip := interpolator(t, d)
			own, gain := worst(r, d, func(f float64) []complex128 { return eval(t, ip, f) })
			if own > bound || gain > 1+1e-15 {
				t.Errorf("%s, %v points in the bandwidth: error %.2g, gain 1%+.1g", r.name, per, own, gain-1)
			}
			largest["this package"] = max(largest["this package"], own)
			active["this package"] = max(active["this package"], gain-1)
			for name, newPart := range others {
				distance, gain := worst(r, d, perPart(t, d, newPart))
				largest[name], active[name] = max(largest[name], distance), max(active[name], gain-1)
			}
		}
		for name := range largest {
			t.Logf("%2.0f points in the bandwidth, %-14s worst |ΔS| %.1e, gain − 1 up to %.0e", per, name, largest[name], active[name])
		}
	}
}

func TestStepAndKink(t *testing.T) {
	sweep := func(v func(x float64) float64) (worst float64) {
		d := &Data{Ports: 1, Parameter: 'S', Reference: []float64{50}}
		for i := range 20 {
			d.Frequencies = append(d.Frequencies, float64(i))
			d.Values = append(d.Values, []complex128{complex(v(float64(i)), 0)})
		}
		ip := interpolator(t, d)
		for f := 0.0; f <= 19; f += 1.0 / 128 {
			worst = max(worst, math.Abs(real(eval(t, ip, f)[0])-v(f)))
			if s := real(eval(t, ip, f)[0]); s > 0.5+1e-15 || s < -0.5-1e-15 {
				t.Errorf("at %v: %v leaves the range of the points", f, s)
			}
		}
		return worst
	}
	sweep(func(x float64) float64 { return math.Copysign(0.5, x-9.5) })
	if worst := sweep(func(x float64) float64 { return math.Abs(x-10)/20 - 0.5 }); worst > 0.15/20 {
		t.Errorf("%v beside a kink with chords of 1/20", worst)
	}
	// Short intervals beside a long one: what an unlimited slope would throw far off.
	d := &Data{
		Ports: 1, Parameter: 'S', Reference: []float64{50}, Frequencies: []float64{0, 1, 2, 1e6, 2e6},
		Values: [][]complex128{{0}, {0.1}, {0.2}, {0.3}, {0.4}},
	}
	ip := interpolator(t, d)
	before := -1.0
	for f := 0.0; f <= 2e6; f += 1 + f/64 {
		s := real(eval(t, ip, f)[0])
		if s < before {
			t.Fatalf("falls to %v at %v", s, f)
		}
		before = s
	}
}
