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
	"knobwise/bench/demo"
	"knobwise/bench/fault"
	"knobwise/bench/folder"
	"knobwise/bench/measurement"
	"knobwise/bench/quantity"
	"knobwise/bench/trace"
	"knobwise/study/residual"
)

func measureCommand(s *streams) *cobra.Command {
	c := &cobra.Command{
		Use:     "measure",
		GroupID: "ask",
		Short:   "Measured traces: read them, turn them into tables, and lay them beside the model",
		Args:    cobra.NoArgs,
		RunE:    func(c *cobra.Command, _ []string) error { return c.Help() },
	}
	c.AddCommand(measureShowCommand(s), measureConvertCommand(s), measureCheckCommand(s))
	return c
}

// tracing is the options that say what a trace's file holds.
type tracing struct {
	quantity, channel, delimiter, decimal, abscissa, interval, bandwidth string
	from, to, time, spacing                                              string
	header, points                                                       int
	deconvolve                                                           bool
}

func (o *tracing) flags(c *cobra.Command) {
	f := c.Flags()
	f.StringVar(&o.quantity, "quantity", "", "amplitude | dB | waveform | s-parameters (default: s-parameters for Touchstone files, else amplitude)")
	f.StringVar(&o.channel, "channel", "", "the column that is wanted, by its name or number")
	f.StringVar(&o.from, "from", "", "the generator's first frequency; with --to and --time for anything over time")
	f.StringVar(&o.to, "to", "", "its last frequency")
	f.StringVar(&o.time, "time", "", "how long its sweep takes, like 200ms")
	f.StringVar(&o.spacing, "spacing", "linear", "linear or log")
	f.StringVar(&o.bandwidth, "bandwidth", "", "correct the lag of a resonance of this 3 dB bandwidth in a waveform")
	f.BoolVar(&o.deconvolve, "deconvolve", false, "take out of a waveform all that a linear sweep adds: lag, loss and ringing")
	f.IntVar(&o.points, "points", 0, "points of a waveform's trace (default 2001)")
	f.StringVar(&o.delimiter, "delimiter", "", "what parts the columns: , ; | tab or blank (default: guessed)")
	f.StringVar(&o.decimal, "decimal", "", "the decimal sign, . or , (default: guessed)")
	f.IntVar(&o.header, "header", -1, "lines above the first row of numbers (default: guessed)")
	f.StringVar(&o.abscissa, "abscissa", "", "the column of times, frequencies or indices, or none (default: guessed)")
	f.StringVar(&o.interval, "interval", "", "time from row to row, where the rows are only counted")
	_ = c.RegisterFlagCompletionFunc("quantity", cobra.FixedCompletions([]string{"amplitude", "dB", "waveform", "s-parameters"}, cobra.ShellCompDirectiveNoFileComp))
}

func (o *tracing) spec(name string) (x trace.Spec, err error) {
	x = trace.Spec{Quantity: measurement.Quantity(o.quantity), Channel: o.channel, Deconvolve: o.deconvolve, Points: o.points}
	switch x.Quantity {
	case measurement.Amplitude, measurement.Decibel, measurement.Waveform, measurement.Scattering:
	case "":
		x.Quantity = measurement.Amplitude
		if lower := strings.ToLower(name); strings.HasSuffix(lower, ".s1p") || strings.HasSuffix(lower, ".s2p") {
			x.Quantity = measurement.Scattering
		}
	default:
		return x, usage("--quantity "+o.quantity+" is not known", fault.DidYouMean(o.quantity, []string{"amplitude", "dB", "waveform", "s-parameters"}))
	}
	for _, v := range []struct {
		option, text string
		unit         quantity.Unit
		into         *float64
	}{
		{"--from", o.from, quantity.Hertz, &x.Sweep.From},
		{"--to", o.to, quantity.Hertz, &x.Sweep.To},
		{"--time", o.time, quantity.Second, &x.Sweep.Time},
		{"--bandwidth", o.bandwidth, quantity.Hertz, &x.Bandwidth},
		{"--interval", o.interval, quantity.Second, &x.Table.Interval},
	} {
		if v.text == "" {
			continue
		}
		if *v.into, err = value(v.option, v.text, v.unit); err != nil {
			return x, err
		}
	}
	if given := []string{o.from, o.to, o.time}; o.from+o.to+o.time != "" && (given[0] == "" || given[1] == "" || given[2] == "") {
		return x, usage("a sweep needs --from, --to and --time", "give all three")
	}
	switch o.spacing {
	case "linear":
	case "log":
		x.Sweep.Log = true
	default:
		return x, usage("--spacing "+o.spacing+" is not known", "write linear or log")
	}
	x.Table.Delimiter, x.Table.Decimal, x.Table.Abscissa = o.delimiter, o.decimal, o.abscissa
	if o.header >= 0 {
		x.Table.HeaderLines = &o.header
	}
	return x, nil
}

