package capture

import (
	"fmt"
	"math"
	"slices"
	"strconv"
	"strings"
)

// plan is a guess, completed by what reading needs of it.
type plan struct {
	Guess
	dialect dialect
	notices []string
}

// describe makes the columns from the heads found above the numbers.
func (p *plan) describe(names, units []string, o *Options) error {
	width := max(p.dialect.width, len(names))
	for width > p.dialect.width {
		if m, _, _ := keyOf(names[width-1]); m == nothing {
			break
		}
		width-- // the head of a value in the preamble, no column
	}
	p.Columns = make([]Column, width)
	unitRowOnly := len(names) > 0 && len(units) > 0 && &names[0] == &units[0]
	for i := range p.Columns {
		c := &p.Columns[i]
		c.Number, c.Scale, c.factor = i+1, 1, 1
		switch {
		case i >= len(names):
		case unitRowOnly:
			c.Name, c.Unit = names[i], strings.Trim(names[i], "()[]{} ")
		default:
			c.Name, c.Unit = nameAndUnit(names[i])
		}
		if i < len(units) && units[i] != "" {
			c.Unit = strings.Trim(units[i], "()[]{} ")
		}
		if i < len(o.Names) && o.Names[i] != "" {
			c.Name = o.Names[i]
		}
		c.Role = Empty
		if i < p.dialect.width {
			c.Role = map[class]Role{isNumber: Signal, isText: Text, isVoid: Empty}[p.dialect.kinds[i]]
		}
	}
	if len(o.Names) > width {
		return wrongOption(fmt.Sprintf("%d names for %d columns", len(o.Names), width), "name no more columns than there are")
	}
	return nil
}

// setUnits works out scales. It comes after the abscissa is known, since the preamble may give units to axis and channels.
func (p *plan) setUnits(pre *preamble, o *Options) error {
	for _, asked := range sortedKeys(o.Units) {
		i, err := find(p.Columns, asked, "units")
		if err != nil {
			return err
		}
		if _, known := parseUnit(o.Units[asked]); !known {
			return wrongOption("units: "+strconv.Quote(o.Units[asked])+" is no unit that is known", "write one such as ms, MHz, mV or dBm, or give a scale")
		}
		p.Columns[i].Unit = o.Units[asked]
	}
	for i := range p.Columns {
		c := &p.Columns[i]
		if c.Unit == "" && c.Role != Empty && c.Role != Text {
			c.Unit = pre.channelUnit
			if i == p.Abscissa {
				c.Unit = pre.axisUnit
			}
		}
		if c.Unit == "" || c.Role == Index {
			continue
		}
		u, known := parseUnit(c.Unit)
		if !known {
			if c.Role == Signal {
				p.notices = append(p.notices, fmt.Sprintf("the unit %q of %s is not known; its numbers are left as they are", c.Unit, c.label()))
			}
			continue
		}
		c.SI, c.Decibel, c.shift, c.factor = u.symbol, u.decibel, u.shift, u.factor
		c.Scale = u.factor * tenTo(u.shift)
		if u.slip {
			p.notices = append(p.notices, fmt.Sprintf("the unit %s of %s is taken as %s %s", c.Unit, c.label(), short(c.Scale), u.symbol))
		}
	}
	for _, asked := range sortedKeys(o.Scale) {
		i, err := find(p.Columns, asked, "scale")
		if err != nil {
			return err
		}
		c := &p.Columns[i]
		c.Scale, c.factor, c.shift = o.Scale[asked], o.Scale[asked], 0
	}
	return nil
}

// tenTo is the float64 nearest to a power of ten.
func tenTo(power int) float64 {
	if power < 0 {
		return 1 / powers[-power]
	}
	return powers[power]
}

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
			return wrongOption("abscissa: "+p.Columns[p.Abscissa].label()+" holds no numbers", "name a column that does")
		}
	default:
		p.Abscissa = p.guessAbscissa(first, counted)
	}
	if p.Abscissa < 0 {
		return nil
	}
	c := &p.Columns[p.Abscissa]
	switch {
	case o.Axis != "":
		c.Role = o.Axis
	case kindOf(c) != "":
		c.Role = kindOf(c)
	case countsRows(first[p.Abscissa]):
		c.Role = Index
	default:
		c.Role = Time
		if largest(first[p.Abscissa]) >= timesEnd {
			c.Role = Frequency
		}
		p.notices = append(p.notices, fmt.Sprintf("nothing says what %s is; by its size it is taken as a %s in %s", c.label(), c.Role, map[Role]string{Time: "s", Frequency: "Hz"}[c.Role]))
		return nil
	}
	if c.Role != Index && c.Unit == "" && pre.axisUnit == "" && len(o.Units) == 0 && len(o.Scale) == 0 {
		p.notices = append(p.notices, fmt.Sprintf("no unit stands with %s; its numbers are taken as %s", c.label(), map[Role]string{Time: "seconds", Frequency: "hertz"}[c.Role]))
	}
	return nil
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
	case counted && (!rises(first[leading]) || isChannel(&p.Columns[leading])):
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
			return wrongOption(fmt.Sprintf("%s is in %s, which is no %s", c.label(), c.Unit, c.Role), "name another column as abscissa, or give its unit")
		}
		c.SI = p.axisUnit()
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
		if pre.interval.frequency {
			p.Axis = Frequency
		}
	}
	switch {
	case o.Start != nil:
		p.Start = *o.Start
	case pre.start != nil && pre.start.frequency == (p.Axis == Frequency):
		p.Start = pre.start.value
		p.Source += ", " + pre.start.source
	}
	return nil
}

// counting reports whether X is made of an interval.
func (p *plan) counting(o *Options) bool {
	return p.Abscissa < 0 || p.Columns[p.Abscissa].Role == Index || o.Interval > 0
}

// choose marks the columns to keep.
func (p *plan) choose(o *Options) error {
	for i := range p.Columns {
		c := &p.Columns[i]
		c.Kept = i == p.Abscissa && (p.Interval == 0 || c.Role == Index) || i != p.Abscissa && c.Role == Signal && len(o.Channels) == 0
	}
	for _, asked := range o.Channels {
		i, err := find(p.Columns, asked, "channel")
		if err != nil {
			return err
		}
		c := &p.Columns[i]
		switch {
		case i == p.Abscissa:
			return wrongOption("channel: "+c.label()+" is the abscissa", "name another column")
		case c.Role == Empty || c.Role == Text:
			return wrongOption("channel: "+c.label()+" holds no numbers", "name a column that does")
		}
		c.Kept = true
	}
	return nil
}
