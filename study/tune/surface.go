package tune

import (
	"context"
	"maps"
	"math"
	"math/cmplx"
	"slices"
	"sort"

	"knobwise/bench/hookup"
	"knobwise/physics/multiaffine"
)

// surface is what a goal looks like over the free axes of one lane. It is scratch of one goroutine.
//
// The settings with signal enough form a thin bent sheet wherever a circuit is sharp, and a search that steps through all
// axes at once falls off it. So one axis is always solved: along it the sheet is one or two intervals with ends in closed
// form, and only the others are searched.
type surface struct {
	lane   *lane
	goal   *goal
	f      []multiaffine.Function // at each frequency of the goal
	weight []float64
	live   []int // the lane's free axes that change anything; the others stay in the middle
	axes   int   // how many

	// The lines through the point at hand, made when they are asked for.
	axis  int
	x     []float64
	lines []line
	ready []bool
	spare [][2]multiaffine.Function
	at    float64
	power func(k int) float64
}

func (a *tuner) surface(l *lane, g *goal) (*surface, error) {
	at := maps.Clone(l.assignment)
	maps.Copy(at, l.every.Combinations[l.combination])
	every, err := hookup.ConnectEvery(a.q.Box, at, a.q.Setup, a.f, a.still)
	if err != nil {
		return nil, err
	}
	n := len(g.frequencies)
	s := &surface{
		lane: l, goal: g, f: make([]multiaffine.Function, n), weight: make([]float64, n),
		lines: make([]line, n), ready: make([]bool, n), spare: make([][2]multiaffine.Function, n), x: make([]float64, len(l.every.Axes)),
	}
	for k, f := range g.frequencies {
		scale, err := every.At(f, func(_ int, h *multiaffine.Function) bool {
			h.Copy(&s.f[k])
			return false
		})
		if err != nil {
			return nil, err
		}
		s.weight[k] = 1
		if g.insertion {
			s.weight[k] = scale.Insertion
		}
	}
	s.power = func(k int) float64 { return s.weight[k] * s.line(k).power(s.at) }
	s.settle()
	return s, nil
}

// settle takes the axes out that change nothing.
func (s *surface) settle() {
	for axis := range s.lane.every.Axes {
		if !s.idle(axis) {
			s.live = append(s.live, axis)
		}
	}
	s.axes = len(s.live)
	var spare multiaffine.Function
	for axis := range slices.Backward(s.lane.every.Axes) {
		if slices.Contains(s.live, axis) {
			continue
		}
		for k := range s.f {
			s.f[k].Fix(axis, 0, &spare)
			s.f[k], spare = spare, s.f[k]
		}
	}
}

// idle reports whether an axis changes nothing at any frequency of the goal, as far as a few places show.
func (s *surface) idle(axis int) bool {
	x := make([]float64, len(s.lane.every.Axes))
	for k := range s.f {
		for i := range 3 {
			scatter(x, i)
			var first complex128
			for j, at := range []float64{-1, 0.31, 1} {
				x[axis] = at
				v := s.f[k].Value(x)
				if j == 0 {
					first = v
				} else if cmplx.Abs(v-first) > alike*cmplx.Abs(first) {
					return false
				}
			}
		}
	}
	return true
}

// reduced are the places of the live axes, expanded those of all free ones.
func (s *surface) reduced(x []float64) []float64 {
	y := make([]float64, s.axes)
	for i, axis := range s.live {
		y[i] = x[axis]
	}
	return y
}

func (s *surface) expanded(p spot) spot {
	x := make([]float64, len(s.lane.every.Axes))
	for i, axis := range s.live {
		x[axis] = p.x[i]
	}
	p.x = x
	return p
}

// look chooses a line.
func (s *surface) look(axis int, x []float64) {
	s.axis = axis
	copy(s.x, x)
	clear(s.ready)
}

