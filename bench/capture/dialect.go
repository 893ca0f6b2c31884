package capture

import (
	"bytes"
	"errors"
	"io"
	"slices"
)

const (
	maxColumns = 256
	// fewRows is how many rows of numbers may stand above more header lines (a preamble of bare numbers); with more, a line
	// of words below them is a mistake in the data.
	fewRows = 2
)

// headLine is a line of the head that is not blank.
type headLine struct {
	number  int
	text    []byte // without comment sign
	comment bool
}

// headLines cuts the head of a file. The last line is left out where the head ends inside it.
func headLines(name string, head []byte, whole bool) ([]headLine, error) {
	l := &lines{name: name, buf: head, end: len(head), eof: true}
	var all []headLine
	for {
		line, err := l.next()
		if errors.Is(err, io.EOF) {
			return all, nil
		}
		if err != nil {
			return nil, err
		}
		if !whole && !l.terminated {
			return all, nil
		}
		if isEmpty(line, none) {
			continue
		}
		rest, comment := isComment(line)
		all = append(all, headLine{l.number, rest, comment})
	}
}

// dialect is a way to cut lines into numbers.
type dialect struct {
	delimiter, decimal byte
	width              int     // columns, without empty ones at the end
	kinds              []class // of each column: isNumber, isText or isVoid
	start              int     // index of the first row of numbers in the lines of the head
	skipped            int     // rows of numbers above it
	score              int     // numbers understood less cells not understood
}

// guessDialect tries every delimiter with every decimal sign and takes the one that understands most. The comma can be both
// only where cells are quoted, as RFC 4180 asks of cells with a delimiter in them.
func guessDialect(all []headLine, o *Options) (best dialect) {
	quotes := anyQuotes(all)
	asked, isAsked := o.delimiter()
	for _, d := range delimiters {
		for _, decimal := range []byte{'.', ','} {
			if isAsked && d.char != asked || o.Decimal != "" && o.Decimal[0] != decimal || d.char == decimal && !quotes {
				continue
			}
			if t := try(all, d.char, decimal, o.HeaderLines); t.score > best.score {
				best = t
			}
		}
	}
	return best
}

func anyQuotes(all []headLine) bool {
	return slices.ContainsFunc(all, func(line headLine) bool { return slices.Contains(line.text, '"') })
}

// try looks at the head through one dialect; the score is 0 or less where there are no numbers.
func try(all []headLine, delimiter, decimal byte, headerLines *int) dialect {
	d := dialect{delimiter: delimiter, decimal: decimal}
	rows := make([][]class, len(all))
	for i, line := range all {
		if line.comment || headerLines != nil && line.number <= *headerLines {
			continue
		}
		rows[i] = classes(line.text, delimiter, decimal)
	}
	d.columns(rows)
	if headerLines != nil {
		d.start = len(all)
		for i := len(all) - 1; i >= 0 && all[i].number > *headerLines; i-- {
			if rows[i] != nil {
				d.start = i
			}
		}
	} else {
		d.findStart(rows)
		d.columns(rows[d.start:]) // as they are without the header
	}
	for _, row := range rows[d.start:] {
		for _, c := range row {
			switch c {
			case isNumber:
				d.score++
			case isBad, isText:
				d.score--
			}
		}
	}
	return d
}

// name is the delimiter in words; none where the rows have one column and nothing behind it.
func (d *dialect) name(all []headLine) string {
	uses := func(line headLine) bool { return !line.comment && slices.Contains(line.text, d.delimiter) }
	for _, known := range delimiters {
		if known.char == d.delimiter && (d.width > 1 || slices.ContainsFunc(all[d.start:], uses)) {
			return known.name
		}
	}
	return "none"
}

// classes looks at the cells of a line; empty ones at its end are left out.
func classes(line []byte, delimiter, decimal byte) []class {
	var row []class
	for next := 0; next >= 0 && len(row) <= maxColumns; {
		var cell []byte
		cell, _, next = cut(line, next, delimiter)
		row = append(row, classify(cell, decimal))
	}
	for len(row) > 0 && row[len(row)-1] == isVoid {
		row = row[:len(row)-1]
	}
	return row
}

