package figure

import (
	"fmt"
	"math"
	"slices"
	"strings"
)

var (
	titleFace    = face{bold: true, size: 17}
	subtitleFace = face{size: 13}
	axisFace     = face{size: 12.5}
	tickFace     = face{size: 12}
	noteFace     = face{size: 12}
	labelFace    = face{size: 12.5}
	nowFace      = face{bold: true, size: 12.5}
)

// Heights of the rows of text outside the frame, and other measures of the page, in CSS pixels.
const (
	topPad, sidePad, bottomPad = 18.0, 24.0, 16.0

	titleRow, subtitleRow = 23.0, 18.0
	axisRow, legendRow    = 20.0, 19.0
	belowHeading          = 9.0
	aboveFrame            = 5.0
	tickDrop              = 17.0 // from the frame to the baseline of the X tick labels
	axisDrop              = 35.0 // and to the baseline of the X axis label
	noteDrop, noteRow     = 22.0, 17.0

	swatch, swatchGap, entryGap = 20.0, 6.0, 20.0
	compactHeight               = 360 // lower figures give each text one row
	ySpacing, yCompact          = 40.0, 26.0
)

// entry is a series in the legend.
type entry struct {
	series int // -1 for a plain remark
	text   string
	face   face
}

func (e entry) width() float64 {
	w := e.face.width(e.text)
	if e.series >= 0 {
		w += swatch + swatchGap
	}
	return w
}

// label is a text with its place in the frame.
type label struct {
	index int // of the series or mark
	text  string
	box   rect
}

// page is a chart on its way to a drawing.
type page struct {
	Chart
	colours palette
	pens    []pen
	compact bool

	title, subtitle, notes []string
	legend                 [][]entry
	legendBeside           bool // the only legend row stands beside the Y axis label
	frame                  frame
	runs                   [][][]point // by series; nil for Measured
	dots                   [][]point   // by series; nil but for Measured
	names, marks           []label     // labels inside the frame
}

// compose checks the chart and turns it into drawing calls.
//
// Labels are put directly at their lines where there is room. One that finds none is moved to the legend (a series) or to a
// note line (a mark) and the page is laid out again, since these take room from the frame; after a few rounds all that is
// left to place goes the same way.
func (c Chart) compose() (drawing, error) {
	c, err := c.check()
	if err != nil {
		return drawing{}, err
	}
	inLegend, inNotes := make(map[int]bool), make(map[int]bool)
	const rounds = 4
	for round := 1; ; round++ {
		p := c.layOut(inLegend, inNotes)
		if p.placeLabels(inLegend, inNotes, round == rounds) || round > rounds {
			return p.draw(), nil
		}
	}
}

func (c Chart) layOut(inLegend, inNotes map[int]bool) *page {
	p := &page{Chart: c, colours: palettes[c.Theme], compact: c.Height < compactHeight}
	plain := 0
	for _, s := range c.Series {
		p.pens = append(p.pens, p.colours.pen(s.Style, plain))
		if s.Style == Plain {
			plain++
		}
	}
	full := c.Width - 2*sidePad
	rows, legendRows := 2, 4
	if p.compact {
		rows, legendRows = 1, 1
	}
	p.title = titleFace.wrap(c.Title, full, rows)
	p.subtitle = subtitleFace.wrap(c.Subtitle, full, rows)

	xlo, xhi, ylo, yhi := c.extent()
	widenY := c.Y.Min == c.Y.Max
	if widenY {
		ylo, yhi = spread(ylo, yhi, c.Y.Log)
		ylo, yhi = margin(ylo, yhi, c.Y.Log)
	}

	// The legend needs the width of the frame, which hangs on the Y labels, which hang on the height of the frame: the
	// legend is laid out for a frame a little narrower than it will be.
	entries := p.entries(inLegend, 0.45*full)
	top := topPad + float64(len(p.title))*titleRow + float64(len(p.subtitle))*subtitleRow
	if top > topPad {
		top += belowHeading
	}
	top += axisRow + aboveFrame
	yText := axisText(c.Y.Label, c.Y.Unit)
	p.legendBeside = rowWidth(entries)+axisFace.width(yText)+3*entryGap < full-60
	p.legend = flow(entries, full-60, legendRows)
	if !p.legendBeside {
		top += float64(len(p.legend)) * legendRow
	}
	bottom := c.Height - bottomPad - axisDrop
	p.notes = p.noteLines(inNotes, full, int((bottom-top-max(70, 0.35*c.Height)-noteDrop+noteRow)/noteRow))
	if len(p.notes) > 0 {
		bottom -= noteDrop + float64(len(p.notes)-1)*noteRow
	}

	spacing := ySpacing
	if p.compact {
		spacing = yCompact
	}
	f := frame{rect: rect{y0: math.Round(top) + 0.5, y1: math.Round(bottom) - 0.5, x1: math.Round(c.Width-sidePad) - 0.5}}
	f.y = newScale(ylo, yhi, c.Y.Log, widenY, c.Y.Unit, room{f.height(), func(string) float64 { return spacing }})
	widest := 0.0
	for _, t := range f.y.ticks {
		widest = max(widest, tickFace.width(t.label))
	}
	f.x0 = math.Round(min(sidePad+widest+8, c.Width/2)) + 0.5
	f.x = newScale(xlo, xhi, c.X.Log, false, c.X.Unit, room{f.width(), func(s string) float64 {
		return max(66, tickFace.width(s)+26)
	}})
	p.frame = f

	for _, s := range c.Series {
		if s.Style == Measured {
			p.runs, p.dots = append(p.runs, nil), append(p.dots, f.dots(s))
		} else {
			p.runs, p.dots = append(p.runs, f.runs(s)), append(p.dots, nil)
		}
	}
	return p
}