// line is the network function at a frequency along the line.
func (s *surface) line(k int) *line {
	if !s.ready[k] {
		s.ready[k] = true
		f, turn := &s.f[k], 0
		for i := s.axes - 1; i >= 0; i-- {
			if i != s.axis {
				f.Fix(i, s.x[i], &s.spare[k][turn])
				f, turn = &s.spare[k][turn], 1-turn
			}
		}
		s.lines[k].set(f)
	}
	return &s.lines[k]
}

func (s *surface) score(at float64) float64 {
	s.at = at
	if v := s.goal.score(s.power); !math.IsNaN(v) {
		return v
	}
	return math.Inf(-1)
}

// Samples of an interval along a line: while many lines are looked through, and while one is solved. A gang, which has no
// closed forms, and a goal that jumps get so many times more.
const quickly, carefully, gangs, jumping = 8, 16, 8, 4

// on is how close to a wanted |H|² an end of the axis must lie to count as on it, relative.
const on = 1e-12

// along is the best place on the line along an axis; ok is false where none has signal enough.
func (s *surface) along(axis int, x []float64, careful bool) (at, score float64, ok bool) {
	s.look(axis, x)
	score = math.Inf(-1)
	try := func(z float64) (better bool) {
		v := s.score(z)
		if v > score {
			at, score, ok = z, v, true
			return true
		}
		return false
	}
	n := quickly
	if careful {
		n = carefully
	}
	if s.line(0).gang != nil {
		n *= gangs
	}
	if s.goal.jumps {
		n *= jumping
	}
	var low, high float64 // about the best
	for _, r := range s.line(0).above(s.goal.floor) {
		if s.goal.exact {
			for _, z := range []float64{r.Low, r.High} {
				if math.Abs(z) < 1 || math.Abs(s.line(0).power(z)-s.goal.floor) <= on*s.goal.floor {
					try(z)
				}
			}
			continue
		}
		step := (r.High - r.Low) / float64(n)
		near := func(z float64) {
			if try(z) {
				low, high = math.Max(r.Low, z-step), math.Min(r.High, z+step)
			}
		}
		for i := range n + 1 {
			near(r.Low + step*float64(i))
		}
		for _, k := range s.goal.lows {
			if z, ok := s.line(k).low(); ok && z > r.Low && z < r.High {
				near(z)
			}
		}
	}
	if ok && careful && !s.goal.exact {
		if z, v := s.golden(low, high); v > score+gain*math.Abs(score) {
			at, score = z, v
		}
	}
	return at, score, ok
}

// gain is by how much a place between samples must be better to count, relative: what the search would otherwise follow is
// rounding, away from the end of a scale.
const gain = 1e-12

// golden looks closer between two places (J. Kiefer, Proc. Am. Math. Soc. 4 (1953) 502-506).
func (s *surface) golden(low, high float64) (at, score float64) {
	const part = 1 / math.Phi
	a, b := high-part*(high-low), low+part*(high-low)
	va, vb := s.score(a), s.score(b)
	for range 40 {
		if va >= vb {
			high, b, vb = b, a, va
			a = high - part*(high-low)
			va = s.score(a)
		} else {
			low, a, va = a, b, vb
			b = low + part*(high-low)
			vb = s.score(b)
		}
	}
	if va >= vb {
		return a, va
	}
	return b, vb
}

// rows is how many positions each axis besides the solved one gets, by the number of these.
var rows = []int{1, 65, 23, 9, 5, 3}

// Starts: how many are followed at all, how many to the end, and how far apart (on at least one axis) they must lie.
const (
	mostStarts, mostEnds = 16, 6
	startsApart          = 0.15
	endsApart            = 0.03
)

// solve lists local optima, the best first; none where no setting of the lane has signal enough.
func (s *surface) solve(ctx context.Context) []spot {
	if s.axes == 0 {
		return s.alone()
	}
	found := s.starts(ctx)
	for _, start := range s.lane.spots {
		x := s.reduced(start.x)
		for axis := range s.axes {
			if at, score, ok := s.along(axis, x, true); ok {
				found = append(found, s.spot(x, axis, at, score))
			}
		}
	}
	found = choose(found, mostStarts, startsApart)
	for i := range found {
		s.polish(ctx, &found[i], startStep, 1e-2)
	}
	found = choose(found, mostEnds, endsApart)
	for i := range found {
		s.polish(ctx, &found[i], 1e-2, 1e-8)
	}
	found = choose(found, mostEnds, endsApart)
	for i := range found {
		found[i] = s.expanded(found[i])
	}
	return found
}

