package identify

import (
	"context"
	"fmt"
	"math"
	"runtime"
	"slices"

	"knobwise/bench/box"
	"knobwise/bench/document"
	"knobwise/bench/fault"
	"knobwise/bench/measurement"
	"knobwise/bench/quantity"
	"knobwise/bench/trace"
	"knobwise/study/leastsquares"
)

// Question is what is to be found, from what.
type Question struct {
	Box          *box.Box
	Measurements []*measurement.Measurement
	Traces       []*trace.Trace // along Measurements
	Starts       int            // 0 for DefaultStarts
	Seed         uint64
	ReadingError float64        // of dials, as part of the scale; 0 takes plain readings as exact
	Progress     func(Progress) // may be nil
	Workers      int            // 0 for one per processor
	// Known accepts a box without unknown values: only dials and levels are fitted, to see how well it explains the traces.
	Known bool
	// Quick looks only at what is left: one end of the search is polished, roughly, and no interval is refitted. Floors are fitted where a
	// trace is level at its bottom.
	Quick bool
}

// Progress is how far the work has come.
type Progress struct {
	Done   float64 // part of the work
	Starts int     // that are done
	Stage  string  // "search" or "polish"
	Values []Value // the best so far, without intervals
}

// DefaultStarts is how many starts are tried where nothing else is said.
const DefaultStarts = 32

// Status says what came of it.
type Status string

// What can come of it.
const (
	Found       Status = "found"           // every value is determined
	Partly      Status = "partly found"    // some are
	Unexplained Status = "not explained"   // the circuit does not explain the traces, so no value is to be trusted
	Undecided   Status = "not determined"  // no value is determined by these traces
	Ended       Status = "limit of effort" // the best start did not come to rest
)

// Value is one value with what the traces tell of it.
type Value struct {
	Part, Field string
	Unit        quantity.Unit
	Value       float64
	Low, High   float64 // 95 % interval; where a side is open, the end of the room that was looked through
	Determined  bool
	ByProfile   bool // the interval is by refitting, since the curvature at the minimum is not to be trusted
	AtBound     bool
	Why         string // where it is not determined

	InSetup bool           // it stands in a setup file, not in the box file
	Node    *document.Node // where it stands
}

// Dial is a reading as it came out.
type Dial struct {
	Measurement, Control string
	Read, Found          float64
	Low, High            float64

	far bool // from what was read
}

// Fit is how one measurement came out.
type Fit struct {
	Name      string
	Frequency []float64 // Hz
	Measured  []float64 // as the trace has it; of S-parameters real and imaginary parts in turn
	Model     []float64
	Low, High []float64 // 95 % band of the model
	RMS       float64   // of the differences, in units of what neighbours do not share
	Level     float64   // factor that was found for a trace without reference; 1 otherwise
	Floor     float64   // that adds in power, in the trace's unit; NaN where there is none
	Noise     float64   // rms of what is left, as part of the highest level
	WorstAt   float64   // Hz, where the difference is largest against the noise
	Left      int       // points that were left out
}

// Result is what was found.
type Result struct {
	Status     Status
	Values     []Value
	Dials      []Dial
	Fits       []Fit
	Degenerate []Degenerate
	// RMS of all differences in units of the traces' own roughness: about 1 where the circuit explains them.
	RMS          float64
	Runs         float64 // runs of equal sign in the differences, in standard deviations from what chance makes; far below 0: a shape is left
	Freedom      int     // rows less parameters
	Cost         float64 // half the robust sum of squares, in units of the noise that was learnt
	Parameters   int
	Points       int
	ReadingError float64 // that was learnt, as part of the scale; NaN without dials
	Stop         string
	Starts, Same int // starts, and how many of them came to this minimum
	Evaluations  int
	Notices      []string

	state    *state
	quick    bool
	dialsOff bool // too many dials came out far from what was read
}

// state is what further questions need: the predictions, the next measurement.
type state struct {
	system      *system
	res         leastsquares.Result
	information *information
	held        *information // with the dials where they came out
	scale       float64      // variance of a row of weight one
	better      []float64    // a point below the minimum that refitting came upon
	began       []begun      // where the starts ended
	ends        [][]float64  // where those ended that were polished
	alike       [][]float64  // other minima that explain the traces as well
	doubted     [][]float64  // the minimum with floors or without, where it is as good: its values count
	from        begun        // and the one that the best came from
}

