package identify

import (
	"context"
	"fmt"
	"maps"
	"math"
	"math/cmplx"
	"slices"

	"knobwise/bench/box"
	"knobwise/bench/fault"
	"knobwise/bench/hookup"
	"knobwise/bench/measurement"
	"knobwise/bench/setup"
	"knobwise/bench/trace"
	"knobwise/physics/network"
)

// model is one measurement: the box at its setting, to be asked at the trace's frequencies for any values.
type model struct {
	measured *measurement.Measurement
	trace    *trace.Trace
	kind     shape
	f        []float64
	data     []float64 // V, ratio or dB along f; real and imaginary parts of the S-parameters one behind the other
	levels   []float64 // what the noise may grow with, along data
	relative bool
	// least and most are the lowest and the highest level in nepers, of levels.
	least, most float64

	hook      *hookup.Hookup
	in        *network.Insertion
	forward   *network.Solution
	backward  *network.Solution
	reference float64

	knobs []knob
	vars  []int // numbers of the variables that count at this setting
	parts []touched
	theta []*float64 // the parameters of the elements that follow the variables and the knobs
	ids   []network.ID
	// numbers are those of theta within their elements.
	numbers []int
	at      []*network.Sensitivity // of the output; for S-parameters of both sockets
	gains   bool                   // its level is not known

	given    box.Given
	readings box.Setting
	dtheta   [][]float64 // per local column: the derivative of theta
	follow   [][]int     // per local column: which of theta follow it
	grad     []complex128
	dlnk     [][]float64 // per local column, along f: of the straight-through voltage, for setups with unknown values
	left     int         // points that were left out
	thinned  bool        // only every so many points of the trace are used
}

// shape is what the numbers of a trace are.
type shape int

const (
	amplitude shape = iota
	decibel
	scattering
)

// knob is a dial of one measurement.
type knob struct {
	control  *box.Control
	reading  float64 // as written
	named    float64 // the standard deviation that was named for all plain readings
	sd       float64 // of the reading; 0: exact; infinite: not read at all
	low, top float64 // between which it is looked for
	own      bool    // the file says how well it was read
}

// touched is a part that follows some local columns.
type touched struct {
	placed  int // in Wired.Placed; -1 source, -2 load
	columns []int
	pick    []int // which of its parameters are theta, and where
	into    []int
}

// decibelsPerNeper is 20·log10(e).
const decibelsPerNeper = 20 / math.Ln10

// newModel takes a measurement's numbers.
func newModel(b *box.Box, m *measurement.Measurement, t *trace.Trace, readingError float64) (*model, error) {
	t, thinned := thinTrace(t)
	x := &model{measured: m, trace: t, relative: t.Relative, thinned: thinned}
	h, err := hookup.ConnectGiven(b, m.Setting, m.Setup, guesses(b))
	if err != nil {
		return nil, err
	}
	if t.Quantity != measurement.Scattering && m.Setup.Shorted() {
		return nil, fault.New(fault.Request, m.Name+" is a sweep into a short, across which no voltage stands", "give it the setup that it was taken with; a short serves reflections (.s1p)")
	}
	keep := func(f float64) bool { return f > 0 && h.Covers(f, f) == nil }
	switch t.Quantity {
	case measurement.Scattering:
		x.kind = scattering
		if t.Ports == 2 && t.References[0] != t.References[1] {
			return nil, fault.New(fault.Request, t.File+" has a reference of its own for each port", "convert it: knobwise measure convert "+t.File+" --reference 50ohm --out one.s2p")
		}
		x.reference = t.References[0]
		for i, f := range t.Frequency {
			if !keep(f) {
				x.left++
				continue
			}
			x.f = append(x.f, f)
			for _, s := range t.S[i] {
				x.data = append(x.data, real(s), imag(s))
			}
		}
		x.levels = make([]float64, len(x.data))
		for i := range x.levels {
			x.levels[i] = 1
		}
	default:
		if t.Quantity == measurement.Decibel {
			x.kind = decibel
		}
		x.gains = !t.Relative
		for i, f := range t.Frequency {
			d := t.Level[i]
			if !keep(f) || math.IsNaN(d) || math.IsInf(d, 0) || x.kind == amplitude && d < 0 {
				x.left++
				continue
			}
			x.f, x.data = append(x.f, f), append(x.data, d)
		}
		x.levels = slices.Clone(x.data)
		if x.kind == decibel {
			for i := range x.levels {
				x.levels[i] = 1
			}
		}
	}
	if len(x.f) == 0 {
		return nil, fault.New(fault.Request, m.Name+" has no point at which the model can be asked", "check its frequencies, and the range of measured parts")
	}
	if top := highest(x.data); top > mostLevel {
		return nil, fault.New(fault.Request, fmt.Sprintf("%s has a level of %.3g, which no instrument shows", m.Name, top), "check the column that was read, and its unit")
	}
	if x.kind == amplitude && slices.Max(x.data) == 0 {
		return nil, fault.New(fault.Request, m.Name+" is zero throughout", "check the channel that was read")
	}
	x.least, x.most = x.depth()
	for _, c := range b.Controls {
		if c.Knob != nil {
			x.knobs = append(x.knobs, knobOf(c, m, readingError))
		}
	}
	return x, nil
}

