package line

import (
	"errors"
	"fmt"
	"math"
	"math/cmplx"
	"os"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"knobwise/physics/constant"

	"knobwise/internal/seeded"
)

func TestMain(m *testing.M) { os.Exit(seeded.Run(m, 1901, 1000)) }

// terminated solves the two equations of a line with 1 A into its first end and an impedance across its second:
// v2 = -load i2. It returns v1, which is then the input impedance, and v2.
func terminated(l Line, f float64, load complex128) (v1, v2 complex128) {
	s, c := l.HalfSinhCosh(f)
	z0 := complex(l.Impedance, 0)
	// c v1 + (c load + z0 s) i2 = z0 s   and   s v1 - (s load + z0 c) i2 = z0 c
	a12, a22 := c*load+z0*s, -(s*load + z0*c)
	det := c*a22 - s*a12
	i2 := (c*z0*c - s*z0*s) / det
	return (z0*s*a22 - a12*z0*c) / det, -load * i2
}

func near(t interface {
	Helper()
	Fatalf(string, ...any)
}, what string, got, want complex128, tolerance float64,
) {
	t.Helper()
	if off := cmplx.Abs(got - want); !(off <= tolerance) {
		t.Fatalf("%s: got %v, want %v, off by %.3g, allowed %.3g", what, got, want, off, tolerance)
	}
}

// drawLine makes a line from a joint to many waves, with or without loss, and a frequency.
func drawLine(t *rapid.T) (Line, float64) {
	f := math.Exp(rapid.Float64Range(math.Log(1e4), math.Log(3e8)).Draw(t, "ln f"))
	l := Line{
		Impedance: rapid.Float64Range(10, 600).Draw(t, "Z0"),
		Velocity:  rapid.Float64Range(0.4, 1).Draw(t, "v"),
		Length:    math.Exp(rapid.Float64Range(math.Log(1e-3), math.Log(200)).Draw(t, "ln length")),
	}
	if rapid.Bool().Draw(t, "lossy") {
		l.LossAtHz = rapid.Float64Range(1e6, 1e8).Draw(t, "loss at")
		// Up to 40 dB in all, whatever the frequency: beyond, the textbook formulas used as referee lose their own digits.
		l.LossDBPerMetre = rapid.Float64Range(0, 40).Draw(t, "loss") / l.Length / math.Sqrt(f/l.LossAtHz)
	}
	if err := l.Validate(); err != nil {
		t.Fatal(err)
	}
	return l, f
}

// wave returns the velocity factor's share of a wave: the length of fraction waves at f.
func wave(fraction, velocity, f float64) float64 {
	return fraction * velocity * constant.SpeedOfLight / f
}

// The input impedance of a terminated line, Z0 (ZL + Z0 tanh γl)/(Z0 + ZL tanh γl) (Pozar, Microwave Engineering,
// chapter 2), which is how the impedance of a load is carried along a line everywhere in the trade.
func TestInputImpedance(t *testing.T) {
	cases, worst := 0, 0.0
	rapid.Check(t, func(t *rapid.T) {
		l, f := drawLine(t)
		load := complex(rapid.Float64Range(0, 1000).Draw(t, "R"), rapid.Float64Range(-1000, 1000).Draw(t, "X"))
		z0, tanh := complex(l.Impedance, 0), cmplx.Tanh(l.Gamma(f)*complex(l.Length, 0))
		want := z0 * (load + z0*tanh) / (z0 + load*tanh)
		// A reactive load can resonate with the line: then both sides magnify the rounding of γl alike.
		magnified := 1 + cmplx.Abs(l.Gamma(f))*l.Length
		got, _ := terminated(l, f, load)
		reflection, wantReflection := (got-z0)/(got+z0), (want-z0)/(want+z0)
		cases++
		worst = max(worst, cmplx.Abs(reflection-wantReflection)/magnified)
		near(t, "reflection coefficient seen into the line", reflection, wantReflection, 1e-13*magnified)
	})
	t.Logf("%d lines: largest difference of reflection coefficients %.2g of 1+|γl|", cases, worst)
	if cases < 100 {
		t.Errorf("only %d cases", cases)
	}
}

