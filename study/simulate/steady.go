package simulate

import (
	"context"
	"math"

	"knobwise/physics/chirp"
)

// The endless sweep is asked at so many frequencies, and between two of them wherever the curve in the middle is off the line
// between its neighbours by more than a part of itself. A peak that lies between two nodes shows by its flanks: those of a resonance
// of bandwidth B stand off the line by some B/distance of themselves.
const (
	steadyNodes   = 4096
	steadyOff     = 2e-3
	steadyDepth   = 24    // halvings
	mostSteady    = 40000 // further frequencies
	steadyEndless = 1e-9  // of the sweep: rounding
)

// node is a point of the endless sweep.
type node struct{ time, level float64 }

// steady is the quasi-static envelope at the samples, taken on the line between the nodes.
func (r *Result) steady(ctx context.Context, h chirp.Transfer, law chirp.Law, amplitude float64) error {
	at := func(t float64) (node, error) {
		x, err := h(law.Frequency(t))
		return node{t, amplitude * math.Hypot(real(x), imag(x))}, err
	}
	last, err := at(0)
	if err != nil {
		return err
	}
	nodes := []node{last}
	further := 0
	var between func(a, b node, depth int) error
	between = func(a, b node, depth int) error {
		if depth == 0 || further >= mostSteady {
			return nil
		}
		m, err := at((a.time + b.time) / 2)
		if err != nil {
			return err
		}
		if math.Abs(m.level-(a.level+b.level)/2) <= steadyOff*max(m.level, (a.level+b.level)/2) {
			nodes = append(nodes, m)
			return nil
		}
		further++
		if err := between(a, m, depth-1); err != nil {
			return err
		}
		nodes = append(nodes, m)
		return between(m, b, depth-1)
	}
	for i := 1; i <= steadyNodes; i++ {
		if err := ctx.Err(); err != nil {
			return err
		}
		next, err := at(law.Time * float64(i) / steadyNodes)
		if err != nil {
			return err
		}
		if err := between(last, next, steadyDepth); err != nil {
			return err
		}
		nodes, last = append(nodes, next), next
	}
	for _, n := range nodes {
		r.SteadyHighest = max(r.SteadyHighest, n.level)
	}
	k := 0
	for i := range r.Steady {
		t := float64(i) * r.Interval
		if t > law.Time*(1+steadyEndless) {
			r.Steady[i] = math.NaN()
			continue
		}
		for k < len(nodes)-2 && nodes[k+1].time <= t {
			k++
		}
		a, b := nodes[k], nodes[k+1]
		r.Steady[i] = a.level + min(1, (t-a.time)/(b.time-a.time))*(b.level-a.level)
	}
	return nil
}
