package family

import (
	"strings"

	"knobwise/bench/box"
)

func (p *panel) moving() []*box.Part {
	if p.inductor == nil {
		return p.capacitors
	}
	return append([]*box.Part{p.inductor}, p.capacitors...)
}

// choices lists every circuit by the rules, before those that are the same are left out.
func (p *panel) choices() (all []choice) {
	cores := oneCapacitor
	if len(p.capacitors) == 2 {
		cores = twoCapacitors
	}
	for i := range cores {
		k := &cores[i]
		for _, x := range p.orders(k) {
			for _, y := range p.couplings(x) {
				all = append(all, p.selections(y)...)
			}
		}
	}
	return all
}

// orders are the ways to put the moving parts into a core.
func (p *panel) orders(k *core) (all []choice) {
	all = append(all, choice{core: k})
	if k.place != "" && !p.twins() {
		all = append(all, choice{core: k, swapped: true})
	}
	return all
}

// couplings are the ways to put a core between the sockets.
func (p *panel) couplings(x choice) []choice {
	all := []choice{x}
	with := func(change func(*choice)) {
		y := x
		change(&y)
		all = append(all, y)
	}
	// The stray capacitance of a variable inductor is written in the file, if it is known at all.
	if x.core.stray && (p.inductor == nil || !p.inductor.Values.Has("self capacitance")) {
		with(func(y *choice) { y.stray = true })
	}
	for _, kind := range []byte(x.core.antenna) {
		with(func(y *choice) { y.antenna = kind })
	}
	for _, kind := range []byte(x.core.receiver) {
		with(func(y *choice) { y.receiver = kind })
	}
	if x.core.both {
		with(func(y *choice) { y.antenna, y.receiver = 'C', 'C' })
	}
	return all
}

// selections are the ways in which the switches that were moved may act.
func (p *panel) selections(x choice) (all []choice) {
	with := func(coil, coupling *box.Control) {
		y := x
		y.coil, y.coupling = coil, coupling
		if coil != nil && coupling == nil && x.core.windings != "" {
			y.own = true
			all = append(all, y)
			y.own = false
		}
		all = append(all, y)
	}
	switch len(p.varying) {
	case 0:
		with(nil, nil)
	case 1:
		with(p.varying[0], nil)
		with(nil, p.varying[0])
	default:
		with(p.varying[0], p.varying[1])
		with(p.varying[1], p.varying[0])
	}
	return all
}

var endWords = map[byte]string{'C': " through a capacitor", 'R': " through a resistor", 'P': " with a resistor across it"}

// name tells a choice from every other.
func (p *panel) name(x choice) string {
	words := []string{x.core.name}
	if x.core.place != "" && len(p.capacitors) == 2 && !p.twins() {
		first := p.capacitors[0]
		if x.swapped {
			first = p.capacitors[1]
		}
		words[0] += ", " + first.Name + " " + x.core.place
	}
	for _, end := range []struct {
		socket string
		kind   byte
	}{{"antenna", x.antenna}, {"receiver", x.receiver}} {
		if end.kind != 0 {
			words = append(words, end.socket+endWords[end.kind])
		}
	}
	if x.stray {
		words = append(words, "stray capacitance across the coil")
	}
	if x.coil != nil && (x.own || x.coupling != nil) {
		how := " selects the coil"
		if x.own {
			how = " selects coupled coils"
		}
		words = append(words, x.coil.Name+how)
	}
	if x.coupling != nil {
		words = append(words, x.coupling.Name+" selects the coupling")
	}
	return strings.Join(words, "; ")
}

// about says how a choice runs from antenna to receiver.
func (p *panel) about(x choice) string {
	ends := map[byte]string{'C': ", a series capacitor", 'R': ", a series resistor", 'P': ", a resistor to ground"}
	text := "antenna" + ends[x.antenna] + ", " + x.core.about + ends[x.receiver] + ", receiver"
	if x.coil != nil {
		text += "; " + x.coil.Name + map[bool]string{false: " selects the coil", true: " selects coupled coils"}[x.own]
	}
	if x.coupling != nil {
		text += "; " + x.coupling.Name + " selects the coupling"
	}
	return text
}
