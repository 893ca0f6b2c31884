package identify

import (
	"context"
	"fmt"
	"math"
	"slices"
)

// A detector shows noise of its own where nothing arrives, and its power adds to that of the signal (as powers of unlike signals do): the
// skirts and the notches of a trace end on a floor. It is fitted where that makes the traces far more likely: otherwise the values would
// be bent to make up for it.

// floored is which traces share a floor.
type floored int

const (
	noFloors  floored = iota
	oneEach           // those of one setup, taken in one way: the detector was not touched between them
	ownFloors         // none: it has ranges
)

// deepEnough is how far a trace must reach below its highest level, in nepers, for a floor to be looked for: 6 dB.
const deepEnough = 0.7

// withFloor is a level on a floor, all in nepers, and the part of the power that is the floor's; minus infinity is no floor.
func withFloor(ln, floor float64) (sum, part float64) {
	if math.IsInf(floor, -1) {
		return ln, 0
	}
	return max(ln, floor) + math.Log1p(math.Exp(-2*math.Abs(ln-floor)))/2, 1 / (1 + math.Exp(2*(ln-floor)))
}

// mayHaveFloor reports whether a trace of levels reaches deep enough to show one.
func (x *model) mayHaveFloor() bool { return x.kind != scattering && x.most-x.least > deepEnough }

// depth is the lowest and the highest level of a trace in nepers; of the two lowest the higher, so that one bad point decides nothing. Not
// more are passed over: a notch may be no wider.
func (x *model) depth() (least, most float64) {
	var all []float64
	for k := range x.data {
		if ln, ok := x.logarithm(k); ok {
			all = append(all, ln)
		}
	}
	if len(all) == 0 {
		return 0, 0
	}
	slices.Sort(all)
	return all[min(1, len(all)-1)], all[len(all)-1]
}

// A trace on a floor is level where it is lowest.
const (
	levelWithin = 0.12 // nepers: 1 dB
	levelPart   = 0.1  // of the points, in one stretch
	levelPoints = 8
)

// levelAtBottom reports whether a trace stays within a decibel of its lowest level over a stretch, as one does that stands on a floor. The
// bottom of a wide notch looks so too.
func (x *model) levelAtBottom() bool {
	if !x.mayHaveFloor() {
		return false
	}
	run, longest := 0, 0
	for k := range x.data {
		if ln, ok := x.logarithm(k); ok && ln <= x.least+levelWithin {
			run++
			longest = max(longest, run)
		} else {
			run = 0
		}
	}
	return longest >= max(levelPoints, int(levelPart*float64(len(x.data))))
}

// floorsOf are the models that stand on each floor.
func (s *system) floorsOf() (all [][]int) {
	if s.floored == noFloors {
		return nil
	}
	key := func(m *model) string { return fmt.Sprintf("%d %v %p", m.kind, m.relative, m.measured.Setup) }
	at, deep := map[string]int{}, map[string]bool{}
	for _, m := range s.models {
		deep[key(m)] = deep[key(m)] || m.mayHaveFloor()
	}
	for i, m := range s.models {
		// What lies wholly on the floor of its setup is not deep itself.
		key := key(m)
		if m.kind == scattering || !deep[key] || s.floored == ownFloors && !m.mayHaveFloor() {
			continue
		}
		j, ok := at[key]
		if !ok || s.floored == ownFloors {
			j, at[key] = len(all), len(all)
			all = append(all, nil)
		}
		all[j] = append(all[j], i)
	}
	return all
}

// floorRoom is where the floor of some traces is looked for, in nepers, and where the search begins: not above their lowest levels.
func (s *system) floorRoom(members []int) (start, low, high float64) {
	least := math.Inf(1)
	for _, i := range members {
		least = min(least, s.models[i].least)
	}
	return least - 1, least - 6, least + 0.2
}

const (
	shapeLeft     = -3.0 // standard deviations of the number of runs: below, what is left has a shape
	likelyByFloor = 10.0 // by which the criterion must fall for floors to be kept
	asLikely      = 2.0  // by which it may rise for a fit with floors to be as good: the values of both are believed
)

