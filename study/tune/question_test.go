package tune

import (
	"context"
	"errors"
	"fmt"
	"math"
	"math/rand/v2"
	"slices"
	"strings"
	"testing"

	"knobwise/bench/box"
	"knobwise/bench/demo"
	"knobwise/bench/fault"
)

func isFault(err error, kind fault.Kind) bool {
	f, ok := errors.AsType[*fault.Error](err)
	return ok && f.Kind == kind && f.What != "" && !strings.Contains(f.Error(), "\n")
}

// The result does not depend on the number of threads, not in one bit; nor on what else is asked.
func TestThreads(t *testing.T) {
	random := rand.New(rand.NewPCG(4, 8))
	slides := draw(t, random, kinds{knobs: true, slides: true})
	b, st := loaded(t, demo.DefaultBox, demo.DefaultSetup)
	compared := 0
	for _, q := range []Question{
		{Box: b, Setup: st, Frequencies: []float64{0.8e6, 1.9e6, 3.3e6}},
		{Box: b, Setup: st, Frequencies: []float64{1.9e6, 2.1e6}, Aim: Rejection, Reject: []float64{1.53e6}},
		{Box: b, Setup: st, Frequencies: []float64{1.9e6}, Aim: Level, Level: -15},
		{Box: b, Setup: st, Frequencies: []float64{1.9e6}, Aim: Width},
		{Box: b, Setup: st, Frequencies: []float64{1.9e6}, Aim: Flat, Span: &Span{1.8e6, 2e6}},
		{Box: slides.box, Setup: slides.setup, Frequencies: []float64{slides.f}, Aim: Rejection, Reject: []float64{slides.f * 1.2}},
	} {
		first := ""
		for _, threads := range []int{1, 2, 7} {
			q.Threads = threads
			text := fmt.Sprintf("%+v", run(t, q).Answers)
			if first == "" {
				first = text
			}
			if compared++; text != first {
				t.Errorf("%s with %d threads gives another result", q.Aim, threads)
			}
		}
		one := q
		one.Frequencies = q.Frequencies[:1]
		if text := fmt.Sprintf("%+v", run(t, one).Answers[:1]); text != fmt.Sprintf("%+v", run(t, q).Answers[:1]) {
			t.Errorf("%s alone gives another result", q.Aim)
		}
	}
	if compared != 18 {
		t.Errorf("%d results", compared)
	}
}

// Fixed controls stay where they are, whatever the aim, and nothing with them fixed is stronger than without.
func TestFixed(t *testing.T) {
	b, st := loaded(t, demo.DefaultBox, demo.DefaultSetup)
	at := box.Setting{"Input": {Number: 2.5}, "Range": {Word: "middle"}}
	for _, aim := range Aims {
		q := Question{Box: b, Setup: st, Frequencies: []float64{2.2e6}, Aim: aim, Level: -10}
		switch aim {
		case Rejection:
			q.Reject = []float64{1.53e6}
		case Flat:
			q.Span = &Span{2.1e6, 2.3e6}
		}
		free := run(t, q).Answers[0]
		q.At, q.Fixed = at, map[string]bool{"Input": true, "Range": true}
		r := run(t, q)
		if r.Asked != 6 {
			t.Errorf("%d combinations", r.Asked)
		}
		a := r.Answers[0]
		for _, c := range append([]Choice{a.Choice, a.Strongest}, a.RunnersUp...) {
			if c.Setting["Input"] != at["Input"] || c.Setting["Range"] != at["Range"] || len(c.Setting) != len(b.Controls) {
				t.Errorf("%s: %s", aim, b.Describe(c.Setting))
			}
		}
		if a.Strongest.InsertionGain > free.Strongest.InsertionGain+1e-9 {
			t.Errorf("%s: stronger with fixed controls", aim)
		}
	}
}

