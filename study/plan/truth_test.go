package plan_test

import (
	"math"
	"regexp"
	"slices"
	"strings"
	"testing"
	"testing/fstest"

	"knobwise/bench/box"
	"knobwise/bench/demo"
	"knobwise/bench/folder"
	"knobwise/bench/hookup"
	"knobwise/bench/setup"
	"knobwise/physics/chirp"
	"knobwise/study/plan"
	"knobwise/study/simulate"
)

// bench is a box and a setup from their texts.
func bench(t *testing.T, boxText, setupText string) (*box.Box, *setup.Setup) {
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

const series = `box: Series resonator
terminals: {antenna: ant, receiver: rx}
parts:
  L1: {kind: inductor, nodes: [ant, m], value: 800 uH}
  C1: {kind: variable capacitor, nodes: [m, rx], range: 20 pF .. 40 pF}
controls:
  Tune: {knob: C1, scale: 0 .. 10}
  Path: {switch: {tuned: {}, straight: {joins: [[ant, rx]]}}}
  Lamp: {switch: {off: {}, on: {}}}
`

const fifty = `setup: Bench
source: {kind: generator, emf: 1 V, impedance: 50 ohm}
load: {kind: resistor, value: 50 ohm}
sweep: {from: 0.95 MHz, to: 1.15 MHz, points: 401, time: 20 ms}
`

func mustPlan(t *testing.T, q plan.Question) *plan.Result {
	t.Helper()
	r, err := plan.Run(t.Context(), q)
	if err != nil {
		t.Fatal(err)
	}
	return r
}

// A record of the length that the plan gives holds what the plan says it does: the exact one the carrier itself, the shortest one
// the peak to a hundredth of its width.
func TestRecordIsTrue(t *testing.T) {
	b, s := bench(t, series, fifty)
	r := mustPlan(t, plan.Question{Box: b, Setup: s, At: b.Start()})
	h, err := hookup.Connect(b, b.Start(), s)
	if err != nil {
		t.Fatal(err)
	}
	law, err := s.Sweep.Law()
	if err != nil {
		t.Fatal(err)
	}
	// 2.5 samples per period at 1.15 MHz over 20 ms are 57 500 intervals.
	if r.Exact < 57_501 || r.Exact > 60_000 || math.Abs(r.Rate-float64(r.Points-1)/0.02) > 1e-6 || math.Abs(r.ExactRate-float64(r.Exact-1)/0.02) > 1e-6 {
		t.Errorf("exact %d, rates %g and %g", r.Exact, r.Rate, r.ExactRate)
	}
	read := 0
	for _, samples := range []int{r.Exact, r.Points} {
		record, err := simulate.Run(t.Context(), simulate.Question{Hookup: h, Sweep: s.Sweep, Samples: samples})
		if err != nil {
			t.Fatal(err)
		}
		reading := chirp.Reading{Law: law}
		if samples == r.Exact {
			reading.Method = chirp.Analytic
		}
		x, err := chirp.ReadBack(t.Context(), record.Voltage, chirp.Sampling{Interval: record.Interval, Count: samples}, reading)
		if err != nil {
			t.Fatalf("%d samples: %v", samples, err)
		}
		top := slices.Max(x.Amplitude)
		var inside []float64 // within the half power
		for i, v := range x.Amplitude {
			if v > top*math.Sqrt(0.5) {
				inside = append(inside, x.Frequency[i])
			}
		}
		read++
		peak := (inside[0] + inside[len(inside)-1]) / 2
		t.Logf("%d samples: %v, peak at %.0f Hz (%.0f planned), %.4f V peak to peak (%.4f planned)", samples, x.Method, peak, r.Peak+r.PeakShift, 2*top, r.Levels.Highest)
		if math.Abs(peak-r.Peak-r.PeakShift) > 0.01*r.Bandwidth || math.Abs(2*top/r.Levels.Highest-1) > 0.005 {
			t.Errorf("%d samples: peak %g Hz, %g V; planned %g Hz, %g V", samples, peak, 2*top, r.Peak+r.PeakShift, r.Levels.Highest)
		}
	}
	if read != 2 {
		t.Errorf("%d records", read)
	}
	if want := 2 * math.Sqrt(0.2e6/20e-3); math.Abs(r.Window/want-1) > 1e-9 {
		t.Errorf("window %g Hz, want %g", r.Window, want)
	}
}

// The levels are those of the model, not of its points: a crystal far narrower than a step of the sweep.
func TestLevelsBetweenPoints(t *testing.T) {
	b, s := bench(t, `box: Crystal
terminals: {antenna: a, receiver: b}
parts:
  X1: {kind: crystal, nodes: [a, b], resistance: 20 ohm, inductance: 20 mH, capacitance: 0.05 pF, holder: 5.4 pF}
`, strings.Replace(strings.Replace(fifty, "0.95 MHz", "5.0 MHz", 1), "1.15 MHz", "5.1 MHz", 1))
	r := mustPlan(t, plan.Question{Box: b, Setup: s, At: b.Start()})
	// At series resonance 1 V drives 20 ohm and both resistances of 50 ohm: 2√2·50/120 V peak to peak, but for the holder.
	l := r.Levels
	if want := 2 * math.Sqrt2 * 50 / 120; math.Abs(l.Highest/want-1) > 2e-3 || math.Abs(l.Screen/l.Highest-1.25) > 1e-12 {
		t.Errorf("highest %g V, want %g; screen %g", l.Highest, want, l.Screen)
	}
	series := 1 / (2 * math.Pi * math.Sqrt(20e-3*0.05e-12))
	if math.Abs(l.HighestAt-series) > 50 {
		t.Errorf("highest at %g Hz, series resonance %g Hz", l.HighestAt, series)
	}
	// The parallel resonance lies √(1 + C/C0) above, and there only its loss lets something through.
	if notch := series * math.Sqrt(1+0.05/5.4); math.Abs(l.LowestAt-notch) > 20 || l.Lowest > l.Highest/200 {
		t.Errorf("lowest %g V at %g Hz, parallel resonance %g Hz", l.Lowest, l.LowestAt, notch)
	}
}

// With a wanted source the whole plan is that of the setup with that source.
func TestSourceIsAsked(t *testing.T) {
	b, s := bench(t, series, fifty)
	r := mustPlan(t, plan.Question{Box: b, Setup: s, At: b.Start(), Wanted: 600})
	_, padded := bench(t, series, strings.Replace(fifty, "impedance: 50 ohm", "impedance: 50 ohm, series: 560 ohm", 1))
	want := mustPlan(t, plan.Question{Box: b, Setup: padded, At: b.Start()})
	// Q is ωL over all resistance: 660 ohm.
	if q := 2 * math.Pi * r.Peak * 800e-6 / 660; math.Abs(r.LoadedQ/q-1) > 0.01 {
		t.Errorf("Q %g, want %g", r.LoadedQ, q)
	}
	if r.Peak != want.Peak || r.Bandwidth != want.Bandwidth || r.Points != want.Points || r.Levels.Highest != want.Levels.Highest || len(r.Sweeps) != len(want.Sweeps) || r.Sweeps[1].Height != want.Sweeps[1].Height {
		t.Errorf("%+v\nwant %+v", r, want)
	}
	if v, ok := form(s); ok {
		t.Errorf("the setup itself was changed: %v", v)
	}
	// 1 V open behind 50 ohm is half of it into 50 ohm, 1.41 V peak to peak.
	g := r.Generator
	if g.EMF != 1 || math.Abs(g.Into50-0.5) > 1e-12 || math.Abs(g.Into50Vpp-math.Sqrt2) > 1e-12 {
		t.Errorf("%+v", g)
	}
}

// form is the series resistor that a setup's source was given.
func form(s *setup.Setup) (any, bool) {
	v, ok := s.Source.Values["series"]
	return v.Of, ok
}

// Every sweep that is listed shows something, a control that shows nothing is shown beside another switch, and one that never
// does is named.
func TestSweepsShow(t *testing.T) {
	b, s := bench(t, series, fifty)
	straight := b.Start().With("Path", box.Reading{Word: "straight"})
	r := mustPlan(t, plan.Question{Box: b, Setup: s, At: straight})
	tuned := 0
	for _, one := range r.Sweeps {
		if one.Shows == "Tune" {
			tuned++
			if !slices.Equal(one.Beside, []string{"Path"}) || one.Setting["Path"].Word != "tuned" {
				t.Errorf("%+v", one)
			}
		}
	}
	if tuned != 2 || !slices.Equal(r.Idle, []string{"Lamp"}) || len(r.Sweeps) != 4 {
		t.Errorf("%d sweeps of Tune, idle %v, %d sweeps", tuned, r.Idle, len(r.Sweeps))
	}
	// The peak at the lower stop of the capacitor lies above the sweep: told, not left out.
	r = mustPlan(t, plan.Question{Box: b, Setup: s, At: b.Start()})
	outside := 0
	for _, one := range r.Sweeps {
		if math.IsNaN(one.Peak) && strings.Contains(string(one.Where), "highest at the") {
			outside++
		}
	}
	if outside == 0 {
		t.Errorf("%+v", r.Sweeps)
	}
}

// Where nothing reaches the load, or nothing resonates, the plan says so and gives no figures that are none.
func TestNothingToSee(t *testing.T) {
	b, s := bench(t, strings.Replace(series, "straight: {joins: [[ant, rx]]}", "off: {joins: [[rx, ground]]}, straight: {joins: [[ant, rx]]}", 1), fifty)
	r := mustPlan(t, plan.Question{Box: b, Setup: s, At: b.Start().With("Path", box.Reading{Word: "off"})})
	if l := r.Levels; !math.IsNaN(l.Highest) || !math.IsNaN(l.Lowest) || !math.IsNaN(l.Step[8]) || !strings.Contains(strings.Join(r.Notices, "; "), "nothing reaches the load") {
		t.Errorf("%+v %v", l, r.Notices)
	}
	r = mustPlan(t, plan.Question{Box: b, Setup: s, At: b.Start().With("Path", box.Reading{Word: "straight"})})
	if r.Points != 0 || r.Exact < 57_501 || !math.IsNaN(r.Shift) || !math.IsNaN(r.Loss) || math.IsNaN(r.Rate) {
		t.Errorf("%d and %d samples, limits %g Hz and %g dB, %g Hz", r.Points, r.Exact, r.Shift, r.Loss, r.Rate)
	}
}

// However long the sweep, the list of gaps stays short; a sweep of years is refused.
func TestLongSweeps(t *testing.T) {
	b, s := bench(t, series, strings.Replace(fifty, "20 ms", "500000 s", 1))
	r := mustPlan(t, plan.Question{Box: b, Setup: s, At: b.Start(), Samples: 1_000_000})
	if len(r.Gaps) > chirp.MostGaps || r.GapCount <= len(r.Gaps) {
		t.Errorf("%d gaps listed of %d", len(r.Gaps), r.GapCount)
	}
	s.Sweep.Time = 1e9
	if _, err := plan.Run(t.Context(), plan.Question{Box: b, Setup: s, At: b.Start()}); err == nil || !strings.Contains(err.Error(), "1000000 s or less") {
		t.Error(err)
	}
}

// The advice about the probe has its own figures for a load of 50 ohm.
func TestProbeAcross50(t *testing.T) {
	files := demo.Files()
	b, err := box.Load(files, demo.DefaultBox)
	if err != nil {
		t.Fatal(err)
	}
	s, err := setup.LoadFile(files, "bench-probe.setup.yaml")
	if err != nil {
		t.Fatal(err)
	}
	r := mustPlan(t, plan.Question{Box: b, Setup: s, At: b.Start()})
	if r.Probe == nil || r.Probe.Across50 == nil || !(math.Abs(r.Probe.Across50.Shift) < math.Abs(r.Probe.Shift)/5) || !strings.Contains(strings.Join(r.Notices, "; "), "across a load of 50 ohm it moves the peak by") {
		t.Errorf("%+v %v", r.Probe, r.Notices)
	}
	text, err := files.Read("bench-probe.setup.yaml")
	if err != nil {
		t.Fatal(err)
	}
	loaded := regexp.MustCompile(`(?m)^load: .*$`).ReplaceAll(text, []byte("load: {kind: resistor, value: 50 ohm}"))
	fifty, err := setup.Parse(files, "fifty.setup.yaml", loaded)
	if err != nil {
		t.Fatal(err)
	}
	x := mustPlan(t, plan.Question{Box: b, Setup: fifty, At: b.Start()})
	if x.Probe.Shift != r.Probe.Across50.Shift || x.Probe.Gain != r.Probe.Across50.Gain || x.Probe.Across50 != nil {
		t.Errorf("%+v, want %+v", x.Probe, r.Probe.Across50)
	}
}
