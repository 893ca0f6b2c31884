package identify_test

import (
	"math"
	"strings"
	"testing"

	"knobwise/study/identify"
)

const twin = `box: Twin
terminals: {antenna: ant, receiver: rx}
parts:
  C1: {kind: variable capacitor, nodes: [a, ground], range: 14 pF .. 390 pF}
  C2: {kind: variable capacitor, nodes: [rx, ground], range: 14 pF .. 390 pF}
  C4: {kind: capacitor, nodes: [ant, a], value: 60 pF}
  C3: {kind: capacitor, nodes: [a, rx], value: 12 pF}
  L1: {kind: inductor, nodes: [a, ground], value: 47 uH, Q: 150}
  L2: {kind: inductor, nodes: [rx, ground], value: 38 uH, Q: 150}
controls:
  Front: {knob: C1, scale: 0 .. 10}
  Rear: {knob: C2, scale: 0 .. 10}
`

var (
	twinHidden = map[string]string{"value: 60 pF": `value: "?"`, "value: 12 pF": `value: "?"`, "value: 47 uH, Q: 150": `value: "?", Q: "? 100"`, "value: 38 uH, Q: 150": `value: "?", Q: "? 100"`}
	twinTruth  = map[string]float64{"C4 value": 60e-12, "C3 value": 12e-12, "L1 value": 47e-6, "L1 Q": 150, "L2 value": 38e-6, "L2 Q": 150}
)

const (
	kiloohm = "setup: K\nsource: {kind: generator, emf: 1 V, impedance: 250 ohm}\nload: {kind: resistor, value: 1 kohm}\nprobe: {resistance: 10 Mohm, capacitance: 12 pF}\nsweep: {from: 0.6 MHz, to: 3 MHz, points: 121}\n"
	upper   = "setup: U\nsource: {kind: generator, emf: 1 V, impedance: 250 ohm}\nload: {kind: resistor, value: 1 kohm}\nsweep: {from: 2 MHz, to: 3 MHz, points: 61}\n"
)

// Traces that tell too little, in each way: one trace, few points, a sweep that misses the peaks. What is determined all the same is within
// three halves of its interval; no valley makes an interval of nothing.
func TestTooLittle(t *testing.T) {
	all, far := 0, 0
	for name, c := range map[string]struct {
		setup  string
		at     [][2]string
		points int
	}{
		"one trace":      {kiloohm, [][2]string{{"5", "5"}}, 0},
		"eleven points":  {kiloohm, [][2]string{{"3", "5"}, {"6", "6"}, {"8", "4"}}, 11},
		"the skirt only": {upper, [][2]string{{"3", "5"}, {"6", "6"}, {"8", "4"}}, 0},
		"the same again": {kiloohm, [][2]string{{"5", "5"}, {"5", "5"}, {"5", "5"}}, 0},
	} {
		// From 55 the refits of C4 came to another valley close by, and its interval ended there.
		for _, seed := range []uint64{30, 31, 32, 55} {
			x := &bench{truth: twin, hide: twinHidden, seed: seed, noise: 0.01, misread: 0.01, points: c.points, setups: map[string]string{"s.setup.yaml": c.setup}, entries: settings("s.setup.yaml", false, "amplitude", c.at...)}
			r := run(t, x.question(t))
			for _, v := range r.Values {
				truth := twinTruth[v.Part+" "+v.Field]
				if !v.Determined {
					continue
				}
				all++
				if half := max(v.High-v.Value, v.Value-v.Low); math.Abs(v.Value-truth) > 3*half {
					far++
					t.Errorf("%s: %s is %g in %g .. %g, truly %g", name, v.Name(), v.Value, v.Low, v.High, truth)
				}
			}
		}
	}
	t.Logf("%d values determined, %d far off", all, far)
	if all < 10 {
		t.Errorf("only %d values were determined", all)
	}
}

// As many points as values determine nothing.
func TestNoFreedom(t *testing.T) {
	x := &bench{
		truth: pi, seed: 3, noise: 0.01, points: 2, hide: map[string]string{"value: 47 pF": `value: "? 20 pF .. 100 pF"`, "value: 33 uH, Q: 140": `value: "?", Q: "? 100"`},
		setups: map[string]string{"f.setup.yaml": fifty}, entries: settings("f.setup.yaml", false, "amplitude", [2]string{"2", "3"}, [2]string{"5", "3"}, [2]string{"8", "7"}),
	}
	r := run(t, x.question(t))
	for _, v := range r.Values {
		if v.Determined {
			t.Errorf("%s counts as determined", v.Name())
		}
	}
	if r.Status == identify.Found || !strings.Contains(strings.Join(r.Notices, " "), "measure more points") {
		t.Errorf("%s: %v", r.Status, r.Notices)
	}
}

