package schematic

import (
	"bytes"
	"encoding/xml"
	"fmt"
	"io"
	"math"

	"knobwise/figure"
)

// colours of a drawing: those of the charts, and two of its own.
type colours struct {
	figure.Colours
	pale  string // lines that no current takes
	onNow string // text on what is filled with Now
}

func coloursOf(theme figure.Theme) colours {
	c := colours{theme.Colours(), "#c3c6c4", "#ffffff"}
	if theme == figure.Dark {
		c.pale, c.onNow = "#4b555e", c.Paper
	}
	return c
}

// SVG writes the drawing as a self-contained image. It fails with the error of w only.
func (d *Drawing) SVG(w io.Writer, theme figure.Theme) error {
	r := &rendering{c: coloursOf(theme)}
	r.draw(d)
	_, err := w.Write(r.Bytes())
	return err
}

type rendering struct {
	bytes.Buffer
	c colours
}

// outline draws a line of text as outlines.
func (r *rendering) outline(s string, x, y, size float64, bold bool, anchor, colour string) {
	if d := figure.TextPath(s, x, y, size, bold, anchor); d != "" {
		fmt.Fprintf(r, `<path data-text="%s" d="%s" fill="%s"/>`+"\n", escaped(s), d, colour)
	}
}

func escaped(s string) string {
	var b bytes.Buffer
	_ = xml.EscapeText(&b, []byte(s)) // a bytes.Buffer takes everything
	return b.String()
}

func (r *rendering) draw(d *Drawing) {
	w, h := number(d.Width), number(d.Height)
	fmt.Fprintf(r, `<svg xmlns="http://www.w3.org/2000/svg" width="%s" height="%s" viewBox="0 0 %s %s" role="img">`+"\n", w, h, w, h)
	fmt.Fprintf(r, "<title>%s</title>\n<desc>%s</desc>\n", escaped(d.Title), escaped(d.About))
	fmt.Fprintf(r, `<rect width="%s" height="%s" fill="%s"/>`+"\n", w, h, r.c.Paper)
	for _, pale := range []bool{true, false} { // what is in use lies on top
		for _, x := range d.Wires {
			if x.Pale == pale {
				p := new(pen).move(x.Points[0].X, x.Points[0].Y)
				for _, q := range x.Points[1:] {
					p.line(q.X, q.Y)
				}
				r.path(Path{D: p.data(), Stroke: normal}, x.Pale)
			}
		}
	}
	for _, p := range d.Joints {
		fmt.Fprintf(r, `<circle cx="%s" cy="%s" r="2.6" fill="%s"/>`+"\n", number(p.X), number(p.Y), r.c.Ink)
	}
	for _, p := range d.Grounds {
		sign := new(pen).move(p.X, p.Y).line(p.X, p.Y+6)
		for i, half := range []float64{8, 5, 2} {
			y := p.Y + 6 + 4*float64(i)
			sign.move(p.X-half, y).line(p.X+half, y)
		}
		r.path(Path{D: sign.data(), Stroke: normal}, p.Pale)
	}
	for _, s := range d.Shapes {
		if s.Kind == "receiver" {
			fmt.Fprintf(r, `<rect x="%s" y="%s" width="%s" height="%s" rx="6" fill="%s" stroke="%s" stroke-width="1.6"/>`+"\n",
				number(s.Box.X), number(s.Box.Y), number(s.Box.W), number(s.Box.H), r.c.Panel, r.c.Ink)
		} else {
			for _, p := range s.Paths {
				r.path(p, s.Pale)
			}
		}
		r.write(s.Label, s.Pale)
	}
	for _, k := range d.Couplings {
		for _, p := range k.Paths {
			fmt.Fprintf(r, `<path d="%s" fill="none" stroke="%s" stroke-width="%s"/>`+"\n", p.D, r.c.Muted, number(p.Stroke))
		}
		r.write(k.Text, false)
	}
	for _, n := range d.Nodes {
		r.write(n.Text, false)
	}
	for _, t := range d.Texts {
		r.write(t, false)
	}
	for _, m := range d.Gangs {
		r.circle(m.Center, 6, r.c.Panel, r.c.Muted)
		r.write(m.Text, false)
	}
	for _, m := range d.Dials {
		r.dial(m)
	}
	for _, m := range d.Switches {
		r.pills(m)
	}
	r.WriteString("</svg>\n")
}