// read reads a trace, and tells on the standard error how.
func (s *streams) read(name string, o *tracing) (t *trace.Trace, err error) {
	spec, err := o.spec(name)
	if err != nil {
		return nil, err
	}
	file, err := folder.Disk().Open(name)
	if err != nil {
		return nil, err
	}
	defer func() { _ = file.Close() }() // opened for reading: nothing can be lost
	err = s.working("reading", func(ctx context.Context, _ func(float64)) (err error) {
		t, err = trace.Read(ctx, file, name, spec)
		return err
	})
	return t, err
}

func measureShowCommand(s *streams) *cobra.Command {
	var o tracing
	var format, out string
	var dark bool
	c := &cobra.Command{
		Use:   "show TRACE",
		Short: "Read one measured trace, and tell how it was read and what it shows",
		Long: `Show reads a trace as it comes from an instrument: a table over frequency or time with any delimiter, decimal sign and
header, an oscilloscope's record of a whole sweep (--quantity waveform), or a Touchstone file. It prints what it guessed;
every guess can be settled with an option.`,
		Example: `  knobwise measure show m01.csv
  knobwise measure show scope.csv --quantity waveform --from 0.5MHz --to 5MHz --time 200ms --out trace.svg`,
		Args: exactlyOne("trace"),
		RunE: func(c *cobra.Command, args []string) error {
			format, err := formatFor(format, out, []string{"table", "json", "csv", "svg", "png", "pdf"})
			if err != nil {
				return err
			}
			if err := usable(c, format, picturesOnly); err != nil {
				return err
			}
			t, err := s.read(args[0], &o)
			if err != nil {
				return err
			}
			var data []byte
			switch format {
			case "table":
				data = traceTable(t)
			case "json":
				data, err = answer.JSON(answer.OfTrace(t))
			case "csv":
				data = answer.TraceCSV(t)
			default:
				var picture bytes.Buffer
				err = answer.TracePicture(&picture, format, t, dark)
				data = picture.Bytes()
			}
			if err != nil {
				return err
			}
			if err := s.readable(format, out); err != nil {
				return err
			}
			if format != "table" {
				s.notices(t.Read)
			}
			s.notices(t.Notices)
			return s.deliver(data, out, args...)
		},
	}
	o.flags(c)
	c.Flags().StringVar(&format, "format", "", "table | json | csv | svg | png | pdf (default: by the ending of --out, else table)")
	c.Flags().StringVar(&out, "out", "", "write to a file instead of the standard output")
	c.Flags().BoolVar(&dark, "dark", false, "pictures on a dark ground")
	return c
}

func measureConvertCommand(s *streams) *cobra.Command {
	var o tracing
	var out string
	c := &cobra.Command{
		Use:     "convert TRACE --out FILE.csv",
		Short:   "Turn any measured trace into a plain table over frequency",
		Example: "  knobwise measure convert scope.csv --quantity waveform --from 0.5MHz --to 5MHz --time 200ms --out m01.csv",
		Args:    exactlyOne("trace"),
		RunE: func(c *cobra.Command, args []string) error {
			if err := usable(c, "csv", nil); err != nil {
				return err
			}
			t, err := s.read(args[0], &o)
			if err != nil {
				return err
			}
			s.notices(t.Read)
			s.notices(t.Notices)
			return s.deliver(answer.TraceCSV(t), out, args...)
		},
	}
	o.flags(c)
	c.Flags().StringVar(&out, "out", "", "write to a file instead of the standard output")
	return c
}

