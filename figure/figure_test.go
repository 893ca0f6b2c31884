package figure

import (
	"bytes"
	"encoding/xml"
	"errors"
	"flag"
	"fmt"
	"image/png"
	"io"
	"math"
	"os"
	"path/filepath"
	"regexp"
	"strconv"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
	"pgregory.net/rapid"
)

var update = flag.Bool("update", false, "rewrite the golden files")

func mustSVG(t *testing.T, c Chart) string {
	t.Helper()
	var b bytes.Buffer
	if err := c.SVG(&b); err != nil {
		t.Fatal(err)
	}
	return b.String()
}

// element is a <path> of the SVG.
type element struct{ class, text, data string }

// parse reads the SVG as strict XML and returns its title, description and paths.
func parse(svg string) (title, desc string, paths []element, err error) {
	d := xml.NewDecoder(strings.NewReader(svg))
	var inside string
	for {
		token, err := d.Token()
		if errors.Is(err, io.EOF) {
			return title, desc, paths, nil
		}
		if err != nil {
			return "", "", nil, err
		}
		switch e := token.(type) {
		case xml.StartElement:
			inside = e.Name.Local
			if inside == "path" {
				var p element
				for _, a := range e.Attr {
					switch a.Name.Local {
					case "class":
						p.class = a.Value
					case "data-text":
						p.text = a.Value
					case "d":
						p.data = a.Value
					}
				}
				paths = append(paths, p)
			}
		case xml.EndElement:
			inside = ""
		case xml.CharData:
			switch inside {
			case "title":
				title += string(e)
			case "desc":
				desc += string(e)
			}
		}
	}
}

func byClass(t *testing.T, svg, class string) []element {
	t.Helper()
	_, _, all, err := parse(svg)
	if err != nil {
		t.Fatal(err)
	}
	var out []element
	for _, p := range all {
		if p.class == class {
			out = append(out, p)
		}
	}
	return out
}

var vertex = regexp.MustCompile(`([ML])(-?[0-9.]+),(-?[0-9.]+)`)

// vertices returns the lines of absolute path data, a new one at each M.
func vertices(data string) [][]point {
	var out [][]point
	for _, m := range vertex.FindAllStringSubmatch(data, -1) {
		x, _ := strconv.ParseFloat(m[2], 64)
		y, _ := strconv.ParseFloat(m[3], 64)
		if m[1] == "M" {
			out = append(out, nil)
		}
		out[len(out)-1] = append(out[len(out)-1], point{x, y})
	}
	return out
}

func frameOf(t *testing.T, svg string) rect {
	t.Helper()
	f := byClass(t, svg, "kw-frame")
	if len(f) != 1 {
		t.Fatalf("%d frames", len(f))
	}
	v := vertices(f[0].data)[0]
	return rect{v[0].x, v[0].y, v[2].x, v[2].y}
}

func straightLine(log bool) Chart {
	return Chart{
		X:      Axis{Unit: "Hz", Min: 1e6, Max: 5e6, Log: log},
		Y:      Axis{Unit: "dB", Min: -40, Max: 10},
		Series: []Series{{Name: "now", X: []float64{1e6, 2e6, 4e6, 5e6}, Y: []float64{-40, -15, 0, 10}, Style: Now}},
	}
}

// A data point must stand where the axes say, on linear and logarithmic axes; the wanted places follow from the frame alone.
func TestPointsLandWhereTheyShould(t *testing.T) {
	checked := 0
	for _, log := range []bool{false, true} {
		c := straightLine(log)
		svg := mustSVG(t, c)
		f := frameOf(t, svg)
		got := vertices(byClass(t, svg, "kw-series kw-now")[0].data)
		if len(got) != 1 || len(got[0]) != 4 {
			t.Fatalf("lines %v, want one of 4 points", got)
		}
		for i, q := range got[0] {
			share := (c.Series[0].X[i] - 1e6) / 4e6
			if log {
				share = math.Log10(c.Series[0].X[i]/1e6) / math.Log10(5)
			}
			x := f.x0 + share*(f.x1-f.x0)
			y := f.y1 - (c.Series[0].Y[i]+40)/50*(f.y1-f.y0)
			if math.Abs(q.x-x) > 0.006 || math.Abs(q.y-y) > 0.006 { // the file has two decimals
				t.Errorf("log %v, point %d at %v, want %.3f %.3f", log, i, q, x, y)
			}
			checked++
		}
	}
	if checked != 8 {
		t.Errorf("%d points checked, want 8", checked)
	}
}

