package multiaffine

import (
	"math"
	"sort"
)

// Apart says which local maxima are worth telling apart.
type Apart struct {
	Count    int     // at most so many
	Share    float64 // of the highest power, 0 to 1: lower maxima are left out
	Distance float64 // in x, on at least one axis: of nearer ones the highest stands for all
}

// Maxima lists local maxima of |H|² over all axes, the highest first: settings that may be practically as good as the
// best and lie elsewhere. They are found from the rows of a coarse search, so one that is narrower than its grid along an
// outer axis may be missed; along the row none is. Known settings, such as the proven Maximum, join the list.
func (s *Searcher) Maxima(f *Function, e Effort, a Apart, known ...Point) []Point {
	s.load(f)
	e = e.settled(s.outer)
	found := append([]Point(nil), known...)
	for part, starts := range s.starts(e.Rows) {
		for _, i := range starts {
			y := make([]float64, s.outer)
			s.outerAt(i, e.Rows, y)
			if part == onRow {
				found = append(found, s.point(y, s.climb(y)))
			} else {
				found = append(found, s.alongEnd(y, ends[part]))
			}
		}
	}
	sort.SliceStable(found, func(i, j int) bool { return found[i].Power > found[j].Power })
	var kept []Point
	for _, p := range found {
		if len(kept) == a.Count || (len(kept) > 0 && p.Power < a.Share*kept[0].Power) {
			break
		}
		near := false
		for _, q := range kept {
			near = near || distance(p.X, q.X) < a.Distance
		}
		if !near {
			kept = append(kept, p)
		}
	}
	return kept
}

// The three places where a row may have a local maximum.
const (
	onRow = iota
	atLow
	atHigh
)

var ends = [3]float64{atLow: -1, atHigh: 1}

// mostStarts bounds how many climbs each kind of start gets.
const mostStarts = 64

// starts lists the rows of the grid from which to climb, for each place on the row, the highest first.
func (s *Searcher) starts(rows int) (list [3][]int) {
	count := 1
	for range s.outer {
		count *= rows
	}
	var powers [3][]float64
	for k := range powers {
		powers[k] = make([]float64, count)
	}
	s.scan(rows, func(i int, r *Row) {
		for k := range powers {
			powers[k][i] = math.Inf(-1)
		}
		x, power, n := r.Summits()
		for k := range n {
			switch {
			case s.rowed && x[k] == -1:
				powers[atLow][i] = power[k]
			case s.rowed && x[k] == 1:
				powers[atHigh][i] = power[k]
			default:
				powers[onRow][i] = power[k]
			}
		}
	})
	for k := range powers {
		for i, power := range powers[k] {
			if !math.IsInf(power, -1) && s.tops(powers[k], i, rows) {
				list[k] = append(list[k], i)
			}
		}
		sort.SliceStable(list[k], func(i, j int) bool { return powers[k][list[k][i]] > powers[k][list[k][j]] })
		list[k] = list[k][:min(len(list[k]), mostStarts)]
	}
	return list
}

// tops reports whether a row of the grid is not exceeded by a neighbour; of equal ones the first counts.
func (s *Searcher) tops(powers []float64, i, rows int) bool {
	neighbours := 1
	for range s.outer {
		neighbours *= 3
	}
	for n := range neighbours {
		j, stride, rest, place := i, 1, n, i
		inside := true
		for range s.outer {
			at, move := place%rows, rest%3-1
			inside = inside && at+move >= 0 && at+move < rows
			j += move * stride
			place, rest, stride = place/rows, rest/3, stride*rows
		}
		if inside && (powers[j] > powers[i] || (powers[j] == powers[i] && j < i)) {
			return false
		}
	}
	return true
}

// alongEnd climbs with the row's axis held at an end, and on from there if that is no maximum along the row.
func (s *Searcher) alongEnd(y []float64, end float64) Point {
	if s.side == nil {
		s.side = &Searcher{}
	}
	var held Function
	s.f.Fix(s.outer, end, &held)
	s.side.load(&held)
	y = s.side.climbFrom(Point{y, held.Power(y)}).X
	x, _, n := s.row(y).Summits()
	for k := range n {
		if x[k] == end {
			return s.point(y, end)
		}
	}
	return s.point(y, s.climb(y))
}

// distance is the largest difference along any axis.
func distance(a, b []float64) float64 {
	most := 0.0
	for k := range a {
		most = max(most, math.Abs(a[k]-b[k]))
	}
	return most
}
