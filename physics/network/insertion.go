package network

import (
	"math"
	"math/cmplx"
)

// Insertion is a circuit inserted between a source and a load: the source from the node Input to ground, the load
// from the node Output to ground. Both are elements of one branch, and part of the circuit.
type Insertion struct {
	Input, Output string
	Source, Load  ID
	solver        *Solver
	forward       *Solution
	backward      *Solution
}

// Insert adds a source at one node and a load at another to a circuit and lays out its solution.
func Insert(c *Circuit, input, output string, source, load Element) *Insertion {
	in := &Insertion{Input: input, Output: output, Source: c.Add(inCurrentForm(source)), Load: c.Add(inCurrentForm(load))}
	in.solver = NewSolver(c)
	in.forward, in.backward = in.solver.NewSolution(), in.solver.NewSolution()
	return in
}

// inCurrentForm keeps the current of an element as an unknown whatever the element itself would choose.
func inCurrentForm(e Element) Element {
	if e.Form() == Current {
		return e
	}
	return withCurrent{e}
}

type withCurrent struct{ Element }

func (withCurrent) Form() Form { return Current }

// Response is what an inserted circuit does at one frequency, for an emf in the source. Gains are ratios of power or
// amplitude, not decibels. The definitions are the trade's: available power and transducer gain as in IEEE Std 270
// and D. M. Pozar, Microwave Engineering, section "two-port power gains"; insertion gain against source and load
// joined directly (all from memory).
type Response struct {
	Frequency       float64    // Hz
	Load            complex128 // V across the load
	Straight        complex128 // V across the load with the circuit taken out
	InputImpedance  complex128 // ohm, seen by the source; infinite where no current enters
	OutputImpedance complex128 // ohm, seen by the load with the source's emf off; infinite where no current enters
	AvailablePower  float64    // W, from the source; NaN where its resistance is not positive
	InputPower      float64    // W, entering the circuit
	LoadPower       float64    // W, into the resistive part of the load
	ReflectedPower  float64    // W, available but not accepted: |V − Zs*·I|²/(4·Re Zs); NaN as AvailablePower
}

// Solver gives access to the solution behind the last response.
func (in *Insertion) Solver() *Solver { return in.solver }

// Branches is the number of branches of an element.
func (in *Insertion) Branches(id ID) int { return len(in.solver.places[id].from) }

// Backward is the solution of the last Response, driven through the load; only ratios of its values have a meaning.
func (in *Insertion) Backward() *Solution { return in.backward }

// Through is the magnitude of the current in ampere that drives a solution: that of the source or, backwards, of the load.
func (in *Insertion) Through(x *Solution) float64 {
	if x == in.forward {
		return cmplx.Abs(x.Current(in.Source, 0))
	}
	return cmplx.Abs(x.Current(in.Load, 0))
}

// Forward is the solution of the last Response, driven by the source.
func (in *Insertion) Forward() *Solution { return in.forward }

// Response solves the circuit at f Hz with emf in volt rms in the source. Errors are those of Solver.At.
func (in *Insertion) Response(f float64, emf float64) (Response, error) {
	if err := in.solver.At(f); err != nil {
		return Response{}, err
	}
	in.solver.Drive(in.Source, complex(emf, 0), in.forward)
	in.solver.DriveThrough(in.Load, in.backward)

	source := &in.solver.places[in.Source]
	bs, as := source.b[0], source.a[0]
	r := Response{Frequency: f, Load: in.forward.Voltage(in.Output), Straight: complex(emf, 0) * in.Straight()}

	entering := -in.forward.Current(in.Source, 0)
	input := in.forward.Voltage(in.Input)
	r.InputImpedance = quotient(input, entering)
	r.OutputImpedance = quotient(in.backward.Voltage(in.Output), -in.backward.Current(in.Load, 0))
	r.InputPower = realPower(input, entering)
	r.LoadPower = in.forward.Dissipation(in.Load)

	zs := quotient(as, bs)
	r.AvailablePower, r.ReflectedPower = math.NaN(), math.NaN()
	if rs := real(zs); rs > 0 && !math.IsInf(rs, 0) {
		r.AvailablePower = emf * emf / (4 * rs)
		r.ReflectedPower = squared(input-cmplx.Conj(zs)*entering) / (4 * rs)
	}
	// Rounding must not make a lossless circuit deliver more than it gets; what exceeds rounding is an active part.
	// The power that enters is the real part of a product that may be nearly imaginary; that into the load is a square,
	// and so the more exact of the two.
	rounding := 1e-13*(cmplx.Abs(input)*cmplx.Abs(entering)+max(0, r.AvailablePower)) + 1e-11*r.LoadPower
	if math.IsNaN(rounding) {
		rounding = 1e-11 * r.LoadPower // no available power exists
	}
	if r.LoadPower > r.InputPower && r.LoadPower <= r.InputPower+rounding {
		r.InputPower = r.LoadPower
	}
	if r.InputPower > r.AvailablePower && r.InputPower <= r.AvailablePower+rounding {
		r.InputPower = r.AvailablePower
		r.LoadPower = min(r.LoadPower, r.AvailablePower)
	}
	return r, nil
}

