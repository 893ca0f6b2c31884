package figure

import (
	"bytes"
	"encoding/xml"
	"fmt"
	"image/color"
	"io"
	"math"
	"strconv"
	"strings"
)

// writeSVG writes the drawing in one go, so that a failing writer is the only way to half a file.
func writeSVG(w io.Writer, d drawing) error {
	var b bytes.Buffer
	width, height := coordinate(d.width), coordinate(d.height)
	fmt.Fprintf(&b, `<svg xmlns="http://www.w3.org/2000/svg" width="%s" height="%s" viewBox="0 0 %s %s" role="img">`+"\n",
		width, height, width, height)
	fmt.Fprintf(&b, "<title>%s</title>\n<desc>%s</desc>\n", escaped(d.title), escaped(d.desc))
	fmt.Fprintf(&b, `<rect width="%s" height="%s" fill="%s"/>`+"\n", width, height, hex(d.ground))
	for _, it := range d.items {
		fmt.Fprintf(&b, `<path class="kw-%s"`, it.class)
		if it.text != "" {
			fmt.Fprintf(&b, ` data-text="%s"`, escaped(it.text))
		}
		if it.fill != nil {
			fmt.Fprintf(&b, ` fill="%s"`, hex(*it.fill))
		} else {
			b.WriteString(` fill="none"`)
		}
		if it.pen.width > 0 {
			fmt.Fprintf(&b, ` stroke="%s" stroke-width="%s" stroke-linejoin="round"`, hex(it.pen.colour), coordinate(it.pen.width))
			for i, length := range it.pen.dash {
				b.WriteString([...]string{` stroke-dasharray="`, " "}[min(i, 1)])
				b.WriteString(coordinate(length))
			}
			if len(it.pen.dash) > 0 {
				b.WriteByte('"')
			}
		}
		b.WriteString(` d="`)
		if it.text != "" {
			relativeData(&b, it.path)
		} else {
			absoluteData(&b, it.path)
		}
		b.WriteString("\"/>\n")
	}
	b.WriteString("</svg>\n")
	_, err := w.Write(b.Bytes())
	return err
}

func hex(c color.RGBA) string { return fmt.Sprintf("#%02x%02x%02x", c.R, c.G, c.B) }

// escaped returns s fit for XML text and attributes; characters that XML cannot hold become U+FFFD.
func escaped(s string) string {
	var b bytes.Buffer
	_ = xml.EscapeText(&b, []byte(s)) // a bytes.Buffer takes everything
	return b.String()
}

// hundredths rounds to the resolution of the file.
func hundredths(v float64) int { return int(math.Round(v * 100)) }

// coordinate writes v with at most two decimals.
func coordinate(v float64) string { return decimalOf(hundredths(v)) }

func decimalOf(n int) string {
	return strconv.FormatFloat(float64(n)/100, 'f', -1, 64)
}

// absoluteData writes path data in page coordinates, which scripts and tests can read.
func absoluteData(b *bytes.Buffer, p path) {
	pair := func(letter string, q point) {
		b.WriteString(letter)
		b.WriteString(coordinate(q.x))
		b.WriteByte(',')
		b.WriteString(coordinate(q.y))
	}
	for _, s := range p {
		switch s.op {
		case move:
			pair("M", s.p[0])
		case line:
			pair("L", s.p[0])
		case quad:
			pair("Q", s.p[0])
			pair(" ", s.p[1])
		case cubic:
			pair("C", s.p[0])
			pair(" ", s.p[1])
			pair(" ", s.p[2])
		case closed:
			b.WriteByte('Z')
		case circle:
			// Two half circles: an arc may not end where it starts.
			r := coordinate(s.p[1].x)
			pair("M", point{s.p[0].x - s.p[1].x, s.p[0].y})
			d := decimalOf(2 * hundredths(s.p[1].x))
			fmt.Fprintf(b, "a%s,%s 0 1 0 %s,0a%s,%s 0 1 0 -%s,0Z", r, r, d, r, r, d)
		}
	}
}

// relativeData writes path data as steps from point to point, with the short forms that SVG allows (h and v, a letter left out
// where it repeats, no zero before the point): half the size for glyphs. Steps are taken between rounded points, so that
// no error builds up.
func relativeData(b *bytes.Buffer, p path) {
	var x, y, startX, startY int
	var written byte
	step := func(letter byte, steps ...int) {
		// A letter stands for the ones after it too, but a line after a move would be read as "l".
		repeated := letter == written && letter != 'm'
		if !repeated {
			b.WriteByte(letter)
		}
		for i, n := range steps {
			if (i > 0 || repeated) && n >= 0 {
				b.WriteByte(' ')
			}
			b.WriteString(shortened(decimalOf(n)))
		}
		written = letter
	}
	for _, s := range p {
		if s.op == closed {
			step('z')
			written = 0 // a repeated z closes nothing
			x, y = startX, startY
			continue
		}
		end := s.op.last()
		steps := make([]int, 0, 6)
		for _, q := range s.p[:end+1] {
			steps = append(steps, hundredths(q.x)-x, hundredths(q.y)-y)
		}
		dx, dy := steps[2*end], steps[2*end+1]
		switch {
		case s.op == move:
			step('m', steps...)
			startX, startY = x+dx, y+dy
		case s.op == quad:
			step('q', steps...)
		case s.op == cubic:
			step('c', steps...)
		case dx == 0 && dy == 0: // a line too short to show
		case dy == 0:
			step('h', dx)
		case dx == 0:
			step('v', dy)
		default:
			step('l', steps...)
		}
		x, y = x+dx, y+dy
	}
}

// shortened leaves out the zero before a decimal point.
func shortened(s string) string {
	if rest, ok := strings.CutPrefix(s, "0."); ok {
		return "." + rest
	}
	if rest, ok := strings.CutPrefix(s, "-0."); ok {
		return "-." + rest
	}
	return s
}
