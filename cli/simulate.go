package cli

import (
	"bytes"
	"context"
	"strconv"

	"github.com/spf13/cobra"

	"knobwise/answer"
	"knobwise/bench/hookup"
	"knobwise/bench/quantity"
	"knobwise/study/simulate"
)

func simulateCommand(s *streams) *cobra.Command {
	var b bench
	var q simulate.Question
	var format, out, time, record, noise, full string
	var dark bool
	c := &cobra.Command{
		Use:     "simulate [BOX] --setup SETUP --out RECORD.csv",
		GroupID: "ask",
		Short:   "The record that an oscilloscope takes of the box while the generator sweeps",
		Long: `Simulate computes the true response in time to the generator's sweep, samples it as an oscilloscope does, with noise and the
steps of its converter, and writes the record as CSV, or a picture of it. A sweep that is too fast shows its lag, loss and
ringing, as the oscilloscope would. Sweeps rise; a falling one can be read back (measure), but is not simulated. The noise of a
record with --straight is another than that without, as it would be on the bench.`,
		Example: `  knobwise simulate --demo --samples 100000 --noise 1mV --bits 8 --out record.csv
  knobwise measure show record.csv --quantity waveform --from 0.5MHz --to 5MHz --time 200ms
  knobwise simulate --demo --time 2ms --out screen.svg`,
		Args: oneAtMost("box file"),
		RunE: func(c *cobra.Command, args []string) error {
			format, err := formatFor(format, out, []string{"csv", "svg", "png", "pdf"})
			if err != nil {
				return err
			}
			if err := usable(c, format, picturesOnly); err != nil {
				return err
			}
			switch {
			case full != "" && q.Bits == 0:
				return usage("--screen means nothing without a converter", "add --bits, like --bits 8, or leave it out")
			case c.Flags().Changed("seed") && noise == "":
				return usage("--seed means nothing without noise", "add --noise, like --noise 1mV, or leave it out")
			}
			bx, st, setting, err := b.load(args)
			if err != nil {
				return err
			}
			q.Sweep = st.Sweep
			for _, v := range []struct {
				option, text string
				unit         quantity.Unit
				into         *float64
			}{{"--time", time, quantity.Second, &q.Sweep.Time}, {"--record", record, quantity.Second, &q.Record}, {"--noise", noise, quantity.Volt, &q.Noise}, {"--screen", full, quantity.Volt, &q.Full}} {
				if v.text == "" {
					continue
				}
				if *v.into, err = value(v.option, v.text, v.unit); err != nil {
					return err
				}
			}
			if q.Hookup, err = hookup.Connect(bx, setting, st); err != nil {
				return err
			}
			if err := q.Hookup.Covers(st.Sweep.From, st.Sweep.To); err != nil {
				return err
			}
			var r *simulate.Result
			err = s.working("record", func(ctx context.Context, progress func(float64)) (err error) {
				q.Progress = progress
				r, err = simulate.Run(ctx, q)
				return err
			})
			if err != nil {
				return err
			}
			data := recordCSV(r)
			if format != "csv" {
				var picture bytes.Buffer
				if err := answer.RecordPicture(&picture, format, bx, setting, st, r, dark); err != nil {
					return err
				}
				data = picture.Bytes()
			}
			if err := s.readable(format, out); err != nil {
				return err
			}
			s.notices(q.Hookup.Notices)
			s.notices(r.Notices)
			return s.deliver(data, out, inputsOf(args, b.setup, bx, st)...)
		},
	}
	b.flags(c)
	c.Flags().StringVar(&format, "format", "", "csv | svg | png | pdf (default: by the ending of --out, else csv)")
	c.Flags().StringVar(&out, "out", "", "write to a file instead of the standard output")
	c.Flags().StringVar(&time, "time", "", "how long the sweep takes (default: the setup's)")
	c.Flags().StringVar(&record, "record", "", "length of the record (default: the sweep's time)")
	c.Flags().IntVar(&q.Samples, "samples", 20000, "samples in the record")
	c.Flags().StringVar(&noise, "noise", "", "noise of every sample, V rms")
	c.Flags().IntVar(&q.Bits, "bits", 0, "bits of the converter (0: none)")
	c.Flags().StringVar(&full, "screen", "", "volts from the bottom of the screen to its top (default: what the signal needs)")
	c.Flags().BoolVar(&q.Straight, "straight", false, "the box taken out: the reference")
	c.Flags().Uint64Var(&q.Seed, "seed", 1, "of the noise")
	c.Flags().BoolVar(&dark, "dark", false, "pictures on a dark ground")
	return c
}

// recordCSV is a record as an oscilloscope exports it.
func recordCSV(r *simulate.Result) []byte {
	out := []byte("time (s),voltage (V)\n")
	for i, v := range r.Voltage {
		out = strconv.AppendFloat(out, float64(i)*r.Interval, 'g', -1, 64)
		out = append(out, ',')
		out = strconv.AppendFloat(out, v, 'g', -1, 64)
		out = append(out, '\n')
	}
	return out
}
