package tune

import (
	"math"
)

// goal is an aim at one frequency, as numbers: the largest score over a limit on |H|² at the frequency.
type goal struct {
	frequencies []float64 // Hz; the first is the one tuned to
	insertion   bool      // powers are insertion gains, not |H|²
	floor       float64   // least |H|² at the frequency
	exact       bool      // |H|² is the floor itself
	jumps       bool      // the score jumps, as a passband does where a dip beside it comes inside
	lows        []int     // frequencies whose least power along a line is worth a look
	// score is the larger the better, of powers at the frequencies.
	score func(power func(k int) float64) float64
}

// Where the Level aim looks for rejection, as parts of the frequency, and between these for what is stronger than the wanted
// frequency: the band-pass is to stay, not to be left on its skirt.
var (
	sides  = []float64{0.8, 1.2}
	inside = []float64{
		0.85, 0.9, 0.932, 0.954, 0.97, 0.98, 0.9865, 0.991, 0.994, 0.996,
		1.004, 1.006, 1.009, 1.0135, 1.02, 1.03, 1.046, 1.068, 1.1, 1.15,
	}
)

// What lies inside may be stronger than the wanted frequency by half (3 dB); what is more counts with this power.
const (
	tolerated = 2
	severity  = 4
)

// attenuating is the goal of a wanted level with the band-pass kept: rejection beside it, less what is stronger inside.
func (w *work) attenuating(f float64) *goal {
	far, near := w.only(f*sides[0], f*sides[1]), []float64(nil)
	for _, part := range inside {
		near = append(near, w.only(f*part)...)
	}
	g := rejecting(f, far)
	g.frequencies = append(g.frequencies, near...)
	beside := g.score
	g.score = func(power func(int) float64) float64 {
		most := 0.0
		for k := range near {
			most = max(most, power(1+len(far)+k)/power(0))
		}
		return beside(power) * skirt(most)
	}
	return g
}

// skirt is the factor for what is stronger inside, as a ratio of powers.
func skirt(most float64) float64 {
	if most <= tolerated {
		return 1
	}
	return math.Pow(tolerated/most, severity)
}

// mostRejection is the largest rejection that counts, in dB: more is below any noise, and a lossless zero has no end.
const mostRejection = 200

// rejecting is the goal of rejecting frequencies, as a ratio of powers.
func rejecting(f float64, reject []float64) *goal {
	g := &goal{frequencies: append([]float64{f}, reject...)}
	for k := range reject {
		g.lows = append(g.lows, k+1)
	}
	most := ratio(mostRejection)
	g.score = func(power func(int) float64) float64 {
		worst, wanted := most, power(0)
		for k := range reject {
			worst = min(worst, wanted/power(k+1))
		}
		return worst
	}
	return g
}

// only keeps the frequencies at which the box can be computed.
func (w *work) only(f ...float64) (all []float64) {
	for _, f := range f {
		if w.covered(f) {
			all = append(all, f)
		}
	}
	return all
}

// How far a passband is followed, as parts of the frequency, and by what ratio its distances from the frequency grow from
// point to point: in the search, and for the figure that is told.
const (
	bandLow, bandHigh    = 0.25, 4.0
	firstStep            = 2e-5
	searching, measuring = 1.25, 1.05
)

// halfPower is the ratio of powers at the edge of a passband.
const halfPower = 2

// reach is how far the box can be followed from f towards an end (a part of f) without leaving measured files, in Hz.
func (w *work) reach(f, end float64) float64 {
	if w.covered(f * end) {
		return f * end
	}
	in, out := f, f*end
	for range 60 {
		if middle := in + (out-in)/2; w.covered(middle) {
			in = middle
		} else {
			out = middle
		}
	}
	return in
}

// outwards lists distances in Hz from f to an end of what is followed (a part of f).
func (w *work) outwards(f, end, growth float64) (all []float64) {
	limit := math.Abs(w.reach(f, end) - f)
	for d := firstStep * f; d < limit; d *= growth {
		all = append(all, d)
	}
	if limit > 0 {
		all = append(all, limit)
	}
	return all
}

