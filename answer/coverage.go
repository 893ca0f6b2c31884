package answer

import (
	"bytes"
	"fmt"
	"io"
	"math"
	"strconv"
	"strings"

	"knobwise/bench/box"
	"knobwise/bench/fault"
	"knobwise/bench/quantity"
	"knobwise/figure"
	"knobwise/study/coverage"
)

// Coverage is the JSON of what a box can do at all its settings.
type Coverage struct {
	Box          string   `json:"box"`
	Setup        string   `json:"setup"`
	Frequency    Column   `json:"frequency_hz"`
	Lanes        []Lane   `json:"lanes"`
	Use          []Use    `json:"use"`
	Gaps         []Range  `json:"gaps"`
	Combinations int      `json:"combinations"`
	Silent       int      `json:"silent"`
	Warnings     []string `json:"warnings"`
}

// Lane is the JSON of one combination of the switches. The columns have one value per frequency, null where there is none.
type Lane struct {
	Name           string        `json:"name"`
	Switches       box.Setting   `json:"switches"`
	Idle           []string      `json:"idle"`
	Frequency      Column        `json:"frequency_hz"`
	BestInsertion  Column        `json:"best_insertion_gain_db"`
	BestTransducer Column        `json:"best_transducer_gain_db"`
	BestSetting    []box.Setting `json:"best_setting"`
	PeakInsertion  Column        `json:"peak_insertion_gain_db"`
	PeakTransducer Column        `json:"peak_transducer_gain_db"`
	PeakBandwidth  Column        `json:"peak_bandwidth_hz"`
	PeakSetting    []box.Setting `json:"peak_setting"`
	Lowest         Number        `json:"peak_lowest_hz"`
	Highest        Number        `json:"peak_highest_hz"`
	Ranges         []Range       `json:"peak_ranges"`
	Singles        []Single      `json:"single_peaks"` // that nothing moves
	Knobs          []Effect      `json:"knobs"`
}

// Range is the JSON of a range of frequencies.
type Range struct {
	From Number `json:"from_hz"`
	To   Number `json:"to_hz"`
}

// Single is the JSON of a peak that nothing moves.
type Single struct {
	Frequency  Number `json:"frequency_hz"`
	Insertion  Number `json:"insertion_gain_db"`
	Transducer Number `json:"transducer_gain_db"`
	Bandwidth  Number `json:"bandwidth_hz"`
}

// Use is the JSON of which lane to use where.
type Use struct {
	Range
	Lane int `json:"lane"` // its number, from 0
}

// Effect is the JSON of what a knob is worth.
type Effect struct {
	Control string `json:"control"`
	At      Number `json:"at_hz"`
	Peak    Number `json:"peak_hz_per_division"`
	Level   Number `json:"level_db_per_division"`
}

// OfCoverage puts the answer into its JSON form.
func OfCoverage(b *box.Box, r *coverage.Result) Coverage {
	out := Coverage{
		Box: r.Box, Setup: r.Setup, Frequency: r.Frequency, Lanes: []Lane{}, Use: []Use{}, Gaps: ranges(r.Gaps),
		Combinations: r.Asked, Silent: r.Silent, Warnings: OrEmpty(r.Notices),
	}
	for _, l := range r.Lanes {
		j := Lane{
			Name: LaneName(b, l), Switches: l.Switches, Idle: OrEmpty(l.Idle), Frequency: r.Frequency, Ranges: ranges(l.Ranges), Singles: []Single{}, Knobs: []Effect{},
			Lowest: Number(math.NaN()), Highest: Number(math.NaN()),
		}
		if n := len(l.Ranges); n > 0 {
			j.Lowest, j.Highest = Number(l.Ranges[0].Low), Number(l.Ranges[n-1].High)
		}
		for i := range r.Frequency {
			best, peak := l.Best[i], l.Peaks[i]
			j.BestInsertion, j.BestTransducer = append(j.BestInsertion, best.Insertion), append(j.BestTransducer, best.Transducer)
			j.PeakInsertion, j.PeakTransducer = append(j.PeakInsertion, peak.Insertion), append(j.PeakTransducer, peak.Transducer)
			j.PeakBandwidth = append(j.PeakBandwidth, peak.Width)
			j.BestSetting, j.PeakSetting = append(j.BestSetting, best.Setting), append(j.PeakSetting, peak.Setting)
		}
		for _, x := range l.Singles {
			j.Singles = append(j.Singles, Single{Number(x.Frequency), Number(x.Insertion), Number(x.Transducer), Number(x.Width)})
		}
		for _, k := range l.Knobs {
			j.Knobs = append(j.Knobs, Effect{k.Control, Number(k.At), Number(k.Peak), Number(k.Level)})
		}
		out.Lanes = append(out.Lanes, j)
	}
	for _, u := range r.Use {
		out.Use = append(out.Use, Use{Range{Number(u.Low), Number(u.High)}, u.Lane})
	}
	return out
}

