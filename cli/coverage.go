package cli

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"math"
	"slices"
	"strings"
	"time"

	"github.com/spf13/cobra"

	"knobwise/answer"
	"knobwise/bench/box"
	"knobwise/bench/fault"
	"knobwise/bench/quantity"
	"knobwise/study/coverage"
)

var coverageFormats = []string{"table", "csv", "json", "svg", "png", "pdf"}

// fixing is the option that keeps controls where they are told.
type fixing struct{ fix []string }

func (o *fixing) flags(c *cobra.Command) {
	c.Flags().StringArrayVar(&o.fix, "fix", nil, "keep a control in a position: --fix Range=mid, --fix Front=4 (may be repeated)")
}

// apply moves the fixed controls of a setting and names them.
func (o *fixing) apply(bx *box.Box, setting box.Setting) (map[string]bool, error) {
	fixed := map[string]bool{}
	for _, assignment := range o.fix {
		control, position, found := strings.Cut(assignment, "=")
		if !found {
			return nil, usage(fmt.Sprintf("--fix %s has no =", assignment), "write --fix Control=Position")
		}
		control = strings.TrimSpace(control)
		if fixed[control] {
			return nil, usage(fmt.Sprintf("--fix names %s twice", control), "name it once")
		}
		if err := bx.Set(setting, control, position); err != nil {
			if f, ok := errors.AsType[*fault.Error](err); ok {
				f.What = "--fix " + assignment + ": " + f.What
			}
			return nil, err
		}
		fixed[control] = true
	}
	return fixed, nil
}

func coverageCommand(s *streams) *cobra.Command {
	var b bench
	var o span
	var f fixing
	var format, out string
	var dark bool
	c := &cobra.Command{
		Use:     "coverage [BOX] --setup SETUP",
		GroupID: "ask",
		Short:   "Where each position of the switches can place a peak, how well, and where none can",
		Long: `Coverage asks every combination of the switches with every position of the knobs: from where to where it can place a
peak (a setting at which the load voltage has its top exactly there), how strong and how wide, which combination to use
where, where none helps, and what each knob is worth.

A lane is one combination of the switches. Gains are over a straight wire. A division is a tenth of a knob's scale.`,
		Example: `  knobwise coverage --demo
  knobwise coverage coupler.box.yaml --setup long-wire.setup.yaml --from 500kHz --to 30MHz --points 801 --spacing log
  knobwise coverage coupler.box.yaml --setup bench-50.setup.yaml --fix Coupling=light --out lanes.svg`,
		Args: oneAtMost("box file"),
		RunE: func(c *cobra.Command, args []string) error {
			format, err := formatFor(format, out, coverageFormats)
			if err != nil {
				return err
			}
			if err := usable(c, format, picturesOnly); err != nil {
				return err
			}
			bx, st, setting, err := b.load(args)
			if err != nil {
				return err
			}
			fixed, err := f.apply(bx, setting)
			if err != nil {
				return err
			}
			over, err := o.apply(st.Sweep)
			if err != nil {
				return err
			}
			q := coverage.Question{Box: bx, Setup: st, Over: over, At: setting, Fixed: fixed, Widths: true}
			if err := s.announce(q); err != nil {
				return err
			}
			var r *coverage.Result
			err = s.working("coverage", func(ctx context.Context, progress func(float64)) (err error) {
				q.Progress = progress
				r, err = coverage.Run(ctx, q)
				return err
			})
			if err != nil {
				return err
			}
			data, err := renderCoverage(format, bx, r, dark)
			if err != nil {
				return err
			}
			if err := s.readable(format, out); err != nil {
				return err
			}
			s.notices(r.Notices)
			return s.deliver(data, out, inputsOf(args, b.setup, bx, st)...)
		},
	}
	b.everyFlags(c)
	f.flags(c)
	o.flags(c)
	c.Flags().StringVar(&format, "format", "", strings.Join(coverageFormats, " | ")+" (default: by the ending of --out, else table)")
	c.Flags().StringVar(&out, "out", "", "write to a file instead of the standard output")
	c.Flags().BoolVar(&dark, "dark", false, "pictures on a dark ground")
	_ = c.RegisterFlagCompletionFunc("format", cobra.FixedCompletions(coverageFormats, cobra.ShellCompDirectiveNoFileComp))
	_ = c.RegisterFlagCompletionFunc("spacing", cobra.FixedCompletions([]string{"linear", "log"}, cobra.ShellCompDirectiveNoFileComp))
	return c
}

// long is the time from which work is announced.
const long = 5 * time.Second

// announce says how much work a question is before it begins, where it is much: one frequency is tried.
func (s *streams) announce(q coverage.Question) error {
	return s.working("trying", func(ctx context.Context, _ func(float64)) error {
		n, whole, err := coverage.Estimate(ctx, q)
		if err == nil && whole > long {
			s.notice("%d combinations at %d frequencies: this takes about %s; Ctrl-C stops it, --fix and fewer frequencies make it less", n, q.Over.Points, whole.Round(time.Second))
		}
		if ctx.Err() == nil {
			return nil // the question itself will say what is wrong
		}
		return err
	})
}

