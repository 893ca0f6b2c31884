package cli

import (
	"bytes"
	"fmt"
	"math"
	"strings"

	"github.com/guptarohit/asciigraph"

	"knobwise/bench/box"
	"knobwise/bench/quantity"
	"knobwise/study/sweep"
)

// tableRows is how many of the frequencies the table shows; all of them are in the CSV.
const tableRows = 16

// sweepTable writes the answer for a person at a terminal.
func sweepTable(b *bytes.Buffer, bx *box.Box, r *sweep.Result) {
	n := len(r.Frequency)
	fmt.Fprintf(b, "%s\n", r.Box)
	if text := bx.Describe(r.Setting); text != "" {
		fmt.Fprintf(b, "  %s\n", text)
	}
	fmt.Fprintf(b, "  %s: emf %s, %d points from %s to %s\n\n", r.Setup, quantity.Format(r.EMF, quantity.Volt, 4), n,
		hertz(r.Frequency[0]), hertz(r.Frequency[n-1]))
	gainChart(b, r)
	for _, f := range r.Features {
		featureLines(b, r, f)
	}
	for _, budget := range r.Budgets {
		budgetLines(b, budget)
	}
	rowLines(b, r)
}

func hertz(f float64) string { return quantity.Format(f, quantity.Hertz, 5) }

// Size of the chart in characters.
const (
	chartWidth = 68
	mostRows   = 14
)

// gainChart draws the insertion gain over frequency, with the straight wire at 0 dB.
func gainChart(b *bytes.Buffer, r *sweep.Result) {
	gain := reduced(r.InsertionGain, chartWidth)
	low, high := math.Inf(1), math.Inf(-1)
	for _, v := range gain {
		if !math.IsNaN(v) {
			low, high = min(low, v), max(high, v)
		}
	}
	if math.IsInf(low, 0) {
		return // nothing to draw; the notices say why
	}
	low, high, rows := levels(max(low, high-60), high) // 60 dB below the top nothing is read from so small a chart
	for i, v := range gain {
		if v < low {
			gain[i] = low
		}
	}
	series, chars := [][]float64{gain}, []asciigraph.CharSet{asciigraph.DefaultCharSet}
	caption := "insertion gain, dB"
	if low <= 0 && high >= 0 { // otherwise the straight wire lies outside the picture
		series = [][]float64{make([]float64, len(gain)), gain}
		chars = []asciigraph.CharSet{asciigraph.CreateCharSet("╌"), asciigraph.DefaultCharSet}
		caption += " (╌ straight through)"
	}
	from, to := r.Frequency[0], r.Frequency[len(r.Frequency)-1]
	unit, factor := quantity.SharedPrefix([]float64{to}, quantity.Hertz)
	decimals := uint(0)
	if (high-low)/float64(rows) < 1 {
		decimals = 1
	}
	fmt.Fprintln(b, caption)
	b.WriteString(asciigraph.PlotMany(series,
		asciigraph.Height(rows), asciigraph.SeriesChars(chars...), asciigraph.Precision(decimals),
		asciigraph.LowerBound(low), asciigraph.UpperBound(high),
		asciigraph.XAxisRange(0, float64(len(gain)-1)), asciigraph.XAxisTickCount(5),
		asciigraph.XAxisValueFormatter(func(x float64) string {
			return trim(at(r.Frequency, x/float64(len(gain)-1))/factor, (to-from)/factor)
		})))
	fmt.Fprintf(b, " %s\n\n", unit)
}

// levels widens a range of decibels to whole rows of a round size, so that 0 dB lies on a row.
func levels(low, high float64) (from, to float64, rows int) {
	for _, step := range []float64{0.1, 0.2, 0.5, 1, 2, 3, 5, 6} {
		from, to = math.Floor(low/step)*step, math.Ceil(high/step)*step
		if to == from {
			to += step
		}
		if rows = int(math.Round((to - from) / step)); rows <= mostRows {
			break
		}
	}
	return from, to, rows
}

