package capture

import (
	"fmt"
	"math"
	"slices"
	"strings"
	"unicode"
)

// found is a value of the preamble, in s or Hz.
type found struct {
	value     float64
	frequency bool
	bare      bool   // without a unit
	source    string // such as `line 3, "Sample Interval"`
}

// preamble is what the lines above the numbers say of the abscissa, in words that name a thing whoever writes them.
type preamble struct {
	interval, start       *found
	axisUnit, channelUnit string
	notices               []string
}

// meaning is what a key of the preamble stands for.
type meaning int

const (
	nothing meaning = iota
	anInterval
	aRate
	aStart
	anAxisUnit
	aChannelUnit
)

// keys are the words of preambles: common practice, no source. They are compared in lower case, with single blanks for
// everything that is no letter or digit.
var keys = map[string]meaning{
	"sample interval": anInterval, "sampling interval": anInterval, "sample period": anInterval, "sampling period": anInterval,
	"time interval": anInterval, "interval": anInterval, "sample spacing": anInterval, "time per sample": anInterval,
	"increment": anInterval, "x increment": anInterval, "xincrement": anInterval, "time increment": anInterval, "horizontal increment": anInterval,
	"time step": anInterval, "timestep": anInterval, "x step": anInterval, "delta t": anInterval, "dt": anInterval, "delta time": anInterval,
	"frequency step": anInterval, "frequency increment": anInterval, "step frequency": anInterval,
	"sample rate": aRate, "sampling rate": aRate, "samplerate": aRate, "sampling frequency": aRate, "sample frequency": aRate, "samples per second": aRate,
	"start": aStart, "start time": aStart, "time start": aStart, "x start": aStart, "xstart": aStart, "x origin": aStart, "xorigin": aStart,
	"time origin": aStart, "first time": aStart, "time of first sample": aStart, "start frequency": aStart, "first frequency": aStart,
	"horizontal unit": anAxisUnit, "horizontal units": anAxisUnit, "x unit": anAxisUnit, "x units": anAxisUnit, "time unit": anAxisUnit, "time units": anAxisUnit,
	"vertical unit": aChannelUnit, "vertical units": aChannelUnit, "y unit": aChannelUnit, "y units": aChannelUnit,
}

// keyOf looks a key up; the unit that stands in the key itself comes along.
func keyOf(head string) (m meaning, name, written string) {
	name, written = nameAndUnit(strings.TrimRight(strings.TrimSpace(head), ":= "))
	return keys[normal(name)], name, written
}

// normal is a text in lower case, with single blanks for all that is no letter or digit.
func normal(s string) string {
	words := strings.FieldsFunc(strings.ToLower(s), func(r rune) bool { return !unicode.IsLetter(r) && !unicode.IsDigit(r) })
	return strings.Join(words, " ")
}

// read looks for keys and their values: in neighbouring cells, in one cell with a colon or an equals sign between, and,
// in the heads of a table, in the cell below.
func (p *preamble) read(line headLine, below *headLine, d *dialect) {
	var cells []string
	if d.delimiter != blanks && d.delimiter != none {
		raw, _ := split(line.text, d.delimiter)
		for _, c := range raw {
			cells = append(cells, unquoted(c))
		}
	} else {
		cells = []string{text(line.text)}
	}
	cells = cells[:min(len(cells), maxColumns)]
	var under [][]byte
	if below != nil && len(cells) > 1 {
		under, _ = split(below.text, d.delimiter)
	}
	for i, cell := range cells {
		if at := strings.IndexAny(cell, ":=\t;,"); at > 0 {
			p.note(cell[:at], cell[at+1:], "", line.number, d)
		} else if at := strings.IndexFunc(cell, func(r rune) bool { return strings.ContainsRune("+-.0123456789", r) }); at > 0 {
			p.note(cell[:at], cell[at:], "", line.number, d)
		}
		if i+1 < len(cells) {
			next := ""
			if i+2 < len(cells) {
				next = cells[i+2]
			}
			p.note(cell, cells[i+1], next, line.number, d)
		}
		if i < len(under) && classify(under[i], d.decimal) == isNumber {
			p.note(cell, text(under[i]), "", line.number, d)
		}
	}
}

