package identify_test

import (
	"context"
	"math"
	"slices"
	"strings"
	"testing"

	"knobwise/internal/specimen"
	"knobwise/study/identify"
)

// The sweep that is proposed, when it is taken, brings about the intervals that were foreseen. The whole proof is `go run ./internal/proof -next 36` (docs/PROOF.md).
func TestNextForesees(t *testing.T) {
	ctx := context.Background()
	taken := specimen.Kind{Noise: 0.01, Misread: 0.01, Sweeps: 2}
	width := func(r *identify.Result, names []string) float64 {
		sum := 0.0
		for i := range r.Values {
			if v := &r.Values[i]; slices.Contains(names, v.Name()) {
				sum += math.Log((v.High - v.Low) / 2 / math.Abs(v.Value))
			}
		}
		return sum / float64(len(names))
	}
	tried := 0
	for _, family := range []string{"ell", "pi", "ranges", "series tuned", "double tuned, mutual"} {
		fresh := func() *specimen.Specimen {
			s, err := specimen.New(family, 7000, taken)
			if err != nil {
				t.Fatal(err)
			}
			return s
		}
		q := asked(t, fresh())
		r := run(t, q)
		possible := identify.Possibilities(q.Box, identify.SetupsOf(q.Measurements), 400)
		proposals, err := r.Next(ctx, possible, nil, 2, func(float64) {})
		if err != nil || len(proposals) != 2 {
			t.Fatal(family, err, len(proposals))
		}
		var wanted []string
		after := 0.0
		for _, e := range proposals[0].After {
			if e.After > e.Before*(1+1e-9) {
				t.Errorf("%s: %s would be known worse: %g, before %g", family, e.Name, e.After, e.Before)
			}
			if e.Wanted {
				wanted = append(wanted, e.Name)
				after += math.Log(e.After)
			}
		}
		after /= float64(len(wanted))
		for i, e := range proposals[1].After {
			if e.After > proposals[0].After[i].After*(1+1e-9) {
				t.Errorf("%s: with the second measurement %s would be known worse", family, e.Name)
			}
		}
		s := fresh()
		if err := s.Take(strings.ToLower(proposals[0].SetupName), proposals[0].Setting, taken, 1); err != nil {
			t.Fatal(err)
		}
		now := run(t, asked(t, s))
		before, got := width(r, wanted), width(now, wanted)
		t.Logf("%s: intervals of %v ±%.3g, foreseen ±%.3g, got ±%.3g", family, wanted, math.Exp(before), math.Exp(after), math.Exp(got))
		if ratio := math.Exp(got - after); ratio < 0.6 || ratio > 1.6 || got >= before {
			t.Errorf("%s: the intervals are %.2f times the foreseen ones", family, ratio)
		}
		tried++
	}
	if tried != 5 {
		t.Error(tried)
	}
}

// Reflections at the antenna socket with the other open say nothing of a capacitor that leads there alone: the short is proposed, or the
// load, and when it is measured the capacitor is determined. S-parameters of both sockets need no load.
func TestNextWithAnAnalyser(t *testing.T) {
	ctx := context.Background()
	opened := "setup: O\nsource: {kind: generator, emf: 1 V, impedance: 50 ohm}\nload: {kind: open}\nsweep: {from: 0.5 MHz, to: 4 MHz, points: 61}\n"
	shorted := strings.Replace(opened, "open", "short", 1)
	x := &bench{
		truth: pi, hide: piHidden, seed: 5, noise: 0.005, misread: 0.005, ends: map[string]complex128{"o.setup.yaml": 1, "s.setup.yaml": -1},
		setups:  map[string]string{"o.setup.yaml": opened, "s.setup.yaml": shorted},
		entries: settings("o.setup.yaml", false, "s-parameters", [2]string{"2", "3"}, [2]string{"6", "4"}),
	}
	q := x.question(t)
	r := run(t, q)
	ways := identify.WaysOf(q.Measurements, q.Traces)
	if len(ways) != 2 { // open, as it was, and short
		t.Fatal(ways)
	}
	if ways[0].SetupFile != "o.setup.yaml" || ways[1].SetupFile != "" {
		t.Errorf("the short stands in no file: %q, %q", ways[0].SetupFile, ways[1].SetupFile)
	}
	at := slices.IndexFunc(r.Values, func(v identify.Value) bool { return v.Part == "C4" })
	if r.Values[at].Determined {
		t.Error("a capacitor that hangs free is determined")
	}
	proposals, err := r.Next(ctx, identify.Possibilities(q.Box, ways, 400), []string{"C4"}, 1, func(float64) {})
	if err != nil || len(proposals) != 1 {
		t.Fatal(err, len(proposals))
	}
	p := proposals[0]
	if p.Ports != 1 || !strings.Contains(p.Describe(q.Box), "reflection at the antenna socket, the receiver socket on short") || !math.IsNaN(p.Peaked) || !(p.After[at].After < 0.1) {
		t.Errorf("%s: %+v", p.Describe(q.Box), p.After[at])
	}
	taken := [2]string{p.Setting["Front"].String(), p.Setting["Rear"].String()}
	x.entries = append(x.entries, settings("s.setup.yaml", false, "s-parameters", taken)...)
	now := run(t, x.question(t)).Values[at]
	half := (now.High - now.Low) / 2
	if !now.Determined || math.Abs(now.Value-82e-12) > 2*half || half/now.Value > 2*p.After[at].After {
		t.Errorf("C4 is %g in %g .. %g; ±%g was foreseen", now.Value, now.Low, now.High, p.After[at].After)
	}

	x.ends = nil
	q = x.question(t)
	ways = identify.WaysOf(q.Measurements, q.Traces)
	if p := ways[0].On(q.Measurements[0].Setup, "bench", "o.setup.yaml"); p.Ports != 0 || p.SetupName != "bench" || p.SetupFile != "o.setup.yaml" {
		t.Errorf("on a setup levels are measured: %+v", p)
	}
	proposals, err = run(t, q).Next(ctx, identify.Possibilities(q.Box, ways, 100), nil, 1, func(float64) {})
	if err != nil || len(proposals) != 1 || proposals[0].Ports != 2 {
		t.Fatal(err, proposals)
	}
}