// The PNG has two pixels per CSS pixel and shows the line at the place that the SVG gives.
func TestPNG(t *testing.T) {
	c := straightLine(false)
	f := frameOf(t, mustSVG(t, c))
	var b bytes.Buffer
	if err := c.PNG(&b); err != nil {
		t.Fatal(err)
	}
	img, err := png.Decode(&b)
	if err != nil {
		t.Fatal(err)
	}
	if s := img.Bounds().Size(); s.X != 1920 || s.Y != 1080 {
		t.Errorf("size %v, want 1920 by 1080", s)
	}
	x, y := f.x0+0.25*f.width(), f.y1-0.5*f.height() // 2 MHz, -15 dB
	r, g, bl, _ := img.At(int(2*x), int(2*y)).RGBA()
	if want := palettes[Light].now; uint8(r>>8) != want.R || uint8(g>>8) != want.G || uint8(bl>>8) != want.B {
		t.Errorf("pixel on the line is %02x%02x%02x, want %v", r>>8, g>>8, bl>>8, want)
	}
	early := point{f.x0 + 0.125*f.width(), f.y1 - 0.25*f.height()} // half way from the first point to the second
	r, g, bl, _ = img.At(int(2*early.x), int(2*early.y)).RGBA()
	if want := palettes[Light].now; uint8(r>>8) != want.R || uint8(g>>8) != want.G || uint8(bl>>8) != want.B {
		t.Errorf("pixel on the first stretch is %02x%02x%02x, want %v", r>>8, g>>8, bl>>8, want)
	}
	if r, g, bl, _ := img.At(int(2*(x+5)), int(2*(y+45))).RGBA(); r != 0xffff || g != 0xffff || bl != 0xffff {
		t.Errorf("pixel beside the line is %02x%02x%02x, want the white panel", r>>8, g>>8, bl>>8)
	}
}

func TestPDF(t *testing.T) {
	var a, b bytes.Buffer
	if err := sampleChart(Light).PDF(&a); err != nil {
		t.Fatal(err)
	}
	if err := sampleChart(Light).PDF(&b); err != nil {
		t.Fatal(err)
	}
	if !bytes.Equal(a.Bytes(), b.Bytes()) {
		t.Error("equal charts gave different PDF bytes")
	}
	for _, want := range []string{"%PDF-1.", "/MediaBox [0 0 720.00 405.00]", "/CreationDate (D:19700101000000)", "/ModDate (D:19700101000000)", "%%EOF"} {
		if !strings.Contains(a.String(), want) {
			t.Errorf("no %q in the PDF", want)
		}
	}
	if strings.Contains(a.String(), "/FontFile") {
		t.Error("the PDF embeds a font; all text should be outlines")
	}
}

// The cubic curve of degree elevation is the quadratic one at every parameter.
func TestElevation(t *testing.T) {
	a, q, b := point{0, 0}, point{3, 9}, point{12, -6}
	c1, c2 := elevated(a, q, b)
	for i := range 11 {
		u := float64(i) / 10
		v := 1 - u
		for _, c := range [...][5]float64{{a.x, q.x, b.x, c1.x, c2.x}, {a.y, q.y, b.y, c1.y, c2.y}} {
			quadratic := v*v*c[0] + 2*u*v*c[1] + u*u*c[2]
			cubic := v*v*v*c[0] + 3*u*v*v*c[3] + 3*u*u*v*c[4] + u*u*u*c[2]
			if math.Abs(quadratic-cubic) > 1e-12 {
				t.Errorf("at %g: quadratic %g, cubic %g", u, quadratic, cubic)
			}
		}
	}
}

