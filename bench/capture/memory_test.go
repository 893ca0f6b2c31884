package capture

import (
	"io"
	"runtime"
	"sync/atomic"
	"testing"
	"time"
)

// TestMemory: a row of three columns needs the 24 bytes of its numbers, twice while they are joined, and no allocation of
// its own. The heap is looked at while reading goes on, so that a passing peak shows.
func TestMemory(t *testing.T) {
	const rows, columns = 1_000_000, 3
	runtime.GC()
	var before, after runtime.MemStats
	runtime.ReadMemStats(&before)
	var peak atomic.Uint64
	done := make(chan struct{})
	watched := make(chan int)
	go func() {
		looks := 0
		for {
			select {
			case <-done:
				watched <- looks
				return
			case <-time.After(5 * time.Millisecond):
				var m runtime.MemStats
				runtime.ReadMemStats(&m)
				peak.Store(max(peak.Load(), m.HeapAlloc-min(m.HeapAlloc, before.HeapAlloc)))
				looks++
			}
		}
	}()
	table, err := Read(&record{rows: rows}, "a.csv", Options{})
	close(done)
	looks := <-watched
	if err != nil {
		t.Fatal(err)
	}
	runtime.ReadMemStats(&after)
	if len(table.X) != rows || len(table.Channels) != columns-1 {
		t.Fatalf("%d rows, %d channels", len(table.X), len(table.Channels))
	}
	const numbers = rows * columns * 8
	const guess = 24 << 20 // what looking at the head takes for a moment, and what the collector leaves lying
	if total := after.TotalAlloc - before.TotalAlloc; total > 2*numbers+guess {
		t.Errorf("%d bytes were allocated for %d of numbers", total, numbers)
	}
	if p := peak.Load(); looks > 0 && p > 2*numbers+guess {
		t.Errorf("the heap grew by %d bytes for %d of numbers", p, numbers)
	}
	if n := after.Mallocs - before.Mallocs; n > rows {
		t.Errorf("%d allocations for %d rows", n, rows)
	}
	runtime.KeepAlive(table)
}

// TestAllocations: rows more cost no allocations more, beyond the pieces of the columns. Digits beyond 2^53, which go to
// strconv, cost none either.
func TestAllocations(t *testing.T) {
	for name, row := range map[string]string{"short": "1.25,2.5e-3\n", "long": "1.2345678901234567890,2.5e-30\n", "comma": "1,2345678901234567890;2,5\n"} {
		count := func(rows int) float64 {
			return testing.AllocsPerRun(3, func() {
				if _, err := Read(&repeated{row: row, rows: rows}, "a.csv", Options{Interval: 1, Abscissa: "none"}); err != nil {
					t.Fatal(err)
				}
			})
		}
		const more = 100_000
		few, many := count(200_000), count(200_000+more)
		if extra := many - few; extra > more/1000 {
			t.Errorf("%s: %g allocations for %d rows more", name, extra, more)
		}
	}
}

// repeated gives one row again and again.
type repeated struct {
	row  string
	rows int
	rest string
}

func (r *repeated) Read(p []byte) (int, error) {
	if r.rest == "" {
		if r.rows == 0 {
			return 0, io.EOF
		}
		r.rows--
		r.rest = r.row
	}
	n := copy(p, r.rest)
	r.rest = r.rest[n:]
	return n, nil
}

// TestRowsBound: a table with more values than are kept is refused, with its place. The bound is lowered for the test.
func TestRowsBound(t *testing.T) {
	l := newLines(&record{rows: 100}, "a.csv")
	o := Options{}
	p, err := guess(l, "UTF-8", &o)
	if err != nil {
		t.Fatal(err)
	}
	d := newReader(l, p, &o)
	if d.maxRows != maxValues/3 {
		t.Errorf("at most %d rows", d.maxRows)
	}
	d.maxRows = 50
	if err := d.run(); err == nil || err.Error() != "a.csv:52:1: there are more than 50 rows for 3 columns; name the one channel wanted, or cut the record into shorter ones" {
		t.Error(err)
	}
}
