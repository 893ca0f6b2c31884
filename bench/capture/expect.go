package capture

import (
	"fmt"
	"math"
	"slices"
	"strings"
)

// Expected says where the abscissa may lie, from what is known of how the table was taken. It settles what the table leaves
// open, kind and unit of the abscissa, and nothing that the table says itself.
type Expected struct {
	From, To    float64 // Hz, of the sweep, in either order; 0 where not known
	Start, Time float64 // s: when the sweep begins on the table's clock, and how long it takes; Time 0 where not known
}

// reading is a way to read an abscissa that nothing is known of.
type reading struct {
	role      Role
	unit      string
	factor    float64
	low, high float64 // where the sweep says it lies, in the SI unit
}

// readings are those that go with what is expected. Times in other units than s need the whole column to be told apart.
func (e *Expected) readings(whole bool) (all []reading) {
	if low, high := min(e.From, e.To), max(e.From, e.To); low > 0 {
		for i, unit := range []string{"Hz", "kHz", "MHz", "GHz"} {
			all = append(all, reading{Frequency, unit, tenTo(3 * i), low, high})
		}
	}
	if e.Time > 0 {
		for i, unit := range []string{"s", "ms", "us"} {
			if i == 0 || whole {
				all = append(all, reading{Time, unit, 1 / tenTo(3*i), e.Start, e.Start + e.Time})
			}
		}
	}
	return all
}

// fits is the part that numbers from low to high and the sweep have in common, of all that either covers; not ok where less
// than half of the numbers' range lies in the sweep.
func (r *reading) fits(low, high float64) (part float64, ok bool) {
	low, high = low*r.factor, high*r.factor
	slack := 0.01 * (r.high - r.low)
	if low == high {
		return 0, low >= r.low-slack && low <= r.high+slack
	}
	common := min(high, r.high+slack) - max(low, r.low-slack)
	return common / (max(high, r.high) - min(low, r.low)), common >= 0.5*(high-low)
}

// expect reads a column by what is expected of it; role "" for any. Not ok where nothing fits.
func (p *plan) expect(column int, role Role, o *Options) (r reading, ok bool) {
	if o.Expected == nil {
		return r, false
	}
	low, high := p.span(column)
	best := -1.0
	for _, each := range o.Expected.readings(p.whole) {
		if part, fits := each.fits(low, high); fits && part > best && (role == "" || role == each.role) {
			best, r, ok = part, each, true
		}
	}
	return r, ok
}

// span is the least and the greatest number of a column in the head.
func (p *plan) span(column int) (low, high float64) {
	low, high = math.Inf(1), math.Inf(-1)
	for _, line := range p.rows {
		if cells, _ := split(line.text, p.dialect.delimiter); !line.comment && column < len(cells) {
			if v, _, ok := parse(cells[column], p.dialect.decimal, 0); ok {
				low, high = min(low, v), max(high, v)
			}
		}
	}
	return low, high
}

// nothingFits says that the sweep settles nothing.
func (p *plan) nothingFits(c *Column, o *Options, role Role) {
	if o.Expected == nil || !slices.ContainsFunc(o.Expected.readings(true), func(r reading) bool { return role == "" || r.role == role }) {
		return
	}
	p.notices = append(p.notices, fmt.Sprintf("in no unit do the numbers of %s lie within the sweep; write `units: {%s: MHz}`, or whatever it is, and check the sweep", c.label(), c.asOption()))
}

// asOption is how an option names the column.
func (c *Column) asOption() string {
	if c.Name == "" || strings.ContainsAny(c.Name, ":{},=#`\"'") {
		return fmt.Sprintf("%d", c.Number)
	}
	return c.Name
}
