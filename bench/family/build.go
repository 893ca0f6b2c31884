package family

import (
	"fmt"
	"slices"
	"strings"

	"knobwise/bench/box"
	"knobwise/bench/quantity"
	"knobwise/physics/network"
)

// choice is one circuit of a family: a core with what is chosen for it.
type choice struct {
	core              *core
	swapped           bool // X is the second capacitor
	antenna, receiver byte // C, R or P; 0 for direct
	stray             bool
	coil, coupling    *box.Control // the switches that select the coils and a coupling; nil where none does
	own               bool         // each position has coils of its own
}

// part is a part of a candidate.
type part struct {
	role     string
	moves    *box.Part // of the measured box; nil for a guessed part
	kind     string
	from, to string
	value    span
	windings []part
	coupling span
	stray    bool
	selects  *box.Control // the switch that selects its value
}

// circuit is a candidate before it is written.
type circuit struct {
	parts             []part
	antenna, receiver string                       // inside the box
	joins             map[*box.Position][][]string // besides those of a bypass
}

// build puts a choice together; nil where it does not exist.
func (p *panel) build(x choice, b bounds) *circuit {
	c := &circuit{antenna: "ant", receiver: "rx", joins: map[*box.Position][][]string{}}
	if p.out != nil {
		c.antenna, c.receiver = "in", "out"
	}
	k := x.core
	hasB := slices.Contains(strings.Fields(strings.ReplaceAll(k.arms, ",", "")), "b")
	rename := map[string]string{"0": network.Ground, "a": "a", "b": "b"}
	inSeries := func(kind byte) bool { return kind == 'C' || kind == 'R' }
	switch {
	case !hasB && !inSeries(x.antenna) && !inSeries(x.receiver):
		c.receiver = c.antenna
		rename["a"] = c.antenna
	case !inSeries(x.antenna):
		rename["a"] = c.antenna
	case !hasB && !inSeries(x.receiver):
		rename["a"] = c.receiver
	}
	if hasB && !inSeries(x.receiver) {
		rename["b"] = c.receiver
	}
	end := "b"
	if !hasB {
		end = "a"
	}

	assemblies := make([]part, len(strings.Fields(k.windings)))
	for arm := range strings.SplitSeq(k.arms, ", ") {
		f := strings.Fields(arm)
		y := part{role: f[0], from: f[1], to: f[2]}
		for _, node := range []*string{&y.from, &y.to} {
			if n, ok := rename[*node]; ok {
				*node = n
			}
		}
		switch y.role[0] {
		case 'X', 'Y':
			n := 0
			if (y.role == "Y") != x.swapped {
				n = 1
			}
			y.moves = p.capacitors[n]
			c.parts = append(c.parts, y)
		case 'C':
			y.kind, y.value = "capacitor", b.capacitor
			switch {
			case k.small && y.role == "C":
				y.value = b.small
			case k.large:
				y.value = b.large
			}
			c.parts = append(c.parts, y)
		default:
			assembly := slices.IndexFunc(strings.Fields(k.windings), func(w string) bool { return strings.Contains(w, y.role) })
			p.addCoil(c, x, y, assembly, assemblies, b)
		}
	}
	for _, w := range assemblies {
		w.kind, w.role, w.coupling = "coupled coils", "T", linkCoupling
		if k.windings == "LM" {
			w.coupling = mutualCoupling
		}
		if !x.own {
			c.parts = append(c.parts, w)
			continue
		}
		for i, at := range p.used[x.coil] {
			set := w
			set.windings = slices.Clone(w.windings)
			for j := range set.windings {
				node := &set.windings[j].from
				mine := fmt.Sprintf("%s%d", *node, i+1)
				c.joins[at] = append(c.joins[at], []string{*node, mine})
				*node = mine
			}
			c.parts = append(c.parts, set)
		}
	}
	c.addEnd(x.antenna, "antenna", c.antenna, rename["a"], b)
	c.addEnd(x.receiver, "receiver", c.receiver, rename[end], b)
	if x.coupling != nil && !p.selectCoupling(c, x) {
		return nil
	}
	return c
}

