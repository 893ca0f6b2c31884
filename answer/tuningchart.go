package answer

import (
	"bytes"
	"encoding/csv"
	"math"
	"strconv"
	"strings"

	"knobwise/bench/box"
	"knobwise/study/chart"
)

// TuningChart is the JSON of a tuning chart.
type TuningChart struct {
	Box      string      `json:"box"`
	Setup    string      `json:"setup"`
	Results  []ChartLine `json:"results"`
	Warnings []string    `json:"warnings"`
}

// ChartLine is the JSON of one line of a tuning chart.
type ChartLine struct {
	Frequency  Number           `json:"frequency_hz"`
	Setting    box.Setting      `json:"setting"`
	Turned     []string         `json:"turned"`
	Insertion  Number           `json:"insertion_gain_db"`
	Transducer Number           `json:"transducer_gain_db"`
	Given      Number           `json:"given_up_db"`
	Peak       Number           `json:"peak_hz"`
	Bandwidth  Number           `json:"bandwidth_hz"`
	Tolerance  map[string]Limit `json:"dial_tolerance"`
}

// Limit is the JSON of a dial's limits.
type Limit struct {
	Low  Number `json:"low"`
	High Number `json:"high"`
}

// OfTuningChart puts a chart into its JSON form.
func OfTuningChart(r *chart.Result) TuningChart {
	out := TuningChart{Box: r.Box, Setup: r.Setup, Results: []ChartLine{}, Warnings: OrEmpty(r.Notices)}
	for _, l := range r.Lines {
		j := ChartLine{
			Frequency: Number(l.Frequency), Setting: l.Setting, Turned: OrEmpty(l.Turned), Insertion: Number(l.Insertion), Transducer: Number(l.Transducer),
			Given: Number(l.Given), Peak: Number(l.Peak), Bandwidth: Number(l.Width), Tolerance: map[string]Limit{},
		}
		for _, d := range l.Knobs {
			j.Tolerance[d.Control] = Limit{Number(d.Low), Number(d.High)}
		}
		out.Results = append(out.Results, j)
	}
	return out
}

// TuningChartCSV has one row per frequency: the setting, then what it does. A value that does not exist is an empty cell.
func TuningChartCSV(b *box.Box, r *chart.Result) []byte {
	var out bytes.Buffer
	w := csv.NewWriter(&out)
	header := []string{"frequency_hz"}
	for _, c := range b.Controls {
		header = append(header, c.Name)
	}
	_ = w.Write(append(header, "insertion_gain_db", "transducer_gain_db", "given_up_db", "peak_hz", "bandwidth_hz", "turned")) // memory does not fail
	for _, l := range r.Lines {
		row := []string{cell(l.Frequency)}
		for _, c := range b.Controls {
			row = append(row, l.Setting[c.Name].String())
		}
		_ = w.Write(append(row, cell(l.Insertion), cell(l.Transducer), cell(l.Given), cell(l.Peak), cell(l.Width), strings.Join(l.Turned, " ")))
	}
	w.Flush()
	return out.Bytes()
}

// cell is a number in full precision; one that does not exist is an empty cell.
func cell(v float64) string {
	if math.IsNaN(v) || math.IsInf(v, 0) {
		return ""
	}
	return strconv.FormatFloat(v, 'g', -1, 64)
}
