package answer

import (
	"fmt"
	"io"
	"math"
	"slices"

	"knobwise/bench/box"
	"knobwise/bench/quantity"
	"knobwise/figure"
	"knobwise/study/sweep"
)

// unseen is a gain in dB too small to draw.
const unseen = 1e-6

// SweepPicture draws the insertion gain over frequency with the straight wire and the peak, as "svg", "png" or "pdf".
func SweepPicture(w io.Writer, format string, b *box.Box, r *sweep.Result, dark bool) error {
	straight := make([]float64, len(r.Frequency))
	gain := slices.Clone(r.InsertionGain)
	for i, v := range gain {
		if math.Abs(v) < unseen {
			gain[i] = 0 // the rounding of a straight wire is no picture
		}
	}
	c := figure.Chart{
		Title:    r.Box,
		Subtitle: b.Describe(r.Setting) + " · " + r.Setup,
		X:        figure.Axis{Label: "frequency", Unit: "Hz", Log: r.Sweep.Log},
		Y:        figure.Axis{Label: "insertion gain", Unit: "dB"},
		Series: []figure.Series{
			{Name: "straight through", X: r.Frequency, Y: straight, Style: figure.Straight},
			{Name: "this setting", X: r.Frequency, Y: gain, Style: figure.Now},
		},
		Notes: r.Notices,
	}
	if len(b.Controls) == 0 {
		c.Subtitle = r.Setup
	}
	for _, f := range r.Features {
		for _, x := range f.Rejections {
			c.Marks = append(c.Marks, figure.Mark{X: x.Frequency, Label: fmt.Sprintf("%.1f dB below at %s", x.DB, quantity.Format(x.Frequency, quantity.Hertz, 5))})
		}
		if f.Where != sweep.Inside {
			continue
		}
		c.Marks = append(c.Marks, figure.Mark{X: f.Peak.Frequency, Label: "load voltage peak " + quantity.Format(f.Peak.Frequency, quantity.Hertz, 5)})
		note := fmt.Sprintf("load voltage: peak %s at %s", quantity.Format(math.Pow(10, f.Peak.Level/20), quantity.Volt, 4), quantity.Format(f.Peak.Frequency, quantity.Hertz, 5))
		if !math.IsNaN(f.Bandwidth) {
			note += fmt.Sprintf(", bandwidth (-3 dB) %s, loaded Q %.3g", quantity.Format(f.Bandwidth, quantity.Hertz, 4), f.LoadedQ)
		}
		c.Notes = append([]string{note}, c.Notes...)
	}
	return draw(w, c, format, dark)
}
