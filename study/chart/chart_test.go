package chart

import (
	"context"
	"errors"
	"fmt"
	"maps"
	"math"
	"math/rand/v2"
	"testing"

	"knobwise/bench/box"
	"knobwise/bench/demo"
	"knobwise/bench/fault"
	"knobwise/bench/hookup"
	"knobwise/bench/setup"
)

func loaded(t testing.TB, boxFile, setupFile string) (*box.Box, *setup.Setup) {
	t.Helper()
	b, err := box.Load(demo.Files(), boxFile+".box.yaml")
	if err != nil {
		t.Fatal(err)
	}
	s, err := setup.LoadFile(demo.Files(), setupFile+".setup.yaml")
	if err != nil {
		t.Fatal(err)
	}
	return b, s
}

func spread(from, to float64, n int) (all []float64) {
	for i := range n {
		all = append(all, from*math.Pow(to/from, float64(i)/float64(n-1)))
	}
	return all
}

func gain(t testing.TB, b *box.Box, st *setup.Setup, s box.Setting, f float64) float64 {
	t.Helper()
	h, err := hookup.Connect(b, s, st)
	if err != nil {
		t.Fatal(err)
	}
	x, err := h.Response(f)
	if err != nil {
		t.Fatal(err)
	}
	return 20 * math.Log10(math.Hypot(real(x.Load), imag(x.Load))/math.Hypot(real(x.Straight), imag(x.Straight)))
}

// Solved in full, every line is what it says, a knob at its limit is 1 dB down or at a stop, and settings at random never
// beat a line by more than it says was given up.
func TestLinesAreTrue(t *testing.T) {
	random := rand.New(rand.NewPCG(3, 9))
	lines, limits, tried := 0, 0, 0
	for _, c := range [][2]string{{"tern-point", "bench-50"}, {"tern-point", "parapet-wire"}, {"lamp-room", "bench-50"}, {"harbour-t", "short-wire"}} {
		b, st := loaded(t, c[0], c[1])
		r, err := Run(t.Context(), Question{Box: b, Setup: st, At: b.Start(), Frequencies: spread(0.9e6, 4.8e6, 12), Turn: 1})
		if err != nil {
			t.Fatal(err)
		}
		for _, l := range r.Lines {
			lines++
			if got := gain(t, b, st, l.Setting, l.Frequency); math.Abs(got-l.Insertion) > 1e-6 {
				t.Errorf("%v: %g dB at %g Hz told, %g dB solved", c, l.Insertion, l.Frequency, got)
			}
			for _, d := range l.Knobs {
				k := b.Control(d.Control).Knob
				if at := l.Setting[d.Control].Number; d.Low > at+1e-9 || d.High < at-1e-9 {
					t.Errorf("%v: %s at %g lies outside %g to %g", c, d.Control, at, d.Low, d.High)
				}
				for _, reading := range []float64{d.Low, d.High} {
					limits++
					s := maps.Clone(l.Setting)
					s[d.Control] = box.Reading{Number: reading}
					down := l.Insertion - gain(t, b, st, s, l.Frequency)
					stop := reading == k.From || reading == k.To
					if !(math.Abs(down-1) < 1e-5 || stop && down < 1) {
						t.Errorf("%v: %s at its limit %g is %g dB down at %g Hz", c, d.Control, reading, down, l.Frequency)
					}
				}
			}
			for range 60 {
				s := maps.Clone(l.Setting)
				for _, control := range b.Controls {
					if control.Knob != nil {
						s[control.Name] = box.Reading{Number: control.Knob.From + (control.Knob.To-control.Knob.From)*random.Float64()}
					} else {
						s[control.Name] = box.Reading{Word: control.Switch.Positions[random.IntN(len(control.Switch.Positions))].Name}
					}
				}
				tried++
				if got := gain(t, b, st, s, l.Frequency); got > l.Insertion+l.Given+1e-6 {
					t.Errorf("%v: %s gives %g dB at %g Hz, the chart says at most %g", c, b.Describe(s), got, l.Frequency, l.Insertion+l.Given)
				}
			}
		}
	}
	t.Logf("%d lines, %d limits, %d settings at random", lines, limits, tried)
	if lines < 48 || limits < 150 || tried < 2000 {
		t.Error("too few")
	}
}