// With nothing to give up, the answer is the strongest setting, or another that is as strong.
func TestNothingToGiveUp(t *testing.T) {
	random := rand.New(rand.NewPCG(4, 9))
	answers := 0
	for i := range 18 {
		s := varied(t, random, i)
		for _, aim := range []Aim{Rejection, Width, Flat} {
			q := Question{Box: s.box, Setup: s.setup, Frequencies: []float64{s.f}, Aim: aim, Within: new(float64)}
			switch aim {
			case Rejection:
				q.Reject = []float64{s.f * 1.1}
			case Flat:
				q.Span = &Span{s.f * 0.99, s.f * 1.01}
			}
			a := run(t, q).Answers[0]
			most := 1e-6
			if aim == Flat {
				most = 0.011 // a hundredth of a decibel is left to what lies between the points of a span
			}
			if answers++; a.Met && math.Abs(a.InsertionGain-a.Strongest.InsertionGain) > most || aim != Flat && !a.Met {
				t.Errorf("%s, %s: met %v with %.9g dB, strongest %.9g dB", aim, s.box.Describe(a.Setting), a.Met, a.InsertionGain, a.Strongest.InsertionGain)
			}
		}
	}
	if answers != 54 {
		t.Errorf("%d answers", answers)
	}
}

// Knobs that change nothing stay where they were, and that is told.
func TestIdleKnobs(t *testing.T) {
	b, st := loaded(t, demo.DefaultBox, demo.DefaultSetup)
	at := box.Setting{"Input": {Number: 3.3}, "Output": {Number: 7.7}, "Path": {Word: "straight"}, "Range": {Word: "short"}}
	for _, aim := range []Aim{Signal, Width} {
		a := run(t, Question{Box: b, Setup: st, Frequencies: []float64{2e6}, Aim: aim, At: at, Fixed: map[string]bool{"Path": true}}).Answers[0]
		for name, r := range at {
			if a.Setting[name] != r {
				t.Errorf("%s: %s went to %s", aim, name, a.Setting[name])
			}
		}
		if !slices.Contains(a.Notices, "Input and Output change nothing here and were left where they stood") || len(a.RunnersUp) != 0 {
			t.Errorf("%s: %v, runners-up %v", aim, a.Notices, a.RunnersUp)
		}
	}
}

const ohms = `
setup: Ohms
source: {kind: generator, emf: 1 V, impedance: 50 ohm}
load: {kind: resistor, value: 50 ohm}
sweep: {from: 1 MHz, to: 5 MHz}
`

// A box without knobs, without switches or without both is answered as far as that goes, and it is said how far.
func TestFewControls(t *testing.T) {
	const bare = `
box: Bare
terminals: {antenna: a, receiver: c}
parts:
  L1: {kind: inductor, nodes: [a, c], value: 10 uH, Q: 100}
  C1: {kind: capacitor, nodes: [c, s], value: 100 pF}
  C2: {kind: capacitor, nodes: [c, d], value: 300 pF}
  R1: {kind: resistor, nodes: [s, ground], value: 10 ohm}
  R2: {kind: resistor, nodes: [d, ground], value: 10 ohm}
`
	const switches = `
controls:
  More:
    switch:
      none: {}
      some: {joins: [[d, s]]}
      short: {joins: [[a, c]]}
`
	b, st := parse(t, bare, ohms)
	r := run(t, Question{Box: b, Setup: st, Frequencies: []float64{2e6}})
	a := r.Answers[0]
	if len(r.Notices) != 1 || !strings.Contains(r.Notices[0], "no controls") || !a.Proven || a.Gap != 0 || len(a.Setting) != 0 || math.Abs(a.InsertionGain-solve(t, b, nil, st).gain(2e6)) > 1e-9 {
		t.Errorf("without controls: %v, %+v", r.Notices, a)
	}
	b, st = parse(t, bare+switches, ohms)
	for _, aim := range []Aim{Signal, Width, Level} {
		r = run(t, Question{Box: b, Setup: st, Frequencies: []float64{2e6}, Aim: aim, Level: -3})
		a = r.Answers[0]
		if len(r.Notices) != 1 || !strings.Contains(r.Notices[0], "no knobs, so that only the positions") || !a.Proven {
			t.Errorf("%s without knobs: %v, proven %v", aim, r.Notices, a.Proven)
		}
		best, _, _ := exhaustive(b, 1, 1, 1, func(s box.Setting) float64 { return solve(t, b, s, st).gain(2e6) })
		if aim == Signal && (math.Abs(best-a.InsertionGain) > 1e-9 || a.Setting["More"].Word != "short") {
			t.Errorf("%g dB of %g dB at %v", a.InsertionGain, best, a.Setting)
		}
		if aim == Level && (a.Met || !strings.Contains(a.Why, "no setting found gives -3 dB; the nearest gives")) {
			t.Errorf("level: %v %s", a.Met, a.Why)
		}
	}
	b, st = loaded(t, demo.DefaultBox, demo.DefaultSetup)
	fixed := map[string]bool{}
	for _, c := range b.Controls {
		fixed[c.Name] = true
	}
	r = run(t, Question{Box: b, Setup: st, Frequencies: []float64{2e6}, Fixed: fixed})
	if len(r.Notices) != 1 || !strings.Contains(r.Notices[0], "every control is fixed") || r.Asked != 1 || b.Describe(r.Answers[0].Setting) != b.Describe(b.Start()) {
		t.Errorf("all fixed: %v, %s", r.Notices, b.Describe(r.Answers[0].Setting))
	}
}