func renderCoverage(format string, b *box.Box, r *coverage.Result, dark bool) ([]byte, error) {
	var buffer bytes.Buffer
	var err error
	switch format {
	case "table":
		coverageTable(&buffer, b, r)
	case "csv":
		return answer.CoverageCSV(b, r), nil
	case "json":
		return answer.JSON(answer.OfCoverage(b, r))
	default:
		err = answer.CoveragePicture(&buffer, format, b, r, dark)
	}
	return buffer.Bytes(), err
}

func coverageTable(b *bytes.Buffer, bx *box.Box, r *coverage.Result) {
	n := len(r.Frequency)
	fmt.Fprintf(b, "%s\n  %s: %d points from %s to %s\n", r.Box, r.Setup, n, hertz(r.Frequency[0]), hertz(r.Frequency[n-1]))
	fmt.Fprintf(b, "  %s, %s\n\n", count(r.Asked, "combination"), count(len(r.Lanes), "lane"))
	width := len("lane")
	for _, l := range r.Lanes {
		width = max(width, len([]rune(answer.LaneName(bx, l))))
	}
	fmt.Fprintf(b, "%-*s  %-24s  %s\n", width, "lane", "peaks from .. to", "strongest peak")
	for _, l := range r.Lanes {
		name := answer.LaneName(bx, l)
		if len(l.Ranges) == 0 {
			fmt.Fprintf(b, "%-*s  %-24s  %s\n", width, name, "no peak", "strongest signal "+at1(r, l.Best))
			continue
		}
		for i, x := range l.Ranges {
			text := ""
			if i == 0 {
				text = at1(r, l.Peaks)
			}
			for _, one := range l.Singles {
				if one.Frequency == x.Low && x.Low == x.High {
					text = tenths(one.Insertion) + " there"
					if !math.IsNaN(one.Width) {
						text += ", " + quantity.Format(one.Width, quantity.Hertz, 3) + " wide"
					}
				}
			}
			fmt.Fprintf(b, "%s\n", strings.TrimRight(fmt.Sprintf("%-*s  %-24s  %s", width, name, rangeText(x), text), " "))
			name = ""
		}
	}
	if r.Silent > 0 {
		fmt.Fprintf(b, "%s let nothing through\n", count(r.Silent, "combination"))
	}
	fmt.Fprintf(b, "\nwhich lane to use (another only where it is more than 1 dB stronger)\n")
	for _, u := range r.Use {
		l := r.Lanes[u.Lane]
		low, high := math.Inf(1), math.Inf(-1)
		for i, f := range r.Frequency {
			if f >= u.Low && f <= u.High {
				low, high = min(low, l.Peaks[i].Insertion), max(high, l.Peaks[i].Insertion)
			}
		}
		fmt.Fprintf(b, "  %-24s  %-*s  %s .. %s\n", rangeText(u.Range), width, answer.LaneName(bx, l), strings.TrimSuffix(tenths(low), " dB"), tenths(high))
	}
	for _, g := range r.Gaps {
		words := "no lane places a peak"
		for _, l := range r.Lanes {
			if slices.ContainsFunc(l.Singles, func(x coverage.Single) bool { return x.Frequency > g.Low && x.Frequency < g.High }) {
				words = "no lane places a peak, but for those that stand alone above"
			}
		}
		fmt.Fprintf(b, "  %-24s  %s\n", rangeText(g), words)
	}
	effectLines(b, bx, r, width)
}

func effectLines(b *bytes.Buffer, bx *box.Box, r *coverage.Result, width int) {
	first := true
	for _, l := range r.Lanes {
		for i, k := range l.Knobs {
			if first {
				fmt.Fprintf(b, "\nwhat one division of a knob (a tenth of its scale) does in the middle of each lane\n")
				first = false
			}
			name, where := "", ""
			if i == 0 {
				name, where = answer.LaneName(bx, l), "at "+hertz(k.At)
			}
			fmt.Fprintf(b, "  %-*s  %-14s  %-12s peak %s, level there %+.1f dB\n", width, name, where, k.Control, signed(k.Peak), k.Level)
		}
	}
}

func signed(hz float64) string {
	text := quantity.Format(math.Abs(hz), quantity.Hertz, 3)
	if hz < 0 {
		return "-" + text
	}
	return "+" + text
}

func rangeText(r coverage.Range) string {
	if r.Low == r.High {
		return quantity.Format(r.Low, quantity.Hertz, 4)
	}
	return quantity.Format(r.Low, quantity.Hertz, 4) + " .. " + quantity.Format(r.High, quantity.Hertz, 4)
}

// at1 is the strongest of some points: gain, frequency and width.
func at1(r *coverage.Result, points []coverage.Point) string {
	best := -1
	for i, p := range points {
		if !math.IsNaN(p.Insertion) && (best < 0 || p.Insertion > points[best].Insertion) {
			best = i
		}
	}
	if best < 0 {
		return ""
	}
	text := fmt.Sprintf("%s at %s", tenths(points[best].Insertion), quantity.Format(r.Frequency[best], quantity.Hertz, 4))
	if w := points[best].Width; !math.IsNaN(w) {
		text += ", " + quantity.Format(w, quantity.Hertz, 3) + " wide"
	}
	return text
}

func count(n int, what string) string {
	if n == 1 {
		return "1 " + what
	}
	return fmt.Sprintf("%d %ss", n, what)
}
