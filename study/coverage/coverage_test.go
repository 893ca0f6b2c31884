package coverage

import (
	"context"
	"errors"
	"fmt"
	"maps"
	"math"
	"math/rand/v2"
	"slices"
	"strings"
	"testing"

	"knobwise/bench/box"
	"knobwise/bench/demo"
	"knobwise/bench/fault"
	"knobwise/bench/folder"
	"knobwise/bench/hookup"
	"knobwise/bench/setup"
	"knobwise/internal/reference"
)

func parse(t testing.TB, boxText, setupText string) (*box.Box, *setup.Setup) {
	t.Helper()
	b, err := box.Parse(folder.Disk(), "test.box.yaml", []byte(boxText))
	if err != nil {
		t.Fatal(err)
	}
	s, err := setup.Parse(folder.Disk(), "test.setup.yaml", []byte(setupText))
	if err != nil {
		t.Fatal(err)
	}
	return b, s
}

func loaded(t testing.TB, boxFile, setupFile string) (*box.Box, *setup.Setup) {
	t.Helper()
	b, err := box.Load(demo.Files(), boxFile)
	if err != nil {
		t.Fatal(err)
	}
	s, err := setup.LoadFile(demo.Files(), setupFile)
	if err != nil {
		t.Fatal(err)
	}
	return b, s
}

func run(t testing.TB, q Question) *Result {
	t.Helper()
	if q.At == nil {
		q.At = q.Box.Start()
	}
	if q.Over.Points == 0 {
		q.Over = q.Setup.Sweep
	}
	r, err := Run(t.Context(), q)
	if err != nil {
		t.Fatal(err)
	}
	return r
}

// voltage is |H| of a setting alone, by the full solve.
func voltage(t testing.TB, h *hookup.Hookup, f float64) float64 {
	t.Helper()
	x, err := h.Response(f)
	if err != nil {
		t.Fatal(err)
	}
	return math.Hypot(real(x.Load), imag(x.Load)) / h.Setup.Source.EMF
}

// Every point of every lane, solved in full at its setting: the gain is the one told, and a peak is a peak.
func TestPointsAreTrue(t *testing.T) {
	points, peaks := 0, 0
	for _, c := range [][2]string{{"tern-point", "bench-50"}, {"tern-point", "parapet-wire"}, {"harbour-t", "bench-probe"}, {"lamp-room", "short-wire"}} {
		b, st := loaded(t, c[0]+".box.yaml", c[1]+".setup.yaml")
		over := st.Sweep
		over.Points = 41
		r := run(t, Question{Box: b, Setup: st, Over: over})
		for _, l := range r.Lanes {
			for i, f := range r.Frequency {
				for k, p := range []Point{l.Best[i], l.Peaks[i]} {
					if p.Setting == nil {
						continue
					}
					h, err := hookup.Connect(b, p.Setting, st)
					if err != nil {
						t.Fatal(err)
					}
					x, err := h.Response(f)
					if err != nil {
						t.Fatal(err)
					}
					points++
					gain := 20 * math.Log10(math.Hypot(real(x.Load), imag(x.Load))/math.Hypot(real(x.Straight), imag(x.Straight)))
					if math.Abs(gain-p.Insertion) > 1e-6 {
						t.Errorf("%v: %s at %g Hz: %g dB told, %g dB solved", c, b.Describe(p.Setting), f, p.Insertion, gain)
					}
					if x.AvailablePower > 0 && x.LoadPower > 0 {
						if transducer := 10 * math.Log10(x.LoadPower/x.AvailablePower); math.Abs(transducer-p.Transducer) > 1e-6 {
							t.Errorf("%v: %s at %g Hz: transducer gain %g dB told, %g dB solved", c, b.Describe(p.Setting), f, p.Transducer, transducer)
						}
					}
					if k == 0 || i == 0 || i == len(r.Frequency)-1 {
						continue
					}
					peaks++
					if at := voltage(t, h, f); !(at > voltage(t, h, f*(1-3e-4)) && at > voltage(t, h, f*(1+3e-4))) {
						t.Errorf("%v: %s has no peak at %g Hz", c, b.Describe(p.Setting), f)
					}
				}
			}
		}
	}
	t.Logf("%d points, %d peaks", points, peaks)
	if points < 1200 || peaks < 300 {
		t.Error("too few")
	}
}

