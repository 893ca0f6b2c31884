package cli

import (
	"context"
	"os"
	"os/signal"
	"sync"
	"syscall"
	"time"

	"github.com/vbauerster/mpb/v8"
	"github.com/vbauerster/mpb/v8/decor"

	"knobwise/bench/fault"
)

// steps is into how many parts a bar divides any work.
const steps = 1000

// working runs long work: Ctrl-C ends it at once, and on a terminal a bar shows how far it is once a second has passed.
func (s *streams) working(what string, do func(ctx context.Context, progress func(done float64)) error) error {
	ctx, stop := signal.NotifyContext(context.Background(), os.Interrupt, syscall.SIGTERM)
	defer stop()
	context.AfterFunc(ctx, stop) // a second Ctrl-C ends the program whatever it does
	progress := func(float64) {}
	if !s.quiet && isTerminal(s.err) {
		var group *mpb.Progress
		var bar *mpb.Bar
		begun := time.Now()
		var mu sync.Mutex
		progress = func(done float64) {
			mu.Lock()
			defer mu.Unlock()
			if bar == nil && time.Since(begun) > time.Second {
				group = mpb.NewWithContext(ctx, mpb.WithOutput(s.err), mpb.WithWidth(50))
				bar = group.AddBar(steps, mpb.BarRemoveOnComplete(),
					mpb.PrependDecorators(decor.Name(what+" ")), mpb.AppendDecorators(decor.Percentage(), decor.Name(" left: "), decor.AverageETA(decor.ET_STYLE_GO)))
			}
			if bar != nil {
				bar.SetCurrent(int64(done * steps))
			}
		}
		defer func() {
			if bar != nil {
				bar.Abort(true)
				group.Wait()
			}
		}()
	}
	err := do(ctx, progress)
	if ctx.Err() != nil {
		return fault.New(fault.Stopped, "stopped", "")
	}
	return err
}