// at is the frequency at a fraction of the sweep's points.
func at(f []float64, fraction float64) float64 {
	x := fraction * float64(len(f)-1)
	i := min(int(x), len(f)-2)
	return f[i] + (f[i+1]-f[i])*(x-float64(i))
}

// trim prints a frequency with the decimals that tell it apart within a span.
func trim(v, span float64) string {
	decimals := max(0, 2-int(math.Floor(math.Log10(span))))
	text := fmt.Sprintf("%.*f", min(decimals, 6), v)
	if strings.Contains(text, ".") {
		text = strings.TrimRight(strings.TrimRight(text, "0"), ".")
	}
	return text
}

// reduced brings a trace to a width by the highest value of each column, so that no peak is lost. A sweep with fewer
// points than columns keeps its points.
func reduced(v []float64, width int) []float64 {
	out := make([]float64, min(width, len(v)))
	for c := range out {
		out[c] = math.NaN()
		for _, x := range v[c*len(v)/len(out) : (c+1)*len(v)/len(out)] {
			if !math.IsInf(x, 0) && !(x <= out[c]) && !math.IsNaN(x) {
				out[c] = x
			}
		}
	}
	return out
}

func featureLines(b *bytes.Buffer, r *sweep.Result, f sweep.Features) {
	line := func(name, text string) { fmt.Fprintf(b, "  %-24s %s\n", name, text) }
	fmt.Fprintln(b, "load voltage")
	if f.Where == sweep.Nowhere {
		line("no signal", "nothing reaches the load at this setting")
		fmt.Fprintln(b)
		return
	}
	level := quantity.Format(math.Pow(10, f.Peak.Level/20), quantity.Volt, 4)
	name := "peak"
	switch f.Where {
	case sweep.Inside:
	case sweep.Flat:
		name = "flat, no peak"
	default:
		name = "highest, no peak"
	}
	line(name, fmt.Sprintf("%s, %s", quantity.Format(f.Peak.Frequency, quantity.Hertz, 6), level))
	for _, p := range f.Others {
		line("further peak", fmt.Sprintf("%s, %s", quantity.Format(p.Frequency, quantity.Hertz, 6), decibels(p.Level-f.Peak.Level)))
	}
	switch {
	case f.Where == sweep.Flat:
	case !math.IsNaN(f.Bandwidth):
		line("bandwidth (-3 dB)", fmt.Sprintf("%s, from %s to %s", quantity.Format(f.Bandwidth, quantity.Hertz, 4), hertz(f.Low3), hertz(f.High3)))
		line("loaded Q", fmt.Sprintf("%.3g", f.LoadedQ))
	case !math.IsNaN(f.High3):
		line("-3 dB above it", hertz(f.High3))
	case !math.IsNaN(f.Low3):
		line("-3 dB below it", hertz(f.Low3))
	default:
		line("bandwidth (-3 dB)", "not inside the sweep")
	}
	if !math.IsNaN(f.ShapeFactor) {
		line("shape factor (-60/-6 dB)", fmt.Sprintf("%.3g", f.ShapeFactor))
	}
	for _, x := range f.Rejections {
		line("rejection", fmt.Sprintf("%s at %s", decibels(x.DB), hertz(x.Frequency)))
	}
	fmt.Fprintln(b)
}

func budgetLines(b *bytes.Buffer, budget sweep.Budget) {
	fmt.Fprintf(b, "where the power goes at %s (available: %s)\n", quantity.Format(budget.Frequency, quantity.Hertz, 6), quantity.Format(budget.Available, quantity.Watt, 4))
	for _, s := range budget.Shares {
		if s.Kind == sweep.InPart && math.Abs(s.Fraction) < 5e-4 {
			continue
		}
		bar := strings.Repeat("█", max(0, int(math.Round(s.Fraction*40))))
		fmt.Fprintf(b, "  %-24s %5.1f %%  %s\n", s.Name, 100*s.Fraction, bar)
	}
	switch small := smallParts(budget); small {
	case 0:
	case 1:
		fmt.Fprintf(b, "  %-24s %5s    less than 0.05 %%\n", "one further part", "")
	default:
		fmt.Fprintf(b, "  %-24s %5s    less than 0.05 %% each\n", fmt.Sprintf("%d further parts", small), "")
	}
	fmt.Fprintln(b)
}

