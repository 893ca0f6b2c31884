package schematic

import (
	"fmt"
	"math"
	"slices"
	"strconv"

	"knobwise/bench/box"
)

// longestName is how many characters of a name or a value are shown.
const longestName = 22

// drafter turns items into blocks and keeps account of which rooms have been given.
type drafter struct {
	box     *box.Box
	setting box.Setting
	tags    map[string]bool   // nodes that stand in more than one place
	short   map[string]string // names of nodes as shown
	dialAt  map[*box.Control]*box.Part
	roomed  map[*box.Control]bool
	reserve map[*box.Control]bool // switches whose room stands elsewhere than at a closed contact
	whole   map[*box.Part]float64
	wells   map[string][2]float64 // reach to either side of what hangs from the taps of the coil that is being drawn
}

func (d *drafter) nodeText(node string) string { return d.short[node] }

// shorten finds short names for nodes that remain different from one another.
func shorten(nodes []string) map[string]string {
	short := map[string]string{}
	taken := map[string]string{}
	for _, n := range nodes {
		s := cut(n, longestName)
		if other, ok := taken[s]; ok && other != n {
			s = clean(n)
		}
		for i := 2; ; i++ {
			if other, ok := taken[s]; !ok || other == n {
				break
			}
			s = fmt.Sprintf("%s (%d)", clean(n), i)
		}
		taken[s] = n
		short[n] = s
	}
	return short
}

// titles are the lines beside an item.
func (d *drafter) titles(it *item) (lines []string, least float64) {
	switch {
	case it.kind == "contact":
		if d.givesRoom(it) {
			return nil, 0 // the switch itself carries the name
		}
		return []string{cut(it.control.Name, longestName)}, 0
	case it.part == nil:
		return nil, 0
	}
	name := cut(it.part.Name, longestName)
	if it.winding > 0 {
		name += "." + strconv.Itoa(it.winding)
	}
	if it.part.Kind.Variable {
		least = textWidth("888.8 pF", labelSize)
	}
	value := it.value
	if it.kind == "tapped coil" && len(it.used) > 0 && !it.pale {
		if v := inUse(it.part, it.used[0], it.used[len(it.used)-1], d.whole[it.part]); v != "" {
			value = v
		}
	}
	return []string{name, value}, least
}

func (d *drafter) givesRoom(it *item) bool {
	return it.kind == "contact" && !d.roomed[it.control] && !d.reserve[it.control]
}

// sign draws an item's symbol from the node on the left (or above).
func (d *drafter) sign(it *item, from string, upright bool) symbol {
	if it.kind == "tapped coil" {
		return d.coilSign(it, from, upright)
	}
	s := symbolOf(it.kind)
	first := it.nodes[0] == from
	if it.winding > 0 {
		s.dot(!first)
	}
	if !first && it.winding == 0 {
		length := s.length
		s.mapped(func(p Point) Point { return Point{length - p.X, p.Y} })
	}
	if it.part != nil && it.part.Kind.Variable {
		s.vary(it.kind, upright)
	}
	return s
}

func (it *item) other(from string) string {
	a, b := it.ends()
	if a == from {
		return b
	}
	return a
}

// shape makes a Shape of a symbol that f moves to its place.
func (d *drafter) shape(it *item, s symbol, from string, f func(Point) Point) Shape {
	lo, hi := f(Point{0, -s.up}), f(Point{s.length, s.down})
	s.mapped(f)
	sh := Shape{Kind: it.kind, Winding: it.winding, Value: it.value, Pale: it.pale, Paths: s.paths}
	if it.part != nil {
		sh.Part, sh.Kind = it.part.Name, it.part.Kind.Name
	}
	if it.control != nil {
		sh.Control = it.control.Name
	}
	sh.Box = Rect{min(lo.X, hi.X), min(lo.Y, hi.Y), math.Abs(hi.X - lo.X), math.Abs(hi.Y - lo.Y)}
	sh.Terminals = append(sh.Terminals, Terminal{Node: from, At: f(Point{0, 0})})
	if it.kind != "open end" {
		sh.Terminals = append(sh.Terminals, Terminal{Node: it.other(from), At: f(Point{s.length, 0})})
	}
	if s.ground != nil {
		sh.Terminals = append(sh.Terminals, Terminal{Node: ground, At: *s.ground})
	}
	sh.Terminals = append(sh.Terminals, s.free...)
	return sh
}

