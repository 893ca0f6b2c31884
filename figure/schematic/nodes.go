package schematic

import (
	"maps"
	"math"
	"slices"

	"knobwise/bench/box"
)

// findStubs lists the switches that make no contact now but would make one at a node of the line.
func (l *sheet) findStubs() {
	l.stubs = map[int][]*box.Control{}
	for _, c := range l.box.Controls {
		if c.Switch == nil {
			continue
		}
		closed := slices.ContainsFunc(slices.Concat(l.live, l.idle), func(it *item) bool { return it.control == c })
		if closed {
			continue
		}
		l.reserve[c] = true
		for i, n := range l.plan.nodes {
			touches := slices.ContainsFunc(c.Switch.Positions, func(p *box.Position) bool {
				return slices.ContainsFunc(p.Joins, func(g []string) bool { return slices.Contains(g, n) })
			})
			if touches {
				l.stubs[i] = append(l.stubs[i], c)
				break
			}
		}
	}
}

// assignIslands puts every island, and every winding with a free end, beside the node whose winding couples to it.
func (l *sheet) assignIslands() map[int][]*edge {
	all := map[int][]*edge{}
	islands := slices.Clone(l.islands)
	for _, it := range l.open {
		e := &edge{a: it.nodes[0], b: it.nodes[1], item: it}
		if e.a == ground {
			e = e.reversed()
		}
		islands = append(islands, e)
	}
	for _, island := range islands {
		at := 0
	search:
		for i := range l.plan.nodes {
			for _, e := range l.shunts[i] {
				for _, x := range e.items() {
					if x.winding > 0 && slices.ContainsFunc(island.items(), func(y *item) bool { return y.part == x.part }) {
						at = i
						break search
					}
				}
			}
		}
		all[at] = append(all[at], island)
	}
	return all
}

// node draws one node of the line with all that hangs from it.
func (l *sheet) node(i int, n string, islands []*edge) {
	first, last := i == 0, i == len(l.plan.nodes)-1
	start := l.x
	touch := math.Inf(1) // where the node's wire begins and ends
	end := math.Inf(-1)
	reach := func(x float64) { touch, end = min(touch, x), max(end, x) }
	if first {
		reach(20)
	} else if l.between[i-1] != nil || l.taps[i-1] != nil {
		reach(l.x)
	}
	name := func() {
		b := l.junction(n)
		b.wires = nil
		l.place(b)
		reach(l.x - b.w/2)
	}
	named := !l.tags[n]
	if !named && touch < math.Inf(1) {
		name()
		named = true
	}
	for _, br := range l.arriving(i) {
		need := l.attach[br.edge][0] + l.bridgeWidth(br) + 2*shelf
		l.x = max(l.x+shelf, need)
		reach(l.x)
		at := l.attach[br.edge]
		at[1] = l.x
		l.attach[br.edge] = at
		l.x += shelf
	}
	columns := l.columns(i, n, islands)
	for k, h := range columns {
		l.x += h.left
		if k > 0 || !first && touch == math.Inf(1) {
			l.x += gap
		}
		h.x = l.x
		l.x += h.right
		if !h.floats {
			reach(h.x)
		}
		l.hung = append(l.hung, h)
		if !named && !h.floats { // after a gap in the line the name comes after what begins it
			name()
			named = true
		}
	}
	if !named {
		name()
	}
	for _, br := range l.leaving(i) {
		l.x += shelf
		reach(l.x)
		l.attach[br.edge] = [2]float64{l.x, 0}
	}
	if touch == math.Inf(1) && last { // nothing leads here
		sh := Shape{Kind: "open end", Box: Rect{start, -4, 8, 8}, Terminals: []Terminal{{Node: n, At: Point{start + 7, 0}}}}
		sh.Paths = []Path{{Stroke: normal, pen: *new(pen).oval(start+4, 0, 3, 3)}}
		l.shapes = append(l.shapes, sh)
		l.x = max(l.x, start+7)
		reach(start + 7)
	}
	goesOn := last || l.between[i] != nil || l.taps[i] != nil
	if goesOn {
		l.x += shelf
		reach(l.x)
	} else {
		l.x += gap
	}
	l.wire(n, false, Point{touch, 0}, Point{end, 0})
}

