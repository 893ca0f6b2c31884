package network

import (
	"fmt"
	"math"
	"math/cmplx"
	"slices"
	"strings"
	"testing"

	"pgregory.net/rapid"
)

// failer is a *testing.T or a *rapid.T.
type failer interface{ Fatal(...any) }

// turning is a circuit with some elements turned, evaluated both ways.
type turning struct {
	inserted       *Insertion
	turned         *Turned
	ids            []ID
	by             []ParamID // the parameters of the other elements
	b, a           []complex128
	grad, g, plain []complex128
	rounded        int // outputs off by more than 1e-10, but by no more than the rounding of the parts of which they are made
}

func newTurning(c *Circuit, inserted *Insertion, ids []ID) (*turning, error) {
	x := &turning{inserted: inserted, ids: ids}
	var elements []ID
	var numbers []int
	for _, p := range c.Params() {
		if slices.Index(ids, p.Element) < 0 {
			x.by = append(x.by, p)
			elements, numbers = append(elements, p.Element), append(numbers, p.Index)
		}
	}
	var err error
	if x.turned, err = NewTurned(c, inserted.Source, inserted.Output, ids, elements, numbers); err != nil {
		return nil, err
	}
	x.b, x.a = make([]complex128, len(ids)), make([]complex128, len(ids))
	x.grad, x.g = make([]complex128, len(x.by)), make([]complex128, len(ids))
	x.plain = make([]complex128, len(c.Params()))
	return x, nil
}

// read takes the equations of the turned elements as they stand, each scaled by a factor of its own.
func (x *turning) read(t failer, c *Circuit, f float64, scale complex128) {
	for j, id := range x.ids {
		var b, a [1]complex128
		if err := c.Element(id).Equations(AtHertz(f), b[:], a[:]); err != nil {
			t.Fatal(err)
		}
		x.b[j], x.a[j] = b[0]*scale, a[0]*scale
	}
}

// compare evaluates the circuit as it stands both ways, the references being what they are. It returns the errors of H and of
// the derivatives relative to the plain way, and whether H is above -120 dB and the plain way has a solution.
func (x *turning) compare(t failer, c *Circuit, f float64, scale complex128) (h complex128, off, offGrad float64, ok bool) {
	want, err := x.inserted.Transfer(f)
	if err != nil {
		return want, 0, 0, false
	}
	x.inserted.Solver().Gradient(x.inserted.Forward(), VoltageOf(x.inserted.Output), x.plain)
	x.read(t, c, f, scale)
	for i := range x.grad {
		x.grad[i] = cmplx.NaN()
	}
	for i := range x.g {
		x.g[i] = cmplx.NaN()
	}
	h = x.turned.Setting(x.b, x.a, x.grad, x.g)
	if again := x.turned.Setting(x.b, x.a, nil, nil); again != h && !(cmplx.IsNaN(again) && cmplx.IsNaN(h)) {
		t.Fatal("without derivatives", again, "with", h)
	}
	if !(cmplx.Abs(want) > 1e-6) {
		return h, 0, 0, false
	}
	off = cmplx.Abs(h-want) / cmplx.Abs(want)
	// What cancels in the sum that makes H from its value at the references cannot come back, nor what the solves lose beside
	// the 1 V of the drive: at -120 dB that may be more than 1e-10 of H.
	sum := 1 + cmplx.Abs(x.turned.h)
	for j, l := range x.turned.l {
		sum += cmplx.Abs(l * x.turned.s[j])
	}
	if off > 1e-10 && off*cmplx.Abs(want) <= 4e-15*sum {
		x.rounded++
		off = 0
	}
	// Derivatives count by what their parameter can do: by their size for a relative change of it, against the largest of all.
	largest := cmplx.Abs(want)
	sizeOf := func(p ParamID) float64 {
		param := c.Element(p.Element).Params()[p.Index]
		switch {
		case *param.Value != 0:
			return math.Abs(*param.Value)
		case param.Name == "leads":
			return 10e-9
		default: // the capacitance of a body or a coil
			return 1e-12
		}
	}
	params := c.Params()
	for i, p := range params {
		largest = math.Max(largest, cmplx.Abs(x.plain[i])*sizeOf(p))
	}
	next := 0
	for i, p := range params {
		j := slices.Index(x.ids, p.Element)
		var got complex128
		if j < 0 {
			got = x.grad[next]
			next++
		} else {
			var db, da [1]complex128
			c.Element(p.Element).Derivative(AtHertz(f), p.Index, db[:], da[:])
			got = x.g[j] * (x.a[j]*db[0] - x.b[j]*da[0]) * scale
		}
		offGrad = math.Max(offGrad, cmplx.Abs(got-x.plain[i])*sizeOf(p)/largest)
		if cmplx.IsNaN(got) {
			offGrad = math.NaN()
		}
	}
	return h, off, offGrad, true
}

