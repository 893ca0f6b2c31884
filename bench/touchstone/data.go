package touchstone

import (
	"errors"
	"fmt"
	"math"
	"math/cmplx"
	"path"
	"strconv"
	"strings"
)

// Data is the content of one file.
type Data struct {
	File        string         // name for messages; may be empty
	Ports       int            // 1 or 2
	Parameter   byte           // 'S', 'Y', 'Z'; with two ports also 'G', 'H'
	Frequencies []float64      // hertz, ≥ 0, strictly ascending
	Values      [][]complex128 // Values[i][row*Ports+col] at Frequencies[i]; S plain, Z in ohm, Y in siemens
	Reference   []float64      // ohm, > 0, one for each port
	Version     string         // "1.1" for a file without keywords, else what [Version] says; Write does not look at it
	Comments    []string       // text behind each `!`, in the order of the file
	Noise       []NoisePoint   // two-port noise parameters; nil where the file has none
}

// NoisePoint is one row of two-port noise parameters. They are kept and written back, not used.
type NoisePoint struct {
	Frequency        float64 // hertz, > 0, strictly ascending
	MinimumFigureDB  float64 // minimum noise figure in dB
	OptimumMagnitude float64 // magnitude of the source reflection coefficient that gives it
	OptimumAngle     float64 // its angle in degrees
	Resistance       float64 // effective noise resistance in ohm
}

// Check reports what makes d no valid network data: wrong shapes, numbers that are not finite, references that are not
// positive, frequencies that do not ascend. Read never returns such data; the check is for data made by hand.
func (d *Data) Check() error {
	fail := func(format string, a ...any) error {
		return fmt.Errorf("touchstone data %q: %s", d.File, fmt.Sprintf(format, a...))
	}
	if d.Ports != 1 && d.Ports != 2 {
		return fail("%d ports; only 1 and 2 are supported", d.Ports)
	}
	if !validParameter(d.Parameter, d.Ports) {
		return fail("parameter %q is not known for %d port(s); use S, Y or Z (G, H with 2 ports)", string(d.Parameter), d.Ports)
	}
	if len(d.Reference) != d.Ports {
		return fail("%d reference(s) for %d port(s); give one for each port", len(d.Reference), d.Ports)
	}
	for _, r := range d.Reference {
		if !(r > 0) || math.IsInf(r, 1) {
			return fail("reference %v ohm; use a positive resistance", r)
		}
	}
	if len(d.Frequencies) == 0 {
		return fail("no frequency; give at least one")
	}
	if len(d.Values) != len(d.Frequencies) {
		return fail("%d frequencies and %d rows of values; give one row for each", len(d.Frequencies), len(d.Values))
	}
	for i, f := range d.Frequencies {
		if !(f >= 0) || math.IsInf(f, 1) {
			return fail("frequency %v Hz; use a finite one from 0 up", f)
		}
		if i > 0 && f <= d.Frequencies[i-1] {
			return fail("frequency %v Hz follows %v Hz; sort the rows and keep one of each", f, d.Frequencies[i-1])
		}
		if len(d.Values[i]) != d.Ports*d.Ports {
			return fail("%d values at %v Hz; give %d", len(d.Values[i]), f, d.Ports*d.Ports)
		}
		for _, v := range d.Values[i] {
			if !finite(v) {
				return fail("value %v at %v Hz; use finite numbers", v, f)
			}
		}
	}
	return d.checkNoise(fail)
}

func (d *Data) checkNoise(fail func(string, ...any) error) error {
	if len(d.Noise) > 0 && d.Ports != 2 {
		return fail("noise parameters with %d port; they belong to two-ports", d.Ports)
	}
	for i, p := range d.Noise {
		for _, x := range []float64{p.MinimumFigureDB, p.OptimumMagnitude, p.OptimumAngle, p.Resistance} {
			if math.IsNaN(x) || math.IsInf(x, 0) {
				return fail("noise parameter %v at %v Hz; use finite numbers", x, p.Frequency)
			}
		}
		if !(p.Frequency > 0) || math.IsInf(p.Frequency, 1) || i > 0 && p.Frequency <= d.Noise[i-1].Frequency {
			return fail("noise frequency %v Hz; use positive ones that ascend", p.Frequency)
		}
	}
	return nil
}

func validParameter(p byte, ports int) bool {
	return p == 'S' || p == 'Y' || p == 'Z' || ports == 2 && (p == 'G' || p == 'H')
}

func finite(v complex128) bool { return !cmplx.IsNaN(v) && !cmplx.IsInf(v) }

// clone copies d and all it holds.
func (d *Data) clone() *Data {
	c := *d
	c.Frequencies = append([]float64(nil), d.Frequencies...)
	c.Reference = append([]float64(nil), d.Reference...)
	c.Comments = append([]string(nil), d.Comments...)
	c.Noise = append([]NoisePoint(nil), d.Noise...)
	c.Values = make([][]complex128, len(d.Values))
	for i, row := range d.Values {
		c.Values[i] = append([]complex128(nil), row...)
	}
	return &c
}

var errNoEnding = errors.New("no port number in the name")

// PortsFromName returns the number of ports that a file name's ending says: 1 for .s1p, 2 for .s2p, in either case, and
// 0 for .ts, where the file itself says it. Three and more ports and other endings are an *Error.
func PortsFromName(name string) (int, error) {
	n, err := portsInName(name)
	switch {
	case errors.Is(err, errNoEnding):
		return 0, &Error{File: name, What: "the name does not say how many ports the file has", Instead: "end it in .s1p, .s2p or .ts"}
	case n > 2:
		return 0, tooManyPorts(name, 0, 0, "", n)
	}
	return n, nil
}

// portsInName returns the number in an ending .sNp, and 0 for .ts.
func portsInName(name string) (int, error) {
	ending := strings.ToLower(path.Ext(name))
	if ending == ".ts" {
		return 0, nil
	}
	digits, isS := strings.CutPrefix(ending, ".s")
	digits, isP := strings.CutSuffix(digits, "p")
	n, err := strconv.ParseUint(digits, 10, 16)
	if !isS || !isP || err != nil || n == 0 {
		return 0, errNoEnding
	}
	return int(n), nil
}

func tooManyPorts(file string, line, column int, source string, n int) *Error {
	return &Error{
		File: file, Line: line, Column: column, SourceLine: source,
		What:    fmt.Sprintf("%d ports; only one-port and two-port data can be used", n),
		Instead: "export the one or two ports that you need as .s1p or .s2p, the others terminated",
	}
}