// Settings tried at random find nothing better: no stronger signal, and no stronger peak at a frequency of the sweep.
func TestNothingBetterIsFound(t *testing.T) {
	random := rand.New(rand.NewPCG(7, 7))
	tried, peaks := 0, 0
	for _, c := range [][2]string{{"tern-point", "bench-50"}, {"harbour-t", "bench-50"}, {"lamp-room", "bench-50"}} {
		b, st := loaded(t, c[0]+".box.yaml", c[1]+".setup.yaml")
		over := st.Sweep
		over.Points = 61
		r := run(t, Question{Box: b, Setup: st, Over: over})
		for range 1500 {
			l := r.Lanes[random.IntN(len(r.Lanes))]
			s := maps.Clone(l.Best[0].Setting)
			for _, control := range b.Controls {
				if control.Knob != nil {
					s[control.Name] = box.Reading{Number: control.Knob.From + (control.Knob.To-control.Knob.From)*random.Float64()}
				}
			}
			h, err := hookup.Connect(b, s, st)
			if err != nil {
				t.Fatal(err)
			}
			for i, f := range r.Frequency {
				x, err := h.Response(f)
				if err != nil {
					t.Fatal(err)
				}
				gain := 20 * math.Log10(math.Hypot(real(x.Load), imag(x.Load))/math.Hypot(real(x.Straight), imag(x.Straight)))
				tried++
				if gain > l.Best[i].Insertion+1e-6 {
					t.Errorf("%s at %g Hz: %g dB, the lane's best is %g dB", b.Describe(s), f, gain, l.Best[i].Insertion)
				}
				if i == 0 || i == len(r.Frequency)-1 {
					continue
				}
				at := voltage(t, h, f)
				if at > voltage(t, h, f*(1-2e-4)) && at > voltage(t, h, f*(1+2e-4)) {
					peaks++
					// That setting peaks within 2e-4 of f: the lane knows a peak there, and none much weaker.
					if p := l.Peaks[i].Insertion; !(p > gain-0.05) {
						t.Errorf("%s peaks at %g Hz with %g dB, the lane's peak there is %g dB", b.Describe(s), f, gain, p)
					}
				}
			}
		}
	}
	t.Logf("%d settings at one frequency, %d peaks by chance", tried, peaks)
	if tried < 200_000 || peaks < 20 {
		t.Error("too few")
	}
}

const preselector = `
box: One tuned circuit
terminals: {antenna: a, receiver: c}
parts:
  C0: {kind: capacitor, nodes: [a, t], value: 0.005 pF}
  L: {kind: inductor, nodes: [t, ground], value: 200 uH, Q: 300}
  C: {kind: variable capacitor, nodes: [t, ground], min: MIN, max: MAX}
  Cs: {kind: capacitor, nodes: [t, ground], value: STRAY}
  C1: {kind: capacitor, nodes: [t, c], value: 0.005 pF}
controls:
  Tuning: {knob: C}
`

const ohms = `
setup: Ohms
source: {kind: generator, emf: 1 V, impedance: 50 ohm}
load: {kind: resistor, value: 50 ohm}
sweep: {from: FROM, to: TO, points: POINTS, spacing: log}
`