// The sum of what is lost and what is turned is the least of all: shown by trying every path on a short chart. With nothing
// to pay for a turn every line is the strongest; with much to pay no switch turns.
func TestFewTurns(t *testing.T) {
	b, st := loaded(t, "tern-point", "bench-50")
	q := Question{Box: b, Setup: st, At: b.Start(), Frequencies: spread(1.2e6, 4.5e6, 3)}
	sum := func(r *Result, turn float64) (total float64) {
		for _, l := range r.Lines {
			total += l.Given + turn*float64(len(l.Turned))
		}
		return total
	}
	for _, turn := range []float64{0, 0.3, 1, 100} {
		q.Turn = turn
		r, err := Run(t.Context(), q)
		if err != nil {
			t.Fatal(err)
		}
		for _, l := range r.Lines {
			if turn == 0 && l.Given > 1e-9 || turn == 100 && len(l.Turned) > 0 {
				t.Errorf("turn costs %g: %+v", turn, l)
			}
		}
		least := math.Inf(1)
		var walk func(i int, before box.Setting, so float64)
		best := map[string]float64{}
		walk = func(i int, before box.Setting, so float64) {
			if i == len(q.Frequencies) {
				least = min(least, so)
				return
			}
			for _, path := range []string{"tuned", "straight"} {
				for _, coupling := range []string{"direct", "medium", "light"} {
					for _, where := range []string{"long", "middle", "short"} {
						at := b.Start()
						at["Path"], at["Coupling"], at["Range"] = box.Reading{Word: path}, box.Reading{Word: coupling}, box.Reading{Word: where}
						key := fmt.Sprint(i, path, coupling, where)
						level, known := best[key]
						if !known {
							one, err := Run(t.Context(), Question{Box: b, Setup: st, At: at, Fixed: map[string]bool{"Path": true, "Coupling": true, "Range": true}, Frequencies: q.Frequencies[i : i+1]})
							if err != nil {
								t.Fatal(err)
							}
							level = one.Lines[0].Insertion
							best[key] = level
						}
						turns := 0
						if before != nil {
							for _, name := range []string{"Path", "Coupling", "Range"} {
								if before[name] != at[name] {
									turns++
								}
							}
						}
						walk(i+1, at, so+r.Lines[i].Insertion+r.Lines[i].Given-level+turn*float64(turns))
					}
				}
			}
		}
		walk(0, nil, 0)
		if got := sum(r, turn); math.Abs(got-least) > 1e-6 {
			t.Errorf("turn costs %g: the chart's sum is %g dB, the least %g dB", turn, got, least)
		}
	}
}

func TestThreadsAndWrongQuestions(t *testing.T) {
	b, st := loaded(t, "tern-point", "parapet-wire")
	q := Question{Box: b, Setup: st, At: b.Start(), Frequencies: []float64{3e6, 1e6, 3e6, 2e6}, Turn: 1}
	var first string
	for _, threads := range []int{1, 2, 4} {
		q.Threads = threads
		r, err := Run(t.Context(), q)
		if err != nil {
			t.Fatal(err)
		}
		if text := fmt.Sprintf("%+v", r); first == "" {
			first = text
			if len(r.Lines) != 3 || r.Lines[0].Frequency != 1e6 {
				t.Errorf("%d lines", len(r.Lines))
			}
		} else if text != first {
			t.Errorf("%d threads give another chart", threads)
		}
	}
	for name, wrong := range map[string]func(*Question){
		"none":     func(q *Question) { q.Frequencies = nil },
		"zero":     func(q *Question) { q.Frequencies = []float64{0, 1e6} },
		"NaN":      func(q *Question) { q.Frequencies = []float64{math.NaN()} },
		"outside":  func(q *Question) { q.Frequencies = []float64{300e6} },
		"many":     func(q *Question) { q.Frequencies = spread(1e6, 2e6, mostLines+1) },
		"negative": func(q *Question) { q.Turn = -1 },
	} {
		bad := q
		wrong(&bad)
		_, err := Run(t.Context(), bad)
		if f, ok := errors.AsType[*fault.Error](err); !ok || f.Kind != fault.Request {
			t.Errorf("%s: %v", name, err)
		}
	}
	ctx, cancel := context.WithCancel(t.Context())
	q.Progress = func(float64) { cancel() }
	q.Frequencies = spread(1e6, 5e6, 500)
	if _, err := Run(ctx, q); !errors.Is(err, context.Canceled) {
		t.Errorf("cancelled: %v", err)
	}
}
