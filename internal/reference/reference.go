// Package reference gives tests the published check values of the trade: handbook tables, standards and
// worked examples, each file with its source, how it is known, and its tolerance in `#` lines at the top.
//
// A test opens a file as a Ledger and must account for every row of it: checked, checked elsewhere, or not
// applicable with a reason. The ledger fails the test for a row that was forgotten and for a file with fewer
// rows than it should have, and logs the number of rows checked with the worst disagreement seen.
package reference

import (
	"bytes"
	"embed"
	"encoding/csv"
	"fmt"
	"math"
	"strconv"
	"strings"
	"testing"
)

//go:embed published/*.csv
var published embed.FS

// rowsInFile is the number of data rows of each file (without `#` lines and the header).
var rowsInFile = map[string]int{
	"bode_fano.csv":                  24,
	"constants.csv":                  23,
	"dummy_antennas.csv":             46,
	"eseries.csv":                    189,
	"matching_examples.csv":          63,
	"nagaoka.csv":                    50,
	"network_benchmarks.csv":         11,
	"rkm.csv":                        47,
	"rosa_corrections.csv":           51,
	"single_layer_coil_examples.csv": 14,
	"tapped_variable_cap.csv":        72,
}

// Row is one data row of a reference file.
type Row struct {
	Number int // 1 for the first data row
	cells  map[string]string
}

// Text returns the cell of a column; the empty string where the column does not apply.
// It panics on a column that the file does not have: that is a mistake in the test.
func (r Row) Text(column string) string {
	s, ok := r.cells[column]
	if !ok {
		panic(fmt.Sprintf("reference: no column %q", column))
	}
	return s
}

// Has reports whether the row has a value in the column.
func (r Row) Has(column string) bool { return r.Text(column) != "" }

// Float returns the cell of a column as a number; it panics where the cell is none.
func (r Row) Float(column string) float64 {
	v, err := strconv.ParseFloat(r.Text(column), 64)
	if err != nil {
		panic(fmt.Sprintf("reference: row %d, column %s: %v", r.Number, column, err))
	}
	return v
}

// Ledger accounts for every row of one file within one test.
type Ledger struct {
	Rows []Row

	t         testing.TB
	file      string
	state     map[int]string
	checks    int
	worst     float64 // largest |got-want|/tolerance
	worstNote string
}

// Open reads a reference file. At the end of the test the ledger fails it if a row was not accounted for.
func Open(t testing.TB, file string) *Ledger {
	t.Helper()
	data, err := published.ReadFile("published/" + file)
	if err != nil {
		t.Fatal(err)
	}
	l := &Ledger{t: t, file: file, state: map[int]string{}}
	reader := csv.NewReader(bytes.NewReader(withoutComments(data)))
	records, err := reader.ReadAll()
	if err != nil {
		t.Fatalf("%s: %v", file, err)
	}
	for i, record := range records[1:] {
		row := Row{Number: i + 1, cells: map[string]string{}}
		for j, name := range records[0] {
			row.cells[name] = record[j]
		}
		l.Rows = append(l.Rows, row)
	}
	if len(l.Rows) != rowsInFile[file] || len(l.Rows) == 0 {
		t.Fatalf("%s: found %d rows, the file has %d", file, len(l.Rows), rowsInFile[file])
	}
	t.Cleanup(l.close)
	return l
}

// withoutComments drops the `#` lines, which may hold quotes that are no CSV.
func withoutComments(data []byte) []byte {
	var kept []string
	for line := range strings.SplitSeq(string(data), "\n") {
		if !strings.HasPrefix(line, "#") {
			kept = append(kept, line)
		}
	}
	return []byte(strings.Join(kept, "\n"))
}

// Near checks got against want with a relative tolerance (absolute where want is zero) and marks the row checked.
func (l *Ledger) Near(row Row, what string, got, want, relative float64) {
	l.t.Helper()
	scale := math.Abs(want)
	if scale == 0 {
		scale = 1
	}
	l.within(row, what, got, want, relative*scale)
}

// Within checks got against want with an absolute tolerance and marks the row checked.
func (l *Ledger) Within(row Row, what string, got, want, absolute float64) {
	l.t.Helper()
	l.within(row, what, got, want, absolute)
}

func (l *Ledger) within(row Row, what string, got, want, tolerance float64) {
	l.t.Helper()
	l.mark(row, "checked")
	l.checks++
	off := math.Abs(got - want)
	if !(off <= tolerance) { // also catches NaN
		l.t.Errorf("%s row %d, %s: got %.10g, want %.10g, off by %.3g, allowed %.3g", l.file, row.Number, what, got, want, off, tolerance)
	}
	if tolerance > 0 && off/tolerance > l.worst {
		l.worst = off / tolerance
		l.worstNote = fmt.Sprintf("row %d, %s: got %.10g, want %.10g", row.Number, what, got, want)
	}
}

// True checks a statement about the row and marks it checked.
func (l *Ledger) True(row Row, what string, ok bool) {
	l.t.Helper()
	l.mark(row, "checked")
	l.checks++
	if !ok {
		l.t.Errorf("%s row %d: not true: %s", l.file, row.Number, what)
	}
}

// Elsewhere marks a row that another package's test checks.
func (l *Ledger) Elsewhere(row Row, where string) { l.mark(row, "checked in "+where) }

// NotApplicable marks a row that nothing in the project computes, with the reason.
func (l *Ledger) NotApplicable(row Row, why string) { l.mark(row, "not applicable: "+why) }

func (l *Ledger) mark(row Row, state string) {
	if l.state[row.Number] != "checked" {
		l.state[row.Number] = state
	}
}

func (l *Ledger) close() {
	count := map[string]int{}
	for _, row := range l.Rows {
		state, ok := l.state[row.Number]
		if !ok {
			l.t.Errorf("%s row %d was forgotten: %v", l.file, row.Number, row.cells)
			continue
		}
		count[state]++
	}
	if count["checked"] == 0 {
		l.t.Errorf("%s: no row was checked", l.file)
	}
	l.t.Logf("%s: %d rows: %v; %d checks, the worst at %.2g of its tolerance (%s)", l.file, len(l.Rows), count, l.checks, l.worst, l.worstNote)
}