// widening is the goal of a wide passband.
func (w *work) widening(f float64) *goal {
	g := &goal{frequencies: []float64{f}, insertion: true, jumps: true}
	below, above := w.outwards(f, bandLow, searching), w.outwards(f, bandHigh, searching)
	for _, d := range below {
		g.frequencies = append(g.frequencies, f-d)
	}
	for _, d := range above {
		g.frequencies = append(g.frequencies, f+d)
	}
	g.score = func(power func(int) float64) float64 {
		wanted := power(0)
		relative := func(first int) func(int) float64 {
			return func(i int) float64 { return wanted / power(first+i) }
		}
		return edge(below, relative(1)) + edge(above, relative(1+len(below)))
	}
	return g
}

// steepest bounds the ratio at a point outside: beyond, only that it lies outside counts.
const steepest = 100

// grazing is how far inside the limits a turn of the response must stay, relative, to count as inside: between points it is
// known no better, and beyond it the band may go on for long.
const grazing = 0.003

// edge is how far from the frequency the power first leaves the range from half to double, from its ratios at distances.
// Between points the ratio is taken as a parabola in frequency, which that of a single tuned circuit is.
func edge(distance []float64, at func(i int) float64) float64 {
	x0, y0, x1, y1 := 0.0, 1.0, 0.0, 1.0 // the last two points inside
	for i, x := range distance {
		y := math.Min(at(i), steepest)
		if i > 0 && (y1-y0)*(y-y1) <= 0 { // flat gives NaN, which is inside
			if turn := vertex(x0, y0, x1, y1, x, y); turn > halfPower*(1-grazing) || turn < (1+grazing)/halfPower {
				return x0
			}
		}
		switch {
		case y > halfPower:
			return crossing(x0, y0, x1, y1, x, y, halfPower)
		case !(y >= 1./halfPower):
			return crossing(x0, y0, x1, y1, x, y, 1./halfPower)
		}
		x0, y0, x1, y1 = x1, y1, x, y
	}
	return x1
}

// vertex is the highest or lowest value of the parabola through three points, of which the middle one is it nearly.
func vertex(x0, y0, x1, y1, x2, y2 float64) float64 {
	a, b := (y1-y0)/(x1-x0), (y2-y1)/(x2-x1)
	bend := (b - a) / (x2 - x0)
	slope := a + bend*(x1-x0) // at the middle
	return y1 - slope*slope/(4*bend)
}

// crossing is where the parabola through three points, or the line through the last two where the first two are one,
// crosses a level between the last two.
func crossing(x0, y0, x1, y1, x2, y2, level float64) float64 {
	step := x2 - x1
	slope, bend := (y2-y1)/step, 0.0
	if x0 < x1 {
		bend = (slope - (y1-y0)/(x1-x0)) / (x2 - x0)
	}
	// bend·d² + half·2d + (y1 − level) = 0 for the distance d from x1, without cancellation.
	half := (slope - bend*step) / 2
	q := -(half + math.Copysign(math.Sqrt(max(0, half*half-bend*(y1-level))), half))
	if d := (y1 - level) / q; d >= 0 && d <= step {
		return x1 + d
	}
	if d := q / bend; d >= 0 && d <= step {
		return x1 + d
	}
	return x1 // the level is y1 to the last digit
}

// Points of a span: in the search, and for the ripple that is told.
const spanSearched, spanMeasured = 41, 401

func (s Span) points(n int) []float64 {
	all := make([]float64, n)
	for i := range all {
		all[i] = s.From + (s.To-s.From)*float64(i)/float64(n-1)
	}
	return all
}

// below is the score of a span that falls to a least gain; that of any ripple is more.
const below = -1e12

// flattening is the goal of little ripple over a span, with all of it above a least insertion gain (a ratio). What falls
// below is worse than any ripple, the more the lower.
func flattening(f float64, span Span, least float64) *goal {
	g := &goal{frequencies: append([]float64{f}, span.points(spanSearched)...), insertion: true}
	g.score = func(power func(int) float64) float64 {
		low, high := math.Inf(1), 0.0
		for k := range spanSearched {
			p := power(k + 1)
			low, high = min(low, p), max(high, p)
		}
		if low < least {
			return below * least / low
		}
		return -high / low
	}
	return g
}

// weakening is the goal of the weakest signal.
func weakening(f float64) *goal {
	return &goal{frequencies: []float64{f}, lows: []int{0}, score: func(power func(int) float64) float64 { return -power(0) }}
}
