package cli

import (
	"bytes"
	"errors"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"slices"
	"strconv"
	"strings"

	"github.com/spf13/cobra"
	"github.com/spf13/pflag"

	"knobwise/answer"
	"knobwise/bench/box"
	"knobwise/bench/demo"
	"knobwise/bench/fault"
	"knobwise/bench/folder"
	"knobwise/bench/form"
	"knobwise/bench/hookup"
	"knobwise/bench/quantity"
	"knobwise/bench/setup"
	"knobwise/study/sweep"
)

// sweepFormats are the forms in which a sweep can be written; the first is the default.
var sweepFormats = []string{"table", "csv", "json", "svg", "png", "pdf", "s2p"}

// bench is which box, setup and setting a command works on. Several commands share these options.
type bench struct {
	demo  bool
	setup string
	set   []string
}

func (b *bench) flags(c *cobra.Command) {
	b.boxFlags(c)
	c.Flags().StringVar(&b.setup, "setup", "", "setup file: what is connected to the box")
	_ = c.MarkFlagFilename("setup", "yaml") // fails only for a flag that does not exist
}

// everyFlags are the options of commands that ask every setting.
func (b *bench) everyFlags(c *cobra.Command) {
	c.Flags().StringVar(&b.setup, "setup", "", "setup file: what is connected to the box")
	_ = c.MarkFlagFilename("setup", "yaml") // fails only for a flag that does not exist
	c.Flags().BoolVar(&b.demo, "demo", false, "work on the embedded demonstration bench; the files named are its own")
}

// boxFlags are the options of commands that need no setup.
func (b *bench) boxFlags(c *cobra.Command) {
	c.Flags().StringArrayVar(&b.set, "set", nil, "put a control in a position: --set Range=mid, --set Front=4 (may be repeated)")
	c.Flags().BoolVar(&b.demo, "demo", false, "work on the embedded demonstration bench; the files named are its own")
}

// load reads box and setup and moves the controls.
func (b *bench) load(args []string) (*box.Box, *setup.Setup, box.Setting, error) {
	files, boxName := folder.Disk(), ""
	if len(args) > 0 {
		boxName = args[0]
	}
	setupName := b.setup
	if b.demo {
		files = demo.Files()
		if boxName == "" {
			boxName = demo.DefaultBox
		}
		if setupName == "" {
			setupName = demo.DefaultSetup
		}
	}
	if boxName == "" {
		return nil, nil, nil, usage("no box file", "name one, or try --demo")
	}
	if setupName == "" {
		return nil, nil, nil, usage("no setup", "say what is connected with --setup FILE")
	}
	bx, err := box.Load(files, boxName)
	if err != nil {
		return nil, nil, nil, err
	}
	st, err := setup.LoadFile(files, setupName)
	if err != nil {
		return nil, nil, nil, err
	}
	setting, err := b.settingOf(bx)
	return bx, st, setting, err
}

// settingOf moves a box's controls from where they start to where --set wants them.
func (b *bench) settingOf(bx *box.Box) (box.Setting, error) {
	setting := bx.Start()
	for _, assignment := range b.set {
		control, position, found := strings.Cut(assignment, "=")
		if !found {
			return nil, usage(fmt.Sprintf("--set %s has no =", assignment), "write --set Control=Position")
		}
		if err := bx.Set(setting, strings.TrimSpace(control), position); err != nil {
			return nil, err
		}
	}
	return setting, nil
}

// span is the options that change a setup's sweep.
type span struct{ from, to, points, spacing string }

func (o *span) flags(c *cobra.Command) {
	c.Flags().StringVar(&o.from, "from", "", "first frequency, like 0.5MHz (default: the setup's)")
	c.Flags().StringVar(&o.to, "to", "", "last frequency (default: the setup's)")
	c.Flags().StringVar(&o.points, "points", "", "number of frequencies (default: the setup's)")
	c.Flags().StringVar(&o.spacing, "spacing", "", "linear or log (default: the setup's)")
}