func TestGapsSplitTheLine(t *testing.T) {
	nan, inf := math.NaN(), math.Inf(1)
	c := Chart{Series: []Series{{
		X:     []float64{0, 1, 2, 3, 4, 5, 6, 7, 8, 9},
		Y:     []float64{nan, 1, 2, nan, 3, inf, 4, 5, 6, -inf},
		Style: Now,
	}}}
	drawn := byClass(t, mustSVG(t, c), "kw-series kw-now")
	if len(drawn) != 2 {
		t.Fatalf("%d paths, want the lines and the value standing alone", len(drawn))
	}
	var sizes []int
	for _, run := range vertices(drawn[0].data) {
		sizes = append(sizes, len(run))
	}
	if diff := cmp.Diff([]int{2, 3}, sizes); diff != "" {
		t.Errorf("points in each run (-want +got):\n%s", diff)
	}
	if !strings.Contains(drawn[1].data, "a") {
		t.Errorf("the value standing alone is drawn as %q, want a dot", drawn[1].data)
	}
}

// A line that leaves the frame is cut at its edge, not bent towards it: the cut is where the straight line crosses.
func TestClipping(t *testing.T) {
	c := Chart{
		X:      Axis{Min: 0, Max: 10},
		Y:      Axis{Min: 0, Max: 10},
		Series: []Series{{X: []float64{-5, 5, 15}, Y: []float64{-15, 25, -15}, Style: Now}},
	}
	svg := mustSVG(t, c)
	f := frameOf(t, svg)
	got := vertices(byClass(t, svg, "kw-series kw-now")[0].data)
	at := func(x, y float64) point { return point{f.x0 + x/10*f.width(), f.y1 - y/10*f.height()} }
	// y = 5+4x up to x = 5 and 45-4x after it, so the line is inside for x in 0 … 1.25 and 8.75 … 10.
	want := [][]point{{at(0, 5), at(1.25, 10)}, {at(8.75, 10), at(10, 5)}}
	if len(got) != 2 {
		t.Fatalf("runs %v, want %v", got, want)
	}
	for i := range want {
		for k := range want[i] {
			if math.Hypot(got[i][k].x-want[i][k].x, got[i][k].y-want[i][k].y) > 0.01 {
				t.Errorf("run %d point %d at %v, want %v", i, k, got[i][k], want[i][k])
			}
		}
	}
}