// mostLevel is far beyond counts of any converter, and the squares of such levels are still numbers.
const mostLevel = 1e15

// mostPoints is how many points of a trace are used: more tell little more of some values, and cost time.
const mostPoints = 2001

// thinTrace takes every so many points of a very long trace.
func thinTrace(t *trace.Trace) (*trace.Trace, bool) {
	n := len(t.Frequency)
	if n <= mostPoints {
		return t, false
	}
	step := (n + mostPoints - 1) / mostPoints
	out := *t
	out.Frequency, out.Level, out.S = nil, nil, nil
	for i := 0; i < n; i += step {
		out.Frequency = append(out.Frequency, t.Frequency[i])
		if t.Quantity == measurement.Scattering {
			out.S = append(out.S, t.S[i])
		} else {
			out.Level = append(out.Level, t.Level[i])
		}
	}
	return &out, true
}

// guesses stand for values of which the file has not even a guess, so that the box can be wired; the fit replaces them.
func guesses(b *box.Box) box.Given {
	given := box.Given{}
	for _, u := range b.Unknowns() {
		given[u.Node] = 1e-9
		if u.Field == "Q" {
			given[u.Node] = 100
		}
		if u.Quantity.Value > 0 {
			given[u.Node] = u.Quantity.Value
		} else if u.Quantity.Low > 0 {
			given[u.Node] = math.Sqrt(u.Quantity.Low * u.Quantity.High)
		}
	}
	return given
}

// connect wires the model for the variables, and finds which of them count and what they move.
func (x *model) connect(b *box.Box, all []*variable) error {
	x.given = box.Given{}
	for _, v := range all {
		x.given[v.node] = v.guess
	}
	x.readings = maps.Clone(x.measured.Setting)
	with := x.measured.Setup
	var err error
	if x.kind == scattering {
		err = x.connectScattering(b, with)
	} else {
		x.hook, err = hookup.ConnectGiven(b, x.readings, with, x.given)
		if err == nil {
			x.in = x.hook.Insertion()
		}
	}
	if err != nil {
		return err
	}
	solver := x.in.Solver()
	x.forward, x.backward = solver.NewSolution(), solver.NewSolution()
	x.vars = nil
	for i, v := range all {
		if v.inSetup {
			if slices.ContainsFunc(with.Unknowns(), func(u setup.Unknown) bool { return u.Node == v.node }) && x.kind != scattering {
				x.vars = append(x.vars, i)
			}
			continue
		}
		for _, u := range b.Unknowns() {
			if u.Node == v.node && x.hook.Wired.Uses(u) {
				x.vars = append(x.vars, i)
			}
		}
	}
	if err := x.findTouched(b, all); err != nil {
		return err
	}
	switch {
	case x.kind != scattering:
		x.at = []*network.Sensitivity{solver.Sensitivity(network.VoltageOf(x.in.Output), x.ids, x.numbers)}
	default:
		x.at = []*network.Sensitivity{solver.Sensitivity(network.VoltageOf(x.in.Input), x.ids, x.numbers), solver.Sensitivity(network.VoltageOf(x.in.Output), x.ids, x.numbers)}
	}
	x.grad = make([]complex128, len(x.theta))
	return nil
}

