package identify

import (
	"context"
	"fmt"
	"math"
	"slices"
	"strings"

	"knobwise/physics/network"
)

// group is measurements whose circuits differ only in where the knobs stand: the same setup, positions of the switches and
// frequencies. A frequency is then factored once for all of them (network.Turned).
type group struct {
	models  []int
	turned  []network.ID // elements that the knobs turn, the same in each circuit
	workers []*turner    // one for each stretch of frequencies
	// of in each model: where its parameters stand in grad (other elements) or in which turned element.
	of []place
}

// place is where the derivative by a parameter comes from.
type place struct {
	grad   int // in grad; -1 for a parameter of a turned element
	turned int
	k      int // which of the element's parameters
}

// turner is one stretch of frequencies, with room to work in.
type turner struct {
	turned   *network.Turned
	from, to int
	b, a     []complex128
	grad, dy []complex128
	db, da   [1]complex128
	weights  []float64 // of the parameters of a model
}

// stretch is how many frequencies one factorisation's layout serves at least.
const stretch = 48

// leastGroup is how many measurements make sharing worth its while.
const leastGroup = 2

// groupUp finds the groups; every other model is asked by itself.
func (s *system) groupUp() {
	s.groups, s.grouped = nil, make([]bool, len(s.models))
	byKey := map[string][]int{}
	var order []string
	for i, m := range s.models {
		if m.kind == scattering {
			continue
		}
		key := m.groupKey()
		if byKey[key] == nil {
			order = append(order, key)
		}
		byKey[key] = append(byKey[key], i)
	}
	for _, key := range order {
		members := byKey[key]
		for _, part := range s.sameFrequencies(members) {
			if len(part) < leastGroup {
				continue
			}
			if g := s.newGroup(part); g != nil {
				s.groups = append(s.groups, g)
				for _, i := range part {
					s.grouped[i] = true
				}
			}
		}
	}
}

// groupKey names what a circuit has beside the knobs.
func (x *model) groupKey() string {
	var key strings.Builder
	fmt.Fprintf(&key, "%p", x.measured.Setup)
	for _, c := range x.hook.Box.Controls {
		if c.Switch != nil {
			fmt.Fprintf(&key, " %q", x.measured.Setting[c.Name].Word)
		}
	}
	return key.String()
}

// sameFrequencies parts some models by their frequencies.
func (s *system) sameFrequencies(members []int) [][]int {
	var parts [][]int
next:
	for _, i := range members {
		for k := range parts {
			if slices.Equal(s.models[parts[k][0]].f, s.models[i].f) {
				parts[k] = append(parts[k], i)
				continue next
			}
		}
		parts = append(parts, []int{i})
	}
	return parts
}

// newGroup lays out the evaluation, or returns nil where it cannot be shared: a knob that turns something of several branches.
func (s *system) newGroup(members []int) *group {
	first := s.models[members[0]]
	g := &group{models: members}
	for _, p := range first.hook.Placed {
		if first.hook.Box.Moves(p.Part) == nil {
			continue
		}
		for _, id := range p.Elements {
			if len(first.circuit().Element(id).Branches()) != 1 {
				return nil
			}
			g.turned = append(g.turned, id)
		}
	}
	var ids []network.ID
	var numbers []int
	for j, id := range first.ids {
		p := place{grad: -1, turned: slices.Index(g.turned, id), k: first.numbers[j]}
		if p.turned < 0 {
			p.grad = len(ids)
			ids, numbers = append(ids, id), append(numbers, first.numbers[j])
		}
		g.of = append(g.of, p)
	}
	// Always the same stretches, so that the numbers do not depend on how many work on them.
	n := len(first.f)
	stretches := max(1, n/stretch)
	for w := range stretches {
		turned, err := network.NewTurned(first.circuit(), first.in.Source, first.in.Output, g.turned, ids, numbers)
		if err != nil {
			return nil
		}
		k := len(g.turned)
		g.workers = append(g.workers, &turner{
			turned: turned, from: w * n / stretches, to: (w + 1) * n / stretches,
			b: make([]complex128, k), a: make([]complex128, k), grad: make([]complex128, len(ids)), dy: make([]complex128, k), weights: make([]float64, len(first.ids)),
		})
	}
	for _, i := range members {
		m := s.models[i]
		if !slices.Equal(m.ids, first.ids) || !slices.Equal(m.numbers, first.numbers) || m.locals() != first.locals() {
			return nil // another part follows, as where a dial is exact
		}
	}
	return g
}