// axisText joins the name of an axis and the unit in which its ticks count.
func axisText(name, unit string) string {
	name = strings.Join(strings.Fields(name), " ")
	if name == "" || unit == "" {
		return name + unit
	}
	return name + ", " + unit
}

func (p *page) nameFace(i int) face {
	if p.Series[i].Style == Now {
		return nowFace
	}
	return labelFace
}

// name returns the label of a series, cut to limit.
func (p *page) name(i int, limit float64) string {
	s := p.Series[i]
	name := strings.Join(strings.Fields(s.Name), " ")
	if name != "" && !slices.ContainsFunc(s.Y, finite) {
		name += " (no values)"
	}
	f := p.nameFace(i)
	return strings.Join(f.wrap(name, limit, 1), " ")
}

func (p *page) entries(inLegend map[int]bool, limit float64) []entry {
	var out []entry
	for i := range p.Series {
		if inLegend[i] {
			out = append(out, entry{i, p.name(i, limit), p.nameFace(i)})
		}
	}
	return out
}

func rowWidth(entries []entry) float64 {
	w := 0.0
	for i, e := range entries {
		if i > 0 {
			w += entryGap
		}
		w += e.width()
	}
	return w
}

// flow breaks the legend into at most most rows; the last says how many series had no room.
func flow(entries []entry, width float64, most int) [][]entry {
	var rows [][]entry
	var row []entry
	for i, e := range entries {
		if len(row) > 0 && rowWidth(append(slices.Clip(row), e)) > width {
			if len(rows) == most-1 {
				for {
					rest := entry{-1, fmt.Sprintf("and %d more", len(entries)-i), labelFace}
					if with := append(slices.Clip(row), rest); len(row) == 0 || rowWidth(with) <= width {
						return append(rows, with)
					}
					row, i = row[:len(row)-1], i-1
				}
			}
			rows = append(rows, row)
			row = nil
		}
		row = append(row, e)
	}
	if len(row) > 0 {
		rows = append(rows, row)
	}
	return rows
}

// noteLines wraps the notes, with one for the marks that found no place, into at most most lines.
func (p *page) noteLines(inNotes map[int]bool, width float64, most int) []string {
	notes := slices.Clone(p.Notes)
	var marks []string
	for i, m := range p.Marks {
		if inNotes[i] && len(marks) < manyToPlace {
			marks = append(marks, m.Label)
		}
	}
	if len(marks) > 0 {
		notes = append(notes, "marked: "+strings.Join(marks, " · "))
	}
	var lines []string
	starts := make([]int, 0, len(notes)) // the line at which each note starts
	for _, n := range notes {
		if len(lines) > most {
			break
		}
		starts = append(starts, len(lines))
		lines = append(lines, noteFace.wrap(n, width, 2)...)
	}
	if len(lines) <= most {
		return lines
	}
	if most < 1 {
		return nil
	}
	whole := 0 // notes that fit completely above the last line
	for whole+1 < len(starts) && starts[whole+1] <= most-1 {
		whole++
	}
	return append(lines[:starts[whole]:starts[whole]], fmt.Sprintf("… and %d more notes", len(notes)-whole))
}

