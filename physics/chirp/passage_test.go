package chirp

import (
	"bytes"
	_ "embed"
	"encoding/csv"
	"math"
	"strconv"
	"testing"
)

//go:embed testdata/resonator_sweep.csv
var resonatorSweep []byte

// sweepRow is one row of resonator_sweep.csv; its source stands at the head of the file.
type sweepRow struct{ rho, peak, delay, shift, width float64 }

func sweepRows(t testing.TB) []sweepRow {
	reader := csv.NewReader(bytes.NewReader(resonatorSweep))
	reader.Comment = '#'
	records, err := reader.ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	if len(records) != 1+19 || records[0][0] != "rho" {
		t.Fatalf("resonator_sweep.csv: %d rows and the header, want 19", len(records)-1)
	}
	var rows []sweepRow
	for _, r := range records[1:] {
		var v [6]float64
		for i := range v {
			if v[i], err = strconv.ParseFloat(r[i], 64); err != nil {
				t.Fatal(err)
			}
		}
		rows = append(rows, sweepRow{v[0], v[1], v[3], v[4], v[5]})
	}
	return rows
}

// The table of passages (resonator_sweep.csv, computed by differential equation and quadrature), to its six decimals.
func TestPassageTable(t *testing.T) {
	checked, worst := 0, 0.0
	for _, row := range sweepRows(t) {
		p, err := NewPassage(row.rho)
		if err != nil {
			t.Fatal(err)
		}
		for _, pair := range [][2]float64{{p.Peak, row.peak}, {p.Delay, row.delay}, {p.Shift(), row.shift}, {p.Width, row.width}} {
			off := math.Abs(pair[0] - pair[1])
			worst = max(worst, off)
			// Half a unit of the last decimal; the delay of the slowest rows is printed with less than that.
			if !(off <= 1e-5) {
				t.Errorf("rho %g: got %.7f, table %.7f", row.rho, pair[0], pair[1])
			}
			checked++
		}
	}
	t.Logf("%d numbers of the table, the worst %.2g off", checked, worst)
	if checked != 4*19 {
		t.Errorf("%d numbers checked, want %d", checked, 4*19)
	}
}
