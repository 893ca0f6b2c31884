package chirp

import (
	"context"
	"fmt"
	"math"
	"runtime"
	"testing"
)

// BenchmarkRespond is the response of a resonator of Q 200 at 1.6 MHz to a sweep from 0.5 to 5 MHz.
func BenchmarkRespond(b *testing.B) {
	for _, seconds := range []float64{0.2, 10} {
		for _, points := range []int{10_000, 1_000_000} {
			b.Run(fmt.Sprintf("%g s, %d points", seconds, points), func(b *testing.B) {
				m := resonator(1.6e6, 8e3)
				d := Drive{Law: Law{From: 0.5e6, To: 5e6, Time: seconds}, Amplitude: 1}
				s := Sampling{Interval: seconds / float64(points), Count: points}
				b.ReportAllocs()
				for b.Loop() {
					r, err := Respond(context.Background(), m.at, d, s, Options{})
					if err != nil {
						b.Fatal(err)
					}
					b.ReportMetric(float64(r.Evaluations), "evaluations/op")
					b.ReportMetric(float64(r.Segments), "segments/op")
				}
			})
		}
	}
}

// BenchmarkReadBack reads back ten million samples of a sweep from 0.5 to 5 MHz, within reach of the analytic signal
// and below it; "MB held" is what the reading takes beside the samples.
func BenchmarkReadBack(b *testing.B) {
	const count = 10_000_000
	samples := make([]float64, count)
	for _, seconds := range []float64{0.2, 0.7, 10} {
		law := Law{From: 0.5e6, To: 5e6, Time: seconds}
		s := Sampling{Interval: seconds / count, Count: count}
		for i := range samples {
			samples[i] = math.Cos(law.Phase(s.Time(i)))
		}
		b.Run(fmt.Sprintf("%g s", seconds), func(b *testing.B) {
			var before, after runtime.MemStats
			runtime.GC()
			runtime.ReadMemStats(&before)
			for b.Loop() {
				if _, err := ReadBack(context.Background(), samples, s, Reading{Law: law}); err != nil {
					b.Fatal(err)
				}
			}
			runtime.ReadMemStats(&after)
			b.ReportMetric(float64(after.TotalAlloc-before.TotalAlloc)/float64(b.N)/1e6, "MB/op")
		})
	}
}
