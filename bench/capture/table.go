package capture

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"knobwise/bench/quantity"
)

// table puts together what was read, and looks at it as a whole.
func (d *reader) table() *Table {
	p := d.plan
	t := &Table{Name: d.name, Warnings: append(p.notices, d.notices...)}
	for i, k := range d.into {
		if k < 0 {
			continue
		}
		c := &p.Columns[i]
		values := d.sinks[k].join()
		if i == p.Abscissa {
			t.X = values
			continue
		}
		t.Channels = append(t.Channels, Channel{Column: i, Name: c.Name, Unit: c.SI, Decibel: c.Decibel, Form: c.Form, Values: values})
	}
	d.count(t)
	t.Guess = p.Guess
	if d.falls {
		slices.Reverse(t.X)
		for _, c := range t.Channels {
			slices.Reverse(c.Values)
		}
		t.warn("the rows run from high to low frequency and have been turned round")
	}
	for i := range t.Channels {
		c := &t.Channels[i]
		t.Guess.Columns[c.Column].Role = roleOf(c.Values)
		if !c.Decibel && isDigital(c.Values) {
			t.Guess.Columns[c.Column].Role = Digital
		}
	}
	d.leftOut(t)
	t.lookAtSteps()
	t.lookAtInterval(p.stated)
	for i := range t.Channels {
		t.lookAtExtremes(&t.Channels[i])
	}
	return t
}

func (t *Table) warn(format string, values ...any) {
	t.Warnings = append(t.Warnings, printable(fmt.Sprintf(format, values...)))
}

// count makes X of the rows, or of a column that counts them.
func (d *reader) count(t *Table) {
	p := d.plan
	if p.Interval == 0 {
		return
	}
	if t.X == nil {
		t.X = make([]float64, d.rows)
		for i := range t.X {
			t.X[i] = p.Start + float64(i)*p.Interval
		}
		return
	}
	first := t.X[0]
	for i, n := range t.X {
		t.X[i] = p.Start + (n-first)*p.Interval
	}
}

// roleOf tells a channel that carries something from one that does not.
func roleOf(values []float64) Role {
	low, high, two := values[0], values[0], true
	for _, v := range values {
		switch {
		case v == low || v == high:
		case low == high:
			low, high = min(low, v), max(high, v)
		default:
			two = false
		}
	}
	switch {
	case two && low == high:
		return Constant
	case two && len(values) >= leastDigital:
		return Digital
	}
	return Signal
}

// isDigital tells a logic line or a trigger that carries noise: all values lie within a tenth of the swing from its lower or its
// upper level, but for two on each edge. A narrow resonance has more on its slopes than on its top.
func isDigital(values []float64) bool {
	low, high := slices.Min(values), slices.Max(values)
	near := (high - low) / 10
	var below, above, between, edges int
	up := values[0] > low+(high-low)/2
	for _, v := range values {
		switch {
		case v <= low+near:
			below++
		case v >= high-near:
			above++
		default:
			between++
		}
		if now := v > low+(high-low)/2; now != up {
			up = now
			edges++
		}
	}
	return edges > 0 && below >= leastDigital/2 && above >= leastDigital/2 && between <= 2*edges && edges <= len(values)/leastDigital
}

// leastDigital is the number of rows below which two levels prove nothing.
const leastDigital = 8

// leftOut tells of columns that are empty, constant, or not read.
func (d *reader) leftOut(t *Table) {
	var unread []string
	for i := range t.Guess.Columns {
		c := &t.Guess.Columns[i]
		switch {
		case c.Role == Empty && d.stray[i] > 0:
			t.warn("%s is empty but for %d cell%s and is left out", c.label(), d.stray[i], plural(d.stray[i]))
		case c.Role == Empty && (c.Name != "" || i < d.plan.dialect.width-1):
			t.warn("%s is empty", c.label())
		case c.Role == Constant && len(t.X) > 1:
			t.warn("%s has the same value in all rows, %s", c.label(), inUnit(t.values(i)[0], c.SI))
		case !c.Kept && c.Role != Empty:
			unread = append(unread, c.label())
		}
	}
	if len(unread) > 0 {
		t.warn("left out: %s", strings.Join(unread, ", "))
	}
}

func (t *Table) values(column int) []float64 {
	for i := range t.Channels {
		if t.Channels[i].Column == column {
			return t.Channels[i].Values
		}
	}
	return nil
}

// unevenBy is how much a step of time may differ from the mean step, as a part of it, before it is told.
const unevenBy = 0.01

// lookAtSteps tells of repeated abscissas and of uneven steps of time. Frequencies may step as they like.
func (t *Table) lookAtSteps() {
	n := len(t.X)
	if n < 2 {
		return
	}
	unit := t.Guess.axisUnit()
	repeated, at := 0, 0
	least, most, longest := math.Inf(1), 0.0, 1
	for i := 1; i < n; i++ {
		step := t.X[i] - t.X[i-1]
		if step == 0 {
			if repeated == 0 {
				at = i
			}
			repeated++
		}
		if step > most {
			longest = i
		}
		least, most = min(least, step), max(most, step)
	}
	if repeated > 0 {
		t.warn("%d row%s repeat%s the %s of the row before, first at %s; was it written with too few digits?", repeated, plural(repeated), singular(repeated), t.Guess.Axis, inUnit(t.X[at], unit))
	}
	mean := t.X[n-1]/float64(n-1) - t.X[0]/float64(n-1)
	rounding := 4 * epsilon * max(math.Abs(t.X[0]), math.Abs(t.X[n-1])) // two roundings of X, and of their difference
	if t.Guess.Axis == Time && (most-mean > unevenBy*mean+rounding || mean-least > unevenBy*mean+rounding) {
		seconds := func(v float64) string { return quantity.Format(v, quantity.Second, 4) }
		t.warn("the steps of time are uneven: %s to %s, from %s on, %s on average", seconds(least), seconds(most), inUnit(t.X[longest-1], "s"), seconds(mean))
	}
}

// lookAtInterval compares the steps of the abscissa with what the preamble says of them: a unit guessed wrongly shows here.
func (t *Table) lookAtInterval(stated *found) {
	n := len(t.X)
	if stated == nil || n < 2 || !stated.bare && stated.frequency != (t.Guess.Axis == Frequency) {
		return
	}
	mean := t.X[n-1]/float64(n-1) - t.X[0]/float64(n-1)
	if mean < (1-unevenBy)*stated.value || mean > (1+unevenBy)*stated.value {
		unit := t.Guess.axisUnit()
		t.warn("%s says %s, but the rows are %s apart on average; is the unit right?", stated.source, inUnit(stated.value, unit), inUnit(mean, unit))
	}
}

// epsilon is the spacing of float64 above 1.
const epsilon = 0x1p-52

func singular(n int) string {
	if n == 1 {
		return "s"
	}
	return ""
}
