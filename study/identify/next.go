package identify

import (
	"context"
	"fmt"
	"maps"
	"math"
	"slices"

	"gonum.org/v1/gonum/mat"

	"knobwise/bench/box"
	"knobwise/bench/fault"
	"knobwise/bench/measurement"
	"knobwise/bench/setup"
	"knobwise/bench/trace"
)

// Possible is a measurement that could be taken.
type Possible struct {
	Setup     *setup.Setup
	SetupName string // what to call it
	SetupFile string // where it stands; empty where no file has it
	Setting   box.Setting
	Reference bool // the same sweep straight through is taken too
	// Ports is 0 for levels at the load; 1 for the reflection at the antenna socket, with the setup's load at the other; 2 for all
	// S-parameters between the sockets. Impedance is what those refer to, in ohm.
	Ports     int
	Impedance float64
}

// Proposal is a measurement worth taking, with what it would bring.
type Proposal struct {
	Possible
	// Gain is how much it shrinks the wanted intervals together: the mean of the logarithms of before over after.
	Gain   float64
	After  []Expected // of every value, with this measurement and those proposed before it
	Peaked float64    // Hz, where the model has its highest level at this setting; NaN for S-parameters
}

// Expected is a value's interval as it would be: half of it as a part of the value.
type Expected struct {
	Name          string
	Before, After float64 // +Inf where nothing is known
	Wanted        bool
}

// pointsNext is how many frequencies of a sweep are asked.
const pointsNext = 61

// Next proposes measurements: of those that are possible the one that shrinks the wanted intervals most, then the one that does so
// beside it, and so on (D-optimal design one measurement at a time, from the Jacobians at the values that were found; V. V.
// Fedorov, Theory of Optimal Experiments, 1972; from memory). wanted are names of values; none wants those that are not
// determined, or else all. Errors are *fault.Error, and the context's own where it ends first.
func (r *Result) Next(ctx context.Context, possible []Possible, wanted []string, count int, progress func(float64)) ([]Proposal, error) {
	st := r.state
	s := st.system
	if r.Status == Unexplained {
		return nil, fault.New(fault.Unsolvable, "the circuit does not explain the traces, so nothing can be foreseen with it", "find the right circuit first, with `knobwise compare`")
	}
	want, err := r.wanted(wanted)
	if err != nil {
		return nil, err
	}
	now := st.information.ofValues(st.scale)
	at := r.plausible(ctx)
	brings := make([]*mat.SymDense, len(possible))
	peaks := make([]float64, len(possible))
	for i, p := range possible {
		if ctx.Err() != nil {
			return nil, ctx.Err()
		}
		m, peak, err := r.brings(ctx, p, at)
		if err != nil {
			if ctx.Err() != nil {
				return nil, ctx.Err()
			}
			continue // a setting at which nothing passes, or that leaves a measured file
		}
		brings[i], peaks[i] = m, peak
		progress(float64(i+1) / float64(len(possible)))
	}
	var out []Proposal
	before := spreads(now)
	for range count {
		best, most := -1, 0.0
		for i, m := range brings {
			if m == nil {
				continue
			}
			var sum mat.SymDense
			sum.AddSym(now, m)
			if g := shrinks(spreads(now), spreads(&sum), want); g > most*(1+1e-9) {
				best, most = i, g
			}
		}
		if best < 0 || most < 0.01 {
			break
		}
		var sum mat.SymDense
		sum.AddSym(now, brings[best])
		now = &sum
		p := Proposal{Possible: possible[best], Gain: most, Peaked: peaks[best]}
		after := spreads(now)
		for k, v := range s.vars {
			relative := 1.0
			if !v.log {
				relative = 1 / math.Abs(v.value(at[k]))
			}
			p.After = append(p.After, Expected{Name: v.name(), Before: 1.96 * before[k] * relative, After: 1.96 * after[k] * relative, Wanted: want[k]})
		}
		out = append(out, p)
		brings[best] = nil
	}
	return out, nil
}

func (r *Result) wanted(names []string) ([]bool, error) {
	s := r.state.system
	want := make([]bool, len(s.vars))
	var known []string
	any := false
	for k := range r.Values {
		known = append(known, r.Values[k].Name())
		want[k] = len(names) == 0 && !r.Values[k].Determined
		any = any || want[k]
	}
	for _, n := range names {
		k := slices.Index(known, n)
		if k < 0 {
			return nil, fault.New(fault.Request, "no unknown value is called "+n, fault.DidYouMean(n, known))
		}
		want[k], any = true, true
	}
	if !any {
		for k := range want {
			want[k] = true
		}
	}
	return want, nil
}