// note takes one key and value, if they are any. unitCell is the cell behind the value, which may hold its unit.
func (p *preamble) note(key, value, unitCell string, line int, d *dialect) {
	m, name, keyUnit := keyOf(key)
	value = strings.TrimSpace(value)
	switch m {
	case nothing:
		return
	case anAxisUnit, aChannelUnit:
		if u, ok := parseUnit(value); ok && m == anAxisUnit && (u.symbol == "s" || u.symbol == "Hz") {
			p.axisUnit = value
		} else if ok && m == aChannelUnit {
			p.channelUnit = value
		}
		return
	}
	n, rest, ok := leadingNumber(value, d)
	if !ok {
		return
	}
	for _, other := range []string{unitCell, keyUnit} {
		if rest == "" && other != "" {
			if _, known := valueUnit(other, m); known {
				rest = other
			}
		}
	}
	u, known := valueUnit(rest, m)
	if !known {
		return
	}
	f := &found{source: fmt.Sprintf("line %d, %q", line, name)}
	cell := []byte(n)
	f.value, _, ok = parse(cell, signOf(n, d), u.shift)
	f.value *= u.factor
	f.bare = u.symbol == ""
	f.frequency = u.symbol == "Hz" && m != aRate || rest == "" && strings.Contains(normal(name), "frequency") && m != aRate
	if m == aRate {
		f.value = 1 / f.value // an infinity is refused below
	}
	if !ok || m != aStart && !(f.value > 0) || math.Abs(f.value) > maxAbscissa {
		return
	}
	into := &p.interval
	if m == aStart {
		into = &p.start
	}
	switch first := *into; {
	case first == nil:
		*into = f
	case !near(first.value, f.value):
		p.notices = append(p.notices, fmt.Sprintf("%s says %s, but %s says %s; the first is used", first.source, short(first.value), f.source, short(f.value)))
	}
}

// maxAbscissa bounds an abscissa and an interval, so that no difference and no count of rows is infinite.
const maxAbscissa = 1e200

// near tells values that differ by rounding in print.
func near(a, b float64) bool { return a-b <= 1e-3*a && b-a <= 1e-3*b || a == b }

// leadingNumber cuts the number at the start of a value from what follows it.
func leadingNumber(value string, d *dialect) (n, rest string, ok bool) {
	for end := min(len(value), 40); end > 0; end-- {
		if _, ok := scanNumber([]byte(value[:end]), signOf(value[:end], d)); ok {
			return value[:end], strings.TrimSpace(value[end:]), true
		}
	}
	return "", "", false
}

// signOf is the decimal sign of a value in the preamble, which need not be that of the table.
func signOf(value string, d *dialect) byte {
	switch {
	case d.delimiter != ',' && strings.Contains(value, ",") && !strings.Contains(value, "."):
		return ','
	case strings.Contains(value, "."):
		return '.'
	}
	return d.decimal
}

// valueUnit reads the unit behind a value: seconds or hertz, or for a rate also samples per second. None means s or Hz.
func valueUnit(written string, m meaning) (u unit, known bool) {
	if written == "" {
		return unit{factor: 1}, true
	}
	if m == aRate {
		for _, suffix := range []string{"Samples/s", "samples/s", "Sa/s", "S/s", "SPS", "Sps", "sps"} {
			if before, cut := strings.CutSuffix(strings.TrimSpace(written), suffix); cut {
				written = before + "Hz"
				break
			}
		}
	}
	u, known = parseUnit(written)
	wanted := []string{"s", "Hz"}
	if m == aRate {
		wanted = []string{"Hz"}
	}
	return u, known && slices.Contains(wanted, u.symbol)
}
