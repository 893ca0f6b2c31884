// Command ratio reads the output of benchmarks (Go's benchmark format) and prints what the fast evaluation of settings
// gains, as ratios of figures from that one run, beside what is asked of them. Of a benchmark that ran several times the
// fastest counts, so that what else the machine did matters less. It judges nothing: its exit status is 0.
package main

import (
	"fmt"
	"io"
	"os"
	"text/tabwriter"

	"golang.org/x/perf/benchfmt"
)

// ratio is one figure: over/under, in units as they are.
type ratio struct {
	name        string
	over, under figure
	asked       string
}

// figure is a metric of a benchmark, by its full name without the number of threads.
type figure struct{ benchmark, unit string }

const settings = 36 * 64 * 64 * 401 // of the map

var (
	solve  = figure{"FullSolve", "sec/op"}
	row    = figure{"Row/256_values", "sec/value"}
	search = figure{"Search", "sec/op"}
	one    = figure{"Map/one_thread", "sec/value"}
	two    = figure{"Map/two_threads", "sec/value"}
	numpy  = figure{"NumPyMap", "sec/op"} // per setting
	fit    = figure{"FitTen/one_thread", "sec/op"}
	fitTwo = figure{"FitTen/two_threads", "sec/op"}
	whole  = figure{"RunTen", "sec/op"}
	scipy  = figure{"SciPyFitTen", "sec/op"}
)

var ratios = []ratio{
	{"full solves to one value of a row", solve, row, "at least 200"},
	{"full solves in a search of 256 x 256 positions", search, solve, "at most 60"},
	{"map on one thread to two threads", one, two, "at least 1.7"},
	{"NumPy to map on one thread", numpy, one, "at least 400"},
	{"NumPy to one value of a row", numpy, row, "at least 500"},
	{"SciPy to a fit of ten values on one thread", scipy, fit, "at least 20"},
	{"SciPy to a fit of ten values on two threads", scipy, fitTwo, "-"},
	{"32 starts, polished, with intervals, to SciPy from one", whole, scipy, "-"},
}

func main() {
	found, err := read(os.Stdin)
	if err != nil {
		fmt.Fprintln(os.Stderr, "the benchmarks' output cannot be read:", err)
		os.Exit(1)
	}
	w := tabwriter.NewWriter(os.Stdout, 0, 0, 2, ' ', 0)
	if t, ok := found[one]; ok {
		fmt.Fprintf(w, "map of 36 x 64 x 64 x 401 settings on one thread\t%.1f ms\tasked: at most 150 ms\n", t*settings*1e3)
	}
	for _, r := range ratios {
		over, under := found[r.over], found[r.under]
		if over == 0 || under == 0 {
			fmt.Fprintf(w, "%s\tnot measured\tasked: %s\n", r.name, r.asked)
			continue
		}
		fmt.Fprintf(w, "%s\t%.3g\tasked: %s\n", r.name, over/under, r.asked)
	}
	_ = w.Flush() // to a terminal or a pipe
}

// read gives the least of every metric; the reader has made seconds of nanoseconds.
func read(from io.Reader) (map[figure]float64, error) {
	found := map[figure]float64{}
	results := benchfmt.NewReader(from, "benchmarks")
	for results.Scan() {
		r, ok := results.Result().(*benchfmt.Result)
		if !ok {
			continue // a line that is no result
		}
		base, parts := r.Name.Parts()
		name := string(base)
		for _, p := range parts {
			if len(p) > 0 && p[0] == '/' {
				name += string(p)
			}
		}
		for _, v := range r.Values {
			f := figure{name, v.Unit}
			if old, seen := found[f]; !seen || v.Value < old {
				found[f] = v.Value
			}
		}
	}
	return found, results.Err()
}
