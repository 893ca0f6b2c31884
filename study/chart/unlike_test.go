package chart

import (
	"context"
	"errors"
	"math"
	"math/rand/v2"
	"strings"
	"testing"
	"testing/fstest"

	"knobwise/bench/box"
	"knobwise/bench/folder"
	"knobwise/bench/setup"
	"knobwise/study/tune"
)

func parse(t testing.TB, boxText, setupText string) (*box.Box, *setup.Setup) {
	t.Helper()
	files := folder.Within(fstest.MapFS{"b.box.yaml": {Data: []byte(boxText)}, "s.setup.yaml": {Data: []byte(setupText)}})
	b, err := box.Load(files, "b.box.yaml")
	if err != nil {
		t.Fatal(err)
	}
	s, err := setup.LoadFile(files, "s.setup.yaml")
	if err != nil {
		t.Fatal(err)
	}
	return b, s
}

const ohms = "setup: Ohms\nsource: {kind: generator, emf: 1 V, impedance: 50 ohm}\nload: {kind: resistor, value: 50 ohm}\nsweep: {from: 1 MHz, to: 5 MHz, points: 3}\n"

const gang = `box: Gang
terminals: {antenna: a, receiver: c}
parts:
  Ca: {kind: capacitor, nodes: [a, m], value: 5 pF}
  L1: {kind: inductor, nodes: [m, ground], value: 20 uH, Q: 100}
  C1: {kind: variable capacitor, nodes: [m, ground], range: 20 pF .. 400 pF}
  Cb: {kind: capacitor, nodes: [m, n], value: 5 pF}
  L2: {kind: inductor, nodes: [n, ground], value: 20 uH, Q: 100}
  C2: {kind: variable capacitor, nodes: [n, ground], range: 20 pF .. 400 pF, law: log}
  Cc: {kind: capacitor, nodes: [n, c], value: 5 pF}
controls:
  Tune: {knob: [C1, C2], scale: 0 .. 100}
`

// A knob whose gang does not travel alike is set as well as tune sets it, and has its limits.
func TestUnlikeGang(t *testing.T) {
	b, st := parse(t, gang, ohms)
	frequencies := []float64{1.9e6, 2.5e6, 3.1e6, 4e6}
	r, err := Run(t.Context(), Question{Box: b, Setup: st, At: b.Start(), Frequencies: frequencies, Turn: 1})
	if err != nil {
		t.Fatal(err)
	}
	best, err := tune.Run(t.Context(), tune.Question{Box: b, Setup: st, Frequencies: frequencies})
	if err != nil {
		t.Fatal(err)
	}
	for i, l := range r.Lines {
		if math.Abs(l.Insertion-best.Answers[i].InsertionGain) > 1e-6 || math.Abs(gain(t, b, st, l.Setting, l.Frequency)-l.Insertion) > 1e-6 {
			t.Errorf("at %g Hz: %g dB, tune has %g dB", l.Frequency, l.Insertion, best.Answers[i].InsertionGain)
		}
		if len(l.Knobs) != 1 || !(l.Knobs[0].High-l.Knobs[0].Low < 10) {
			t.Errorf("at %g Hz: limits %+v", l.Frequency, l.Knobs)
		}
	}
	if len(r.Lines) != 4 || len(r.Notices) != 1 || !strings.Contains(r.Notices[0], "do not travel alike") {
		t.Errorf("%d lines, %q", len(r.Lines), r.Notices)
	}
}

