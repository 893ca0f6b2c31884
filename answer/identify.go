package answer

import (
	"fmt"
	"io"
	"math"
	"strings"
	"time"

	"knobwise/bench/box"
	"knobwise/bench/fault"
	"knobwise/bench/quantity"
	"knobwise/figure"
	"knobwise/study/identify"
)

// Identified is the JSON of values that were found from measurements.
type Identified struct {
	Box        string       `json:"box"`
	Status     string       `json:"status"`
	Values     []FoundValue `json:"values"`
	Residual   Number       `json:"residual_rms"` // in units of the traces' own roughness
	Runs       Number       `json:"residual_runs"`
	Degenerate []Degenerate `json:"degenerate"`
	Dials      []FoundDial  `json:"dials"`
	Fits       []FoundFit   `json:"measurements"`
	Loss       string       `json:"loss"`
	Stop       string       `json:"stop"`
	Reading    Number       `json:"reading_error"` // of the dials, part of the scale
	Starts     int          `json:"starts"`
	Same       int          `json:"starts_same"`
	Evaluated  int          `json:"evaluations"`
	Points     int          `json:"points"`
	Parameters int          `json:"parameters"`
	Warnings   []string     `json:"warnings"`
}

// FoundValue is the JSON of one value, in SI base units; low and high bound the 95 % interval.
type FoundValue struct {
	Name       string `json:"name"` // what to call it
	Part       string `json:"part"`
	Field      string `json:"field"`
	Value      Number `json:"value"`
	Low        Number `json:"low"`
	High       Number `json:"high"`
	Determined bool   `json:"determined"`
	Unit       string `json:"unit"`
	Text       string `json:"text"`
	Why        string `json:"why"`
	Profile    bool   `json:"by_profile"`
	AtBound    bool   `json:"at_bound"`
	// Path is where it stands in the box file, and Write what to write there; none for a value of a setup.
	Path  []string `json:"path"`
	Write string   `json:"write"`
}

// Degenerate is the JSON of values that cannot be told apart.
type Degenerate struct {
	Parts       []string `json:"parts"`
	Combination string   `json:"determined_combination"`
	Value       Number   `json:"value"`
	Half        Number   `json:"half_width"`
	Text        string   `json:"text"`
}

// FoundDial is the JSON of a reading as it came out.
type FoundDial struct {
	Measurement string `json:"measurement"`
	Control     string `json:"control"`
	Read        Number `json:"read"`
	Found       Number `json:"found"`
	Low         Number `json:"low"`
	High        Number `json:"high"`
}

// FoundFit is the JSON of how one measurement came out.
type FoundFit struct {
	Name      string `json:"name"`
	RMS       Number `json:"residual_rms"`
	Noise     Number `json:"noise"`
	Level     Number `json:"level"`
	Floor     Number `json:"floor"` // in the trace's unit; null where there is none
	WorstAt   Number `json:"worst_hz"`
	Frequency Column `json:"frequency_hz"`
	Measured  Column `json:"measured"`
	Model     Column `json:"model"`
	Low       Column `json:"low"`
	High      Column `json:"high"`
}

// OfIdentified puts what was found into its JSON form.
func OfIdentified(b *box.Box, r *identify.Result) Identified {
	out := Identified{
		Box: b.Name, Status: string(r.Status), Values: OfValues(r.Values), Residual: Number(r.RMS), Runs: Number(r.Runs), Degenerate: []Degenerate{}, Dials: []FoundDial{}, Fits: []FoundFit{},
		Loss: identify.Loss(), Stop: r.Stop, Reading: Number(r.ReadingError), Starts: r.Starts, Same: r.Same, Evaluated: r.Evaluations, Points: r.Points, Parameters: r.Parameters, Warnings: OrEmpty(r.Notices),
	}
	for _, d := range r.Degenerate {
		out.Degenerate = append(out.Degenerate, Degenerate{d.Parts, d.Combination, Number(d.Value), Number(d.Half), d.Text})
	}
	for _, d := range r.Dials {
		out.Dials = append(out.Dials, FoundDial{d.Measurement, d.Control, Number(d.Read), Number(d.Found), Number(d.Low), Number(d.High)})
	}
	for _, f := range r.Fits {
		out.Fits = append(out.Fits, FoundFit{f.Name, Number(f.RMS), Number(f.Noise), Number(f.Level), Number(f.Floor), Number(f.WorstAt), f.Frequency, f.Measured, f.Model, f.Low, f.High})
	}
	return out
}