// turn sets an element to another setting of its own.
func turn(t *rapid.T, e Element) {
	if contact, ok := e.(*Contact); ok {
		contact.Closed = rapid.Bool().Draw(t, "closed at the setting")
		return
	}
	p := e.Params()[0] // a nodal resistor must stay one
	if r, ok := e.(*Resistor); ok && r.Leads == 0 {
		factor := logUniform(t, 1, 30, "factor")
		if r.Resistance < nodalFrom {
			factor = 1 / factor
		}
		*p.Value *= factor
		return
	}
	*p.Value *= logUniform(t, 1./30, 30, "factor")
}

// At random settings of random elements of random circuits, output and derivatives are those of a solve of the plain circuit.
func TestTurnedEqualsTransfer(t *testing.T) {
	r, derivatives := counting(t), counting(t)
	kinds, counts, stood, refused, rounded := map[string]int{}, map[int]int{}, 0, 0, 0
	rapid.Check(t, func(t *rapid.T) {
		s := draw(t, false)
		inserted := Insert(s.circuit, in, out, s.source, s.load)
		var candidates []ID
		for id, e := range s.circuit.elements {
			if len(e.Branches()) == 1 && ID(id) != inserted.Source {
				candidates = append(candidates, ID(id))
			}
		}
		ids := rapid.Permutation(candidates).Draw(t, "turned")[:rapid.IntRange(0, min(4, len(candidates))).Draw(t, "how many")]
		x, err := newTurning(s.circuit, inserted, ids)
		if err != nil { // only ever a contact that is the last connection of a part
			refused++
			ids = slices.DeleteFunc(slices.Clone(ids), func(id ID) bool { _, is := s.circuit.Element(id).(*Contact); return is })
			if x, err = newTurning(s.circuit, inserted, ids); err != nil {
				t.Fatal(err)
			}
		}
		if rapid.Bool().Draw(t, "middle given") {
			x.read(t, s.circuit, s.frequency, 1)
			b, a := append([]complex128(nil), x.b...), append([]complex128(nil), x.a...)
			if err := x.turned.At(s.frequency, b, a, true); err != nil {
				t.Skip(err)
			}
		} else if err := x.turned.At(s.frequency, nil, nil, true); err != nil {
			t.Skip(err)
		}
		for i := range 4 {
			if i > 0 {
				for _, id := range ids {
					turn(t, s.circuit.Element(id))
				}
			}
			scale := cmplx.Rect(logUniform(t, 1e-6, 1e6, "scale"), rapid.Float64Range(-3, 3).Draw(t, "angle"))
			h, off, offGrad, ok := x.compare(t, s.circuit, s.frequency, scale)
			rounded += x.rounded
			x.rounded = 0
			if !ok {
				continue
			}
			r.saw(off)
			derivatives.saw(offGrad)
			counts[len(ids)]++
			if i == 0 {
				stood++
			}
			for _, id := range ids {
				kinds[fmt.Sprintf("%T %d", s.circuit.Element(id), s.circuit.Element(id).Form())]++
			}
			if !(off < 1e-10) {
				t.Fatalf("setting %d of %d turned: %v, off by %.3g", i, len(ids), h, off)
			}
			if !(offGrad < 1e-8) {
				t.Fatalf("setting %d of %d turned: derivatives off by %.3g", i, len(ids), offGrad)
			}
		}
	})
	t.Logf("turned elements: %v; how many: %v; at the reference's own value: %d; refused: %d; off by rounding of larger parts: %d", kinds, counts, stood, refused, rounded)
	if rounded > r.count/200 {
		t.Errorf("%d of %d outputs are off by rounding", rounded, r.count)
	}
	for _, kind := range []string{"*network.Capacitor 0", "*network.Capacitor 1", "*network.Inductor 0", "*network.Resistor 0", "*network.Resistor 1", "*network.Contact 0"} {
		if kinds[kind] == 0 {
			t.Errorf("no %s was turned", kind)
		}
	}
	for k := range 5 {
		if counts[k] < 20 {
			t.Errorf("%d cases with %d turned elements", counts[k], k)
		}
	}
	if stood == 0 {
		t.Error("no turned element stood at its reference's value")
	}
	if refused == 0 {
		t.Error("no contact was refused")
	}
}