// itemInLine is one item as a block.
func (d *drafter) itemInLine(it *item, from string) block {
	s := d.sign(it, from, false)
	lines, least := d.titles(it)
	label := newText(Point{0, 0}, "middle", labelSize, least, lines...)
	b := block{w: max(s.length, label.Box.W) + gap, up: s.up + 4, down: s.down + 4}
	room, roomW, roomH := d.room(it)
	b.w = max(b.w, roomW+gap)
	x := (b.w - s.length) / 2
	to := it.other(from)
	b.wire(from, it.pale, Point{}, Point{x, 0})
	if it.kind != "open end" {
		b.wire(to, it.pale, Point{x + s.length, 0}, Point{b.w, 0})
	}
	sh := d.shape(it, s, from, func(p Point) Point { return p.moved(x, 0) })
	if len(label.Lines) > 0 {
		sh.Label = label.moved(b.w/2, -s.up-label.Box.H-5+0.95*labelSize)
		sh.Label.Muted = true
		b.up = s.up + label.Box.H + 8
	}
	b.inside(sh, s, Point{b.w / 2, 0})
	if s.ground != nil {
		g := s.ground.moved(x, 0)
		b.grounds = append(b.grounds, Ground{g, it.pale})
		b.down = g.Y + signH + 4
	}
	b.tapMarks(d, it, sh, s, false)
	b.drops = append(b.drops, dropsOf(sh, s)...)
	if it.winding > 0 {
		b.windings = append(b.windings, spot{item: it, at: Point{b.w / 2, 0}, reach: s.length / 2})
	}
	b.shapes = append(b.shapes, sh)
	if room != nil {
		y := b.down + 6
		b.add(*room, (b.w-roomW)/2, y)
		b.down = y + roomH
	}
	return b
}

const signH = 18.0 // of a ground sign

// inside writes the text in the middle of a symbol.
func (c *canvas) inside(sh Shape, s symbol, middle Point) {
	if s.inside != "" {
		c.texts = append(c.texts, newText(middle.moved(0, 4), "middle", labelSize, 0, s.inside))
	}
}

// dropsOf are the taps of a coil at ground, to be wired down.
func dropsOf(sh Shape, s symbol) []Point {
	var all []Point
	for _, t := range sh.Terminals {
		if t.Node == ground && !t.Free && slices.Contains(s.free, t) {
			all = append(all, t.At)
		}
	}
	return all
}

// tapMarks names the taps that are also elsewhere.
func (c *canvas) tapMarks(d *drafter, it *item, sh Shape, s symbol, upright bool) {
	for _, t := range sh.Terminals[len(sh.Terminals)-len(s.free):] {
		if t.Node == ground || !d.tagged(it, t.Node) {
			continue
		}
		text := newText(t.At.moved(0, 12), "middle", nodeSize, 0, d.nodeText(t.Node))
		if upright {
			text = newText(t.At.moved(-4, 4), "end", nodeSize, 0, d.nodeText(t.Node))
		}
		text.Muted = true
		c.nodes = append(c.nodes, NodeLabel{Node: t.Node, At: t.At, Text: text, Pale: it.pale})
	}
}

func (d *drafter) tagged(it *item, node string) bool { return it.pale || d.tags[node] }

// itemHanging is one item as a column. flipped has its label on the right and its humps on the left.
func (d *drafter) itemHanging(it *item, from string, flipped bool) column {
	s := d.sign(it, from, true)
	to := it.other(from)
	if it.kind == "open end" {
		c := column{left: 5, right: 5, h: s.length + 4, axis: s.length}
		sh := d.shape(it, s, from, func(p Point) Point { return Point{-p.Y, p.X} })
		c.shapes = append(c.shapes, sh)
		return c
	}
	lines, least := d.titles(it)
	room, roomW, roomH := d.room(it)
	half := max(s.length/2+6, roomH/2+4)
	above := half
	if it.part != nil && d.dialOf(it) != nil && d.dialAt[d.dialOf(it)] == it.part {
		above = max(s.length/2+6, roomH-dialHalf+4) // level with the dial's middle
		half = max(s.length/2+6, dialHalf+4)
	}
	c := column{h: above + half, axis: above}
	turn := func(p Point) Point { return Point{-p.Y, p.X + above - s.length/2} }
	left, right := s.down, s.up
	if flipped {
		turn = func(p Point) Point { return Point{p.Y, p.X + above - s.length/2} }
		left, right = s.up, s.down
	}
	sh := d.shape(it, s, from, turn)
	c.wire(from, it.pale, Point{}, Point{0, above - s.length/2})
	c.wire(to, it.pale, Point{0, above + s.length/2}, Point{0, c.h})
	if s.ground != nil {
		g := turn(*s.ground)
		at := g.moved(-14, 0)
		c.wire(ground, it.pale, g, at)
		c.grounds = append(c.grounds, Ground{at, it.pale})
		left = max(left, -at.X+10)
	}
	c.tapMarks(d, it, sh, s, true)
	label := newText(Point{}, "end", labelSize, least, lines...)
	base := above + 0.35*labelSize - 0.5*leading*labelSize*float64(len(label.Lines)-1)
	c.left, c.right = left+4, right+4
	switch {
	case len(label.Lines) == 0:
	case flipped:
		sh.Label = newText(Point{right + 7, base}, "start", labelSize, least, lines...)
		c.right = right + 7 + label.Box.W
	default:
		sh.Label = label.moved(-left-7, base)
		c.left = left + 7 + label.Box.W
	}
	sh.Label.Muted = true
	c.h = max(c.h, above+label.Box.H/2+4)
	c.inside(sh, s, Point{0, above})
	if it.winding > 0 {
		c.windings = append(c.windings, spot{it, Point{0, above}, right, true, flipped})
	}
	c.shapes = append(c.shapes, sh)
	if room != nil {
		y := above - roomH/2
		if half != above {
			y = above - (roomH - dialHalf)
		}
		c.add(*room, c.right+6, max(y, 0))
		c.right += 6 + roomW
	}
	return c
}

