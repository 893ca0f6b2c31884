package capture

import (
	"fmt"
	"math"
	"slices"
	"strings"
)

// chooseAbscissa finds the column that X comes from, and what it is. first are the numbers of that many rows at most, per
// column, NaN where a cell is no number.
func (p *plan) chooseAbscissa(first [][]float64, pre *preamble, o *Options) error {
	counted := o.Interval > 0 || pre.interval != nil
	var err error
	switch {
	case strings.EqualFold(o.Abscissa, "none"):
		p.Abscissa = -1
	case o.Abscissa != "":
		if p.Abscissa, err = find(p.Columns, o.Abscissa, "abscissa"); err != nil {
			return err
		}
		if role := p.Columns[p.Abscissa].Role; role == Empty || role == Text {
			return wrongOption("`abscissa`: "+p.Columns[p.Abscissa].label()+" holds no numbers", "name a column that does")
		}
	default:
		p.Abscissa = p.guessAbscissa(first, counted)
	}
	if p.Abscissa < 0 {
		return nil
	}
	c := &p.Columns[p.Abscissa]
	switch {
	case o.Axis == Index || o.Axis != "" && o.Interval == 0:
		c.Role = o.Axis
	case kindOf(c) != "":
		c.Role = kindOf(c)
	case counted && countsRows(first[p.Abscissa]):
		c.Role = Index
	case pre.axisUnit != "" && c.Unit == "":
		c.Unit = pre.axisUnit
		c.Role = kindOf(c)
	default:
		if r, ok := p.expect(p.Abscissa, "", o); ok && !p.scaling(p.Abscissa, o) {
			c.Role, c.Unit = r.role, r.unit
			p.notices = append(p.notices, fmt.Sprintf("nothing says what %s is; it is taken as a %s in %s, since that lies within the sweep", c.label(), c.Role, c.Unit))
			return nil
		}
		if countsRows(first[p.Abscissa]) {
			c.Role = Index
			return nil
		}
		c.Role = Time
		if largest(first[p.Abscissa]) >= timesEnd {
			c.Role = Frequency
		}
		p.notices = append(p.notices, fmt.Sprintf("nothing says what %s is; by its size it is taken as a %s in %s (another: `units: {%s: MHz}`)", c.label(), c.Role, map[Role]string{Time: "s", Frequency: "Hz"}[c.Role], c.asOption()))
		p.nothingFits(c, o, "")
		p.doubted = true
		return nil
	}
	if (c.Role == Time || c.Role == Frequency) && c.Unit == "" && pre.axisUnit == "" && !p.scaling(p.Abscissa, o) && o.Interval == 0 {
		if r, ok := p.expect(p.Abscissa, c.Role, o); ok {
			c.Unit = r.unit
			p.notices = append(p.notices, fmt.Sprintf("no unit stands with %s; it is taken as %s, since that lies within the sweep", c.label(), c.Unit))
		} else {
			p.nothingFits(c, o, c.Role)
		}
	}
	return nil
}

var exampleUnit = map[Role]string{Time: "ms", Frequency: "MHz"}

// scaling reports whether a factor is asked for the column.
func (p *plan) scaling(column int, o *Options) bool {
	for asked := range o.Scale {
		if i, err := find(p.Columns, asked, "scale"); err == nil && i == column {
			return true
		}
	}
	return false
}

// timesEnd is where an abscissa that nothing is known of begins to count as a frequency: sweeps of a thousand seconds, and
// tables below a kilohertz, are both rare.
const timesEnd = 1000

func (p *plan) guessAbscissa(first [][]float64, counted bool) int {
	numeric := 0
	leading := -1
	index := -1
	for i := range p.Columns {
		c := &p.Columns[i]
		if c.Role != Signal {
			continue
		}
		numeric++
		if leading < 0 {
			leading = i
		}
		switch kindOf(c) {
		case Time, Frequency:
			return i
		case Index:
			if index < 0 {
				index = i
			}
		}
	}
	switch {
	case index >= 0:
		return index
	case numeric < 2:
		return -1
	case isChannel(&p.Columns[leading]) || counted && !rises(first[leading]):
		return -1
	}
	return leading
}

