package schematic

import (
	"slices"
	"strconv"
	"strings"

	"knobwise/bench/box"
)

// Layout lays out the circuit of a box at a setting. Errors are *fault.Error of the kind Setting, for a setting that
// the box does not have. A value that is not known is no error here: it is shown as the file has it.
func Layout(b *box.Box, s box.Setting, labels Labels) (*Drawing, error) {
	whole, err := values(b, s)
	if err != nil {
		return nil, err
	}
	if err := positioned(b, s); err != nil {
		return nil, err
	}
	c := sorted(b, itemsOf(b, s, whole))
	p := c.plan()
	d := &drafter{
		box: b, setting: s, whole: whole, tags: map[string]bool{}, dialAt: map[*box.Control]*box.Part{},
		roomed: map[*box.Control]bool{}, reserve: map[*box.Control]bool{},
	}
	p.hangTaps(c.idle)
	d.prepare(c, p)
	l := &sheet{drafter: d, circuit: c, plan: p, labels: labels}
	l.draw()
	return l.finished(), nil
}

// prepare decides which nodes are named, where the dials of gangs stand, and which switches have no contact to stand at.
func (d *drafter) prepare(c *circuit, p *plan) {
	all := make([]string, 0, len(c.order))
	for n := range c.order {
		all = append(all, n)
	}
	slices.SortFunc(all, func(a, b string) int { return c.order[a] - c.order[b] })
	d.short = shorten(all)
	name := func(n string) {
		if n != ground {
			d.tags[n] = true
		}
	}
	for _, it := range slices.Concat(c.idle, p.lone) {
		for _, n := range it.nodes {
			if it.pale || slices.Contains(it.used, it.index(n)) {
				name(n)
			}
		}
	}
	for _, e := range p.rest {
		name(e.a)
		name(e.b)
	}
	for i, it := range p.taps {
		if it == nil {
			continue
		}
		for _, u := range it.used {
			if n := it.nodes[u]; n != p.nodes[i] && n != p.nodes[i+1] && p.under[n] == nil {
				name(n)
			}
		}
	}
	live := map[*box.Part]bool{}
	for _, it := range slices.Concat(c.live, c.coils) {
		live[it.part] = true
	}
	for _, k := range d.box.Controls {
		if k.Knob == nil {
			continue
		}
		d.dialAt[k] = k.Knob.Parts[0]
		if i := slices.IndexFunc(k.Knob.Parts, func(p *box.Part) bool { return live[p] }); i >= 0 {
			d.dialAt[k] = k.Knob.Parts[i]
		}
	}
}

// sheet puts the blocks of a plan together.
type sheet struct {
	*drafter
	*circuit
	*plan
	labels Labels
	canvas

	x       float64 // where the next thing goes
	profile []span  // what stands above the line
	deep    float64 // how far anything reaches below the line
	hung    []hung
	drops   []Point
	attach  map[*edge][2]float64 // where a bridge leaves the line and comes back
	rail    float64
	stubs   map[int][]*box.Control // open contacts at nodes of the line
}

type span struct{ from, to, up float64 }

// hung is a column at its place on the line; one that floats does not touch the line.
type hung struct {
	column
	x      float64
	top    string  // node above
	bottom string  // node below; empty where it does not reach the rail
	depth  float64 // where its upper end is wired to, below the line
	clear  float64 // how far it keeps from the line
	floats bool
	pale   bool
}

func (l *sheet) above(from, to, up float64) { l.profile = append(l.profile, span{from, to, up}) }

func (l *sheet) roof(from, to float64) float64 {
	up := 0.0
	for _, s := range l.profile {
		if s.to > from && s.from < to {
			up = max(up, s.up)
		}
	}
	return up
}

func (l *sheet) draw() {
	l.attach = map[*edge][2]float64{}
	l.findStubs()
	l.antenna()
	islands := l.assignIslands()
	for i, n := range l.plan.nodes {
		l.node(i, n, islands[i])
		if i == len(l.plan.nodes)-1 {
			break
		}
		switch between, coil := l.between[i], l.taps[i]; {
		case coil != nil:
			l.place(l.standingOrLying(coil, n, l.plan.nodes[i+1]))
		case between != nil:
			l.place(l.inLine(between))
		default:
			l.x += 2
		}
	}
	l.receiver()
	l.hang()
	l.arcs()
	l.marks()
	l.below()
}

func (l *sheet) place(b block) {
	l.above(l.x, l.x+b.w, b.up)
	l.deep = max(l.deep, b.down)
	l.add(b.canvas, l.x, 0)
	for _, p := range b.drops {
		l.drops = append(l.drops, p.moved(l.x, 0))
	}
	l.x += b.w
}

// standingOrLying is a tapped coil that the line passes.
func (l *sheet) standingOrLying(it *item, left, right string) block {
	if it.stands() {
		return l.standing(it, left, right)
	}
	l.wells = map[string][2]float64{}
	var wells []hung
	for _, u := range it.used {
		n := it.nodes[u]
		if e := l.under[n]; e != nil {
			h := hung{column: l.hanging(e), top: n, bottom: ground, depth: tapLead}
			if hangsOpen(e) {
				h.bottom = ""
			}
			l.wells[n] = [2]float64{h.left + shelf, h.right + shelf}
			wells = append(wells, h)
		}
	}
	b := l.itemInLine(it, left)
	l.wells = nil
	for _, h := range wells {
		h.clear = b.down + 4
		for _, t := range b.shapes[0].Terminals {
			if t.Node == h.top {
				h.x = l.x + t.At.X
				l.hung = append(l.hung, h)
			}
		}
	}
	return b
}

