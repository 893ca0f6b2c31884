//go:build thorough

package tune

import (
	"math"
	"math/rand/v2"
	"testing"

	"knobwise/bench/box"
)

// The searches for width and flatness are not yet as good as this asks (go test -tags thorough): where a gang slides they miss
// wider bands by more than half. The command does not offer these two aims until they are.

// No setting found has a passband wider by 1 %, nor a ripple smaller by 0.05 dB.
func TestNothingIsWiderOrFlatter(t *testing.T) {
	random := rand.New(rand.NewPCG(4, 6))
	settings, wider, flatter, held, ends := 0, math.Inf(-1), math.Inf(-1), 0, 0
	for i := range 15 {
		s := varied(t, random, i)
		q := Question{Box: s.box, Setup: s.setup, Frequencies: []float64{s.f}, Aim: Width}
		a := run(t, q).Answers[0]
		least := a.Strongest.InsertionGain - DefaultWithin
		best, at, n := exhaustive(s.box, 60, 1, 1e-3, func(x box.Setting) float64 {
			h := solve(t, s.box, x, s.setup)
			if h.gain(s.f) < least {
				return math.Inf(-1)
			}
			return h.width(s.f)
		})
		settings, wider = settings+n, math.Max(wider, best/a.Objective-1)
		if a.Objective > 3.7*s.f {
			ends++
		}
		if best > a.Objective*1.01 {
			t.Errorf("box %d at %g Hz: %.6g Hz at %s, %.6g Hz at %s found\n%s", i, s.f, a.Objective, s.box.Describe(a.Setting), best, s.box.Describe(at), s.text)
		}
		part := 0.02 + 0.1*random.Float64()
		q.Aim, q.Span = Flat, &Span{s.f * (1 - part), s.f * (1 + part)}
		a = run(t, q).Answers[0]
		best, at, n = exhaustive(s.box, 120, 1, 1e-4, func(x box.Setting) float64 {
			ripple, low := solve(t, s.box, x, s.setup).ripple(q.Span.From, q.Span.To)
			if low < least {
				return -1000 - (least - low)
			}
			return -ripple
		})
		settings += n
		_, low := solve(t, s.box, a.Setting, s.setup).ripple(q.Span.From, q.Span.To)
		told := -a.Objective
		if a.Met {
			held++
			if low < least-0.02 {
				t.Errorf("box %d: the span falls to %g dB, %g allowed", i, low, least)
			}
		} else {
			told = -1000 - a.Short
			if math.Abs(least-low-a.Short) > 0.02 {
				t.Errorf("box %d: %g dB short told, %g dB found", i, a.Short, least-low)
			}
		}
		flatter = math.Max(flatter, best-told)
		if best > told+0.05 {
			t.Errorf("box %d over %v: %.6g (%v) at %s, %.6g at %s found\n%s", i, *q.Span, told, a.Met, s.box.Describe(a.Setting), best, s.box.Describe(at), s.text)
		}
	}
	t.Logf("%d settings; wider by at most %.2g (relative), flatter by at most %.2g dB; %d of 15 spans held, %d bands without end", settings, wider, flatter, held, ends)
	if settings < 4000 || held < 6 || ends > 5 {
		t.Error("too few")
	}
}
