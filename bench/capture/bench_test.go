package capture

import (
	"fmt"
	"io"
	"runtime"
	"strconv"
	"testing"
)

// record writes a capture of so many rows without ever holding it: a time, a sine-like channel, and a trigger.
type record struct {
	rows, at int
	rest     []byte
	room     [64]byte
}

func (r *record) Read(p []byte) (int, error) {
	n := 0
	for n < len(p) {
		if len(r.rest) == 0 {
			if r.at > r.rows {
				break
			}
			r.rest = r.row()
			r.at++
		}
		m := copy(p[n:], r.rest)
		r.rest = r.rest[m:]
		n += m
	}
	if n == 0 {
		return 0, io.EOF
	}
	return n, nil
}

func (r *record) row() []byte {
	b := r.room[:0]
	if r.at == 0 {
		return append(b, "Time (s),CH1 (mV),EXT\n"...)
	}
	i := r.at - 1
	b = strconv.AppendFloat(b, float64(i)*1e-7, 'e', 7, 64)
	b = append(b, ',')
	b = strconv.AppendFloat(b, float64(i*i%2001-1000)*0.125, 'f', 3, 64)
	b = append(b, ',', byte('0'+i/100%2), '\n')
	return b
}

// length is the number of bytes of a record.
func length(rows int) int64 {
	n, _ := io.Copy(io.Discard, &record{rows: rows})
	return n
}

// BenchmarkRead reads captures of three columns; 10 million rows are what a deep memory gives.
func BenchmarkRead(b *testing.B) {
	for _, rows := range []int{1000, 1e6, 1e7} {
		b.Run(fmt.Sprint(rows), func(b *testing.B) {
			b.SetBytes(length(rows))
			b.ReportAllocs()
			for b.Loop() {
				t, err := Read(&record{rows: rows}, "a.csv", Options{})
				if err != nil || len(t.X) != rows {
					b.Fatal(err)
				}
				runtime.KeepAlive(t)
			}
			var m runtime.MemStats
			runtime.ReadMemStats(&m)
			b.ReportMetric(float64(m.Sys)/(1<<20), "MiB-from-system")
		})
	}
}

// BenchmarkWriter is the part of BenchmarkRead that makes the text.
func BenchmarkWriter(b *testing.B) {
	b.SetBytes(length(1e6))
	for b.Loop() {
		length(1e6)
	}
}
