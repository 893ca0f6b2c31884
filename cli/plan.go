package cli

import (
	"bytes"
	"context"
	"fmt"
	"math"
	"strings"

	"github.com/spf13/cobra"

	"knobwise/answer"
	"knobwise/bench/box"
	"knobwise/bench/quantity"
	"knobwise/report"
	"knobwise/study/plan"
)

func planCommand(s *streams) *cobra.Command {
	var b bench
	var q plan.Question
	var format, out, shift, loss, source string
	c := &cobra.Command{
		Use:     "plan [BOX] --setup SETUP",
		GroupID: "ask",
		Short:   "Before measuring: how slow to sweep, how long a record, what the probe does, which sweeps to take",
		Long: `Plan says how a sweep of the box at this setting must be taken to show the truth: the shortest sweep that shows the narrowest
peak where and as high as it is, the record that an oscilloscope needs, the voltages it will see, what the probe does to
the peak, and which sweeps together show what every control does.`,
		Example: `  knobwise plan --demo --samples 2500
  knobwise plan coupler.box.yaml --setup bench-probe.setup.yaml --shift 200Hz --loss 0.05dB --source 600ohm`,
		Args: oneAtMost("box file"),
		RunE: func(c *cobra.Command, args []string) error {
			format, err := formatFor(format, out, []string{"table", "json"})
			if err != nil {
				return err
			}
			if err := usable(c, format, nil); err != nil {
				return err
			}
			if q.Box, q.Setup, q.At, err = b.load(args); err != nil {
				return err
			}
			if shift != "" {
				if q.Shift, err = frequency("--shift", shift); err != nil {
					return err
				}
			}
			if loss != "" {
				if q.Loss, err = decibel("--loss", loss); err != nil {
					return err
				}
			}
			if source != "" {
				if q.Wanted, err = value("--source", source, quantity.Ohm); err != nil {
					return err
				}
			}
			var r *plan.Result
			err = s.working("plan", func(ctx context.Context, _ func(float64)) (err error) {
				r, err = plan.Run(ctx, q)
				return err
			})
			if err != nil {
				return err
			}
			data := planTable(q.Box, r)
			if format == "json" {
				if data, err = answer.JSON(answer.OfPlan(r)); err != nil {
					return err
				}
			}
			s.notices(r.Notices)
			return s.deliver(data, out, inputsOf(args, b.setup, q.Box, q.Setup)...)
		},
	}
	b.flags(c)
	c.Flags().StringVar(&shift, "shift", "", "how far the sweep may show the peak off (default: a hundredth of its bandwidth)")
	c.Flags().StringVar(&loss, "loss", "", "how much too low it may show it (default 0.1dB)")
	c.Flags().IntVar(&q.Samples, "samples", 0, "samples of the oscilloscope's record (default: any number)")
	c.Flags().StringVar(&source, "source", "", "the source resistance that the generator is to have: which resistor in series?")
	c.Flags().StringVar(&format, "format", "", "table | json (default: by the ending of --out, else table)")
	c.Flags().StringVar(&out, "out", "", "write to a file instead of the standard output")
	return c
}

func planTable(bx *box.Box, r *plan.Result) []byte {
	var b bytes.Buffer
	hertz := func(f float64) string { return quantity.Format(f, quantity.Hertz, 4) }
	volts := func(v float64) string { return quantity.Format(v, quantity.Volt, 3) }
	seconds := func(t float64) string { return quantity.Format(t, quantity.Second, 3) }
	line := func(what, format string, a ...any) { fmt.Fprintf(&b, "  %-22s %s\n", what, fmt.Sprintf(format, a...)) }
	fmt.Fprintf(&b, "%s\n  %s\n  %s, %s to %s\n\n", r.Box, bx.Describe(r.Setting), r.Setup, hertz(r.Sweep.From), hertz(r.Sweep.To))
	if math.IsNaN(r.Peak) {
		line("peak", "none that a sweep could be too fast for")
	} else {
		line("narrowest peak", "%s, %s wide, loaded Q %.3g", hertz(r.Peak), hertz(r.Bandwidth), r.LoadedQ)
		line("shortest sweep", "%s, for at most %s off and %.2g dB too low", seconds(r.Shortest), hertz(r.Shift), r.Loss)
		line("a sweep of "+seconds(r.Time), "shows it %s off, %.2g dB too low, %.2f %% too wide", signed(r.PeakShift), r.PeakLoss, 100*(r.Broadening-1))
	}
	if r.Points > 0 {
		line("record", "%d samples or more to see the envelope, %d to see the carrier", r.Points, r.Exact)
	}
	for i, g := range r.Gaps {
		if i == 8 {
			line("", "and %d more", len(r.Gaps)-i)
			break
		}
		name := ""
		if i == 0 {
			name = "false gaps"
		}
		line(name, "at %s, %s wide, after %s", hertz(g.Frequency), hertz(g.Width), seconds(g.Time))
	}
	l := r.Levels
	line("highest", "%s peak to peak at %s (straight through %s)", volts(l.Highest), hertz(l.HighestAt), volts(l.Straight))
	line("lowest", "%s at %s; one step of the screen of %s there: %.2g dB with 8 bits, %.2g with 10, %.2g with 12", volts(l.Lowest), hertz(l.LowestAt), volts(l.Screen), l.Step[8], l.Step[10], l.Step[12])
	if r.Pad != nil {
		line("pad", "%s in series makes a source of %s", quantity.Format(r.Pad.Series, quantity.Ohm, 3), quantity.Format(r.Pad.Source, quantity.Ohm, 4))
	}
	if r.Probe != nil {
		moved := "has no peak to move"
		if !math.IsNaN(r.Probe.Shift) {
			moved = "moves the peak by " + signed(r.Probe.Shift)
		}
		line("the probe", "%s and changes its height by %s", moved, gainText(r.Probe.Gain))
	}
	fmt.Fprintf(&b, "\nsweeps that show what every control does\n")
	for _, t := range r.Sweeps {
		what := "as set"
		if t.Shows != "" {
			what = t.Shows + " " + settingOf(bx, t)
		}
		peak := "no peak"
		if !math.IsNaN(t.Peak) {
			peak = hertz(t.Peak)
			if !math.IsNaN(t.Bandwidth) {
				peak += ", " + quantity.Format(t.Bandwidth, quantity.Hertz, 3) + " wide"
			}
		}
		text := fmt.Sprintf("  %-22s %-32s %s", what, peak, volts(t.Height))
		if !math.IsNaN(t.Shortest) {
			text += ", " + seconds(t.Shortest) + " or slower"
		}
		b.WriteString(strings.TrimRight(text, " ") + "\n")
	}
	return b.Bytes()
}

// settingOf is where the control that a sweep shows stands in it.
func settingOf(bx *box.Box, t plan.Take) string {
	return report.ControlText(bx.Control(t.Shows), t.Setting[t.Shows])
}
