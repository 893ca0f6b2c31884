package cli

import (
	"bytes"
	"context"
	"fmt"
	"math"

	"github.com/spf13/cobra"

	"knobwise/answer"
	"knobwise/bench/box"
	"knobwise/bench/quantity"
	"knobwise/bench/setup"
	"knobwise/study/compare"
	"knobwise/study/identify"
)

// mostPossible bounds how many measurements are thought through.
const mostPossible = 1500

func nextCommand(s *streams) *cobra.Command {
	var o finding
	var format, out string
	var more, loads, wanted, named []string
	var count int
	c := &cobra.Command{
		Use:     "next MEASUREMENTS",
		GroupID: "ask",
		Short:   "Which measurement to take next, to learn most about what is inside",
		Long: `Next identifies, and then thinks every measurement through that could be taken: each position of the switches, the stops and
middles of the knobs, the setups that were used, others named with --setup, and other loads at hand (--load); where reflections
were measured, with the other socket open and shorted as well. It proposes the ones that shrink the wanted intervals most, each
beside those before it, with the intervals to expect.

With two or more --candidate it proposes the sweep that best tells the likeliest two circuits apart.`,
		Example: "  knobwise next --demo\n  knobwise next coupler.measurements.yaml --want L1 --setup bench-probe.setup.yaml --load 470ohm",
		Args:    oneAtMost("file of measurements"),
		RunE: func(c *cobra.Command, args []string) error {
			format, err := formatFor(format, out, []string{"table", "json"})
			if err != nil {
				return err
			}
			if err := usable(c, format, nil); err != nil {
				return err
			}
			if len(named) == 1 {
				return usage("--candidate "+named[0]+" alone is not to be told from anything", "name two or more")
			}
			if count < 1 || count > 10 {
				return usage(fmt.Sprintf("--count %d", count), "give 1 to 10")
			}
			f, q, err := o.load(s, args)
			if err != nil {
				return err
			}
			setups := identify.WaysOf(q.Measurements, q.Traces)
			for _, name := range more {
				st, err := setup.LoadFile(o.files(), name)
				if err != nil {
					return err
				}
				p := setups[0].On(st, st.Name, name)
				if p.Ports == 0 && st.Shorted() {
					return noVoltage("--setup " + name)
				}
				setups = append(setups, p)
			}
			for _, text := range loads {
				p, err := loaded(setups[0], text)
				if err != nil {
					return err
				}
				setups = append(setups, p)
			}
			if len(named) > 0 {
				return s.nextBetween(f.Box, q, &o, setups, named, format, out)
			}
			possible := identify.Possibilities(f.Box, setups, mostPossible)
			var r *identify.Result
			var found []identify.Proposal
			err = s.working("fit", func(ctx context.Context, progress func(float64)) (err error) {
				q.Progress = func(p identify.Progress) { progress(p.Done / 2) }
				if r, err = identify.Run(ctx, q); err != nil {
					return err
				}
				found, err = r.Next(ctx, possible, wanted, count, func(done float64) { progress(0.5 + done/2) })
				return err
			})
			if err != nil {
				return err
			}
			data := nextTable(f.Box, r, found, len(possible))
			if format == "json" {
				if data, err = answer.JSON(answer.OfProposals(found, len(possible), r.Notices)); err != nil {
					return err
				}
			}
			s.notices(f.Notices)
			s.notices(r.Notices)
			return s.deliver(data, out, append(filesOf(f), args...)...)
		},
	}
	o.flags(c)
	c.Flags().StringArrayVar(&wanted, "want", nil, "a value that is to be known better, like L1 or \"Q of L1\" (default: those not determined, else all)")
	c.Flags().StringArrayVar(&more, "setup", nil, "a setup that could be used too; may be given several times")
	c.Flags().StringArrayVar(&loads, "load", nil, "what could be the load: a resistor like 470ohm, open, or for reflections short; may be given several times")
	c.Flags().StringArrayVar(&named, "candidate", nil, "circuits that are to be told apart; give two or more")
	c.Flags().IntVar(&count, "count", 3, "measurements to propose")
	c.Flags().StringVar(&format, "format", "", "table | json (default: by the ending of --out, else table)")
	c.Flags().StringVar(&out, "out", "", "write to a file instead of the standard output")
	return c
}