// Two lightly coupled tanks with coils of Q = 1000, both turned through their resonances: values against a solve with 72
// digits, derivatives against those of the plain circuit.
func TestTurnedBesideResonances(t *testing.T) {
	for _, q := range []float64{50, 1000} {
		c := &Circuit{}
		front, rear := NewCapacitor("n1", Ground, 200e-12, Loss{}), NewCapacitor("n2", Ground, 200e-12, Loss{})
		c.Add(NewCapacitor("n1", "n2", 0.4e-12, Loss{}))
		ids := []ID{c.Add(front), c.Add(rear), c.Add(NewInductor("n1", Ground, 40e-6, Loss{Model: ConstantQ, Q: q}))}
		coil := c.Element(ids[2]).(*Inductor)
		c.Add(NewInductor("n2", Ground, 40e-6, Loss{Model: ConstantQ, Q: q}))
		inserted := Insert(c, "n1", "n2", NewResistor("n1", Ground, 2e6), NewResistor("n2", Ground, 2e6))
		worst, worstPlain, worstDerivative, rows := 0.0, 0.0, 0.0, 0
		for k := 1; k <= 3; k++ {
			x, err := newTurning(c, inserted, ids[:k])
			if err != nil {
				t.Fatal(err)
			}
			for _, f := range []float64{1e6, 1.7e6, 3e6} {
				resonant := 1/(math.Pow(2*math.Pi*f, 2)*40e-6) - 0.4e-12
				front.Capacitance, rear.Capacitance, coil.Inductance = resonant, resonant, 40e-6
				if err := x.turned.At(f, nil, nil, true); err != nil {
					t.Fatal(err)
				}
				for i := -6; i <= 6; i++ {
					for j := -6; j <= 6; j++ {
						front.Capacitance = resonant * (1 + float64(i)/3/q)
						if k > 1 {
							rear.Capacitance = resonant * (1 + float64(j)/3/q)
						}
						if k > 2 {
							coil.Inductance = 40e-6 * (1 + float64(i+j)/7/q)
						}
						h, _, offGrad, ok := x.compare(t, c, f, 1)
						want, solvable := exactVoltage(inserted.Solver(), inserted.Source, inserted.Output)
						if !ok || !solvable {
							t.Fatalf("no value at %g Hz", f)
						}
						worst = math.Max(worst, cmplx.Abs(h-want)/cmplx.Abs(want))
						worstPlain = math.Max(worstPlain, cmplx.Abs(inserted.Forward().Voltage("n2")-want)/cmplx.Abs(want))
						worstDerivative = math.Max(worstDerivative, offGrad)
						rows++
					}
				}
			}
		}
		t.Logf("Q = %g: %d settings, values off by %.3g (a solve at each: %.3g), derivatives by %.3g", q, rows, worst, worstPlain, worstDerivative)
		if !(worst < 1e-11) || !(worstDerivative < 1e-9) || rows != 3*3*169 {
			t.Errorf("Q = %g: values off by %g, derivatives by %g, %d settings", q, worst, worstDerivative, rows)
		}
	}
}

