package figure

import (
	"image/color"
	"strings"
	"sync"
	"unicode"
	"unicode/utf8"

	"codeberg.org/go-fonts/liberation/liberationsansbold"
	"codeberg.org/go-fonts/liberation/liberationsansregular"
	"golang.org/x/image/font"
	"golang.org/x/image/font/sfnt"
	"golang.org/x/image/math/fixed"
)

// Fonts are parsed when the first text is measured, not when the process starts: commands that draw nothing pay nothing.
var (
	regularFont = sync.OnceValue(func() *sfnt.Font { return parseFont(liberationsansregular.TTF) })
	boldFont    = sync.OnceValue(func() *sfnt.Font { return parseFont(liberationsansbold.TTF) })
)

// parseFont panics on a bad font: the two are compiled in, so that only a broken build can have one.
func parseFont(data []byte) *sfnt.Font {
	f, err := sfnt.Parse(data)
	if err != nil {
		panic("figure: built-in font: " + err.Error())
	}
	return f
}

// face is a font at a size in CSS pixels.
type face struct {
	bold bool
	size float64
}

// small is a raised or lowered figure, drawn from the ordinary one: the fonts have only some of their own.
type small struct {
	base  rune
	raise float64 // of the baseline, in font sizes
}

const (
	smallScale = 0.64
	raised     = 0.36
	lowered    = -0.14
)

var smalls = map[rune]small{
	'⁰': {'0', raised}, '¹': {'1', raised}, '²': {'2', raised}, '³': {'3', raised}, '⁴': {'4', raised}, '⁵': {'5', raised},
	'⁶': {'6', raised}, '⁷': {'7', raised}, '⁸': {'8', raised}, '⁹': {'9', raised}, '⁻': {'−', raised}, '⁺': {'+', raised},
	'₀': {'0', lowered}, '₁': {'1', lowered}, '₂': {'2', lowered}, '₃': {'3', lowered}, '₄': {'4', lowered},
	'₅': {'5', lowered}, '₆': {'6', lowered}, '₇': {'7', lowered}, '₈': {'8', lowered}, '₉': {'9', lowered},
}

// standIns replace characters that the fonts lack by ones that mean the same.
var standIns = map[rune]rune{
	'∥':            '‖', // parallel to
	'\u2011':       '-', // no-break hyphen
	'\u03bc':       'µ', // Greek mu for micro
	utf8.RuneError: '?',
}

// glyphs calls do with the outline and the pen position of each glyph of s, and returns the advance of the whole text.
// Positions and scale are in CSS pixels; outlines are in font units, y downwards.
func (f face) glyphs(s string, do func(g sfnt.Segments, x, raise, scale float64)) float64 {
	fnt := regularFont()
	if f.bold {
		fnt = boldFont()
	}
	var (
		buf    sfnt.Buffer
		units  = fixed.Int26_6(fnt.UnitsPerEm())
		x      = 0.0
		prev   sfnt.GlyphIndex
		before = 0.0 // baseline of the glyph before
	)
	for i, r := range s {
		little, isLittle := smalls[r]
		if isLittle {
			r = little.base
		} else if alike, ok := standIns[r]; ok {
			r = alike
		}
		if unicode.IsControl(r) {
			r = ' '
		}
		scale, raise := f.size/float64(units), little.raise*f.size
		if isLittle {
			scale *= smallScale
		}
		// A character that the font lacks has index 0, whose outline is an open box. Errors of the calls below mean a
		// damaged font or a missing kerning table; the glyph is then drawn without what could not be read.
		g, _ := fnt.GlyphIndex(&buf, r)
		if i > 0 && raise == before {
			if k, err := fnt.Kern(&buf, prev, g, units, font.HintingNone); err == nil {
				x += float64(k) * scale
			}
		}
		if do != nil {
			if outline, err := fnt.LoadGlyph(&buf, g, units, nil); err == nil {
				do(outline, x, raise, scale)
			}
		}
		if a, err := fnt.GlyphAdvance(&buf, g, units, font.HintingNone); err == nil {
			x += float64(a) * scale
		}
		prev, before = g, raise
	}
	return x
}

// width returns the advance of s in CSS pixels.
func (f face) width(s string) float64 { return f.glyphs(s, nil) }

// outline returns s as closed contours to be filled (non-zero rule), starting at x on the baseline y.
func (f face) outline(s string, x, y float64) path {
	var p path
	f.glyphs(s, func(g sfnt.Segments, gx, raise, scale float64) {
		at := func(q fixed.Point26_6) point {
			return point{x + gx + float64(q.X)*scale, y - raise + float64(q.Y)*scale}
		}
		for i, seg := range g {
			switch seg.Op {
			case sfnt.SegmentOpMoveTo:
				if i > 0 {
					p.close()
				}
				p = append(p, segment{move, [3]point{at(seg.Args[0])}})
			case sfnt.SegmentOpLineTo:
				p = append(p, segment{line, [3]point{at(seg.Args[0])}})
			case sfnt.SegmentOpQuadTo:
				p = append(p, segment{quad, [3]point{at(seg.Args[0]), at(seg.Args[1])}})
			case sfnt.SegmentOpCubeTo:
				p = append(p, segment{cubic, [3]point{at(seg.Args[0]), at(seg.Args[1]), at(seg.Args[2])}})
			}
		}
		if len(g) > 0 {
			p.close()
		}
	})
	return p
}

// Horizontal alignment of a text to its anchor.
const (
	left   = 0.0
	centre = 0.5
	right  = 1.0
)

// write draws s with its anchor (left, centre or right of the text) at x on the baseline y.
func (d *drawing) write(class, s string, f face, colour color.RGBA, x, y, align float64) {
	if align != left {
		x -= align * f.width(s)
	}
	if p := f.outline(s, x, y); len(p) > 0 {
		d.items = append(d.items, item{class: class, text: s, path: p, fill: &colour})
	}
}

const ellipsis = "…"

// wrap breaks s into at most most lines no wider than limit; what does not fit ends in an ellipsis. Words wider than a
// line are cut. The work grows with the text that fits, not with the text that is given.
func (f face) wrap(s string, limit float64, most int) []string {
	if most < 1 {
		return nil
	}
	// No glyph that can be read is narrower than a tenth of its size, so more text than this cannot fit.
	if fits := (int(10*limit/f.size) + 1) * most; len(s) > 4*fits {
		s = strings.ToValidUTF8(s[:4*fits], "")
	}
	var lines []string
	current := ""
	words := strings.Fields(s)
	for i, w := range words {
		joined := w
		if current != "" {
			joined = current + " " + w
		}
		if f.width(joined) <= limit {
			current = joined
			continue
		}
		if len(lines) == most-1 || f.width(w) > limit {
			return append(lines, f.cut(strings.TrimSpace(current+" "+strings.Join(words[i:], " ")), limit))
		}
		lines = append(lines, current)
		current = w
	}
	if current != "" {
		lines = append(lines, current)
	}
	return lines
}

// cut returns s, or as much of its beginning as fits into limit followed by an ellipsis.
func (f face) cut(s string, limit float64) string {
	if f.width(s) <= limit {
		return s
	}
	runes := []rune(s)
	lo, hi := 0, len(runes) // the first lo runes fit, the first hi do not
	for hi-lo > 1 {
		mid := (lo + hi) / 2
		if f.width(string(runes[:mid])+ellipsis) <= limit {
			lo = mid
		} else {
			hi = mid
		}
	}
	return strings.TrimRight(string(runes[:lo]), " ") + ellipsis
}