// The range of a tuned circuit that next to nothing loads is √((Cmax+Cs)/(Cmin+Cs)): tapped_variable_cap.csv T002 to T006.
func TestTuningRatio(t *testing.T) {
	ledger := reference.Open(t, "tapped_variable_cap.csv")
	rows := 0
	for _, row := range ledger.Rows {
		if row.Text("quantity") != "tuning_ratio_value" {
			ledger.Elsewhere(row, "bench/box and physics/coil")
			continue
		}
		rows++
		var most, least, stray float64
		if _, err := fmt.Sscanf(strings.ReplaceAll(row.Text("inputs"), ";", " "), "Cmax=%g Cmin=%g Cstray=%g pF", &most, &least, &stray); err != nil {
			t.Fatal(err)
		}
		text := strings.NewReplacer("MIN", fmt.Sprintf("%g pF", least), "MAX", fmt.Sprintf("%g pF", most), "STRAY", fmt.Sprintf("%g pF", stray+1e-9)).Replace(preselector)
		resonance := func(c float64) float64 { return 1 / (2 * math.Pi * math.Sqrt(200e-6*c*1e-12)) }
		low, high := resonance(most+stray), resonance(least+stray)
		const points = 401
		b, st := parse(t, text, strings.NewReplacer("FROM", fmt.Sprintf("%g Hz", low*0.98), "TO", fmt.Sprintf("%g Hz", high*1.02), "POINTS", fmt.Sprint(points)).Replace(ohms))
		r := run(t, Question{Box: b, Setup: st})
		if len(r.Lanes) != 1 || len(r.Lanes[0].Ranges) != 1 {
			t.Fatalf("row %d: %d lanes, ranges %v", row.Number, len(r.Lanes), r.Lanes[0].Ranges)
		}
		found := r.Lanes[0].Ranges[0]
		step := math.Pow(high*1.02/(low*0.98), 1./(points-1)) - 1
		// A thousandth of a step at either end, the coupling capacitors (0.01 pF of at least 15 pF in all), and what the losses of
		// a Q of 300 move a peak by (1/(4·Q²) to either end, any textbook).
		ledger.Near(row, "tuning ratio", found.High/found.Low, row.Float("value"), 2e-3*step+0.5*0.01/(least+stray)+1./(2*300*300))
		if peak := r.Lanes[0].Peaks[points/2]; math.IsNaN(peak.Insertion) {
			t.Errorf("row %d: no peak in the middle", row.Number)
		}
	}
	if rows != 5 {
		t.Errorf("%d rows", rows)
	}
}

// The result does not depend on the number of threads, not in one bit.
func TestThreads(t *testing.T) {
	b, st := loaded(t, demo.DefaultBox, demo.DefaultSetup)
	over := st.Sweep
	over.Points = 31
	var first *Result
	for _, threads := range []int{1, 2, 5} {
		r := run(t, Question{Box: b, Setup: st, Over: over, Threads: threads, Widths: true})
		if first == nil {
			first = r
		}
		if a, b := fmt.Sprintf("%+v", first), fmt.Sprintf("%+v", r); a != b {
			t.Errorf("%d threads give another result", threads)
		}
	}
}

// Fixed controls stay; a switch that makes no difference is idle; what lets nothing through is counted.
func TestSwitchesAndFixed(t *testing.T) {
	b, st := loaded(t, demo.DefaultBox, demo.DefaultSetup)
	over := st.Sweep
	over.Points = 31
	r := run(t, Question{Box: b, Setup: st, Over: over})
	straight := 0
	for _, l := range r.Lanes {
		if l.Switches["Path"].Word != "straight" {
			continue
		}
		straight++
		if len(l.Idle) != 2 || len(l.Ranges) != 0 || math.Abs(l.Best[3].Insertion) > 1e-9 {
			t.Errorf("straight through: %+v", l)
		}
	}
	if straight != 1 || len(r.Lanes) != 10 || r.Asked != 18 || r.Silent != 0 {
		t.Errorf("%d lanes, %d straight, %d silent of %d", len(r.Lanes), straight, r.Silent, r.Asked)
	}
	at := b.Start()
	at["Input"], at["Range"] = box.Reading{Number: 2.5}, box.Reading{Word: "middle"}
	fixed := run(t, Question{Box: b, Setup: st, Over: over, At: at, Fixed: map[string]bool{"Input": true, "Range": true, "Path": true}})
	if fixed.Asked != 3 || len(fixed.Lanes) != 3 {
		t.Errorf("%d lanes of %d", len(fixed.Lanes), fixed.Asked)
	}
	for _, l := range fixed.Lanes {
		for i := range l.Best {
			for _, p := range []Point{l.Best[i], l.Peaks[i]} {
				if p.Setting != nil && (p.Setting["Input"] != at["Input"] || p.Setting["Range"] != at["Range"]) {
					t.Fatalf("a fixed control moved: %v", p.Setting)
				}
			}
		}
		if len(l.Knobs) > 1 {
			t.Errorf("a fixed knob has an effect: %+v", l.Knobs)
		}
	}
}

