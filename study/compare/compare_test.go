package compare_test

import (
	"context"
	"errors"
	"math"
	"strings"
	"testing"

	"knobwise/bench/box"
	"knobwise/bench/fault"
	"knobwise/bench/folder"
	"knobwise/bench/trace"
	"knobwise/internal/specimen"
	"knobwise/study/compare"
	"knobwise/study/identify"
)

// asked is a specimen's measurements as a question without candidates.
func asked(t *testing.T, family string, k specimen.Kind) (compare.Question, *specimen.Specimen) {
	t.Helper()
	s, err := specimen.New(family, 3, k)
	if err != nil {
		t.Fatal(err)
	}
	f, files, err := s.Load()
	if err != nil {
		t.Fatal(err)
	}
	q := compare.Question{Measured: f.Box, Measurements: f.Measurements, ReadingError: identify.DefaultReadingError, Starts: 8, Seed: 1}
	for _, m := range f.Measurements {
		x, err := trace.Load(context.Background(), files, m)
		if err != nil {
			t.Fatal(err)
		}
		q.Traces = append(q.Traces, x)
	}
	return q, s
}

func candidate(t *testing.T, name, text string) compare.Candidate {
	t.Helper()
	b, err := box.Parse(folder.Disk(), name, []byte(text))
	if err != nil {
		t.Fatal(err)
	}
	return compare.Candidate{Name: name, Box: b}
}

// The true circuit wins over another one; the same circuit written otherwise shares its weight, and that is said; one with a part
// more is no better, and behind it by what the part costs.
func TestRanking(t *testing.T) {
	q, s := asked(t, "pi", specimen.Kind{Noise: 0.01, Misread: 0.01, Sweeps: 5})
	known := string(s.Files["x.box.yaml"].Data)
	swapped := strings.NewReplacer("[a, b]", "[b, a]", "[ant, a]", "[a, ant]").Replace(known)
	more := strings.Replace(known, "parts:\n", "parts:\n  C9: {kind: capacitor, nodes: [a, b], value: \"? 0.001 pF .. 5 pF\"}\n", 1)
	other := strings.Replace(known, "nodes: [a, b]", "nodes: [a, ground]", 1)
	other = strings.Replace(other, "parts:\n", "parts:\n  C8: {kind: capacitor, nodes: [a, b], value: \"? 1 pF .. 100 pF\"}\n", 1)
	for name, text := range map[string]string{"true": known, "swapped": swapped, "more": more, "other": other} {
		q.Candidates = append(q.Candidates, candidate(t, name, text))
	}
	r, err := compare.Run(context.Background(), q, identify.SetupsOf(q.Measurements))
	if err != nil {
		t.Fatal(err)
	}
	total := 0.0
	at := map[string]compare.Ranked{}
	for i, c := range r.Candidates {
		total += c.Weight
		at[c.Name] = c
		t.Logf("%s: rank %d, weight %.4f, behind %.2f, left %.2f, like %v", c.Name, c.Rank, c.Weight, c.Behind, c.Result.RMS, c.Like)
		if c.Rank != i+1 {
			t.Errorf("%s stands at %d with rank %d", c.Name, i+1, c.Rank)
		}
	}
	if math.Abs(total-1) > 1e-12 {
		t.Errorf("the weights add to %g", total)
	}
	if math.Abs(at["true"].Behind-at["swapped"].Behind) > 0.5 || len(at["true"].Like) == 0 || !strings.Contains(strings.Join(r.Notices, " "), "share the weight") {
		t.Errorf("the same circuit: %.3f and %.3f behind; %v", at["true"].Behind, at["swapped"].Behind, r.Notices)
	}
	if d := at["more"].Behind - at["true"].Behind; d < -2 || d > 4 {
		t.Errorf("a part more is %g behind", d)
	}
	if at["other"].Weight > 1e-6 || at["other"].Rank != 4 {
		t.Errorf("another circuit has the weight %g", at["other"].Weight)
	}
	if !r.Explained || r.Difference == nil {
		t.Errorf("explained %v, difference %v", r.Explained, r.Difference)
	}
	if at["true"].Screened || at["swapped"].Screened || !at["other"].Screened {
		t.Error("care goes to those that can win, and to no others")
	}
	// However many work on it, it comes out the same.
	for _, q.Workers = range []int{1, 3} {
		again, err := compare.Run(context.Background(), q, nil)
		if err != nil {
			t.Fatal(err)
		}
		for i, c := range again.Candidates {
			if o := r.Candidates[i]; c.Name != o.Name || c.Behind != o.Behind || c.Screened != o.Screened || c.Result.RMS != o.Result.RMS {
				t.Errorf("with %d workers %s is %g behind, else %s %g", q.Workers, c.Name, c.Behind, o.Name, o.Behind)
			}
		}
	}
}

