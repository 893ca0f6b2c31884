package capture

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
	long := e.run >= clippedRun || waveform && e.count >= clippedCount
	return long && e.nextCount > 0 && e.count > clippedRatio*e.nextCount
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
		if side.sign < 0 && !bothSigns || !e.clipped(bothSigns && t.Guess.Axis == Time) {
			continue
		}
		value := short(e.value)
		if c.Unit != "" {
			value += " " + c.Unit
		}
		unit := t.Guess.axisUnit()
		t.warn("%s looks clipped: %.3g %% of its samples stand at its %s value, %s, between %s %s and %s %s",
			column.label(), 100*float64(e.count)/float64(len(c.Values)), side.name, value, short(t.X[e.first]), unit, short(t.X[e.last]), unit)
	}
}