// columns finds the width that most rows have and what each column holds, from the later half of the rows with numbers,
// where the header's have been left behind.
func (d *dialect) columns(rows [][]class) {
	var widths, ofAll [maxColumns + 2]int
	numeric := 0
	for _, row := range rows {
		if slices.Contains(row, isNumber) {
			numeric++
		}
	}
	d.width = 0
	seen := 0
	later := func(row []class) bool {
		if !slices.Contains(row, isNumber) {
			return false
		}
		seen++
		return seen > numeric/2
	}
	for _, row := range rows {
		if later(row) {
			widths[len(row)] += weight(row)
		}
		ofAll[len(row)] += weight(row)
	}
	for width, count := range widths {
		if best := widths[d.width]; count > best || count == best && ofAll[width] > ofAll[d.width] {
			d.width = width
		}
	}
	counts := make([][4]int, d.width)
	early := make([]bool, d.width) // there is a number in the rows before
	seen = 0
	for _, row := range rows {
		if !later(row) || len(row) != d.width {
			for i, c := range row {
				if len(row) == d.width && c == isNumber {
					early[i] = true
				}
			}
			continue
		}
		for i, c := range row {
			counts[i][c] += weight(row)
		}
	}
	d.kinds = make([]class, d.width)
	for i, n := range counts {
		switch {
		case n[isNumber] > 0 && n[isNumber]+n[isBad] >= n[isText]:
			d.kinds[i] = isNumber
		case n[isBad] > 0 && n[isText] == 0 && early[i]:
			d.kinds[i] = isNumber // which reading will complain about
		case n[isBad]+n[isText] > 0:
			d.kinds[i] = isText
		}
	}
}

// weight is what a row counts: one with words may be a key and its value in the preamble.
func weight(row []class) int {
	if slices.Contains(row, isText) {
		return 1
	}
	return 8
}

// findStart finds the first row of numbers, and counts those above it.
func (d *dialect) findStart(rows [][]class) {
	d.start = -1
	count := 0
	for i, row := range rows {
		switch {
		case d.isRow(row):
			if d.start < 0 {
				d.start = i
			}
			count++
		case d.start >= 0 && count <= fewRows && onlyWords(row) && slices.ContainsFunc(rows[i:], d.isRow):
			d.start, count = -1, 0
		}
	}
	if d.start < 0 {
		d.start = len(rows)
	}
	for _, row := range rows[:d.start] {
		if slices.Contains(row, isNumber) && !slices.Contains(row, isText) && !slices.Contains(row, isBad) {
			d.skipped++
		}
	}
}

// isRow tells a row of the table: numbers, or what is meant as such, in all columns that hold numbers. One in the first of
// them must be there; others may be missing, which reading will complain about.
func (d *dialect) isRow(row []class) bool {
	if len(row) != d.width || !slices.Contains(row, isNumber) {
		return false
	}
	first := true
	for i, kind := range d.kinds {
		if kind != isNumber {
			continue
		}
		if row[i] == isText || first && row[i] == isVoid {
			return false
		}
		first = false
	}
	return true
}

// onlyWords tells a line of header words.
func onlyWords(row []class) bool {
	return slices.Contains(row, isText) && !slices.Contains(row, isNumber) && !slices.Contains(row, isBad)
}

// twoDelimiters refuses rows that are cut at one sign where another parts numbers too: "6,900,000;-36.5" has groups of
// digits, and cut at its commas it would be a table of other numbers.
func (d *dialect) twoDelimiters(name string, all []headLine, asked bool) error {
	if asked {
		return nil
	}
	for _, line := range all[d.start:] {
		if line.comment {
			continue
		}
		for next := 0; next >= 0; {
			var cell []byte
			var from int
			cell, from, next = cut(line.text, next, d.delimiter)
			for _, other := range []byte(";\t|") {
				left, right, found := bytes.Cut(cell, []byte{other})
				if !found || other == d.delimiter || d.delimiter == none || !numeric(left) || !numeric(right) {
					continue
				}
				return at(name, line.number, line.text, from, len(cell), quoted(cell)+" has two numbers in one cell: the row is cut at another sign too",
					"write numbers without signs between groups of digits, or name the `delimiter`")
			}
		}
	}
	return nil
}

// numeric tells what is meant as a number with either decimal sign.
func numeric(cell []byte) bool {
	c := classify(bytes.TrimSpace(cell), '.')
	return c == isNumber || c == isBad && !notFinite(cell)
}

func isAsked(o *Options) bool {
	_, asked := o.delimiter()
	return asked
}
