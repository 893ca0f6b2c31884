package capture

import (
	"errors"
	"fmt"
	"io"
	"math"

	"knobwise/bench/fault"
)

// maxValues bounds the numbers kept: 480 MB, and the same again for a moment while they are joined.
const maxValues = 60e6

// reader reads the rows of numbers.
type reader struct {
	*lines
	plan    *plan
	sinks   []sink
	into    []int // for each column, its index in sinks, or -1
	need    int   // columns that every row must have
	row     []float64
	rows    int
	maxRows int
	ends    cutEnd
	signs   bool    // a decimal sign has been met, or was asked for
	axis    int     // index in sinks of the column that must ascend, or -1
	last    float64 // value of it
	falls   bool    // it is a frequency and falls
	stray   []int   // for each column, cells met where it was taken as empty
	notices []string
}

func newReader(l *lines, p *plan, o *Options) *reader {
	d := &reader{lines: l, plan: p, axis: -1, signs: o.Decimal != "", stray: make([]int, len(p.Columns))}
	for i, c := range p.Columns {
		d.into = append(d.into, -1)
		if !c.Kept {
			continue
		}
		d.into[i] = len(d.sinks)
		if i == p.Abscissa {
			d.axis = len(d.sinks)
		}
		d.sinks = append(d.sinks, sink{})
		d.need = i + 1
	}
	d.row = make([]float64, len(d.sinks))
	columns := len(d.sinks)
	if d.axis < 0 {
		columns++ // X is made of the count
	}
	d.maxRows = maxValues / columns
	return d
}

func (d *reader) run() error {
	for {
		line, err := d.next()
		if errors.Is(err, io.EOF) {
			break
		}
		if err != nil {
			return err
		}
		if d.number <= d.plan.HeaderLines || len(line) == 0 {
			continue
		}
		if _, comment := isComment(line); comment {
			continue
		}
		fail := d.take(line)
		if fail == nil || fail.empty {
			continue
		}
		fail.words = onlyWords(classes(line, d.plan.dialect.delimiter, d.plan.dialect.decimal))
		if fail.cutOff || fail.words {
			last, err := d.isLast()
			if err != nil {
				return err
			}
			if last && d.rows > 0 && fail.words {
				d.notices = append(d.notices, fmt.Sprintf("the last line, %d, has words alone and is left out: %s", fail.err.Place.Line, quoted([]byte(fail.err.Place.Source))))
				break
			}
			if last && d.rows > 0 {
				d.notices = append(d.notices, fmt.Sprintf("the last line, %d, breaks off and is left out: %s", fail.err.Place.Line, fail.err.What))
				break
			}
		}
		return fail.err
	}
	d.plan.Decimal = string(d.plan.dialect.decimal)
	if d.rows == 0 {
		return wholeFile(d.name, "there is no whole row of numbers", "give a table with one row of numbers on each line")
	}
	return nil
}

// failure is what keeps a row from being taken.
type failure struct {
	err    *fault.Error
	cutOff bool // as where a file breaks off: all is well if nothing follows
	empty  bool // there is nothing in the row at all
	words  bool // there are words alone, as in a footer: all is well if nothing follows
}