func ranges(all []coverage.Range) []Range {
	out := []Range{}
	for _, r := range all {
		out = append(out, Range{Number(r.Low), Number(r.High)})
	}
	return out
}

// LaneName names a lane by the switches that matter in it, in panel order.
func LaneName(b *box.Box, l coverage.Lane) string {
	var words []string
	for _, c := range b.Controls {
		if c.Switch == nil {
			continue
		}
		idle := false
		for _, name := range l.Idle {
			idle = idle || name == c.Name
		}
		if !idle {
			words = append(words, c.Name+" "+l.Switches[c.Name].Word)
		}
	}
	if len(words) == 0 {
		return "all settings"
	}
	return strings.Join(words, ", ")
}

// CoverageCSV has one row per lane and frequency; the last columns are the setting for the peak or, where none can be
// placed, for the strongest signal.
func CoverageCSV(b *box.Box, r *coverage.Result) []byte {
	var out bytes.Buffer
	header := []string{"lane", "frequency_hz", "best_insertion_gain_db", "best_transducer_gain_db", "peak_insertion_gain_db", "peak_transducer_gain_db", "peak_bandwidth_hz"}
	for _, c := range b.Controls {
		header = append(header, c.Name)
	}
	row := func(cells []string) {
		for i, c := range cells {
			if i > 0 {
				out.WriteByte(',')
			}
			if strings.ContainsAny(c, ",\"\r\n") {
				c = `"` + strings.ReplaceAll(c, `"`, `""`) + `"`
			}
			out.WriteString(c)
		}
		out.WriteByte('\n')
	}
	row(header)
	for _, l := range r.Lanes {
		name := LaneName(b, l)
		for i, f := range r.Frequency {
			best, peak := l.Best[i], l.Peaks[i]
			cells := []string{name}
			for _, v := range []float64{f, best.Insertion, best.Transducer, peak.Insertion, peak.Transducer, peak.Width} {
				cell := ""
				if !math.IsNaN(v) && !math.IsInf(v, 0) {
					cell = strconv.FormatFloat(v, 'g', -1, 64)
				}
				cells = append(cells, cell)
			}
			setting := peak.Setting
			if setting == nil {
				setting = best.Setting
			}
			for _, c := range b.Controls {
				cells = append(cells, setting[c.Name].String())
			}
			row(cells)
		}
	}
	return out.Bytes()
}

// CoveragePicture draws the strongest peak of every lane over frequency, as "svg", "png" or "pdf".
func CoveragePicture(w io.Writer, format string, b *box.Box, r *coverage.Result, dark bool) error {
	c := figure.Chart{
		Title: r.Box, Subtitle: "strongest peak at every position of the knobs · " + r.Setup,
		X:     figure.Axis{Label: "peak at", Unit: "Hz", Log: r.Over.Log, Min: r.Over.From, Max: r.Over.To},
		Y:     figure.Axis{Label: "insertion gain", Unit: "dB"},
		Notes: r.Notices,
	}
	straight := make([]float64, len(r.Frequency))
	c.Series = append(c.Series, figure.Series{Name: "straight through", X: r.Frequency, Y: straight, Style: figure.Straight})
	for _, l := range r.Lanes {
		gain := make([]float64, len(r.Frequency))
		for i := range gain {
			gain[i] = l.Peaks[i].Insertion
		}
		if len(l.Ranges) == 0 {
			continue
		}
		c.Series = append(c.Series, figure.Series{Name: LaneName(b, l), X: r.Frequency, Y: gain})
	}
	for _, g := range r.Gaps {
		c.Notes = append(c.Notes, fmt.Sprintf("no peak from %s to %s", quantity.Format(g.Low, quantity.Hertz, 4), quantity.Format(g.High, quantity.Hertz, 4)))
	}
	return draw(w, c, format, dark)
}

// draw renders a chart in one of the picture formats.
func draw(w io.Writer, c figure.Chart, format string, dark bool) error {
	if dark {
		c.Theme = figure.Dark
	}
	var err error
	switch format {
	case "svg":
		err = c.SVG(w)
	case "png":
		err = c.PNG(w)
	case "pdf":
		err = c.PDF(w)
	}
	if err != nil {
		return &fault.Error{Kind: fault.Request, What: "the picture cannot be drawn: " + err.Error(), Cause: err}
	}
	return nil
}