func (r *rendering) path(p Path, pale bool) {
	colour := r.c.Ink
	if pale || p.Pale {
		colour = r.c.pale
	}
	if p.Fill {
		fmt.Fprintf(r, `<path d="%s" fill="%s"/>`+"\n", p.D, colour)
		return
	}
	fmt.Fprintf(r, `<path d="%s" fill="none" stroke="%s" stroke-width="%s" stroke-linejoin="round"/>`+"\n", p.D, colour, number(p.Stroke))
}

func (r *rendering) write(t Text, pale bool) {
	colour := r.c.Ink
	if t.Muted || pale {
		colour = r.c.Muted
	}
	for i, line := range t.Lines {
		r.outline(line, t.At.X, t.At.Y+float64(i)*t.Size*leading, t.Size, t.Bold, t.Anchor, colour)
	}
}

func (r *rendering) circle(p Point, radius float64, fill, stroke string) {
	fmt.Fprintf(r, `<circle cx="%s" cy="%s" r="%s" fill="%s" stroke="%s" stroke-width="1.6"/>`+"\n", number(p.X), number(p.Y), number(radius), fill, stroke)
}

// The pointer of a dial goes from lower left over the top to lower right.
const (
	firstAngle = -135.0
	sweepAngle = 270.0
	ticks      = 11
)

func around(p Point, radius, degrees float64) Point {
	a := degrees * math.Pi / 180
	return Point{p.X + radius*math.Sin(a), p.Y - radius*math.Cos(a)}
}

func (r *rendering) dial(m DialMark) {
	ink := r.c.Ink
	hand := r.c.Now
	if m.Pale {
		ink, hand = r.c.Muted, r.c.Muted
	}
	p := new(pen)
	for i := range ticks {
		a := firstAngle + sweepAngle*float64(i)/(ticks-1)
		from, to := around(m.Center, m.Radius+3, a), around(m.Center, m.Radius+8, a)
		p.move(from.X, from.Y).line(to.X, to.Y)
	}
	fmt.Fprintf(r, `<path d="%s" fill="none" stroke="%s" stroke-width="1"/>`+"\n", p.data(), r.c.Muted)
	r.circle(m.Center, m.Radius, r.c.Panel, ink)
	tip := around(m.Center, m.Radius-4, firstAngle+sweepAngle*m.Turn)
	fmt.Fprintf(r, `<path d="%s" fill="none" stroke="%s" stroke-width="3" stroke-linecap="round"/>`+"\n", new(pen).move(m.Center.X, m.Center.Y).line(tip.X, tip.Y).data(), hand)
	r.write(m.Title, m.Pale)
	colour := r.c.Ink
	if m.Pale {
		colour = r.c.Muted
	}
	r.outline(m.Reading, m.Center.X+dialHalf+4, m.Center.Y+5, 14, false, "start", colour)
}

func (r *rendering) pills(m SwitchMark) {
	r.write(m.Title, false)
	for _, p := range m.Pills {
		fill, line, colour := r.c.Panel, r.c.Hairline, r.c.Ink
		if p.Position == m.Position {
			fill, line, colour = r.c.Now, r.c.Now, r.c.onNow
		}
		fmt.Fprintf(r, `<rect x="%s" y="%s" width="%s" height="%s" rx="12" fill="%s" stroke="%s"/>`+"\n",
			number(p.Room.X), number(p.Room.Y), number(p.Room.W), number(p.Room.H), fill, line)
		r.outline(p.Text, p.Room.X+p.Room.W/2, p.Room.Y+16.5, titleSize, false, "middle", colour)
	}
}
