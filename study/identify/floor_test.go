package identify_test

import (
	"fmt"
	"math"
	"strings"
	"testing"

	"knobwise/study/identify"
)

var (
	piHidden = map[string]string{"value: 47 pF": `value: "?"`, "value: 33 uH, Q: 140": `value: "?", Q: "? 100"`, "value: 82 pF": `value: "?"`}
	piTruth  = map[string]float64{"C3 value": 47e-12, "C4 value": 82e-12, "L1 value": 33e-6, "L1 Q": 140}
)

// Traces whose skirts end on the floor of the detector, which adds in power: the circuit explains them, the intervals hold the truth, and
// a floor that stands still is told, in decibels below the highest level. One that is in each point as it happened to be is noise.
func TestFloor(t *testing.T) {
	all, outside := 0, 0
	for _, quantity := range []string{"amplitude", "dB"} {
		for _, single := range []bool{false, true} {
			for seed := range uint64(3) {
				x := &bench{
					truth: pi, hide: piHidden, seed: 70 + seed, noise: 0.01, misread: 0.01, floor: 0.02, single: single,
					setups: map[string]string{"f.setup.yaml": fifty}, entries: settings("f.setup.yaml", seed == 1, quantity, [2]string{"2", "3"}, [2]string{"5", "3"}, [2]string{"8", "7"}, [2]string{"3", "8"}),
				}
				r := run(t, x.question(t))
				name := fmt.Sprint(quantity, single, seed)
				if r.Status == identify.Unexplained {
					t.Errorf("%s: not explained: %v", name, r.Notices)
				}
				// -34 dB: 20·log10(0.02).
				if told := strings.Join(r.Notices, " "); !single && !strings.Contains(told, "stand on a floor 34 dB below the highest") {
					t.Errorf("%s: the floor is not told: %s", name, told)
				}
				for _, v := range r.Values {
					if !v.Determined {
						continue
					}
					all++
					if truth := piTruth[v.Part+" "+v.Field]; truth < v.Low || truth > v.High {
						outside++
						if half := (v.High - v.Low) / 2; math.Abs(v.Value-truth) > 2*half {
							t.Errorf("%s: %s is %g in %g .. %g, truly %g", name, v.Name(), v.Value, v.Low, v.High, truth)
						}
					}
				}
			}
		}
	}
	t.Logf("%d values determined, %d intervals do not hold the truth", all, outside)
	if all < 40 || outside > all/8 {
		t.Errorf("%d values determined, %d intervals do not hold the truth", all, outside)
	}
}

// Without a floor none is told, also where a circuit is wrong: a floor does not make up for a missing part.
func TestNoFloor(t *testing.T) {
	for seed := range uint64(3) {
		x := &bench{
			truth: twin, hide: twinHidden, seed: 80 + seed, noise: 0.01, misread: 0.01,
			setups: map[string]string{"s.setup.yaml": kiloohm}, entries: settings("s.setup.yaml", false, "amplitude", [2]string{"3", "5"}, [2]string{"6", "6"}, [2]string{"8", "4"}),
		}
		r := run(t, x.question(t))
		for _, f := range r.Fits {
			if !math.IsNaN(f.Floor) {
				t.Errorf("%s has a floor of %g", f.Name, f.Floor)
			}
		}
	}
}

// A trap in the signal path: its notch is a few points wide, and a floor that fills it looks like a low Q.
const trap = `box: Trap
terminals: {antenna: ant, receiver: rx}
parts:
  C1: {kind: variable capacitor, nodes: [ant, rx], range: 14 pF .. 390 pF, Q: 500}
  L1: {kind: inductor, nodes: [ant, rx], value: 33 uH, Q: 160}
  C2: {kind: capacitor, nodes: [rx, ground], value: 120 pF, Q: 500}
controls:
  Front: {knob: C1, scale: 0 .. 10}
`

// What a floor does to a notch is not taken for the coil's: with one floor for all traces, and with one for each.
func TestFloorUnderANotch(t *testing.T) {
	hide := map[string]string{"value: 33 uH, Q: 160": `value: "?", Q: "? 100"`, "value: 120 pF": `value: "? 30 pF .. 500 pF"`}
	truth := map[string]float64{"L1 value": 33e-6, "L1 Q": 160, "C2 value": 120e-12}
	all := 0
	for _, ranges := range []bool{false, true} {
		for seed := range uint64(4) {
			x := &bench{
				truth: trap, hide: hide, seed: 90 + seed, noise: 0.01, misread: 0.01, floor: 0.05, ranges: ranges, setups: map[string]string{"f.setup.yaml": fifty},
				entries: []entry{{"f.setup.yaml", map[string]string{"Front": "2"}, true, "amplitude"}, {"f.setup.yaml", map[string]string{"Front": "5"}, true, "amplitude"}, {"f.setup.yaml", map[string]string{"Front": "8"}, true, "amplitude"}},
			}
			r := run(t, x.question(t))
			for _, v := range r.Values {
				if !v.Determined {
					continue
				}
				all++
				if half := max(v.High-v.Value, v.Value-v.Low); math.Abs(v.Value-truth[v.Part+" "+v.Field]) > 2*half {
					t.Errorf("%v %d: %s is %g in %g .. %g, truly %g", ranges, seed, v.Name(), v.Value, v.Low, v.High, truth[v.Part+" "+v.Field])
				}
			}
		}
	}
	if all < 12 {
		t.Errorf("only %d values are determined", all)
	}
}