// Where no circuit comes near the traces, one alone is fitted with care, and it is said that the weights mean little.
func TestNoneExplains(t *testing.T) {
	q, s := asked(t, "pi", specimen.Kind{Noise: 0.01, Misread: 0.01, Sweeps: 5})
	known := string(s.Files["x.box.yaml"].Data)
	other := strings.Replace(known, "nodes: [a, b]", "nodes: [a, ground]", 1)
	for name, value := range map[string]string{"capacitor": "{kind: capacitor, nodes: [a, b], value: \"? 1 pF .. 100 pF\"}", "resistor": "{kind: resistor, nodes: [a, b], value: \"? 10 ohm .. 10 kohm\"}"} {
		q.Candidates = append(q.Candidates, candidate(t, name, strings.Replace(other, "parts:\n", "parts:\n  X8: "+value+"\n", 1)))
	}
	r, err := compare.Run(context.Background(), q, identify.SetupsOf(q.Measurements))
	if err != nil {
		t.Fatal(err)
	}
	careful := 0
	for _, c := range r.Candidates {
		t.Logf("%s: weight %.4f, behind %.2f, left %.2f, screened %v", c.Name, c.Weight, c.Behind, c.Result.RMS, c.Screened)
		if !c.Screened {
			careful++
		}
	}
	if careful != 1 || r.Explained || !strings.Contains(strings.Join(r.Notices, " "), "the least wrong") {
		t.Errorf("%d fitted with care, explained %v, %v", careful, r.Explained, r.Notices)
	}
}

// Of the built-in circuits the true one comes first, knowing nothing but the panel and the variable capacitor.
func TestBuiltinFindsTheTruth(t *testing.T) {
	q, s := asked(t, "shunt tuned, one knob", specimen.Kind{Noise: 0.01, Misread: 0.01, Sweeps: 3, Points: 31})
	var err error
	if q.Candidates, err = compare.Builtin(q.Measured, q.Measurements, q.Traces); err != nil {
		t.Fatal(err)
	}
	last := 0.0
	q.Progress = func(done float64, _ string) {
		if done < last {
			t.Errorf("progress falls from %g to %g", last, done)
		}
		last = done
	}
	r, err := compare.Run(context.Background(), q, identify.SetupsOf(q.Measurements))
	if err != nil {
		t.Fatal(err)
	}
	for _, c := range r.Candidates[:4] {
		t.Logf("%.3f %.2f %d %s", c.Weight, c.Result.RMS, c.Parameters, c.Name)
	}
	best := r.Candidates[0]
	if len(q.Candidates) < 40 || len(r.Candidates) != len(q.Candidates) || best.Name != "shunt tuned; antenna through a capacitor; receiver through a capacitor" {
		t.Fatalf("%d candidates, the best %s", len(q.Candidates), best.Name)
	}
	near := 0
	for _, v := range best.Result.Values {
		if truth := s.Truth["L1 value"]; v.Part == "L1" && v.Field == "value" {
			near++
			if math.Abs(v.Value/truth-1) > 0.05 {
				t.Errorf("L1 is %g, truly %g", v.Value, truth)
			}
		}
	}
	if near != 1 {
		t.Error("no L1")
	}
}

func TestBadQuestions(t *testing.T) {
	q, s := asked(t, "tee", specimen.Kind{Noise: 0.01, Sweeps: 2, Points: 21})
	known := string(s.Files["x.box.yaml"].Data)
	one := candidate(t, "one", known)
	for name, c := range map[string]struct {
		candidates []compare.Candidate
		says       string
	}{
		"none":               {nil, "0 circuit to compare"},
		"one":                {[]compare.Candidate{one}, "1 circuit to compare"},
		"another panel":      {[]compare.Candidate{one, candidate(t, "two", strings.ReplaceAll(known, "Front:", "Left:"))}, `two: Specimen has no control "Front"`},
		"a scale that stops": {[]compare.Candidate{one, candidate(t, "two", strings.ReplaceAll(known, "0 .. 10", "0 .. 1"))}, "its scale is 0 .. 1"},
	} {
		q.Candidates = c.candidates
		_, err := compare.Run(context.Background(), q, nil)
		if f, ok := errors.AsType[*fault.Error](err); !ok || !strings.Contains(err.Error(), c.says) && !strings.Contains(err.Error(), "two: ") || f.Instead == "" {
			t.Errorf("%s: %v", name, err)
		}
	}
	ctx, stop := context.WithCancel(context.Background())
	q.Candidates = []compare.Candidate{one, candidate(t, "two", known)}
	q.Progress = func(float64, string) { stop() }
	if _, err := compare.Run(ctx, q, nil); !errors.Is(err, context.Canceled) {
		t.Errorf("cancelled: %v", err)
	}
}
