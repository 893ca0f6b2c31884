package figure

import (
	"io"
	"time"

	"codeberg.org/go-pdf/fpdf"
)

// pointsPerPixel is 72 points per inch over 96 CSS pixels per inch.
const pointsPerPixel = 0.75

// writePDF draws on a page of the figure's size. Dates are fixed, so that equal charts give equal bytes.
func writePDF(w io.Writer, d drawing) error {
	const k = pointsPerPixel
	doc := fpdf.NewCustom(&fpdf.InitType{UnitStr: "pt", Size: fpdf.SizeType{Wd: d.width * k, Ht: d.height * k}})
	doc.SetCreationDate(time.Unix(0, 0).UTC())
	doc.SetModificationDate(time.Unix(0, 0).UTC())
	doc.SetTitle(d.title, true)
	doc.SetSubject(d.desc, true)
	doc.SetMargins(0, 0, 0)
	doc.SetAutoPageBreak(false, 0)
	doc.AddPage()
	doc.SetLineJoinStyle("round")
	doc.SetFillColor(int(d.ground.R), int(d.ground.G), int(d.ground.B))
	doc.Rect(0, 0, d.width*k, d.height*k, "F")
	for _, it := range d.items {
		mode := ""
		if it.fill != nil {
			doc.SetFillColor(int(it.fill.R), int(it.fill.G), int(it.fill.B))
			mode += "F"
		}
		if it.pen.width > 0 {
			doc.SetDrawColor(int(it.pen.colour.R), int(it.pen.colour.G), int(it.pen.colour.B))
			doc.SetLineWidth(it.pen.width * k)
			dash := make([]float64, len(it.pen.dash))
			for i, v := range it.pen.dash {
				dash[i] = v * k
			}
			doc.SetDashPattern(dash, 0)
			mode += "D"
		}
		var at point
		for _, s := range it.path {
			var q [3]point
			for i := range q {
				q[i] = point{s.p[i].x * k, s.p[i].y * k}
			}
			switch s.op {
			case move:
				doc.MoveTo(q[0].x, q[0].y)
			case line:
				doc.LineTo(q[0].x, q[0].y)
			case quad:
				// fpdf's CurveTo is not the quadratic curve.
				c1, c2 := elevated(at, q[0], q[1])
				doc.CurveBezierCubicTo(c1.x, c1.y, c2.x, c2.y, q[1].x, q[1].y)
			case cubic:
				doc.CurveBezierCubicTo(q[0].x, q[0].y, q[1].x, q[1].y, q[2].x, q[2].y)
			case closed:
				doc.ClosePath()
			case circle:
				pdfCircle(doc, q[0], q[1].x)
			}
			at = q[s.op.last()]
		}
		doc.DrawPath(mode)
	}
	return doc.Output(w)
}

// elevated returns the control points of the cubic curve that is the quadratic one from a over control to b: PDF has no
// quadratic curves. They stand two thirds of the way from each end to the quadratic control point (degree elevation).
func elevated(a, control, b point) (point, point) {
	towards := func(from point) point {
		return point{from.x + (control.x-from.x)*2/3, from.y + (control.y-from.y)*2/3}
	}
	return towards(a), towards(b)
}

// pdfCircle draws four Bézier quadrants; 4/3·(√2-1) is the handle length that meets the circle at 45°.
func pdfCircle(doc *fpdf.Fpdf, c point, r float64) {
	const handle = 0.5522847498
	h := handle * r
	doc.MoveTo(c.x+r, c.y)
	doc.CurveBezierCubicTo(c.x+r, c.y+h, c.x+h, c.y+r, c.x, c.y+r)
	doc.CurveBezierCubicTo(c.x-h, c.y+r, c.x-r, c.y+h, c.x-r, c.y)
	doc.CurveBezierCubicTo(c.x-r, c.y-h, c.x-h, c.y-r, c.x, c.y-r)
	doc.CurveBezierCubicTo(c.x+h, c.y-r, c.x+r, c.y-h, c.x+r, c.y)
	doc.ClosePath()
}
