package sweep

import (
	"knobwise/bench/hookup"
	"knobwise/physics/network"
)

// Budget says where the available power goes at one frequency.
type Budget struct {
	Frequency float64 // Hz
	Available float64 // W, available from the source
	Shares    []Share // reflected first, then each part in file order, the load last
}

// ShareKind says what takes a share of the power.
type ShareKind string

// What takes a share.
const (
	Reflected ShareKind = "reflected"
	InPart    ShareKind = "part"
	InLoad    ShareKind = "load"
)

// Share is one share of the available power.
type Share struct {
	Name     string // "reflected", the name of the part, or "load"
	Kind     ShareKind
	Watts    float64
	Fraction float64 // of the available power
}

// Sum is the sum of all fractions: 1 within the accuracy of the solution (1e-9 is asked for).
func (b Budget) Sum() float64 {
	var sum float64
	for _, s := range b.Shares {
		sum += s.Fraction
	}
	return sum
}

// powerBudget says where the available power goes at f Hz, of which x is the response just computed. The reflected share
// is computed from the waves at the antenna socket, each part's from its own current and voltage, so that their sum checks
// the solution (Tellegen's theorem: B. D. H. Tellegen, Philips Res. Rep. 7 (1952) 259-269, from memory).
func powerBudget(h *hookup.Hookup, f float64, x network.Response) Budget {
	b := Budget{Frequency: f, Available: x.AvailablePower}
	share := func(name string, kind ShareKind, watts float64) {
		b.Shares = append(b.Shares, Share{name, kind, watts, watts / x.AvailablePower})
	}
	share("reflected", Reflected, x.ReflectedPower)
	for _, p := range h.Placed {
		share(p.Part.Name, InPart, h.Dissipation(p))
	}
	share("load", InLoad, x.LoadPower)
	return b
}
