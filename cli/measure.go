package cli

import (
	"bytes"
	"context"
	"fmt"
	"math"
	"math/cmplx"
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
	"knobwise/bench/touchstone"
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
			t, err := s.read(c, args[0], &o)
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
	var out, reference string
	c := &cobra.Command{
		Use:   "convert TRACE --out FILE.csv",
		Short: "Turn any measured trace into a plain table over frequency, S-parameters into a Touchstone file too",
		Example: `  knobwise measure convert scope.csv --quantity waveform --from 0.5MHz --to 5MHz --time 200ms --out m01.csv
  knobwise measure convert tuner.ts --reference 50ohm --out tuner.s2p`,
		Args: exactlyOne("trace"),
		RunE: func(c *cobra.Command, args []string) error {
			if err := usable(c, "csv", nil); err != nil {
				return err
			}
			t, err := s.read(c, args[0], &o)
			if err != nil {
				return err
			}
			if reference != "" {
				if t.Quantity != measurement.Scattering {
					return usage("--reference means nothing for a trace of "+string(t.Quantity), "leave it out")
				}
				ohm, err := value("--reference", reference, quantity.Ohm)
				if err != nil {
					return err
				}
				if err := t.Renormalise(ohm); err != nil {
					return err
				}
			}
			data := answer.TraceCSV(t)
			if _, err := touchstone.PortsFromName(out); err == nil {
				if data, err = asTouchstone(t, out); err != nil {
					return err
				}
			} else if t.Quantity == measurement.Scattering {
				s.notice("note: a table of S-parameters is for other programs; to be read here again, convert to a file that ends in .s%dp", t.Ports)
			}
			s.notices(t.Read)
			s.notices(t.Notices)
			return s.deliver(data, out, args...)
		},
	}
	o.flags(c)
	c.Flags().StringVar(&out, "out", "", "write to a file instead of the standard output")
	c.Flags().StringVar(&reference, "reference", "", "take S-parameters to this one reference for all ports, like 50ohm")
	return c
}

// asTouchstone refuses a name that would promise what the trace is not.
func asTouchstone(t *trace.Trace, out string) ([]byte, error) {
	if t.Quantity != measurement.Scattering {
		return nil, usage("--out "+out+" is a Touchstone file by its name, and the trace is one of "+string(t.Quantity), "end it in .csv")
	}
	if ports, _ := touchstone.PortsFromName(out); ports != t.Ports {
		return nil, usage(fmt.Sprintf("the trace has %d port(s), and --out %s another number by its name", t.Ports, out), fmt.Sprintf("end it in .s%dp", t.Ports))
	}
	return answer.TraceTouchstone(t)
}

// scatteringTable is what S-parameters show: their references, and where the box passes most and reflects least.
func scatteringTable(b *bytes.Buffer, t *trace.Trace) {
	ohm := quantity.FormatExact(t.References[0], quantity.Ohm)
	if last := t.References[t.Ports-1]; last != t.References[0] {
		ohm = fmt.Sprintf("%s at port 1, %s at port 2", ohm, quantity.FormatExact(last, quantity.Ohm))
	}
	fmt.Fprintf(b, "%-12s %d, reference %s\n", "ports", t.Ports, ohm)
	best := func(name, which string, entry int, sign float64) {
		at, most := 0, math.Inf(-1)
		for i, s := range t.S {
			if v := sign * cmplx.Abs(s[entry]); v > most {
				at, most = i, v
			}
		}
		level := "0"
		if size := cmplx.Abs(t.S[at][entry]); size > 0 {
			level = fmt.Sprintf("%+.2f dB", 20*math.Log10(size))
		}
		fmt.Fprintf(b, "%-12s %s at %s\n", which+" "+name, level, quantity.Format(t.Frequency[at], quantity.Hertz, 5))
	}
	if t.Ports == 2 {
		best("S21", "highest", 2, 1)
	}
	best("S11", "lowest", 0, -1)
}

func traceTable(t *trace.Trace) []byte {
	var b bytes.Buffer
	for _, r := range t.Read {
		fmt.Fprintf(&b, "%s\n", r)
	}
	n := len(t.Frequency)
	fmt.Fprintf(&b, "\n%-12s %d, from %s to %s\n", "points", n, quantity.Format(t.Frequency[0], quantity.Hertz, 5), quantity.Format(t.Frequency[n-1], quantity.Hertz, 5))
	if t.Quantity == measurement.Scattering {
		scatteringTable(&b, t)
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
			return fmt.Sprintf("%+.2f %s", v, t.Symbol())
		}
		if t.Unit != "V" {
			return strings.TrimSpace(fmt.Sprintf("%.4g %s", v, t.Unit))
		}
		return quantity.Format(v, quantity.Volt, 4)
	}
	fmt.Fprintf(&b, "%-12s %s at %s\n", "highest", level(t.Level[top]), quantity.Format(t.Frequency[top], quantity.Hertz, 5))
	fmt.Fprintf(&b, "%-12s %s at %s\n", "lowest", level(t.Level[low]), quantity.Format(t.Frequency[low], quantity.Hertz, 5))
	if t.Peak {
		fmt.Fprintf(&b, "%-12s %s\n", "levels", "peaks of the carrier")
	}
	if t.Noise > 0 {
		noise := level(t.Noise)
		if t.Quantity == measurement.Decibel {
			noise = fmt.Sprintf("%.2f dB", t.Noise)
		}
		fmt.Fprintf(&b, "%-12s %s rms\n", "noise", noise)
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
				if t != nil {
					s.notices(t.Read)
				}
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

func countedFrequencies(n int) string {
	if n == 1 {
		return "1 frequency"
	}
	return fmt.Sprintf("%d frequencies", n)
}

func residualTable(b *box.Box, all []*residual.Result) []byte {
	var t bytes.Buffer
	fmt.Fprintf(&t, "%s\n", b.Name)
	for _, r := range all {
		fmt.Fprintf(&t, "\n%s: %s\n", r.Name, b.Describe(r.Setting))
		line := func(what, format string, a ...any) { fmt.Fprintf(&t, "  %-20s %s\n", what, fmt.Sprintf(format, a...)) }
		line("compared", "%s at %s, %s to %s", r.Shown, countedFrequencies(len(r.Frequency)), quantity.Format(r.Frequency[0], quantity.Hertz, 5), quantity.Format(r.Frequency[len(r.Frequency)-1], quantity.Hertz, 5))
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
