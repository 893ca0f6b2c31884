package cli

import (
	"context"
	"errors"
	"fmt"
	"regexp"
	"strconv"
	"strings"

	"github.com/spf13/cobra"

	"knobwise/bench/capture"
	"knobwise/bench/fault"
	"knobwise/bench/folder"
	"knobwise/bench/measurement"
	"knobwise/bench/quantity"
	"knobwise/bench/touchstone"
	"knobwise/bench/trace"
)

// tracing is the options that say what a trace's file holds.
type tracing struct {
	quantity, channel, bandwidth                        string
	from, to, time, spacing, start                      string
	delimiter, decimal, abscissa, axis, interval, first string
	header, points                                      string
	units                                               []string
	deconvolve                                          bool
}

func (o *tracing) flags(c *cobra.Command) {
	f := c.Flags()
	f.StringVar(&o.quantity, "quantity", "", "amplitude | dB | waveform | s-parameters (default: s-parameters for Touchstone files, else amplitude)")
	f.StringVar(&o.channel, "channel", "", "the column that is wanted, by its name or number")
	f.StringVar(&o.from, "from", "", "the generator's first frequency; with --to and --time for anything over time, and where no unit stands with the frequencies")
	f.StringVar(&o.to, "to", "", "its last frequency")
	f.StringVar(&o.time, "time", "", "how long its sweep takes, like 200ms")
	f.StringVar(&o.start, "start", "", "when its sweep begins, on the clock of the trace, like 4ms (default 0s)")
	f.StringVar(&o.spacing, "spacing", "linear", "linear or log")
	f.StringVar(&o.bandwidth, "bandwidth", "", "correct the lag of a resonance of this 3 dB bandwidth in a waveform")
	f.BoolVar(&o.deconvolve, "deconvolve", false, "take out of a waveform all that a linear sweep adds: lag, loss and ringing; costs the ends of the sweep")
	f.StringVar(&o.points, "points", "", "points of a waveform's trace (default 2001)")
	f.StringVar(&o.delimiter, "delimiter", "", "what parts the columns: , ; | tab or blank (default: guessed)")
	f.StringVar(&o.decimal, "decimal", "", "the decimal sign, . or , (default: guessed)")
	f.StringVar(&o.header, "header", "", "lines above the first row of numbers (default: guessed)")
	f.StringVar(&o.abscissa, "abscissa", "", "the column of times, frequencies or indices, or none (default: guessed)")
	f.StringVar(&o.axis, "axis", "", "what the abscissa is: time | frequency | index (default: guessed)")
	f.StringArrayVar(&o.units, "unit", nil, "the unit of a column, like 1=MHz or Level=dBm, where the head does not say it (may be repeated)")
	f.StringVar(&o.interval, "interval", "", "time or frequency from row to row, like 1us or 10kHz, where the rows are only counted")
	f.StringVar(&o.first, "first", "", "time or frequency of the first row, where the rows are only counted")
	_ = c.RegisterFlagCompletionFunc("quantity", cobra.FixedCompletions([]string{"amplitude", "dB", "waveform", "s-parameters"}, cobra.ShellCompDirectiveNoFileComp))
	_ = c.RegisterFlagCompletionFunc("axis", cobra.FixedCompletions([]string{"time", "frequency", "index"}, cobra.ShellCompDirectiveNoFileComp))
}

// ofWaveforms and ofTables are the options that mean nothing elsewhere; none of them means anything for a Touchstone file.
var (
	ofWaveforms = []string{"points", "bandwidth", "deconvolve"}
	ofTables    = []string{"channel", "from", "to", "time", "start", "spacing", "delimiter", "decimal", "header", "abscissa", "axis", "unit", "interval", "first"}
)

func (o *tracing) spec(c *cobra.Command, name string) (x trace.Spec, err error) {
	x = trace.Spec{Quantity: measurement.Quantity(o.quantity), Channel: o.channel, Deconvolve: o.deconvolve}
	_, err = touchstone.PortsFromName(name)
	isTouchstone := err == nil
	switch x.Quantity {
	case measurement.Amplitude, measurement.Decibel, measurement.Waveform, measurement.Scattering:
	case "":
		x.Quantity = measurement.Amplitude
		if isTouchstone {
			x.Quantity = measurement.Scattering
		}
	default:
		return x, usage("--quantity "+o.quantity+" is not known", fault.DidYouMean(o.quantity, []string{"amplitude", "dB", "waveform", "s-parameters"}))
	}
	if isTouchstone {
		if err := without(c, ofTables, "a Touchstone file", "leave it out"); err != nil {
			return x, err
		}
	}
	if x.Quantity != measurement.Waveform {
		if err := without(c, ofWaveforms, string(x.Quantity), "leave it out, or add --quantity waveform"); err != nil {
			return x, err
		}
	}
	if err := o.sweep(&x); err != nil {
		return x, err
	}
	if x.Points, err = whole("--points", o.points, 16, 1_000_000); err != nil {
		return x, err
	}
	return x, o.table(&x.Table)
}

// without refuses options that mean nothing here.
func without(c *cobra.Command, options []string, here, instead string) error {
	for _, name := range options {
		if c.Flags().Changed(name) {
			return usage("--"+name+" means nothing for "+here, instead)
		}
	}
	return nil
}

// whole reads a whole number; 0 where nothing is given.
func whole(option, text string, low, high int) (int, error) {
	if text == "" {
		return 0, nil
	}
	n, err := strconv.Atoi(text)
	if err != nil || n < low || n > high {
		return 0, usage(fmt.Sprintf("%s %s is no whole number from %d to %d", option, text, low, high), "write one, or leave it out")
	}
	return n, nil
}

