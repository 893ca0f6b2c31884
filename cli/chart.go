package cli

import (
	"bytes"
	"context"
	"fmt"
	"math"
	"strconv"
	"strings"

	"github.com/spf13/cobra"

	"knobwise/answer"
	"knobwise/bench/band"
	"knobwise/bench/box"
	"knobwise/bench/quantity"
	"knobwise/bench/setup"
	"knobwise/report"
	"knobwise/study/chart"
	"knobwise/study/coverage"
)

var chartFormats = []string{"table", "csv", "json", "html"}

// chartLines are the options that say for which frequencies a chart is wanted.
type chartLines struct {
	at, bands              []string
	from, to, step, region string
	lines                  int
}

func (o *chartLines) flags(c *cobra.Command) {
	c.Flags().StringArrayVar(&o.at, "at", nil, "a frequency, or a list of them (may be repeated)")
	c.Flags().StringArrayVar(&o.bands, "band", nil, `a band by its name, like "40 m amateur" (may be repeated; --band list shows them)`)
	c.Flags().StringVar(&o.region, "region", "1", "ITU region of the bands: 1, 2 or 3")
	c.Flags().StringVar(&o.from, "from", "", "first frequency of a range")
	c.Flags().StringVar(&o.to, "to", "", "last frequency of a range")
	c.Flags().StringVar(&o.step, "step", "", "distance of the lines in a range (default: --lines of them)")
	c.Flags().IntVar(&o.lines, "lines", 11, "number of lines in a range without --step; in a band a third of it")
}

// frequencies lists them, with what has to be said about them.
func (o *chartLines) frequencies() (all []float64, notes []string, err error) {
	if all, err = frequencies("--at", o.at); err != nil {
		return nil, nil, err
	}
	if o.lines < 2 || o.lines > 2000 {
		return nil, nil, usage(fmt.Sprintf("--lines %d", o.lines), "give 2 to 2000")
	}
	if (o.from == "") != (o.to == "") {
		return nil, nil, usage("a range needs --from and --to", "give both")
	}
	if o.from != "" {
		more, err := o.span()
		if err != nil {
			return nil, nil, err
		}
		all = append(all, more...)
	} else if o.step != "" {
		return nil, nil, usage("--step without a range", "give --from and --to")
	}
	region, err := strconv.Atoi(o.region)
	if err != nil {
		return nil, nil, usage("--region "+o.region+" is no number", "give 1, 2 or 3")
	}
	for _, name := range o.bands {
		b, err := band.Named(name, region)
		if err != nil {
			return nil, nil, err
		}
		all = append(all, between(b.From, b.To, max(2, o.lines/3))...)
	}
	if len(o.bands) > 0 {
		notes = append(notes, band.Caution)
	}
	if len(all) == 0 {
		return nil, nil, usage("no frequencies for the chart", "name some with --at, --from and --to, or --band")
	}
	return all, notes, nil
}

func (o *chartLines) span() ([]float64, error) {
	from, err := frequency("--from", o.from)
	if err != nil {
		return nil, err
	}
	to, err := frequency("--to", o.to)
	if err != nil {
		return nil, err
	}
	if !(from < to) {
		return nil, usage("--from is not below --to", "exchange them")
	}
	if o.step == "" {
		return between(from, to, o.lines), nil
	}
	step, err := frequency("--step", o.step)
	if err != nil {
		return nil, err
	}
	n := int(math.Floor((to-from)/step*(1+1e-12))) + 1
	if n > 2000 {
		return nil, usage(fmt.Sprintf("--step makes %d lines", n), "give a larger one")
	}
	var all []float64
	for i := range n {
		all = append(all, from+step*float64(i))
	}
	return all, nil
}

// between is n frequencies from one to another, to a kilohertz where that tells them apart.
func between(from, to float64, n int) (all []float64) {
	for i := range n {
		f := from + (to-from)*float64(i)/float64(n-1)
		if round := math.Round(f/1e3) * 1e3; (to-from)/float64(n-1) > 5e3 && i > 0 && i < n-1 {
			f = round
		}
		all = append(all, f)
	}
	return all
}

