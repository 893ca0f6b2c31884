package chirp

import (
	"errors"
	"math"
)

const (
	// longestRing is how long a passive network of real parts may ring: a crystal of 1 MHz with a Q of a million falls to a
	// millionth within 5 s.
	longestRing = 30 // s
	// longestTrial bounds the times that are tried, and trialSamples the record of each.
	longestTrial = 1000 // s
	trialSamples = 32
	// unknown is a step of the row that no time reaches.
	unknown = 1 << 20
	// widestStride is by how many steps of the row a trial goes on at most.
	widestStride = 5
)

// tooShort tells a sweep that is too short for the ring of its network, and how long it must be, from a network that rings for
// ever. It tries times of the row 1, 2, 5, 10: how much of a ring a sweep calls forth depends on both.
func (w *work) tooShort(h Transfer, cause *RingError) error {
	law := w.drive.Law
	last := cause
	ring := func() float64 { return w.network.ring(min(law.From, law.To), max(law.From, law.To)) }
	if max(ring(), cause.Waited) > longestRing {
		return cause
	}
	// Below this the guess of the ring alone has no room: steps of a sixth of the time have a band of twice their skirts.
	fails := rung125(max(law.Time*(1+1e-9), 6*2*stepSkirt*ring()/largestTransform)) - 1
	works := unknown
	for works-fails > 1 {
		next := (fails + works) / 2
		if works == unknown {
			// What is left at the end of the room falls about with the time to the power 3/2 (measured on boxes).
			stride := 1.
			if last.Waited > 0 {
				stride = 2 * math.Log10(last.Left/(w.options.Tolerance/4))
			}
			next = fails + int(min(widestStride, max(1, stride)))
		}
		time := value125(next)
		if time > longestTrial {
			return cause
		}
		trial := &work{ctx: w.ctx, drive: w.drive, options: w.options}
		trial.drive.Law.Time = time
		trial.options.Progress, trial.options.Envelope, trial.options.EnvelopeOnly = nil, false, false
		trial.record = Sampling{Interval: time / (trialSamples - 1), Count: trialSamples}
		_, err := trial.run(h)
		again, rings := errors.AsType[*RingError](err)
		switch {
		case err == nil:
			works = next
		case !rings:
			return err
		case again.Waited > longestRing:
			return cause
		default:
			fails, last = next, again
		}
	}
	return &ShortSweepError{Time: law.Time, Shortest: value125(works)}
}

// value125 is a number of the row 1, 2, 5, 10 and so on, of which 1 has the index 0; rung125 is the index of the first that is no
// less than x.
func value125(i int) float64 {
	tens := int(math.Floor(float64(i) / 3))
	digit := []float64{1, 2, 5}[i-3*tens]
	if tens < 0 {
		return digit / math.Pow(10, float64(-tens)) // which rounds once
	}
	return digit * math.Pow(10, float64(tens))
}

func rung125(x float64) int {
	i := 3 * int(math.Floor(math.Log10(x)))
	for value125(i) < x {
		i++
	}
	return i
}