// Transfer is the voltage in volt across the load at f Hz for an emf of 1 V, without the rest of a Response; the solver then
// stands at f for derivatives. Errors are those of Solver.At.
func (in *Insertion) Transfer(f float64) (complex128, error) {
	if err := in.solver.At(f); err != nil {
		return 0, err
	}
	in.solver.Drive(in.Source, 1, in.forward)
	return in.forward.Voltage(in.Output), nil
}

// Straight is the voltage across the load at the frequency of the last Transfer or Response for an emf of 1 V, the circuit
// taken out.
func (in *Insertion) Straight() complex128 {
	source, load := &in.solver.places[in.Source], &in.solver.places[in.Load]
	// v = e − Zs·i and i = Yl·v, written with B and A so that an open load needs no case of its own.
	bs, as, bl, al := source.b[0], source.a[0], load.b[0], load.a[0]
	return bs * al / (bs*al + as*bl)
}

// StraightThrough is the voltage in volt that a source of 1 V emf makes across a load at f Hz when both are joined directly; NaN
// where an element is not known at f.
func StraightThrough(source, load Element, f float64) complex128 {
	var bs, as, bl, al [1]complex128
	if source.Equations(AtHertz(f), bs[:], as[:]) != nil || load.Equations(AtHertz(f), bl[:], al[:]) != nil {
		return cmplx.NaN()
	}
	return bs[0] * al[0] / (bs[0]*al[0] + as[0]*bl[0])
}

// realPower is Re(v·i*) in watt. What is smaller than the rounding of the product of voltage and current is zero: the
// power that enters a lossless circuit without a load.
func realPower(v, i complex128) float64 {
	const rounding = 1e-14
	power := real(v * cmplx.Conj(i))
	if math.Abs(power) < rounding*cmplx.Abs(v)*cmplx.Abs(i) {
		return 0
	}
	return power
}

// quotient is x/y, with a real +Inf instead of an undirected complex infinity where y is zero.
func quotient(x, y complex128) complex128 {
	if y == 0 {
		return complex(math.Inf(1), 0)
	}
	return x / y
}

// Scattering returns the S-parameters of the circuit between its two nodes at f Hz as S11, S12, S21, S22, for an
// insertion whose source and load are resistors of zs and zl ohm: with an emf E behind port 1, S11 = 2·V1/E − 1 and
// S21 = 2·(V2/E)·√(zs/zl) (K. Kurokawa 1965, from memory).
func (in *Insertion) Scattering(f, zs, zl float64) (s [4]complex128, err error) {
	if err := in.solver.At(f); err != nil {
		return s, err
	}
	in.solver.Drive(in.Source, 1, in.forward)
	in.solver.Drive(in.Load, 1, in.backward)
	ratio := complex(math.Sqrt(zs/zl), 0)
	s[0] = 2*in.forward.Voltage(in.Input) - 1
	s[1] = 2 * in.backward.Voltage(in.Input) / ratio
	s[2] = 2 * in.forward.Voltage(in.Output) * ratio
	s[3] = 2*in.backward.Voltage(in.Output) - 1
	return s, nil
}