// At series resonance the admittance of a turned capacitor with leads has no bound (A = 0); a closed contact is another such
// element, an open one has none.
func TestTurnedWithoutBound(t *testing.T) {
	const f = 20e6
	rows := 0
	for _, shunt := range []bool{true, false} {
		c := &Circuit{}
		from, to := "n1", "n2"
		if shunt {
			to = Ground
		}
		capacitor := NewCapacitor(from, to, 150e-12, Loss{})
		capacitor.Leads = 20e-9
		contact := NewContact("n2", "n1", false)
		ids := []ID{c.Add(capacitor), c.Add(contact)}
		c.Add(NewResistor("n1", "n2", 300))
		c.Add(NewInductor("n2", Ground, 1e-6, Loss{Model: ConstantQ, Q: 100}))
		inserted := Insert(c, "n1", "n2", NewResistor("n1", Ground, 50), NewResistor("n2", Ground, 75))
		x, err := newTurning(c, inserted, ids)
		if err != nil {
			t.Fatal(err)
		}
		if err := x.turned.At(f, nil, nil, true); err != nil {
			t.Fatal(err)
		}
		w := AtHertz(f).Rad
		resonant := 1 / (w * w * capacitor.Leads)
		for _, closed := range []bool{false, true} {
			contact.Closed = closed
			for _, capacitor.Capacitance = range []float64{resonant, resonant * (1 + 1e-12), resonant * (1 - 1e-9), 1e-12, 1e-6} {
				_, off, offGrad, ok := x.compare(t, c, f, 1)
				// In resonance a shunt leaves less than -120 dB, and side by side with a closed contact there is no telling
				// how the current divides.
				near := math.Abs(capacitor.Capacitance/resonant-1) < 1e-6
				if compared := !near || !shunt && !closed; compared && !ok {
					t.Fatalf("shunt %v, closed %v, %g F: not compared", shunt, closed, capacitor.Capacitance)
				} else if !compared {
					continue
				}
				rows++
				if !(off < 1e-12) || !(offGrad < 1e-12) {
					t.Errorf("shunt %v, closed %v, %g F: off by %g, derivatives by %g", shunt, closed, capacitor.Capacitance, off, offGrad)
				}
			}
			x.b[0], x.a[0] = 1, 0
			h := x.turned.Setting(x.b, x.a, x.grad, x.g)
			if closed && !shunt {
				if !cmplx.IsNaN(h) {
					t.Errorf("%v for two ideal joints side by side", h)
				}
				continue
			}
			joint := NewSolver(&Circuit{elements: c.elements, joins: [][2]string{{from, to}}})
			if err := joint.At(f); err != nil {
				t.Fatal(err)
			}
			state := joint.NewSolution()
			joint.Drive(inserted.Source, 1, state)
			if want := state.Voltage("n2"); !(cmplx.Abs(h-want) < 1e-14) {
				t.Errorf("shunt %v, closed %v: %v with A = 0, %v with the nodes joined", shunt, closed, h, want)
			}
			for i, v := range append(slices.Clone(x.grad), x.g...) {
				if cmplx.IsNaN(v) || cmplx.IsInf(v) {
					t.Errorf("derivative %d is %v", i, v)
				}
			}
		}
	}
	if rows != 2+2+5+2 {
		t.Errorf("%d settings were compared", rows)
	}
}

// A setting without a solution gives NaN, whatever the number of turned elements: an admittance that cancels the rest of the
// circuit at a node, and a part that hangs free.
func TestTurnedWithoutSolution(t *testing.T) {
	for k := 1; k <= 4; k++ {
		c := &Circuit{}
		var ids []ID
		for range k { // all that ties n3 to the rest
			ids = append(ids, c.Add(NewInductor("n2", "n3", 5e-6, Loss{})))
		}
		c.Add(NewResistor("n1", "n2", 100))
		inserted := Insert(c, "n1", "n2", NewResistor("n1", Ground, 50), NewResistor("n2", Ground, 50))
		x, err := newTurning(c, inserted, ids)
		if err != nil {
			t.Fatal(err)
		}
		if err := x.turned.At(3e6, nil, nil, true); err != nil {
			t.Fatal(err)
		}
		for j := range x.a {
			x.b[j], x.a[j] = 0, 1
		}
		if h := x.turned.Setting(x.b, x.a, x.grad, x.g); !cmplx.IsNaN(h) || !cmplx.IsNaN(x.grad[0]) || !cmplx.IsNaN(x.g[k-1]) {
			t.Errorf("%d open: %v, %v, %v", k, h, x.grad, x.g)
		}
		x.b[0] = 1e-3
		if h := x.turned.Setting(x.b, x.a, nil, nil); !(cmplx.Abs(h-0.25) < 1e-12) { // 50 ohm of 50 + 100 + 50
			t.Errorf("%d, one of them not open: %v", k, h)
		}
	}
}