// The chain form of the textbooks (Pozar, chapter 4): v1 = v2 cosh γl - Z0 i2 sinh γl, i1 = v2 sinh γl/Z0 - i2 cosh γl.
func TestChainForm(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		l, f := drawLine(t)
		v2 := complex(rapid.Float64Range(-1, 1).Draw(t, "v2"), rapid.Float64Range(-1, 1).Draw(t, "v2j"))
		i2 := complex(rapid.Float64Range(-1, 1).Draw(t, "i2"), rapid.Float64Range(-1, 1).Draw(t, "i2j"))
		z0, gl := complex(l.Impedance, 0), l.Gamma(f)*complex(l.Length, 0)
		v1 := v2*cmplx.Cosh(gl) - z0*i2*cmplx.Sinh(gl)
		i1 := v2*cmplx.Sinh(gl)/z0 - i2*cmplx.Cosh(gl)
		s, c := l.HalfSinhCosh(f)
		scale := (cmplx.Abs(v1) + cmplx.Abs(v2) + l.Impedance*(cmplx.Abs(i1)+cmplx.Abs(i2))) * (1 + cmplx.Abs(gl))
		near(t, "c(v1-v2) = Z0 s(i1-i2)", c*(v1-v2), z0*s*(i1-i2), 1e-15*scale)
		near(t, "s(v1+v2) = Z0 c(i1+i2)", s*(v1+v2), z0*c*(i1+i2), 1e-15*scale)
	})
}

// The two functions, at plain arguments where math/cmplx can be asked.
func TestHalfSinhCosh(t *testing.T) {
	worst := 0.0
	rapid.Check(t, func(t *rapid.T) {
		l, f := drawLine(t)
		half := l.Gamma(f) * complex(l.Length/2, 0)
		s, c := l.HalfSinhCosh(f)
		shrink := complex(math.Exp(-real(half)), 0)
		tolerance := 4e-16 * (1 + cmplx.Abs(half))
		near(t, "s", s, shrink*cmplx.Sinh(half), tolerance)
		near(t, "c", c, shrink*cmplx.Cosh(half), tolerance)
		q := math.Exp(-2 * real(half))
		square := real(s)*real(s) + imag(s)*imag(s) + real(c)*real(c) + imag(c)*imag(c)
		worst = max(worst, math.Abs(square-(1+q*q)/2))
		if math.Abs(square-(1+q*q)/2) > 1e-15 {
			t.Fatalf("|s|²+|c|² = %.17g, want %.17g", square, (1+q*q)/2)
		}
	})
	t.Logf("|s|²+|c|² off by at most %.2g", worst)
}

func TestQuarterWaveInverts(t *testing.T) {
	const f = 7e6
	for _, waves := range []float64{0.25, 0.75, 12.25} {
		l := Line{Impedance: 75, Velocity: 0.66, Length: wave(waves, 0.66, f)}
		for _, load := range []complex128{50, 300i, complex(20, -400), 1e-3, 1e6} {
			got, _ := terminated(l, f, load)
			want := 75 * 75 / load
			near(t, fmt.Sprintf("%g waves, load %v", waves, load), got, want, 1e-11*cmplx.Abs(want)*(1+cmplx.Abs(load)/75+75/cmplx.Abs(load)))
		}
	}
}

func TestHalfWaveRepeats(t *testing.T) {
	const f = 7e6
	for _, waves := range []float64{0.5, 1, 1.5, 20} {
		l := Line{Impedance: 75, Velocity: 0.66, Length: wave(waves, 0.66, f)}
		for _, load := range []complex128{0, 50, 300i, complex(20, -400), 1e-3, 1e6} {
			got, v2 := terminated(l, f, load)
			tolerance := 1e-12 * (75 + cmplx.Abs(load)*cmplx.Abs(load)/75)
			near(t, fmt.Sprintf("%g waves, load %v", waves, load), got, load, tolerance)
			sign := complex(1, 0)
			if math.Mod(2*waves, 2) == 1 {
				sign = -1
			}
			near(t, fmt.Sprintf("far voltage, %g waves, load %v", waves, load), v2, sign*got, tolerance)
		}
	}
}