// kindOf tells from name and unit what a column is an axis of, or is empty.
func kindOf(c *Column) Role {
	u, known := parseUnit(c.Unit)
	name := normal(c.Name)
	switch {
	case known && u.symbol == "s":
		return Time
	case known && u.symbol == "Hz":
		return Frequency
	case known && u.symbol != "":
		return ""
	case slices.Contains(timeNames, name) || strings.HasPrefix(name, "time "):
		return Time
	case name == "f" || hasAnyPrefix(name, "freq", "fréq", "frec"):
		return Frequency
	case slices.Contains(indexNames, name) || strings.TrimSpace(c.Name) == "#":
		return Index
	}
	return ""
}

var (
	timeNames  = []string{"time", "t", "x time", "zeit", "temps", "tiempo", "tempo", "tijd", "tid"}
	indexNames = []string{"index", "idx", "i", "n", "no", "nr", "sample", "samples", "sample no", "sample number", "sample index", "point", "points", "point no", "row", "record"}
)

func hasAnyPrefix(s string, prefixes ...string) bool {
	return slices.ContainsFunc(prefixes, func(p string) bool { return strings.HasPrefix(s, p) })
}

// isChannel tells a column that its head makes a channel.
func isChannel(c *Column) bool {
	u, known := parseUnit(c.Unit)
	return known && u.symbol != "s" && u.symbol != "Hz" || hasAnyPrefix(normal(c.Name), "ch", "volt", "ampl", "level", "trig", "d0")
}

// rises tells numbers that nowhere fall and somewhere rise.
func rises(x []float64) bool {
	for i := 1; i < len(x); i++ {
		if !(x[i] >= x[i-1]) {
			return false
		}
	}
	return len(x) > 1 && x[len(x)-1] > x[0]
}

// countsRows tells whole numbers that rise by one from 0 or 1.
func countsRows(x []float64) bool {
	for i := range x {
		if x[i] != x[0]+float64(i) {
			return false
		}
	}
	return len(x) > 1 && (x[0] == 0 || x[0] == 1)
}

func largest(x []float64) float64 {
	m := 0.0
	for _, v := range x {
		m = math.Max(m, math.Abs(v)) // a NaN would win, and then counts as no frequency
	}
	return m
}

// setAxis settles what X will be and how rows are counted; Interval stays 0 where that is needed and not known.
func (p *plan) setAxis(pre *preamble, o *Options) error {
	p.Axis = Time
	if !p.counting(o) {
		c := &p.Columns[p.Abscissa]
		p.Axis = c.Role
		if want := p.axisUnit(); c.SI != "" && c.SI != want {
			return wrongOption(fmt.Sprintf("%s is in %s, which is no %s", c.label(), c.Unit, c.Role), "name another column as `abscissa`, or give its unit: `units: {"+c.asOption()+": "+exampleUnit[c.Role]+"}`")
		}
		words := map[Role]string{Time: "seconds", Frequency: "hertz"}[c.Role]
		switch {
		case c.SI != "" || c.scaled || p.doubted:
		case c.Unit == "":
			p.notices = append(p.notices, fmt.Sprintf("no unit stands with %s; its numbers are taken as %s (another: `units: {%s: %s}`)", c.label(), words, c.asOption(), exampleUnit[c.Role]))
		default:
			p.notices = append(p.notices, fmt.Sprintf("the unit %q of %s is not known; its numbers are taken as %s", c.Unit, c.label(), words))
		}
		c.SI = p.axisUnit()
		p.stated = pre.interval
		if o.Start != nil {
			return wrongOption("the value of the first row means nothing: "+c.label()+" holds them all", "leave `first` out, or give the `interval` too to count the rows")
		}
		return nil
	}
	switch {
	case o.Interval > 0:
		p.Interval, p.Source = o.Interval, "as asked"
		if o.Axis == Frequency {
			p.Axis = Frequency
		}
	case pre.interval != nil:
		p.Interval, p.Source = pre.interval.value, pre.interval.source
		if pre.interval.frequency && o.Axis != Time || o.Axis == Frequency {
			p.Axis = Frequency
		}
	}
	switch {
	case o.Start != nil:
		p.Start = *o.Start
	case pre.start != nil && (pre.start.bare || pre.start.frequency == (p.Axis == Frequency)):
		p.Start = pre.start.value
		p.Source += ", " + pre.start.source
	}
	return nil
}