// placeLabels finds places inside the frame and reports whether every label has one. Those that have none are entered in
// inLegend or inNotes; with last, every remaining label is.
func (p *page) placeLabels(inLegend, inNotes map[int]bool, last bool) bool {
	t := &table{frame: p.frame.rect}
	envelopes := make([]*envelope, len(p.Series))
	for i := range p.Series {
		for _, q := range p.dots[i] {
			t.boxes = append(t.boxes, rect{q.x, q.y, q.x, q.y}.grow(dotRadius+1))
		}
		if len(p.runs[i]) == 0 {
			continue
		}
		e := newEnvelope(p.frame)
		for _, run := range p.runs[i] {
			e.segment(run[0], run[0])
			for k := 1; k < len(run); k++ {
				e.segment(run[k-1], run[k])
			}
		}
		envelopes[i] = e
		t.lines = append(t.lines, e)
		if box, ok := peak(p.runs[i]); ok {
			t.boxes = append(t.boxes, box)
		}
	}

	done := true
	lines := make([]rect, 0, len(p.Marks))
	for _, m := range p.Marks {
		if x, ok := p.frame.markAt(m); ok {
			lines = append(lines, rect{x - 1, p.frame.y0, x + 1, p.frame.y1})
		}
	}
	t.boxes = append(t.boxes, lines...)
	tried := 0
	for i, m := range p.Marks {
		x, ok := p.frame.markAt(m)
		text := strings.Join(labelFace.wrap(m.Label, 0.4*p.frame.width(), 1), " ")
		if !ok || text == "" || inNotes[i] {
			continue
		}
		tried++
		var box rect
		box, ok = t.besideMark(x, labelFace.width(text), labelFace.size)
		if !ok || last || tried > manyToPlace {
			inNotes[i], done = true, false
			continue
		}
		t.boxes = append(t.boxes, box)
		p.marks = append(p.marks, label{i, text, box})
	}
	tried = 0
	for i := range p.Series {
		text := p.name(i, 0.45*p.frame.width())
		if text == "" || inLegend[i] {
			continue
		}
		tried++
		f := p.nameFace(i)
		ok := envelopes[i] != nil && !last && tried <= manyToPlace
		var box rect
		if ok {
			box, ok = t.besideLine(envelopes[i], f.width(text), f.size)
		}
		if !ok {
			inLegend[i], done = true, false
			continue
		}
		t.boxes = append(t.boxes, box)
		p.names = append(p.names, label{i, text, box})
	}
	return done
}

// draw turns the page into drawing calls, from the ground up.
func (p *page) draw() drawing {
	c, f := p.colours, p.frame
	d := drawing{width: p.Width, height: p.Height, title: p.titleText(), desc: p.describe(), ground: c.paper}

	y := topPad
	for _, s := range p.title {
		y += titleRow
		d.write("title", s, titleFace, c.ink, sidePad, y-6, left)
	}
	for _, s := range p.subtitle {
		y += subtitleRow
		d.write("subtitle", s, subtitleFace, c.muted, sidePad, y-5, left)
	}

	d.filled("panel", f.outline(), c.panel)
	p.drawGrid(&d)
	for _, m := range p.Marks {
		if x, ok := f.markAt(m); ok {
			var v path
			v.move(x, f.y0)
			v.line(x, f.y1)
			d.stroked("mark", v, pen{c.ink, 1.2, []float64{1.4, 3.2}})
		}
	}
	for _, style := range [...]Style{Straight, Plain, Pinned, Now, Measured} {
		for i, s := range p.Series {
			if s.Style == style {
				p.drawSeries(&d, i)
			}
		}
	}
	// Grid lines stop short of the words.
	for _, l := range slices.Concat(p.marks, p.names) {
		d.filled("ground", l.box.grow(2).outline(), c.panel)
	}
	for _, m := range p.marks {
		d.write("mark-label", m.text, labelFace, c.ink, m.box.x0, m.box.y1-descent*labelFace.size, left)
	}
	for _, n := range p.names {
		d.write("label", n.text, p.nameFace(n.index), p.pens[n.index].colour, n.box.x0, n.box.y1-descent*labelFace.size, left)
	}

	p.drawLegend(&d)
	d.write("axis", axisFace.cut(axisText(p.X.Label, f.x.unit), f.width()), axisFace, c.muted, f.x1, f.y1+axisDrop, right)
	for i, s := range p.notes {
		d.write("note", s, noteFace, c.muted, sidePad, f.y1+axisDrop+noteDrop+float64(i)*noteRow, left)
	}
	return d
}

