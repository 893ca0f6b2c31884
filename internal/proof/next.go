package main

import (
	"context"
	"fmt"
	"io"
	"math"
	"math/rand/v2"
	"slices"
	"strconv"
	"strings"

	"gonum.org/v1/gonum/stat"

	"knobwise/internal/specimen"
	"knobwise/study/identify"
)

// taken is how a box is measured before it is asked what to measure next, and then.
var taken = specimen.Kind{Noise: 0.01, Misread: 0.01, Sweeps: 2}

// others is how many measurements drawn by lot each proposal is held against.
const others = 4

// foresee holds the intervals that Next foresees against those that the proposed sweep brought, and that sweep against sweeps by lot.
func foresee(w io.Writer, boxes int) error {
	families := specimen.Families()
	fmt.Fprintf(w, "| box | wanted | intervals | foreseen | after the proposed sweep | after one by lot | proposed |\n|---|---|---|---|---|---|---|\n")
	var ratios, proposed, byALot []float64
	better := 0
	for i := range boxes {
		family, seed := families[i%len(families)], uint64(7000+i/len(families))
		one, err := foreseeOne(family, seed)
		if err != nil {
			return err
		}
		if one == nil {
			continue // it has nothing to propose
		}
		ratios = append(ratios, one.got-one.after)
		proposed, byALot = append(proposed, one.before-one.got), append(byALot, one.before-one.byALot)
		if one.got < one.byALot {
			better++
		}
		percent := func(ln float64) string {
			return "±" + strconv.FormatFloat(100*math.Exp(ln), 'f', max(0, int(1-math.Floor(ln/math.Ln10+2))), 64) + " %"
		}
		fmt.Fprintf(w, "| %s %d | %s | %s | %s | %s | %s | %s |\n", family, seed, strings.Join(one.wanted, ", "), percent(one.before), percent(one.after), percent(one.got), percent(one.byALot), one.what)
	}
	n := len(ratios)
	if n == 0 {
		return fmt.Errorf("nothing was proposed for any of %d boxes", boxes)
	}
	slices.Sort(ratios)
	fmt.Fprintf(w, "\nOf %d boxes the proposed sweep shrank the wanted intervals %.1f times in the geometric mean, one by lot %.1f times; for %d the proposed one did better.\nThe intervals came out at %.2f times the foreseen ones in the middle, between %.2f and %.2f times for four boxes in five.\n",
		n, math.Exp(stat.Mean(proposed, nil)), math.Exp(stat.Mean(byALot, nil)), better, math.Exp(ratios[n/2]), math.Exp(ratios[n/10]), math.Exp(ratios[n-1-n/10]))
	return nil
}

// foreseen is what came of one box: logarithms of the wanted intervals as parts of their values, in the mean.
type foreseen struct {
	wanted                     []string
	what                       string
	before, after, got, byALot float64
}

func foreseeOne(family string, seed uint64) (*foreseen, error) {
	ctx := context.Background()
	s, err := specimen.New(family, seed, taken)
	if err != nil {
		return nil, err
	}
	r, err := identified(s, seed)
	if err != nil || r.Status == identify.Unexplained {
		return nil, err
	}
	f, _, err := s.Load()
	if err != nil {
		return nil, err
	}
	possible := identify.Possibilities(f.Box, identify.SetupsOf(f.Measurements), 400)
	proposals, err := r.Next(ctx, possible, nil, 1, func(float64) {})
	if err != nil || len(proposals) == 0 {
		return nil, err
	}
	out := &foreseen{what: proposals[0].Describe(f.Box)}
	for _, e := range proposals[0].After {
		if e.Wanted {
			out.wanted = append(out.wanted, e.Name)
			out.after += math.Log(e.After)
		}
	}
	out.after /= float64(len(out.wanted))
	out.before = intervals(r, out.wanted)
	with := func(p identify.Possible, number uint64) (float64, error) {
		again, err := specimen.New(family, seed, taken)
		if err != nil {
			return 0, err
		}
		if err := again.Take(strings.ToLower(p.SetupName), p.Setting, taken, number); err != nil {
			return 0, err
		}
		r, err := identified(again, seed)
		if err != nil {
			return 0, err
		}
		return intervals(r, out.wanted), nil
	}
	if out.got, err = with(proposals[0].Possible, 1); err != nil {
		return nil, err
	}
	random := rand.New(rand.NewPCG(seed, 5)) //nolint:gosec // no secret: a lot must be drawn again from its seed
	for i := range others {
		got, err := with(possible[random.IntN(len(possible))], uint64(2+i))
		if err != nil {
			return nil, err
		}
		out.byALot += got / others
	}
	return out, nil
}

// intervals is the mean logarithm of half the intervals of some values, as parts of the values.
func intervals(r *identify.Result, names []string) float64 {
	sum := 0.0
	for i := range r.Values {
		if v := &r.Values[i]; slices.Contains(names, v.Name()) {
			sum += math.Log((v.High - v.Low) / 2 / math.Abs(v.Value))
		}
	}
	return sum / float64(len(names))
}

func identified(s *specimen.Specimen, seed uint64) (*identify.Result, error) {
	q, err := question(s, seed)
	if err != nil {
		return nil, err
	}
	return identify.Run(context.Background(), q)
}
