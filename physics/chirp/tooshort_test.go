package chirp

import (
	"context"
	"errors"
	"math"
	"testing"
)

// No time of a sweep, however short or long beside the ring of the network and the record, ends in anything but finite samples or
// an error that says which time works; and that time works.
func TestAnyTime(t *testing.T) {
	constantQ := func(f float64) (complex128, error) { // a tuned circuit whose coil loses as |f|, into 1 kohm
		w := 2 * math.Pi * f
		y := 1/complex(w*1e-3/200, w*1e-3) + complex(0, w*2.5e-9)
		return y / (y + 1e-3), nil
	}
	m := resonator(90e3, 500)
	short, fine := 0, 0
	shortest := map[string]float64{}
	for name, h := range map[string]Transfer{"constant Q": constantQ, "resonator": m.at, "straight": func(float64) (complex128, error) { return 0.5, nil }} {
		for _, time := range []float64{1e-300, 1e-6, 1e-2, 10, 1e6} {
			for i, record := range []float64{time, time / 1000, 1000 * time, 1} {
				law := Law{From: 40e3, To: 160e3, Time: time, Spacing: Spacing(i % 2)}
				for _, count := range []int{2, 300} {
					if time < 1e-3 && (count > 2 || i > 0) || name != "resonator" && time < 1e-10 {
						continue // a refusal takes seconds
					}
					s := Sampling{Interval: record / float64(count-1), Count: count}
					if !(s.Interval > 0) {
						continue
					}
					r, err := Respond(context.Background(), h, Drive{Law: law, Amplitude: 1, After: After(i % 3)}, s, Options{Envelope: true, Tolerance: 1e-6})
					if e, ok := errors.AsType[*ShortSweepError](err); ok {
						short++
						if !(e.Shortest > time) || e.Shortest > 1 || e.Time != time {
							t.Errorf("%s, %g s: %v", name, time, err)
						}
						shortest[name] = max(shortest[name], e.Shortest)
						continue
					}
					if err != nil {
						t.Errorf("%s, %g s, record %g s: %v", name, time, record, err)
						continue
					}
					fine++
					for k, v := range r.Voltage {
						if !finite(v) || math.Abs(v) > 3 {
							t.Fatalf("%s, %g s, record %g s: sample %d is %g V", name, time, record, k, v)
						}
					}
				}
			}
		}
		if time := shortest[name]; time > 0 {
			for _, spacing := range []Spacing{Linear, Logarithmic} {
				d := Drive{Law: Law{From: 40e3, To: 160e3, Time: time, Spacing: spacing}, Amplitude: 1}
				if _, err := Respond(context.Background(), h, d, Sampling{Interval: time / 99, Count: 100}, Options{Tolerance: 1e-6}); err != nil {
					t.Errorf("%s: %g s does not work: %v", name, time, err)
				}
			}
		}
	}
	t.Logf("%d refused, %d computed; shortest times %v", short, fine, shortest)
	if short < 3 || fine < 20 {
		t.Errorf("%d refused, %d computed", short, fine)
	}
}

// The row 1, 2, 5 holds its own numbers.
func TestRow(t *testing.T) {
	for i := -60; i < 60; i++ {
		if got := rung125(value125(i)); got != i {
			t.Errorf("%g has index %d, not %d", value125(i), got, i)
		}
	}
	if value125(-13) != 5e-5 || value125(rung125(5.1e-5)) != 1e-4 {
		t.Errorf("%g, %g", value125(-13), value125(rung125(5.1e-5)))
	}
}
