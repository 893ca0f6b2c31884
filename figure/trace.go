package figure

import "math"

// frame is the plot area on the page with its two axes.
type frame struct {
	rect
	x, y scale
}

// beyond bounds page coordinates of far-away values, so that clipping never meets an infinity.
const beyond = 1e9

func (f frame) place(x, y float64) point {
	return point{
		x: f.x0 + max(-beyond, min(beyond, f.x.at(x)*f.width())),
		y: f.y1 - max(-beyond, min(beyond, f.y.at(y)*f.height())),
	}
}

// markAt returns the place of a mark across the page, and whether it is inside the frame.
func (f frame) markAt(m Mark) (float64, bool) {
	if f.x.log && m.X <= 0 {
		return 0, false
	}
	x := f.place(m.X, f.y.lo).x
	return x, x >= f.x0 && x <= f.x1
}

// runs returns the line of a series on the page: one run of points for each stretch between gaps, reduced to what the pixels
// can show and clipped to the frame. A run of one point is a value standing alone.
func (f frame) runs(s Series) [][]point {
	// Points outside the X range matter only as the far ends of the lines that enter it.
	first, last := 0, len(s.X)-1
	for first+1 <= last && s.X[first+1] < f.x.lo {
		first++
	}
	for last-1 >= first && s.X[last-1] > f.x.hi {
		last--
	}
	var runs [][]point
	var run []point
	for i := first; i <= last; i++ {
		if !finite(s.Y[i]) {
			if run != nil {
				runs = append(runs, run)
				run = nil
			}
			continue
		}
		run = append(run, f.place(s.X[i], s.Y[i]))
	}
	if run != nil {
		runs = append(runs, run)
	}
	if last-first+1 > 3*int(f.width()) {
		runs = reduce(runs)
	}
	return clip(runs, f.rect)
}

// reduce keeps the first, lowest, highest and last point of each pixel column, in their order: the picture of the line is
// the same, and a spike of one sample survives. Gaps narrower than a pixel are closed, since they cannot be seen.
func reduce(runs [][]point) [][]point {
	var joined [][]point
	for _, run := range runs {
		if n := len(joined); n > 0 {
			before := joined[n-1]
			if math.Floor(before[len(before)-1].x) == math.Floor(run[0].x) {
				joined[n-1] = append(before, run...)
				continue
			}
		}
		joined = append(joined, run)
	}
	for i, run := range joined {
		var kept []point
		for a := 0; a < len(run); {
			column := math.Floor(run[a].x)
			b, low, high := a, a, a
			for ; b < len(run) && math.Floor(run[b].x) == column; b++ {
				if run[b].y < run[low].y {
					low = b
				}
				if run[b].y > run[high].y {
					high = b
				}
			}
			previous := -1
			for _, k := range [...]int{a, min(low, high), max(low, high), b - 1} {
				if k > previous {
					kept = append(kept, run[k])
					previous = k
				}
			}
			a = b
		}
		joined[i] = kept
	}
	return joined
}

// clip cuts the runs at the box; a run that leaves and comes back becomes two.
func clip(runs [][]point, box rect) [][]point {
	var out [][]point
	for _, run := range runs {
		if len(run) == 1 {
			if q := run[0]; q.x >= box.x0 && q.x <= box.x1 && q.y >= box.y0 && q.y <= box.y1 {
				out = append(out, run)
			}
			continue
		}
		var current []point
		for i := 1; i < len(run); i++ {
			a, b, ok := clipSegment(run[i-1], run[i], box)
			if !ok {
				continue
			}
			if len(current) == 0 || current[len(current)-1] != a {
				if len(current) > 1 {
					out = append(out, current)
				}
				current = []point{a}
			}
			if b != a {
				current = append(current, b)
			}
		}
		if len(current) > 1 {
			out = append(out, current)
		}
	}
	return out
}