// A short line is a series inductance Z0 l/(v c) with a parallel capacitance l/(Z0 v c); what is left over falls with
// the cube of its length, for the symmetric T with half the inductance on either side.
func TestShortLine(t *testing.T) {
	const f, z0, v = 3e6, 50.0, 0.8
	omega := 2 * math.Pi * f
	var leftOver []float64
	for _, length := range []float64{0.4, 0.2, 0.1, 0.05} {
		l := Line{Impedance: z0, Velocity: v, Length: length}
		inductance := z0 * length / (v * constant.SpeedOfLight)
		capacitance := length / (z0 * v * constant.SpeedOfLight)
		load := complex(30, 20)
		arm := complex(0, omega*inductance/2)
		want := arm + 1/(complex(0, omega*capacitance)+1/(arm+load))
		got, _ := terminated(l, f, load)
		leftOver = append(leftOver, cmplx.Abs(got-want))
	}
	for i := 1; i < len(leftOver); i++ {
		if ratio := leftOver[i-1] / leftOver[i]; math.Abs(ratio-8) > 0.2 {
			t.Errorf("halving the line divides the difference by %.3f, not by 8", ratio)
		}
	}
	t.Logf("differences from the T section at 0.4, 0.2, 0.1, 0.05 m: %.2g ohm", leftOver)

	// No length at all, and direct current: a plain joint.
	for _, joint := range []struct {
		l Line
		f float64
	}{{Line{Impedance: 50, Velocity: 1}, f}, {Line{Impedance: 50, Velocity: 1, Length: 10, LossDBPerMetre: 1, LossAtHz: 1e6}, 0}} {
		if s, c := joint.l.HalfSinhCosh(joint.f); s != 0 || c != 1 {
			t.Errorf("%+v at %g Hz: s = %v, c = %v, want 0 and 1", joint.l, joint.f, s, c)
		}
	}
}

func TestMatchedLoss(t *testing.T) {
	worst, cases := 0.0, 0
	rapid.Check(t, func(t *rapid.T) {
		l, f := drawLine(t)
		v1, v2 := terminated(l, f, complex(l.Impedance, 0))
		near(t, "matched input", v1, complex(l.Impedance, 0), 1e-12*l.Impedance)
		want := 0.0
		if l.LossAtHz > 0 {
			want = l.LossDBPerMetre * l.Length * math.Sqrt(f/l.LossAtHz)
			cases++
		}
		got := 20 * math.Log10(cmplx.Abs(v1)/cmplx.Abs(v2))
		worst = max(worst, math.Abs(got-want))
		if !(math.Abs(got-want) < 1e-10) {
			t.Fatalf("matched loss %.15g dB, want %.15g", got, want)
		}
		// The wave is late by l/(v c).
		turn := cmplx.Exp(complex(0, -2*math.Pi*f*l.Length/(l.Velocity*constant.SpeedOfLight)))
		phase := v2 / v1 / complex(cmplx.Abs(v2/v1), 0)
		near(t, "phase of the far end", phase, turn, 1e-11)
	})
	t.Logf("%d lossy lines: matched loss off by at most %.2g dB", cases, worst)
	if cases == 0 {
		t.Error("no line had loss")
	}

	// The figure of a data sheet: 4.2 dB per 100 m at 10 MHz is 4.2 dB there and 2.1 dB at 2.5 MHz.
	l := Line{Impedance: 50, Velocity: 0.66, Length: 100, LossDBPerMetre: 0.042, LossAtHz: 10e6}
	for f, want := range map[float64]float64{10e6: 4.2, 2.5e6: 2.1, 40e6: 8.4} {
		if got := real(l.Gamma(f)) * l.Length * 20 * math.Log10(math.E); math.Abs(got-want) > 1e-13 {
			t.Errorf("loss at %g Hz is %g dB, want %g", f, got, want)
		}
		v1, v2 := terminated(l, f, 50)
		if got := 20 * math.Log10(cmplx.Abs(v1/v2)); math.Abs(got-want) > 1e-12 {
			t.Errorf("matched voltage falls by %g dB at %g Hz, want %g", got, f, want)
		}
	}
}

