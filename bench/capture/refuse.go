package capture

import (
	"bytes"
	"fmt"
	"strings"

	"knobwise/bench/fault"
)

// refuse says what is wrong with a cell that should be a number.
func (d *reader) refuse(line, cell []byte, from, column int, lastCell bool) *failure {
	dialect := &d.plan.dialect
	if isEmpty(line, dialect.delimiter) {
		return &failure{empty: true}
	}
	f := &failure{cutOff: lastCell && !d.terminated && incomplete(cell, dialect.decimal) || lastCell && len(cell) == 0}
	label := d.plan.Columns[column].label()
	what, instead := quoted(cell)+" in "+label+" is not a number", "write a number such as "+example(dialect.decimal)+", give the number of `header` lines, or leave the column out"
	_, _, isNumber := parse(cell, dialect.decimal, 0)
	switch {
	case len(cell) == 0:
		what, instead = label+" is empty here", "write the number, or leave row or column out"
	case overflowMark(cell, dialect.decimal):
		what, instead = quoted(cell)+" in "+label+" is an instrument's mark for an overflow or no value", "leave row or column out"
	case notFinite(cell):
		what, instead = quoted(cell)+" in "+label+" is not a finite number", "leave row or column out"
	case isNumber || tooLarge(cell, dialect.decimal):
		what, instead = quoted(cell)+" in "+label+" is too large", "write a number below 1e308"
	case bytes.IndexByte(cell, ',') >= 0 && dialect.decimal == '.' || bytes.IndexByte(cell, '.') >= 0 && dialect.decimal == ',':
		instead = "write it without signs between groups of digits, and with a decimal " + signName(string(dialect.decimal)) + " as in the rows before"
	}
	f.err = d.fail(line, from, len(cell), what, instead)
	return f
}

func example(decimal byte) string { return strings.Replace("0.25", ".", string(decimal), 1) }

func tooLarge(cell []byte, decimal byte) bool {
	_, ok := scanNumber(cell, decimal)
	return ok
}

// ragged says that a row has another number of cells than the table has columns.
func (d *reader) ragged(line []byte, have, from int) *fault.Error {
	cells, _ := split(line, d.plan.dialect.delimiter)
	have = max(have, len(cells))
	instead := "write one number for each column, or give `delimiter` and number of `header` lines"
	if d.plan.dialect.delimiter == ',' && !d.signs && have > len(d.into) {
		instead = "if the comma is the decimal sign too, export with semicolons or tabs between the columns"
	}
	return d.fail(line, from, 0, fmt.Sprintf("%d cell%s in a table of %d column%s", have, plural(have), len(d.into), plural(len(d.into))), instead)
}
