package network

import (
	"math"
	"math/cmplx"
	"os"
	"testing"

	"gonum.org/v1/gonum/mat"
	"pgregory.net/rapid"

	"knobwise/internal/seeded"
)

func TestMain(m *testing.M) { os.Exit(seeded.Run(m, 1975, 500)) }

// ran counts how often a property was really checked, and fails a test that skipped nearly everything.
type ran struct {
	t     *testing.T
	count int
	worst float64
}

func counting(t *testing.T) *ran {
	r := &ran{t: t}
	t.Cleanup(func() {
		t.Logf("%d cases, worst %.3g", r.count, r.worst)
		if r.count < 50 {
			t.Errorf("only %d cases were checked", r.count)
		}
	})
	return r
}

func (r *ran) saw(x float64) {
	r.count++
	r.worst = math.Max(r.worst, x)
}

// Reciprocity: an emf in the source and the current in the load may change places (H. A. Lorentz; textbook).
func TestReciprocity(t *testing.T) {
	r := counting(t)
	rapid.Check(t, func(t *rapid.T) {
		s := draw(t, false)
		inserted, _ := s.insert(t)
		solver := inserted.Solver()
		forward, backward := solver.NewSolution(), solver.NewSolution()
		solver.Drive(inserted.Source, 1, forward)
		solver.Drive(inserted.Load, 1, backward)
		a, b := forward.Current(inserted.Load, 0), backward.Current(inserted.Source, 0)
		// The currents of the drives set the size of what rounding can leave behind.
		scale := cmplx.Abs(forward.Current(inserted.Source, 0)) + cmplx.Abs(backward.Current(inserted.Load, 0))
		if scale == 0 {
			t.Skip("no current flows anywhere")
		}
		off := cmplx.Abs(a-b) / scale
		r.saw(off)
		if !(off < 1e-9) {
			t.Fatalf("load current %v, exchanged %v", a, b)
		}
	})
}

// The available power is reflected, dissipated in the parts, or delivered to the load: nothing is lost or made
// (Tellegen's theorem).
func TestPowerBudgetCloses(t *testing.T) {
	r := counting(t)
	rapid.Check(t, func(t *rapid.T) {
		s := draw(t, false)
		inserted, x := s.insert(t)
		sum := x.ReflectedPower + x.LoadPower
		for id := range s.circuit.elements {
			if ID(id) == inserted.Source || ID(id) == inserted.Load {
				continue
			}
			p := inserted.Forward().Dissipation(ID(id))
			if p < -1e-9*x.AvailablePower {
				t.Fatalf("element %d makes %g W of %g W available", id, -p, x.AvailablePower)
			}
			sum += p
		}
		off := math.Abs(sum/x.AvailablePower - 1)
		r.saw(off)
		if !(off < 1e-9) {
			t.Fatalf("the shares add to %.12f of the available power", sum/x.AvailablePower)
		}
		if x.LoadPower > x.AvailablePower*(1+1e-9) {
			t.Fatalf("the load gets %g W of %g W available", x.LoadPower, x.AvailablePower)
		}
	})
}

// A lossless circuit burns exactly nothing: not rounding noise, zero.
func TestLosslessElementsDissipateNothing(t *testing.T) {
	r := counting(t)
	rapid.Check(t, func(t *rapid.T) {
		s := draw(t, true)
		inserted, x := s.insert(t)
		for id, e := range s.circuit.elements {
			if ID(id) == inserted.Source || ID(id) == inserted.Load {
				continue
			}
			p := inserted.Forward().Dissipation(ID(id))
			if len(e.Branches()) == 1 && p != 0 {
				t.Fatalf("%T dissipates %g W", e, p)
			}
			if math.Abs(p) > 1e-9*x.AvailablePower {
				t.Fatalf("%T dissipates %g W of %g W", e, p, x.AvailablePower)
			}
		}
		off := math.Abs(x.InputPower-x.LoadPower) / x.AvailablePower
		r.saw(off)
		if x.LoadPower > x.InputPower && x.LoadPower < x.InputPower*(1+1e-9) || x.InputPower > x.AvailablePower {
			t.Fatalf("a lossless circuit gains: %.17g W available, %.17g W enter, %.17g W arrive", x.AvailablePower, x.InputPower, x.LoadPower)
		}
		if !(off < 1e-9) {
			t.Fatalf("%g W enter, %g W arrive", x.InputPower, x.LoadPower)
		}
	})
}

