package cli

import (
	"bytes"
	"context"
	"fmt"
	"math"
	"slices"
	"strings"

	"github.com/spf13/cobra"

	"knobwise/answer"
	"knobwise/bench/box"
	"knobwise/bench/folder"
	"knobwise/bench/measurement"
	"knobwise/bench/quantity"
	"knobwise/study/compare"
	"knobwise/study/identify"
)

func compareCommand(s *streams) *cobra.Command {
	var o finding
	var format, out, builtin string
	var named []string
	var most int
	c := &cobra.Command{
		Use:     "compare MEASUREMENTS --candidate BOX … | --candidates builtin",
		GroupID: "ask",
		Short:   "Which of several circuits is inside: fit each to the measured traces, and rank them",
		Long: `Compare fits every candidate to all traces, as identify does, and ranks them by a corrected information criterion: how well a
circuit explains the traces, less what its unknown values cost. The weights add to 1. It says which circuits these traces
cannot tell apart, and which setting and frequency would tell the best two.

A candidate is a box file with the same controls as the one that was measured. The built-in ones are circuits of the trade,
made by rule from the moving parts and the controls of the box that was measured; what is written of its inside does not count.`,
		Example: "  knobwise compare --demo --candidates builtin\n  knobwise compare coupler.measurements.yaml --candidate pi.box.yaml --candidate tee.box.yaml",
		Args:    oneAtMost("file of measurements"),
		RunE: func(c *cobra.Command, args []string) error {
			format, err := formatFor(format, out, []string{"table", "json"})
			if err != nil {
				return err
			}
			if err := usable(c, format, nil); err != nil {
				return err
			}
			if len(named) == 0 && builtin == "" {
				return usage("there is nothing to compare", "name box files with --candidate, or take the built-in ones with --candidates builtin")
			}
			if most < 1 {
				return usage(fmt.Sprintf("--most %d", most), "give 1 or more")
			}
			for i, name := range named {
				if slices.Contains(named[:i], name) {
					return usage("--candidate "+name+" is named twice", "name it once")
				}
			}
			f, q, err := o.load(s, args)
			if err != nil {
				return err
			}
			ask := compare.Question{Measured: f.Box, Measurements: q.Measurements, Traces: q.Traces, Starts: q.Starts, Seed: q.Seed, ReadingError: q.ReadingError}
			if ask.Candidates, err = candidatesOf(f, q, o.files(), named, builtin); err != nil {
				return err
			}
			var r *compare.Result
			err = s.working("circuits", func(ctx context.Context, progress func(float64)) (err error) {
				ask.Progress = func(done float64, _ string) { progress(done) }
				r, err = compare.Run(ctx, ask, identify.SetupsOf(q.Measurements))
				return err
			})
			if err != nil {
				return err
			}
			data := compareTable(f.Box, r, most)
			if format == "json" {
				if data, err = answer.JSON(answer.OfCompared(r)); err != nil {
					return err
				}
			}
			s.notices(f.Notices)
			s.notices(r.Notices)
			return s.deliver(data, out, append(filesOf(f), append(args, named...)...)...)
		},
	}
	o.flags(c)
	c.Flags().StringArrayVar(&named, "candidate", nil, "a box file with another circuit; may be given several times")
	c.Flags().StringVar(&builtin, "candidates", "", "builtin: circuits of the trade with the moving parts and controls of the measured box")
	c.Flags().IntVar(&most, "most", 12, "lines of the table")
	c.Flags().StringVar(&format, "format", "", "table | json (default: by the ending of --out, else table)")
	c.Flags().StringVar(&out, "out", "", "write to a file instead of the standard output")
	_ = c.RegisterFlagCompletionFunc("candidates", cobra.FixedCompletions([]string{"builtin"}, cobra.ShellCompDirectiveNoFileComp))
	return c
}

// candidatesOf gathers the circuits: named box files, and built-in ones. The measured box itself counts where one other is named.
func candidatesOf(f *measurement.File, q identify.Question, files folder.Files, named []string, builtin string) ([]compare.Candidate, error) {
	var all []compare.Candidate
	for _, name := range named {
		b, err := box.Load(files, name)
		if err != nil {
			return nil, err
		}
		all = append(all, compare.Candidate{Name: name, About: b.Name, Box: b})
	}
	switch builtin {
	case "":
		if len(named) == 1 {
			all = append(all, compare.Candidate{Name: f.BoxFile, About: f.Box.Name, Box: f.Box})
		}
		return all, nil
	case "builtin":
		circuits, err := compare.Builtin(f.Box, q.Measurements, q.Traces)
		return append(all, circuits...), err
	}
	return nil, usage("--candidates "+builtin+" is not known", "write --candidates builtin, or name box files with --candidate")
}

func compareTable(b *box.Box, r *compare.Result, most int) []byte {
	var t bytes.Buffer
	fmt.Fprintf(&t, "%s: %d circuits\n\n  %-4s %-7s %-8s %-7s %s\n", b.Name, len(r.Candidates), "rank", "weight", "left", "values", "circuit")
	for i, c := range r.Candidates {
		if i >= most {
			fmt.Fprintf(&t, "  and %d more\n", len(r.Candidates)-i)
			break
		}
		left := "-"
		if c.Result != nil {
			left = fmt.Sprintf("%.2f", c.Result.RMS)
		}
		weight := fmt.Sprintf("%.3f", c.Weight)
		if c.Weight < 0.0005 {
			weight = "<0.001"
		}
		fmt.Fprintf(&t, "  %-4d %-7s %-8s %-7d %s\n", c.Rank, weight, left, c.Parameters, c.Name)
		if c.Wrong != "" {
			fmt.Fprintf(&t, "       %s\n", c.Wrong)
		}
	}
	best := r.Candidates[0]
	if best.Result != nil && len(best.Result.Values) > 0 {
		fmt.Fprintf(&t, "\n  %s\n", strings.TrimSpace(best.Name+": "+best.About))
		for i := range best.Result.Values {
			v := &best.Result.Values[i]
			text := func(x float64) string { return quantity.Format(x, v.Unit, 4) }
			open := ""
			if !v.Determined {
				open = "   not determined"
			}
			fmt.Fprintf(&t, "    %-28s %-12s %s .. %s%s\n", v.Name(), text(v.Value), text(v.Low), text(v.High), open)
		}
	}
	if d := r.Difference; d != nil {
		rank := func(name string) int {
			return r.Candidates[slices.IndexFunc(r.Candidates, func(c compare.Ranked) bool { return c.Name == name })].Rank
		}
		first, second := rank(d.First), rank(d.Second)
		how := "stronger"
		if d.Decibels < 0 {
			how = "weaker"
		}
		fmt.Fprintf(&t, "\n  to tell %d from %d, measure at %s\n    there %d is %.2g dB %s at %s\n", first, second, d.Possible.Describe(b), first, math.Abs(d.Decibels), how, quantity.Format(d.Frequency, quantity.Hertz, 4))
	}
	return t.Bytes()
}
