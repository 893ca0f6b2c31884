package cli

import (
	"bytes"
	"context"
	"fmt"
	"math"
	"strings"
	"unicode/utf8"

	"github.com/spf13/cobra"

	"knobwise/answer"
	"knobwise/bench/box"
	"knobwise/bench/quantity"
	"knobwise/report"
	"knobwise/study/plan"
	"knobwise/study/sweep"
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
the peak, how the generator must be set, and which sweeps together show what every control does. With --source all of it is asked
with the source that results. Sweeps rise; a falling one of the same time does as well, with its lag to the other side.`,
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
				if !(q.Loss > 0) {
					return usage(fmt.Sprintf("--loss %s can no sweep keep", loss), "write one above zero, like 0.05dB, or leave it out")
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
	switch {
	case r.Points > 0:
		line("record", "%d samples (%s) or more to see the envelope, %d (%s) to see the carrier", r.Points, hertz(float64(r.Points-1)/r.Time), r.Exact, hertz(r.ExactRate))
	case r.Exact > 0:
		line("record", "%d samples (%s) to see the carrier; without a peak nothing says how few show the envelope", r.Exact, hertz(r.ExactRate))
	}
	if !math.IsNaN(r.Window) {
		line("", "fewer than that, from a generator that sweeps in steps, smear %s together", hertz(r.Window))
	}
	for i, g := range r.Gaps {
		if i == 8 {
			line("", "and %d more", r.GapCount-i)
			break
		}
		name := ""
		if i == 0 {
			name = "false gaps"
		}
		line(name, "at %s, %s wide, after %s", hertz(g.Frequency), hertz(g.Width), seconds(g.Time))
	}
	if g := r.Generator; !math.IsNaN(g.EMF) {
		line("generator", "%s open, which is %s or %s peak to peak into 50 ohm", volts(g.EMF), volts(g.Into50), volts(g.Into50Vpp))
	}
	if l := r.Levels; math.IsNaN(l.Highest) {
		line("highest", "nothing reaches the load")
	} else {
		line("highest", "%s peak to peak at %s (straight through %s)", volts(l.Highest), hertz(l.HighestAt), volts(l.Straight))
		line("lowest", "%s at %s%s", volts(l.Lowest), hertz(l.LowestAt), stepText(l))
	}
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
	var rows [][3]string
	for _, t := range r.Sweeps {
		rows = append(rows, takeRow(bx, t))
	}
	for _, name := range r.Idle {
		rows = append(rows, [3]string{name, "shows nothing here"})
	}
	widest := [2]int{22, 30}
	for _, row := range rows {
		for i := range widest {
			widest[i] = max(widest[i], utf8.RuneCountInString(row[i]))
		}
	}
	for _, row := range rows {
		b.WriteString(strings.TrimRight(fmt.Sprintf("  %-*s %-*s %s", widest[0], row[0], widest[1], row[1], row[2]), " ") + "\n")
	}
	return b.Bytes()
}

// takeRow is one sweep in words: the controls, the peak, the height with the time that it needs.
func takeRow(bx *box.Box, t plan.Take) (row [3]string) {
	row[0] = "as set"
	if t.Shows != "" {
		row[0] = t.Shows + " " + settingOf(bx, t, t.Shows)
	}
	for _, name := range t.Beside {
		row[0] += ", " + name + " " + settingOf(bx, t, name)
	}
	row[1] = string(t.Where)
	if !math.IsNaN(t.Peak) {
		row[1] = quantity.Format(t.Peak, quantity.Hertz, 4)
		if !math.IsNaN(t.Bandwidth) {
			row[1] += ", " + quantity.Format(t.Bandwidth, quantity.Hertz, 3) + " wide"
		}
	}
	if t.Where == sweep.Nowhere {
		return row
	}
	row[2] = quantity.Format(t.Height, quantity.Volt, 3)
	if !math.IsNaN(t.Shortest) {
		row[2] += ", " + quantity.Format(t.Shortest, quantity.Second, 3) + " or slower"
	}
	return row
}

// stepText says what a step of a screen that shows the highest level is worth at the lowest.
func stepText(l plan.Levels) string {
	if !(l.Lowest > 0) {
		return ""
	}
	return fmt.Sprintf("; one step of the screen of %s there: %.2g dB with 8 bits, %.2g with 10, %.2g with 12", quantity.Format(l.Screen, quantity.Volt, 3), l.Step[8], l.Step[10], l.Step[12])
}

// settingOf is where a control stands in a sweep.
func settingOf(bx *box.Box, t plan.Take, control string) string {
	return report.ControlText(bx.Control(control), t.Setting[control])
}