func TestErrors(t *testing.T) {
	nan, inf := math.NaN(), math.Inf(1)
	one := []Series{{X: []float64{1, 2}, Y: []float64{1, 2}}}
	with := func(x, y []float64) []Series { return []Series{{Name: "a", X: x, Y: y}} }
	cases := []struct {
		name string
		c    Chart
		want error
	}{
		{"no series", Chart{}, ErrNoSeries},
		{"empty", Chart{Series: with(nil, nil)}, ErrEmpty},
		{"lengths", Chart{Series: with([]float64{1, 2}, []float64{1})}, ErrLengths},
		{"all gaps", Chart{Series: with([]float64{1, 2}, []float64{nan, inf})}, ErrAllGaps},
		{"descending", Chart{Series: with([]float64{2, 1}, []float64{1, 1})}, ErrOrder},
		{"repeated X", Chart{Series: with([]float64{1, 1}, []float64{1, 1})}, ErrOrder},
		{"X NaN", Chart{Series: with([]float64{1, nan}, []float64{1, 1})}, ErrX},
		{"X infinite in dots", Chart{Series: []Series{{X: []float64{inf}, Y: []float64{1}, Style: Measured}}}, ErrX},
		{"Y too large", Chart{Series: with([]float64{1, 2}, []float64{1, 1e200})}, ErrRange},
		{"log X at zero", Chart{X: Axis{Log: true}, Series: with([]float64{0, 1}, []float64{1, 1})}, ErrLog},
		{"log Y at zero", Chart{Y: Axis{Log: true}, Series: with([]float64{0, 1}, []float64{1, 0})}, ErrLog},
		{"log axis from below zero", Chart{Y: Axis{Log: true, Min: -1, Max: 1}, Series: one}, ErrLog},
		{"log axis from a denormal", Chart{X: Axis{Log: true, Min: 1e-320, Max: 1}, Series: one}, ErrAxis},
		{"log X denormal", Chart{X: Axis{Log: true}, Series: with([]float64{1e-320, 1}, []float64{1, 1})}, ErrRange},
		{"log Y denormal", Chart{Y: Axis{Log: true}, Series: with([]float64{0, 1}, []float64{1, 1e-320})}, ErrRange},
		{"reversed axis", Chart{X: Axis{Min: 2, Max: 1}, Series: one}, ErrAxis},
		{"axis NaN", Chart{Y: Axis{Min: nan, Max: 1}, Series: one}, ErrAxis},
		{"mark NaN", Chart{Marks: []Mark{{X: nan}}, Series: one}, ErrMark},
		{"too small", Chart{Width: 10, Series: one}, ErrSize},
		{"size NaN", Chart{Height: nan, Series: one}, ErrSize},
		{"too large", Chart{Height: 1e6, Series: one}, ErrSize},
		{"style", Chart{Series: []Series{{X: []float64{1}, Y: []float64{1}, Style: 9}}}, ErrStyle},
		{"theme", Chart{Theme: 2, Series: one}, ErrStyle},
	}
	for _, c := range cases {
		for format, draw := range map[string]func(io.Writer) error{"SVG": c.c.SVG, "PNG": c.c.PNG, "PDF": c.c.PDF} {
			var b bytes.Buffer
			err := draw(&b)
			var typed *Error
			if !errors.Is(err, c.want) || !errors.As(err, &typed) {
				t.Errorf("%s, %s: error %v, want kind %q", c.name, format, err, c.want)
				continue
			}
			if b.Len() > 0 || strings.Contains(err.Error(), "\n") {
				t.Errorf("%s, %s: wrote %d bytes; message %q", c.name, format, b.Len(), err)
			}
		}
	}
	t.Logf("%d bad charts checked", len(cases))
}

// Measured points may come in any order.
func TestMeasuredInAnyOrder(t *testing.T) {
	c := Chart{Series: []Series{{X: []float64{3, 1, 1, 2}, Y: []float64{1, 2, 3, math.NaN()}, Style: Measured}}}
	dots := byClass(t, mustSVG(t, c), "kw-series kw-measured")
	if len(dots) != 1 || len(vertices(dots[0].data)) != 3 {
		t.Errorf("dots %v, want 3", dots)
	}
}

type brokenWriter struct{}

func (brokenWriter) Write([]byte) (int, error) { return 0, io.ErrClosedPipe }

func TestWriterErrors(t *testing.T) {
	c := straightLine(false)
	for format, draw := range map[string]func(io.Writer) error{"SVG": c.SVG, "PNG": c.PNG, "PDF": c.PDF} {
		if err := draw(brokenWriter{}); !errors.Is(err, io.ErrClosedPipe) {
			t.Errorf("%s: error %v, want that of the writer", format, err)
		}
	}
}

func goldenChart(theme Theme) Chart {
	c := sampleChart(theme)
	c.Width, c.Height = 560, 380
	for i, s := range c.Series {
		if s.Style == Measured {
			continue
		}
		var x, y []float64
		for k := 0; k < len(s.X); k += min(10, len(s.X)-1) {
			x, y = append(x, s.X[k]), append(y, s.Y[k])
		}
		c.Series[i].X, c.Series[i].Y = x, y
	}
	return c
}