// The adjoint's derivatives of a voltage and a current with respect to every value agree with differences.
func TestGradientAgreesWithDifferences(t *testing.T) {
	r := counting(t)
	checked, unresolved := map[string]int{}, 0
	rapid.Check(t, func(t *rapid.T) {
		s := draw(t, false)
		inserted, _ := s.insert(t)
		solver := inserted.Solver()
		outputs := []Output{VoltageOf(out), VoltageOf(in), CurrentOf(inserted.Source, 0)}
		params := s.circuit.Params()
		x := solver.NewSolution()
		for _, o := range outputs {
			value := func() complex128 {
				if err := solver.At(s.frequency); err != nil {
					t.Skip(err)
				}
				solver.Drive(inserted.Source, 1, x)
				return o.Value(x)
			}
			size := cmplx.Abs(value())
			if size < 1e-9 {
				continue // nothing gets there but rounding
			}
			largest := 1.0
			for _, v := range x.x {
				largest = math.Max(largest, cmplx.Abs(v))
			}
			gradient := make([]complex128, len(params))
			solver.Gradient(x, o, gradient)
			chosenAgree(t, solver, o, x, params, gradient)
			for i, p := range params {
				param := s.circuit.Element(p.Element).Params()[p.Index]
				was := *param.Value
				if was == 0 {
					continue // strays that are not there: their derivative exists, a relative step does not
				}
				// Central differences of fourth order with two steps. By how much they differ measures truncation and rounding of the
				// smaller; the least rounding is 1e-14 of the largest voltage
				// or current anywhere and, where the circuit amplifies it, 1e-12 of the output, over the step.
				at := func(x float64) complex128 { *param.Value = was * (1 + x); return value() }
				fourth := func(h float64) complex128 {
					return (8*(at(h)-at(-h)) - (at(2*h) - at(-2*h))) / complex(12*h, 0)
				}
				wide, difference := fourth(2e-4), fourth(1e-4)
				*param.Value = was
				analytic := gradient[i] * complex(was, 0)
				truncation := cmplx.Abs(wide - difference)
				rounding := 1e-10*largest + 1e-8*size
				if truncation > 1e-3*cmplx.Abs(analytic)+10*rounding {
					unresolved++ // a resonance sharper than the step: the difference says nothing
					continue
				}
				allowed := rounding + 10*truncation + 1e-9*cmplx.Abs(analytic)
				off := cmplx.Abs(difference - analytic)
				checked[param.Name]++
				r.saw(off / allowed)
				if !(off <= allowed) {
					t.Fatalf("%T %s at %g: difference %v, adjoint %v, output %g", s.circuit.Element(p.Element), param.Name, was, difference, analytic, size)
				}
			}
			value() // leave the circuit as it was
		}
	})
	t.Logf("parameters checked: %v; %d too sharp for differences", checked, unresolved)
	if unresolved > r.count/50 {
		t.Errorf("%d of %d derivatives could not be checked", unresolved, r.count)
	}
	for _, name := range []string{"value", "Q", "resistance", "self capacitance", "leads", "stray", "coupling 1-2", "value 2", "impedance", "length", "velocity", "loss", "holder", "inductance", "capacitance"} {
		if checked[name] == 0 {
			t.Errorf("no %q was checked", name)
		}
	}
}

// chosenAgree: derivatives by chosen parameters are the same numbers as those by all.
func chosenAgree(t *rapid.T, solver *Solver, o Output, x *Solution, params []ParamID, all []complex128) {
	var ids []ID
	var numbers, at []int
	for i := len(params) - 1; i >= 0; i -= 2 {
		ids, numbers, at = append(ids, params[i].Element), append(numbers, params[i].Index), append(at, i)
	}
	chosen := solver.Sensitivity(o, ids, numbers)
	chosen.Solve()
	into := make([]complex128, len(ids))
	chosen.Of(x, into)
	for k, i := range at {
		if into[k] != all[i] {
			t.Fatalf("parameter %d: %v by itself, %v with the others", i, into[k], all[i])
		}
	}
}