// clipSegment cuts a segment at the box by the parametric method of Liang and Barsky (ACM Transactions on Graphics 3, 1984):
// each side of the box bounds the parameter from below or above. It reports whether anything is left.
func clipSegment(a, b point, box rect) (point, point, bool) {
	t0, t1 := 0.0, 1.0
	dx, dy := b.x-a.x, b.y-a.y
	for _, side := range [...][2]float64{{-dx, a.x - box.x0}, {dx, box.x1 - a.x}, {-dy, a.y - box.y0}, {dy, box.y1 - a.y}} {
		p, q := side[0], side[1]
		if p == 0 {
			if q < 0 {
				return a, b, false
			}
			continue
		}
		if t := q / p; p < 0 {
			t0 = max(t0, t)
		} else {
			t1 = min(t1, t)
		}
	}
	if t0 > t1 {
		return a, b, false
	}
	start, end := a, b
	if t0 > 0 {
		start = point{a.x + t0*dx, a.y + t0*dy}
	}
	if t1 < 1 {
		end = point{a.x + t1*dx, a.y + t1*dy}
	}
	return start, end, true
}

// dots returns the measured points inside the frame. Where there are more of them than can be told apart, the highest and
// lowest of each dot's width are kept.
func (f frame) dots(s Series) []point {
	var out []point
	for i, x := range s.X {
		if !finite(s.Y[i]) {
			continue
		}
		if q := f.place(x, s.Y[i]); q.x >= f.x0 && q.x <= f.x1 && q.y >= f.y0 && q.y <= f.y1 {
			out = append(out, q)
		}
	}
	columns := int(f.width()/(2*dotRadius)) + 1
	if len(out) <= 2*columns {
		return out
	}
	type extremes struct{ low, high int }
	seen := make(map[int]extremes, columns)
	for i, q := range out {
		c := int((q.x - f.x0) / (2 * dotRadius))
		e, ok := seen[c]
		if !ok {
			e = extremes{i, i}
		}
		if q.y < out[e.low].y {
			e.low = i
		}
		if q.y > out[e.high].y {
			e.high = i
		}
		seen[c] = e
	}
	var kept []point
	for c := range columns {
		if e, ok := seen[c]; ok {
			kept = append(kept, out[e.low])
			if e.high != e.low {
				kept = append(kept, out[e.high])
			}
		}
	}
	return kept
}

// extent returns the automatic ends of the two axes, or the given ones.
func (c Chart) extent() (xlo, xhi, ylo, yhi float64) {
	xlo, xhi = math.Inf(1), math.Inf(-1)
	for _, s := range c.Series {
		for _, x := range s.X {
			xlo, xhi = min(xlo, x), max(xhi, x)
		}
	}
	if c.X.Min < c.X.Max {
		xlo, xhi = c.X.Min, c.X.Max
	}
	if c.Y.Min < c.Y.Max {
		return xlo, xhi, c.Y.Min, c.Y.Max
	}
	// The values inside the X range count; if there are none, all of them.
	ylo, yhi = math.Inf(1), math.Inf(-1)
	for _, everywhere := range [...]bool{false, true} {
		for _, s := range c.Series {
			for i, y := range s.Y {
				if !finite(y) {
					continue
				}
				if everywhere || s.X[i] >= xlo && s.X[i] <= xhi {
					ylo, yhi = min(ylo, y), max(yhi, y)
				}
				if i > 0 && s.Style != Measured && finite(s.Y[i-1]) {
					// A line that crosses an end of the X range is inside from there on.
					for _, x := range [...]float64{xlo, xhi} {
						if s.X[i-1] < x && x < s.X[i] {
							v := between(s, i, x, c.X.Log, c.Y.Log)
							ylo, yhi = min(ylo, v), max(yhi, v)
						}
					}
				}
			}
		}
		if ylo <= yhi {
			break
		}
	}
	return xlo, xhi, ylo, yhi
}

// between returns the value at x of the line drawn from point i-1 to point i, straight on the axes as they are.
func between(s Series, i int, x float64, logX, logY bool) float64 {
	x0, x1, y0, y1 := s.X[i-1], s.X[i], s.Y[i-1], s.Y[i]
	t := (x - x0) / (x1 - x0)
	if logX {
		t = math.Log(x/x0) / math.Log(x1/x0)
	}
	if logY {
		return y0 * math.Pow(y1/y0, t)
	}
	return y0 + t*(y1-y0)
}

// margin opens an automatic Y range a little, so that no line runs along the frame. A quantity that is never negative keeps
// zero as its lowest end.
func margin(lo, hi float64, log bool) (float64, float64) {
	const share = 0.03
	if log {
		m := math.Pow(hi/lo, share)
		return lo / m, hi * m
	}
	m := share * (hi - lo)
	if lo >= 0 && lo < m {
		return 0, hi + m
	}
	return lo - m, hi + m
}