// connectScattering puts the box between resistors: the reference at both sockets, or for a one-port the setup's load.
func (x *model) connectScattering(b *box.Box, with *setup.Setup) error {
	w, err := b.WireGiven(x.readings, x.given)
	if err != nil {
		return err
	}
	x.hook = &hookup.Hookup{Box: b, Setting: x.readings, Setup: with, Wired: w, Placed: w.Placed}
	source := network.NewResistor(b.Antenna, network.Ground, x.reference)
	var load network.Element = network.NewResistor(b.Receiver, network.Ground, x.reference)
	if x.trace.Ports == 1 {
		load = with.LoadElement(b.Receiver)
	}
	x.in = network.Insert(w.Circuit, b.Antenna, b.Receiver, source, load)
	return nil
}

// locals is the number of local columns: the variables that count, then the knobs.
func (x *model) locals() int { return len(x.vars) + len(x.knobs) }

// end is an element of the setup as it is with the given values.
func (x *model) end(which int) network.Element {
	with := x.measured.Setup.Given(x.given)
	if which == -1 {
		return with.SourceElement(x.hook.Box.Antenna)
	}
	return with.LoadElement(x.hook.Box.Receiver)
}

// valuesOf appends the parameters of a touched part.
func (x *model) valuesOf(placed int, into []float64) ([]float64, error) {
	if placed >= 0 {
		return x.hook.Wired.Values(placed, x.given, x.readings, into)
	}
	for _, p := range x.end(placed).Params() {
		into = append(into, *p.Value)
	}
	return into, nil
}

// findTouched finds the parameters that move when a local column does, by moving each from end to end.
func (x *model) findTouched(b *box.Box, all []*variable) error {
	x.parts, x.theta, x.ids, x.numbers = nil, nil, nil, nil
	for placed := -2; placed < len(x.hook.Placed); placed++ {
		if placed < 0 && x.kind == scattering {
			continue
		}
		t := touched{placed: placed}
		moved := map[int]bool{}
		try := func(column int, set func(at int)) error {
			var seen [3][]float64
			for at := range seen {
				set(at)
				var err error
				if seen[at], err = x.valuesOf(placed, nil); err != nil {
					return err
				}
			}
			any := false
			for k := range seen[0] {
				if seen[0][k] != seen[1][k] || seen[1][k] != seen[2][k] {
					moved[k], any = true, true
				}
			}
			if any {
				t.columns = append(t.columns, column)
			}
			return nil
		}
		for c, i := range x.vars {
			v := all[i]
			if v.inSetup != (placed < 0) || placed >= 0 && x.hook.Placed[placed].Part.Name != v.Part {
				continue
			}
			was := x.given[v.node]
			// Not from end to end of its room: a smallest value may not pass a largest.
			err := try(c, func(at int) { x.given[v.node] = v.value(v.coordinate(was) + float64(at-1)*0.01) })
			x.given[v.node] = was
			if err != nil {
				return err
			}
		}
		for k := range x.knobs {
			c := x.knobs[k].control
			if placed < 0 || !slices.Contains(c.Knob.Parts, x.hook.Placed[placed].Part) || x.knobs[k].sd == 0 {
				continue
			}
			was := x.readings[c.Name]
			err := try(len(x.vars)+k, func(at int) {
				x.readings[c.Name] = box.Reading{Number: c.Knob.From + (c.Knob.To-c.Knob.From)*float64(at)/2}
			})
			x.readings[c.Name] = was
			if err != nil {
				return err
			}
		}
		if len(moved) == 0 {
			continue
		}
		pointers, ids, numbers := x.pointers(placed)
		for k := range pointers {
			if moved[k] {
				t.pick, t.into = append(t.pick, k), append(t.into, len(x.theta))
				x.theta, x.ids, x.numbers = append(x.theta, pointers[k]), append(x.ids, ids[k]), append(x.numbers, numbers[k])
			}
		}
		x.parts = append(x.parts, t)
	}
	x.dtheta, x.follow = make([][]float64, x.locals()), make([][]int, x.locals())
	for c := range x.dtheta {
		x.dtheta[c] = make([]float64, len(x.theta))
		for _, t := range x.parts {
			if slices.Contains(t.columns, c) {
				x.follow[c] = append(x.follow[c], t.into...)
			}
		}
	}
	return nil
}

