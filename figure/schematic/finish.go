package schematic

import (
	"cmp"
	"fmt"
	"math"
	"slices"

	"knobwise/bench/box"
	"knobwise/bench/fault"
)

// positioned refuses a setting without a position for every control. The values of a box that cannot be computed would
// hide it.
func positioned(b *box.Box, s box.Setting) error {
	for _, c := range b.Controls {
		r, ok := s[c.Name]
		if !ok {
			return fault.New(fault.Setting, "the setting has no position for "+c.Name, "give every control a position")
		}
		if err := b.Set(box.Setting{}, c.Name, r.String()); err != nil {
			return err
		}
	}
	return nil
}

// margin is left free round the drawing.
const margin = 20.0

// finished moves everything into the first quadrant, finds the joints and writes the paths.
func (l *sheet) finished() *Drawing {
	bounds := l.bounds()
	var c canvas
	c.add(l.canvas, margin-bounds.X, margin-bounds.Y)
	for i := range c.wires {
		for j, p := range c.wires[i].Points {
			c.wires[i].Points[j] = Point{rounded(p.X), rounded(p.Y)}
		}
	}
	for i := range c.shapes {
		for j, t := range c.shapes[i].Terminals {
			c.shapes[i].Terminals[j].At = Point{rounded(t.At.X), rounded(t.At.Y)}
		}
		finish(c.shapes[i].Paths)
	}
	for i := range c.nodes {
		c.nodes[i].At = Point{rounded(c.nodes[i].At.X), rounded(c.nodes[i].At.Y)}
	}
	for i, p := range c.grounds {
		c.grounds[i].Point = Point{rounded(p.X), rounded(p.Y)}
	}
	for i := range c.couplings {
		finish(c.couplings[i].Paths)
	}
	for i := range c.shapes {
		c.shapes[i].Label.Lines = list(c.shapes[i].Label.Lines)
	}
	for i := range c.couplings {
		c.couplings[i].Text.Lines = list(c.couplings[i].Text.Lines)
	}
	d := &Drawing{
		Title: clean(l.box.Name), Width: math.Ceil(bounds.W + 2*margin), Height: math.Ceil(bounds.H + 2*margin),
		Shapes: list(c.shapes), Wires: list(c.wires), Grounds: list(c.grounds), Texts: list(c.texts),
		Switches: list(c.switches), Dials: list(c.dials), Gangs: list(c.gangs), Couplings: list(c.couplings), Nodes: list(c.nodes),
	}
	d.Joints = list(joints(d))
	pale := 0
	for _, s := range d.Shapes {
		if s.Pale && s.Part != "" {
			pale++
		}
	}
	d.About = fmt.Sprintf("Circuit of %s between %s and %s, set to %s.", clean(l.box.Name), clean(l.labels.Source), clean(l.labels.Load), clean(l.box.Describe(l.setting)))
	if len(l.box.Controls) == 0 {
		d.About = fmt.Sprintf("Circuit of %s between %s and %s.", clean(l.box.Name), clean(l.labels.Source), clean(l.labels.Load))
	}
	if pale > 0 {
		d.About += fmt.Sprintf(" Symbols without current, shown pale: %d.", pale)
	}
	return d
}

// list is an empty list, not null, in JSON where there is nothing.
func list[T any](all []T) []T {
	if all == nil {
		return []T{}
	}
	return all
}

func rounded(v float64) float64 { return math.Round(v*100) / 100 }

func finish(paths []Path) {
	for i := range paths {
		paths[i].D = paths[i].pen.data()
	}
}

func (l *sheet) bounds() Rect {
	lo, hi := Point{0, 0}, Point{0, 0}
	grow := func(r Rect) {
		lo = Point{min(lo.X, r.X), min(lo.Y, r.Y)}
		hi = Point{max(hi.X, r.X+r.W), max(hi.Y, r.Y+r.H)}
	}
	for _, s := range l.shapes {
		grow(s.Box)
		grow(s.Label.Box)
	}
	for _, w := range l.wires {
		for _, p := range w.Points {
			grow(Rect{p.X, p.Y, 0, 0})
		}
	}
	for _, t := range l.texts {
		grow(t.Box)
	}
	for _, n := range l.canvas.nodes {
		grow(n.Text.Box)
	}
	for _, m := range l.dials {
		grow(m.Room)
	}
	for _, m := range l.switches {
		grow(m.Room)
	}
	for _, m := range l.gangs {
		grow(m.Room)
	}
	for _, k := range l.couplings {
		grow(k.Box)
		grow(k.Text.Box)
	}
	for _, p := range l.grounds {
		grow(Rect{p.X - 8, p.Y, 16, signH})
	}
	return Rect{lo.X, lo.Y, hi.X - lo.X, hi.Y - lo.Y}
}

// joints are the points where three or more leads of wires and terminals meet.
func joints(d *Drawing) []Point {
	leads := map[Point]int{}
	var candidates []Point
	count := func(p Point) {
		if leads[p] == 0 {
			candidates = append(candidates, p)
		}
		leads[p]++
	}
	for _, w := range d.Wires {
		for _, p := range []Point{w.Points[0], w.Points[len(w.Points)-1]} {
			count(p)
		}
	}
	for _, s := range d.Shapes {
		for _, t := range s.Terminals {
			count(t.At)
		}
	}
	for _, p := range candidates {
		for _, w := range d.Wires {
			for i := 1; i < len(w.Points); i++ {
				if inside(p, w.Points[i-1], w.Points[i]) {
					leads[p] += 2
				}
			}
			for i := 1; i+1 < len(w.Points); i++ {
				if w.Points[i] == p {
					leads[p] += 2
				}
			}
		}
	}
	var all []Point
	for _, p := range candidates {
		if leads[p] > 2 {
			all = append(all, p)
		}
	}
	slices.SortFunc(all, func(a, b Point) int { return cmp.Or(cmp.Compare(a.X, b.X), cmp.Compare(a.Y, b.Y)) })
	return all
}

// inside says whether a point lies within a level or upright stretch, not at its ends.
func inside(p, a, b Point) bool {
	if a.Y == b.Y {
		return p.Y == a.Y && min(a.X, b.X) < p.X && p.X < max(a.X, b.X)
	}
	return a.X == b.X && p.X == a.X && min(a.Y, b.Y) < p.Y && p.Y < max(a.Y, b.Y)
}