// turns reports whether a knob turns a part.
func (x *model) turns(t touched) bool {
	return t.placed >= 0 && x.hook.Box.Moves(x.hook.Placed[t.placed].Part) != nil
}

func (x *model) circuit() *network.Circuit { return x.hook.Wired.Circuit }

// askGroup sets all models of the group to the parameters and leaves their answers in the scratch.
func (s *system) askGroup(ctx context.Context, g *group, p []float64, derivatives bool) error {
	first := s.models[g.models[0]]
	for n, i := range g.models {
		m := s.models[i]
		s.readingsOf(i, p, s.scratch[i].readings)
		if n == 0 {
			if err := m.set(s.vars, p, s.scratch[i].readings, derivatives); err != nil {
				return err
			}
			continue
		}
		// What no knob turns is the same in all of them.
		if err := m.setParts(s.vars, p, s.scratch[i].readings, derivatives, func(t touched) bool { return m.turns(t) }); err != nil {
			return err
		}
		if derivatives {
			for c := range m.vars {
				for j, q := range g.of {
					if q.grad >= 0 {
						m.dtheta[c][j] = first.dtheta[c][j]
					}
				}
			}
			m.dlnk = first.dlnk
		}
	}
	return parallel(s.workers, len(g.workers), func(w int) error { return s.share(ctx, g, g.workers[w], derivatives) })
}

// share is one stretch of frequencies.
func (s *system) share(ctx context.Context, g *group, t *turner, derivatives bool) error {
	first := s.models[g.models[0]]
	source, load := first.circuit().Element(first.in.Source), first.circuit().Element(first.in.Load)
	for n := t.from; n < t.to; n++ {
		if n%16 == 0 && ctx.Err() != nil {
			return ctx.Err()
		}
		f := first.f[n]
		at := network.AtHertz(f)
		if err := t.turned.At(f, nil, nil, derivatives); err != nil {
			return err
		}
		straight := 0.0
		if first.relative {
			v := network.StraightThrough(source, load, f)
			straight = 0.5 * math.Log(real(v)*real(v)+imag(v)*imag(v))
		}
		for _, i := range g.models {
			m, w := s.models[i], &s.scratch[i]
			for j, id := range g.turned {
				t.db[0], t.da[0] = 0, 0
				if err := m.circuit().Element(id).Equations(at, t.db[:], t.da[:]); err != nil {
					return err
				}
				t.b[j], t.a[j] = t.db[0], t.da[0]
			}
			grad, dy := t.grad, t.dy
			if !derivatives {
				grad, dy = nil, nil
			}
			v := t.turned.Setting(t.b, t.a, grad, dy)
			power := real(v)*real(v) + imag(v)*imag(v)
			if !(power > 0) {
				return errSilent
			}
			w.ln[n] = 0.5 * math.Log(power)
			if m.relative {
				w.ln[n] -= straight
			}
			if !derivatives {
				continue
			}
			// What every parameter does to the logarithm of the amplitude.
			for j, q := range g.of {
				var d complex128
				if q.grad >= 0 {
					d = t.grad[q.grad]
				} else {
					t.db[0], t.da[0] = 0, 0
					m.circuit().Element(g.turned[q.turned]).Derivative(at, q.k, t.db[:], t.da[:])
					d = t.dy[q.turned] * (t.a[q.turned]*t.db[0] - t.b[q.turned]*t.da[0])
				}
				t.weights[j] = (real(v)*real(d) + imag(v)*imag(d)) / power
			}
			locals := m.locals()
			row := w.d[n*locals : (n+1)*locals]
			for c, follow := range m.follow {
				var sum float64
				for _, j := range follow {
					sum += t.weights[j] * m.dtheta[c][j]
				}
				if m.dlnk != nil && m.dlnk[c] != nil {
					sum += m.dlnk[c][n]
				}
				row[c] = sum
			}
		}
	}
	return nil
}