// startStep is the first step of a search from a start.
const startStep = 0.06

// alone is the one spot of a lane without live axes.
func (s *surface) alone() []spot {
	p := s.f[0].Power(nil)
	if p < s.goal.floor || (s.goal.exact && p > s.goal.floor*(1+1e-9)) {
		return nil
	}
	return []spot{s.expanded(spot{s.lane, nil, s.scoreAt(nil)})}
}

func (s *surface) spot(x []float64, axis int, at, score float64) spot {
	p := spot{s.lane, append([]float64(nil), x...), score}
	p.x[axis] = at
	return p
}

// starts looks along every axis with the others on a grid.
func (s *surface) starts(ctx context.Context) (all []spot) {
	n := rows[min(s.axes-1, len(rows)-1)]
	x := make([]float64, s.axes)
	for axis := range s.axes {
		var descend func(depth int)
		descend = func(depth int) {
			switch {
			case ctx.Err() != nil:
			case depth == s.axes:
				if at, score, ok := s.along(axis, x, s.axes == 1); ok {
					all = append(all, s.spot(x, axis, at, score))
				}
			case depth == axis:
				descend(depth + 1)
			default:
				for i := range n {
					x[depth] = 2*float64(i)/float64(n-1) - 1
					descend(depth + 1)
				}
			}
		}
		descend(0)
	}
	return all
}

// choose keeps the best spots that lie apart, the best first.
func choose(all []spot, most int, apart float64) (kept []spot) {
	sort.SliceStable(all, func(i, j int) bool { return all[i].score > all[j].score })
	for _, p := range all {
		near := false
		for _, q := range kept {
			near = near || distance(p.x, q.x) < apart
		}
		if !near {
			kept = append(kept, p)
		}
		if len(kept) == most {
			break
		}
	}
	return kept
}

// distance is the largest difference along any axis.
func distance(a, b []float64) float64 {
	most := 0.0
	for k := range a {
		most = max(most, math.Abs(a[k]-b[k]))
	}
	return most
}

// polish improves a spot: it moves the axes besides one by a step to every side and solves that one again, for each in
// turn, and makes the step smaller where nothing gains.
func (s *surface) polish(ctx context.Context, p *spot, step, least float64) {
	x := make([]float64, s.axes)
	improve := func(axis int) bool {
		at, score, ok := s.along(axis, x, true)
		if !ok || !(score > p.score+gain*math.Abs(p.score)) {
			return false
		}
		copy(p.x, x)
		p.x[axis], p.score = at, score
		return true
	}
	for axis := range s.axes {
		copy(x, p.x)
		improve(axis)
	}
	if s.axes == 1 {
		return
	}
	for rounds := 0; step > least && rounds < 200 && ctx.Err() == nil; rounds++ {
		gained := false
		for axis := range s.axes {
			s.directions(axis, func(way []float64) {
				for k := range x {
					x[k] = math.Max(-1, math.Min(1, p.x[k]+step*way[k]))
				}
				if distance(x, p.x) > 0 && improve(axis) {
					gained = true
				}
			})
		}
		if !gained {
			step /= 2.5
		}
	}
}

// directions are the unit steps of the axes besides one, and the diagonals of each two.
func (s *surface) directions(solved int, visit func(way []float64)) {
	way := make([]float64, s.axes)
	for j := range way {
		if j == solved {
			continue
		}
		for _, a := range []float64{-1, 1} {
			way[j] = a
			visit(way)
			for k := j + 1; k < len(way); k++ {
				if k == solved {
					continue
				}
				for _, b := range []float64{-1, 1} {
					way[k] = b
					visit(way)
				}
				way[k] = 0
			}
			way[j] = 0
		}
	}
}