func (o *tracing) sweep(x *trace.Spec) (err error) {
	for _, v := range []struct {
		option, text string
		unit         quantity.Unit
		into         *float64
	}{
		{"--from", o.from, quantity.Hertz, &x.Sweep.From},
		{"--to", o.to, quantity.Hertz, &x.Sweep.To},
		{"--time", o.time, quantity.Second, &x.Sweep.Time},
		{"--bandwidth", o.bandwidth, quantity.Hertz, &x.Bandwidth},
	} {
		if v.text == "" {
			continue
		}
		if *v.into, err = value(v.option, v.text, v.unit); err != nil {
			return err
		}
	}
	if o.start != "" {
		q, err := quantity.ParseWith(o.start, quantity.Second, quantity.Any)
		if err != nil || q.Form != quantity.Exact {
			return usage("--start "+o.start+" is no time", "write one like 4ms or -2ms")
		}
		x.Start = q.Value
	}
	switch {
	case (o.from == "") != (o.to == "") || o.time != "" && o.from == "" || o.start != "" && o.time == "" || x.Quantity == measurement.Waveform && o.from != "" && o.time == "":
		return usage("a sweep needs --from, --to and --time", "give all three")
	case o.deconvolve && o.bandwidth != "":
		return usage("--deconvolve takes the lag out too", "leave out --bandwidth")
	}
	switch o.spacing {
	case "linear":
	case "log":
		x.Sweep.Log = true
	default:
		return usage("--spacing "+o.spacing+" is not known", "write linear or log")
	}
	return nil
}

func (o *tracing) table(x *capture.Options) error {
	t := measurement.Table{Delimiter: o.delimiter, Decimal: o.decimal, Abscissa: o.abscissa, Axis: o.axis}
	if o.header != "" {
		lines, err := whole("--header", o.header, 0, 10000)
		if err != nil {
			return err
		}
		t.Header = &lines
	}
	var interval, first measurement.Step
	for _, v := range []struct {
		option, text string
		sign         quantity.Sign
		into         *measurement.Step
	}{{"--interval", o.interval, quantity.Positive, &interval}, {"--first", o.first, quantity.Any, &first}} {
		if v.text == "" {
			continue
		}
		x, err := measurement.ParseStep(v.text, v.sign)
		if err != nil {
			return usage(v.option+" "+v.text+" is no time or frequency", "write one like 1us or 10kHz")
		}
		*v.into = x
	}
	if err := t.Count(interval, o.interval != "", first, o.first != ""); err != nil {
		return asOptions(err, true)
	}
	for _, text := range o.units {
		column, unit, ok := strings.Cut(text, "=")
		if !ok || column == "" || unit == "" {
			return usage("--unit "+text+" is not COLUMN=UNIT", "write it like 1=MHz or Level=dBm")
		}
		if t.Units == nil {
			t.Units = map[string]string{}
		}
		t.Units[column] = unit
	}
	*x = trace.OptionsOf(&t)
	return nil
}

// optionOf is the option of each key of a file of measurements that has another name.
var optionOf = map[string]string{"units": "unit", "lag of": "bandwidth"}

// noOption are the keys that no option stands for: a trace on the command line has no reference.
var noOption = map[string]bool{"reference": true}

var (
	key  = regexp.MustCompile("`([a-z][a-z ]*)(?:: ([^`]*))?`")
	pair = regexp.MustCompile(`^\{(.+): (.+)\}$`)
)

// inOptions says in the words of the command line what is said in those of the file of measurements: this is the one place
// that knows both. `quantity: dB` becomes --quantity dB.
func inOptions(text string) string {
	return key.ReplaceAllStringFunc(text, func(found string) string {
		m := key.FindStringSubmatch(found)
		name, value := m[1], m[2]
		if noOption[name] || strings.HasPrefix(name, "column ") {
			return found
		}
		if other := optionOf[name]; other != "" {
			name = other
		}
		if p := pair.FindStringSubmatch(value); p != nil {
			value = p[1] + "=" + p[2]
			if strings.Contains(value, " ") {
				value = `"` + value + `"`
			}
		}
		if value == "" {
			return "--" + name
		}
		if _, _, isNumber := strings.Cut(value, " "); isNumber && strings.ContainsAny(value[:1], "0123456789-") {
			value = strings.ReplaceAll(value, " ", "")
		}
		return "--" + name + " " + value
	})
}

// asOptions is a fault in the words of the command line; one of an option is a fault of the command line.
func asOptions(err error, option bool) error {
	f, ok := errors.AsType[*fault.Error](err)
	if !ok {
		return err
	}
	said := *f
	said.What, said.Instead = inOptions(f.What), inOptions(f.Instead)
	if option || errors.Is(err, capture.ErrOption) {
		said.Kind = fault.Usage
	}
	return &said
}

// read reads a trace. Where it cannot be used, how it was read is told nevertheless.
func (s *streams) read(c *cobra.Command, name string, o *tracing) (t *trace.Trace, err error) {
	spec, err := o.spec(c, name)
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
	if t != nil {
		for i, n := range t.Notices {
			t.Notices[i] = inOptions(n)
		}
	}
	if err != nil {
		if t != nil {
			s.notices(append(t.Read, t.Notices...))
		}
		return nil, asOptions(err, false)
	}
	return t, nil
}
