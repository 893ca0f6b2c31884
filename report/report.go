// Package report writes answers as pages to print and to keep beside the box.
//
// A page is one HTML file that needs nothing else: no script, no font, no picture from elsewhere. It looks calm on a screen
// in both themes and prints black on white.
package report

import (
	"bytes"
	_ "embed"
	"fmt"
	"html/template"
	"math"
	"strings"

	"knobwise/bench/box"
	"knobwise/bench/quantity"
	"knobwise/study/chart"
)

//go:embed chart.html
var chartPage string

var chartTemplate = template.Must(template.New("chart").Parse(chartPage))

type chartData struct {
	Title, Setup string
	Controls     []string
	Lines        []chartLine
	Notes        []string
}

type chartLine struct {
	Frequency string
	Cells     []chartCell
	Gain      string
	Width     string
	Given     string
}

type chartCell struct {
	Text   string
	Within string // how far the knob may be off
	Turned bool
}

// Chart writes a tuning chart as HTML. Notes stand below it.
func Chart(b *box.Box, r *chart.Result, notes []string) ([]byte, error) {
	d := chartData{Title: r.Box, Setup: r.Setup, Notes: append(append([]string(nil), r.Notices...), notes...)}
	for _, c := range b.Controls {
		d.Controls = append(d.Controls, c.Name)
	}
	for _, l := range r.Lines {
		line := chartLine{Frequency: quantity.Format(l.Frequency, quantity.Hertz, 5), Gain: Decibels(l.Insertion), Width: "–"}
		if !math.IsNaN(l.Width) {
			line.Width = quantity.Format(l.Width, quantity.Hertz, 3)
		}
		if l.Given >= 0.05 {
			line.Given = Decibels(-l.Given)
		}
		for _, c := range b.Controls {
			cell := chartCell{Text: ControlText(c, l.Setting[c.Name])}
			for _, name := range l.Turned {
				cell.Turned = cell.Turned || name == c.Name
			}
			for _, k := range l.Knobs {
				if k.Control == c.Name {
					low, at, high := RangeText(c.Knob, k.Low, l.Setting[c.Name].Number, k.High)
					cell.Text, cell.Within = at, low+"–"+high
				}
			}
			line.Cells = append(line.Cells, cell)
		}
		d.Lines = append(d.Lines, line)
	}
	var out bytes.Buffer
	err := chartTemplate.Execute(&out, d)
	return out.Bytes(), err
}

// ControlText is where a control stands, to the digits that a hand can set.
func ControlText(c *box.Control, at box.Reading) string {
	if c.Knob == nil {
		return at.Word
	}
	return ReadingText(c.Knob, at.Number)
}

// ReadingText is a reading of a knob to a thousandth of its scale, or finer.
func ReadingText(k *box.Knob, reading float64) string { return readingText(reading, decimals(k)) }

// RangeText is a reading of a knob and the two between which it may stand, with as many digits as tell the three apart: a
// reading that is set as printed must lie between them.
func RangeText(k *box.Knob, low, reading, high float64) (from, at, to string) {
	for d := decimals(k); ; d++ {
		from, at, to = readingText(low, d), readingText(reading, d), readingText(high, d)
		step := math.Pow(10, -float64(d))
		if d > decimals(k)+3 || step <= (high-low)/4 {
			return from, at, to
		}
	}
}

// decimals are those of a thousandth of a scale, or finer.
func decimals(k *box.Knob) int { return max(0, 3-int(math.Floor(math.Log10(math.Abs(k.To-k.From))))) }

func readingText(reading float64, decimals int) string {
	text := fmt.Sprintf("%.*f", decimals, reading)
	if strings.Trim(text, "-0.") == "" {
		text = strings.TrimPrefix(text, "-")
	}
	return text
}

// Decibels prints a gain with its sign.
func Decibels(v float64) string {
	if math.IsNaN(v) || math.IsInf(v, 0) {
		return "–"
	}
	return strings.Replace(fmt.Sprintf("%+.1f dB", v), "-", "−", 1)
}