// addCoil adds a coil or a winding.
func (p *panel) addCoil(c *circuit, x choice, y part, assembly int, assemblies []part, b bounds) {
	y.kind, y.value = "inductor", b.coil
	if y.role == "L" || x.core.double && y.role == "M" {
		y.value = b.tuning
	}
	variable := p.inductor != nil && y.role == "L"
	selected := x.coil != nil && !x.own && (y.role == "L" || x.core.double && y.role == "M")
	winding := assembly >= 0
	// A coil that a knob turns, or one with windings on it, is one whose value no switch position can set: there a second
	// coil in series is selected. Likewise what a knob turns cannot be a winding and stands in series with it.
	node := 0
	before := func(z part) {
		node++
		z.from, z.to = y.from, fmt.Sprintf("before %s%d", y.role, node)
		y.from = z.to
		c.parts = append(c.parts, z)
	}
	if selected && (variable || winding) {
		before(part{role: "series " + y.role, kind: "inductor", value: b.coil, selects: x.coil})
		selected = false
	}
	if variable && winding {
		before(part{role: "V", moves: p.inductor})
		variable = false
	}
	switch {
	case winding:
		if y.role == "L" || y.role == "M" {
			y.value = b.coil // the part of the inductance that is coupled
			if node == 0 {
				y.value = b.tuning
			}
		}
		assemblies[assembly].windings = append(assemblies[assembly].windings, y)
		return
	case variable:
		y.role, y.moves = "V", p.inductor
		if x.stray {
			c.parts = append(c.parts, part{role: "stray", kind: "capacitor", from: y.from, to: y.to, value: straySpan})
		}
	default:
		y.stray = x.stray
		if selected {
			y.selects = x.coil
		}
	}
	c.parts = append(c.parts, y)
}

// addEnd adds what stands between a socket and the core.
func (c *circuit) addEnd(kind byte, role, socket, core string, b bounds) {
	switch kind {
	case 'C':
		c.parts = append(c.parts, part{role: role, kind: "capacitor", from: socket, to: core, value: b.capacitor})
	case 'R':
		c.parts = append(c.parts, part{role: role, kind: "resistor", from: socket, to: core, value: resistorSpan})
	case 'P':
		c.parts = append(c.parts, part{role: role, kind: "resistor", from: socket, to: network.Ground, value: resistorSpan})
	}
}

// selectCoupling lets a switch select the coupling. Beside another switch that selects the coil, that is the one at the
// antenna, or where there is none, at the receiver; alone it is a series capacitor or resistor at the antenna.
func (p *panel) selectCoupling(c *circuit, x choice) bool {
	ends := []struct {
		role, link string
		kind       byte
	}{{"antenna", "A", x.antenna}, {"receiver", "O", x.receiver}}
	if x.coil == nil {
		ends = ends[:1]
	}
	for _, end := range ends {
		for i := range c.parts {
			y := &c.parts[i]
			if y.role == end.role && end.kind != 'P' { // no one switches resistors across a socket
				y.selects = x.coupling
				return true
			}
			n := slices.IndexFunc(y.windings, func(w part) bool { return w.role == end.link })
			if n < 0 || x.coil == nil {
				continue
			}
			// A link for each position, on the same coil.
			link := y.windings[n]
			windings := slices.Delete(slices.Clone(y.windings), n, n+1)
			for i, at := range p.used[x.coupling] {
				mine := link
				mine.from = fmt.Sprintf("%s%d", link.from, i+1)
				c.joins[at] = append(c.joins[at], []string{link.from, mine.from})
				windings = append(windings, mine)
			}
			y.windings = windings
			return true
		}
	}
	return false
}

// write makes the box file.
func (p *panel) write(c *circuit, name, about string) []byte {
	var text strings.Builder
	line := func(format string, values ...any) { fmt.Fprintf(&text, format+"\n", values...) }
	antenna, receiver := c.antenna, c.receiver
	if p.out != nil {
		antenna, receiver = "ant", "rx"
	}
	line("box: %s", scalar(name))
	line("about: %s", scalar(about))
	line("terminals: {antenna: %s, receiver: %s}", antenna, receiver)
	line("parts:")
	names := p.names(c)
	for i, y := range c.parts {
		line("  %s: %s", scalar(names[i]), p.part(y))
	}
	line("controls:")
	for _, control := range p.box.Controls {
		if control.Knob != nil {
			line("  %s: %s", scalar(control.Name), inline(p.entry("controls", control.Name), nil))
			continue
		}
		line("  %s:", scalar(control.Name))
		line("    switch:")
		for _, at := range control.Switch.Positions {
			line("      %s: %s", scalar(at.Name), p.position(c, names, control, at))
		}
	}
	if start := p.box.Document.Root.Get("start"); start != nil {
		line("start: %s", inline(start, nil))
	}
	return []byte(text.String())
}

