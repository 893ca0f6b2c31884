package schematic

import (
	"math"
	"slices"

	"knobwise/bench/form"
)

// winding is a tapped coil as humps along its axis: where its nodes are.
type winding struct {
	x     []float64 // of each node, in the order of the file
	humps []int     // of each section
}

const tapLead = 14.0

// wound shares the humps out among the sections by their turns; least is the length that a section needs for texts.
func wound(it *item, start float64, least func(section int) float64) winding {
	turns := make([]float64, len(it.nodes)-1)
	total := 0.0
	if list, ok := form.Get[[]any](it.part.Values, "turns"); ok {
		copy(turns, form.Items[float64](list))
	}
	for _, t := range turns {
		total += t
	}
	w := winding{x: []float64{start}}
	x := start
	for i, t := range turns {
		n := max(2, int(math.Round(9*t/total)))
		if len(turns) == 1 {
			n = 5
		}
		n = max(n, int(math.Ceil(least(i)/(2*humpRadius))))
		w.humps = append(w.humps, n)
		x += float64(n) * 2 * humpRadius
		w.x = append(w.x, x)
	}
	return w
}

// draw adds the humps to a symbol; sections outside from..to are pale.
func (w winding) draw(s *symbol, from, to int) {
	for i, n := range w.humps {
		p, _ := humps(w.x[i], n)
		s.paths = append(s.paths, Path{Stroke: normal, Pale: i < from || i >= to, pen: *p})
	}
}

// coilSign draws a tapped coil in line: from its first node in use to its last (or the other way round), the rest pale,
// the other taps as short leads.
func (d *drafter) coilSign(it *item, from string, upright bool) symbol {
	used := it.used
	if len(used) == 0 {
		used = []int{0, len(it.nodes) - 1}
	}
	first, last := used[0], used[len(used)-1]
	wide := 0.0
	// size is the width of what is written at a node.
	size := func(i int) float64 {
		if _, hangs := d.wells[it.nodes[i]]; hangs || it.nodes[i] == ground || !d.tagged(it, it.nodes[i]) || i == first || i == last {
			return 0
		}
		if upright {
			return 16
		}
		return textWidth(d.nodeText(it.nodes[i]), nodeSize)
	}
	for i := range it.nodes {
		if size(i) > 0 {
			wide = max(wide, textWidth(d.nodeText(it.nodes[i]), nodeSize))
		}
	}
	end := len(it.nodes) - 1
	start, tail := 6.0, 6.0
	if first > 0 {
		start = 12 + size(0)/2
	}
	if last < end {
		tail = 12 + size(end)/2
	}
	before, after := 0, 1 // sides of what hangs from a tap, seen along the winding
	if it.nodes[first] != from {
		before, after = 1, 0
	}
	w := wound(it, start, func(i int) float64 {
		return max(size(i)/2, d.wells[it.nodes[i]][after]) + max(size(i+1)/2, d.wells[it.nodes[i+1]][before]) + 6
	})
	s := symbol{length: w.x[end] + tail, up: humpRadius + 1, down: 2}
	w.draw(&s, first, last)
	depth := tapLead + 12
	if wide > 0 {
		depth = tapLead + 24
		if upright {
			depth = tapLead + wide + 14
		}
	}
	if first > 0 {
		s.draw(normal, new(pen).move(0, 0).line(0, depth).line(w.x[first], depth).line(w.x[first], 0))
		s.down = depth + 2
	} else {
		s.draw(normal, new(pen).move(0, 0).line(start, 0))
	}
	if last < end {
		s.draw(normal, new(pen).move(w.x[last], 0).line(w.x[last], depth).line(s.length, depth).line(s.length, 0))
		s.down = depth + 2
	} else {
		s.draw(normal, new(pen).move(w.x[end], 0).line(s.length, 0))
	}
	for i, n := range it.nodes {
		if i == first || i == last {
			continue
		}
		use := slices.Contains(it.used, i)
		s.paths = append(s.paths, Path{Stroke: thin, Pale: !use, pen: *new(pen).move(w.x[i], 0).line(w.x[i], tapLead)})
		s.free = append(s.free, Terminal{Node: n, At: Point{w.x[i], tapLead}, Free: !use && !it.pale && !d.tags[n]})
		s.down = max(s.down, tapLead+2)
		if size(i) > 0 {
			s.down = max(s.down, tapLead+16)
			if upright {
				s.down = max(s.down, tapLead+wide+6)
			}
		}
	}
	if it.nodes[first] != from {
		length := s.length
		s.mapped(func(p Point) Point { return Point{length - p.X, p.Y} })
	}
	return s
}

