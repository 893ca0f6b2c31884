package cli

import (
	"bytes"
	"context"
	"fmt"
	"math"
	"slices"
	"time"

	"github.com/spf13/cobra"

	"knobwise/answer"
	"knobwise/bench/box"
	"knobwise/bench/demo"
	"knobwise/bench/fault"
	"knobwise/bench/folder"
	"knobwise/bench/measurement"
	"knobwise/bench/quantity"
	"knobwise/bench/trace"
	"knobwise/study/identify"
)

// finding is what the commands that fit have in common.
type finding struct {
	demo    bool
	starts  int
	seed    uint64
	reading string
	only    []string
}

func (o *finding) flags(c *cobra.Command) {
	f := c.Flags()
	f.BoolVar(&o.demo, "demo", false, "work on the embedded demonstration bench; the file named is its own")
	f.IntVar(&o.starts, "starts", identify.DefaultStarts, "points that the search begins from")
	f.Uint64Var(&o.seed, "seed", 1, "of the starts")
	f.StringVar(&o.reading, "reading", "1%", "how far a dial may be off what was read, of its scale; 0% takes readings as exact")
	f.StringArrayVar(&o.only, "only", nil, "use this measurement only, by its name; may be given several times")
}

// files is where files are read from.
func (o *finding) files() folder.Files {
	if o.demo {
		return demo.Files()
	}
	return folder.Disk()
}

// load reads a file of measurements with its traces.
func (o *finding) load(s *streams, args []string) (f *measurement.File, q identify.Question, err error) {
	files := o.files()
	if o.demo && len(args) == 0 {
		args = []string{demo.UnknownMeasurements}
	}
	if len(args) == 0 {
		return nil, q, usage("no file of measurements", "name one, or try --demo")
	}
	if f, err = measurement.LoadFile(files, args[0]); err != nil {
		return nil, q, err
	}
	q = identify.Question{Box: f.Box, Starts: o.starts, Seed: o.seed}
	if o.starts < 1 || o.starts > 10000 {
		return nil, q, usage(fmt.Sprintf("--starts %d", o.starts), "give 1 to 10000")
	}
	if q.ReadingError, err = percentage("--reading", o.reading); err != nil {
		return nil, q, err
	}
	var names []string
	for _, m := range f.Measurements {
		names = append(names, m.Name)
	}
	for _, name := range o.only {
		if !slices.Contains(names, name) {
			return nil, q, usage("no measurement is called "+name, fault.DidYouMean(name, names))
		}
	}
	err = s.working("traces", func(ctx context.Context, progress func(float64)) error {
		for i, m := range f.Measurements {
			if len(o.only) > 0 && !slices.Contains(o.only, m.Name) {
				continue
			}
			t, err := trace.Load(ctx, files, m)
			if err != nil {
				return err
			}
			q.Measurements, q.Traces = append(q.Measurements, m), append(q.Traces, t)
			progress(float64(i+1) / float64(len(f.Measurements)))
		}
		return nil
	})
	return f, q, err
}

// percentage reads a part of a scale from 0 to 20 %.
func percentage(option, text string) (float64, error) {
	x, percent, err := quantity.ParseReading(text)
	if err != nil || !percent || !(x >= 0 && x <= 20) {
		return 0, usage(fmt.Sprintf("%s %s is no part of a scale", option, text), "write 0% to 20%")
	}
	return x / 100, nil
}