func TestGolden(t *testing.T) {
	used := map[string]bool{}
	for name, theme := range map[string]Theme{"light": Light, "dark": Dark} {
		got := mustSVG(t, goldenChart(theme))
		if got != mustSVG(t, goldenChart(theme)) {
			t.Errorf("%s: equal charts gave different bytes", name)
		}
		file := filepath.Join("testdata", "resonance-"+name+".svg")
		used[file] = true
		if *update {
			if err := os.MkdirAll("testdata", 0o755); err != nil {
				t.Fatal(err)
			}
			if err := os.WriteFile(file, []byte(got), 0o644); err != nil {
				t.Fatal(err)
			}
		}
		want, err := os.ReadFile(file)
		if err != nil {
			t.Fatalf("%v; to make it: go test ./figure -update", err)
		}
		if diff := cmp.Diff(strings.Split(string(want), "\n"), strings.Split(got, "\n")); diff != "" {
			t.Errorf("%s differs (-want +got); look at both, then renew with: go test ./figure -update\n%.2000s", file, diff)
		}
	}
	files, err := filepath.Glob("testdata/*.svg")
	if err != nil {
		t.Fatal(err)
	}
	for _, f := range files {
		if !used[f] {
			t.Errorf("%s is not used by any test", f)
		}
	}
}

func TestTitleAndDescription(t *testing.T) {
	c := sampleChart(Light)
	c.Title = `Gain <of> "A" & B ‖ C`
	title, desc, paths, err := parse(mustSVG(t, c))
	if err != nil {
		t.Fatal(err)
	}
	if title != c.Title {
		t.Errorf("title %q, want %q", title, c.Title)
	}
	for _, want := range []string{"insertion gain, dB", "frequency, MHz", "now: 701 points", "Marked: peak", "uncertainty"} {
		if !strings.Contains(desc, want) {
			t.Errorf("description %q lacks %q", desc, want)
		}
	}
	found := map[string]bool{}
	for _, p := range paths {
		found[p.text] = true
	}
	for _, want := range []string{c.Title, "now", "straight through", "measured m07", "image", "−20", "2.5", "frequency, MHz"} {
		if !found[want] {
			t.Errorf("text %q is not drawn", want)
		}
	}
	c.Description = "own words"
	if _, desc, _, _ := parse(mustSVG(t, c)); desc != "own words" {
		t.Errorf("description %q, want the chart's own", desc)
	}
}

// Nothing in the file may need a font, a style sheet, a script or an identifier.
func TestSVGStandsAlone(t *testing.T) {
	svg := mustSVG(t, sampleChart(Light))
	for _, bad := range []string{"<text", "font", "style=", "<style", "<script", "href", " id=", "NaN", "Inf"} {
		if strings.Contains(strings.Split(svg, "</desc>")[1], bad) {
			t.Errorf("%q in the SVG", bad)
		}
	}
}

// laidOut returns the page once every label has its place, before it is drawn.
func laidOut(t *testing.T, c Chart) *page {
	t.Helper()
	c, err := c.check()
	if err != nil {
		t.Fatal(err)
	}
	inLegend, inNotes := map[int]bool{}, map[int]bool{}
	for range 6 {
		p := c.layOut(inLegend, inNotes)
		if p.placeLabels(inLegend, inNotes, false) {
			return p
		}
	}
	t.Fatal("labels do not settle")
	return nil
}