func chartCommand(s *streams) *cobra.Command {
	var b bench
	var f fixing
	var o chartLines
	var format, out string
	var turn float64
	c := &cobra.Command{
		Use:     "chart [BOX] --setup SETUP --at F",
		GroupID: "ask",
		Short:   "A tuning chart: where all controls go for each of many frequencies",
		Long: `Chart lists a setting for each frequency, for the strongest signal, chosen so that going from one line to the next turns
few switches: of all ways through the lines it takes the one on which the decibels lost and --turn decibels for each turned
switch are the least together. Beside each knob's reading it says between which readings the signal stays within 1 dB.

Names of bands stand for their limits in an ITU region; allocations differ by country.`,
		Example: `  knobwise chart --demo --at 1.2MHz,1.9MHz,2.6MHz,3.65MHz
  knobwise chart coupler.box.yaml --setup long-wire.setup.yaml --band "80 m amateur" --band "49 m broadcast" --out chart.html
  knobwise chart coupler.box.yaml --setup long-wire.setup.yaml --from 1MHz --to 5MHz --step 250kHz --format csv`,
		Args: oneAtMost("box file"),
		RunE: func(c *cobra.Command, args []string) error {
			if len(o.bands) == 1 && o.bands[0] == "list" {
				return s.deliver(bandList(), "")
			}
			format, err := formatFor(format, out, chartFormats)
			if err != nil {
				return err
			}
			if err := usable(c, format, nil); err != nil {
				return err
			}
			at, notes, err := o.frequencies()
			if err != nil {
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
			q := chart.Question{Box: bx, Setup: st, At: setting, Fixed: fixed, Frequencies: at, Turn: turn}
			// What coverage asks at a frequency takes about as long.
			over := setup.Sweep{From: at[0], To: 2 * at[0], Points: len(at)}
			if err := s.announce(coverage.Question{Box: bx, Setup: st, Over: over, At: setting, Fixed: fixed}); err != nil {
				return err
			}
			var r *chart.Result
			err = s.working("chart", func(ctx context.Context, progress func(float64)) (err error) {
				q.Progress = progress
				r, err = chart.Run(ctx, q)
				return err
			})
			if err != nil {
				return err
			}
			var data []byte
			switch format {
			case "table":
				data = chartTable(bx, r)
			case "csv":
				data = answer.TuningChartCSV(bx, r)
			case "json":
				data, err = answer.JSON(answer.OfTuningChart(r))
			case "html":
				data, err = report.Chart(bx, r, notes)
			}
			if err != nil {
				return err
			}
			s.notices(append(r.Notices, notes...))
			return s.deliver(data, out, inputsOf(args, b.setup, bx, st)...)
		},
	}
	b.everyFlags(c)
	f.flags(c)
	o.flags(c)
	c.Flags().Float64Var(&turn, "turn", 1, "decibels that turning one switch counts as")
	c.Flags().StringVar(&format, "format", "", strings.Join(chartFormats, " | ")+" (default: by the ending of --out, else table)")
	c.Flags().StringVar(&out, "out", "", "write to a file instead of the standard output")
	_ = c.RegisterFlagCompletionFunc("format", cobra.FixedCompletions(chartFormats, cobra.ShellCompDirectiveNoFileComp))
	return c
}

func bandList() []byte {
	var b bytes.Buffer
	for _, x := range band.Bands {
		regions := strings.Join(strings.Split(x.Regions, ""), ", ")
		fmt.Fprintf(&b, "%-22s  %s to %s (ITU region %s)\n", x.Name, quantity.FormatExact(x.From, quantity.Hertz), quantity.FormatExact(x.To, quantity.Hertz), regions)
	}
	fmt.Fprintf(&b, "%s\n", band.Caution)
	return b.Bytes()
}

func chartTable(bx *box.Box, r *chart.Result) []byte {
	rows := [][]string{{"frequency"}}
	for _, c := range bx.Controls {
		rows[0] = append(rows[0], c.Name)
	}
	rows[0] = append(rows[0], "gain", "width", "within 1 dB")
	for _, l := range r.Lines {
		row := []string{quantity.Format(l.Frequency, quantity.Hertz, 5)}
		var limits []string
		for _, c := range bx.Controls {
			text := report.ControlText(c, l.Setting[c.Name])
			for _, d := range l.Knobs {
				if d.Control == c.Name {
					low, at, high := report.RangeText(c.Knob, d.Low, l.Setting[c.Name].Number, d.High)
					text = at
					limits = append(limits, fmt.Sprintf("%s %s .. %s", d.Control, low, high))
				}
			}
			for _, name := range l.Turned {
				if name == c.Name {
					text = "*" + text
				}
			}
			row = append(row, text)
		}
		width := "-"
		if !math.IsNaN(l.Width) {
			width = quantity.Format(l.Width, quantity.Hertz, 3)
		}
		gain := "-"
		if !math.IsNaN(l.Insertion) && !math.IsInf(l.Insertion, 0) {
			gain = tenths(l.Insertion)
		}
		rows = append(rows, append(row, gain, width, strings.Join(limits, ", ")))
	}
	widths := make([]int, len(rows[0]))
	for _, row := range rows {
		for i, cell := range row {
			widths[i] = max(widths[i], len([]rune(cell)))
		}
	}
	var b bytes.Buffer
	fmt.Fprintf(&b, "%s\n  %s\n\n", r.Box, r.Setup)
	for _, row := range rows {
		var line strings.Builder
		for i, cell := range row {
			line.WriteString(cell + strings.Repeat(" ", widths[i]-len([]rune(cell))+2))
		}
		b.WriteString(strings.TrimRight(line.String(), " ") + "\n")
	}
	for _, l := range r.Lines {
		if len(l.Turned) > 0 {
			b.WriteString("* turned since the line above\n")
			break
		}
	}
	return b.Bytes()
}