// take reads one row and keeps it if all of it is good.
func (d *reader) take(line []byte) *failure {
	column := 0
	var last []byte
	for next := 0; next >= 0; column++ {
		var cell []byte
		var from int
		cell, from, next = cut(line, next, d.plan.dialect.delimiter)
		if column >= len(d.into) {
			if len(cell) > 0 {
				return &failure{err: d.ragged(line, column, from)}
			}
			continue
		}
		k := d.into[column]
		if k < 0 {
			if len(cell) > 0 && d.plan.Columns[column].Role == Empty {
				d.stray[column]++
			}
			continue
		}
		c := &d.plan.Columns[column]
		v, sign, ok := parse(cell, d.plan.dialect.decimal, c.shift)
		if !ok && d.otherSign(cell) {
			v, sign, ok = parse(cell, d.plan.dialect.decimal, c.shift)
		}
		if math.Abs(v) > 1e20 && overflowMark(cell, d.plan.dialect.decimal) {
			return d.refuse(line, cell, from, column, next < 0)
		}
		v *= c.factor
		if !ok || math.IsInf(v, 0) {
			return d.refuse(line, cell, from, column, next < 0)
		}
		if sign != 0 {
			d.signs = true
		}
		d.row[k] = v
		last = cell
	}
	if column < d.need {
		if isEmpty(line, d.plan.dialect.delimiter) {
			return &failure{empty: true}
		}
		return &failure{err: d.ragged(line, column, len(line)), cutOff: true}
	}
	if !d.ends.plausible(last, d.terminated) {
		return &failure{err: d.fail(line, 0, 0, "its last number, "+string(last)+", is shorter than all above", "write a whole row"), cutOff: true}
	}
	if d.axis >= 0 {
		if err := d.ascends(line); err != nil {
			return &failure{err: err}
		}
	}
	if d.rows >= d.maxRows {
		return &failure{err: d.fail(line, 0, 0, fmt.Sprintf("there are more than %d rows for %d columns", d.maxRows, len(d.sinks)), "name the one channel wanted, or cut the record into shorter ones")}
	}
	for k, v := range d.row {
		d.sinks[k].add(v)
	}
	d.rows++
	return nil
}

// otherSign changes the decimal sign if none has been met and the cell has the other one.
func (d *reader) otherSign(cell []byte) bool {
	dialect := &d.plan.dialect
	if d.signs || dialect.delimiter == ',' {
		return false
	}
	other := byte(',')
	if dialect.decimal == ',' {
		other = '.'
	}
	if _, _, ok := parse(cell, other, 0); !ok {
		return false
	}
	dialect.decimal, d.signs = other, true
	return true
}

// ascends checks the abscissa of the row that was just read against the one before.
func (d *reader) ascends(line []byte) *fault.Error {
	x := d.row[d.axis]
	c := &d.plan.Columns[d.plan.Abscissa]
	was := d.last
	switch {
	case math.Abs(x) > maxAbscissa, c.Role == Index && math.Abs(x) > largestIndex:
		from, length := d.cellAt(line, d.plan.Abscissa)
		return d.fail(line, from, length, "this "+string(c.Role)+" is beyond any measurement", "name the column that is the time or frequency")
	case d.rows == 0 || x == was:
	case c.Role == Frequency && !d.falls && x < was && d.sinks[d.axis].same():
		d.falls = true
	case (x < was) != d.falls:
		from, length := d.cellAt(line, d.plan.Abscissa)
		unit := c.SI
		if c.Role == Index {
			unit = ""
		}
		before, here := inUnit(was, unit), inUnit(x, unit)
		if d.falls {
			return d.fail(line, from, length, fmt.Sprintf("the frequency turns round, from %s to %s", before, here), "sort the rows by frequency")
		}
		return d.fail(line, from, length, fmt.Sprintf("the %s runs backwards, from %s to %s", c.Role, before, here),
			"give one record with its rows in order, or name the column that is the time or frequency")
	}
	d.last = x
	return nil
}

// largestIndex is where a float64 ceases to hold every whole number.
const largestIndex = 1 << 53

// cellAt is the place of a column in a line.
func (d *reader) cellAt(line []byte, column int) (from, length int) {
	next := 0
	var cell []byte
	for i := 0; i <= column && next >= 0; i++ {
		cell, from, next = cut(line, next, d.plan.dialect.delimiter)
	}
	return from, len(cell)
}

// isLast reports whether nothing but blank lines and comments follows.
func (d *reader) isLast() (bool, error) {
	for {
		line, err := d.next()
		if errors.Is(err, io.EOF) {
			return true, nil
		}
		if err != nil {
			return false, err
		}
		if _, comment := isComment(line); !comment && !isEmpty(line, d.plan.dialect.delimiter) {
			return false, nil
		}
	}
}

func (d *reader) fail(line []byte, from, length int, what, instead string) *fault.Error {
	return at(d.name, d.number, line, from, length, what, instead)
}