// Labels inside the frame keep clear of every line, of each other, and of the peaks.
func TestLabelsKeepClear(t *testing.T) {
	labels := 0
	for _, size := range [][2]float64{{960, 540}, {720, 480}, {480, 360}, {320, 240}} {
		c := sampleChart(Light)
		c.Width, c.Height = size[0], size[1]
		p := laidOut(t, c)
		boxes := append(append([]label{}, p.names...), p.marks...)
		for i, l := range boxes {
			labels++
			if !p.frame.contains(l.box) {
				t.Errorf("%v: label %q leaves the frame", size, l.text)
			}
			for _, other := range boxes[:i] {
				if l.box.overlaps(other.box) {
					t.Errorf("%v: labels %q and %q overlap", size, l.text, other.text)
				}
			}
			for s, runs := range p.runs {
				for _, run := range runs {
					for k := 1; k < len(run); k++ {
						if _, _, hit := clipSegment(run[k-1], run[k], l.box); hit {
							t.Errorf("%v: label %q lies on series %d", size, l.text, s)
						}
					}
				}
				if top, ok := peak(runs); ok && top.overlaps(l.box) {
					t.Errorf("%v: label %q covers the peak of series %d", size, l.text, s)
				}
			}
			for _, dots := range p.dots {
				for _, q := range dots {
					if l.box.overlaps(rect{q.x, q.y, q.x, q.y}.grow(dotRadius)) {
						t.Errorf("%v: label %q lies on a dot", size, l.text)
					}
				}
			}
		}
	}
	if labels < 8 {
		t.Errorf("only %d labels were placed at all", labels)
	}
}

// A label would rather stand at the right end of its line; where the peak is there it makes room for it.
func TestLabelLeavesThePeak(t *testing.T) {
	for _, c := range []struct {
		name string
		y    []float64
		far  bool
	}{{"falling", []float64{-1, -2}, true}, {"rising", []float64{-2, -1}, false}} {
		p := laidOut(t, Chart{Y: Axis{Min: -20, Max: 5}, Series: []Series{{Name: "now", X: []float64{1, 2}, Y: c.y, Style: Now}}})
		if len(p.names) != 1 {
			t.Fatalf("%s: %d labels at the line, want 1", c.name, len(p.names))
		}
		room := p.frame.x1 - p.names[0].box.x1
		if far := room < 20; far != c.far {
			t.Errorf("%s: the label ends %g pixels from the right", c.name, room)
		}
	}
}

// Every series name is on the page, at its line or in the legend, and every mark's label, in the frame or in the notes.
func TestNoLabelIsLost(t *testing.T) {
	c := sampleChart(Light)
	c.Width, c.Height = 640, 420
	x := grid(0.5e6, 4e6, 50)
	for i := range 6 {
		c.Series = append(c.Series, Series{Name: fmt.Sprintf("plain %d", i), X: x, Y: mapped(x, func(f float64) float64 {
			return -50 + 3*float64(i)*math.Sin(f/1e5)
		})})
	}
	for i := range 14 {
		c.Marks = append(c.Marks, Mark{2.131e6 + 1e3*float64(i), fmt.Sprintf("crowd %c", 'a'+i)})
	}
	var drawn strings.Builder
	_, _, paths, err := parse(mustSVG(t, c))
	if err != nil {
		t.Fatal(err)
	}
	spilled := false
	for _, p := range paths {
		drawn.WriteString(p.text + "\n")
		spilled = spilled || p.class == "kw-note" && strings.Contains(p.text, "crowd")
	}
	if !spilled {
		t.Error("every mark found room in the frame: the test misses its aim")
	}
	checked := 0
	for _, s := range c.Series {
		checked++
		if !strings.Contains(drawn.String(), s.Name) {
			t.Errorf("series %q is not named", s.Name)
		}
	}
	for _, m := range c.Marks {
		checked++
		if !strings.Contains(drawn.String(), m.Label) {
			t.Errorf("mark %q is not named", m.Label)
		}
	}
	if checked != 26 {
		t.Errorf("%d names checked, want 26", checked)
	}
}