// names gives every part its name: what a knob moves keeps its own.
func (p *panel) names(c *circuit) []string {
	taken := map[string]bool{}
	for _, y := range c.parts {
		if y.moves != nil {
			taken[y.moves.Name] = true
		}
	}
	letters := map[string]string{"capacitor": "C", "inductor": "L", "coupled coils": "T", "resistor": "R"}
	names := make([]string, len(c.parts))
	for i, y := range c.parts {
		if y.moves != nil {
			names[i] = y.moves.Name
			continue
		}
		for n := 1; names[i] == "" || taken[names[i]]; n++ {
			names[i] = fmt.Sprintf("%s%d", letters[y.kind], n)
		}
		taken[names[i]] = true
	}
	return names
}

// part writes one part.
func (p *panel) part(y part) string {
	if y.moves != nil {
		return inline(p.entry("parts", y.moves.Name), map[string]string{"nodes": list(y.from, y.to)})
	}
	q := `Q: "` + qSpan.unknown(quantity.One) + `"`
	switch y.kind {
	case "capacitor":
		return fmt.Sprintf("{kind: capacitor, nodes: %s, value: %q}", list(y.from, y.to), y.value.unknown(quantity.Farad))
	case "resistor":
		return fmt.Sprintf("{kind: resistor, nodes: %s, value: %q}", list(y.from, y.to), y.value.unknown(quantity.Ohm))
	case "inductor":
		if y.stray {
			q += fmt.Sprintf(", self capacitance: %q", straySpan.unknown(quantity.Farad))
		}
		return fmt.Sprintf("{kind: inductor, nodes: %s, value: %q, %s}", list(y.from, y.to), y.value.unknown(quantity.Henry), q)
	}
	var windings []string
	for _, w := range y.windings {
		windings = append(windings, fmt.Sprintf("{nodes: %s, value: %q}", list(w.from, w.to), w.value.unknown(quantity.Henry)))
	}
	return fmt.Sprintf("{kind: coupled coils, windings: [%s], coupling: %q, %s}", strings.Join(windings, ", "), y.coupling.unknown(quantity.One), q)
}

// position writes what one position of a switch does.
func (p *panel) position(c *circuit, names []string, control *box.Control, at *box.Position) string {
	var groups []string
	bypass := p.bypasses[at]
	switch {
	case bypass && (p.out != nil || c.antenna != c.receiver):
		groups = append(groups, list("ant", "rx"))
	case control == p.out && !bypass:
		groups = append(groups, list("ant", c.antenna), list("rx", c.receiver))
	}
	acts := at
	if first := p.used[control]; !bypass && len(first) > 0 && !slices.Contains(first, at) {
		acts = first[0] // a position that was not measured
	}
	for _, g := range c.joins[acts] {
		groups = append(groups, list(g...))
	}
	var values []string
	used := slices.Index(p.used[control], at)
	for i, y := range c.parts {
		// The part's own value is that of the first position that was measured.
		if y.selects == control && used > 0 {
			unit := map[string]quantity.Unit{"capacitor": quantity.Farad, "inductor": quantity.Henry, "resistor": quantity.Ohm}[y.kind]
			values = append(values, fmt.Sprintf("%s: %q", scalar(names[i]), y.value.unknown(unit)))
		}
	}
	var all []string
	if len(groups) > 0 {
		all = append(all, "joins: ["+strings.Join(groups, ", ")+"]")
	}
	if len(values) > 0 {
		all = append(all, "values: {"+strings.Join(values, ", ")+"}")
	}
	return "{" + strings.Join(all, ", ") + "}"
}
