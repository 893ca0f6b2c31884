package schematic

import (
	"fmt"
	"strings"

	"knobwise/bench/box"
)

// roomForFactor is how far a winding keeps from the one that it faces, for the coupling factor between them.
func (l *sheet) roomForFactor(it *item) float64 {
	if it.winding == 0 {
		return 0
	}
	w := 0.0
	for _, k := range couplings(it.part) {
		if k.First == it.winding-1 || k.Second == it.winding-1 {
			w = max(w, textWidth(factorText(it.part, k.Factor), nodeSize))
		}
	}
	return max(0, w-gap)
}

// factorText is a coupling factor as written; that of a perfect transformer goes without saying.
func factorText(p *box.Part, factor float64) string {
	if p.Kind.Name == "transformer" && factor == 1 {
		return ""
	}
	return fmt.Sprintf("k %g", factor)
}

// facing says whether the last column so far is a winding that couples to this one and has its open side to the right.
func (l *sheet) facing(it *item) bool {
	if len(l.hung) == 0 {
		return false
	}
	last := l.hung[len(l.hung)-1]
	if !last.alone() {
		return false
	}
	s := last.windings[0]
	return !s.flipped && s.item.part == it.part && l.coupled(s.item, it)
}

func (l *sheet) couples(it *item, others []*edge) bool {
	for _, e := range others {
		if o := e.item; o != nil && o.part == it.part && o.winding > 0 && l.coupled(it, o) {
			return true
		}
	}
	return false
}

func (l *sheet) coupled(a, b *item) bool {
	lo, hi := min(a.winding, b.winding)-1, max(a.winding, b.winding)-1
	for _, k := range couplings(a.part) {
		if k.First == lo && k.Second == hi {
			return true
		}
	}
	return false
}

// marks shows which windings are coupled: lines between neighbours, brackets below the rail for others.
func (l *sheet) marks() {
	lanes := 0
	for _, p := range l.box.Parts {
		if !isWindings(p) {
			continue
		}
		spots := map[int]spot{}
		for _, s := range l.windings {
			if s.item.part == p {
				spots[s.item.winding-1] = s
			}
		}
		far := 0
		for _, k := range couplings(p) {
			a, okA := spots[k.First]
			b, okB := spots[k.Second]
			if !okA || !okB {
				continue
			}
			if a.at.X > b.at.X {
				a, b = b, a
			}
			mark := Coupling{Part: p.Name, First: k.First + 1, Second: k.Second + 1}
			text := factorText(p, k.Factor)
			if l.neighbours(a, b) {
				x := (a.at.X + b.at.X) / 2
				for _, dx := range []float64{-2.5, 2.5} {
					pen := new(pen)
					step, dash := 8.0, 5.0
					if p.Kind.Name == "transformer" { // an iron or ferrite core
						step, dash = 70, 70
					}
					for y := a.at.Y - 35; y < a.at.Y+34; y += step {
						pen.move(x+dx, y).line(x+dx, min(y+dash, a.at.Y+35))
					}
					mark.Paths = append(mark.Paths, Path{Stroke: thin, pen: *pen})
				}
				mark.Box = Rect{x - 4, a.at.Y - 36, 8, 72}
				mark.Text = newText(Point{x, a.at.Y + 50}, "middle", nodeSize, 0, text)
			} else {
				if far++; far > mostBrackets {
					continue
				}
				y := l.rail + 12 + 22*float64(lanes)
				lanes++
				mark.Paths = []Path{{Stroke: thin, pen: *new(pen).move(a.at.X, y).line(a.at.X, y+6).line(b.at.X, y+6).line(b.at.X, y)}}
				mark.Box = Rect{a.at.X, y, b.at.X - a.at.X, 7}
				mark.Text = newText(Point{(a.at.X + b.at.X) / 2, y + 17}, "middle", nodeSize, 0, strings.TrimSpace(pairText(p, k.First, k.Second)+" "+text))
				mark.Box.H = 7
			}
			mark.Text.Muted = true
			l.couplings = append(l.couplings, mark)
		}
	}
	l.deep = l.rail + 22*float64(lanes)
}

// mostBrackets is how many couplings of one part are drawn between windings that do not stand side by side.
const mostBrackets = 4

func pairText(p *box.Part, i, j int) string {
	return fmt.Sprintf("%s.%d – %s.%d", cut(p.Name, longestName), i+1, cut(p.Name, longestName), j+1)
}

// neighbours says whether two windings stand face to face with nothing between them.
func (l *sheet) neighbours(a, b spot) bool {
	if !a.upright || !b.upright || a.flipped || !b.flipped || a.at.Y != b.at.Y {
		return false
	}
	for i := 1; i < len(l.hung); i++ {
		x, y := l.hung[i-1], l.hung[i]
		if x.x == a.at.X && y.x == b.at.X && x.alone() && y.alone() {
			return y.x-x.x <= x.right+y.left+2*gap+4
		}
	}
	return false
}

// alone says whether a column is one winding.
func (c column) alone() bool { return len(c.windings) == 1 && len(c.shapes) == 1 }

// far writes down the couplings that are not drawn.
func (l *sheet) far() []block {
	drawn := map[string]bool{}
	for _, k := range l.couplings {
		drawn[fmt.Sprint(k.Part, "\x00", k.First, k.Second)] = true
	}
	var all []block
	for _, p := range l.box.Parts {
		if !isWindings(p) {
			continue
		}
		for _, k := range couplings(p) {
			if drawn[fmt.Sprint(p.Name, "\x00", k.First+1, k.Second+1)] {
				continue
			}
			t := newText(Point{0, 4}, "start", nodeSize, 0, fmt.Sprintf("%s: k %g", pairText(p, k.First, k.Second), k.Factor))
			t.Muted = true
			all = append(all, block{canvas: canvas{texts: []Text{t}}, w: t.Box.W, up: 12, down: 8})
		}
	}
	return all
}