// ofValues is the information about the values, with dials and levels free, as a symmetric matrix.
func (x *information) ofValues(scale float64) *mat.SymDense {
	m := x.values
	out := mat.NewSymDense(m, nil)
	at := func(i, j int) float64 {
		return x.r.At(x.n-m+i, x.n-m+j) * x.scale[x.order[x.n-m+j]]
	}
	for i := range m {
		for j := i; j < m; j++ {
			sum := 0.0
			for k := range min(i, j) + 1 {
				sum += at(k, i) * at(k, j)
			}
			out.SetSym(i, j, sum/scale)
		}
	}
	return out
}

// vague is the standard deviation in its coordinate of a value of which nothing at all is known: a factor of a hundred.
const vague = 4.6

// spreads are the standard deviations of the values for an information, with what is known of any value before any measurement.
func spreads(m *mat.SymDense) []float64 {
	n := m.SymmetricDim()
	a := mat.NewSymDense(n, nil)
	a.CopySym(m)
	for i := range n {
		a.SetSym(i, i, a.At(i, i)+1/(vague*vague))
	}
	out := make([]float64, n)
	var chol mat.Cholesky
	var inverse mat.SymDense
	if !chol.Factorize(a) || chol.InverseTo(&inverse) != nil {
		// Too unlike in size for a factorisation: each by itself.
		for i := range n {
			out[i] = 1 / math.Sqrt(a.At(i, i))
		}
		return out
	}
	for i := range n {
		out[i] = math.Sqrt(max(inverse.At(i, i), 0))
	}
	return out
}

func shrinks(before, after []float64, want []bool) float64 {
	sum, n := 0.0, 0.0
	for k := range before {
		if want[k] {
			sum += math.Log(before[k] / after[k])
			n++
		}
	}
	return sum / max(n, 1)
}

// hypothetical is the model of a measurement that was not taken, at the values that were found.
func (r *Result) hypothetical(p Possible, points int) (*model, error) {
	s := r.state.system
	over := p.Setup.Sweep
	over.Points = points
	t := &trace.Trace{File: "next", Quantity: measurement.Amplitude, Relative: p.Reference, Frequency: over.Frequencies()}
	for range t.Frequency {
		t.Level = append(t.Level, 1)
	}
	if p.Ports > 0 {
		t.Quantity, t.Ports, t.References = measurement.Scattering, p.Ports, slices.Repeat([]float64{p.Impedance}, p.Ports)
		for range t.Frequency {
			t.S = append(t.S, make([]complex128, p.Ports*p.Ports))
		}
	}
	m := &measurement.Measurement{Name: "next", Setup: p.Setup, Setting: p.Setting, Quantity: t.Quantity}
	b := s.models[0].hook.Box
	sd := r.ReadingError
	if math.IsNaN(sd) {
		sd = 0
	}
	x, err := newModel(b, m, t, sd/uniform)
	if err != nil {
		return nil, err
	}
	return x, x.connect(b, s.vars)
}

// plausible is where to look ahead from: the minimum, but with a value on which the traces do not depend, and which may have ended
// anywhere, where the file guesses it.
func (r *Result) plausible(ctx context.Context) []float64 {
	st := r.state
	s := st.system
	at := slices.Clone(st.res.P)
	rows := make([]float64, s.total+s.priors())
	rise := r.times(-1) * r.times(-1) / 2 * st.scale
	for k, v := range s.vars {
		if r.Values[k].Determined {
			continue
		}
		was := at[k]
		at[k] = v.coordinate(v.guess)
		if s.evaluate(ctx, at, rows, nil) != nil || costOf(rows) > st.res.Cost+rise {
			at[k] = was
		}
	}
	return at
}

