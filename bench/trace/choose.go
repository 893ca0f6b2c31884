package trace

import (
	"fmt"
	"slices"
	"strings"
	"unicode"

	"knobwise/bench/capture"
	"knobwise/bench/fault"
	"knobwise/bench/quantity"
)

// choose takes the column that is wanted, or the first that can be meant: no phase, no half of a complex value, no trigger
// while there is anything else. It says so where there are others.
func (t *Trace) choose(table *capture.Table, wanted string) (*capture.Channel, error) {
	best := 0
	for i := range table.Channels {
		if unlikely(table, i) < unlikely(table, best) {
			best = i
		}
	}
	if wanted == "" && unlikely(table, best) >= noLevel {
		var names []string
		for i := range table.Channels {
			names = append(names, nameOf(table, i))
		}
		return nil, fault.New(fault.Request, fmt.Sprintf("%s has no column of levels, but %s", t.File, strings.Join(names, ", ")),
			"give the magnitude, in volts or in dB; or name its column as `channel`")
	}
	if wanted == "" && len(table.Channels) > 1 {
		t.Notices = append(t.Notices, fmt.Sprintf("%s has %d columns of values; taken is %s (another: `channel`)", t.File, len(table.Channels), nameOf(table, best)))
	}
	t.column = table.Channels[best].Column
	return &table.Channels[best], nil
}

// noLevel is how unlikely a column is that holds no level at all.
const noLevel = 8

// unlikely ranks a column: the less, the sooner it is meant.
func unlikely(table *capture.Table, channel int) (rank int) {
	c := &table.Channels[channel]
	words := strings.FieldsFunc(strings.ToLower(c.Name), func(r rune) bool { return !unicode.IsLetter(r) })
	has := func(known ...string) bool {
		return slices.ContainsFunc(words, func(w string) bool { return slices.Contains(known, w) })
	}
	if table.Guess.Columns[c.Column].Role != capture.Signal {
		rank++
	}
	if has("trig", "trigger", "ext", "sync", "gate") {
		rank += 2
	}
	if !c.Decibel && (slices.Contains(noLevels, c.Unit) || has("phase", "arg", "angle", "real", "re", "imag", "imaginary", "im")) {
		rank += noLevel
	}
	return rank
}

// noLevels are the units of what is no level of a signal.
var noLevels = []string{"deg", "rad", "A", "ohm", "s", "Hz"}

// nameOf is what a person calls a column: by its number where its name is not its own.
func nameOf(table *capture.Table, channel int) string {
	c := table.Channels[channel]
	if c.Name != "" && alone(table, c.Name) {
		return c.Name
	}
	number := fmt.Sprintf("column %d", table.Guess.Columns[c.Column].Number)
	if c.Unit != "" {
		number += " (" + c.Unit + ")"
	}
	return number
}

// alone reports whether one column has the name.
func alone(table *capture.Table, name string) bool {
	count := 0
	for i := range table.Guess.Columns {
		if strings.EqualFold(table.Guess.Columns[i].Name, name) {
			count++
		}
	}
	return count == 1
}

// trigger offers the first edge of a digital channel as the start of the sweep, where nothing says when it began.
func (t *Trace) trigger(table *capture.Table, spec Spec) {
	if spec.Start != 0 || table.Guess.Axis != capture.Time || !(spec.Sweep.Time > 0) {
		return
	}
	for i, c := range table.Channels {
		if table.Guess.Columns[c.Column].Role != capture.Digital {
			continue
		}
		low, high := slices.Min(c.Values), slices.Max(c.Values)
		middle := low + (high-low)/2
		for k := 1; k < len(c.Values); k++ {
			if was := c.Values[k-1] > middle; was != (c.Values[k] > middle) {
				if at := table.X[k]; at > spec.Sweep.Time/1000 || at < -spec.Sweep.Time/1000 {
					t.Notices = append(t.Notices, fmt.Sprintf("%s: the sweep is taken to begin at 0 s, but the digital %s has its first edge at %s; if the sweep begins there, say `start: %s`",
						t.File, nameOf(table, i), quantity.Format(at, quantity.Second, 4), quantity.Format(at, quantity.Second, 6)))
				}
				return
			}
		}
	}
}
