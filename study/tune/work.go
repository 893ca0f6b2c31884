package tune

import (
	"context"
	"fmt"
	"math"
	"sync"
	"sync/atomic"

	"knobwise/bench/box"
	"knobwise/bench/hookup"
)

// work is a question on its way to an answer.
type work struct {
	q           Question
	assignments []box.Setting  // of the controls that are asked one by one; the others as the question has them
	sliding     []*box.Control // knobs among these: their readings are a grid, to be refined
	asked       int
	example     *hookup.Every
	still       map[string]bool // all switches, and what is fixed

	telling sync.Mutex
	done    float64
}

func newWork(q Question) (*work, error) {
	q = q.settled()
	if err := q.check(); err != nil {
		return nil, err
	}
	w := &work{q: q, still: map[string]bool{}}
	for _, c := range q.Box.Controls {
		w.still[c.Name] = c.Switch != nil || q.Fixed[c.Name]
	}
	var err error
	if w.example, err = hookup.ConnectEvery(q.Box, q.At, q.Setup, q.Frequencies[0], q.Fixed); err != nil {
		return nil, err
	}
	for _, c := range w.example.OneByOne {
		if c.Knob != nil {
			w.sliding = append(w.sliding, c)
		}
	}
	if w.assignments, err = w.example.Assignments(slides[min(len(w.sliding), len(slides)-1)]); err != nil {
		return nil, err
	}
	w.asked = len(w.assignments) * len(w.example.Combinations)
	return w, w.covers()
}

// covers refuses frequencies outside a measured file.
func (w *work) covers() error {
	all := append(append([]float64(nil), w.q.Frequencies...), w.q.Reject...)
	if w.q.Span != nil {
		all = append(all, w.q.Span.From, w.q.Span.To)
	}
	for _, f := range all {
		if err := w.example.Covers(f, f); err != nil {
			return err
		}
	}
	return nil
}

// covered reports whether the box can be computed at f Hz.
func (w *work) covered(f float64) bool { return w.example.Covers(f, f) == nil }

// slides is how many readings stand for each knob that must be asked one reading after another, by the number of such knobs.
var slides = []int{1, 33, 17, 9, 5}

// notices say what holds for every answer.
func (w *work) notices() []string {
	all := append([]string(nil), w.example.Notices...)
	for _, c := range w.sliding {
		all = append(all, fmt.Sprintf("%s moves parts that do not travel alike; it is asked at %d readings and then closer and closer about the best, so the answer is not proven over its whole scale",
			c.Name, slides[min(len(w.sliding), len(slides)-1)]))
	}
	return all
}

// tell adds to what is done, of a total of one for each frequency.
func (w *work) tell(share float64) {
	w.telling.Lock()
	defer w.telling.Unlock()
	w.done += share
	if w.q.Progress != nil {
		w.q.Progress(math.Min(1, w.done/float64(len(w.q.Frequencies))))
	}
}

// parallel does n things on several threads; share is what all of them are worth to tell. The error is that of the first
// thing that failed, or the context's.
func (w *work) parallel(ctx context.Context, threads, n int, share float64, do func(i int) error) error {
	failures := make([]error, n)
	var next atomic.Int64
	var failed atomic.Bool
	var group sync.WaitGroup
	for range min(threads, n) {
		group.Go(func() {
			for !failed.Load() && ctx.Err() == nil {
				i := int(next.Add(1)) - 1
				if i >= n {
					return
				}
				if failures[i] = do(i); failures[i] != nil {
					failed.Store(true)
				}
				if share > 0 {
					w.tell(share / float64(n))
				}
			}
		})
	}
	group.Wait()
	if err := ctx.Err(); err != nil {
		return err
	}
	for _, err := range failures {
		if err != nil {
			return err
		}
	}
	return nil
}
