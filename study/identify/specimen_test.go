package identify_test

import (
	"context"
	"math"
	"testing"

	"knobwise/bench/trace"
	"knobwise/internal/specimen"
	"knobwise/study/identify"
)

// asked is what a specimen asks, through its files.
func asked(t *testing.T, s *specimen.Specimen) identify.Question {
	t.Helper()
	f, files, err := s.Load()
	if err != nil {
		t.Fatal(err)
	}
	q := identify.Question{Box: f.Box, Measurements: f.Measurements, ReadingError: identify.DefaultReadingError, Seed: 1}
	for _, m := range f.Measurements {
		x, err := trace.Load(context.Background(), files, m)
		if err != nil {
			t.Fatal(err)
		}
		q.Traces = append(q.Traces, x)
	}
	return q
}

// One box of every family, through files: no determined value is off by more than four intervals, and nearly all intervals hold the
// truth. The whole proof is `go run ./internal/proof` (docs/PROOF.md).
func TestSpecimens(t *testing.T) {
	values, determined, held := 0, 0, 0
	for i, family := range specimen.Families() {
		s, err := specimen.New(family, uint64(200+i), specimen.Kind{Noise: 0.01, Misread: 0.01, Sweeps: 6})
		if err != nil {
			t.Fatal(err)
		}
		q := asked(t, s)
		q.Starts = 16
		r, err := identify.Run(context.Background(), q)
		if err != nil {
			t.Fatal(err)
		}
		for _, v := range r.Values {
			truth := s.Truth[v.Part+" "+v.Field]
			values++
			if v.Low <= truth && truth <= v.High {
				held++
			}
			if !v.Determined {
				continue
			}
			determined++
			if half := max(v.High-v.Value, v.Value-v.Low); math.Abs(v.Value-truth) > 4*half || math.Abs(v.Value/truth-1) > 0.3 {
				t.Errorf("%s: %s is %g in %g .. %g, truly %g", s.Name, v.Name(), v.Value, v.Low, v.High, truth)
			}
		}
	}
	t.Logf("%d values, %d determined, %d intervals hold the truth", values, determined, held)
	if values < 35 || determined < values*8/10 || held < values*85/100 {
		t.Errorf("%d values, %d determined, %d intervals hold the truth", values, determined, held)
	}
}