// A line of thousands of decibels must not overflow, and hides its far end.
func TestLongLossyLine(t *testing.T) {
	for _, decibels := range []float64{100, 1000, 1e4, 1e8, 1e300} {
		l := Line{Impedance: 50, Velocity: 0.7, Length: 100, LossDBPerMetre: decibels / 100, LossAtHz: 1e7}
		s, c := l.HalfSinhCosh(1e7)
		if cmplx.IsNaN(s) || cmplx.IsInf(s) || cmplx.IsNaN(c) || cmplx.IsInf(c) || cmplx.Abs(s) > 1 || cmplx.Abs(c) > 1 {
			t.Errorf("%g dB: s = %v, c = %v", decibels, s, c)
		}
		for _, load := range []complex128{0, 1e9} {
			got, _ := terminated(l, 1e7, load)
			echo := math.Pow(10, -decibels/10) // a total reflection goes through the line twice
			near(t, fmt.Sprintf("input with %g dB to the far end", decibels), got, 50, 2.01*50*echo+1e-12)
		}
		for _, d := range []Slope{l.Derivatives(1e7).Length, l.Derivatives(1e7).Velocity, l.Derivatives(1e7).LossDBPerMetre} {
			if cmplx.IsNaN(d.S) || cmplx.IsNaN(d.C) {
				t.Errorf("%g dB: derivative %v", decibels, d)
			}
		}
	}
}

func TestDerivatives(t *testing.T) {
	parameters := []struct {
		name  string
		field func(*Line) *float64
		slope func(Derivatives) Slope
	}{
		{"length", func(l *Line) *float64 { return &l.Length }, func(d Derivatives) Slope { return d.Length }},
		{"velocity", func(l *Line) *float64 { return &l.Velocity }, func(d Derivatives) Slope { return d.Velocity }},
		{"loss", func(l *Line) *float64 { return &l.LossDBPerMetre }, func(d Derivatives) Slope { return d.LossDBPerMetre }},
	}
	checked, worst := map[string]int{}, 0.0
	rapid.Check(t, func(t *rapid.T) {
		l, f := drawLine(t)
		exact := l.Derivatives(f)
		for _, p := range parameters {
			if p.name == "loss" && l.LossAtHz == 0 {
				if exact.LossDBPerMetre != (Slope{}) {
					t.Fatalf("no loss frequency, but a derivative %v", exact.LossDBPerMetre)
				}
				continue
			}
			at := func(step float64) (s, c complex128) {
				moved := l
				*p.field(&moved) += step
				return moved.HalfSinhCosh(f)
			}
			// Central difference of fourth order. Its step h moves z = γl/2 by 1e-3, and the velocity by no more
			// than 1e-3 of itself (s and c carry on smoothly to negative length and loss): the truncation is
			// below 1e-11 of the slope, and rounding leaves 1e-16 (1+|z|)/h.
			z := cmplx.Abs(l.Gamma(f)) * l.Length / 2
			perUnit := map[string]float64{
				"length":   cmplx.Abs(l.Gamma(f)) / 2,
				"velocity": z / l.Velocity,
				"loss":     math.Sqrt(f/math.Max(l.LossAtHz, 1)) / constant.DecibelsPerNeper * l.Length / 2,
			}[p.name]
			h := 1e-3 / perUnit
			if p.name == "velocity" {
				h = math.Min(h, 1e-3*l.Velocity)
			}
			s1, c1 := at(h)
			s2, c2 := at(-h)
			s3, c3 := at(2 * h)
			s4, c4 := at(-2 * h)
			twelveH := complex(12*h, 0)
			difference := Slope{S: (8*(s1-s2) - (s3 - s4)) / twelveH, C: (8*(c1-c2) - (c3 - c4)) / twelveH}
			got := p.slope(exact)
			tolerance := 1e-11*perUnit + 1e-15*(1+z)/h
			checked[p.name]++
			worst = max(worst, cmplx.Abs(got.S-difference.S)/tolerance, cmplx.Abs(got.C-difference.C)/tolerance)
			near(t, "ds/d"+p.name, got.S, difference.S, tolerance)
			near(t, "dc/d"+p.name, got.C, difference.C, tolerance)
		}
	})
	t.Logf("checked %v; largest share of the tolerance: %.2g", checked, worst)
	for _, p := range parameters {
		if checked[p.name] < 20 {
			t.Errorf("derivative by %s checked %d times", p.name, checked[p.name])
		}
	}
}