func traceTable(t *trace.Trace) []byte {
	var b bytes.Buffer
	for _, r := range t.Read {
		fmt.Fprintf(&b, "%s\n", r)
	}
	n := len(t.Frequency)
	fmt.Fprintf(&b, "\n%-12s %d, from %s to %s\n", "points", n, quantity.Format(t.Frequency[0], quantity.Hertz, 5), quantity.Format(t.Frequency[n-1], quantity.Hertz, 5))
	if t.Quantity == measurement.Scattering {
		fmt.Fprintf(&b, "%-12s %d, reference %g ohm\n", "ports", t.Ports, t.References[0])
		return b.Bytes()
	}
	top, low := 0, 0
	for i, v := range t.Level {
		if v > t.Level[top] {
			top = i
		}
		if v < t.Level[low] {
			low = i
		}
	}
	level := func(v float64) string {
		if t.Quantity == measurement.Decibel {
			return fmt.Sprintf("%+.2f dB", v)
		}
		return quantity.Format(v, quantity.Volt, 4)
	}
	fmt.Fprintf(&b, "%-12s %s at %s\n", "highest", level(t.Level[top]), quantity.Format(t.Frequency[top], quantity.Hertz, 5))
	fmt.Fprintf(&b, "%-12s %s at %s\n", "lowest", level(t.Level[low]), quantity.Format(t.Frequency[low], quantity.Hertz, 5))
	if t.Noise > 0 {
		fmt.Fprintf(&b, "%-12s %s rms\n", "noise", strings.TrimPrefix(level(t.Noise), "+"))
	}
	return b.Bytes()
}

func measureCheckCommand(s *streams) *cobra.Command {
	var format, out, only string
	var dark, inDemo bool
	c := &cobra.Command{
		Use:   "check FILE.measurements.yaml",
		Short: "Lay every measured trace of a file beside the model",
		Long: `Check reads a file of measurements and compares each trace with the model of the box at that setting: with a reference as
insertion gain, without one as voltage at the load up to a level that is fitted, S-parameters as they are.

The difference is told in dB rms beside what the trace's own noise lets expect: where it is much larger, a part, a dial
or the circuit differs from the file.`,
		Example: "  knobwise measure check --demo\n  knobwise measure check coupler.measurements.yaml --only m01.csv --out m01.svg",
		Args:    oneAtMost("file of measurements"),
		RunE: func(c *cobra.Command, args []string) error {
			format, err := formatFor(format, out, []string{"table", "json", "csv", "svg", "png", "pdf"})
			if err != nil {
				return err
			}
			if err := usable(c, format, picturesOnly); err != nil {
				return err
			}
			files := folder.Disk()
			if inDemo {
				files = demo.Files()
				if len(args) == 0 {
					args = []string{demo.DefaultMeasurements}
				}
			}
			if len(args) == 0 {
				return usage("no file of measurements", "name one, or try --demo")
			}
			f, err := measurement.LoadFile(files, args[0])
			if err != nil {
				return err
			}
			all, err := s.compare(files, f, only)
			if err != nil {
				return err
			}
			data, err := renderResiduals(format, f.Box, all, dark)
			if err != nil {
				return err
			}
			if err := s.readable(format, out); err != nil {
				return err
			}
			told := f.Notices
			for _, r := range all {
				told = append(append(told, r.Read...), r.Notices...)
			}
			s.notices(once(told))
			return s.deliver(data, out, append(filesOf(f), args...)...)
		},
	}
	c.Flags().BoolVar(&inDemo, "demo", false, "work on the embedded demonstration bench; the file named is its own")
	c.Flags().StringVar(&only, "only", "", "one measurement, by its name")
	c.Flags().StringVar(&format, "format", "", "table | json | csv, or a picture of one measurement: svg | png | pdf (default: by the ending of --out, else table)")
	c.Flags().StringVar(&out, "out", "", "write to a file instead of the standard output")
	c.Flags().BoolVar(&dark, "dark", false, "pictures on a dark ground")
	return c
}