// A knob whose gang does not travel alike and a switch that sets values are asked one by one, and a box without knobs has
// its one peak.
func TestOneByOne(t *testing.T) {
	const text = `
box: Gang
terminals: {antenna: a, receiver: c}
parts:
  L1: {kind: inductor, nodes: [a, ground], value: 20 uH, Q: 100}
  C1: {kind: variable capacitor, nodes: [a, ground], range: 20 pF .. 400 pF}
  Cc: {kind: capacitor, nodes: [a, c], value: 3 pF}
  L2: {kind: inductor, nodes: [c, ground], value: 20 uH, Q: 100}
  C2: {kind: variable capacitor, nodes: [c, ground], range: 20 pF .. 400 pF, law: log}
controls:
  Tune: {knob: [C1, C2], scale: 0 .. 10}
  Coil:
    switch:
      small: {}
      large: {values: {L1: 80 uH, L2: 80 uH}}
`
	setups := strings.NewReplacer("FROM", "0.5 MHz", "TO", "10 MHz", "POINTS", "81", "50 ohm", "20 kohm").Replace(ohms)
	b, st := parse(t, text, setups)
	r := run(t, Question{Box: b, Setup: st})
	if len(r.Lanes) != 2 || r.Asked != 2*oneByOne {
		t.Fatalf("%d lanes of %d", len(r.Lanes), r.Asked)
	}
	// Twice the frequency with a quarter of the inductance, at the same capacitances and resistances (impedances then scale,
	// so this holds for the lossless resonance only: the ends agree to a few steps).
	for _, l := range r.Lanes {
		if l.Switches["Coil"].Word == "" || math.IsNaN(l.Best[40].Insertion) {
			t.Errorf("%+v", l.Switches)
		}
	}
	bare, _ := parse(t, strings.NewReplacer("variable capacitor", "capacitor", "range: 20 pF .. 400 pF", "value: 100 pF", ", law: log", "").
		Replace(text[:strings.Index(text, "controls:")]), setups)
	r = run(t, Question{Box: bare, Setup: st})
	// Two resonances at 3.559 MHz, coupled by 3 pF: hidden in one peak by the load; f = 1/(2π√LC), any textbook.
	if len(r.Lanes) != 1 || len(r.Lanes[0].Ranges) == 0 || r.Lanes[0].Ranges[0].Low > 3.56e6 || r.Lanes[0].Ranges[0].High < 3.3e6 {
		t.Errorf("without knobs: %+v", r.Lanes[0].Ranges)
	}
}

func TestWrongQuestions(t *testing.T) {
	b, st := loaded(t, demo.DefaultBox, "parapet-wire.setup.yaml")
	q := Question{Box: b, Setup: st, Over: st.Sweep, At: b.Start()}
	q.Over.To = 300e6
	if _, err := Run(t.Context(), q); !isFault(err, fault.Request) {
		t.Errorf("outside the measured range: %v", err)
	}
	var text strings.Builder
	text.WriteString("box: Many\nterminals: {antenna: a, receiver: c}\nparts:\n  R1: {kind: resistor, nodes: [a, c], value: 50 ohm}\ncontrols:\n")
	for i := range 17 {
		fmt.Fprintf(&text, "  S%d: {switch: {on: {joins: [[a, n%d]]}, off: {}}}\n", i, i)
	}
	many, _ := parse(t, text.String(), strings.NewReplacer("FROM", "1 MHz", "TO", "2 MHz", "POINTS", "3").Replace(ohms))
	q = Question{Box: many, Setup: st, Over: st.Sweep, At: many.Start()}
	if _, err := Run(t.Context(), q); !isFault(err, fault.Request) {
		t.Errorf("131072 combinations: %v", err)
	}
	ctx, cancel := context.WithCancel(t.Context())
	calls := 0
	b, st = loaded(t, demo.DefaultBox, demo.DefaultSetup)
	_, err := Run(ctx, Question{Box: b, Setup: st, Over: st.Sweep, At: b.Start(), Progress: func(float64) {
		if calls++; calls == 5 {
			cancel()
		}
	}})
	if !errors.Is(err, context.Canceled) || calls > 20 {
		t.Errorf("cancelled after %d steps: %v", calls, err)
	}
}

