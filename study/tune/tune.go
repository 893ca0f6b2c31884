// Package tune asks where the controls of a box belong for a frequency: the best setting of all switches and knobs together.
//
// The strongest signal is found over the whole scale of every knob, not over a grid, with a proof that no setting of any
// switch has more. The other aims are searched from many starts along exact lines; they are not proven, and Answer.Proven
// says so. Every figure of an answer is computed by the full solve at the setting that is told.
//
// Gains are those of package sweep. "Signal" is the insertion gain at the frequency; a rejection compares load voltages at
// the same emf, as sweep's does. Results are plain data and the same for any number of threads, in every bit; a value that
// does not exist is NaN, and Notices says why.
//
// What it will not do: move a control that is fixed, weigh one aim against another (each has one objective and at most one
// limit), or tell a narrow notch inside a passband that is thinner than the points at which the band is sampled.
package tune

import (
	"context"
	"maps"
	"math"
	"runtime"

	"knobwise/bench/box"
	"knobwise/bench/setup"
)

// Aim is what counts as best.
type Aim string

// The aims.
const (
	// Signal is the largest insertion gain. Objective: that gain, dB.
	Signal Aim = "signal"
	// Rejection is the largest rejection of the worst of the frequencies in Reject, with a signal at most Within below the
	// strongest. Objective: load voltage over load voltage there, dB; more than 200 dB count as 200 dB.
	Rejection Aim = "rejection"
	// Level is the wanted insertion gain, and of all settings that give it the one that rejects what lies a fifth of the
	// frequency to either side best. Objective: the lesser of these two rejections, dB.
	Level Aim = "level"
	// Width is the widest band about the frequency in which the insertion gain stays within half and double power (3 dB to
	// either side) of that at the frequency, with a signal at most Within below the strongest. The band is followed from a
	// quarter to four times the frequency. Objective: its width, Hz.
	Width Aim = "width"
	// Flat is the least ripple over the span: the largest less the least insertion gain, with all of the span at most Within
	// below the strongest signal that any setting gives at the frequency. Objective: the ripple, dB.
	Flat Aim = "flat"
)

// Aims lists them all.
var Aims = []Aim{Signal, Rejection, Level, Width, Flat}

// DefaultWithin is how much of the strongest signal may be given up where a question does not say, in dB.
const DefaultWithin = 3

// Span is a range of frequencies in Hz.
type Span struct{ From, To float64 }

// Question is what to ask.
type Question struct {
	Box         *box.Box
	Setup       *setup.Setup
	At          box.Setting     // where the fixed controls stand, and those that turn out to change nothing; nil: the box's start
	Fixed       map[string]bool // controls that are not to be moved
	Frequencies []float64       // Hz, each answered on its own
	Aim         Aim             // empty: Signal
	Reject      []float64       // Hz, for Rejection alone
	Within      *float64        // dB, 0 or more; nil: DefaultWithin
	Level       float64         // wanted insertion gain in dB, for Level alone
	Span        *Span           // for Flat alone; every frequency must lie inside
	// Threads at work; 0 for as many as the machine has. The result does not depend on it.
	Threads int
	// Progress is called now and then, by one thread at a time, with the part that is done; it may be nil.
	Progress func(done float64)
}

// Result is the answer.
type Result struct {
	Box, Setup string
	Aim        Aim
	Asked      int // combinations of switches, and of readings of controls that are asked one by one
	Answers    []Answer
	Notices    []string
}

// Choice is a setting and what it does.
type Choice struct {
	Setting        box.Setting // of all controls
	InsertionGain  float64     // dB
	TransducerGain float64     // dB; NaN where no power is available or the load takes none
	Objective      float64     // what the aim asks for; unit and meaning stand in Answer
}

// Answer is the best setting for one frequency.
type Answer struct {
	Frequency float64 // Hz
	Choice
	Unit    string // of Objective: "dB" or "Hz"
	Meaning string // of Objective, in words

	// Met is false where the aim cannot be met; the setting is then the one that comes nearest, Short says by how many dB it
	// misses, and Why says it in words.
	Met   bool
	Short float64
	Why   string

	Peak      float64 // Hz, of the load voltage, nearest to the frequency; NaN where there is none from half to one and a half times of it
	Bandwidth float64 // Hz, of that peak between its points of half power; NaN where it does not fall that far
	LoadedQ   float64 // Peak/Bandwidth

	Tolerance []Tolerance // of the knobs, in panel order

	// Proven: no setting of the controls that may move is better by more than Gap, in dB. It is false for every aim but
	// Signal unless there is nothing to search but switches. Gap is NaN where nothing is proven and may be infinite.
	Proven bool
	Gap    float64

	RunnersUp  []Choice // practically as good and set differently, the best first; at most 5
	Strongest  Choice   // the setting with the most signal; its Objective is that of the aim
	Sacrificed []string // what the aim cost, in words; none where nothing was given up
	Notices    []string
}

// Tolerance is between which readings a knob keeps the gain at the frequency within 1 dB of that of the setting, up or down,
// while all others stay. A limit at which the gain is nearer than 1 dB is an end of the scale.
type Tolerance struct {
	Control   string
	Low, High float64 // readings
}

// Run answers. Errors are *fault.Error, and the context's own where it ends first.
func Run(ctx context.Context, q Question) (*Result, error) {
	w, err := newWork(q)
	if err != nil {
		return nil, err
	}
	r := &Result{Box: q.Box.Name, Setup: q.Setup.Name, Aim: w.q.Aim, Asked: w.asked, Notices: w.notices()}
	// Many frequencies are dealt out to the threads, few are answered one after another by all threads.
	n := len(w.q.Frequencies)
	outer, inner := 1, w.q.Threads
	if n >= inner {
		outer, inner = inner, 1
	}
	r.Answers = make([]Answer, n)
	err = w.parallel(ctx, outer, n, 0, func(i int) error {
		one := &tuner{work: w, f: w.q.Frequencies[i], threads: inner}
		return one.answer(ctx, &r.Answers[i])
	})
	if err != nil {
		return nil, err
	}
	return r, nil
}

// Combinations is how many combinations of switches (and readings of controls that must be asked one by one) a question has.
func (q Question) Combinations() (int, error) {
	w, err := newWork(q)
	if err != nil {
		return 0, err
	}
	return w.asked, nil
}

// settled fills in what a question left open.
func (q Question) settled() Question {
	at := q.Box.Start()
	maps.Copy(at, q.At)
	q.At = at
	if q.Aim == "" {
		q.Aim = Signal
	}
	if q.Within == nil {
		q.Within = new(float64(DefaultWithin))
	}
	if q.Threads <= 0 {
		q.Threads = runtime.GOMAXPROCS(0)
	}
	return q
}

func decibels(ratio float64) float64 { return 10 * math.Log10(ratio) }

func ratio(decibels float64) float64 { return math.Pow(10, decibels/10) }