// Run identifies. Errors are *fault.Error, and the context's own where it ends first.
func Run(ctx context.Context, q Question) (*Result, error) {
	s, notices, err := prepare(q)
	if err != nil {
		return nil, err
	}
	tell := func(p Progress) {
		if q.Progress != nil {
			q.Progress(p)
		}
	}
	starts := q.Starts
	if starts == 0 {
		starts = DefaultStarts
	}
	coarse := s.coarse()
	began, evaluations, err := s.search(ctx, s.starts(coarse, starts, q.Seed), q.Quick, func(done int) {
		tell(Progress{Done: 0.3 * float64(done) / float64(starts), Starts: min(done, starts), Stage: "search"})
	})
	if err != nil {
		return nil, err
	}
	if len(began) == 0 {
		return nil, fault.New(fault.Unsolvable, "the circuit cannot be solved at any of the starts", "check the box with `knobwise check`")
	}
	r := &Result{Starts: starts, Notices: notices, quick: q.Quick}
	if err := s.polish(ctx, q, coarse, began, r, tell); err != nil {
		return nil, err
	}
	if !q.Quick {
		if err := r.withFloors(ctx, q); err != nil {
			return nil, err
		}
	}
	r.Evaluations += evaluations
	if err := r.answer(ctx, 2); err != nil {
		return nil, err
	}
	return r, nil
}

func prepare(q Question) (*system, []string, error) {
	if len(q.Measurements) == 0 {
		return nil, nil, fault.New(fault.Request, "there is no measurement", "list one or more in the file of measurements")
	}
	var models []*model
	var notices []string
	for i, m := range q.Measurements {
		x, err := newModel(q.Box, m, q.Traces[i], q.ReadingError)
		if err != nil {
			return nil, nil, err
		}
		if x.left > 0 {
			notices = append(notices, fmt.Sprintf("%s: %d of %d points cannot be compared and were left out", m.Name, x.left, len(q.Traces[i].Frequency)))
		}
		if x.thinned {
			notices = append(notices, fmt.Sprintf("%s: every %dth of its %d points is used", m.Name, (len(q.Traces[i].Frequency)+mostPoints-1)/mostPoints, len(q.Traces[i].Frequency)))
		}
		models = append(models, x)
	}
	workers := q.Workers
	if workers == 0 {
		workers = runtime.GOMAXPROCS(0)
	}
	s, err := newSystem(q.Box, models, workers, q.Known)
	if err != nil {
		return nil, nil, err
	}
	if q.Quick && slices.ContainsFunc(models, (*model).levelAtBottom) {
		// There is no time to fit without floors first.
		s.floored = oneEach
		s.number(true)
	}
	if free := s.free(); s.total < free {
		return nil, nil, fault.New(fault.Request, fmt.Sprintf("%s: %d values and levels are to be found from %d points", q.Box.Name, free, s.total), "measure more points, or mark fewer values as unknown")
	}
	s.firstNoise()
	return s, notices, nil
}

// starts spreads points over the room of the values and of the dials that were not read, evenly in each coordinate; the guesses of
// the file come first.
func (s *system) starts(coarse *system, n int, seed uint64) [][]float64 {
	lower, upper := coarse.bounds()
	dims := len(lower)
	first := make([]float64, 0, dims)
	for _, v := range s.vars {
		first = append(first, v.coordinate(v.guess))
	}
	all := [][]float64{append(first, coarse.readingsStart(nil)...)}
	if n < 2 || dims == 0 {
		return all
	}
	spread, err := leastsquares.Starts(lower, upper, n-1, seed)
	if err != nil {
		return all // the bounds of values and of dials that were not read are finite
	}
	return append(all, spread...)
}

// most is how many ends of the coarse fit are polished.
const most = 5

// apart is how far two ends must differ in some coordinate to count as two.
const apart = 0.02