func (p *page) drawGrid(d *drawing) {
	c, f := p.colours, p.frame
	var minor, major path
	vertical := func(to *path, v float64) float64 {
		// Whole pixels plus a half keep hairlines sharp.
		x := math.Round(f.place(v, f.y.lo).x-0.5) + 0.5
		to.move(x, f.y0)
		to.line(x, f.y1)
		return x
	}
	horizontal := func(to *path, v float64) float64 {
		y := math.Round(f.place(f.x.lo, v).y-0.5) + 0.5
		to.move(f.x0, y)
		to.line(f.x1, y)
		return y
	}
	for _, v := range f.x.minor {
		vertical(&minor, v)
	}
	for _, v := range f.y.minor {
		horizontal(&minor, v)
	}
	d.stroked("minor", minor, pen{colour: c.faint, width: 1})
	var labels drawing
	for _, t := range f.x.ticks {
		x := vertical(&major, t.value)
		half := tickFace.width(t.label) / 2
		x = max(half+4, min(p.Width-half-4, x))
		labels.write("tick", t.label, tickFace, c.muted, x, f.y1+tickDrop, centre)
	}
	for _, t := range f.y.ticks {
		y := horizontal(&major, t.value)
		labels.write("tick", t.label, tickFace, c.muted, f.x0-8, y+ascent*tickFace.size/2, right)
	}
	d.stroked("grid", major, pen{colour: c.hairline, width: 1})
	d.stroked("frame", f.outline(), pen{colour: c.hairline, width: 1})
	d.items = append(d.items, labels.items...)
}

func (p *page) drawSeries(d *drawing, i int) {
	s, with := p.Series[i], p.pens[i]
	class := "series kw-" + s.Style.String()
	if s.Style == Measured {
		var rings path
		for _, q := range p.dots[i] {
			rings.circle(q, dotRadius)
		}
		d.stroked(class, rings, with)
		return
	}
	var lines, alone path
	for _, run := range p.runs[i] {
		if len(run) == 1 {
			alone.circle(run[0], 0.9*with.width)
		} else {
			lines.polyline(run)
		}
	}
	d.stroked(class, lines, with)
	if len(alone) > 0 {
		d.filled(class, alone, with.colour)
	}
}

func (p *page) drawLegend(d *drawing) {
	c, f := p.colours, p.frame
	y := f.y0 - aboveFrame - 4
	if !p.legendBeside {
		y -= float64(len(p.legend)) * legendRow
	}
	d.write("axis", axisFace.cut(axisText(p.Y.Label, f.y.unit), f.width()), axisFace, c.muted, f.x0, y, left)
	for _, row := range p.legend {
		x := f.x0
		if p.legendBeside {
			x = f.x1 - rowWidth(row)
		} else {
			y += legendRow
		}
		for _, e := range row {
			ink := c.muted
			if e.series >= 0 {
				ink = p.pens[e.series].colour
				p.drawSwatch(d, e.series, x, y-0.36*e.face.size)
				x += swatch + swatchGap
			}
			d.write("legend", e.text, e.face, ink, x, y, left)
			x += e.face.width(e.text) + entryGap
		}
	}
}

func (p *page) drawSwatch(d *drawing, i int, x, y float64) {
	var sample path
	if p.Series[i].Style == Measured {
		sample.circle(point{x + swatch - dotRadius - 1, y}, dotRadius)
	} else {
		sample.move(x, y)
		sample.line(x+swatch, y)
	}
	d.stroked("swatch", sample, p.pens[i])
}

// titleText is the <title>: the title of the chart, or what it shows.
func (p *page) titleText() string {
	if t := strings.Join(strings.Fields(p.Title), " "); t != "" {
		return t
	}
	y, x := axisText(p.Y.Label, p.frame.y.unit), axisText(p.X.Label, p.frame.x.unit)
	if y == "" || x == "" {
		return "Line chart"
	}
	return y + " over " + x
}

// describe is the <desc>: the caller's, or the chart in words for those who cannot see it.
func (p *page) describe() string {
	if p.Description != "" {
		return p.Description
	}
	const most = 20 // of each list
	var b strings.Builder
	axis := func(name string, label string, s scale) {
		fmt.Fprintf(&b, "%s axis: %s", name, axisText(label, s.unit))
		if n := len(s.ticks); n > 0 {
			fmt.Fprintf(&b, ", ticks from %s to %s", s.ticks[0].label, s.ticks[n-1].label)
		}
		b.WriteString(". ")
	}
	b.WriteString("Line chart. ")
	axis("Horizontal", p.X.Label, p.frame.x)
	axis("Vertical", p.Y.Label, p.frame.y)
	for i, s := range p.Series {
		if i == most {
			fmt.Fprintf(&b, "And %d more series. ", len(p.Series)-most)
			break
		}
		name := s.Name
		if name == "" {
			name = fmt.Sprintf("series %d", i+1)
		}
		fmt.Fprintf(&b, "%s: %d points (%s). ", name, len(s.X), s.Style)
	}
	for i, m := range p.Marks {
		if i == most {
			fmt.Fprintf(&b, "And %d more marks. ", len(p.Marks)-most)
			break
		}
		if m.Label != "" {
			fmt.Fprintf(&b, "Marked: %s. ", m.Label)
		}
	}
	for _, n := range p.Notes {
		b.WriteString(strings.TrimRight(n, ". ") + ". ")
	}
	return strings.TrimSpace(b.String())
}