func isFault(err error, kind fault.Kind) bool {
	f, ok := errors.AsType[*fault.Error](err)
	return ok && f.Kind == kind
}

// Gaps end where lanes begin, however many points the sweep has; every use lies in a range of its lane, and no two overlap.
func TestGapsAndUse(t *testing.T) {
	gaps, uses := 0, 0
	for _, c := range [][2]string{{"tern-point", "bench-50"}, {"lamp-room", "short-wire"}, {"harbour-t", "bench-probe"}} {
		b, st := loaded(t, c[0]+".box.yaml", c[1]+".setup.yaml")
		var before []Range
		for _, points := range []int{101, 401} {
			over := st.Sweep
			over.Points = points
			r := run(t, Question{Box: b, Setup: st, Over: over})
			for _, g := range r.Gaps {
				gaps++
				for _, l := range r.Lanes {
					for _, own := range l.Ranges {
						if own.Low < own.High && own.Low < g.High && own.High > g.Low {
							t.Errorf("%v: a gap %v where a lane has %v", c, g, own)
						}
					}
				}
			}
			for i, u := range r.Use {
				uses++
				if i > 0 && u.Low < r.Use[i-1].High {
					t.Errorf("%v: uses %v and %v overlap", c, r.Use[i-1], u)
				}
				if !slices.ContainsFunc(r.Lanes[u.Lane].Ranges, func(own Range) bool { return own.Low <= u.Low && u.High <= own.High }) {
					t.Errorf("%v: use %v outside %v", c, u, r.Lanes[u.Lane].Ranges)
				}
			}
			if points == 401 && len(before) == len(r.Gaps) {
				for i, g := range r.Gaps {
					if math.Abs(g.Low-before[i].Low) > 3e-3*g.Low || math.Abs(g.High-before[i].High) > 3e-3*g.High {
						t.Errorf("%v: the gap %v with 401 points is %v with 101", c, g, before[i])
					}
				}
			}
			before = r.Gaps
		}
	}
	if gaps < 4 || uses < 8 {
		t.Errorf("%d gaps and %d uses", gaps, uses)
	}
}