// standing draws a tapped coil upright between two neighbours of the line, its lower end at ground: the line goes in and
// out where its nodes are, taps that are elsewhere too are named.
func (d *drafter) standing(it *item, left, right string) block {
	end := len(it.nodes) - 1
	down := it.nodes[end] == ground // the file counts from the top
	wide := 0.0
	for i, n := range it.nodes {
		if slices.Contains(it.used, i) && n != left && n != right && n != ground || d.tags[n] {
			wide = max(wide, textWidth(d.nodeText(n), nodeSize))
		}
	}
	w := wound(it, 0, func(int) float64 { return 20 })
	length := w.x[end]
	first, last := it.used[0], it.used[len(it.used)-1]
	top := 20.0
	upper := 0
	if !down {
		upper = end
	}
	if n := it.nodes[upper]; n == left || n == right {
		top = 0
	}
	depth := func(i int) float64 {
		if down {
			return top + w.x[i]
		}
		return top + length - w.x[i]
	}
	axis := tapLead + wide + 18
	var s symbol
	w.draw(&s, first, last)
	s.length, s.up, s.down = length, humpRadius+1, 2
	turn := func(p Point) Point {
		if down {
			return Point{axis - p.Y, top + p.X}
		}
		return Point{axis - p.Y, top + length - p.X}
	}
	s.mapped(turn)
	sh := Shape{Part: it.part.Name, Kind: it.kind, Value: it.value, Box: Rect{axis - 2, top, humpRadius + 4, length}}
	lines, _ := d.titles(it)
	label := newText(Point{}, "start", labelSize, 0, lines...)
	b := block{w: axis + humpRadius + 10 + label.Box.W + 10 + shelf, up: 4, down: top + length + 8}
	var out float64
	for i, n := range it.nodes {
		y := depth(i)
		at := Point{axis, y}
		use := slices.Contains(it.used, i)
		switch {
		case n == ground:
			b.drops = append(b.drops, at)
		case use && n == left:
			b.wire(n, false, Point{}, Point{0, y}, at)
		case use && n == right:
			b.wire(n, false, at, Point{b.w - shelf, y}, Point{b.w - shelf, 0}, Point{b.w, 0})
			out = y
		default:
			at = Point{axis - tapLead, y}
			s.paths = append(s.paths, Path{Stroke: thin, Pale: !use, pen: *new(pen).move(axis, y).line(at.X, y)})
			sh.Box.X, sh.Box.W = at.X, axis+humpRadius+2-at.X
			if use || d.tags[n] {
				text := newText(at.moved(-3, 4), "end", nodeSize, 0, d.nodeText(n))
				text.Muted = true
				b.nodes = append(b.nodes, NodeLabel{Node: n, At: at, Text: text})
			}
		}
		sh.Terminals = append(sh.Terminals, Terminal{Node: n, At: at, Free: !use && !d.tags[n]})
	}
	sh.Paths = s.paths
	base := out + 18
	if out > (top+length)/2 {
		base = out - 24
	}
	sh.Label = label.moved(axis+humpRadius+10, base)
	sh.Label.Muted = true
	b.down = max(b.down, sh.Label.Box.Y+sh.Label.Box.H+4)
	b.shapes = append(b.shapes, sh)
	return b
}
