package figure

import "image/color"

// point is a place on the page in CSS pixels, y downwards.
type point struct{ x, y float64 }

type op uint8

const (
	move op = iota
	line
	quad
	cubic
	closed
	circle // centre p[0], radius p[1].x; a subpath of its own
)

// last is the index of the point at which the segment ends. No curve follows a close or a circle without a move.
func (o op) last() int {
	switch o {
	case quad:
		return 1
	case cubic:
		return 2
	default:
		return 0
	}
}

type segment struct {
	op op
	p  [3]point
}

type path []segment

func (p *path) move(x, y float64) { *p = append(*p, segment{move, [3]point{{x, y}}}) }
func (p *path) line(x, y float64) { *p = append(*p, segment{line, [3]point{{x, y}}}) }
func (p *path) close()            { *p = append(*p, segment{op: closed}) }
func (p *path) circle(c point, r float64) {
	*p = append(*p, segment{circle, [3]point{c, {r, 0}}})
}

func (p *path) polyline(run []point) {
	for i, q := range run {
		if i == 0 {
			p.move(q.x, q.y)
		} else {
			p.line(q.x, q.y)
		}
	}
}

// rect is a box on the page; y0 is its upper side.
type rect struct{ x0, y0, x1, y1 float64 }

func (r rect) width() float64  { return r.x1 - r.x0 }
func (r rect) height() float64 { return r.y1 - r.y0 }

func (r rect) overlaps(s rect) bool {
	return r.x0 < s.x1 && s.x0 < r.x1 && r.y0 < s.y1 && s.y0 < r.y1
}

func (r rect) contains(s rect) bool {
	return s.x0 >= r.x0 && s.x1 <= r.x1 && s.y0 >= r.y0 && s.y1 <= r.y1
}

// grow returns the box with m more on every side.
func (r rect) grow(m float64) rect { return rect{r.x0 - m, r.y0 - m, r.x1 + m, r.y1 + m} }

func (r rect) outline() path {
	var p path
	p.move(r.x0, r.y0)
	p.line(r.x1, r.y0)
	p.line(r.x1, r.y1)
	p.line(r.x0, r.y1)
	p.close()
	return p
}

// pen strokes a path; a zero width strokes nothing.
type pen struct {
	colour color.RGBA
	width  float64
	dash   []float64
}

// item is one drawing call: a path that is filled, stroked, or both. Colours are opaque.
type item struct {
	class string
	text  string // what the outlines say, if they are text
	path  path
	fill  *color.RGBA
	pen   pen
}

// drawing is the whole figure, ready for any of the three formats. The writers below it decide nothing.
type drawing struct {
	width, height float64
	title, desc   string
	ground        color.RGBA
	items         []item
}

func (d *drawing) filled(class string, p path, c color.RGBA) {
	d.items = append(d.items, item{class: class, path: p, fill: &c})
}

func (d *drawing) stroked(class string, p path, with pen) {
	if len(p) > 0 {
		d.items = append(d.items, item{class: class, path: p, pen: with})
	}
}
