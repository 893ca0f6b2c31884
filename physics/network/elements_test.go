package network

import (
	"errors"
	"fmt"
	"math"
	"math/cmplx"
	"testing"
)

// near fails unless got is want within a relative tolerance.
func near(t *testing.T, what string, got, want complex128, relative float64) {
	t.Helper()
	if off := cmplx.Abs(got - want); !(off <= relative*cmplx.Abs(want)) {
		t.Errorf("%s: got %v, want %v", what, got, want)
	}
}

// Each element's impedance against the formula that its loss and strays are defined by (textbook definitions).
func TestImpedances(t *testing.T) {
	const f = 3e6
	w := 2 * math.Pi * f
	jw := complex(0, w)
	coil := func(l, q float64) complex128 { return complex(w*l/q, w*l) }
	parallel := func(x, y complex128) complex128 { return x * y / (x + y) }
	cap := func(c float64) complex128 { return 1 / (jw * complex(c, 0)) }
	stray := NewResistor("a", "b", 470)
	stray.Leads, stray.Stray = 12e-9, 0.6e-12
	withLeads := NewCapacitor("a", "b", 100e-12, Loss{Model: SeriesResistance, R: 0.2})
	withLeads.Leads = 15e-9
	self := NewInductor("a", "b", 68e-6, Loss{Model: ConstantQ, Q: 60})
	self.SelfCapacitance = 3e-12
	for _, c := range []struct {
		name string
		e    Element
		want complex128
	}{
		{"resistor", NewResistor("a", "b", 33), 33},
		{"resistor with strays", stray, parallel(470, cap(0.6e-12)) + jw*12e-9},
		{"capacitor", NewCapacitor("a", "b", 330e-12, Loss{}), cap(330e-12)},
		{"capacitor of Q 300", NewCapacitor("a", "b", 330e-12, Loss{Model: ConstantQ, Q: 300}), cap(330e-12) + complex(1/(w*330e-12*300), 0)},
		{"capacitor of Q 300 at 2 MHz", NewCapacitor("a", "b", 330e-12, Loss{Model: SkinQ, Q: 300, At: 2e6}), cap(330e-12) + complex(math.Sqrt(1.5)/(2*math.Pi*2e6*330e-12*300), 0)},
		{"capacitor with ESR and leads", withLeads, cap(100e-12) + 0.2 + jw*15e-9},
		{"inductor", NewInductor("a", "b", 22e-6, Loss{Model: ConstantQ, Q: 180}), coil(22e-6, 180)},
		{"inductor of Q 180 at 2 MHz", NewInductor("a", "b", 22e-6, Loss{Model: SkinQ, Q: 180, At: 2e6}), jw*22e-6 + complex(2*math.Pi*2e6*22e-6/180*math.Sqrt(1.5), 0)},
		{"inductor with resistance", NewInductor("a", "b", 22e-6, Loss{Model: SeriesResistance, R: 2.2}), jw*22e-6 + 2.2},
		{"inductor with self-capacitance", self, parallel(coil(68e-6, 60), cap(3e-12))},
		{"series circuit", NewSeries("a", "b", 12, 6e-6, 90e-12), 12 + jw*6e-6 + cap(90e-12)},
		{"series circuit without capacitor", NewSeries("a", "b", 12, 6e-6, 0), 12 + jw*6e-6},
		{"crystal", NewCrystal("a", "b", 25, 80e-3, 0.02e-12, 5e-12), parallel(25+jw*80e-3+cap(0.02e-12), cap(5e-12))},
		{"closed contact", NewContact("a", "b", true), 0},
		{"parallel", NewParallel(NewResistor("a", "b", 50), NewCapacitor("a", "b", 12e-12, Loss{})), parallel(50, cap(12e-12))},
		{"tapped coil", NewTappedCoil([]string{"a", "b"}, []float64{7}, []float64{3}, 22e-6, Loss{Model: ConstantQ, Q: 180}), coil(22e-6, 180)},
		{"measured", NewMeasuredOnePort("a", "b", fixed{0.5i}, 75), 75 * (1 + 0.5i) / (1 - 0.5i)},
	} {
		got, err := Impedance(c.e, f)
		if err != nil {
			t.Errorf("%s: %v", c.name, err)
		}
		near(t, c.name, got, c.want, 1e-13)
	}
	if z, _ := Impedance(NewContact("a", "b", false), f); !cmplx.IsInf(z) {
		t.Errorf("open contact: %v", z)
	}
}