func (s *system) polish(ctx context.Context, q Question, coarse *system, began []begun, r *Result, tell func(Progress)) error {
	var different []begun
	for _, b := range began {
		known := slices.ContainsFunc(different, func(o begun) bool { return s.near(o.p, b.p, apart) })
		if q.Quick && len(different) > 0 {
			break
		}
		if !known && len(different) < most && b.cost < 3*began[0].cost+float64(s.total)/10 {
			different = append(different, b)
		}
	}
	readingSD := q.ReadingError * uniform
	sigma := clone2(s.sigma)
	var best *state
	var from begun // the coarse end that the best came from
	most := 0.0    // logarithm of its likelihood
	var ends [][]float64
	for i, b := range different {
		s.sigma = clone2(sigma)
		s.resetReadings(readingSD)
		start, err := s.startFrom(ctx, b.p, coarse)
		if err != nil {
			continue
		}
		res, err := s.settle(ctx, start, q.Quick, readingSD)
		if ctx.Err() != nil {
			return ctx.Err()
		}
		if err != nil {
			continue
		}
		r.Evaluations += res.Evaluations
		ends = append(ends, res.P)
		now := &state{system: s, res: res}
		if likely := s.likelihood(res, sigma); best == nil || likely > most {
			most = likely
			now.system = s.frozen()
			best, from = now, b
		}
		tell(Progress{Done: 0.6 + 0.3*float64(i+1)/float64(len(different)), Starts: r.Starts, Stage: "polish", Values: plain(best)})
	}
	if best == nil {
		return fault.New(fault.Unsolvable, "no start leads to values at which the circuit can be solved", "check the box with `knobwise check`")
	}
	r.state = best
	best.began, best.from, best.ends = began, from, ends
	return nil
}

func (s *system) near(a, b []float64, apart float64) bool {
	for k := range s.vars {
		if math.Abs(a[k]-b[k]) > apart*max(1, math.Abs(a[k])/10) {
			return false
		}
	}
	return true
}

// frozen is the system with the noise and the reading error as they are now.
func (s *system) frozen() *system {
	out := *s
	out.sigma = clone2(s.sigma)
	out.models = nil
	for _, m := range s.models {
		c := *m
		c.knobs = slices.Clone(m.knobs)
		out.models = append(out.models, &c)
	}
	return &out
}

// resetReadings takes the reading error back to what was named.
func (s *system) resetReadings(sd float64) {
	for _, m := range s.models {
		for k := range m.knobs {
			x := &m.knobs[k]
			if !x.own && !math.IsInf(x.sd, 1) {
				x.sd = sd * (x.top - x.low)
			}
		}
	}
}

// likelihood of the traces with their roughness as noise, from the residuals of a fit: a measure that does not move with the
// noise that was learnt. Points beyond some standard deviations count as those of Huber's loss.
func (s *system) likelihood(res leastsquares.Result, rough [][]float64) float64 {
	sum := 0.0
	for i, r := range s.residuals(res.Residuals) {
		for k, x := range r {
			z := x / rough[i][k]
			rho, _, _ := robust.At(z * z)
			sum -= rho / 2
		}
	}
	for row := s.total; row < len(res.Residuals); row++ {
		sum -= res.Residuals[row] * res.Residuals[row] / 2
	}
	for _, d := range s.dials {
		if k := &s.models[d.model].knobs[d.knob]; !math.IsInf(k.sd, 1) {
			sum -= math.Log(k.sd / (k.top - k.low))
		}
	}
	return sum
}

func clone2(x [][]float64) [][]float64 {
	out := make([][]float64, len(x))
	for i := range x {
		out[i] = slices.Clone(x[i])
	}
	return out
}

// plain is the values of a fit without intervals.
func plain(st *state) []Value {
	var all []Value
	for i, v := range st.system.vars {
		x := v.found(st.res.P[i])
		x.Low, x.High = math.NaN(), math.NaN()
		all = append(all, x)
	}
	return all
}

// found is a value at its coordinate.
func (v *variable) found(at float64) Value {
	return Value{Part: v.Part, Field: v.Field, Unit: v.Unit, Value: v.value(at), InSetup: v.inSetup, Node: v.node}
}

// Name is what to call a value: "L1", "L1 in Range low", "Q of L1".
func (v *Value) Name() string { return nameOf(v.Part, v.Field) }
