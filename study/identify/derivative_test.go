package identify

import (
	"context"
	"math"
	"slices"
	"testing"
)

// The derivatives of the rows by values, levels and floors are the differences of the rows, of amplitudes and of decibels.
func TestDerivativesOnAFloor(t *testing.T) {
	for _, kind := range []shape{amplitude, decibel} {
		s := tenSystem(t, 1)
		for _, m := range s.models {
			m.kind, m.gains, m.least = kind, true, m.most-5
		}
		s.floored = ownFloors
		s.number(true)
		if len(s.floors) != 40 || len(s.gains) != 40 {
			t.Fatal(len(s.floors), len(s.gains))
		}
		p := make([]float64, s.size())
		for k, v := range s.vars {
			p[k] = v.coordinate(v.guess)
		}
		for k := len(s.vars); k < len(p); k++ {
			p[k] = 0.3
			if k >= len(s.vars)+len(s.gains) {
				p[k] = -3
			}
		}
		n := s.size()
		r, jac := make([]float64, s.total), make([]float64, s.total*n)
		low, high := make([]float64, s.total), make([]float64, s.total)
		if err := s.evaluate(context.Background(), p, r, jac); err != nil {
			t.Fatal(err)
		}
		worst, most, rows := 0.0, 0.0, 0
		for k := range p {
			const h = 1e-6
			was := p[k]
			p[k] = was - h
			if err := s.evaluate(context.Background(), p, low, nil); err != nil {
				t.Fatal(err)
			}
			p[k] = was + h
			if err := s.evaluate(context.Background(), p, high, nil); err != nil {
				t.Fatal(err)
			}
			p[k] = was
			for i := range r {
				d := (high[i] - low[i]) / (2 * h)
				worst, most = max(worst, math.Abs(d-jac[i*n+k])), max(most, math.Abs(d))
				rows++
			}
		}
		t.Logf("%d derivatives, the largest %.3g, worst difference %.2g", rows, most, worst)
		if !(worst < 1e-6*most) || rows != s.total*n {
			t.Errorf("kind %d: worst difference %g of %g", kind, worst, most)
		}
	}
}

// A notch of a few points counts as depth, a single bad point does not; a level stretch at the bottom looks like a floor, a notch does not.
func TestDepth(t *testing.T) {
	for name, c := range map[string]struct {
		low         []float64 // in place of the middle points of a flat trace
		deep, level bool
	}{
		"flat":          {nil, false, false},
		"one bad point": {[]float64{0.01}, false, false},
		"narrow notch":  {[]float64{0.3, 0.05, 0.3}, true, false},
		"floor":         {slices.Repeat([]float64{0.1}, 20), true, true},
	} {
		m := &model{kind: amplitude, data: slices.Repeat([]float64{1}, 101)}
		copy(m.data[40:], c.low)
		m.least, m.most = m.depth()
		if m.mayHaveFloor() != c.deep || m.levelAtBottom() != c.level {
			t.Errorf("%s: deep %v, level %v", name, m.mayHaveFloor(), m.levelAtBottom())
		}
	}
}
