package answer

import (
	"bytes"
	"encoding/csv"
	"fmt"
	"io"
	"math"
	"math/cmplx"
	"slices"
	"strings"

	"knobwise/bench/box"
	"knobwise/bench/measurement"
	"knobwise/bench/quantity"
	"knobwise/bench/touchstone"
	"knobwise/bench/trace"
	"knobwise/figure"
	"knobwise/study/residual"
)

// Measured is the JSON of a measured trace beside the model.
type Measured struct {
	Name      string      `json:"name"`
	Setting   box.Setting `json:"setting"`
	Shown     string      `json:"shown"`
	Frequency Column      `json:"frequency_hz"`
	Measured  Column      `json:"measured_db"`
	Model     Column      `json:"model_db"`
	Residual  Column      `json:"residual_db"`
	Insertion Column      `json:"insertion_gain_db"` // measured; empty for S-parameters
	LoadV     Column      `json:"load_v"`            // measured; empty for S-parameters
	Offset    Number      `json:"offset_db"`
	Fitted    bool        `json:"offset_fitted"`
	RMS       Number      `json:"rms_db"`
	Noise     Number      `json:"noise_db"`
	Worst     Number      `json:"worst_db"`
	WorstAt   Number      `json:"worst_hz"`
	Distance  Number      `json:"s_distance"`
	PeakShift Number      `json:"peak_shift_hz"`
	Read      []string    `json:"read"`
	Warnings  []string    `json:"warnings"`
}

// OfResidual puts a comparison into its JSON form.
func OfResidual(r *residual.Result) Measured {
	return Measured{
		Name: r.Name, Setting: r.Setting, Shown: string(r.Shown), Frequency: r.Frequency, Measured: r.Measured, Model: r.Model, Residual: r.Residual,
		Insertion: r.InsertionGain(), LoadV: r.LoadVoltage(), Offset: Number(r.Offset), Fitted: r.Fitted, RMS: Number(r.RMS), Noise: Number(r.Noise),
		Worst: Number(r.Worst), WorstAt: Number(r.WorstAt), Distance: Number(r.Distance), PeakShift: Number(r.PeakShift), Read: OrEmpty(r.Read), Warnings: OrEmpty(r.Notices),
	}
}

// ResidualCSV is the table of some comparisons, one row per measurement and frequency, in full precision.
func ResidualCSV(all []*residual.Result) []byte {
	var out bytes.Buffer
	w := csv.NewWriter(&out)
	_ = w.Write([]string{"measurement", "frequency_hz", "measured_db", "model_db", "residual_db"}) // memory does not fail
	for _, r := range all {
		for i := range r.Frequency {
			_ = w.Write([]string{r.Name, cell(r.Frequency[i]), cell(r.Measured[i]), cell(r.Model[i]), cell(r.Residual[i])})
		}
	}
	w.Flush()
	return out.Bytes()
}

// ResidualPicture draws one comparison, as "svg", "png" or "pdf".
func ResidualPicture(w io.Writer, format string, b *box.Box, r *residual.Result, dark bool) error {
	note := fmt.Sprintf("difference: %.2f dB rms, %+.2f dB at most, at %s", r.RMS, r.Worst, quantity.Format(r.WorstAt, quantity.Hertz, 5))
	if r.Fitted {
		note += fmt.Sprintf("; level of the trace fitted, %+.2f dB", r.Offset)
	}
	c := figure.Chart{
		Title:    r.Name,
		Subtitle: b.Describe(r.Setting) + " · " + b.Name,
		X:        figure.Axis{Label: "frequency", Unit: "Hz"},
		Y:        figure.Axis{Label: string(r.Shown), Unit: "dB"},
		Series: []figure.Series{
			{Name: "model", X: r.Frequency, Y: r.Model, Style: figure.Now},
			{Name: "measured", X: r.Frequency, Y: r.Measured, Style: figure.Measured},
		},
		Notes: append([]string{note}, r.Notices...),
	}
	return draw(w, c, format, dark)
}