// Aims that cannot be met say by how much and why.
func TestNotMet(t *testing.T) {
	b, st := loaded(t, "harbour-t.box.yaml", "bench-50.setup.yaml")
	strongest := run(t, Question{Box: b, Setup: st, Frequencies: []float64{0.8e6}}).Answers[0]
	high := run(t, Question{Box: b, Setup: st, Frequencies: []float64{0.8e6}, Aim: Level, Level: 2}).Answers[0]
	if high.Met || math.Abs(high.Short-(2-strongest.InsertionGain)) > 1e-9 || high.InsertionGain != strongest.InsertionGain ||
		high.Why != "the strongest setting reaches -20.1 dB, 22.1 dB short of the wanted +2 dB" {
		t.Errorf("%v %g %s", high.Met, high.Short, high.Why)
	}
	low := run(t, Question{Box: b, Setup: st, Frequencies: []float64{0.8e6}, Aim: Level, Level: -120}).Answers[0]
	weakest, _, _ := exhaustive(b, 1000, 3, 1e-6, func(s box.Setting) float64 { return -solve(t, b, s, st).gain(0.8e6) })
	if low.Met || math.Abs(low.Short-(-weakest+120)) > 1e-6 || !strings.HasPrefix(low.Why, "the weakest setting found still gives") {
		t.Errorf("%v %g (%g) %s", low.Met, low.Short, -weakest+120, low.Why)
	}
	b, st = loaded(t, "lamp-room.box.yaml", "bench-50.setup.yaml")
	span := run(t, Question{Box: b, Setup: st, Frequencies: []float64{0.8e6}, Aim: Flat, Span: &Span{0.7e6, 0.9e6}}).Answers[0]
	_, least := solve(t, b, span.Setting, st).ripple(0.7e6, 0.9e6)
	if span.Met || math.Abs(span.Short-(span.Strongest.InsertionGain-3-least)) > 0.02 || !strings.HasPrefix(span.Why, "no setting found keeps all of 700.000 kHz to 900.000 kHz within 3 dB") {
		t.Errorf("%v %g %s", span.Met, span.Short, span.Why)
	}
	silent, plain := parse(t, "box: Silent\nterminals: {antenna: a, receiver: c}\nparts:\n  R1: {kind: resistor, nodes: [a, ground], value: 50 ohm}\n  R2: {kind: resistor, nodes: [c, ground], value: 50 ohm}\n", ohms)
	for _, aim := range []Aim{Signal, Width, Level} {
		a := run(t, Question{Box: silent, Setup: plain, Frequencies: []float64{2e6}, Aim: aim}).Answers[0]
		if a.Met || a.Why != "nothing reaches the load at any setting" {
			t.Errorf("%s of silence: %v %s", aim, a.Met, a.Why)
		}
	}
	out := run(t, Question{Box: b, Setup: st, Frequencies: []float64{9e6}}).Answers[0]
	if len(out.Notices) == 0 || !strings.Contains(out.Notices[0], "outside the sweep of the setup") {
		t.Errorf("%v", out.Notices)
	}
}

