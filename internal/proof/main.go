// Proof identifies the inside of boxes whose truth is known, and tells how good that is: how many values are declared
// determined, how far off those are, and how often their intervals hold the truth.
//
//	go run ./internal/proof            the table of docs/PROOF.md
//	go run ./internal/proof -boxes 8   a quick look
//	go run ./internal/proof -only 4 -v one kind of measurement, with every value; -ranked takes it too
//	go run ./internal/proof -ranked 18 how often the true circuit comes first among the built-in ones
//	go run ./internal/proof -next 36   what the proposed measurement brings
package main

import (
	"context"
	"flag"
	"fmt"
	"io"
	"math"
	"os"
	"slices"
	"time"

	"knobwise/bench/trace"
	"knobwise/internal/specimen"
	"knobwise/study/identify"
)

func main() {
	boxes := flag.Int("boxes", 72, "boxes for each kind of measurement, taken from all families in turn")
	ranked := flag.Int("ranked", 0, "boxes of which the built-in candidates are ranked instead; half a minute each")
	only := flag.Int("only", -1, "the number of one kind of measurement, from 0")
	foreseeing := flag.Int("next", 0, "boxes of which the proposed measurement is taken instead")
	verbose := flag.Bool("v", false, "print every value")
	flag.Parse()
	var err error
	switch {
	case *ranked > 0:
		err = rank(os.Stdout, *ranked, kinds[max(*only, 0)].kind)
	case *foreseeing > 0:
		err = foresee(os.Stdout, *foreseeing)
	default:
		err = run(os.Stdout, *boxes, *only, *verbose)
	}
	if err != nil {
		fmt.Fprintln(os.Stderr, err)
		os.Exit(1)
	}
}

// kinds are how the boxes are measured.
var kinds = []struct {
	name string
	kind specimen.Kind
}{
	{"1 % noise, dials misread by up to 1 %", specimen.Kind{Noise: 0.01, Misread: 0.01}},
	{"2 % noise, dials misread by up to 1 %", specimen.Kind{Noise: 0.02, Misread: 0.01}},
	{"1 % noise, dials read exactly", specimen.Kind{Noise: 0.01}},
	{"2 % noise, dials misread by up to 1 %, four sweeps", specimen.Kind{Noise: 0.02, Misread: 0.01, Sweeps: 4}},
	{"1 % noise, dials misread by up to 1 %, a detector's floor 34 dB below straight through", specimen.Kind{Noise: 0.01, Misread: 0.01, Floor: 0.02}},
}

// tally counts what came out.
type tally struct {
	boxes, values, determined, covered, coveredAll, far int
	off                                                 []float64 // of determined values, relative
	status                                              map[identify.Status]int
	took                                                time.Duration
}

func (t *tally) add(o *tally) {
	t.boxes += o.boxes
	t.values += o.values
	t.determined += o.determined
	t.covered += o.covered
	t.coveredAll += o.coveredAll
	t.far += o.far
	t.off = append(t.off, o.off...)
	t.took += o.took
}

func run(w io.Writer, boxes, only int, verbose bool) error {
	families := specimen.Families()
	fmt.Fprintf(w, "| measured with | boxes | values | determined | their 95 %% intervals hold the truth | all intervals | median error | 90 %% within | off by more than four intervals |\n|---|---|---|---|---|---|---|---|---|\n")
	byFamily := map[string]*tally{}
	for n, k := range kinds {
		if only >= 0 && n != only {
			continue
		}
		all := &tally{status: map[identify.Status]int{}}
		for i := range boxes {
			family := families[i%len(families)]
			one, err := identifyOne(w, family, uint64(n*1000+i/len(families)+1), k.kind, verbose)
			if err != nil {
				return err
			}
			all.add(one)
			if byFamily[family] == nil {
				byFamily[family] = &tally{}
			}
			byFamily[family].add(one)
		}
		row(w, k.name, all)
	}
	fmt.Fprintf(w, "\n| family, all of the above | boxes | values | determined | their 95 %% intervals hold the truth | all intervals | median error | 90 %% within | off by more than four intervals |\n|---|---|---|---|---|---|---|---|---|\n")
	for _, f := range families {
		if t := byFamily[f]; t != nil {
			row(w, f, t)
		}
	}
	return nil
}

func row(w io.Writer, name string, t *tally) {
	slices.Sort(t.off)
	at := func(q float64) float64 {
		if len(t.off) == 0 {
			return math.NaN()
		}
		return 100 * t.off[int(q*float64(len(t.off)-1))]
	}
	percent := func(a, b int) string {
		if b == 0 {
			return "-"
		}
		return fmt.Sprintf("%.1f %%", 100*float64(a)/float64(b))
	}
	fmt.Fprintf(w, "| %s | %d | %d | %s | %s | %s | %.2f %% | %.2f %% | %d |\n", name, t.boxes, t.values, percent(t.determined, t.values), percent(t.covered, t.determined), percent(t.coveredAll, t.values), at(0.5), at(0.9), t.far)
}

// question is what a specimen asks.
func question(s *specimen.Specimen, seed uint64) (identify.Question, error) {
	f, files, err := s.Load()
	if err != nil {
		return identify.Question{}, fmt.Errorf("%s: %w", s.Name, err)
	}
	q := identify.Question{Box: f.Box, Measurements: f.Measurements, ReadingError: identify.DefaultReadingError, Seed: seed}
	for _, m := range f.Measurements {
		t, err := trace.Load(context.Background(), files, m)
		if err != nil {
			return q, fmt.Errorf("%s: %w", s.Name, err)
		}
		q.Traces = append(q.Traces, t)
	}
	return q, nil
}

func identifyOne(w io.Writer, family string, seed uint64, k specimen.Kind, verbose bool) (*tally, error) {
	s, err := specimen.New(family, seed, k)
	if err != nil {
		return nil, err
	}
	q, err := question(s, seed)
	if err != nil {
		return nil, err
	}
	begun := time.Now()
	r, err := identify.Run(context.Background(), q)
	if err != nil {
		return nil, fmt.Errorf("%s: %w", s.Name, err)
	}
	t := &tally{boxes: 1, took: time.Since(begun)}
	if verbose {
		fmt.Fprintf(w, "%s: %s, left %.2f, runs %.1f, %d of %d starts, reading %.4f, %v\n", s.Name, r.Status, r.RMS, r.Runs, r.Same, r.Starts, r.ReadingError, t.took.Round(time.Millisecond))
	}
	for _, v := range r.Values {
		truth, ok := s.Truth[v.Part+" "+v.Field]
		if !ok {
			return nil, fmt.Errorf("%s: no truth for %s of %s", s.Name, v.Field, v.Part)
		}
		t.values++
		inside := v.Low <= truth && truth <= v.High
		if inside {
			t.coveredAll++
		}
		half := max(v.High-v.Value, v.Value-v.Low)
		far := v.Determined && math.Abs(v.Value-truth) > 4*half
		if v.Determined {
			t.determined++
			t.off = append(t.off, math.Abs(v.Value/truth-1))
			if inside {
				t.covered++
			}
			if far {
				t.far++
			}
		}
		if verbose {
			mark := ""
			if !inside {
				mark = "  outside"
			}
			if far {
				mark = "  FAR"
			}
			fmt.Fprintf(w, "    %-28s %.4g (%.4g .. %.4g) true %.4g, determined %v, profile %v%s\n", v.Name(), v.Value, v.Low, v.High, truth, v.Determined, v.ByProfile, mark)
		}
	}
	return t, nil
}