func identifyCommand(s *streams) *cobra.Command {
	var o finding
	var format, out, picture string
	var write, dark bool
	c := &cobra.Command{
		Use:     "identify MEASUREMENTS",
		GroupID: "ask",
		Short:   "Find the values inside a box that nobody can read, from measured traces",
		Long: `Identify fits every value that the box file or a setup marks as unknown ("?", "? 22 uH", "? 10 uH .. 40 uH"), every dial
reading and the level of every trace without reference, to all traces at once. It tells the 95 % interval of each value,
which values the traces do not determine and why, what of values that only act together is determined, and whether the
circuit explains the traces at all.

With --out FILE.box.yaml the determined values are written into a copy of the box file, each with its interval in a
comment; with --write into the box file itself.`,
		Example: "  knobwise identify --demo\n  knobwise identify coupler.measurements.yaml --out found.box.yaml",
		Args:    oneAtMost("file of measurements"),
		RunE: func(c *cobra.Command, args []string) error {
			if write && out != "" {
				return usage("--write and --out", "give one of them")
			}
			inBox := len(out) > len(".box.yaml") && out[len(out)-len(".box.yaml"):] == ".box.yaml"
			shown := out
			if inBox {
				shown = ""
			}
			format, err := formatFor(format, shown, []string{"table", "json", "svg", "png", "pdf"})
			if err != nil {
				return err
			}
			if err := usable(c, format, picturesOnly); err != nil {
				return err
			}
			f, q, err := o.load(s, args)
			if err != nil {
				return err
			}
			if write && o.demo {
				return usage("--write with --demo", "the demonstration is not on disk; write it out with `knobwise demo DIR`")
			}
			var r *identify.Result
			err = s.working("fit", func(ctx context.Context, progress func(float64)) (err error) {
				q.Progress = func(p identify.Progress) { progress(p.Done) }
				r, err = identify.Run(ctx, q)
				return err
			})
			if err != nil {
				return err
			}
			s.notices(f.Notices)
			s.notices(r.Notices)
			if write || inBox {
				data, err := answer.IdentifiedBox(f.Box, r, time.Now())
				if err != nil {
					return err
				}
				if write {
					if err := folder.Write(f.BoxFile, data); err != nil {
						return err
					}
					s.notice("%s written", f.BoxFile)
				} else if err := s.deliver(data, out, append(filesOf(f), args...)...); err != nil {
					return err
				}
			}
			var data []byte
			switch format {
			case "table":
				data = identifyTable(f.Box, r)
			case "json":
				if data, err = answer.JSON(answer.OfIdentified(f.Box, r)); err != nil {
					return err
				}
			default:
				at, err := fitNamed(r, picture)
				if err != nil {
					return err
				}
				var b bytes.Buffer
				if err := answer.FitPicture(&b, format, f.Box, &r.Fits[at], unitOf(q.Traces[at]), dark); err != nil {
					return err
				}
				data = b.Bytes()
			}
			if err := s.readable(format, shown); err != nil {
				return err
			}
			return s.deliver(data, shown, append(filesOf(f), args...)...)
		},
	}
	o.flags(c)
	c.Flags().StringVar(&format, "format", "", "table | json, or a picture of one measurement: svg | png | pdf (default: by the ending of --out, else table)")
	c.Flags().StringVar(&out, "out", "", "write to a file instead of the standard output; a .box.yaml gets the values filled in")
	c.Flags().BoolVar(&write, "write", false, "fill the determined values into the box file itself")
	c.Flags().StringVar(&picture, "picture", "", "the measurement to draw (default: the first)")
	c.Flags().BoolVar(&dark, "dark", false, "pictures on a dark ground")
	return c
}

func unitOf(t *trace.Trace) string {
	switch {
	case t.Quantity == measurement.Decibel:
		return "dB"
	case t.Relative || t.Quantity == measurement.Scattering:
		return ""
	}
	return "V"
}

func fitNamed(r *identify.Result, name string) (int, error) {
	var names []string
	for i, f := range r.Fits {
		if f.Name == name || name == "" {
			return i, nil
		}
		names = append(names, f.Name)
	}
	return 0, usage("no measurement is called "+name, fault.DidYouMean(name, names))
}

func identifyTable(b *box.Box, r *identify.Result) []byte {
	var t bytes.Buffer
	fmt.Fprintf(&t, "%s: %s\n\n", b.Name, r.Status)
	fmt.Fprintf(&t, "  %-28s %-12s %s\n", "value", "found", "95 %")
	for i := range r.Values {
		v := &r.Values[i]
		text := func(x float64) string { return quantity.Format(x, v.Unit, 4) }
		found := text(v.Value)
		if !v.Determined {
			found = "(" + found + ")"
		}
		fmt.Fprintf(&t, "  %-28s %-12s %s .. %s", v.Name(), found, text(v.Low), text(v.High))
		if !v.Determined {
			fmt.Fprintf(&t, "   not determined: %s", v.Why)
		}
		t.WriteString("\n")
	}
	for _, d := range r.Degenerate {
		fmt.Fprintf(&t, "  %s\n", d.Text)
	}
	if len(r.Dials) > 0 {
		fmt.Fprintf(&t, "\n  %-28s %-12s %-12s %s\n", "dial", "read", "found", "95 %")
		for _, d := range r.Dials {
			fmt.Fprintf(&t, "  %-28s %-12.4g %-12.4g %.4g .. %.4g\n", d.Control+", "+d.Measurement, d.Read, d.Found, d.Low, d.High)
		}
	}
	fmt.Fprintf(&t, "\n  %-28s %-12s %s\n", "measurement", "left", "worst at")
	for _, f := range r.Fits {
		fmt.Fprintf(&t, "  %-28s %-12.2f %s\n", f.Name, f.RMS, quantity.Format(f.WorstAt, quantity.Hertz, 4))
	}
	fmt.Fprintf(&t, "\n  left: what the circuit does not explain, in units of what neighbouring points do not share; all traces %.2f\n", r.RMS)
	fmt.Fprintf(&t, "  %d of %d starts came to this; %s; loss %s", r.Same, r.Starts, r.Stop, identify.Loss())
	if !math.IsNaN(r.ReadingError) {
		fmt.Fprintf(&t, "; dials read to within %.2g %% of the scale", 100*r.ReadingError)
	}
	t.WriteString("\n")
	return t.Bytes()
}