func smallParts(budget sweep.Budget) (n int) {
	for _, s := range budget.Shares {
		if s.Kind == sweep.InPart && math.Abs(s.Fraction) < 5e-4 {
			n++
		}
	}
	return n
}

// rowLines shows every so many rows of the sweep.
func rowLines(b *bytes.Buffer, r *sweep.Result) {
	n := len(r.Frequency)
	step := max(1, (n-1)/(tableRows-1))
	unit, factor := quantity.SharedPrefix([]float64{r.Frequency[n-1]}, quantity.Hertz)
	loadUnit, loadFactor := quantity.SharedPrefix(r.LoadV, quantity.Volt)
	fmt.Fprintf(b, "%10s %10s %10s %10s %10s %10s %19s %19s\n", "frequency", "load", "insertion", "transducer", "mismatch", "dissip.", "seen by source", "seen by load")
	fmt.Fprintf(b, "%10s %10s %10s %10s %10s %10s %19s %19s\n", unit, loadUnit, "dB", "dB", "dB", "dB", "ohm", "ohm")
	for i := 0; i < n; i += step {
		fmt.Fprintf(b, "%10.*f %10s %10s %10s %10s %10s %19s %19s\n", 4, r.Frequency[i]/factor, digits(r.LoadV[i]/loadFactor),
			plain(r.InsertionGain[i]), plain(r.TransducerGain[i]), plain(r.InputMismatch[i]), plain(r.Dissipation[i]),
			impedance(r.InputImpedance[i]), impedance(r.OutputImpedance[i]))
	}
	if step > 1 {
		fmt.Fprintf(b, "every %d%s of %d rows; --format csv has all\n", step, ordinal(step), n)
	}
}

func ordinal(n int) string {
	if n%100 < 11 || n%100 > 13 {
		switch n % 10 {
		case 1:
			return "st"
		case 2:
			return "nd"
		case 3:
			return "rd"
		}
	}
	return "th"
}

func decibels(v float64) string { return plain(v) + " dB" }

// plain prints decibels; a dash where the value does not exist.
func plain(v float64) string {
	if math.IsNaN(v) || math.IsInf(v, 0) {
		return "–"
	}
	if v > -0.005 && v < 0 {
		v = 0
	}
	return fmt.Sprintf("%.2f", v)
}

// digits prints four significant digits without a power of ten where it can.
func digits(v float64) string {
	a := math.Abs(v)
	switch {
	case math.IsNaN(v) || math.IsInf(v, 0):
		return "–"
	case a >= 1000 && a < 1e6:
		return fmt.Sprintf("%.0f", v)
	case a >= 0.001 && a < 1000:
		return fmt.Sprintf("%.*f", max(0, 3-int(math.Floor(math.Log10(a)))), v)
	case a == 0:
		return "0"
	}
	return fmt.Sprintf("%.2e", v)
}

func impedance(z complex128) string {
	if math.IsInf(real(z), 0) || math.IsInf(imag(z), 0) || math.IsNaN(real(z)) {
		return "open"
	}
	if math.Abs(imag(z)) < 1e-9*math.Abs(real(z)) {
		return digits(real(z)) + " + j0"
	}
	sign := "+"
	if imag(z) < 0 {
		sign = "-"
	}
	return fmt.Sprintf("%s %s j%s", digits(real(z)), sign, digits(math.Abs(imag(z))))
}