func (d *drafter) dialOf(it *item) *box.Control {
	if it.part == nil || !it.part.Kind.Variable {
		return nil
	}
	return d.box.Moves(it.part)
}

// room is what stands beside an item: a dial, the mark of a gang, a switch. Its upper left corner is (0, 0).
func (d *drafter) room(it *item) (room *canvas, w, h float64) {
	if c := d.dialOf(it); c != nil {
		if d.dialAt[c] == it.part {
			return d.dial(c, it)
		}
		text := newText(Point{18, 12}, "start", nodeSize, 0, cut(c.Name, longestName))
		text.Muted = true
		w = text.Box.X + text.Box.W
		return &canvas{gangs: []GangMark{{Control: c.Name, Part: it.part.Name, Center: Point{7, 8}, Room: Rect{0, 0, w, 16}, Text: text}}}, w, 16
	}
	if d.givesRoom(it) {
		d.roomed[it.control] = true
		return d.pills(it.control)
	}
	return nil, 0, 0
}

// reading prints where a knob stands.
func reading(v float64, k *box.Knob) string {
	digits := 2 - int(math.Floor(math.Log10(math.Abs(k.To-k.From))+1e-9))
	text := strconv.FormatFloat(v, 'f', max(0, min(digits, 6)), 64)
	if k.Percent {
		text += " %"
	}
	return text
}

func (d *drafter) dial(c *box.Control, it *item) (*canvas, float64, float64) {
	k := c.Knob
	v := d.setting[c.Name].Number
	title := newText(Point{0, titleSize}, "start", titleSize, 0, cut(c.Name, longestName))
	text := reading(v, k)
	wide := 0.0
	for _, x := range []float64{k.From, k.To, v} {
		wide = max(wide, textWidth(reading(x, k), 14))
	}
	w := max(2*dialHalf+4+wide, title.Box.W*1.1)
	h := 20 + 2*dialHalf
	title.Bold = true
	return &canvas{dials: []DialMark{{
		Title:   title,
		Control: c.Name, Part: it.part.Name, Center: Point{dialHalf, 20 + dialHalf}, Radius: dialR,
		Turn: (v - k.From) / (k.To - k.From), Reading: text, Room: Rect{0, 0, w, h}, Pale: it.pale,
	}}}, w, h
}

// pills is the room of a switch.
func (d *drafter) pills(c *box.Control) (*canvas, float64, float64) {
	m := SwitchMark{Control: c.Name, Position: d.setting[c.Name].Word}
	wide := 44.0
	for _, p := range c.Switch.Positions {
		text := cut(p.Name, longestName)
		wide = max(wide, perChar*float64(len([]rune(text)))+22)
		m.Pills = append(m.Pills, Pill{Position: p.Name, Text: text})
	}
	rows := min(len(m.Pills), mostRows)
	columns := (len(m.Pills) + rows - 1) / rows
	rows = (len(m.Pills) + columns - 1) / columns
	title := newText(Point{0, titleSize}, "middle", titleSize, 0, cut(c.Name, longestName))
	w := max(float64(columns)*(wide+pillGap)-pillGap, title.Box.W*1.1)
	h := 20 + float64(rows)*(pillH+pillGap) - pillGap
	m.Title = title.moved(w/2, 0)
	m.Title.Bold = true
	x0 := (w - float64(columns)*(wide+pillGap) + pillGap) / 2
	for i := range m.Pills {
		m.Pills[i].Room = Rect{x0 + float64(i/rows)*(wide+pillGap), 20 + float64(i%rows)*(pillH+pillGap), wide, pillH}
	}
	m.Room = Rect{0, 0, w, h}
	return &canvas{switches: []SwitchMark{m}}, w, h
}