// pointers are where the parameters of a part stand in the circuit.
func (x *model) pointers(placed int) (all []*float64, ids []network.ID, numbers []int) {
	elements := []network.ID{x.in.Source}
	switch {
	case placed == -2:
		elements = []network.ID{x.in.Load}
	case placed >= 0:
		elements = x.hook.Placed[placed].Elements
	}
	for _, id := range elements {
		for k, p := range x.hook.Wired.Circuit.Element(id).Params() {
			all, ids, numbers = append(all, p.Value), append(ids, id), append(numbers, k)
		}
	}
	return all, ids, numbers
}

// differenceStep is the part of a value, or of a scale, by which the wiring is differenced: what follows a value linearly is
// exact, and the curvature of a plate law costs 1e-10.
const differenceStep = 1e-5

// set puts values and readings into the circuit, and finds the derivatives of the parameters by the local columns.
func (x *model) set(all []*variable, p []float64, readings []float64, derivatives bool) error {
	if err := x.setParts(all, p, readings, derivatives, func(touched) bool { return true }); err != nil {
		return err
	}
	if derivatives {
		x.straightDerivatives(all)
	}
	return nil
}

// setParts is set for some parts.
func (x *model) setParts(all []*variable, p []float64, readings []float64, derivatives bool, wanted func(touched) bool) error {
	for _, i := range x.vars {
		x.given[all[i].node] = all[i].value(p[i])
	}
	for k := range x.knobs {
		x.readings[x.knobs[k].control.Name] = box.Reading{Number: readings[k]}
	}
	var low, high, now [16]float64
	for _, t := range x.parts {
		if !wanted(t) {
			continue
		}
		at, err := x.valuesOf(t.placed, now[:0])
		if err != nil {
			return err
		}
		for j, k := range t.pick {
			if !(math.Abs(at[k]) <= 1e300) {
				return fmt.Errorf("identify: a value of %s is no number", x.hook.Wired.Placed[max(0, t.placed)].Part.Name)
			}
			*x.theta[t.into[j]] = at[k]
		}
		if !derivatives {
			continue
		}
		for _, c := range t.columns {
			a, b, step, err := x.difference(all, t, c, low[:0], high[:0])
			if err != nil {
				return err
			}
			for j, k := range t.pick {
				x.dtheta[c][t.into[j]] = (b[k] - a[k]) / step
			}
		}
	}
	return nil
}

// difference is the parameters of a part at both sides of a local column's present place, in its coordinate.
func (x *model) difference(all []*variable, t touched, column int, low, high []float64) (a, b []float64, step float64, err error) {
	if column < len(x.vars) {
		v := all[x.vars[column]]
		was := x.given[v.node]
		h := differenceStep * math.Abs(was)
		x.given[v.node] = was - h
		if a, err = x.valuesOf(t.placed, low); err == nil {
			x.given[v.node] = was + h
			b, err = x.valuesOf(t.placed, high)
		}
		x.given[v.node] = was
		return a, b, 2 * h / v.slope(was), err
	}
	c := x.knobs[column-len(x.vars)].control
	was := x.readings[c.Name]
	h := differenceStep * (c.Knob.To - c.Knob.From)
	below, above := was.Number-h, was.Number+h
	if lo, hi := min(c.Knob.From, c.Knob.To), max(c.Knob.From, c.Knob.To); true {
		below, above = min(max(below, lo), hi), min(max(above, lo), hi)
	}
	x.readings[c.Name] = box.Reading{Number: below}
	if a, err = x.valuesOf(t.placed, low); err == nil {
		x.readings[c.Name] = box.Reading{Number: above}
		b, err = x.valuesOf(t.placed, high)
	}
	x.readings[c.Name] = was
	return a, b, above - below, err
}

