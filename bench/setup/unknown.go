package setup

import (
	"fmt"
	"maps"
	"math"

	"knobwise/bench/document"
	"knobwise/bench/form"
	"knobwise/bench/quantity"
)

// Unknown is one value of a setup that is only guessed: its capacitance or resistance may be found from measurements.
type Unknown struct {
	Of       string // "source", "load" or "probe"
	Field    string
	Quantity quantity.Quantity // Value is what is taken meanwhile
	Node     *document.Node
}

// Unknowns lists every value that is only guessed, source first.
func (s *Setup) Unknowns() []Unknown {
	var all []Unknown
	for _, end := range []struct {
		of     string
		fields []form.Field
		values form.Values
	}{{"source", s.Source.Kind.fields, s.Source.Values}, {"load", s.Load.Kind.fields, s.Load.Values}, {"probe", ProbeFields, s.probe}} {
		for _, f := range end.fields {
			v, ok := end.values[f.Name]
			if !ok {
				continue
			}
			if q, ok := v.Of.(quantity.Quantity); ok && (q.Form == quantity.Guess || q.Form == quantity.Bounds) {
				all = append(all, Unknown{end.of, f.Name, q, v.Node})
			}
		}
	}
	return all
}

// Given is the setup with numbers in SI units that stand for values of its file, by their place in it.
func (s *Setup) Given(given map[*document.Node]float64) *Setup {
	out := *s
	out.Source.Values, out.Load.Values, out.probe = replaced(s.Source.Values, given), replaced(s.Load.Values, given), replaced(s.probe, given)
	if s.Probe != nil {
		out.Probe = probeOf(out.probe)
	}
	return &out
}

func replaced(values form.Values, given map[*document.Node]float64) form.Values {
	out := maps.Clone(values)
	for name, v := range values {
		if x, ok := given[v.Node]; ok {
			if q, ok := v.Of.(quantity.Quantity); ok {
				q.Value = x
				out[name] = form.Value{Node: v.Node, Of: q}
			}
		}
	}
	return out
}

// guesses gives every value that is only guessed the number that is taken meanwhile.
func guesses(what string, values form.Values) error {
	for name, v := range values {
		q, ok := v.Of.(quantity.Quantity)
		if !ok {
			continue
		}
		switch {
		case q.Form == quantity.Unknown:
			return v.Node.Fault(fmt.Sprintf("%s of %s is not known, so nothing can be computed with it", name, what), `write a guess like "? `+quantity.FormatExact(1, q.Unit)+`"`)
		case q.Form == quantity.Bounds && q.Value == 0 && q.Low > 0:
			q.Value = math.Sqrt(q.Low) * math.Sqrt(q.High)
		case q.Form == quantity.Bounds && q.Value == 0:
			q.Value = (q.Low + q.High) / 2
		default:
			continue
		}
		values[name] = form.Value{Node: v.Node, Of: q}
	}
	return nil
}

func probeOf(values form.Values) *Probe {
	return &Probe{Resistance: number(values, "resistance"), Capacitance: number(values, "capacitance")}
}