// A trace of 100 000 points with one sample out of line: the file stays small and the spike stays in the picture.
func TestHugeTraces(t *testing.T) {
	const n = 100000
	x := grid(1e6, 2e6, n)
	for _, style := range []Style{Now, Measured} {
		for _, gaps := range []int{0, 2, 5} {
			y := mapped(x, func(f float64) float64 { return math.Sin(f * f) })
			if gaps > 0 {
				for i := 0; i < n; i += gaps {
					y[i] = math.NaN()
				}
			}
			y[n/2+1] = 9
			c := Chart{Y: Axis{Min: -10, Max: 10}, Series: []Series{{X: x, Y: y, Style: style}}}
			svg := mustSVG(t, c)
			if len(svg) > 120_000 {
				t.Errorf("%v, gaps %d: %d bytes of SVG", style, gaps, len(svg))
			}
			f := frameOf(t, svg)
			highest := math.Inf(1)
			for _, e := range byClass(t, svg, "kw-series kw-"+style.String()) {
				for _, run := range vertices(e.data) {
					for _, q := range run {
						highest = min(highest, q.y)
					}
				}
			}
			if want := f.y1 - 19.0/20*f.height(); math.Abs(highest-want) > 0.02 {
				t.Errorf("%v, gaps %d: highest at %g, want the spike at %g", style, gaps, highest, want)
			}
		}
	}
}

// An automatic Y range looks at what the X range shows, also of a line whose points both lie outside.
func TestAutomaticRange(t *testing.T) {
	c := Chart{X: Axis{Min: 4, Max: 6}, Series: []Series{
		{X: []float64{0, 10}, Y: []float64{0, 100}},
		{X: []float64{1, 5, 9}, Y: []float64{-1e6, 50, 1e6}, Style: Measured},
	}}
	_, _, lo, hi := c.extent()
	if lo != 40 || hi != 60 {
		t.Errorf("range %g to %g, want 40 to 60", lo, hi)
	}
	c.X.Log = true
	c.Series[0].X = []float64{1, 16}
	if _, _, lo, hi := c.extent(); lo != 50 || math.Abs(hi-100*math.Log2(6)/4) > 1e-9 { // half of the octaves lie below 4
		t.Errorf("range %g to %g on a logarithmic X axis, want 50 to %g", lo, hi, 100*math.Log2(6)/4)
	}
	c.X.Log = false
	c.Series[0].X = []float64{0, 10}
	c.Series[0].Y = []float64{1, 100}
	c.Y.Log = true
	if _, _, lo, _ := c.extent(); math.Abs(lo-math.Pow(10, 0.8)) > 1e-9 { // 10^(2·4/10)
		t.Errorf("low end %g, want %g", lo, math.Pow(10, 0.8))
	}
}

func text(t *rapid.T, name string) string {
	if rapid.IntRange(0, 9).Draw(t, name+" long") == 0 {
		return strings.Repeat(rapid.String().Draw(t, name)+" word", 200)
	}
	return rapid.String().Draw(t, name)
}