// What cannot be laid out is said; what is left alone is left alone.
func TestTurnedRefuses(t *testing.T) {
	c := &Circuit{}
	tank := c.Add(NewCapacitor("n1", Ground, 100e-12, Loss{}))
	coil := c.Add(NewTappedCoil([]string{"n1", "n2", Ground}, []float64{1, 1}, []float64{1, 0.5, 0.5, 1}, 2e-6, Loss{}))
	contact := c.Add(NewContact("n2", "n3", true))
	inserted := Insert(c, "n1", "n2", NewResistor("n1", Ground, 50), NewResistor("n2", Ground, 50))
	for _, r := range []struct {
		source   ID
		output   string
		turned   []ID
		elements []ID
		numbers  []int
		says     string
	}{
		{tank, "n2", nil, nil, nil, "source"},
		{-1, "n2", nil, nil, nil, "source"},
		{inserted.Source, "nowhere", nil, nil, nil, "no node"},
		{inserted.Source, "n2", []ID{99}, nil, nil, "no element 99"},
		{inserted.Source, "n2", []ID{coil}, nil, nil, "2 branches"},
		{inserted.Source, "n2", []ID{inserted.Source}, nil, nil, "is the source"},
		{inserted.Source, "n2", []ID{tank, tank}, nil, nil, "twice"},
		{inserted.Source, "n2", []ID{contact}, nil, nil, "without a connection to ground"},
		{inserted.Source, "n2", []ID{tank}, []ID{tank}, []int{0}, "is turned"},
		{inserted.Source, "n2", []ID{tank}, []ID{-3}, []int{0}, "no element -3"},
		{inserted.Source, "n2", []ID{tank}, []ID{coil}, []int{7}, "no parameter 7"},
		{inserted.Source, "n2", []ID{tank}, []ID{coil}, nil, "each parameter"},
	} {
		if _, err := NewTurned(c, r.source, r.output, r.turned, r.elements, r.numbers); err == nil || !strings.Contains(err.Error(), r.says) {
			t.Errorf("%+v: %v", r, err)
		}
	}
	if c.Element(tank).Form() != Nodal || len(c.elements) != 5 {
		t.Error("the circuit was changed")
	}
	x, err := NewTurned(c, inserted.Source, "n2", []ID{tank}, nil, nil)
	if err != nil {
		t.Fatal(err)
	}
	if err := x.At(-1, nil, nil, false); err == nil {
		t.Error("a negative frequency was taken")
	}
	if err := x.At(1e6, nil, nil, false); err != nil {
		t.Fatal(err)
	}
	defer func() {
		if recover() == nil {
			t.Error("derivatives were given where none were prepared")
		}
	}()
	x.Setting([]complex128{1}, []complex128{1}, nil, make([]complex128, 1))
}

// Nothing is allocated, and nothing depends on what was evaluated before.
func TestTurnedRepeats(t *testing.T) {
	inserted, c, front, rear, ids, elements, numbers := tenCircuit()
	evaluate := func(x *Turned, f float64, grad []complex128) complex128 {
		if err := x.At(f, []complex128{0.001i, 0.002i}, []complex128{1, 1}, true); err != nil {
			t.Fatal(err)
		}
		if x.references[1].b != [1]complex128{0.002i} {
			t.Error("the given middle was not taken")
		}
		return x.Setting([]complex128{0.0014i, 0.001i}, []complex128{1, 1}, grad, nil)
	}
	lay := func() *Turned {
		x, err := NewTurned(c, inserted.Source, "rx", ids, elements, numbers)
		if err != nil {
			t.Fatal(err)
		}
		evaluate(x, 1e6, nil) // the order of elimination is that of the first matrix
		return x
	}
	x, y := lay(), lay()
	first, second := make([]complex128, len(elements)), make([]complex128, len(elements))
	for i := range 50 {
		front.Capacitance, rear.Capacitance = 50e-12, 300e-12
		evaluate(x, 0.9e6+1e4*float64(i), second)
	}
	was := evaluate(x, 2e6, first)
	front.Capacitance, rear.Capacitance = 12e-12, 1e-12 // a given middle counts in their place
	if now := evaluate(y, 2e6, second); was != now || !slices.Equal(first, second) {
		t.Error("a repeated evaluation differs:", was, now)
	}
	for i, z := range []*Turned{x, y, y} { // and without one, the elements as they stand
		if err := z.At(2e6, nil, nil, true); err != nil {
			t.Fatal(err)
		}
		now := z.Setting([]complex128{0.0014i, 0.001i}, []complex128{1, 1}, nil, nil)
		if i == 0 {
			was = now
		}
		if now != was || z.references[0].b != [1]complex128{complex(0, AtHertz(2e6).Rad*12e-12)} {
			t.Error("a repeated evaluation differs:", was, now)
		}
	}
	b, a := []complex128{0.001i, 0.002i}, []complex128{1, 1}
	g := make([]complex128, 2)
	if n := testing.AllocsPerRun(100, func() {
		_ = x.At(2e6, b, a, true)
		x.Setting(b, a, first, g)
	}); n != 0 {
		t.Errorf("%g allocations", n)
	}
}

