// Package figure draws line charts to SVG, PNG and PDF: a response over frequency, the straight-through line beside it,
// a pinned earlier result, measured points, and the marks and notes that a reader needs to use them.
//
// A Chart is plain data in SI base units. The package chooses one SI prefix for each axis, the tick positions, the place
// of every label, and the colours. It computes nothing about the curves: peaks, bandwidths and warnings are told to it as
// Marks and Notes.
//
// It will not smooth, resample for accuracy, or hide trouble: a value that is NaN or infinite is a gap in the line, and
// a chart that cannot be drawn is an *Error, never a panic. Nothing is drawn outside the frame; long texts are wrapped
// and then cut with an ellipsis, and where labels do not fit they move to the legend or to a note line.
//
// All text is drawn as filled glyph outlines, so a file looks the same on a machine without fonts and µ, Ω, −, φ, ° and ‖
// come out right in all three formats. The price is that text in the picture cannot be selected; the SVG carries a
// <title>, a <desc> and each text in a data-text attribute.
//
// Equal charts give equal bytes in every format. The SVG uses presentation attributes only, no style and no script, and
// no identifiers: several figures can stand in one page, also under a strict content security policy.
//
// The renderers are gg (PNG) and fpdf (PDF), drawn on directly. A plotting package above them would parse a dozen
// fonts at the start of every process, also of those that draw nothing; here two fonts are parsed when the first
// figure is drawn.
package figure