// What lies between the readings of a knob that is asked one by one is found too, and every peak is one on the full solve.
func TestBetweenReadings(t *testing.T) {
	const text = `
box: Gang
terminals: {antenna: a, receiver: c}
parts:
  Ca: {kind: capacitor, nodes: [a, m], value: 5 pF}
  L1: {kind: inductor, nodes: [m, ground], value: 20 uH, Q: 100}
  C1: {kind: variable capacitor, nodes: [m, ground], range: 20 pF .. 400 pF}
  Cb: {kind: capacitor, nodes: [m, n], value: 5 pF}
  L2: {kind: inductor, nodes: [n, ground], value: 20 uH, Q: 100}
  C2: {kind: variable capacitor, nodes: [n, ground], range: 20 pF .. 400 pF, law: log}
  Cc: {kind: capacitor, nodes: [n, c], value: 5 pF}
  C3: {kind: variable capacitor, nodes: [n, ground], range: 2 pF .. 6 pF}
controls:
  Tune: {knob: [C1, C2], scale: 0 .. 100}
`
	peaks := 0
	for _, more := range []string{"", "  Trim: {knob: C3}\n"} {
		boxText := text + more
		if more == "" {
			boxText = strings.Replace(text, "  C3: {kind: variable capacitor, nodes: [n, ground], range: 2 pF .. 6 pF}\n", "", 1)
		}
		b, st := parse(t, boxText, strings.NewReplacer("FROM", "2.2 MHz", "TO", "4.2 MHz", "POINTS", "31").Replace(ohms))
		r := run(t, Question{Box: b, Setup: st})
		if len(r.Lanes) != 1 || len(r.Lanes[0].Ranges) != 1 || len(r.Gaps) != 0 || len(r.Notices) != 1 {
			t.Fatalf("%d lanes, ranges %v, gaps %v, %q", len(r.Lanes), r.Lanes[0].Ranges, r.Gaps, r.Notices)
		}
		for i, p := range r.Lanes[0].Peaks {
			f := r.Frequency[i]
			h, err := hookup.Connect(b, p.Setting, st)
			if err != nil {
				t.Fatal(err)
			}
			peaks++
			if at := voltage(t, h, f); !(at > voltage(t, h, f*(1-1e-3)) && at > voltage(t, h, f*(1+1e-3))) {
				t.Errorf("%s has no peak at %g Hz", b.Describe(p.Setting), f)
			}
			// Nothing on a grid of the gang, with the other knob anywhere, is stronger.
			best := r.Lanes[0].Best[i].Insertion
			for reading := 0.0; reading <= 100; reading += 0.5 {
				for _, trim := range []float64{0, 5, 10} {
					s := p.Setting.With("Tune", box.Reading{Number: reading})
					if more != "" {
						s["Trim"] = box.Reading{Number: trim}
					}
					h, err := hookup.Connect(b, s, st)
					if err != nil {
						t.Fatal(err)
					}
					x, err := h.Response(f)
					if err != nil {
						t.Fatal(err)
					}
					if gain := 20 * math.Log10(math.Hypot(real(x.Load), imag(x.Load))/math.Hypot(real(x.Straight), imag(x.Straight))); gain > best+1e-4 {
						t.Fatalf("%s gives %g dB at %g Hz, the best told is %g dB", b.Describe(s), gain, f, best)
					}
				}
			}
		}
	}
	if peaks != 62 {
		t.Errorf("%d peaks", peaks)
	}
}

// A box with nothing but switches has its peaks where they stand, with their gain.
func TestSingles(t *testing.T) {
	const text = `
box: Two
terminals: {antenna: a, receiver: c}
parts:
  Ca: {kind: capacitor, nodes: [a, m], value: 10 pF}
  L1: {kind: inductor, nodes: [m, ground], value: 20 uH, Q: 100}
  C1: {kind: capacitor, nodes: [m, ground], value: 100 pF}
  C2: {kind: capacitor, nodes: [s, ground], value: 200 pF}
  Cc: {kind: capacitor, nodes: [m, c], value: 10 pF}
controls:
  S: {switch: {one: {}, two: {joins: [[m, s]]}}}
`
	b, st := parse(t, text, strings.NewReplacer("FROM", "1 MHz", "TO", "6 MHz", "POINTS", "101").Replace(ohms))
	r := run(t, Question{Box: b, Setup: st})
	if len(r.Lanes) != 2 || len(r.Gaps) != 1 {
		t.Fatalf("%d lanes, gaps %v", len(r.Lanes), r.Gaps)
	}
	for i, l := range r.Lanes {
		// f = 1/(2π√LC), any textbook; the 10 pF at either side go to 50 ohm.
		want := 1 / (2 * math.Pi * math.Sqrt(20e-6*[]float64{120e-12, 320e-12}[i]))
		if len(l.Singles) != 1 || math.Abs(l.Singles[0].Frequency/want-1) > 0.01 || !(l.Singles[0].Insertion > -30) || !(l.Singles[0].Width > 1e3) {
			t.Errorf("%v: %+v, want %g Hz", l.Switches, l.Singles, want)
		}
	}
}