// apply changes the sweep and refuses one that no one can run.
func (o *span) apply(s setup.Sweep) (setup.Sweep, error) {
	var err error
	if o.from != "" {
		if s.From, err = frequency("--from", o.from); err != nil {
			return s, err
		}
	}
	if o.to != "" {
		if s.To, err = frequency("--to", o.to); err != nil {
			return s, err
		}
	}
	if o.points != "" {
		if s.Points, err = strconv.Atoi(o.points); err != nil {
			return s, usage(fmt.Sprintf("--points %s is no whole number", o.points), "write one like 401")
		}
	}
	switch o.spacing {
	case "":
	case "linear", "log":
		s.Log = o.spacing == "log"
	default:
		return s, usage(fmt.Sprintf("--spacing %s is not known", o.spacing), "write linear or log")
	}
	err = s.Check()
	if f, ok := errors.AsType[*fault.Error](err); ok && *o != (span{}) {
		return s, usage(f.What, f.Instead) // the options made it so, not the file
	}
	return s, err
}

// value reads a positive value from the command line.
func value(option, text string, u quantity.Unit) (float64, error) {
	v, err := form.FromText(strings.TrimSpace(text), u, quantity.Positive)
	if err != nil {
		return 0, usage(option+": "+err.Error(), "")
	}
	return v, nil
}

func frequency(option, text string) (float64, error) { return value(option, text, quantity.Hertz) }

// frequencies reads a list of frequencies, separated by commas.
func frequencies(option string, texts []string) ([]float64, error) {
	var all []float64
	for _, text := range texts {
		for one := range strings.SplitSeq(text, ",") {
			if strings.TrimSpace(one) == "" {
				return nil, usage(fmt.Sprintf("%s %s has an empty place", option, text), "write a frequency between two commas, like 1.2MHz,1.9MHz")
			}
			f, err := frequency(option, one)
			if err != nil {
				return nil, err
			}
			all = append(all, f)
		}
	}
	return all, nil
}

func sweepCommand(s *streams) *cobra.Command {
	var b bench
	var o span
	var format, out, reference string
	var reject, at []string
	var dark bool
	c := &cobra.Command{
		Use:     "sweep [BOX] --setup SETUP",
		GroupID: "ask",
		Short:   "What one setting does over frequency, and where the power goes",
		Long: `Sweep computes what the box does at one setting of its controls, from the source to the load that the setup names:
voltage at the load, gain over a straight wire, transducer gain, mismatch, dissipation and both impedances; the peak
and its width; and where the available power goes.

Exit status: 0 done, 1 the work failed (a bad file, a setting the box does not have, no solution), 2 the command line
is wrong.`,
		Example: `  knobwise sweep --demo
  knobwise sweep coupler.box.yaml --setup bench-50.setup.yaml --set Range=mid --set Front=4
  knobwise sweep coupler.box.yaml --setup bench-50.setup.yaml --from 1MHz --to 3MHz --out trace.csv
  knobwise sweep --demo --out coupler.svg
  knobwise sweep --demo --format s2p --reference 75ohm`,
		Args: oneAtMost("box file"),
		RunE: func(c *cobra.Command, args []string) error {
			format, err := formatFor(format, out, sweepFormats)
			if err != nil {
				return err
			}
			if err := usable(c, format, sweepOnly); err != nil {
				return err
			}
			bx, st, setting, err := b.load(args)
			if err != nil {
				return err
			}
			over, err := o.apply(st.Sweep)
			if err != nil {
				return err
			}
			inputs := inputsOf(args, b.setup, bx, st)
			if format == "s2p" {
				ohms := 50.0
				if reference != "" {
					if ohms, err = value("--reference", reference, quantity.Ohm); err != nil {
						return err
					}
				}
				r, err := sweep.RunScattering(bx, setting, over, ohms)
				if err != nil {
					return err
				}
				data, err := answer.ScatteringTouchstone(bx, r)
				if err != nil {
					return err
				}
				s.notices(r.Notices)
				return s.deliver(data, out, inputs...)
			}
			q := sweep.Question{Sweep: over, Features: []sweep.Trace{sweep.LoadVoltage}}
			if len(at) == 0 {
				q.AtPeak = sweep.LoadVoltage
			}
			if format == "json" {
				q.Features = []sweep.Trace{sweep.LoadVoltage, sweep.InsertionGain, sweep.Transducer}
			}
			if q.Reject, err = frequencies("--reject", reject); err != nil {
				return err
			}
			if q.At, err = frequencies("--at", at); err != nil {
				return err
			}
			h, err := hookup.Connect(bx, setting, st)
			if err != nil {
				return err
			}
			r, err := sweep.Run(h, q)
			if err != nil {
				return err
			}
			data, err := renderSweep(format, bx, r, dark)
			if err != nil {
				return err
			}
			if err := s.readable(format, out); err != nil {
				return err
			}
			s.notices(r.Notices)
			return s.deliver(data, out, inputs...)
		},
	}
	b.flags(c)
	o.flags(c)
	c.Flags().StringVar(&format, "format", "", strings.Join(sweepFormats, " | ")+" (default: by the ending of --out, else table)")
	c.Flags().StringVar(&out, "out", "", "write to a file instead of the standard output")
	c.Flags().StringArrayVar(&reject, "reject", nil, "how far below the peak is this frequency? (may be repeated, or a list)")
	c.Flags().StringArrayVar(&at, "at", nil, "where does the power go at this frequency? (may be repeated, or a list; default: at the peak)")
	c.Flags().StringVar(&reference, "reference", "", "reference resistance of --format s2p (default 50ohm)")
	c.Flags().BoolVar(&dark, "dark", false, "pictures on a dark ground")
	_ = c.RegisterFlagCompletionFunc("format", cobra.FixedCompletions(sweepFormats, cobra.ShellCompDirectiveNoFileComp))
	_ = c.RegisterFlagCompletionFunc("spacing", cobra.FixedCompletions([]string{"linear", "log"}, cobra.ShellCompDirectiveNoFileComp))
	return c
}