// No chart panics; one that draws gives well-formed XML with everything inside the frame, one that does not gives an *Error.
func TestAnyChart(t *testing.T) {
	drawn, refused := 0, 0
	ordinary := rapid.Float64Range(-100, 100)
	value := rapid.OneOf(ordinary, ordinary, rapid.Float64Range(-1e99, 1e99),
		rapid.SampledFrom([]float64{0, math.NaN(), math.Inf(1), math.Inf(-1), 1e-320, 1e99, -1e99, 1e-99, 50, 50}))
	rapid.Check(t, func(t *rapid.T) {
		axis := func(name string) Axis {
			a := Axis{
				Label: text(t, name), Unit: rapid.SampledFrom([]string{"", "Hz", "dB", "Ω"}).Draw(t, name+" unit"),
				Log: rapid.IntRange(0, 3).Draw(t, name+" log") == 0,
			}
			if rapid.IntRange(0, 3).Draw(t, name+" limits") == 0 {
				a.Min = value.Draw(t, name+" min")
				a.Max = a.Min + math.Abs(value.Draw(t, name+" span"))
				if rapid.IntRange(0, 9).Draw(t, name+" reversed") == 0 {
					a.Min, a.Max = a.Max, a.Min
				}
			}
			return a
		}
		c := Chart{
			Title: text(t, "title"), Subtitle: text(t, "subtitle"), X: axis("X"), Y: axis("Y"),
			Theme: Theme(rapid.IntRange(0, 1).Draw(t, "theme")),
		}
		if rapid.Bool().Draw(t, "sized") {
			c.Width = rapid.Float64Range(minWidth, 1500).Draw(t, "width")
			c.Height = rapid.Float64Range(minHeight, 900).Draw(t, "height")
		}
		for range rapid.IntRange(0, 8).Draw(t, "series") {
			s := Series{Name: text(t, "name"), Style: Style(rapid.IntRange(0, 4).Draw(t, "style"))}
			x := rapid.Float64Range(-1, 1e7).Draw(t, "from")
			for range rapid.IntRange(1, 30).Draw(t, "points") {
				x += rapid.Float64Range(1e-3, 1e6).Draw(t, "step")
				s.X, s.Y = append(s.X, x), append(s.Y, value.Draw(t, "y"))
				if last := &s.Y[len(s.Y)-1]; c.Y.Log && (*last != 0 || rapid.IntRange(0, 99).Draw(t, "zero") > 0) {
					*last = math.Abs(*last) + 1e-9
				}
			}
			c.Series = append(c.Series, s)
		}
		for range rapid.IntRange(0, 6).Draw(t, "marks") {
			c.Marks = append(c.Marks, Mark{rapid.Float64Range(-1e6, 2e7).Draw(t, "mark"), text(t, "mark label")})
		}
		for range rapid.IntRange(0, 30).Draw(t, "notes") {
			c.Notes = append(c.Notes, text(t, "note"))
		}
		var b bytes.Buffer
		if err := c.SVG(&b); err != nil {
			var typed *Error
			if !errors.As(err, &typed) || b.Len() > 0 {
				t.Fatalf("error %v of type %T after %d bytes", err, err, b.Len())
			}
			refused++
			return
		}
		drawn++
		_, _, paths, err := parse(b.String())
		if err != nil {
			t.Fatalf("not well-formed: %v", err)
		}
		var f rect
		for _, p := range paths {
			if p.class == "kw-frame" {
				v := vertices(p.data)[0]
				f = rect{v[0].x, v[0].y, v[2].x, v[2].y}
			}
		}
		if f.width() < 60 || f.height() < 25 {
			t.Fatalf("frame %v leaves no room for the lines", f)
		}
		for _, p := range paths {
			if strings.Contains(p.data, "NaN") || strings.Contains(p.data, "Inf") {
				t.Fatalf("%s has no finite path", p.class)
			}
			if !strings.HasPrefix(p.class, "kw-series") {
				continue
			}
			for _, run := range vertices(p.data) {
				for _, q := range run {
					if !f.grow(dotRadius + 0.01).contains(rect{q.x, q.y, q.x, q.y}) {
						t.Fatalf("%s has %v outside the frame %v", p.class, q, f)
					}
				}
			}
		}
		for _, write := range []func(io.Writer) error{c.PNG, c.PDF} {
			if rapid.IntRange(0, 9).Draw(t, "format") == 0 {
				if err := write(io.Discard); err != nil {
					t.Fatal(err)
				}
			}
		}
	})
	if drawn < 20 || refused < 5 {
		t.Errorf("%d charts drawn and %d refused: the generator misses its aim", drawn, refused)
	}
	t.Logf("%d charts drawn, %d refused", drawn, refused)
}

func BenchmarkSVG(b *testing.B) {
	c := sampleChart(Light)
	b.ReportAllocs()
	for b.Loop() {
		if err := c.SVG(io.Discard); err != nil {
			b.Fatal(err)
		}
	}
}

func BenchmarkPNG(b *testing.B) {
	c := sampleChart(Light)
	b.ReportAllocs()
	for b.Loop() {
		if err := c.PNG(io.Discard); err != nil {
			b.Fatal(err)
		}
	}
}
