package capture

import (
	"fmt"
	"io"
	"math"
	"slices"
	"unicode/utf8"
)

// Table is a file as read. All of its slices of numbers have one length, at least 1.
type Table struct {
	Name     string
	Guess    Guess
	X        []float64 // abscissa in s (Guess.Axis is Time) or Hz (Frequency), ascending
	Channels []Channel // in the order of the file, at least one
	Warnings []string  // what is doubtful, in plain English
}

// Channel is one column of values over X.
type Channel struct {
	Column  int // index in Guess.Columns
	Name    string
	Unit    string // of Values: V, A, dBm and the like; empty where the file does not say it, or in words not known
	Decibel bool   // Values are decibels
	Form    Form   // of volts: as the unit says it; Values stay as they are
	Values  []float64
}

// Read reads one table; name is for messages. It takes r to its end. Every error is a *fault.Error. Where the guess was made
// before an error, it stands alone in the table beside it, with Warnings.
//
// Errors name the fields of Options as they are called in lower case, in backquotes: `units: {Level: dBm}`.
func Read(r io.Reader, name string, o Options) (*Table, error) {
	if err := o.check(); err != nil {
		return nil, err
	}
	decoded, encoding, err := decode(&steady{r})
	if err != nil {
		return nil, unreadable(name, err)
	}
	l := newLines(decoded, name)
	p, err := guess(l, encoding, &o)
	if err != nil {
		return nil, err
	}
	d := newReader(l, p, &o)
	if err := d.run(); err != nil {
		return &Table{Name: name, Guess: p.Guess, Warnings: append(p.notices, d.notices...)}, err
	}
	return d.table(), nil
}

// guess looks at the head of the file and settles how to read it.
func guess(l *lines, encoding string, o *Options) (*plan, error) {
	head, err := l.head()
	if err != nil {
		return nil, err
	}
	all, err := headLines(l.name, head, l.eof)
	if err != nil {
		return nil, err
	}
	if len(all) == 0 {
		return nil, wholeFile(l.name, "the file is empty", "give a table with one row of numbers on each line")
	}
	if asked, _ := o.delimiter(); asked == ',' && o.Decimal == "," && !anyQuotes(all) {
		return nil, wrongOption("the comma can not be delimiter and decimal sign at once, since no cell is quoted", "name another delimiter or the decimal point")
	}
	d := guessDialect(all, o)
	if d.score <= 0 {
		return nil, noNumbers(l.name, all)
	}
	if err := d.twoDelimiters(l.name, all, isAsked(o)); err != nil {
		return nil, err
	}
	if d.width > maxColumns {
		line := all[d.start]
		return nil, at(l.name, line.number, line.text, 0, 0, fmt.Sprintf("a row has more than %d columns", maxColumns), "give a table with one row for each sample")
	}
	names, units := heads(all[:d.start], &d)
	p := &plan{dialect: d, rows: all[d.start:], whole: l.eof}
	if err := p.comma(l.name, all, len(names), o); err != nil {
		return nil, err
	}
	d = p.dialect
	if d.width == 1 {
		names, units = heads(all[:d.start], &d)
	}
	p.Encoding = encoding
	if encoding == "UTF-8" && slices.ContainsFunc(all, func(l headLine) bool { return !utf8.Valid(l.text) }) {
		p.Encoding = "Latin-1" // as func text reads it
	}
	p.Delimiter = d.name(all)
	p.HeaderLines = all[d.start].number - 1
	if d.skipped > 0 {
		p.notices = append(p.notices, fmt.Sprintf("%d row%s of numbers above the table taken as header", d.skipped, plural(d.skipped)))
	}
	pre := readPreamble(all, &d)
	p.notices = append(p.notices, pre.notices...)
	if err := p.describe(names, units, o); err != nil {
		return nil, err
	}
	if err := p.chooseAbscissa(firstNumbers(all[d.start:], &d, len(p.Columns)), pre, o); err != nil {
		return nil, err
	}
	if err := p.setUnits(pre, o); err != nil {
		return nil, err
	}
	if err := p.setAxis(pre, o); err != nil {
		return nil, err
	}
	if p.counting(o) && p.Interval == 0 {
		return nil, p.noInterval(l.name, all[d.start])
	}
	if err := p.choose(o); err != nil {
		return nil, err
	}
	for i := range p.Columns {
		if p.Columns[i].Kept && i != p.Abscissa {
			return p, nil
		}
	}
	return nil, at(l.name, all[d.start].number, all[d.start].text, 0, 0, "the table has no channel beside "+p.Columns[max(p.Abscissa, 0)].label(), "give a table with a column of values too")
}

// readPreamble reads the lines above the numbers, and the first rows where words stand in columns beside the numbers.
func readPreamble(all []headLine, d *dialect) *preamble {
	end := d.start
	for _, kind := range d.kinds {
		if kind != isNumber {
			end = min(len(all), d.start+sideRows)
		}
	}
	pre := &preamble{}
	for i := range all[:end] {
		var below *headLine
		if i+1 < d.start {
			below = &all[i+1]
		}
		pre.read(all[i], below, d)
	}
	return pre
}

// sideRows is how many rows of numbers may have a preamble beside them.
const sideRows = 40

// firstNumbers gives the numbers of the first rows, per column; NaN where a cell is none.
func firstNumbers(all []headLine, d *dialect, width int) [][]float64 {
	const enough = 200
	first := make([][]float64, width)
	for _, line := range all[:min(enough, len(all))] {
		if line.comment {
			continue
		}
		cells, _ := split(line.text, d.delimiter)
		for i := range first {
			v := math.NaN()
			if i < len(cells) {
				if w, _, ok := parse(cells[i], d.decimal, 0); ok {
					v = w
				}
			}
			first[i] = append(first[i], v)
		}
	}
	return first
}

func noNumbers(name string, all []headLine) error {
	for _, line := range all {
		if !line.comment {
			return at(name, line.number, line.text, 0, 0, fmt.Sprintf("there is no row of numbers in the first %d KiB", headSize>>10),
				"give a table with one row of numbers on each line, or say how it is written: `delimiter`, `decimal`")
		}
	}
	return wholeFile(name, "there are comments alone", "give a table with one row of numbers on each line")
}

// noInterval says that rows can not be counted.
func (p *plan) noInterval(name string, line headLine) error {
	what := "there is no column of times or frequencies, and no interval between the rows is known"
	if p.Abscissa >= 0 {
		what = p.Columns[p.Abscissa].label() + " counts the rows, and no interval between them is known"
	}
	if slices.Contains(p.notices, commaIsDecimal) {
		what += "; " + commaIsDecimal
	}
	return at(name, line.number, line.text, 0, 0, what, "give the `interval`, or say which column is the time or frequency: `abscissa: 1`, with its unit: `units: {1: MHz}`")
}