// levelHead is the head of a column of levels. It says what is known of their unit, so that the table is read as it was.
func levelHead(t *trace.Trace) string {
	switch {
	case t.Quantity == measurement.Decibel:
		return "level_" + strings.ToLower(t.Symbol())
	case t.Unit == "":
		return "amplitude"
	case t.Peak && t.Unit == "V":
		return "amplitude_vpk"
	}
	return "amplitude_" + strings.ToLower(t.Unit)
}

// TraceTouchstone is a trace of S-parameters as a file that is read as such.
func TraceTouchstone(t *trace.Trace) ([]byte, error) {
	d := &touchstone.Data{Ports: t.Ports, Parameter: 'S', Frequencies: t.Frequency, Values: t.S, Reference: t.References}
	var out bytes.Buffer
	err := touchstone.Write(&out, d, touchstone.WriteOptions{Comments: []string{"converted from " + t.File}})
	return out.Bytes(), err
}

// TraceCSV is a measured trace as a table over frequency, in full precision.
func TraceCSV(t *trace.Trace) []byte {
	var out bytes.Buffer
	w := csv.NewWriter(&out)
	header := []string{"frequency_hz", levelHead(t)}
	if t.Quantity == measurement.Scattering {
		header = header[:1]
		for row := range t.Ports {
			for column := range t.Ports {
				name := fmt.Sprintf("s%d%d", row+1, column+1)
				header = append(header, name+"_re", name+"_im")
			}
		}
	}
	_ = w.Write(header) // memory does not fail
	for i, f := range t.Frequency {
		line := []string{cell(f)}
		if t.Quantity == measurement.Scattering {
			for _, x := range t.S[i] {
				line = append(line, cell(real(x)), cell(imag(x)))
			}
		} else {
			line = append(line, cell(t.Level[i]))
		}
		_ = w.Write(line)
	}
	w.Flush()
	return out.Bytes()
}

// Trace is the JSON of a measured trace.
type Trace struct {
	File      string   `json:"file"`
	Quantity  string   `json:"quantity"`
	Frequency Column   `json:"frequency_hz"`
	Level     Column   `json:"level"` // in unit
	Unit      string   `json:"unit"`  // V, dB, dBm and the like; empty where nothing says it
	Peak      bool     `json:"peak"`  // level is the peak of a sine, not its rms
	Noise     Number   `json:"noise"` // rms, in the unit of level, or dB
	Read      []string `json:"read"`
	Warnings  []string `json:"warnings"`
}

// OfTrace puts a trace into its JSON form; of S-parameters the level is that of the last, S21 or S11, in dB.
func OfTrace(t *trace.Trace) Trace {
	unit := t.Symbol()
	if t.Quantity == measurement.Scattering {
		unit = "dB"
	}
	return Trace{File: t.File, Quantity: string(t.Quantity), Frequency: t.Frequency, Level: levels(t), Unit: unit, Peak: t.Peak, Noise: Number(t.Noise), Read: OrEmpty(t.Read), Warnings: OrEmpty(t.Notices)}
}

// levels are what a trace shows: its level, or the level of S21 or S11 in dB.
func levels(t *trace.Trace) []float64 {
	if t.Quantity != measurement.Scattering {
		return t.Level
	}
	all := make([]float64, len(t.S))
	for i, s := range t.S {
		all[i] = 20 * math.Log10(cmplx.Abs(s[t.Ports*(t.Ports-1)]))
	}
	return all
}

// TracePicture draws a trace as "svg", "png" or "pdf".
func TracePicture(w io.Writer, format string, t *trace.Trace, dark bool) error {
	y := figure.Axis{Label: "amplitude", Unit: t.Symbol()}
	switch {
	case t.Quantity == measurement.Scattering:
		y = figure.Axis{Label: "level", Unit: "dB"}
	case t.Quantity == measurement.Decibel:
		y.Label = "level"
	case t.Peak:
		y.Label = "amplitude, peak"
	}
	if t.Quantity == measurement.Scattering {
		y.Label = fmt.Sprintf("S%d1", t.Ports)
	}
	return draw(w, figure.Chart{
		Title: t.File, X: figure.Axis{Label: "frequency", Unit: "Hz"}, Y: y,
		Series: []figure.Series{{Name: "measured", X: t.Frequency, Y: levels(t), Style: figure.Measured}},
		Notes:  append(slices.Clone(t.Read), t.Notices...),
	}, format, dark)
}
