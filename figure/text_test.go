package figure

import (
	"math"
	"strings"
	"testing"
	"unicode/utf8"

	"pgregory.net/rapid"
)

// bounds returns the box round the end points of a path and the number of its contours.
func bounds(p path) (rect, int) {
	r := rect{math.Inf(1), math.Inf(1), math.Inf(-1), math.Inf(-1)}
	contours := 0
	for _, s := range p {
		if s.op == closed {
			contours++
			continue
		}
		q := s.p[s.op.last()]
		r = rect{min(r.x0, q.x), min(r.y0, q.y), max(r.x1, q.x), max(r.y1, q.y)}
	}
	return r, contours
}

// The characters of the trade must have outlines of their own in both fonts: not empty, not the box that stands for a
// missing glyph. The shape tells more: a minus is one flat contour, ‖ is two upright ones, ° sits high, µ goes below the line.
func TestOutlinesOfTheTrade(t *testing.T) {
	const characters = "µμΩΩ−φ°‖∥·±²³⁰⁻⁶₀…×"
	checked := 0
	for _, f := range []face{{size: 100}, {bold: true, size: 100}} {
		missing, _ := bounds(f.outline("日", 0, 0))
		for _, r := range characters {
			p := f.outline(string(r), 0, 0)
			box, contours := bounds(p)
			if contours == 0 || box == missing {
				t.Errorf("bold %v: %c (%U) has no outline", f.bold, r, r)
				continue
			}
			checked++
			switch r {
			case '−':
				if contours != 1 || box.height() > 20 || box.width() < 30 {
					t.Errorf("minus: %d contours in %v", contours, box)
				}
			case '‖', '∥':
				if contours != 2 || box.height() < 2*box.width() {
					t.Errorf("parallel: %d contours in %v", contours, box)
				}
			case '°':
				if box.y1 > -30 {
					t.Errorf("degree sign reaches down to %g", box.y1)
				}
			case 'µ':
				if box.y1 < 10 {
					t.Errorf("micro sign ends at %g, above its descender", box.y1)
				}
			case '⁶', '⁻':
				if box.y1 > -20 {
					t.Errorf("%c is not raised: %v", r, box)
				}
			case '₀':
				if box.y1 < 5 {
					t.Errorf("%c is not lowered: %v", r, box)
				}
			}
		}
	}
	if want := 2 * utf8.RuneCountInString(characters); checked != want {
		t.Errorf("%d characters checked, want %d", checked, want)
	}
}

// Outlines of a text are those of its parts side by side, scale with the size, and have the width that was measured.
func TestOutlineGeometry(t *testing.T) {
	small, large := face{size: 10}, face{size: 30}
	if a, b := 3*small.width("50 Ω ‖ 20 pF"), large.width("50 Ω ‖ 20 pF"); math.Abs(a-b) > 1e-9 {
		t.Errorf("widths %g and %g do not scale", a, b)
	}
	box, _ := bounds(large.outline("HHH", 100, 200))
	if box.x0 < 100 || box.x1 > 100+large.width("HHH") || math.Abs(box.y1-200) > 0.01 || math.Abs(box.height()-ascent*30) > 1.5 {
		t.Errorf("HHH at 100, 200 covers %v", box)
	}
}

func TestWrap(t *testing.T) {
	f := face{size: 12}
	rapid.Check(t, func(t *rapid.T) {
		s := rapid.OneOf(rapid.String(), rapid.StringMatching(`([a-zµΩ]{1,30} )*`)).Draw(t, "text")
		limit := rapid.Float64Range(20, 400).Draw(t, "limit")
		most := rapid.IntRange(1, 4).Draw(t, "lines")
		lines := f.wrap(s, limit, most)
		if len(lines) > most {
			t.Fatalf("%d lines, want at most %d", len(lines), most)
		}
		for _, l := range lines {
			if w := f.width(l); w > limit {
				t.Fatalf("line %q is %g wide, limit %g", l, w, limit)
			}
		}
		joined := strings.Join(lines, " ")
		if whole := strings.Join(strings.Fields(s), " "); joined != whole && !strings.HasSuffix(joined, ellipsis) {
			t.Fatalf("%q became %q without an ellipsis", whole, joined)
		}
	})
	if got := f.wrap(strings.Repeat("endless", 1_000_000), 200, 2); len(got) != 1 || !strings.HasSuffix(got[0], ellipsis) {
		t.Errorf("endless word gave %q", got)
	}
}
