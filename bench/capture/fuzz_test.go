package capture

import (
	"errors"
	"math"
	"slices"
	"strings"
	"testing"

	"knobwise/bench/fault"
)

// FuzzRead: no input makes a panic or an error of another kind; what is accepted is finite, in order and of one length, and
// the options of its guess read it again to the same numbers.
func FuzzRead(f *testing.F) {
	for _, c := range captures {
		f.Add([]byte(c.text), "", "", 0.0)
		f.Add([]byte(inUTF16(c.text, true)), "", "", 0.0)
	}
	for _, c := range badInputs {
		if len(c.text) < 1000 {
			f.Add([]byte(c.text), c.options.Delimiter, c.options.Abscissa, c.options.Interval)
		}
	}
	f.Fuzz(func(t *testing.T, content []byte, delimiter, abscissa string, interval float64) {
		table, err := Read(strings.NewReader(string(content)), "a.csv", Options{Delimiter: delimiter, Abscissa: abscissa, Interval: interval})
		if err != nil {
			var e *fault.Error
			if !errors.As(err, &e) || e.What == "" || e.Instead == "" || strings.ContainsAny(e.Error(), "\n\r") {
				t.Fatalf("error %#v", err)
			}
			_ = e.Excerpt()
			return
		}
		valid(t, table)
		sameAgain(t, string(content), table)
	})
}

// valid checks what the package promises of every table.
func valid(t *testing.T, table *Table) {
	if len(table.X) == 0 || len(table.Channels) == 0 || !slices.IsSorted(table.X) {
		t.Fatalf("%d rows, %d channels, sorted %v", len(table.X), len(table.Channels), slices.IsSorted(table.X))
	}
	columns := [][]float64{table.X}
	for _, c := range table.Channels {
		columns = append(columns, c.Values)
		if !table.Guess.Columns[c.Column].Kept {
			t.Fatalf("channel %+v is not kept", c)
		}
	}
	for _, column := range columns {
		if len(column) != len(table.X) {
			t.Fatalf("%d values for %d rows", len(column), len(table.X))
		}
		for _, v := range column {
			if math.IsNaN(v) || math.IsInf(v, 0) {
				t.Fatalf("a value is %v", v)
			}
		}
	}
	for _, line := range append(table.Warnings, table.Guess.String()) {
		if line == "" || strings.ContainsAny(line, "\n\r\x1b") {
			t.Fatalf("line %q", line)
		}
	}
}
