package setup

import (
	"knobwise/bench/form"
	"knobwise/bench/quantity"
)

// Loaded is the setup with a resistor in ohm as the load, the probe staying where it is.
func (s *Setup) Loaded(ohm float64) *Setup {
	out := *s
	for _, k := range LoadKinds {
		if k.Name == "resistor" {
			out.Load = Load{Kind: k, Values: form.Values{"value": {Node: s.Document.Root, Of: quantity.Quantity{Value: ohm, Unit: quantity.Ohm, Text: quantity.Format(ohm, quantity.Ohm, 4)}}}}
		}
	}
	return &out
}

// Shorted reports whether the load is a short, across which no voltage stands.
func (s *Setup) Shorted() bool { return s.Load.Kind.Name == "short" }

// Ended is the setup with an open or a shorted socket, the probe staying where it is; kind is "open" or "short".
func (s *Setup) Ended(kind string) *Setup {
	out := *s
	for _, k := range LoadKinds {
		if k.Name == kind {
			out.Load = Load{Kind: k}
		}
	}
	return &out
}