// The common scale of s and c moves with the parameters too, but not the solution of a network: the derivative of
// the input impedance, by differentiating the two equations, against central differences.
func TestDerivativeOfSolution(t *testing.T) {
	const f = 7e6
	l := Line{Impedance: 75, Velocity: 0.66, Length: 13, LossDBPerMetre: 0.2, LossAtHz: 1e7}
	load, z0 := complex(20, -60), complex(75, 0)
	s, c := l.HalfSinhCosh(f)
	v1, v2 := terminated(l, f, load)
	i2 := -v2 / load
	d := l.Derivatives(f)
	for _, p := range []struct {
		name  string
		slope Slope
		moved func(h float64) Line
	}{
		{"length", d.Length, func(h float64) Line { m := l; m.Length += h; return m }},
		{"velocity", d.Velocity, func(h float64) Line { m := l; m.Velocity += h; return m }},
		{"loss", d.LossDBPerMetre, func(h float64) Line { m := l; m.LossDBPerMetre += h; return m }},
	} {
		// c v1 + (c load + z0 s) i2 = z0 s and s v1 - (s load + z0 c) i2 = z0 c, differentiated at constant z0.
		b1 := z0*p.slope.S - p.slope.C*v1 - (p.slope.C*load+z0*p.slope.S)*i2
		b2 := z0*p.slope.C - p.slope.S*v1 + (p.slope.S*load+z0*p.slope.C)*i2
		a12, a22 := c*load+z0*s, -(s*load + z0*c)
		got := (b1*a22 - a12*b2) / (c*a22 - s*a12)
		const h = 1e-5
		high, _ := terminated(p.moved(h), f, load)
		low, _ := terminated(p.moved(-h), f, load)
		want := (high - low) / (2 * h)
		near(t, "dZin/d"+p.name, got, want, 1e-7*cmplx.Abs(want))
	}
}

func TestValidate(t *testing.T) {
	sound := Line{Impedance: 50, Velocity: 0.66, Length: 12, LossDBPerMetre: 0.042, LossAtHz: 1e7}
	lossless := Line{Impedance: 50, Velocity: 1, Length: 12}
	for _, l := range []Line{sound, lossless} {
		if err := l.Validate(); err != nil {
			t.Errorf("%+v: %v", l, err)
		}
	}
	nan, inf := math.NaN(), math.Inf(1)
	cases := 0
	for _, bad := range []struct {
		field  string
		spoil  func(*Line, float64)
		values []float64
	}{
		{"impedance", func(l *Line, v float64) { l.Impedance = v }, []float64{0, -50, nan, inf}},
		{"velocity", func(l *Line, v float64) { l.Velocity = v }, []float64{0, -0.5, 1.0001, 66, nan, inf}},
		{"length", func(l *Line, v float64) { l.Length = v }, []float64{0, -1, nan, inf}},
		{"loss", func(l *Line, v float64) { l.LossDBPerMetre = v }, []float64{-0.1, nan, inf}},
		{"loss frequency", func(l *Line, v float64) { l.LossAtHz = v }, []float64{0, -1e6, nan, inf}},
	} {
		for _, v := range bad.values {
			l := sound
			bad.spoil(&l, v)
			cases++
			var got *FieldError
			if err := l.Validate(); !errors.As(err, &got) || got.Field != bad.field || strings.Contains(err.Error(), "\n") {
				t.Errorf("%s = %g: %v", bad.field, v, err)
			}
		}
	}
	if cases != 21 {
		t.Errorf("tried %d cases", cases)
	}
}

func ExampleLine_Validate() {
	fmt.Println(Line{Impedance: 50, Velocity: 66, Length: 12}.Validate())
	// Output:
	// line velocity is 66: write a fraction of the speed of light above 0 and up to 1, as in 0.66
}

func BenchmarkHalfSinhCosh(b *testing.B) {
	l := Line{Impedance: 50, Velocity: 0.66, Length: 12, LossDBPerMetre: 0.042, LossAtHz: 1e7}
	b.ReportAllocs()
	var sum complex128
	for b.Loop() {
		s, c := l.HalfSinhCosh(7e6)
		sum += s + c
	}
	if cmplx.IsNaN(sum) {
		b.Fatal(sum)
	}
}
