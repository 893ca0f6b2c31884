package figure

import "io"

// Chart is one figure with a single pair of axes. The zero values of the optional fields give the defaults named there.
type Chart struct {
	Title    string // bold, at most two lines
	Subtitle string // quiet, at most two lines
	X, Y     Axis
	Series   []Series // at least one, with at least one finite point in all
	Marks    []Mark
	Notes    []string // small lines under the plot, for example peak, bandwidth, warnings

	// Width and Height are in CSS pixels (1/96 inch): 240 to 4000 and 200 to 4000. Zero means 960 and 540.
	// A low figure has room for fewer notes and legend rows; the description made from the chart has every note.
	Width, Height float64

	Theme       Theme
	Description string // for the <desc> of the SVG; made from the chart's contents if empty
}

// Axis describes one axis. Values are in the SI base unit that Unit names.
type Axis struct {
	Label string // for example "frequency"
	Unit  string // for example "Hz"; the axis adds one prefix for all its ticks. dB, ° and % take none.
	Log   bool   // logarithmic; needs values above zero

	// Min and Max are the ends of the axis. Equal (for example both zero) means automatic: the extent of X, and for Y the extent
	// of the values inside the X range, widened to whole ticks.
	Min, Max float64
}

// Series is one trace. X and Y have the same length. X must be finite, and ascending except for Measured.
// A Y that is NaN or infinite is a gap: the line ends there and starts again at the next finite value.
type Series struct {
	Name  string // for the label at the line; empty draws no label
	X, Y  []float64
	Style Style
}

// Style says what a trace stands for, and so how it is drawn.
type Style int

// The styles.
const (
	Plain    Style = iota // thin line; colours differ from one Plain series to the next
	Now                   // bold line: the state in question
	Straight              // dashed line: source joined directly to load
	Pinned                // thin line: an earlier state kept for comparison
	Measured              // open dots
)

// Mark is a vertical dotted line with a label, at X in the base unit of the X axis. A mark outside the axis is not drawn.
type Mark struct {
	X     float64
	Label string
}

// Theme is the set of colours.
type Theme int

// The themes.
const (
	Light Theme = iota // warm paper
	Dark
)

// SVG writes the chart as a self-contained SVG 1.1 image. It fails with *Error for a chart that cannot be drawn, before
// the first byte is written, and with the error of w.
func (c Chart) SVG(w io.Writer) error {
	d, err := c.compose()
	if err != nil {
		return err
	}
	return writeSVG(w, d)
}

// PNG writes the chart as a PNG image with two pixels per CSS pixel. Errors as for SVG.
func (c Chart) PNG(w io.Writer) error {
	d, err := c.compose()
	if err != nil {
		return err
	}
	return writePNG(w, d)
}

// PDF writes the chart as one PDF page of the chart's size. Errors as for SVG.
func (c Chart) PDF(w io.Writer) error {
	d, err := c.compose()
	if err != nil {
		return err
	}
	return writePDF(w, d)
}