// picturesOnly are the options that mean something for pictures alone.
var picturesOnly = map[string][]string{"dark": {"svg", "png", "pdf"}}

// sweepOnly are the options of sweep that mean something for some formats alone.
var sweepOnly = map[string][]string{
	"reject":    {"table", "json", "svg", "png", "pdf"},
	"at":        {"table", "json"},
	"dark":      {"svg", "png", "pdf"},
	"reference": {"s2p"},
}

// usable refuses an option that would do nothing with this format, by the formats that only gives it, and one that is given
// empty, as by a variable that is not set.
func usable(c *cobra.Command, format string, only map[string][]string) (err error) {
	c.Flags().Visit(func(f *pflag.Flag) {
		formats, limited := only[f.Name]
		switch {
		case err != nil:
		case f.Value.String() == "" || f.Value.String() == "[]":
			err = usage("--"+f.Name+" is empty", "give it a value, or leave it out")
		case limited && !slices.Contains(formats, format):
			err = usage(fmt.Sprintf("--%s means nothing for --format %s", f.Name, format), "leave it out, or take "+strings.Join(formats, ", "))
		}
	})
	return err
}

// inputsOf lists every file that a command has read, measured files included.
func inputsOf(args []string, setupName string, b *box.Box, st *setup.Setup) []string {
	files := append(slices.Clip(args), setupName)
	for _, p := range b.Parts {
		if m := p.Measured(); m != nil {
			files = append(files, m.File)
		}
	}
	for _, m := range st.Measured() {
		files = append(files, m.File)
	}
	return files
}

// formatFor decides the format from the option and the ending of the output file.
func formatFor(format, out string, known []string) (string, error) {
	if format == "" && out == "" {
		return known[0], nil
	}
	if format == "" {
		ending := strings.TrimPrefix(filepath.Ext(out), ".")
		for _, k := range known {
			if strings.EqualFold(k, ending) {
				return k, nil
			}
		}
		return "", usage(fmt.Sprintf("the ending of --out %s names no format", out), "end it in ."+strings.Join(known[1:], ", .")+", or add --format")
	}
	for _, k := range known {
		if k == format {
			return k, nil
		}
	}
	return "", usage(fmt.Sprintf("--format %s is not known", format), fault.DidYouMean(format, known))
}

// readable refuses to fill a terminal with the bytes of a picture.
func (s *streams) readable(format, out string) error {
	if out == "" && (format == "png" || format == "pdf") && isTerminal(s.out) {
		return usage("a picture would only fill the terminal with signs", "write it to a file with --out FILE."+format)
	}
	return nil
}

func isTerminal(w io.Writer) bool {
	f, ok := w.(*os.File)
	if !ok {
		return false
	}
	info, err := f.Stat()
	return err == nil && info.Mode()&os.ModeCharDevice != 0
}

func renderSweep(format string, b *box.Box, r *sweep.Result, dark bool) ([]byte, error) {
	var buffer bytes.Buffer
	var err error
	switch format {
	case "table":
		sweepTable(&buffer, b, r)
	case "csv":
		return answer.SweepCSV(r), nil
	case "json":
		return answer.JSON(answer.OfSweep(r))
	default:
		err = answer.SweepPicture(&buffer, format, b, r, dark)
	}
	return buffer.Bytes(), err
}
