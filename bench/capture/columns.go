package capture

import (
	"fmt"
	"strconv"
	"strings"
)

// plan is a guess, completed by what reading needs of it.
type plan struct {
	Guess
	dialect dialect
	stated  *found     // the interval in the preamble, where a column gives the abscissa
	doubted bool       // nothing says what the abscissa is
	rows    []headLine // of numbers, as far as the head goes
	whole   bool       // the head is the whole file
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
			if c.Unit == "" && isUnitName(c.Name) {
				c.Unit = c.Name
			}
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
	for _, asked := range sortedKeys(o.Units) {
		i, err := find(p.Columns, asked, "units")
		if err != nil {
			return err
		}
		if _, known := parseUnit(o.Units[asked]); !known {
			return wrongOption("`units`: "+strconv.Quote(o.Units[asked])+" is no unit that is known", "write one such as ms, MHz, mV or dBm, or give a scale")
		}
		p.Columns[i].Unit = o.Units[asked]
	}
	return nil
}

// setUnits works out scales. It comes after the abscissa is known, since the preamble may give units to axis and channels.
func (p *plan) setUnits(pre *preamble, o *Options) error {
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
		c.SI, c.Decibel, c.Form, c.shift, c.factor = u.symbol, u.decibel, u.form, u.shift, u.factor
		c.Scale = u.factor * tenTo(u.shift)
		if u.slip {
			p.notices = append(p.notices, fmt.Sprintf("the unit %s of %s is taken as %s", c.Unit, c.label(), inUnit(c.Scale, u.symbol)))
		}
	}
	for _, asked := range sortedKeys(o.Scale) {
		i, err := find(p.Columns, asked, "scale")
		if err != nil {
			return err
		}
		c := &p.Columns[i]
		c.Scale, c.factor, c.shift, c.scaled = o.Scale[asked], o.Scale[asked], 0, true
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
			return wrongOption("`channel`: "+c.label()+" is the abscissa", "name another column")
		case c.Role == Empty || c.Role == Text:
			return wrongOption("`channel`: "+c.label()+" holds no numbers", "name a column that does")
		}
		c.Kept = true
	}
	return nil
}