// fixed is measured data that are the same at every frequency.
type fixed []complex128

func (m fixed) Eval(_ float64, s []complex128) error {
	copy(s, m)
	return nil
}

type outOfRange struct{}

func (outOfRange) Error() string { return "outside" }

func (outOfRange) Eval(float64, []complex128) error { return outOfRange{} }

// A two-port's own S-parameters come back when it stands alone between its references.
func TestScatteringReturnsTheMeasuredTwoPort(t *testing.T) {
	want := fixed{0.2 + 0.1i, 0.05 - 0.6i, 0.3i, -0.4}
	c := &Circuit{}
	c.Add(NewMeasuredTwoPort("p", "q", want, [2]float64{50, 75}))
	in := Insert(c, "p", "q", NewResistor("p", Ground, 50), NewResistor("q", Ground, 75))
	got, err := in.Scattering(1e6, 50, 75)
	if err != nil {
		t.Fatal(err)
	}
	for i := range want {
		near(t, fmt.Sprintf("S[%d]", i), got[i], want[i], 1e-13)
	}
}

// Errors of measured data reach the caller as they are.
func TestRangeErrorPasses(t *testing.T) {
	c := &Circuit{}
	c.Add(NewMeasuredOnePort("p", "q", outOfRange{}, 50))
	in := Insert(c, "p", "q", NewResistor("p", Ground, 50), NewResistor("q", Ground, 50))
	if _, err := in.Response(1e6, 1); !errors.Is(err, outOfRange{}) {
		t.Errorf("got %v", err)
	}
}

// Straight through a closed contact, a join or nothing at all: the voltage divider of source and load.
func TestStraightThrough(t *testing.T) {
	source := func(node string) Element { return NewSeries(node, Ground, 230, 0, 0) }
	load := func(node string) Element {
		return NewParallel(NewResistor(node, Ground, 50), NewCapacitor(node, Ground, 12e-12, Loss{}))
	}
	const f = 5e6
	y := 1/50. + complex(0, 2*math.Pi*f*12e-12)
	want := 1 / (1 + 230*y)
	joined := &Circuit{}
	joined.Join("p", "q")
	contact := &Circuit{}
	contact.Add(NewContact("p", "q", true))
	for name, c := range map[string]*Circuit{"join": joined, "contact": contact} {
		r, err := Insert(c, "p", "q", source("p"), load("q")).Response(f, 1)
		if err != nil {
			t.Fatal(err)
		}
		near(t, name, r.Load, want, 1e-14)
		near(t, name+", straight", r.Straight, want, 1e-14)
		near(t, name+", input impedance", r.InputImpedance, 1/y, 1e-14)
		near(t, name+", output impedance", r.OutputImpedance, 230, 1e-14)
	}
}

// The output impedance is right into an open load, where no emf in the load could show it.
func TestOpenLoad(t *testing.T) {
	c := &Circuit{}
	c.Add(NewInductor("p", "q", 10e-6, Loss{Model: ConstantQ, Q: 100}))
	in := Insert(c, "p", "q", NewSeries("p", Ground, 50, 0, 0), NewContact("q", Ground, false))
	r, err := in.Response(1e6, 2)
	if err != nil {
		t.Fatal(err)
	}
	w := 2 * math.Pi * 1e6
	near(t, "output impedance", r.OutputImpedance, 50+complex(w*10e-6/100, w*10e-6), 1e-14)
	near(t, "load", r.Load, 2, 1e-14)
	if r.LoadPower != 0 {
		t.Errorf("the open load takes %g W", r.LoadPower)
	}
	if !math.IsInf(real(r.InputImpedance), 1) && cmplx.Abs(r.InputImpedance) < 1e12 {
		t.Errorf("input impedance %v, want none", r.InputImpedance)
	}
}