func (s *streams) compare(files folder.Files, f *measurement.File, only string) (all []*residual.Result, err error) {
	var names []string
	var chosen []*measurement.Measurement
	for _, m := range f.Measurements {
		names = append(names, m.Name)
		if only == "" || m.Name == only {
			chosen = append(chosen, m)
		}
	}
	if len(chosen) == 0 {
		return nil, usage("no measurement is called "+only, fault.DidYouMean(only, names))
	}
	err = s.working("measurements", func(ctx context.Context, progress func(float64)) error {
		for i, m := range chosen {
			t, err := trace.Load(ctx, files, m)
			if err != nil {
				return err
			}
			r, err := residual.Run(ctx, f.Box, m, t)
			if err != nil {
				return err
			}
			all = append(all, r)
			progress(float64(i+1) / float64(len(chosen)))
		}
		return nil
	})
	return all, err
}

// once keeps the first of texts that are the same.
func once(all []string) (out []string) {
	for _, x := range all {
		if !slices.Contains(out, x) {
			out = append(out, x)
		}
	}
	return out
}

// filesOf lists every file that a file of measurements names.
func filesOf(f *measurement.File) []string {
	all := []string{f.BoxFile}
	for _, m := range f.Measurements {
		all = append(all, m.Trace, m.Reference, m.SetupFile)
	}
	return all
}

func renderResiduals(format string, b *box.Box, all []*residual.Result, dark bool) ([]byte, error) {
	switch format {
	case "table":
		return residualTable(b, all), nil
	case "json":
		out := struct {
			Box          string            `json:"box"`
			Measurements []answer.Measured `json:"measurements"`
		}{b.Name, nil}
		for _, r := range all {
			out.Measurements = append(out.Measurements, answer.OfResidual(r))
		}
		return answer.JSON(out)
	case "csv":
		return answer.ResidualCSV(all), nil
	}
	if len(all) != 1 {
		return nil, usage(fmt.Sprintf("a picture shows one measurement, and there are %d", len(all)), "choose it with --only NAME")
	}
	var picture bytes.Buffer
	err := answer.ResidualPicture(&picture, format, b, all[0], dark)
	return picture.Bytes(), err
}

func residualTable(b *box.Box, all []*residual.Result) []byte {
	var t bytes.Buffer
	fmt.Fprintf(&t, "%s\n", b.Name)
	for _, r := range all {
		fmt.Fprintf(&t, "\n%s: %s\n", r.Name, b.Describe(r.Setting))
		line := func(what, format string, a ...any) { fmt.Fprintf(&t, "  %-20s %s\n", what, fmt.Sprintf(format, a...)) }
		line("compared", "%s at %d frequencies, %s to %s", r.Shown, len(r.Frequency), quantity.Format(r.Frequency[0], quantity.Hertz, 5), quantity.Format(r.Frequency[len(r.Frequency)-1], quantity.Hertz, 5))
		if r.Fitted {
			line("level", "%+.2f dB added, since nothing says how strong the generator was", r.Offset)
		}
		expected := ""
		if !math.IsNaN(r.Noise) {
			expected = fmt.Sprintf(" (its noise alone: %.2f dB)", r.Noise)
		}
		line("difference", "%.2f dB rms%s", r.RMS, expected)
		line("at most", "%+.2f dB, at %s", r.Worst, quantity.Format(r.WorstAt, quantity.Hertz, 5))
		if !math.IsNaN(r.Distance) {
			line("S-parameters", "%.3g apart, rms", r.Distance)
		}
		if !math.IsNaN(r.PeakShift) {
			line("peak", "%s from the model's", signed(r.PeakShift))
		}
	}
	return t.Bytes()
}
