package touchstone

import (
	"fmt"
	"math"
	"strconv"
)

// layout is the order in which a row gives the elements of the matrix.
type layout int

const (
	layoutRows    layout = iota // 11 12 21 22: [Two-Port Data Order] 12_21
	layoutColumns               // 11 21 12 22: version 1, and 21_12
	layoutLower                 // 11 21 22, symmetric
	layoutUpper                 // 11 12 22, symmetric
)

// places gives, for each pair of numbers in a two-port row, where it belongs in row-major order.
var places = map[layout][][]int{
	layoutRows:    {{0}, {1}, {2}, {3}},
	layoutColumns: {{0}, {2}, {1}, {3}},
	layoutLower:   {{0}, {1, 2}, {3}},
	layoutUpper:   {{0}, {1, 2}, {3}},
}

// row collects the numbers of one frequency.
type row struct {
	layout     layout
	normalised bool // to the references, as version 1 has it
	numbers    []float64
	first      *line // where the frequency stands
	latest     *line // where the last number stands
}

// wanted is how many numbers a row has: the frequency and two for each element.
func (p *reader) wanted() int {
	if p.data.Ports == 1 {
		return 3
	}
	return 1 + 2*len(places[p.row.layout])
}

// networkRow takes a line of network data. A row may go on over several lines, if each breaks between whole pairs:
// then three rows of a one-port can not pass for one of a two-port.
func (p *reader) networkRow(l *line) error {
	r, want := &p.row, p.wanted()
	fresh := len(r.numbers) == 0
	if fresh {
		begins, err := p.beginsNoise(l)
		if err != nil {
			return err
		}
		if begins {
			p.section = noise
			return p.noiseRow(l)
		}
	}
	have := len(r.numbers) + len(l.words)
	switch {
	case !fresh && (have > want || have%2 == 0):
		return p.rowComplete()
	case have > want:
		if err := p.numeric(l); err != nil {
			return err
		}
		return p.fail(l, l.words[want].at, fmt.Sprintf("%s in a row of %d", numbers(have), want), p.countHint(have))
	}
	if fresh {
		r.first = l
	}
	r.latest = l
	for i, w := range l.words {
		shift := 0
		if fresh && i == 0 {
			shift = p.options.shift
		}
		v, bad := parseNumber(w.text, shift)
		if bad != nil {
			return p.fail(l, w.at, bad.what, bad.instead)
		}
		r.numbers = append(r.numbers, v)
	}
	if fresh {
		if err := p.checkFrequency(l, p.data.Frequencies); err != nil {
			return err
		}
	}
	if len(r.numbers)%2 == 0 {
		return p.rowComplete()
	}
	if len(r.numbers) < want {
		return nil
	}
	return p.store()
}

// numeric reports the first word of a line that is no number.
func (p *reader) numeric(l *line) error {
	for _, w := range l.words {
		if _, bad := parseNumber(w.text, 0); bad != nil {
			return p.fail(l, w.at, bad.what, bad.instead)
		}
	}
	return nil
}

// rowComplete reports a row that has too few numbers, just behind its last one.
func (p *reader) rowComplete() error {
	n := len(p.row.numbers)
	if n == 0 {
		return nil
	}
	l := p.row.latest
	return p.fail(l, l.end(), fmt.Sprintf("%s where a row has %d", numbers(n), p.wanted()), p.countHint(n))
}

func numbers(n int) string {
	if n == 1 {
		return "1 number"
	}
	return strconv.Itoa(n) + " numbers"
}

// countHint guesses what a row with the wrong count of numbers is.
func (p *reader) countHint(have int) string {
	switch {
	case p.data.Ports == 1 && have == 9:
		return "name the file .s2p if it is of a two-port"
	case p.data.Ports == 2 && have == 3:
		return "name the file .s1p if it is of a one-port"
	case p.data.Ports == 2 && have == 5 && p.keys.version == nil:
		return "write all four parameters; noise parameters begin at or below the last network frequency"
	case p.data.Ports == 1:
		return "write the frequency and one pair of numbers"
	}
	return fmt.Sprintf("write the frequency and %d pairs of numbers", (p.wanted()-1)/2)
}

// checkFrequency checks the frequency that was just taken from the start of l against those before it.
func (p *reader) checkFrequency(l *line, before []float64) error {
	f := p.row.numbers[0]
	at := l.words[0].at
	if f < 0 {
		return p.fail(l, at, "the frequency "+quoted(l.words[0].text)+" is negative", "write it in the unit of the option line, from 0 up")
	}
	if len(before) == 0 {
		return nil
	}
	switch last := before[len(before)-1]; {
	case f == last:
		return p.fail(l, at, "the frequency "+inHertz(f)+" stands twice", "keep one row for each frequency")
	case f < last:
		return p.fail(l, at, fmt.Sprintf("the frequency goes down from %s to %s", inHertz(last), inHertz(f)), "sort the rows by frequency")
	}
	return nil
}

// store turns the numbers of a complete row into values.
func (p *reader) store() error {
	d, r := p.data, &p.row
	values := make([]complex128, d.Ports*d.Ports)
	for i := 1; i < len(r.numbers); i += 2 {
		v := pair(p.options.format, r.numbers[i], r.numbers[i+1])
		if d.Ports == 1 {
			values[0] = v
			continue
		}
		for _, place := range places[r.layout][i/2] {
			values[place] = v
		}
	}
	if r.normalised {
		toAbsolute(d.Parameter, d.Reference, values)
	}
	for _, v := range values {
		if !finite(v) {
			return p.fail(r.first, r.first.at, "a value of this row is too large to compute with", "write values that a measurement can give, levels in DB where the option line says DB")
		}
	}
	d.Frequencies = append(d.Frequencies, r.numbers[0])
	p.flat = append(p.flat, values...)
	r.numbers = r.numbers[:0]
	return nil
}

// pair makes a value of two numbers: real and imaginary part, or magnitude (plain or in dB) and angle in degrees.
func pair(format string, a, b float64) complex128 {
	switch format {
	case "RI":
		return complex(a, b)
	case "DB":
		a = math.Pow(10, a/20)
	}
	re, im := unitVector(b)
	return complex(scaled(a, re), scaled(a, im))
}

// scaled is a·x where 0·∞ can not occur in a valid row; a is at most infinite where x is not 0.
func scaled(a, x float64) float64 {
	if x == 0 {
		return 0
	}
	return a * x
}

// unitVector gives cosine and sine of an angle in degrees, exact at multiples of a right angle.
func unitVector(degrees float64) (cos, sin float64) {
	rest := math.Mod(degrees, 360)
	switch rest {
	case 0:
		return 1, 0
	case 90, -270:
		return 0, 1
	case 180, -180:
		return -1, 0
	case 270, -90:
		return 0, -1
	}
	sin, cos = math.Sincos(rest * (math.Pi / 180))
	return cos, sin
}