// Parts without any connection to ground, and parts that hang on one end, neither upset the solution nor change it.
func TestHangingPartsChangeNothing(t *testing.T) {
	make := func(hanging bool) Response {
		c := &Circuit{}
		c.Add(NewInductor("p", "q", 10e-6, Loss{Model: ConstantQ, Q: 100}))
		c.Add(NewCapacitor("q", Ground, 300e-12, Loss{}))
		if hanging {
			c.Add(NewCapacitor("x", "y", 100e-12, Loss{}))
			c.Add(NewInductor("y", "z", 3e-6, Loss{}))
			c.Add(NewCapacitor("x", "z", 5e-12, Loss{}))
			c.Add(NewResistor("q", "loose", 1000))
			c.Add(NewContact("loose", "x", false))
			c.Join("u", "v")
		}
		r, err := Insert(c, "p", "q", NewSeries("p", Ground, 270, 0, 0), NewResistor("q", Ground, 50)).Response(2e6, 1)
		if err != nil {
			t.Fatal(err)
		}
		return r
	}
	plain, hanging := make(false), make(true)
	near(t, "load", hanging.Load, plain.Load, 1e-14)
	near(t, "input impedance", hanging.InputImpedance, plain.InputImpedance, 1e-14)
}

// A loop of perfectly coupled lossless windings side by side has no unique solution, and says so.
func TestSingularCircuit(t *testing.T) {
	c := &Circuit{}
	coils, err := NewCoupledCoils([]Branch{{"p", Ground}, {"p", Ground}}, []float64{1e-6, 1e-6}, []Coupling{{0, 1, 1}}, Loss{})
	if err != nil {
		t.Fatal(err)
	}
	c.Add(coils)
	c.Join("p", "q")
	_, err = Insert(c, "p", "q", NewSeries("p", Ground, 50, 0, 0), NewResistor("q", Ground, 50)).Response(1e6, 1)
	if singular, ok := errors.AsType[*SingularError](err); !ok || singular.Frequency != 1e6 {
		t.Errorf("got %v, want a SingularError at 1 MHz", err)
	}
}

func TestImpossibleCouplingsAreRefused(t *testing.T) {
	three := []Branch{{"a", Ground}, {"b", Ground}, {"c", Ground}}
	for name, couplings := range map[string][]Coupling{
		"above one":       {{0, 1, 1.01}},
		"not all at once": {{0, 1, 0.9}, {1, 2, 0.9}, {0, 2, -0.9}},
		"below minus one": {{0, 2, -1.2}},
		"not a number":    {{0, 1, math.NaN()}},
	} {
		if _, err := NewCoupledCoils(three, []float64{1, 1, 1}, couplings, Loss{}); err == nil {
			t.Errorf("%s: accepted", name)
		}
	}
	if _, err := NewCoupledCoils(three, []float64{1, 2, 3}, []Coupling{{0, 1, 1}, {1, 2, 1}, {0, 2, 1}}, Loss{}); err != nil {
		t.Errorf("three perfectly coupled windings: %v", err)
	}
}

// A frequency that is none is refused instead of computed.
func TestFrequencyMustBePositive(t *testing.T) {
	c := &Circuit{}
	in := Insert(c, "p", "p", NewSeries("p", Ground, 50, 0, 0), NewResistor("p", Ground, 50))
	for _, f := range []float64{0, -1, math.NaN(), math.Inf(1)} {
		if _, err := in.Response(f, 1); err == nil {
			t.Errorf("%g Hz was computed", f)
		}
	}
}
