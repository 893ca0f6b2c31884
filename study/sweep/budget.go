package sweep

import (
	"math"

	"knobwise/bench/hookup"
)

// Budget says where the available power goes at one frequency.
type Budget struct {
	Frequency float64 // Hz
	Available float64 // W, available from the source; NaN where its resistance is not positive
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

// PowerBudget says where the available power goes at f Hz. The reflected share is computed from the waves at the
// antenna socket, each part's from its own current and voltage, so that their sum checks the solution (Tellegen's
// theorem: B. D. H. Tellegen, Philips Res. Rep. 7 (1952) 259-269, from memory).
func PowerBudget(h *hookup.Hookup, f float64) (Budget, error) {
	x, err := h.Response(f)
	if err != nil {
		return Budget{}, err
	}
	b := Budget{Frequency: f, Available: x.AvailablePower}
	if math.IsNaN(x.AvailablePower) {
		return b, nil
	}
	share := func(name string, kind ShareKind, watts float64) {
		b.Shares = append(b.Shares, Share{name, kind, watts, watts / x.AvailablePower})
	}
	share("reflected", Reflected, x.ReflectedPower)
	for _, p := range h.Placed {
		share(p.Part.Name, InPart, h.Dissipation(p))
	}
	share("load", InLoad, x.LoadPower)
	return b, nil
}