// OfValues puts values into their JSON form.
func OfValues(values []identify.Value) []FoundValue {
	out := []FoundValue{}
	for i := range values {
		v := &values[i]
		x := FoundValue{
			Name: v.Name(), Part: v.Part, Field: v.Field, Value: Number(v.Value), Low: Number(v.Low), High: Number(v.High), Determined: v.Determined, Unit: v.Unit.Symbol(),
			Text: quantity.Format(v.Value, v.Unit, 4), Why: v.Why, Profile: v.ByProfile, AtBound: v.AtBound, Path: []string{},
		}
		if !v.InSetup && v.Node != nil {
			x.Path, x.Write = v.Node.Path(), toWrite(v)
		}
		out = append(out, x)
	}
	return out
}

// IdentifiedBox is the box file with the determined values filled in, each with its interval and the day in a comment; every other
// byte stays. Errors are *fault.Error.
func IdentifiedBox(b *box.Box, r *identify.Result, day time.Time) ([]byte, error) {
	edits := b.Document.Edit()
	written := 0
	for i := range r.Values {
		v := &r.Values[i]
		if !v.Determined || v.InSetup {
			continue
		}
		edits.Set(v.Node, toWrite(v))
		edits.Remark(v.Node, fmt.Sprintf("%s found %s, 95 %%: %s .. %s", v.Name(), day.Format(time.DateOnly), quantity.Format(v.Low, v.Unit, 4), quantity.Format(v.High, v.Unit, 4)))
		written++
	}
	if written == 0 {
		return nil, fault.New(fault.Request, "no value of the box file is determined, so there is nothing to write", "see what `knobwise next` proposes to measure")
	}
	return edits.Apply()
}

// toWrite is a value as it stands in a file, with the frequency at which a Q holds.
func toWrite(v *identify.Value) string {
	text := quantity.FormatExact(inDigits(v), v.Unit)
	if _, at, ok := strings.Cut(v.Node.Text, " at "); ok {
		text += " at " + at
	}
	return text
}

// inDigits is a value to a tenth of its interval's width.
func inDigits(v *identify.Value) float64 {
	text := quantity.Format(v.Value, v.Unit, digitsFor(v))
	if x, err := quantity.ParseValue(text, v.Unit); err == nil {
		return x
	}
	return v.Value
}

func digitsFor(v *identify.Value) int {
	digits := 2
	for width := (v.High - v.Low) / v.Value; width > 0 && width < 1 && digits < 8; width *= 10 {
		digits++
	}
	return digits
}

// FitPicture draws how one measurement came out, in decibels, with the 95 % band of the model where it has one, as "svg", "png" or
// "pdf". unit is that of the trace's numbers: "V", "dB" or empty for ratios and S-parameters.
func FitPicture(w io.Writer, format string, b *box.Box, f *identify.Fit, unit string, dark bool) error {
	n := len(f.Frequency)
	y := figure.Axis{Label: "level", Unit: "dB"}
	if unit == "V" {
		y.Label = "level over 1 V"
	}
	measured, model := decibelsOf(f.Measured, n, unit), decibelsOf(f.Model, n, unit)
	c := figure.Chart{
		Title: f.Name, Subtitle: b.Name,
		X: figure.Axis{Label: "frequency", Unit: "Hz"}, Y: y,
		Notes: []string{fmt.Sprintf("what is left: %.2f times the trace's own roughness", f.RMS)},
	}
	if len(f.Low) == n { // of an amplitude; real and imaginary parts have a band each
		c.Series = append(c.Series,
			figure.Series{Name: "", X: f.Frequency, Y: decibelsOf(f.Low, n, unit), Style: figure.Pinned},
			figure.Series{Name: "95 %", X: f.Frequency, Y: decibelsOf(f.High, n, unit), Style: figure.Pinned})
	}
	c.Series = append(c.Series, figure.Series{Name: "model", X: f.Frequency, Y: model, Style: figure.Now}, figure.Series{Name: "measured", X: f.Frequency, Y: measured, Style: figure.Measured})
	return draw(w, c, format, dark)
}

// decibelsOf puts the numbers of a fit into decibels; of S-parameters S21, or S11 of a one-port. What has none is NaN.
func decibelsOf(all []float64, n int, unit string) []float64 {
	if unit == "dB" {
		return all
	}
	out := make([]float64, n)
	per := len(all) / n
	for i := range out {
		v := all[i*per]
		if per > 1 {
			at := i * per
			if per == 8 {
				at += 4 // S11, S12, S21, S22, two numbers each
			}
			v = math.Hypot(all[at], all[at+1])
		}
		out[i] = math.NaN()
		if v > 0 {
			out[i] = 20 * math.Log10(v)
		}
	}
	return out
}
