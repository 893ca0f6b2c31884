package figure

import "bytes"

// What other pictures need to look like the charts.

// Colours are a theme's colours in the form #rrggbb.
type Colours struct{ Paper, Panel, Ink, Muted, Hairline, Now, Straight string }

// Colours returns the colours of a theme; those of Light for one that does not exist.
func (t Theme) Colours() Colours {
	if t != Dark {
		t = Light
	}
	p := palettes[t]
	return Colours{hex(p.paper), hex(p.panel), hex(p.ink), hex(p.muted), hex(p.hairline), hex(p.now), hex(p.straight)}
}

// TextPath returns a line of text as SVG path data to be filled: outlines that look the same where no font is installed.
// x is the start, the middle or the end of the text as anchor says, y its base line, all in CSS pixels.
func TextPath(s string, x, y, size float64, bold bool, anchor string) string {
	f := face{bold: bold, size: size}
	switch anchor {
	case "middle":
		x -= centre * f.width(s)
	case "end":
		x -= right * f.width(s)
	}
	var b bytes.Buffer
	relativeData(&b, f.outline(s, x, y))
	return b.String()
}