// straightDerivatives is what the straight-through voltage does when a value of the setup moves.
func (x *model) straightDerivatives(all []*variable) {
	if !x.relative {
		return
	}
	for c, i := range x.vars {
		v := all[i]
		if !v.inSetup {
			continue
		}
		if x.dlnk == nil {
			x.dlnk = make([][]float64, x.locals())
		}
		if x.dlnk[c] == nil {
			x.dlnk[c] = make([]float64, len(x.f))
		}
		was := x.given[v.node]
		h := differenceStep * math.Abs(was)
		x.given[v.node] = was - h
		s0, l0 := x.end(-1), x.end(-2)
		x.given[v.node] = was + h
		s1, l1 := x.end(-1), x.end(-2)
		x.given[v.node] = was
		for n, f := range x.f {
			a, b := network.StraightThrough(s0, l0, f), network.StraightThrough(s1, l1, f)
			x.dlnk[c][n] = -math.Log(cmplx.Abs(b)/cmplx.Abs(a)) / (2 * h / v.slope(was))
		}
	}
}

// levelsAt writes the logarithm of the model's amplitude, in nepers, along f, and where d is not nil its derivatives by the local
// columns, row by row. The circuit is that of the last set.
func (x *model) levelsAt(ctx context.Context, ln, d []float64) error {
	n := x.locals()
	for i, f := range x.f {
		if i%64 == 0 && ctx.Err() != nil {
			return ctx.Err()
		}
		v, err := x.in.Transfer(f)
		if err != nil {
			return err
		}
		power := real(v)*real(v) + imag(v)*imag(v)
		if power == 0 {
			return errSilent
		}
		ln[i] = 0.5 * math.Log(power)
		if x.relative {
			s := x.in.Straight()
			ln[i] -= 0.5 * math.Log(real(s)*real(s)+imag(s)*imag(s))
		}
		if d == nil {
			continue
		}
		x.at[0].Solve()
		x.at[0].Of(x.in.Forward(), x.grad)
		row := d[i*n : (i+1)*n]
		for c, dtheta := range x.dtheta {
			var sum float64
			for j, t := range dtheta {
				if t != 0 {
					g := x.grad[j]
					sum += (real(v)*real(g) + imag(v)*imag(g)) * t
				}
			}
			row[c] = sum / power
			if x.dlnk != nil && x.dlnk[c] != nil {
				row[c] += x.dlnk[c][i]
			}
		}
	}
	return nil
}

var errSilent = fmt.Errorf("identify: nothing reaches the load")

// scatteringAt writes the model's S-parameters as real and imaginary parts in the order of data, and their derivatives.
func (x *model) scatteringAt(ctx context.Context, s, d []float64) error {
	n, ports := x.locals(), x.trace.Ports
	per := 2 * ports * ports
	solver := x.in.Solver()
	for i, f := range x.f {
		if i%64 == 0 && ctx.Err() != nil {
			return ctx.Err()
		}
		if err := solver.At(f); err != nil {
			return err
		}
		solver.Drive(x.in.Source, 1, x.forward)
		out := s[i*per : (i+1)*per]
		put := func(k int, v complex128) { out[2*k], out[2*k+1] = real(v), imag(v) }
		put(0, 2*x.forward.Voltage(x.in.Input)-1)
		if ports == 2 {
			solver.Drive(x.in.Load, 1, x.backward)
			put(1, 2*x.backward.Voltage(x.in.Input))
			put(2, 2*x.forward.Voltage(x.in.Output))
			put(3, 2*x.backward.Voltage(x.in.Output)-1)
		}
		if d == nil {
			continue
		}
		for socket := range ports {
			x.at[socket].Solve()
			drives := []*network.Solution{x.forward, x.backward}[:ports]
			for drive, solution := range drives {
				x.at[socket].Of(solution, x.grad)
				k := socket*ports + drive
				for c, dtheta := range x.dtheta {
					var sum complex128
					for j, t := range dtheta {
						sum += 2 * x.grad[j] * complex(t, 0)
					}
					row := (i*per + 2*k) * n
					d[row+c], d[row+n+c] = real(sum), imag(sum)
				}
			}
		}
	}
	return nil
}