// brings is the information about the values that a measurement would add, at some values: its own dials, read as well as the others, and
// its level free.
func (r *Result) brings(ctx context.Context, p Possible, at []float64) (*mat.SymDense, float64, error) {
	st := r.state
	s := st.system
	x, err := r.hypothetical(p, pointsNext)
	if err != nil {
		return nil, 0, err
	}
	readings := make([]float64, len(x.knobs))
	for k := range readings {
		readings[k] = x.knobs[k].reading
	}
	if err := x.set(s.vars, at, readings, true); err != nil {
		return nil, 0, err
	}
	ln, d := make([]float64, len(x.data)), make([]float64, len(x.data)*x.locals())
	peak, weights := math.NaN(), make([]float64, len(x.data))
	if p.Ports > 0 {
		if err := x.scatteringAt(ctx, ln, d); err != nil {
			return nil, 0, err
		}
		noise := s.scatteringNoise()
		for i := range weights {
			weights[i] = 1 / noise
		}
	} else {
		if err := x.levelsAt(ctx, ln, d); err != nil {
			return nil, 0, err
		}
		part, floor := r.NoiseRule()
		top := slices.Max(ln)
		peak = x.f[slices.Index(ln, top)]
		for i := range weights {
			// Relative to the level: what noise does to the logarithm.
			weights[i] = 1 / math.Hypot(part, floor*math.Exp(top-ln[i]))
		}
	}
	nu, knobs := len(s.vars), len(x.knobs)
	n := knobs + 1 + nu // dials, level, values
	rows := len(x.data) + knobs
	jac := make([]float64, rows*n)
	for i, weight := range weights {
		row := jac[i*n : (i+1)*n]
		for c, k := range x.vars {
			row[k] = d[i*x.locals()+c] * weight
		}
		for k := range knobs {
			row[nu+k] = d[i*x.locals()+len(x.vars)+k] * weight
		}
		if !p.Reference && p.Ports == 0 {
			row[nu+knobs] = weight
		}
	}
	for k := range knobs {
		sd := x.knobs[k].sd
		if !(sd > 0) {
			sd = 1e-9
		}
		jac[(len(x.data)+k)*n+nu+k] = 1 / sd
	}
	info, err := newInformation(jac, rows, n, nu)
	if err != nil {
		return nil, 0, err
	}
	return info.ofValues(st.scale), peak, nil
}

// NoiseRule is the noise of the traces as found: the part that grows with the level, and the floor as part of the highest level.
func (r *Result) NoiseRule() (part, floor float64) {
	s := r.state.system
	var parts, floors []float64
	for i, m := range s.models {
		if m.kind == scattering {
			continue
		}
		if m.kind == decibel {
			parts = append(parts, s.sigma[i][0]/decibelsPerNeper)
			floors = append(floors, 0)
			continue
		}
		// σ² = floor² + part²·level²: from the highest and the lowest point.
		high, low := 0, 0
		for k, l := range m.levels {
			if l > m.levels[high] {
				high = k
			}
			if l < m.levels[low] {
				low = k
			}
		}
		a, b := m.levels[high], m.levels[low]
		p := (s.sigma[i][high]*s.sigma[i][high] - s.sigma[i][low]*s.sigma[i][low]) / max(a*a-b*b, 1e-300)
		p = max(p, 0)
		parts = append(parts, math.Sqrt(p))
		floors = append(floors, math.Sqrt(max(s.sigma[i][low]*s.sigma[i][low]-p*b*b, 0))/a)
	}
	if len(parts) == 0 {
		return 0.01, 1e-4
	}
	return max(median(parts), 1e-6), median(floors)
}

// scatteringNoise is the noise of S-parameters as found, or as an analyser that nothing is known of may have it.
func (s *system) scatteringNoise() float64 {
	var all []float64
	for i, m := range s.models {
		if m.kind == scattering {
			all = append(all, s.sigma[i]...)
		}
	}
	if len(all) == 0 {
		return 0.005 // common practice, no source
	}
	return median(all)
}

// WaysOf are the ways in which some traces were taken, to measure again: the setups of levels as they were used; S-parameters between both
// sockets; or reflections at the antenna socket, with the other as it was, open and shorted.
func WaysOf(all []*measurement.Measurement, traces []*trace.Trace) []Possible {
	out := scatteringOf(all, traces)
	if slices.ContainsFunc(all, func(m *measurement.Measurement) bool { return m.Quantity != measurement.Scattering }) {
		out = append(SetupsOf(all), out...)
	}
	return out
}