// oneWay is an amplifier of little gain: S-parameters that are not symmetric.
type oneWay struct{}

func (oneWay) Eval(_ float64, s []complex128) error {
	copy(s, []complex128{0.2i, 0.05, 0.9 - 0.3i, -0.3})
	return nil
}

// With a part that is not reciprocal the adjoint is not the solution driven from the other end.
func TestTurnedBesideOneWay(t *testing.T) {
	rows := 0
	for k := 1; k <= 4; k++ {
		c := &Circuit{}
		all := []Element{
			NewCapacitor("n1", Ground, 100e-12, Loss{}), NewCapacitor("n3", Ground, 150e-12, Loss{}),
			NewInductor("n3", "n2", 0.2e-6, Loss{Model: ConstantQ, Q: 100}), NewInductor("n2", Ground, 3e-6, Loss{Model: ConstantQ, Q: 100}),
		}
		var ids []ID
		for _, e := range all {
			ids = append(ids, c.Add(e))
		}
		c.Add(NewMeasuredTwoPort("n1", "n3", oneWay{}, [2]float64{50, 75}))
		c.Add(NewCapacitor("n1", "n2", 10e-12, Loss{}))
		inserted := Insert(c, "n1", "n2", NewResistor("n1", Ground, 50), NewResistor("n2", Ground, 75))
		x, err := newTurning(c, inserted, ids[:k])
		if err != nil {
			t.Fatal(err)
		}
		if err := x.turned.At(7e6, nil, nil, true); err != nil {
			t.Fatal(err)
		}
		for _, factor := range []float64{0.3, 1, 4} {
			for i, e := range all[:k] {
				*e.Params()[0].Value *= factor * (1 + 0.1*float64(i))
			}
			_, off, offGrad, ok := x.compare(t, c, 7e6, 2i)
			if !ok || !(off < 1e-13) || !(offGrad < 1e-13) {
				t.Errorf("%d turned: compared %v, off by %g, derivatives by %g", k, ok, off, offGrad)
			}
			rows++
		}
	}
	if rows != 12 {
		t.Errorf("%d settings", rows)
	}
}

