package box

import "math"

// SelfResonance is the range of frequencies in Hz at which a coil resonates with its own capacitance over the travel of
// the part, f = 1/(2π·√(L·C)); ok is false for a part that is no coil, gives no self capacitance, or has a value that is
// not known.
func (p *Part) SelfResonance() (low, high float64, ok bool) {
	if !p.Values.Has("self capacitance") {
		return 0, 0, false
	}
	var ignored []string
	n := &numbers{part: p, notices: &ignored}
	c, err := n.of("self capacitance")
	if err != nil || c == 0 {
		return 0, 0, false
	}
	least, most := 0.0, 0.0
	if p.Kind.Variable {
		least, most, err = p.travel(n)
	} else {
		least, err = n.of("value")
		if least == 0 {
			least = p.whole
		}
		most = least
	}
	if err != nil || least == 0 {
		return 0, 0, false
	}
	at := func(l float64) float64 { return 1 / (2 * math.Pi * math.Sqrt(l*c)) }
	return at(most), at(least), true
}