// What was given up is told, in decibels and words.
func TestSacrificed(t *testing.T) {
	b, st := loaded(t, "harbour-t.box.yaml", "bench-50.setup.yaml")
	a := run(t, Question{Box: b, Setup: st, Frequencies: []float64{2.2e6}, Aim: Rejection, Reject: []float64{1.53e6}}).Answers[0]
	want := fmt.Sprintf("%.1f dB of signal given up for %.1f dB more rejection of 1.53000 MHz", a.Strongest.InsertionGain-a.InsertionGain, a.Objective-a.Strongest.Objective)
	if len(a.Sacrificed) != 1 || a.Sacrificed[0] != want || !(a.Objective > a.Strongest.Objective) {
		t.Errorf("%v, want %s", a.Sacrificed, want)
	}
}

func TestWrongQuestions(t *testing.T) {
	b, st := loaded(t, demo.DefaultBox, "parapet-wire.setup.yaml")
	good := Question{Box: b, Setup: st, Frequencies: []float64{2e6}}
	negative := -1.0
	refused := 0
	for name, c := range map[string]struct {
		kind   fault.Kind
		change func(q *Question)
	}{
		"no frequency":              {fault.Request, func(q *Question) { q.Frequencies = nil }},
		"zero":                      {fault.Request, func(q *Question) { q.Frequencies = []float64{0} }},
		"negative":                  {fault.Request, func(q *Question) { q.Frequencies = []float64{2e6, -1e6} }},
		"NaN":                       {fault.Request, func(q *Question) { q.Frequencies = []float64{math.NaN()} }},
		"infinite":                  {fault.Request, func(q *Question) { q.Frequencies = []float64{math.Inf(1)} }},
		"outside the measured file": {fault.Request, func(q *Question) { q.Frequencies = []float64{300e6} }},
		"no such aim":               {fault.Request, func(q *Question) { q.Aim = "loudness" }},
		"nothing to reject":         {fault.Request, func(q *Question) { q.Aim = Rejection }},
		"rejects what it wants":     {fault.Request, func(q *Question) { q.Aim, q.Reject = Rejection, []float64{1e6, 2e6 + 10} }},
		"rejects zero":              {fault.Request, func(q *Question) { q.Aim, q.Reject = Rejection, []float64{0} }},
		"rejects outside":           {fault.Request, func(q *Question) { q.Aim, q.Reject = Rejection, []float64{300e6} }},
		"signal with reject":        {fault.Request, func(q *Question) { q.Reject = []float64{1e6} }},
		"level with reject":         {fault.Request, func(q *Question) { q.Aim, q.Reject = Level, []float64{1e6} }},
		"level of nothing":          {fault.Request, func(q *Question) { q.Aim, q.Level = Level, math.NaN() }},
		"negative loss":             {fault.Request, func(q *Question) { q.Aim, q.Within = Width, &negative }},
		"flat without span":         {fault.Request, func(q *Question) { q.Aim = Flat }},
		"width with span":           {fault.Request, func(q *Question) { q.Aim, q.Span = Width, &Span{1.9e6, 2.1e6} }},
		"span elsewhere":            {fault.Request, func(q *Question) { q.Aim, q.Span = Flat, &Span{2.1e6, 2.2e6} }},
		"span elsewhere, below":     {fault.Request, func(q *Question) { q.Aim, q.Span = Flat, &Span{1.8e6, 1.9e6} }},
		"span backwards":            {fault.Request, func(q *Question) { q.Aim, q.Span = Flat, &Span{2.1e6, 1.9e6} }},
		"span outside":              {fault.Request, func(q *Question) { q.Aim, q.Span = Flat, &Span{1.9e6, 300e6} }},
		"fixed, but not there":      {fault.Setting, func(q *Question) { q.Fixed = map[string]bool{"Outptu": true} }},
		"set, but not there":        {fault.Setting, func(q *Question) { q.At = box.Setting{"Outptu": {Number: 3}} }},
	} {
		q := good
		c.change(&q)
		_, err := Run(t.Context(), q)
		_, counted := q.Combinations()
		if refused++; !isFault(err, c.kind) || fmt.Sprint(err) != fmt.Sprint(counted) {
			t.Errorf("%s: %v, %v", name, err, counted)
		}
	}
	if refused != 23 {
		t.Errorf("%d questions", refused)
	}

	for _, n := range []int{16, 17} {
		var text strings.Builder
		text.WriteString("box: Many\nterminals: {antenna: a, receiver: c}\nparts:\n  R1: {kind: resistor, nodes: [a, c], value: 50 ohm}\ncontrols:\n")
		for i := range n {
			fmt.Fprintf(&text, "  S%d: {switch: {on: {joins: [[a, n%d]]}, off: {}}}\n", i, i)
		}
		many, plain := parse(t, text.String(), ohms)
		q := Question{Box: many, Setup: plain, Frequencies: []float64{2e6}}
		count, err := q.Combinations()
		if n == 16 && (count != 65536 || err != nil) || n == 17 && !isFault(err, fault.Request) {
			t.Errorf("%d switches: %d, %v", n, count, err)
		}
	}

	// A lossless trap has a setting at which nothing passes, and others.
	lossless, plain := parse(t, "box: Lossless\nterminals: {antenna: a, receiver: a}\nparts:\n  L1: {kind: inductor, nodes: [a, b], value: 10 uH}\n  C1: {kind: variable capacitor, nodes: [b, ground], range: 10 pF .. 1000 pF}\ncontrols:\n  Tune: {knob: C1}\n", ohms)
	for _, aim := range []Aim{Signal, Level, Width} {
		if a := run(t, Question{Box: lossless, Setup: plain, Frequencies: []float64{5e6}, Aim: aim, Level: -100}).Answers[0]; !a.Met {
			t.Errorf("a lossless trap, %s: %s", aim, a.Why)
		}
	}
}