// withFloors fits once more with floors, and keeps what explains the traces far better: from where the fit without them ended, and
// where the traces are not explained so, from all starts.
func (r *Result) withFloors(ctx context.Context, q Question) error {
	s := r.state.system
	r.Freedom = s.total - s.free()
	_, explained := r.judge()
	criterion := r.Criterion()
	r.dialsOff = false
	for _, how := range []floored{oneEach, ownFloors} {
		whole := !explained || r.Runs < shapeLeft
		f := s.frozen()
		f.floored = how
		f.number(true)
		if len(f.floors) == 0 || f.total-f.free() < leastFreedom {
			break
		}
		f.firstNoise()
		other := &Result{Starts: r.Starts}
		if err := f.fitFloors(ctx, q, r.state, whole, other); err != nil {
			if ctx.Err() != nil {
				return ctx.Err()
			}
			continue // without floors there is an answer
		}
		r.Evaluations += other.Evaluations
		other.Freedom = f.total - f.free()
		_, now := other.judge()
		switch c := other.Criterion(); {
		case c < criterion-likelyByFloor && (now || !explained && other.RMS < r.RMS/2):
			r.state, r.RMS, r.Runs = other.state, other.RMS, other.Runs
			explained, criterion = now, c
		case c < criterion+asLikely && now:
			r.state.doubted = append(r.state.doubted, other.state.res.P)
		}
	}
	return nil
}

// fitFloors puts the fit with floors into a result: a whole search, or from where the one without ended.
func (s *system) fitFloors(ctx context.Context, q Question, from *state, whole bool, r *Result) error {
	coarse := s.coarse()
	quiet := func(Progress) {}
	if whole {
		began, evaluations, err := s.search(ctx, s.starts(coarse, r.Starts, q.Seed), false, func(int) {})
		if err != nil {
			return err
		}
		r.Evaluations += evaluations
		return s.polish(ctx, q, coarse, began, r, quiet)
	}
	p := slices.Clone(from.res.P[:len(s.vars)])
	for _, d := range coarse.dials {
		p = append(p, from.res.P[len(s.vars)+slices.Index(from.system.dials, d)])
	}
	if err := s.polish(ctx, q, coarse, []begun{{p, 0}}, r, quiet); err != nil {
		return err
	}
	r.state.began, r.state.from, r.state.ends = from.began, from.from, append(r.state.ends, s.beside(from.ends)...)
	return nil
}

// beside are points of the fit without floors, with the floors where their search begins.
func (s *system) beside(points [][]float64) (all [][]float64) {
	for _, p := range points {
		p = slices.Clone(p)
		for _, members := range s.floors {
			start, _, _ := s.floorRoom(members)
			p = append(p, start)
		}
		all = append(all, p)
	}
	return all
}

// floorOn is the floor of model i, in the trace's unit, and how far it lies below the highest level in dB; NaN where it has none, or one so
// far below the lowest level that it tells nothing.
func (r *Result) floorOn(i int) (floor, below float64) {
	st := r.state
	s := st.system
	_, at := s.level(i, st.res.P)
	m := s.models[i]
	if math.IsInf(at, -1) || at < m.least-shows {
		return math.NaN(), math.NaN()
	}
	floor, _, _ = m.number(math.Inf(-1), 0, at)
	return floor, decibelsPerNeper * (m.most - at)
}

const (
	clearOf = 1.15 // nepers: a level that far above a floor is a tenth of its power off
	shows   = 2.3  // nepers: a floor that far below the lowest level adds a hundredth of its power
)

// floorNotice tells of the floors that were found; empty where there is none.
func (r *Result) floorNotice() string {
	var names []string
	least, most := math.Inf(1), math.Inf(-1)
	for i, m := range r.state.system.models {
		if _, below := r.floorOn(i); !math.IsNaN(below) {
			names = append(names, m.measured.Name)
			least, most = min(least, below), max(most, below)
		}
	}
	if len(names) == 0 {
		return ""
	}
	who, far := list(names), fmt.Sprintf("%.0f dB", least)
	if len(names) > 3 {
		who = fmt.Sprintf("%d of %d traces", len(names), len(r.Fits))
	}
	if most-least > 1 {
		far = fmt.Sprintf("%.0f to %.0f dB", least, most)
	}
	return fmt.Sprintf("%s: the lowest levels stand on a floor %s below the highest, as a detector's own noise makes it; it was fitted with the values. If a straight wire shows no such floor on this bench, something leaks past the circuit", who, far)
}
