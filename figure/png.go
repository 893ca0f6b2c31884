package figure

import (
	"bufio"
	"image/png"
	"io"
	"math"

	"git.sr.ht/~sbinet/gg"
)

// density is the number of PNG pixels per CSS pixel.
const density = 2

func writePNG(w io.Writer, d drawing) error {
	dc := gg.NewContext(int(math.Round(d.width*density)), int(math.Round(d.height*density)))
	dc.SetColor(d.ground)
	dc.Clear()
	dc.SetLineJoinRound()
	dc.SetLineCapButt()
	for _, it := range d.items {
		trace := func() {
			for _, s := range it.path {
				var q [3]point
				for i := range q {
					q[i] = point{s.p[i].x * density, s.p[i].y * density}
				}
				switch s.op {
				case move:
					dc.MoveTo(q[0].x, q[0].y)
				case line:
					dc.LineTo(q[0].x, q[0].y)
				case quad:
					dc.QuadraticTo(q[0].x, q[0].y, q[1].x, q[1].y)
				case cubic:
					dc.CubicTo(q[0].x, q[0].y, q[1].x, q[1].y, q[2].x, q[2].y)
				case closed:
					dc.ClosePath()
				case circle:
					dc.NewSubPath()
					dc.DrawCircle(q[0].x, q[0].y, q[1].x)
					dc.ClosePath()
				}
			}
		}
		if it.fill != nil {
			trace()
			dc.SetColor(*it.fill)
			dc.Fill()
		}
		if it.pen.width > 0 {
			trace()
			dc.SetColor(it.pen.colour)
			dc.SetLineWidth(it.pen.width * density)
			dash := make([]float64, len(it.pen.dash))
			for i, v := range it.pen.dash {
				dash[i] = v * density
			}
			dc.SetDash(dash...)
			dc.Stroke()
		}
	}
	b := bufio.NewWriter(w)
	if err := png.Encode(b, dc.Image()); err != nil {
		return err
	}
	return b.Flush()
}
