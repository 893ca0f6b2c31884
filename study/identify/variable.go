package identify

import (
	"fmt"
	"math"
	"strings"

	"knobwise/bench/box"
	"knobwise/bench/document"
	"knobwise/bench/fault"
	"knobwise/bench/quantity"
)

// variable is one value that is looked for. Inside the fit it is a coordinate: the logarithm of the value, or for a coupling
// factor, whose sign may count, the value itself.
type variable struct {
	Part, Field string // as the file names them; Part is "probe", "load" or "source" for a value of a setup
	Unit        quantity.Unit
	node        *document.Node
	log         bool
	low, high   float64 // of the value
	guess       float64
	guessed     bool // the file has a guess or bounds
	inSetup     bool
}

func (v *variable) name() string { return nameOf(v.Part, v.Field) }

// nameOf is what to call a value: "L1", "L1 in Range low", "winding 2 of T1", "Q of L1".
func nameOf(part, field string) string {
	if field == "value" {
		return part
	}
	if at, ok := strings.CutPrefix(field, "value in "); ok {
		return part + " in " + at
	}
	return strings.TrimPrefix(field, "value of ") + " of " + part
}

func (v *variable) coordinate(value float64) float64 {
	if v.log {
		return math.Log(value)
	}
	return value
}

func (v *variable) value(coordinate float64) float64 {
	if v.log {
		return math.Exp(coordinate)
	}
	return coordinate
}

// slope is the derivative of the value by its coordinate.
func (v *variable) slope(value float64) float64 {
	if v.log {
		return value
	}
	return 1
}

// nowhere near a guess is a value more than this many times larger or smaller.
const guessSpan = 20

// Reactances between these, at the frequencies that were measured, are looked through for a part of which nothing is known:
// what is smaller is a wire and what is larger a gap in a circuit of the trade (common practice, no source).
const (
	leastReactance   = 2.0     // ohm
	mostReactance    = 20_000  // ohm
	mostOfACapacitor = 300_000 // ohm: a picofarad couples two tuned circuits well
)

// variablesOf lists what is looked for: the unknowns of the box and, once each, those of the setups. low and high are the
// frequencies of the traces. known accepts that there is none.
func variablesOf(b *box.Box, models []*model, low, high float64, known bool) ([]*variable, error) {
	var all []*variable
	add := func(part, field string, q quantity.Quantity, n *document.Node, inSetup bool) error {
		v := &variable{Part: part, Field: field, Unit: q.Unit, node: n, inSetup: inSetup, log: true}
		switch q.Form {
		case quantity.Guess:
			v.guess, v.guessed = q.Value, true
			v.low, v.high = q.Value/guessSpan, q.Value*guessSpan
		case quantity.Bounds:
			v.guess, v.guessed, v.low, v.high = q.Value, true, q.Low, q.High
			if v.guess == 0 && q.Low > 0 {
				v.guess = math.Sqrt(q.Low * q.High)
			}
		default:
			v.low, v.high = anywhere(field, q.Unit, low, high)
			v.guess = math.Sqrt(v.low * v.high)
		}
		if strings.HasPrefix(field, "coupling") {
			v.log = false
			if q.Form != quantity.Bounds {
				v.low, v.high = 0.001, 0.999
				if q.Value < 0 {
					v.low, v.high = -0.999, -0.001
				}
			}
			if q.Form == quantity.Unknown || v.guess <= v.low || v.guess >= v.high {
				v.guess = (v.low + v.high) / 2
			}
		}
		if v.log && !(v.low > 0) {
			v.low = v.high / 1e6 // a stray value that may be as good as nothing
			v.guess = max(v.guess, v.low)
		}
		if !(v.low < v.high) {
			return n.Fault(fmt.Sprintf("%s leaves no room to look in", v.name()), `write bounds like "? 10 uH .. 40 uH"`)
		}
		all = append(all, v)
		return nil
	}
	for _, u := range b.Unknowns() {
		if err := add(u.Part.Name, u.Field, u.Quantity, u.Node, false); err != nil {
			return nil, err
		}
	}
	// Two setups may each have an unknown probe.
	ends, seen := map[string]int{}, map[*document.Node]bool{}
	for _, m := range models {
		for _, u := range m.measured.Setup.Unknowns() {
			if !seen[u.Node] {
				seen[u.Node] = true
				ends[u.Of+u.Field]++
			}
		}
	}
	clear(seen)
	for _, m := range models {
		for _, u := range m.measured.Setup.Unknowns() {
			if seen[u.Node] {
				continue
			}
			seen[u.Node] = true
			of := u.Of
			if ends[u.Of+u.Field] > 1 {
				of += " of " + m.measured.Setup.Name
			}
			if err := add(of, u.Field, u.Quantity, u.Node, true); err != nil {
				return nil, err
			}
		}
	}
	if len(all) == 0 && !known {
		return nil, fault.New(fault.Request, "nothing is marked as unknown in "+b.Name, "mark what is to be found, like `value: \"? 10 uH .. 40 uH\"`")
	}
	return all, nil
}

// anywhere is where a value of which nothing is known is looked for.
func anywhere(field string, u quantity.Unit, low, high float64) (least, most float64) {
	switch {
	case field == "self capacitance" || field == "stray":
		return 0.05e-12, 200e-12
	case field == "leads":
		return 1e-9, 1e-6
	case u == quantity.Farad:
		return 1 / (2 * math.Pi * high * mostOfACapacitor), 1 / (2 * math.Pi * low * leastReactance)
	case u == quantity.Henry:
		return leastReactance / (2 * math.Pi * high), mostReactance / (2 * math.Pi * low)
	case field == "esr" || field == "resistance":
		return 0.01, 1000
	case u == quantity.Ohm:
		return 0.1, 1e6
	case field == "Q":
		return 3, 2000
	case field == "loss tangent":
		return 1e-5, 0.3
	}
	return 1e-3, 1e3 // a plain number of some other kind
}
