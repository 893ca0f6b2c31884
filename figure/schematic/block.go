package schematic

import "slices"

// canvas collects what is drawn, in its own coordinates.
type canvas struct {
	shapes    []Shape
	wires     []Wire
	grounds   []Ground
	texts     []Text
	switches  []SwitchMark
	dials     []DialMark
	gangs     []GangMark
	nodes     []NodeLabel
	windings  []spot
	couplings []Coupling
}

// spot is where a winding stands, for the marks of its couplings.
type spot struct {
	item    *item
	at      Point // middle of the symbol
	reach   float64
	upright bool
	flipped bool
}

func (c *canvas) wire(node string, pale bool, points ...Point) {
	var distinct []Point
	for _, p := range points {
		if len(distinct) == 0 || distinct[len(distinct)-1] != p {
			distinct = append(distinct, p)
		}
	}
	if len(distinct) > 1 {
		c.wires = append(c.wires, Wire{Node: node, Points: distinct, Pale: pale})
	}
}

// add places another canvas with its origin at (dx, dy).
func (c *canvas) add(o canvas, dx, dy float64) {
	at := Point{dx, dy}
	for _, s := range o.shapes {
		for i, p := range s.Paths {
			points := make([]Point, len(p.pen.points))
			for j, q := range p.pen.points {
				points[j] = q.moved(dx, dy)
			}
			s.Paths[i].pen.points = points
		}
		for i := range s.Terminals {
			s.Terminals[i].At = s.Terminals[i].At.moved(dx, dy)
		}
		s.Label, s.Box = s.Label.moved(dx, dy), s.Box.moved(dx, dy)
		c.shapes = append(c.shapes, s)
	}
	for _, w := range o.wires {
		for i := range w.Points {
			w.Points[i] = w.Points[i].moved(dx, dy)
		}
		c.wires = append(c.wires, w)
	}
	for _, p := range o.grounds {
		c.grounds = append(c.grounds, Ground{p.moved(dx, dy), p.Pale})
	}
	for _, t := range o.texts {
		c.texts = append(c.texts, t.moved(dx, dy))
	}
	for _, s := range o.switches {
		s.Room, s.Title = s.Room.moved(dx, dy), s.Title.moved(dx, dy)
		for i := range s.Pills {
			s.Pills[i].Room = s.Pills[i].Room.moved(dx, dy)
		}
		c.switches = append(c.switches, s)
	}
	for _, m := range o.dials {
		m.Center, m.Room, m.Title = m.Center.moved(dx, dy), m.Room.moved(dx, dy), m.Title.moved(dx, dy)
		c.dials = append(c.dials, m)
	}
	for _, m := range o.gangs {
		m.Center, m.Room, m.Text = m.Center.moved(dx, dy), m.Room.moved(dx, dy), m.Text.moved(dx, dy)
		c.gangs = append(c.gangs, m)
	}
	for _, n := range o.nodes {
		n.At, n.Text = n.At.moved(dx, dy), n.Text.moved(dx, dy)
		c.nodes = append(c.nodes, n)
	}
	for _, s := range o.windings {
		s.at = s.at.moved(at.X, at.Y)
		c.windings = append(c.windings, s)
	}
	for _, k := range o.couplings {
		for i, p := range k.Paths {
			for j := range p.pen.points {
				k.Paths[i].pen.points[j] = p.pen.points[j].moved(dx, dy)
			}
		}
		k.Text, k.Box = k.Text.moved(dx, dy), k.Box.moved(dx, dy)
		c.couplings = append(c.couplings, k)
	}
}

// block lies in a line from (0, 0) to (w, 0); nothing of it is outside these bounds.
type block struct {
	canvas
	w, up, down float64
	drops       []Point // ends of node `ground` that are to be wired down to the rail
}

// column hangs from (0, 0) to (0, h); axis is the height at which it likes to be level with its neighbours.
type column struct {
	canvas
	left, right, h, axis float64
}

// Distances in pixels.
const (
	gap      = 14.0 // between neighbours
	shelf    = 8.0  // round whatever merges
	dialR    = 28.0
	dialHalf = 36.0 // with the ticks
	pillH    = 24.0
	pillGap  = 4.0
	perChar  = 7.2
	mostRows = 5
)

// inLine draws an edge as a block, from its first node to its second.
func (d *drafter) inLine(e *edge) block {
	switch {
	case e.item != nil:
		return d.itemInLine(e.item, e.a)
	case e.parallel:
		return d.stacked(e)
	}
	var b block
	for i, k := range e.kids {
		if i > 0 {
			b.follow(d.junction(k.a), k.a)
		}
		b.follow(d.inLine(k), k.a)
	}
	return b
}

// follow puts another block to the right.
func (b *block) follow(o block, node string) {
	b.add(o.canvas, b.w, 0)
	for _, p := range o.drops {
		b.drops = append(b.drops, p.moved(b.w, 0))
	}
	b.w += o.w
	b.up, b.down = max(b.up, o.up), max(b.down, o.down)
}