// Middle settings may resonate: two capacitors with coils of Q = 1e9, and a third one with a coil that has no loss at all. No
// digits are lost elsewhere.
func TestTurnedMiddleResonates(t *testing.T) {
	const f = 2e6
	c := &Circuit{}
	w := AtHertz(f).Rad
	front, rear := NewCapacitor("n3", Ground, 0, Loss{}), NewCapacitor("n4", Ground, 0, Loss{})
	alone := NewCapacitor("n5", Ground, 1/(w*w*20e-6), Loss{})
	ids := []ID{c.Add(front), c.Add(rear), c.Add(alone)}
	c.Add(NewInductor("n5", Ground, 20e-6, Loss{}))
	for _, n := range []string{"n3", "n4"} {
		c.Add(NewInductor(n, Ground, 20e-6, Loss{Model: ConstantQ, Q: 1e9}))
	}
	c.Add(NewCapacitor("n1", "n3", 1e-12, Loss{}))
	c.Add(NewCapacitor("n3", "n4", 1e-12, Loss{}))
	c.Add(NewCapacitor("n4", "n2", 1e-12, Loss{}))
	inserted := Insert(c, "n1", "n2", NewResistor("n1", Ground, 1e3), NewResistor("n2", Ground, 1e3))
	x, err := newTurning(c, inserted, ids)
	if err != nil {
		t.Fatal(err)
	}
	middle := 1/(w*w*20e-6) - 2e-12
	front.Capacitance, rear.Capacitance = middle, middle
	if err := x.turned.At(f, nil, nil, true); err != nil {
		t.Fatal(err)
	}
	alone.Capacitance /= 2
	worst, rows := 0.0, 0
	for _, one := range []float64{0.5, 0.98, 1.03, 3} {
		for _, other := range []float64{0.6, 0.97, 1.02, 2} {
			front.Capacitance, rear.Capacitance = middle*one, middle*other
			h, _, _, _ := x.compare(t, c, f, 1)
			want, ok := exactVoltage(inserted.Solver(), inserted.Source, "n2")
			if !ok {
				t.Fatal("no exact value")
			}
			worst = math.Max(worst, cmplx.Abs(h-want)/cmplx.Abs(want))
			rows++
		}
	}
	t.Logf("%d settings, off by %.3g", rows, worst)
	if !(worst < 1e-10) || rows != 16 {
		t.Errorf("%d settings, off by %g", rows, worst)
	}
}

// Of a small impedance the current is sensed: of its voltage few digits would be left.
func TestTurnedSmallImpedance(t *testing.T) {
	c := &Circuit{}
	small := NewResistor("n1", "n2", 1e-9)
	id := c.Add(small)
	c.Add(NewCapacitor("n2", Ground, 100e-12, Loss{}))
	inserted := Insert(c, "n1", "n2", NewResistor("n1", Ground, 50), NewResistor("n2", Ground, 75))
	x, err := newTurning(c, inserted, []ID{id})
	if err != nil {
		t.Fatal(err)
	}
	if err := x.turned.At(5e6, nil, nil, true); err != nil {
		t.Fatal(err)
	}
	for _, small.Resistance = range []float64{1e-9, 1e-6, 1} {
		if _, off, _, ok := x.compare(t, c, 5e6, 1); !ok || !(off < 1e-13) {
			t.Errorf("%g ohm: compared %v, off by %g", small.Resistance, ok, off)
		}
		if g := cmplx.Abs(-x.g[0]*x.b[0]/x.plain[0] - 1); !(g < 1e-12) { // db = 0, da = 1
			t.Errorf("%g ohm: its derivative is off by %g", small.Resistance, g)
		}
	}
}

// exactVoltage solves the circuit as a solver stands, from the equations of its elements, with all digits: the referee for
// circuits that a nodal matrix cannot hold.
func exactVoltage(s *Solver, source ID, output string) (complex128, bool) {
	n := s.size
	a, x := make([]exact, n*n), make([]exact, n)
	for i := range a {
		a[i] = ex(0)
	}
	for i := range x {
		x[i] = ex(0)
	}
	add := func(i, j int, v exact) {
		if i >= 0 && j >= 0 {
			a[i*n+j] = a[i*n+j].plus(v)
		}
	}
	for i := range s.places {
		p := &s.places[i]
		m := len(p.from)
		if p.form == Nodal {
			y, by := []exact{ex(p.b[0])}, []exact{ex(p.a[0])}
			if !exactSolve(by, y, 1, 1) {
				return 0, false
			}
			minus := ex(0).minus(y[0])
			add(p.from[0], p.from[0], y[0])
			add(p.to[0], p.to[0], y[0])
			add(p.from[0], p.to[0], minus)
			add(p.to[0], p.from[0], minus)
			continue
		}
		for j := range m {
			add(p.from[j], p.row+j, ex(1))
			add(p.to[j], p.row+j, ex(-1))
			for k := range m {
				add(p.row+j, p.from[k], ex(p.b[j*m+k]))
				add(p.row+j, p.to[k], ex(-p.b[j*m+k]))
				add(p.row+j, p.row+k, ex(-p.a[j*m+k]))
			}
		}
	}
	x[s.places[source].row] = ex(s.places[source].b[0])
	if !exactSolve(a, x, n, 1) {
		return 0, false
	}
	return x[s.nodes[output]].complex(), true
}
