package multiaffine

import (
	"bytes"
	"encoding/csv"
	"fmt"
	"math"
	"math/rand/v2"
	"os"
	"strconv"
	"testing"
)

// mapFile holds values of the map that BenchmarkMap computes, for the script that computes it another way
// (tools/ratio/map.py) to check itself against. UPDATE_GOLDEN=1 writes it anew.
const mapFile = "testdata/map.csv"

func TestMapFile(t *testing.T) {
	c, combinations := bench(2)
	value := func(combination int, f float64, at ...float64) float64 {
		var last Function
		only(t, c, f, combinations[combination]).Fix(0, at[0], &last)
		r, ok := last.Row()
		if !ok {
			t.Fatal("no row")
		}
		return r.Power(at[1])
	}
	if os.Getenv("UPDATE_GOLDEN") != "" {
		random := rand.New(rand.NewPCG(3, 36))
		text := "# |H|² of the coupler of bench_test.go, which tools/ratio/map.py computes by dense solves: the positions of the knobs at a and b run from -1 to 1.\nfrequency_hz,combination,a,b,power\n"
		for i := range 72 {
			f, a, b := 1e6*math.Pow(8, random.Float64()), 2*random.Float64()-1, 2*random.Float64()-1
			text += fmt.Sprintf("%v,%d,%v,%v,%v\n", f, i%36, a, b, value(i%36, f, a, b))
		}
		if err := os.WriteFile(mapFile, []byte(text), 0o600); err != nil {
			t.Fatal(err)
		}
	}
	data, err := os.ReadFile(mapFile)
	if err != nil {
		t.Fatal(err)
	}
	reader := csv.NewReader(bytes.NewReader(data))
	reader.Comment = '#'
	rows, err := reader.ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	checked := 0
	for _, row := range rows[1:] {
		var x [5]float64
		for i, cell := range row {
			if x[i], err = strconv.ParseFloat(cell, 64); err != nil {
				t.Fatal(err)
			}
		}
		// Where the switches short the output any tiny value will do.
		if got := value(int(x[1]), x[0], x[2], x[3]); !(math.Abs(got-x[4]) <= 1e-9*max(x[4], 1e-20)) {
			t.Errorf("%v: %g", row, got)
		}
		checked++
	}
	if checked != 72 {
		t.Errorf("%d rows", checked)
	}
}
