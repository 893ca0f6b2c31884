package schematic

import (
	"strings"
	"unicode"
)

// Sizes of text in pixels.
const (
	labelSize = 12.0
	nodeSize  = 11.0
	titleSize = 13.0
	leading   = 1.25 // of a line, in sizes
)

// advance is the width of a character in sizes, on the wide side for sans-serif faces, so that the room kept for a
// text holds it in whatever face it is drawn.
func advance(r rune) float64 {
	switch {
	case strings.ContainsRune(" .,:;'|!ijlI()[]·", r):
		return 0.34
	case strings.ContainsRune("ftr-/\"", r):
		return 0.42
	case strings.ContainsRune("mwMW@%", r):
		return 0.95
	case r < 0x80 && unicode.IsUpper(r), r == 'Ω':
		return 0.76
	case r < 0x250:
		return 0.6
	}
	return 1.05
}

func textWidth(s string, size float64) float64 {
	w := 0.0
	for _, r := range s {
		w += advance(r)
	}
	return w * size
}

// clean keeps control characters out of a text.
func clean(s string) string {
	return strings.Map(func(r rune) rune {
		if unicode.IsGraphic(r) {
			return r
		}
		return ' '
	}, s)
}

// cut shortens a text to so many characters, keeping its end, where names that are alike differ.
func cut(s string, most int) string {
	r := []rune(clean(s))
	if len(r) <= most {
		return string(r)
	}
	tail := most / 3
	return string(r[:most-tail-1]) + "…" + string(r[len(r)-tail:])
}

// newText makes a text whose first base line is at p. least is a width to keep for a text that may grow.
func newText(p Point, anchor string, size, least float64, lines ...string) Text {
	t := Text{At: p, Anchor: anchor, Size: size}
	w := least
	for _, l := range lines {
		if l != "" {
			t.Lines = append(t.Lines, l)
			w = max(w, textWidth(l, size))
		}
	}
	if len(t.Lines) == 0 {
		return t
	}
	t.Box = Rect{X: p.X, Y: p.Y - 0.95*size, W: w, H: size * (1.2 + leading*float64(len(t.Lines)-1))}
	switch anchor {
	case "middle":
		t.Box.X -= w / 2
	case "end":
		t.Box.X -= w
	}
	return t
}

func (t Text) moved(dx, dy float64) Text {
	t.At = t.At.moved(dx, dy)
	t.Box = t.Box.moved(dx, dy)
	return t
}

func (p Point) moved(dx, dy float64) Point { return Point{p.X + dx, p.Y + dy} }

func (r Rect) moved(dx, dy float64) Rect { r.X += dx; r.Y += dy; return r }