// The branch form agrees with a nodal solve that shares nothing with it but the elements' equations: admittance matrices
// (of windings and lines by A⁻¹·B), assembled and solved with 72 digits, so that only the branch form's own rounding
// shows. Q goes up to 1000 in draw. The same admittances are solved as a real system of twice the size by gonum, which
// the branch form must not contradict by more than that system's condition allows.
func TestBranchFormEqualsNodalSolve(t *testing.T) {
	r, plain := counting(t), counting(t)
	rapid.Check(t, func(t *rapid.T) {
		s := draw(t, false)
		for _, e := range s.circuit.elements {
			if contact, ok := e.(*Contact); ok && contact.Closed {
				contact.Closed = false // an admittance without end
			}
		}
		inserted, x := s.insert(t)
		nodal, ok := assembleNodal(s.circuit, inserted, s.frequency)
		if !ok {
			t.Skip("a part has no admittance")
		}
		embedded, condition := nodal.embedded(out, in)
		want, solvable := nodal.exactly(out, in)
		if !solvable {
			t.Skip("the nodal matrix is singular: a part of the circuit hangs free")
		}
		got := [2]complex128{x.Load, inserted.Forward().Voltage(in)}
		size := math.Max(cmplx.Abs(want[0]), cmplx.Abs(want[1]))
		off := math.Max(cmplx.Abs(got[0]-want[0]), cmplx.Abs(got[1]-want[1])) / size
		r.saw(off)
		if !(off < 1e-9) {
			t.Fatalf("branch form %v, nodal %v", got, want)
		}
		if condition < 1e12 {
			off := math.Max(cmplx.Abs(got[0]-embedded[0]), cmplx.Abs(got[1]-embedded[1])) / size
			plain.saw(off)
			if !(off < math.Max(1e-9, 1e-15*condition)) {
				t.Fatalf("branch form %v, real embedding %v (condition %g)", got, embedded, condition)
			}
		}
	})
}

// nodalSystem is a circuit's nodal admittance matrix for 1 V in the source, as a Norton current.
type nodalSystem struct {
	index map[string]int
	y     []exact
	rhs   []exact
}

func assembleNodal(c *Circuit, in *Insertion, f float64) (s nodalSystem, ok bool) {
	s.index = map[string]int{}
	for _, e := range c.elements {
		for _, b := range e.Branches() {
			for _, n := range []string{b.From, b.To} {
				if _, seen := s.index[n]; !seen && n != Ground {
					s.index[n] = len(s.index)
				}
			}
		}
	}
	n := len(s.index)
	s.y, s.rhs = make([]exact, n*n), make([]exact, n)
	for i := range s.y {
		s.y[i] = ex(0)
	}
	for i := range s.rhs {
		s.rhs[i] = ex(0)
	}
	for id, e := range c.elements {
		branches := e.Branches()
		m := len(branches)
		b, a := make([]complex128, m*m), make([]complex128, m*m)
		if err := e.Equations(AtHertz(f), b, a); err != nil {
			return s, false
		}
		y, impedance := make([]exact, m*m), make([]exact, m*m)
		for i := range b {
			y[i], impedance[i] = ex(b[i]), ex(a[i])
		}
		if !exactSolve(impedance, y, m, m) {
			return s, false
		}
		for j, bj := range branches {
			for k, bk := range branches {
				for p, from := range []string{bj.From, bj.To} {
					for q, to := range []string{bk.From, bk.To} {
						if from == Ground || to == Ground {
							continue
						}
						at := s.index[from]*n + s.index[to]
						if p == q {
							s.y[at] = s.y[at].plus(y[j*m+k])
						} else {
							s.y[at] = s.y[at].minus(y[j*m+k])
						}
					}
				}
			}
		}
		if ID(id) == in.Source {
			s.rhs[s.index[branches[0].From]] = y[0]
		}
	}
	return s, true
}

// exactly solves the system with all digits.
func (s nodalSystem) exactly(nodes ...string) (v []complex128, ok bool) {
	n := len(s.index)
	y, x := append([]exact(nil), s.y...), append([]exact(nil), s.rhs...)
	if !exactSolve(y, x, n, 1) {
		return nil, false
	}
	for _, node := range nodes {
		v = append(v, x[s.index[node]].complex())
	}
	return v, true
}

// embedded solves [Re −Im; Im Re] by gonum's LU, and gives its condition number.
func (s nodalSystem) embedded(nodes ...string) (v []complex128, condition float64) {
	n := len(s.index)
	a, b := mat.NewDense(2*n, 2*n, nil), mat.NewVecDense(2*n, nil)
	for i := range n {
		for j := range n {
			y := s.y[i*n+j].complex()
			a.Set(i, j, real(y))
			a.Set(i, n+j, -imag(y))
			a.Set(n+i, j, imag(y))
			a.Set(n+i, n+j, real(y))
		}
		e := s.rhs[i].complex()
		b.SetVec(i, real(e))
		b.SetVec(n+i, imag(e))
	}
	var factors mat.LU
	factors.Factorize(a)
	x := mat.NewVecDense(2*n, nil)
	if err := factors.SolveVecTo(x, false, b); err != nil {
		return nil, math.Inf(1)
	}
	for _, node := range nodes {
		i := s.index[node]
		v = append(v, complex(x.AtVec(i), x.AtVec(n+i)))
	}
	return v, factors.Cond()
}