// A plate law that is another than the file says asks for dials far from what was read: nothing is determined, and the law is named.
func TestAnotherLaw(t *testing.T) {
	x := &bench{
		truth: strings.ReplaceAll(twin, "390 pF}", "390 pF, law: straight-line frequency}"), seed: 3, noise: 0.01, hide: twinHidden, every: map[string]string{", law: straight-line frequency": ""},
		setups:  map[string]string{"s.setup.yaml": kiloohm},
		entries: settings("s.setup.yaml", false, "amplitude", [2]string{"3", "5"}, [2]string{"6", "6"}, [2]string{"8", "4"}, [2]string{"5", "2"}),
	}
	r := run(t, x.question(t))
	if r.Status != identify.Unexplained || !strings.Contains(strings.Join(r.Notices, " "), "check the law of the parts") {
		t.Errorf("%s: %v", r.Status, r.Notices)
	}
}

// A setting that was written down wrongly is named.
func TestWrongSetting(t *testing.T) {
	x := &bench{
		truth: pi, seed: 3, noise: 0.01, misread: 0.005, hide: map[string]string{"value: 47 pF": `value: "? 20 pF .. 100 pF"`, "value: 33 uH, Q: 140": `value: "? 10 uH .. 100 uH", Q: "? 100"`},
		setups: map[string]string{"f.setup.yaml": fifty}, entries: settings("f.setup.yaml", true, "amplitude", [2]string{"2", "3"}, [2]string{"5", "3"}, [2]string{"8", "7"}, [2]string{"3", "8"}, [2]string{"6", "5"}),
	}
	q := x.question(t)
	q.Measurements[2].Setting["Front"], q.Measurements[2].Setting["Rear"] = q.Measurements[0].Setting["Front"], q.Measurements[0].Setting["Rear"]
	r := run(t, q)
	if told := strings.Join(r.Notices, " "); !strings.Contains(told, "m2.csv") {
		t.Errorf("%s: %v", r.Status, r.Notices)
	}
}

// A coupling of which nothing is known is found.
func TestUnknownCoupling(t *testing.T) {
	coupled := `box: Coupled
terminals: {antenna: ant, receiver: rx}
parts:
  C1: {kind: variable capacitor, nodes: [a, ground], range: 14 pF .. 390 pF}
  C2: {kind: variable capacitor, nodes: [rx, ground], range: 14 pF .. 390 pF}
  C4: {kind: capacitor, nodes: [ant, a], value: 60 pF}
  T1: {kind: coupled coils, windings: [{nodes: [a, ground], value: 47 uH}, {nodes: [rx, ground], value: 38 uH}], coupling: 0.12, Q: 150}
controls:
  Front: {knob: C1, scale: 0 .. 10}
  Rear: {knob: C2, scale: 0 .. 10}
`
	x := &bench{
		truth: coupled, seed: 3, noise: 0.01, misread: 0.01, hide: map[string]string{"coupling: 0.12, Q: 150": `coupling: "?", Q: "? 100"`, "value: 47 uH": `value: "?"`},
		setups: map[string]string{"s.setup.yaml": kiloohm}, entries: settings("s.setup.yaml", false, "amplitude", [2]string{"3", "5"}, [2]string{"6", "6"}, [2]string{"8", "4"}),
	}
	r := run(t, x.question(t))
	want := map[string]float64{"T1 coupling": 0.12, "T1 Q": 150, "T1 value of winding 1": 47e-6}
	for _, v := range r.Values {
		if truth := want[v.Part+" "+v.Field]; !v.Determined || math.Abs(v.Value/truth-1) > 0.15 {
			t.Errorf("%s: %g, truly %g", v.Name(), v.Value, truth)
		}
	}
	if len(r.Values) != 3 {
		t.Errorf("%d values", len(r.Values))
	}
}

// A capacitor beside the probe, both unknown: only their sum is determined, wherever the fit ended.
func TestCapacitorBesideTheProbe(t *testing.T) {
	beside := strings.Replace(twin, "  L1:", "  C5: {kind: capacitor, nodes: [rx, ground], value: 100 pF}\n  L1:", 1)
	for seed := range uint64(6) {
		x := &bench{
			truth: beside, seed: seed, noise: 0.01, misread: 0.01, hide: map[string]string{"value: 100 pF": `value: "? 5 pF .. 300 pF"`, "value: 47 uH, Q: 150": `value: "? 20 uH .. 90 uH", Q: "? 100"`},
			setups:  map[string]string{"s.setup.yaml": strings.Replace(kiloohm, "capacitance: 12 pF", `capacitance: "? 3 pF .. 60 pF"`, 1)},
			entries: settings("s.setup.yaml", false, "amplitude", [2]string{"3", "5"}, [2]string{"6", "6"}, [2]string{"8", "4"}),
		}
		r := run(t, x.question(t))
		if len(r.Degenerate) == 0 {
			t.Fatal("nothing is told")
		}
		d := r.Degenerate[0]
		// Of the truth the probe has the middle of its bounds, √(3·60) pF.
		if d.What != "sum" || math.Abs(d.Value-(100e-12+math.Sqrt(180)*1e-12)) > 2*d.Half || !strings.Contains(d.Text, "C5 and capacitance of probe: only their sum") {
			t.Errorf("%+v", d)
		}
	}
}
