package cli

import (
	"bytes"
	"cmp"
	"context"
	"fmt"
	"math"
	"slices"
	"strconv"
	"strings"

	"github.com/spf13/cobra"

	"knobwise/answer"
	"knobwise/bench/box"
	"knobwise/bench/fault"
	"knobwise/bench/quantity"
	"knobwise/report"
	"knobwise/study/tune"
)

var tuneFormats = []string{"table", "json"}

func tuneCommand(s *streams) *cobra.Command {
	var b bench
	var f fixing
	var format, out, aim, within, level, over string
	var at, reject []string
	c := &cobra.Command{
		Use:     "tune [BOX] --setup SETUP --at F",
		GroupID: "ask",
		Short:   "The best setting of all controls for a frequency, and how exactly the knobs must stand",
		Long: `Tune finds where all controls belong for a frequency, over the whole scale of every knob. What counts as best is the aim:

  signal      the strongest signal; proven to be the strongest
  rejection   the most rejection of --reject frequencies, giving up no more than --within of the signal
  level       the gain over a straight wire that --level names, keeping the passband as narrow as can be
  width       the widest band about the frequency, giving up no more than --within of the signal
  flat        the least ripple over the span that --span names, giving up no more than --within of the signal

Only the strongest signal is proven; the other aims are searched from many starts.`,
		Example: `  knobwise tune --demo --at 1.9MHz
  knobwise tune coupler.box.yaml --setup long-wire.setup.yaml --at 1.9MHz --aim rejection --reject 1.53MHz --within 2dB
  knobwise tune coupler.box.yaml --setup long-wire.setup.yaml --at 7.1MHz --aim level --level -20dB --fix Coupling=light`,
		Args: oneAtMost("box file"),
		RunE: func(c *cobra.Command, args []string) error {
			format, err := formatFor(format, out, tuneFormats)
			if err != nil {
				return err
			}
			if err := usable(c, format, nil); err != nil {
				return err
			}
			q := tune.Question{Aim: tune.Aim(aim)}
			if q.Frequencies, err = frequencies("--at", at); err != nil {
				return err
			}
			if len(q.Frequencies) == 0 {
				return usage("no frequency to tune to", "name one with --at")
			}
			if q.Reject, err = frequencies("--reject", reject); err != nil {
				return err
			}
			if err := tuneLimits(c, &q, within, level, over); err != nil {
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
			q.Box, q.Setup, q.At, q.Fixed = bx, st, setting, fixed
			var r *tune.Result
			err = s.working("tune", func(ctx context.Context, progress func(float64)) (err error) {
				q.Progress = progress
				r, err = tune.Run(ctx, q)
				return err
			})
			if err != nil {
				return err
			}
			var data []byte
			if format == "json" {
				if data, err = answer.JSON(answer.OfTune(r)); err != nil {
					return err
				}
			} else {
				data = tuneTable(bx, r)
			}
			s.notices(r.Notices)
			return s.deliver(data, out, inputsOf(args, b.setup, bx, st)...)
		},
	}
	b.everyFlags(c)
	f.flags(c)
	c.Flags().StringArrayVar(&at, "at", nil, "the frequency, or a list of them, each answered on its own (may be repeated)")
	c.Flags().StringVar(&aim, "aim", string(tune.Signal), "signal | rejection | level | width | flat")
	c.Flags().StringArrayVar(&reject, "reject", nil, "with --aim rejection: a frequency to reject, or a list (may be repeated)")
	c.Flags().StringVar(&within, "within", "", "how much of the strongest signal may be given up (default 3dB)")
	c.Flags().StringVar(&level, "level", "", "with --aim level: the wanted gain over a straight wire, like -20dB")
	c.Flags().StringVar(&over, "span", "", "with --aim flat: the span, like 7MHz..7.2MHz")
	c.Flags().StringVar(&format, "format", "", strings.Join(tuneFormats, " | ")+" (default: by the ending of --out, else table)")
	c.Flags().StringVar(&out, "out", "", "write to a file instead of the standard output")
	_ = c.RegisterFlagCompletionFunc("format", cobra.FixedCompletions(tuneFormats, cobra.ShellCompDirectiveNoFileComp))
	_ = c.RegisterFlagCompletionFunc("aim", cobra.FixedCompletions([]string{"signal", "rejection", "level", "width", "flat"}, cobra.ShellCompDirectiveNoFileComp))
	return c
}

// tuneLimits reads what an aim needs, and refuses what it does not.
func tuneLimits(c *cobra.Command, q *tune.Question, within, level, over string) error {
	if !slices.Contains(tune.Aims, q.Aim) {
		var names []string
		for _, a := range tune.Aims {
			names = append(names, string(a))
		}
		return usage(fmt.Sprintf("--aim %s is not known", q.Aim), fault.DidYouMean(string(q.Aim), names))
	}
	for _, o := range []struct {
		option, example string
		aims            []tune.Aim
	}{
		{"reject", "--reject 1.53MHz", []tune.Aim{tune.Rejection}},
		{"level", "--level -20dB", []tune.Aim{tune.Level}},
		{"span", "--span 7MHz..7.2MHz", []tune.Aim{tune.Flat}},
		{"within", "--within 3dB", []tune.Aim{tune.Rejection, tune.Width, tune.Flat}},
	} {
		var which []string
		for _, a := range o.aims {
			which = append(which, "--aim "+string(a))
		}
		given, fits := c.Flags().Changed(o.option), slices.Contains(o.aims, q.Aim)
		switch {
		case given && !fits:
			return usage(fmt.Sprintf("--%s means nothing for --aim %s", o.option, q.Aim), "leave it out, or take "+strings.Join(which, " or "))
		case !given && fits && o.option != "within":
			return usage(fmt.Sprintf("--aim %s needs --%s", q.Aim, o.option), "add it, like "+o.example)
		}
	}
	if within != "" {
		dB, err := decibel("--within", within)
		if err != nil {
			return err
		}
		q.Within = &dB
	}
	if level != "" {
		dB, err := decibel("--level", level)
		if err != nil {
			return err
		}
		q.Level = dB
	}
	if over != "" {
		from, to, found := strings.Cut(over, "..")
		if !found {
			return usage("--span "+over+" is no span", "write one like 7MHz..7.2MHz")
		}
		low, err := frequency("--span", from)
		if err != nil {
			return err
		}
		high, err := frequency("--span", to)
		if err != nil {
			return err
		}
		q.Span = &tune.Span{From: low, To: high}
	}
	return nil
}

// decibel reads a number of decibels, like 3dB, -20 dB or 3.
func decibel(option, text string) (float64, error) {
	number := strings.TrimSpace(strings.TrimSuffix(strings.TrimSpace(text), "dB"))
	v, err := strconv.ParseFloat(strings.Replace(number, "−", "-", 1), 64)
	if err != nil || math.IsNaN(v) || math.IsInf(v, 0) {
		return 0, usage(fmt.Sprintf("%s %s is no number of decibels", option, text), "write one like 3dB")
	}
	return v, nil
}

func tuneTable(bx *box.Box, r *tune.Result) []byte {
	var b bytes.Buffer
	fmt.Fprintf(&b, "%s\n  %s\n", r.Box, r.Setup)
	for _, a := range r.Answers {
		fmt.Fprintf(&b, "\n%s: %s\n", quantity.Format(a.Frequency, quantity.Hertz, 5), settingWithin(bx, a))
		line := func(name, format string, args ...any) {
			fmt.Fprintf(&b, "  %-24s %s\n", name, fmt.Sprintf(format, args...))
		}
		if !a.Met {
			line("the aim is not met", "%s", a.Why)
		}
		if r.Aim != tune.Signal {
			value := fmt.Sprintf("%.2f dB", a.Objective)
			if a.Unit == "Hz" {
				value = quantity.Format(a.Objective, quantity.Hertz, 4)
			}
			name := string(r.Aim)
			if r.Aim == tune.Level {
				name = "rejection beside it"
			}
			line(name, "%s (%s)", value, a.Meaning)
		}
		line("insertion gain", "%s", gainText(a.InsertionGain))
		line("transducer gain", "%s", gainText(a.TransducerGain))
		if !math.IsNaN(a.Peak) {
			text := quantity.Format(a.Peak, quantity.Hertz, 5)
			if !math.IsNaN(a.Bandwidth) {
				text += fmt.Sprintf(", %s wide, loaded Q %.3g", quantity.Format(a.Bandwidth, quantity.Hertz, 3), a.LoadedQ)
			}
			line("peak", "%s", text)
		}
		for _, t := range a.Tolerance {
			low, _, high := report.RangeText(bx.Control(t.Control).Knob, t.Low, a.Setting[t.Control].Number, t.High)
			line(t.Control+" within 1 dB", "%s .. %s", low, high)
		}
		if a.Proven {
			line("proven", "no setting is more than %.1g dB better", a.Gap)
		}
		for _, text := range a.Sacrificed {
			line("given up", "%s", text)
		}
		for i, x := range a.RunnersUp {
			name := ""
			if i == 0 {
				name = "as good in practice"
			}
			line(name, "%s: %s", settingText(bx, x.Setting), gainText(x.InsertionGain))
		}
		for _, n := range a.Notices {
			line("note", "%s", n)
		}
	}
	return b.Bytes()
}

// settingWithin names where all controls stand, each knob with the digits that its tolerance needs.
func settingWithin(bx *box.Box, a tune.Answer) string {
	text := map[string]string{}
	for _, t := range a.Tolerance {
		_, text[t.Control], _ = report.RangeText(bx.Control(t.Control).Knob, t.Low, a.Setting[t.Control].Number, t.High)
	}
	var words []string
	for _, c := range bx.Controls {
		words = append(words, c.Name+" "+cmp.Or(text[c.Name], report.ControlText(c, a.Setting[c.Name])))
	}
	if len(words) == 0 {
		return "nothing to set"
	}
	return strings.Join(words, ", ")
}

// settingText names where all controls stand, in panel order.
func settingText(bx *box.Box, s box.Setting) string {
	var words []string
	for _, c := range bx.Controls {
		words = append(words, c.Name+" "+report.ControlText(c, s[c.Name]))
	}
	if len(words) == 0 {
		return "nothing to set"
	}
	return strings.Join(words, ", ")
}

func gainText(v float64) string {
	switch {
	case math.IsNaN(v):
		return "does not exist"
	case math.IsInf(v, -1):
		return "nothing gets through"
	}
	return strings.Replace(fmt.Sprintf("%+.2f dB", v), "-0.00", "+0.00", 1)
}

// tenths is a gain to a tenth of a decibel.
func tenths(v float64) string {
	return strings.Replace(fmt.Sprintf("%+.1f dB", v), "-0.0 dB", "+0.0 dB", 1)
}
