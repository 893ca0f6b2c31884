package capture

import (
	"fmt"
	"strconv"
	"strings"

	"knobwise/bench/quantity"
)

// Role is what a column holds.
type Role string

// The roles. Text is a column of words, which is left out; Digital is a channel of two levels, such as a trigger or a
// logic line.
const (
	Time      Role = "time"
	Frequency Role = "frequency"
	Index     Role = "index"
	Signal    Role = "channel"
	Digital   Role = "digital channel"
	Constant  Role = "constant"
	Empty     Role = "empty"
	Text      Role = "text"
)

// Column is one column of the file.
type Column struct {
	Number  int     // from 1
	Name    string  // from the header, without its unit; may be empty
	Unit    string  // as written in the header; may be empty
	SI      string  // the unit of the values: s, Hz, V, A, W, ohm, deg, rad, %, dBm and the like; empty where it is not known
	Scale   float64 // a value is the number in the file times Scale
	Decibel bool    // the values are decibels, left as they are
	Form    Form    // of volts
	Role    Role
	Kept    bool // the column is the abscissa or one of Table.Channels

	scaled bool    // Scale was asked for
	shift  int     // Scale is factor times ten to this power
	factor float64 // 1 where the unit is SI
}

// label names a column in messages.
func (c *Column) label() string {
	if c.Name == "" {
		return "column " + strconv.Itoa(c.Number)
	}
	return strconv.Quote(c.Name)
}

// Guess says how a file was read.
type Guess struct {
	Encoding    string // UTF-8, UTF-8 with BOM, UTF-16 LE, UTF-16 BE, Latin-1
	Delimiter   string // comma, semicolon, tab, pipe, blank, none
	Decimal     string // "." or ","
	HeaderLines int    // lines of any kind above the first row of numbers
	Columns     []Column
	Abscissa    int     // index in Columns; -1 where the rows are only counted
	Axis        Role    // Time or Frequency: what Table.X holds
	Interval    float64 // s or Hz; above 0 where X is counted from rows or an index column, else 0
	Start       float64 // s or Hz; the first X where rows are counted
	Source      string  // where the interval stands, such as `line 3, "Sample Interval"`
}

// String is the guess in one line.
func (g *Guess) String() string {
	var b strings.Builder
	fmt.Fprintf(&b, "%s; delimiter %s, decimal %s, %d header line%s", g.Encoding, g.Delimiter, signName(g.Decimal), g.HeaderLines, plural(g.HeaderLines))
	for i := range g.Columns {
		c := &g.Columns[i]
		fmt.Fprintf(&b, "; column %d", c.Number)
		if c.Name != "" {
			fmt.Fprintf(&b, " %q", c.Name)
		}
		b.WriteString(": " + string(c.Role))
		if c.Role == Empty || c.Role == Text {
			continue
		}
		switch {
		case c.Decibel:
			b.WriteString(" in " + c.Unit + ", not converted")
		case c.Unit != "":
			b.WriteString(" in " + c.Unit)
		case i != g.Abscissa:
			b.WriteString(", no unit")
		}
		// What the unit says already need not be said again.
		if one := inUnit(c.Scale, c.SI); c.Scale != 1 && one != "1 "+strings.NewReplacer("µ", "u", "μ", "u", "Ω", "ohm").Replace(c.Unit) {
			b.WriteString(" (times " + one + ")")
		}
		if !c.Kept {
			b.WriteString(", left out")
		}
	}
	if g.Interval > 0 {
		u := g.axisUnit()
		fmt.Fprintf(&b, "; %s counted in steps of %s from %s (%s)", g.Axis, inUnit(g.Interval, u), inUnit(g.Start, u), g.Source)
	}
	return printable(b.String())
}

func (g *Guess) axisUnit() string {
	if g.Axis == Frequency {
		return "Hz"
	}
	return "s"
}

func signName(decimal string) string {
	if decimal == "," {
		return "comma"
	}
	return "point"
}

func plural(n int) string {
	if n == 1 {
		return ""
	}
	return "s"
}

// short prints a number in as few digits as read back to it.
func short(v float64) string { return strconv.FormatFloat(v, 'g', -1, 64) }

// units are those that a value is printed in with a prefix.
var units = map[string]quantity.Unit{"s": quantity.Second, "Hz": quantity.Hertz, "V": quantity.Volt, "ohm": quantity.Ohm}

// longestExact is how long an exact value may be in a message.
const longestExact = 14

// inUnit prints a value with a unit of Column.SI: exactly where that is short.
func inUnit(v float64, symbol string) string {
	u, known := units[symbol]
	if !known {
		return strings.TrimSpace(short(v) + " " + symbol)
	}
	text := quantity.FormatExact(v, u)
	if len(text) > longestExact {
		text = quantity.Format(v, u, 7)
	}
	return text
}

// printable keeps a line on one line and away from the terminal's controls.
func printable(s string) string {
	return strings.Map(func(r rune) rune {
		if strconv.IsGraphic(r) {
			return r
		}
		return ' '
	}, s)
}
