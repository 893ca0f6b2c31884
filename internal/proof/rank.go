package main

import (
	"context"
	"fmt"
	"io"
	"slices"
	"time"

	"knobwise/internal/specimen"
	"knobwise/study/compare"
	"knobwise/study/identify"
)

// trueNames are the built-in candidates that the families of specimens are.
var trueNames = map[string]string{
	"pi":                    "pi, low-pass, C1 at the antenna; antenna through a capacitor; receiver through a capacitor",
	"ranges":                "pi, low-pass, C1 at the antenna; antenna through a capacitor; receiver through a capacitor",
	"tee":                   "T, high-pass, C1 at the antenna",
	"series tuned":          "series tuned, shunt capacitor at the receiver, C2 to ground; receiver through a resistor",
	"shunt tuned":           "L, high-pass, coil towards the antenna, tuned, C1 across the coil; antenna through a capacitor",
	"double tuned, top":     "double tuned, coupled at the top, C1 at the antenna; antenna through a capacitor; receiver through a capacitor",
	"double tuned, mutual":  "double tuned, coupled by mutual or common inductance, C1 at the antenna; antenna through a capacitor; receiver through a capacitor",
	"shunt tuned, one knob": "shunt tuned; antenna through a capacitor; receiver through a capacitor",
	"ell":                   "series tuned, shunt capacitor at the antenna, C1 to ground; antenna through a capacitor",
}

// rank holds specimens against all built-in candidates, which know nothing but the panel and the moving parts.
func rank(w io.Writer, boxes int, kind specimen.Kind) error {
	families := specimen.Families()
	first, shared, all := 0, 0, 0
	fmt.Fprintf(w, "| box | circuits tried | rank of the true one | its weight | the best, where it is another |\n|---|---|---|---|---|\n")
	for i := range boxes {
		family := families[i%len(families)]
		seed := uint64(5000 + i/len(families))
		s, err := specimen.New(family, seed, kind)
		if err != nil {
			return err
		}
		q, err := question(s, seed)
		if err != nil {
			return err
		}
		candidates, err := compare.Builtin(q.Box, q.Measurements, q.Traces)
		if err != nil {
			return fmt.Errorf("%s: %w", s.Name, err)
		}
		if !slices.ContainsFunc(candidates, func(c compare.Candidate) bool { return c.Name == trueNames[family] }) {
			return fmt.Errorf("%s: no candidate %q", s.Name, trueNames[family])
		}
		begun := time.Now()
		r, err := compare.Run(context.Background(), compare.Question{
			Candidates: candidates, Measured: q.Box, Measurements: q.Measurements, Traces: q.Traces, ReadingError: q.ReadingError, Seed: seed,
		}, identify.SetupsOf(q.Measurements))
		if err != nil {
			return fmt.Errorf("%s: %w", s.Name, err)
		}
		all++
		for _, c := range r.Candidates {
			if c.Name != trueNames[family] {
				continue
			}
			best := ""
			switch {
			case c.Rank == 1:
				first++
			case slices.Contains(c.Like, r.Candidates[0].Name):
				shared++
				best = r.Candidates[0].Name + " (not told apart)"
			default:
				best = r.Candidates[0].Name
			}
			fmt.Fprintf(w, "| %s | %d | %d | %.3f | %s |\n", s.Name, len(r.Candidates), c.Rank, c.Weight, best)
		}
		fmt.Fprintf(w, "<!-- %v -->\n", time.Since(begun).Round(time.Second))
	}
	fmt.Fprintf(w, "\nThe true circuit comes first for %d of %d boxes; for %d more it shares the weight with the first, since the traces do not tell them apart.\nOf those that they tell apart it comes first for %d of %d.\n", first, all, shared, first, all-shared)
	return nil
}