// junction is the wire between two parts in a row, with the name of the node where it is needed.
func (d *drafter) junction(node string) block {
	b := block{w: gap}
	if d.tags[node] {
		t := newText(Point{0, -6}, "middle", nodeSize, 0, d.nodeText(node))
		b.w = t.Box.W + gap
		t = t.moved(b.w/2, 0)
		t.Muted = true
		b.nodes = append(b.nodes, NodeLabel{Node: node, At: Point{b.w / 2, 0}, Text: t})
		b.up = 20
	}
	b.wire(node, false, Point{}, Point{b.w, 0})
	return b
}

// stacked draws parallel edges above one another; the one that reaches lowest lies in the line.
func (d *drafter) stacked(e *edge) block {
	var kids []block
	lowest := 0
	wide := 0.0
	for i, k := range e.kids {
		kids = append(kids, d.inLine(k))
		if kids[i].down > kids[lowest].down {
			lowest = i
		}
		wide = max(wide, kids[i].w)
	}
	order := []int{lowest}
	for i := range kids {
		if i != lowest {
			order = append(order, i)
		}
	}
	b := block{w: wide + 2*shelf}
	y := 0.0
	for n, i := range order {
		k := kids[i]
		if n > 0 {
			y -= k.down + 8
		} else {
			b.down = k.down
		}
		x := (b.w - k.w) / 2
		b.add(k.canvas, x, y)
		for _, p := range k.drops {
			b.drops = append(b.drops, p.moved(x, y))
		}
		b.wire(e.a, false, Point{0, y}, Point{x, y})
		b.wire(e.a, false, Point{0, 0}, Point{0, y})
		if !hangsOpen(e.kids[i]) {
			b.wire(e.b, false, Point{x + k.w, y}, Point{b.w, y})
			b.wire(e.b, false, Point{b.w, 0}, Point{b.w, y})
		}
		b.up = -y + k.up
		y -= k.up
	}
	return b
}

// hanging draws an edge as a column, from its first node down to its second.
func (d *drafter) hanging(e *edge) column {
	switch {
	case e.item != nil:
		return d.itemHanging(e.item, e.a, false)
	case e.parallel:
		return d.sideBySide(e)
	}
	var c column
	for i, k := range e.kids {
		if i > 0 {
			c.below(d.drop(k.a))
		}
		c.below(d.hanging(k))
	}
	c.axis = c.h / 2
	return c
}

func (c *column) below(o column) {
	c.add(o.canvas, 0, c.h)
	c.h += o.h
	c.left, c.right = max(c.left, o.left), max(c.right, o.right)
}

// drop is junction for columns.
func (d *drafter) drop(node string) column {
	c := column{h: 8}
	if d.tags[node] {
		c.h = 20
		t := newText(Point{6, 14}, "start", nodeSize, 0, d.nodeText(node))
		t.Muted = true
		c.nodes = append(c.nodes, NodeLabel{Node: node, At: Point{0, 10}, Text: t})
		c.right = t.Box.W + 8
	}
	c.wire(node, false, Point{}, Point{0, c.h})
	return c
}

// sideBySide draws parallel edges as columns between two bars.
func (d *drafter) sideBySide(e *edge) column {
	var kids []column
	tall := 0.0
	for _, k := range e.kids {
		kids = append(kids, d.hanging(k))
	}
	above, under := 0.0, 0.0 // of the common axis
	for _, k := range kids {
		above, under = max(above, k.axis), max(under, k.h-k.axis)
	}
	tall = above + under
	c := column{h: tall + 2*shelf}
	x := 0.0
	var at, bottoms []float64
	for i, k := range kids {
		if i > 0 {
			x += k.left
		}
		at = append(at, x)
		x += k.right + gap
	}
	middle := (at[0] + at[len(at)-1]) / 2
	for i, k := range kids {
		x := at[i] - middle
		y := shelf + above - k.axis
		c.add(k.canvas, x, y)
		c.wire(e.a, false, Point{x, 0}, Point{x, y})
		if !hangsOpen(e.kids[i]) {
			bottoms = append(bottoms, at[i])
			c.wire(e.b, false, Point{x, y + k.h}, Point{x, c.h})
		}
		c.left, c.right = max(c.left, k.left-x), max(c.right, k.right+x)
	}
	c.bar(e.a, 0, at, middle)
	c.bar(e.b, c.h, bottoms, middle)
	c.axis = shelf + above
	return c
}

// bar joins the ends of columns to the lead in the middle, from end to end so that every meeting is one of wire ends.
func (c *column) bar(node string, y float64, at []float64, middle float64) {
	stops := []float64{0}
	for _, x := range at {
		stops = append(stops, x-middle)
	}
	slices.Sort(stops)
	for i := 1; i < len(stops); i++ {
		c.wire(node, false, Point{stops[i-1], y}, Point{stops[i], y})
	}
}