func scatteringOf(all []*measurement.Measurement, traces []*trace.Trace) []Possible {
	var out []Possible
	seen := map[string]bool{}
	for i, m := range all {
		t := traces[i]
		key := fmt.Sprint(m.SetupFile, t.Ports)
		if m.Quantity != measurement.Scattering || seen[key] {
			continue
		}
		seen[key] = true
		p := Possible{Setup: m.Setup, SetupFile: m.SetupFile, Ports: t.Ports, Impedance: t.References[0]}
		if t.Ports == 2 {
			p.SetupName, p.SetupFile = "S-parameters of both sockets", "" // with nothing connected
			out = append(out, p)
			continue
		}
		for _, with := range []*setup.Setup{m.Setup, m.Setup.Ended("open"), m.Setup.Ended("short")} {
			if with != m.Setup && with.DescribeLoad() == m.Setup.DescribeLoad() {
				continue
			}
			file := ""
			if with == m.Setup {
				file = m.SetupFile
			}
			out = append(out, p.On(with, "", file))
		}
	}
	return out
}

// On is the same way to measure with another setup, from a file or with no file; reflections are called after its load. S-parameters of
// both sockets have no setup: on one, levels are measured.
func (p Possible) On(with *setup.Setup, name, file string) Possible {
	p.Setup, p.SetupName, p.SetupFile = with, name, file
	switch p.Ports {
	case 1:
		p.SetupName = "reflection at the antenna socket, the receiver socket on " + with.DescribeLoad()
	case 2:
		p.Ports, p.Impedance = 0, 0
	}
	return p
}

// SetupsOf are the setups of some measurements of levels as they were used, to measure levels with again.
func SetupsOf(all []*measurement.Measurement) []Possible {
	var out []Possible
	seen := map[string]bool{}
	for _, m := range all {
		key := fmt.Sprint(m.SetupFile, m.Reference != "")
		if m.Quantity == measurement.Scattering || seen[key] {
			continue
		}
		seen[key] = true
		out = append(out, Possible{Setup: m.Setup, SetupName: m.Setup.Name, SetupFile: m.SetupFile, Reference: m.Reference != ""})
	}
	if len(out) == 0 && len(all) > 0 {
		out = append(out, Possible{Setup: all[0].Setup, SetupName: all[0].Setup.Name, SetupFile: all[0].SetupFile})
	}
	return out
}

// Possibilities lists what can be measured: every setup at every combination of the switches that lets anything through, with the knobs
// at the stops, the middle and between. At most limit are listed, evenly taken.
func Possibilities(b *box.Box, setups []Possible, limit int) []Possible {
	settings := []box.Setting{b.Start()}
	multiply := func(c *box.Control, positions []box.Reading) {
		var all []box.Setting
		for _, s := range settings {
			for _, p := range positions {
				one := maps.Clone(s)
				one[c.Name] = p
				all = append(all, one)
			}
		}
		settings = all
	}
	knobs := 0
	for _, c := range b.Controls {
		if c.Knob != nil {
			knobs++
		}
	}
	stops := []float64{0, 0.25, 0.5, 0.75, 1}
	if knobs > 2 {
		stops = []float64{0, 0.5, 1}
	}
	for _, c := range b.Controls {
		var positions []box.Reading
		if c.Switch != nil {
			for _, p := range c.Switch.Positions {
				positions = append(positions, box.Reading{Word: p.Name})
			}
		} else {
			for _, x := range stops {
				positions = append(positions, box.Reading{Number: c.Knob.From + x*(c.Knob.To-c.Knob.From)})
			}
		}
		if len(settings)*len(positions) > 100_000 {
			continue // it stays where the box starts
		}
		multiply(c, positions)
	}
	var all []Possible
	step := max(1, (len(settings)*len(setups)+limit-1)/limit)
	for i := 0; i < len(settings)*len(setups); i += step {
		p := setups[i%len(setups)]
		p.Setting = settings[i/len(setups)]
		all = append(all, p)
	}
	return all
}

// Describe names a possible measurement.
func (p *Possible) Describe(b *box.Box) string {
	text := fmt.Sprintf("%s; %s", b.Describe(p.Setting), p.SetupName)
	if p.Reference {
		text += ", and straight through"
	}
	return text
}

// Predict is what the circuit with the values that were found does in a measurement: logarithms of amplitudes, in nepers, along
// frequencies of the setup's sweep.
func (r *Result) Predict(ctx context.Context, p Possible, points int) (f, ln []float64, err error) {
	st := r.state
	x, err := r.hypothetical(p, points)
	if err != nil {
		return nil, nil, err
	}
	readings := make([]float64, len(x.knobs))
	for k := range readings {
		readings[k] = x.knobs[k].reading
	}
	if err := x.set(st.system.vars, st.res.P, readings, false); err != nil {
		return nil, nil, err
	}
	ln = make([]float64, len(x.f))
	return x.f, ln, x.levelsAt(ctx, ln, nil)
}
