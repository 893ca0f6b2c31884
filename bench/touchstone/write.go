package touchstone

import (
	"bufio"
	"errors"
	"fmt"
	"io"
	"strconv"
	"strings"
	"unicode/utf8"
)

// WriteOptions says what to write beside the data. The zero value is good.
type WriteOptions struct {
	// Comments are written behind those of the data, each as a line that starts with `!`. A line break in a comment
	// starts another such line. The format allows ASCII only: other characters are written as \u00b5, control
	// characters as \x07.
	Comments []string
	// Version is "1.1" or "2.0". Empty takes 1.1 where it holds the data exactly (S, one reference, no noise
	// parameters) and 2.0 otherwise: version 1 holds Y, Z, G, H and the noise resistance divided by the reference,
	// which rounds their last bit.
	Version string
}

// Write writes d, which must pass Check, in hertz and as real and imaginary parts with the digits that read back to the
// same bits (in version 1.1 where the zero options would choose it, and always in 2.0). It fails where Version 1.1 is
// asked for and the references differ, or the noise parameters do not begin at or below the last frequency.
func Write(w io.Writer, d *Data, opts WriteOptions) error {
	if err := d.Check(); err != nil {
		return err
	}
	keywords := opts.Version == "2.0"
	switch opts.Version {
	case "2.0":
	case "1.1":
		if err := fitsVersion1(d); err != nil {
			return err
		}
	case "":
		keywords = d.Parameter != 'S' || !oneReference(d) || len(d.Noise) > 0
	default:
		return fmt.Errorf("touchstone version %q can not be written; use \"1.1\", \"2.0\" or none", opts.Version)
	}
	b := bufio.NewWriter(w)
	for _, c := range commentLines(d.Comments, opts.Comments) {
		b.WriteString(strings.TrimSuffix("! "+c, " ") + "\n")
	}
	if keywords {
		writeVersion2(b, d)
	} else {
		writeVersion1(b, d)
	}
	return b.Flush()
}

func oneReference(d *Data) bool { return d.Reference[0] == d.Reference[len(d.Reference)-1] }

func fitsVersion1(d *Data) error {
	if !oneReference(d) {
		return errors.New("version 1.1 has one reference for all ports; write version 2.0")
	}
	if len(d.Noise) > 0 && d.Noise[0].Frequency > d.Frequencies[len(d.Frequencies)-1] {
		return errors.New("version 1.1 needs noise parameters that begin at or below the last frequency; write version 2.0")
	}
	return nil
}

func writeVersion1(b *bufio.Writer, d *Data) {
	fmt.Fprintf(b, "# Hz %c RI R %s\n", d.Parameter, number(d.Reference[0]))
	values := make([]complex128, d.Ports*d.Ports)
	for i, row := range d.Values {
		copy(values, row)
		toNormalised(d.Parameter, d.Reference, values)
		if d.Ports == 2 { // version 1 has a two-port column by column
			values[1], values[2] = values[2], values[1]
		}
		writeRow(b, d.Frequencies[i], values)
	}
	for _, p := range d.Noise {
		p.Resistance /= d.Reference[0]
		writeNoise(b, p)
	}
}

func writeVersion2(b *bufio.Writer, d *Data) {
	fmt.Fprintf(b, "[Version] 2.0\n# Hz %c RI R %s\n[Number of Ports] %d\n", d.Parameter, number(d.Reference[0]), d.Ports)
	if d.Ports == 2 {
		b.WriteString("[Two-Port Data Order] 12_21\n")
	}
	fmt.Fprintf(b, "[Number of Frequencies] %d\n", len(d.Frequencies))
	if len(d.Noise) > 0 {
		fmt.Fprintf(b, "[Number of Noise Frequencies] %d\n", len(d.Noise))
	}
	b.WriteString("[Reference]")
	for _, r := range d.Reference {
		b.WriteString(" " + number(r))
	}
	b.WriteString("\n[Network Data]\n")
	for i, row := range d.Values {
		writeRow(b, d.Frequencies[i], row)
	}
	if len(d.Noise) > 0 {
		b.WriteString("[Noise Data]\n")
		for _, p := range d.Noise {
			writeNoise(b, p)
		}
	}
	b.WriteString("[End]\n")
}

func writeRow(b *bufio.Writer, f float64, values []complex128) {
	b.WriteString(number(f))
	for _, v := range values {
		b.WriteString(" " + number(real(v)) + " " + number(imag(v)))
	}
	b.WriteByte('\n')
}

func writeNoise(b *bufio.Writer, p NoisePoint) {
	for i, x := range []float64{p.Frequency, p.MinimumFigureDB, p.OptimumMagnitude, p.OptimumAngle, p.Resistance} {
		if i > 0 {
			b.WriteByte(' ')
		}
		b.WriteString(number(x))
	}
	b.WriteByte('\n')
}

// number prints the shortest digits that read back to the same float64.
func number(x float64) string { return strconv.FormatFloat(x, 'g', -1, 64) }

const commentWidth = 1000 // characters of a comment on one line, well inside the limit of Read

// commentLines cuts comments into lines of printable ASCII.
func commentLines(lists ...[]string) []string {
	var lines []string
	for _, list := range lists {
		for _, c := range list {
			c = strings.NewReplacer("\r\n", "\n", "\r", "\n").Replace(c)
			for text := range strings.SplitSeq(c, "\n") {
				text = printable(text)
				for len(text) > commentWidth {
					lines, text = append(lines, text[:commentWidth]), text[commentWidth:]
				}
				lines = append(lines, text)
			}
		}
	}
	return lines
}

// printable escapes what is no printable ASCII character and cuts blanks at the end.
func printable(s string) string {
	var b strings.Builder
	for _, r := range strings.TrimRight(s, " \t") {
		switch {
		case r == '\t' || ' ' <= r && r <= '~':
			b.WriteRune(r)
		case r < ' ' || r == 0x7F:
			fmt.Fprintf(&b, `\x%02x`, r)
		case r == utf8.RuneError || r <= 0xFFFF:
			fmt.Fprintf(&b, `\u%04x`, r)
		default:
			fmt.Fprintf(&b, `\U%08x`, r)
		}
	}
	return b.String()
}