// The least cost of turning switches, one switch after another, is that of every pair.
func TestTurn(t *testing.T) {
	b, _ := parse(t, "box: Three\nterminals: {antenna: a, receiver: b}\nparts:\n  R1: {kind: resistor, nodes: [a, b], value: 5 ohm}\ncontrols:\n"+
		"  A: {switch: {one: {}, two: {joins: [[a, b]]}}}\n  B: {switch: {one: {}, two: {joins: [[a, c]]}, three: {joins: [[b, c]]}}}\n  C: {switch: {one: {}, two: {joins: [[a, d]]}, three: {joins: [[b, d]]}, four: {joins: [[c, d]]}}}\n", ohms)
	random := rand.New(rand.NewPCG(1, 6))
	w := &work{q: Question{Box: b}, switches: b.Controls}
	var settings []box.Setting
	for _, x := range b.Controls[0].Switch.Positions {
		for _, y := range b.Controls[1].Switch.Positions {
			for _, z := range b.Controls[2].Switch.Positions {
				settings = append(settings, box.Setting{"A": {Word: x.Name}, "B": {Word: y.Name}, "C": {Word: z.Name}})
			}
		}
	}
	checked := 0
	for range 200 {
		w.q.Turn = 3 * random.Float64()
		before := make([]float64, len(settings))
		for i := range before {
			before[i] = 10 * random.Float64()
		}
		reached, origin := w.turn(before)
		for c, s := range settings {
			if w.index(s) != c {
				t.Fatalf("%v has number %d, want %d", s, w.index(s), c)
			}
			least := math.Inf(1)
			for o := range settings {
				least = min(least, before[o]+w.q.Turn*float64(len(w.turned(settings[o], s))))
			}
			if math.Abs(reached[c]-least) > 1e-12 || math.Abs(before[origin[c]]+w.q.Turn*float64(len(w.turned(settings[origin[c]], s)))-least) > 1e-12 {
				t.Fatalf("%v costs %g from %v, the least is %g", s, reached[c], settings[origin[c]], least)
			}
			checked++
		}
	}
	if checked != 200*24 {
		t.Errorf("%d checked", checked)
	}
}

// Twelve switches are no trouble, and a chart can be stopped while its lines are chosen too.
func TestManySwitches(t *testing.T) {
	var text strings.Builder
	text.WriteString("box: Many\nterminals: {antenna: a, receiver: c}\nparts:\n  C1: {kind: variable capacitor, nodes: [a, c], range: 10 pF .. 100 pF}\n  L1: {kind: inductor, nodes: [c, ground], value: 10 uH, Q: 100}\n")
	for i := range 12 {
		text.WriteString("  K" + string(rune('a'+i)) + ": {kind: capacitor, nodes: [n" + string(rune('a'+i)) + ", ground], value: " + string(rune('1'+i%9)) + "0 pF}\n")
	}
	text.WriteString("controls:\n  K: {knob: C1}\n")
	for i := range 12 {
		text.WriteString("  S" + string(rune('a'+i)) + ": {switch: {on: {joins: [[a, n" + string(rune('a'+i)) + "]]}, off: {}}}\n")
	}
	b, st := parse(t, text.String(), ohms)
	q := Question{Box: b, Setup: st, At: b.Start(), Frequencies: []float64{3e6, 4e6}, Turn: 1}
	r, err := Run(t.Context(), q)
	if err != nil || len(r.Lines) != 2 || len(r.Lines[1].Turned) > 3 {
		t.Errorf("%+v %v", r, err)
	}
	ctx, cancel := context.WithCancel(t.Context())
	q.Progress = func(done float64) {
		if done == 1 {
			cancel()
		}
	}
	if _, err := Run(ctx, q); !errors.Is(err, context.Canceled) {
		t.Errorf("stopped after the last frequency: %v", err)
	}
}

// Where nothing gets through, a line has no gain and no limits, and that is told.
func TestNothingThrough(t *testing.T) {
	b, st := parse(t, "box: Short\nterminals: {antenna: a, receiver: b}\nparts:\n  C1: {kind: variable capacitor, nodes: [a, m], range: 10 pF .. 100 pF}\n  R1: {kind: resistor, nodes: [m, ground], value: 5 ohm}\n  R2: {kind: resistor, nodes: [b, ground], value: 5 ohm}\ncontrols:\n  K: {knob: C1}\n", ohms)
	r, err := Run(t.Context(), Question{Box: b, Setup: st, At: b.Start(), Frequencies: []float64{3e6}, Turn: 1})
	if err != nil {
		t.Fatal(err)
	}
	if l := r.Lines[0]; !math.IsInf(l.Insertion, -1) || len(l.Knobs) != 0 || len(r.Notices) == 0 || !strings.Contains(r.Notices[len(r.Notices)-1], "at 3.0000 MHz nothing gets through") {
		t.Errorf("%+v %q", l, r.Notices)
	}
}