// Cancelling ends the work after the piece at hand, and before any.
func TestCancelled(t *testing.T) {
	b, st := loaded(t, demo.DefaultBox, demo.DefaultSetup)
	for _, aim := range []Aim{Signal, Rejection} {
		for _, at := range []int{1, 5} {
			ctx, cancel := context.WithCancel(t.Context())
			calls := 0
			q := Question{Box: b, Setup: st, Frequencies: []float64{1e6, 2e6, 3e6}, Aim: aim, Threads: 2, Progress: func(float64) {
				if calls++; calls == at {
					cancel()
				}
			}}
			if aim == Rejection {
				q.Reject = []float64{1.53e6}
			}
			r, err := Run(ctx, q)
			if !errors.Is(err, context.Canceled) || r != nil || calls > at+1 {
				t.Errorf("%s: %d calls, %v", aim, calls, err)
			}
			cancel()
		}
	}
	ctx, cancel := context.WithCancel(t.Context())
	cancel()
	if _, err := Run(ctx, Question{Box: b, Setup: st, Frequencies: []float64{1e6}}); !errors.Is(err, context.Canceled) {
		t.Errorf("cancelled before: %v", err)
	}
}

// Progress rises to its end.
func TestProgress(t *testing.T) {
	b, st := loaded(t, demo.DefaultBox, demo.DefaultSetup)
	for _, aim := range []Aim{Signal, Level, Width} {
		last, calls := 0.0, 0
		run(t, Question{Box: b, Setup: st, Frequencies: []float64{1e6, 2e6}, Aim: aim, Level: 40, Progress: func(done float64) {
			if calls++; done < last || done > 1 {
				t.Errorf("%s: %g after %g", aim, done, last)
			}
			last = done
		}})
		if math.Abs(last-1) > 1e-9 || calls < 20 {
			t.Errorf("%s: %d calls, the last %g", aim, calls, last)
		}
	}
}

func BenchmarkSignal(b *testing.B) { benchmark(b, Question{}) }
func BenchmarkRejection(b *testing.B) {
	benchmark(b, Question{Aim: Rejection, Reject: []float64{1.53e6}})
}
func BenchmarkLevel(b *testing.B) { benchmark(b, Question{Aim: Level, Level: -15}) }
func BenchmarkWidth(b *testing.B) { benchmark(b, Question{Aim: Width}) }
func BenchmarkFlat(b *testing.B)  { benchmark(b, Question{Aim: Flat, Span: &Span{1.8e6, 2e6}}) }

// benchmark asks the demonstration box at one frequency, over all combinations of its switches, on one thread.
func benchmark(b *testing.B, q Question) {
	q.Box, q.Setup = loaded(b, demo.DefaultBox, demo.DefaultSetup)
	q.Frequencies, q.Threads = []float64{1.9e6}, 1
	b.ReportAllocs()
	for b.Loop() {
		run(b, q)
	}
}
