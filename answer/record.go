package answer

import (
	"fmt"
	"io"

	"knobwise/bench/box"
	"knobwise/bench/quantity"
	"knobwise/bench/setup"
	"knobwise/figure"
	"knobwise/study/simulate"
)

// RecordPicture draws what an oscilloscope shows of a record: both curves that the carrier's peaks touch, and what they would
// be after an endless sweep, as "svg", "png" or "pdf".
func RecordPicture(w io.Writer, format string, b *box.Box, at box.Setting, st *setup.Setup, r *simulate.Result, dark bool) error {
	time, below, steadyBelow := make([]float64, len(r.Envelope)), make([]float64, len(r.Envelope)), make([]float64, len(r.Envelope))
	most := 0.0
	for i, v := range r.Envelope {
		time[i], below[i], steadyBelow[i] = float64(i)*r.Interval, -v, -r.Steady[i]
		most = max(most, v)
	}
	notes := append([]string{fmt.Sprintf("highest %s; after an endless sweep %s", quantity.Format(most, quantity.Volt, 4), quantity.Format(r.SteadyHighest, quantity.Volt, 4))}, r.Notices...)
	return draw(w, figure.Chart{
		Title: b.Name, Subtitle: b.Describe(at) + " · " + st.Name,
		X: figure.Axis{Label: "time", Unit: "s"}, Y: figure.Axis{Label: "voltage at the load", Unit: "V"},
		Series: []figure.Series{
			{Name: "endless sweep", X: time, Y: r.Steady, Style: figure.Straight},
			{X: time, Y: steadyBelow, Style: figure.Straight},
			{Name: "this sweep", X: time, Y: r.Envelope, Style: figure.Now},
			{X: time, Y: below, Style: figure.Now},
		},
		Notes: notes,
	}, format, dark)
}