func (l *sheet) arriving(i int) []bridge {
	var all []bridge
	for _, b := range l.bridges {
		if b.to == i {
			all = append(all, b)
		}
	}
	slices.SortStableFunc(all, func(a, b bridge) int { return b.from - a.from })
	return all
}

func (l *sheet) leaving(i int) []bridge {
	var all []bridge
	for _, b := range l.bridges {
		if b.from == i {
			all = append(all, b)
		}
	}
	slices.SortStableFunc(all, func(a, b bridge) int { return b.to - a.to })
	return all
}

// bridgeWidth measures a bridge without giving any room away.
func (l *sheet) bridgeWidth(b bridge) float64 {
	return l.probe().inLine(b.edge).w
}

// probe is a drafter whose doings leave no trace.
func (d *drafter) probe() *drafter {
	c := *d
	c.roomed = maps.Clone(d.roomed)
	return &c
}

// columns are the shunts of a node from left to right: windings beside the windings to which they couple.
func (l *sheet) columns(i int, n string, islands []*edge) []hung {
	var lefts, middle, rights []*edge
	for _, e := range l.shunts[i] {
		it := e.item
		switch {
		case it != nil && it.winding > 0 && len(lefts) == 0 && l.facing(it):
			lefts = append(lefts, e)
		case it != nil && it.winding > 0 && i+1 < len(l.plan.nodes) && l.couples(it, l.shunts[i+1]):
			rights = append(rights, e)
		case it != nil && it.winding > 0 && i > 0 && l.couples(it, l.shunts[i-1]):
			lefts = append(lefts, e)
		default:
			middle = append(middle, e)
		}
	}
	var all []hung
	put := func(e *edge, flipped bool) {
		h := hung{top: n, bottom: ground}
		if e.item != nil {
			h.column = l.itemHanging(e.item, n, flipped)
			if flipped {
				h.left += l.roomForFactor(e.item)
			}
			h.pale = e.item.pale
		} else {
			h.column = l.hanging(e)
		}
		if hangsOpen(e) {
			h.bottom = ""
		}
		all = append(all, h)
	}
	for _, e := range lefts {
		put(e, true)
	}
	for _, e := range middle {
		put(e, false)
	}
	for _, k := range l.stubs[i] {
		all = append(all, hung{column: l.stub(k, n), top: n, pale: true})
	}
	for _, e := range rights {
		put(e, false)
	}
	for _, e := range islands {
		h := hung{top: e.a, bottom: ground, floats: true}
		if e.item != nil {
			h.column = l.itemHanging(e.item, e.a, true)
			h.left += l.roomForFactor(e.item)
			h.pale = e.item.pale
		} else {
			h.column = l.hanging(e)
		}
		if l.tags[e.a] || h.pale {
			c := l.labelled(e.a, h.pale)
			c.below(h.column)
			c.axis = h.axis + c.h - h.h
			h.column = c
		}
		all = append(all, h)
	}
	return all
}

// labelled is the upper end of a column that does not reach the line, with its name.
func (d *drafter) labelled(node string, pale bool) column {
	t := newText(Point{0, 10}, "middle", nodeSize, 0, d.nodeText(node))
	t.Muted = true
	c := column{h: 20, left: t.Box.W/2 + 2, right: t.Box.W/2 + 2}
	c.nodes = append(c.nodes, NodeLabel{Node: node, At: Point{0, 16}, Text: t, Pale: pale})
	c.wire(node, pale, Point{0, 16}, Point{0, 20})
	return c
}

// stub is a contact that is open now: a short pale lead, and the switch below it.
func (l *sheet) stub(k *box.Control, n string) column {
	room, w, h := l.pills(k)
	l.roomed[k] = true
	c := column{left: w/2 + 2, right: w/2 + 2, h: 34 + h, axis: 34 + h/2}
	sh := Shape{Kind: "open contact", Control: k.Name, Pale: true, Box: Rect{-5, 2, 10, 20}, Terminals: []Terminal{{Node: n, At: Point{0, 0}}}}
	sh.Paths = []Path{
		{Stroke: normal, pen: *new(pen).move(0, 0).line(0, 14)},
		{Stroke: normal, pen: *new(pen).oval(0, 17, 3, 3)},
	}
	c.shapes = append(c.shapes, sh)
	c.add(*room, -w/2, 32)
	return c
}
