package capture

import (
	"fmt"
	"math"
)

// Clipping shows as samples that stay at the extreme value.
const (
	// clippedRun is how many samples in a row must stand at the extreme of a table; two can at any smooth peak.
	clippedRun = 3
	// clippedCount is how many samples must stand at the extreme of a waveform. They need not stand in a row: a carrier of a few
	// samples per period leaves the limit between any two.
	clippedCount = 10
	// clippedRatio is how many times more samples must stand at the extreme than at the level next to it. A sine in levels
	// of q that is not clipped stays at its top level at most 1/(√2 - 1) = 2.4 times as long as at the next: by its curvature
	// it is within h of its peak for a time that goes with √h, and √q against √(2q) - √q is the worst case.
	clippedRatio = 4
)

// extreme is what a channel does at its highest or lowest value.
type extreme struct {
	value       float64
	count, run  int // samples at value, and the most of them in a row
	next        float64
	nextCount   int  // samples at the value next to it; 0 where all are equal
	beyond      bool // some samples are on the other side of zero
	first, last int  // rows
}

// extremeOf looks for the highest value of sign·values.
func extremeOf(values []float64, sign float64) extreme {
	var e extreme
	run := 0
	for i, v := range values {
		v *= sign
		e.beyond = e.beyond || v < 0
		switch {
		case e.count == 0 || v > e.value:
			e = extreme{value: v, count: 1, run: 1, next: e.value, nextCount: e.count, beyond: e.beyond, first: i, last: i}
			run = 1
		case v == e.value:
			run++
			if e.last != i-1 {
				run = 1
			}
			e.count++
			e.last = i
			e.run = max(e.run, run)
		case e.nextCount == 0 || v > e.next:
			e.next, e.nextCount = v, 1
		case v == e.next:
			e.nextCount++
		}
	}
	e.value *= sign
	return e
}

// clipped tells a limit from a peak. Samples of one sign are an amplitude: what stays at its lowest value is its floor.
func (e *extreme) clipped(waveform bool) bool {
	next := float64(e.nextCount)
	long := e.run >= clippedRun
	if !long && waveform && e.count >= clippedCount {
		long, next = true, next+math.Sqrt(next) // what few samples are by chance
	}
	return long && e.nextCount > 0 && float64(e.count) > clippedRatio*next
}

// A limit that noise has blurred is looked for in a histogram of bins between zero and the highest value.
const (
	bins = 1000
	// crowd is how many samples must stand about a limit, so that chance does not crowd them.
	crowd = 200
	// crowdedRatio is how many times as many samples must stand in a band as in the one of the same width below. For a sine, with any
	// envelope and any noise, that is no more than at its peak without noise, 1/(√2 - 1) = 2.4.
	crowdedRatio = 3
	// above is how many samples may stand above the band, as part of those in it: tails of noise.
	above = 0.05
)

// bandWidths are those that are tried, in bins.
var bandWidths = []int{10, 20, 40, 80, 160, 320}

// crowded looks for a band about which the highest values of sign·values crowd, and gives its middle and half of its width.
func crowded(values []float64, sign float64) (e extreme, half float64) {
	top := 0.0
	for _, v := range values {
		top = max(top, sign*v)
	}
	if !(top > 0) {
		return e, 0
	}
	binOf := func(v float64) int { return min(int(sign*v/top*bins), bins-1) }
	var up [bins + 1]int // samples in the bins up to each
	for _, v := range values {
		if sign*v > 0 {
			up[binOf(v)+1]++
		}
	}
	for i := range bins {
		up[i+1] += up[i]
	}
	for _, w := range bandWidths {
		for high := bins; high > bins/2 && high >= 2*w; high -= max(1, w/8) {
			in, below := up[high]-up[high-w], up[high-w]-up[high-2*w]
			if float64(up[bins]-up[high]) > above*float64(in) || in < max(crowd, len(values)/500) || in <= crowdedRatio*max(below, 1) {
				continue
			}
			half = float64(w) / 2 / bins * top
			e = extreme{value: sign * (float64(high)/bins*top - half), count: in, first: -1}
			for i, v := range values {
				if bin := binOf(v); sign*v > 0 && bin >= high-w && bin < high {
					if e.first < 0 {
						e.first = i
					}
					e.last = i
				}
			}
			return e, half
		}
	}
	return e, 0
}

// lookAtExtremes tells of clipped samples. Two levels, or one, are no clipping.
func (t *Table) lookAtExtremes(c *Channel) {
	column := &t.Guess.Columns[c.Column]
	if column.Role != Signal {
		return
	}
	for _, side := range []struct {
		sign float64
		name string
	}{{1, "highest"}, {-1, "lowest"}} {
		e := extremeOf(c.Values, side.sign)
		bothSigns := e.beyond && e.value*side.sign > 0 && !c.Decibel
		waveform, half := bothSigns && t.Guess.Axis == Time, 0.0
		if side.sign < 0 && !bothSigns {
			continue
		}
		if !e.clipped(waveform) {
			if !waveform {
				continue
			}
			if e, half = crowded(c.Values, side.sign); half == 0 {
				continue
			}
		}
		value := inUnit(e.value, c.Unit)
		unit := t.Guess.axisUnit()
		at := fmt.Sprintf("at its %s value, %s", side.name, value)
		if half > 0 {
			at = fmt.Sprintf("about %s, and hardly any beyond", value)
		}
		t.warn("%s looks clipped: %.3g %% of its samples stand %s, between %s and %s",
			column.label(), 100*float64(e.count)/float64(len(c.Values)), at, inUnit(t.X[e.first], unit), inUnit(t.X[e.last], unit))
	}
}