// antenna begins the line.
func (l *sheet) antenna() {
	text := newText(Point{}, "start", labelSize, 0, wrapped(l.labels.Source, 18)...)
	text.Muted = true
	x := 20.0
	sh := Shape{Kind: "antenna", Box: Rect{x - 16, -66, 32, 66}, Terminals: []Terminal{{Node: l.circuit.antenna, At: Point{x, 0}}}}
	sh.Paths = []Path{{Stroke: normal, pen: *new(pen).move(x, 0).line(x, -66).move(x-14, -66).line(x, -42).line(x+14, -66)}}
	sh.Label = text.moved(x-18, -66-text.Box.H-4+0.95*labelSize)
	l.shapes = append(l.shapes, sh)
	l.above(x-18, max(x+18, x-18+text.Box.W), 66+text.Box.H+8)
	l.x = max(x+24, x-18+text.Box.W+6)
}

// receiver ends the line.
func (l *sheet) receiver() {
	lines := wrapped(l.labels.Load, 16)
	label := newText(Point{}, "middle", titleSize, 0, lines...)
	w := max(96, label.Box.W+20)
	h := max(60, label.Box.H+24)
	x := l.x + 10
	n := l.circuit.receiver
	l.wire(n, false, Point{l.x, 0}, Point{x, 0})
	sh := Shape{Kind: "receiver", Box: Rect{x, -h / 2, w, h}, Terminals: []Terminal{{Node: n, At: Point{x, 0}}, {Node: ground, At: Point{x + w/2, h / 2}}}}
	sh.Paths = []Path{{Stroke: normal, pen: *new(pen).rect(x, -h/2, w, h)}}
	sh.Label = label.moved(x+w/2, 0.35*titleSize-0.5*leading*titleSize*float64(len(label.Lines)-1))
	l.shapes = append(l.shapes, sh)
	l.drops = append(l.drops, Point{x + w/2, h / 2})
	l.above(x, x+w, h/2+4)
	l.deep = max(l.deep, h/2+12)
	l.x = x + w
}

// wrapped breaks a name into at most two lines. A number stays with its unit.
func wrapped(s string, most int) []string {
	s = strings.Join(strings.Fields(clean(s)), " ")
	if len([]rune(s)) <= most {
		return []string{s}
	}
	var words []string
	number := false
	for w := range strings.FieldsSeq(s) {
		if number {
			words[len(words)-1] += " " + w
		} else {
			words = append(words, w)
		}
		_, err := strconv.ParseFloat(w, 64)
		number = err == nil
	}
	first := ""
	for i, w := range words {
		if i > 0 && len([]rune(first+" "+w)) > most {
			return []string{cut(first, most), cut(strings.Join(words[i:], " "), most)}
		}
		first = strings.TrimSpace(first + " " + w)
	}
	return []string{cut(s, most)}
}

// hang lets every column down to the rail and draws the rail.
func (l *sheet) hang() {
	tall := l.deep
	for _, h := range l.hung {
		tall = max(tall, h.h+h.clear)
	}
	l.rail = max(tall+2*shelf, 110)
	level := l.rail / 2
	for _, h := range l.hung {
		level = max(level, h.axis+max(h.clear, shelf))
	}
	for _, h := range l.hung {
		y := min(max(level-h.axis, shelf, h.clear), l.rail-shelf-h.h)
		if h.bottom == "" && h.pale {
			y = 0
		}
		l.add(h.canvas, h.x, y)
		if !h.floats {
			l.wire(h.top, h.pale, Point{h.x, h.depth}, Point{h.x, y})
		}
		if h.bottom != "" {
			l.wire(ground, h.pale, Point{h.x, y + h.h}, Point{h.x, l.rail})
		}
	}
	for _, p := range l.drops {
		l.wire(ground, false, p, Point{p.X, l.rail})
	}
	right := l.drops[len(l.drops)-1].X // the receiver's
	l.wire(ground, false, Point{20, l.rail}, Point{right, l.rail})
	l.grounds = append(l.grounds, Ground{Point{20, l.rail}, false})
}

// arcs draws the bridges above the line, the short ones first.
func (l *sheet) arcs() {
	bridges := slices.Clone(l.bridges)
	slices.SortStableFunc(bridges, func(a, b bridge) int { return (a.to - a.from) - (b.to - b.from) })
	for _, br := range bridges {
		at := l.attach[br.edge]
		b := l.inLine(br.edge)
		y := -(l.roof(at[0], at[1]) + 10 + b.down)
		x := (at[0]+at[1])/2 - b.w/2
		l.add(b.canvas, x, y)
		l.wire(br.edge.a, false, Point{at[0], 0}, Point{at[0], y}, Point{x, y})
		l.wire(br.edge.b, false, Point{x + b.w, y}, Point{at[1], y}, Point{at[1], 0})
		l.above(at[0]-1, at[1]+1, -y+b.up)
	}
}