// noVoltage refuses a short as the load of a sweep of levels.
func noVoltage(option string) error {
	return usage(option+": no voltage stands across a short", "give a resistor or open; a short serves reflections (.s1p)")
}

// loaded is a way to measure with another load: a resistor, open, or short.
func loaded(p identify.Possible, text string) (identify.Possible, error) {
	flag := "--load " + text
	if p.Ports == 2 {
		return p, usage(flag+": S-parameters of both sockets are measured without a load", "leave it out, or name a --setup for levels")
	}
	var with *setup.Setup
	switch text {
	case "short", "open":
		with = p.Setup.Ended(text)
	default:
		ohm, err := value("--load", text, quantity.Ohm)
		if err != nil {
			return p, err
		}
		with = p.Setup.Loaded(ohm)
	}
	if p.Ports == 0 && with.Shorted() {
		return p, noVoltage(flag)
	}
	return p.On(with, p.SetupName+", load "+with.DescribeLoad(), ""), nil
}

// nextBetween proposes what tells candidates apart.
func (s *streams) nextBetween(b *box.Box, q identify.Question, o *finding, setups []identify.Possible, named []string, format, out string) error {
	ask := compare.Question{Measured: b, Measurements: q.Measurements, Traces: q.Traces, Starts: q.Starts, Seed: q.Seed, ReadingError: q.ReadingError}
	for _, name := range named {
		c, err := box.Load(o.files(), name)
		if err != nil {
			return err
		}
		ask.Candidates = append(ask.Candidates, compare.Candidate{Name: name, About: c.Name, Box: c})
	}
	var r *compare.Result
	err := s.working("circuits", func(ctx context.Context, progress func(float64)) (err error) {
		ask.Progress = func(done float64, _ string) { progress(done) }
		r, err = compare.Run(ctx, ask, setups)
		return err
	})
	if err != nil {
		return err
	}
	data := compareTable(b, r, len(named))
	if format == "json" {
		if data, err = answer.JSON(answer.OfCompared(r)); err != nil {
			return err
		}
	}
	s.notices(r.Notices)
	return s.deliver(data, out, named...)
}

func nextTable(b *box.Box, r *identify.Result, found []identify.Proposal, tried int) []byte {
	var t bytes.Buffer
	fmt.Fprintf(&t, "%s: %d measurements thought through\n", b.Name, tried)
	if len(found) == 0 {
		t.WriteString("\n  none of them would shrink the wanted intervals by more than a percent\n")
		for _, d := range r.Degenerate {
			fmt.Fprintf(&t, "  %s\n", d.Text)
		}
		if len(r.Degenerate) > 0 {
			t.WriteString("  no sweep with these setups and loads can tell them apart: another load (--load), a known part in the place of one, or its value from elsewhere would\n")
		}
	}
	part := func(x float64) string {
		switch {
		case math.IsInf(x, 0) || x > 3:
			return "unknown"
		case x >= 0.1:
			return fmt.Sprintf("±%.0f %%", 100*x)
		}
		return fmt.Sprintf("±%.2g %%", 100*x)
	}
	for i, p := range found {
		fmt.Fprintf(&t, "\n%d. %s\n", i+1, p.Describe(b))
		if !math.IsNaN(p.Peaked) {
			fmt.Fprintf(&t, "   peak near %s\n", quantity.Format(p.Peaked, quantity.Hertz, 3))
		}
		for _, e := range p.After {
			if e.Wanted {
				fmt.Fprintf(&t, "   %-28s %s, then %s\n", e.Name, part(e.Before), part(e.After))
			}
		}
	}
	return t.Bytes()
}
