package plan

import (
	"context"
	"maps"
	"math"

	"knobwise/bench/box"
	"knobwise/bench/hookup"
	"knobwise/study/sweep"
)

// differs is by how much of the highest level two traces must differ somewhere to show anything.
const differs = 1e-3

// taker runs the sweeps of a plan, each once.
type taker struct {
	r    *Result
	q    Question
	seen []taken
}

type taken struct {
	setting box.Setting
	trace   *sweep.Result
}

// takes lists sweeps that together show what every control does: the setting itself, then each control elsewhere, the others
// as they are. A control that shows nothing there is shown with another switch set otherwise.
func (r *Result) takes(ctx context.Context, q Question, first *sweep.Result) error {
	k := &taker{r: r, q: q, seen: []taken{{q.At, first}}}
	if err := k.keep(ctx, q.At, "", nil); err != nil {
		return err
	}
	for _, c := range q.Box.Controls {
		shown, err := k.show(ctx, c, q.At, nil)
		if err != nil {
			return err
		}
		for _, other := range q.Box.Controls {
			if shown {
				break
			}
			if other == c || other.Switch == nil {
				continue
			}
			for _, at := range elsewhere(other, q.At[other.Name]) {
				if shown, err = k.show(ctx, c, q.At.With(other.Name, at), []string{other.Name}); err != nil {
					return err
				}
				if shown {
					break
				}
			}
		}
		if !shown {
			r.Idle = append(r.Idle, c.Name)
		}
	}
	return nil
}

// show keeps the sweeps with a control elsewhere that differ from one without, if there are any.
func (k *taker) show(ctx context.Context, c *box.Control, base box.Setting, beside []string) (shown bool, err error) {
	reference, err := k.trace(ctx, base)
	if err != nil {
		return false, err
	}
	for _, at := range elsewhere(c, base[c.Name]) {
		s := base.With(c.Name, at)
		trace, err := k.trace(ctx, s)
		if err != nil {
			return shown, err
		}
		if !different(reference.LoadV, trace.LoadV) {
			continue
		}
		shown = true
		if err := k.keep(ctx, s, c.Name, beside); err != nil {
			return shown, err
		}
	}
	return shown, nil
}

// trace is the sweep at a setting.
func (k *taker) trace(ctx context.Context, s box.Setting) (*sweep.Result, error) {
	for _, t := range k.seen {
		if maps.Equal(t.setting, s) {
			return t.trace, nil
		}
	}
	if err := ctx.Err(); err != nil {
		return nil, err
	}
	h, err := hookup.Connect(k.q.Box, s, k.q.Setup)
	if err != nil {
		return nil, err
	}
	t, err := sweep.Run(h, sweep.Question{Sweep: k.q.Setup.Sweep, Features: []sweep.Trace{sweep.LoadVoltage}})
	if err != nil {
		return nil, err
	}
	k.seen = append(k.seen, taken{s, t})
	return t, nil
}

// different reports whether two traces of voltages differ enough to be told apart.
func different(a, b []float64) bool {
	most, apart := 0.0, 0.0
	for i := range a {
		most = max(most, a[i], b[i])
		apart = max(apart, math.Abs(a[i]-b[i]))
	}
	return apart > differs*most
}

// keep adds the sweep at a setting to the plan.
func (k *taker) keep(ctx context.Context, s box.Setting, shows string, beside []string) error {
	t, err := k.trace(ctx, s)
	if err != nil {
		return err
	}
	f := t.Features[0]
	one := Take{Setting: s, Shows: shows, Beside: beside, Where: f.Where, Peak: math.NaN(), Bandwidth: math.NaN(), Level: f.Peak.Level}
	one.Height = peakToPeak * math.Pow(10, one.Level/20)
	if f.Where == sweep.Inside {
		one.Peak, one.Bandwidth = f.Peak.Frequency, f.Bandwidth
	}
	h, err := hookup.Connect(k.q.Box, s, k.q.Setup)
	if err != nil {
		return err
	}
	judged := Result{Sweep: k.q.Setup.Sweep}
	if err := judged.time(h, k.q, t); err != nil {
		return err
	}
	one.Shortest = judged.Shortest
	k.r.Sweeps = append(k.r.Sweeps, one)
	return nil
}

// elsewhere are the other positions of a switch, and the stops and the middle of a knob's scale.
func elsewhere(c *box.Control, now box.Reading) (all []box.Reading) {
	if c.Switch != nil {
		for _, p := range c.Switch.Positions {
			if p.Name != now.Word {
				all = append(all, box.Reading{Word: p.Name})
			}
		}
		return all
	}
	k := c.Knob
	for _, x := range []float64{k.From, (k.From + k.To) / 2, k.To} {
		if math.Abs(x-now.Number) > 0.1*math.Abs(k.To-k.From) {
			all = append(all, box.Reading{Number: x})
		}
	}
	return all
}
