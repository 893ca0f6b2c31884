package figure

import "math"

// envelope is the highest and lowest place of a line in each pixel column of the frame: what labels must keep clear of.
type envelope struct {
	left     float64
	top, low []float64 // +Inf and -Inf where the line has a gap
}

func newEnvelope(f frame) *envelope {
	n := int(f.width()) + 2
	e := &envelope{left: f.x0, top: make([]float64, n), low: make([]float64, n)}
	for i := range n {
		e.top[i], e.low[i] = math.Inf(1), math.Inf(-1)
	}
	return e
}

// segment adds a line from a to b, a left of b or above it.
func (e *envelope) segment(a, b point) {
	first, last := e.column(a.x), e.column(b.x)
	for c := first; c <= last; c++ {
		ya, yb := a.y, b.y
		if b.x > a.x {
			slope := (b.y - a.y) / (b.x - a.x)
			ya = a.y + slope*(max(a.x, e.left+float64(c))-a.x)
			yb = a.y + slope*(min(b.x, e.left+float64(c)+1)-a.x)
		}
		e.top[c] = min(e.top[c], ya, yb)
		e.low[c] = max(e.low[c], ya, yb)
	}
}

func (e *envelope) column(x float64) int {
	return max(0, min(len(e.top)-1, int(x-e.left)))
}

// band returns the extent of the line between x0 and x1, and whether it is there without a gap.
func (e *envelope) band(x0, x1 float64) (top, low float64, whole bool) {
	top, low, whole = math.Inf(1), math.Inf(-1), true
	for c := e.column(x0); c <= e.column(x1); c++ {
		top, low = min(top, e.top[c]), max(low, e.low[c])
		whole = whole && e.top[c] <= e.low[c]
	}
	return top, low, whole
}

// touches reports whether the line comes into the box.
func (e *envelope) touches(r rect) bool {
	for c := e.column(r.x0); c <= e.column(r.x1); c++ {
		if e.top[c] <= r.y1 && e.low[c] >= r.y0 {
			return true
		}
	}
	return false
}

// table holds all that stands in the frame already.
type table struct {
	frame rect
	lines []*envelope
	boxes []rect // labels, marks, dots, and the surroundings of peaks
}

func (t *table) free(r rect, clearance float64) bool {
	if !t.frame.contains(r) {
		return false
	}
	r = r.grow(clearance)
	for _, b := range t.boxes {
		if b.overlaps(r) {
			return false
		}
	}
	for _, e := range t.lines {
		if e.touches(r) {
			return false
		}
	}
	return true
}

const (
	labelGap     = 5.0  // from a label to its own line
	labelClear   = 9.0  // from a label to anything else, so that it is plain which line it names
	steepest     = 14.0 // rise of the line along its label
	ascent       = 0.73 // height of capitals, in font sizes
	descent      = 0.22
	peakHalf     = 26.0 // half width of the surroundings of a peak that stay clear
	peakAbove    = 16.0
	peakBelow    = 10.0
	frameInset   = 8.0
	manyToPlace  = 40 // labels beyond this number go straight to the legend or the notes
	labelSamples = 60
)

// peak returns the surroundings of the highest point of a line, which no label may enter.
func peak(runs [][]point) (rect, bool) {
	best := point{y: math.Inf(1)}
	lowest := math.Inf(-1)
	for _, run := range runs {
		for _, q := range run {
			if q.y < best.y {
				best = q
			}
			lowest = max(lowest, q.y)
		}
	}
	if lowest-best.y < 1 {
		return rect{}, false // a level line has no peak
	}
	return rect{best.x - peakHalf, best.y - peakAbove, best.x + peakHalf, best.y + peakBelow}, true
}

// besideLine looks for a place for a label of the given width and font size directly at its own line: above or below a stretch that
// is nearly level, preferably far to the right.
func (t *table) besideLine(own *envelope, width, size float64) (rect, bool) {
	var best rect
	bestScore := math.Inf(-1)
	up, down := ascent*size, descent*size
	span := t.frame.width() - 2*frameInset - width
	if span < 0 {
		return best, false
	}
	for i := range labelSamples {
		x0 := t.frame.x1 - frameInset - width - span*float64(i)/(labelSamples-1)
		top, low, whole := own.band(x0-2, x0+width+2)
		if !whole || low-top > steepest {
			continue
		}
		for _, above := range [...]bool{true, false} {
			r := rect{x0, top - labelGap - up - down, x0 + width, top - labelGap}
			score := -0.6*float64(i) - (low - top)
			if !above {
				r.y0, r.y1 = low+labelGap, low+labelGap+up+down
				score -= 3
			}
			if score > bestScore && t.freeBut(own, r) {
				best, bestScore = r, score
			}
		}
	}
	return best, !math.IsInf(bestScore, -1)
}

// freeBut is free with a wide clearance to everything but the label's own line.
func (t *table) freeBut(own *envelope, r rect) bool {
	if own.touches(r.grow(labelGap - 1)) {
		return false
	}
	others := table{frame: t.frame, boxes: t.boxes}
	for _, e := range t.lines {
		if e != own {
			others.lines = append(others.lines, e)
		}
	}
	return others.free(r, labelClear)
}

// besideMark looks for a place for a label at the vertical line at x: right of it before left, low before high.
func (t *table) besideMark(x, width, size float64) (rect, bool) {
	const gap, step = 6.0, 4.0
	up, down := ascent*size, descent*size
	for y := t.frame.y1 - 6; y-up-down > t.frame.y0+frameInset; y -= step {
		for _, x0 := range [...]float64{x + gap, x - gap - width} {
			if r := (rect{x0, y - up - down, x0 + width, y}); t.free(r, 3) {
				return r, true
			}
		}
	}
	return rect{}, false
}
