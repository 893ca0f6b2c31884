package schematic

import (
	"slices"
)

// hangsOpen says whether an edge to ground ends at open ends of lines only, so that nothing leads on to ground.
func hangsOpen(e *edge) bool {
	if e.item != nil {
		return e.item.kind == "open end"
	}
	if e.parallel {
		return !slices.ContainsFunc(e.kids, func(k *edge) bool { return !hangsOpen(k) })
	}
	return hangsOpen(e.kids[len(e.kids)-1])
}

// below lists what is not in the line: what fits no pattern, then, pale, what carries no current.
func (l *sheet) below() {
	var blocks []block
	var pales []block
	for _, it := range l.lone {
		blocks = append(blocks, l.loose(&edge{a: it.nodes[it.used[0]], b: it.nodes[it.used[len(it.used)-1]], item: it}))
	}
	for _, e := range l.rest {
		if e.a == ground {
			e = e.reversed()
		}
		blocks = append(blocks, l.loose(e))
	}
	for _, it := range l.idle {
		a, b := it.ends()
		if a == ground && it.kind != "tapped coil" {
			a, b = b, a
		}
		pales = append(pales, l.loose(&edge{a: a, b: b, item: it}))
	}
	for _, k := range l.box.Controls {
		if k.Switch != nil && !l.roomed[k] {
			l.roomed[k] = true
			room, w, h := l.pills(k)
			pales = append(pales, block{canvas: *room, w: w, down: h})
		}
	}
	blocks = append(blocks, l.far()...)
	y := l.deep + 30
	width := max(l.x, 900)
	for _, row := range [][]block{blocks, pales} {
		for len(row) > 0 {
			n, w := 0, 0.0
			up, down := 0.0, 0.0
			for n < len(row) && (n == 0 || w+row[n].w <= width) {
				w += row[n].w + 2*gap
				up, down = max(up, row[n].up), max(down, row[n].down)
				n++
			}
			x := 4.0
			for _, b := range row[:n] {
				l.add(b.canvas, x, y+up)
				x += b.w + 2*gap
			}
			y += up + down + 14
			row = row[n:]
		}
	}
}

// loose is an edge by itself, with the names of its nodes at its ends, or a ground sign.
func (l *sheet) loose(e *edge) block {
	pale := e.item != nil && e.item.pale
	var b block
	inner := l.inLine(e)
	end := func(node string, anchor string) {
		if node == ground {
			w := 22.0
			at := Point{w / 2, 0}
			p := block{w: w, down: signH + 4}
			p.grounds = append(p.grounds, Ground{at, pale})
			if anchor == "end" {
				p.wire(ground, pale, at, Point{w, 0})
			} else {
				p.wire(ground, pale, Point{}, at)
			}
			b.follow(p, ground)
			return
		}
		t := newText(Point{0, 4}, "start", nodeSize, 0, l.nodeText(node))
		t.Muted = true
		p := block{w: t.Box.W + 12, up: 10, down: 6}
		at := Point{t.Box.W + 4, 0}
		if anchor == "start" {
			at = Point{8, 0}
			t = t.moved(12, 0)
			p.wire(node, pale, Point{}, at)
		} else {
			p.wire(node, pale, at, Point{p.w, 0})
		}
		p.nodes = append(p.nodes, NodeLabel{Node: node, At: at, Text: t, Pale: pale})
		b.follow(p, node)
	}
	end(e.a, "end")
	b.follow(inner, e.a)
	if hangsOpen(e) {
		return b
	}
	end(e.b, "start")
	for _, p := range b.drops {
		at := Point{p.X, inner.down}
		b.wire(ground, pale, p, at)
		b.grounds = append(b.grounds, Ground{at, pale})
		b.down = max(b.down, at.Y+signH+4)
	}
	return b
}
