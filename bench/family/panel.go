package family

import (
	"fmt"
	"maps"
	"slices"
	"strings"

	"knobwise/bench/box"
	"knobwise/bench/document"
	"knobwise/bench/fault"
	"knobwise/physics/network"
)

// panel is what is kept of the measured box: its controls, what they move, and where they stood.
type panel struct {
	box        *box.Box
	capacitors []*box.Part // in panel order
	inductor   *box.Part   // nil where there is none
	used       map[*box.Control][]*box.Position
	varying    []*box.Control // switches that must change something
	bypasses   map[*box.Position]bool
	out        *box.Control // the switch that takes the circuit off both sockets, or nil
}

const supported = "guessing works with one or two variable capacitors and at most one variable inductor, each on a knob"

func panelOf(b *box.Box, settings []box.Setting) (*panel, error) {
	p := &panel{box: b, used: map[*box.Control][]*box.Position{}, bypasses: map[*box.Position]bool{}}
	if err := p.findMoving(); err != nil {
		return nil, err
	}
	if len(settings) == 0 {
		return nil, fault.New(fault.Request, "there is no setting at which "+b.Name+" was measured", "give the settings of the measurements")
	}
	for _, s := range settings {
		if err := valid(b, s); err != nil {
			return nil, err
		}
	}
	p.findBypasses(settings)
	for _, c := range b.Controls {
		if c.Switch == nil {
			continue
		}
		for _, at := range c.Switch.Positions {
			on := func(s box.Setting) bool { return s[c.Name].Word == at.Name && !p.isOut(s) }
			if !p.bypasses[at] && slices.ContainsFunc(settings, on) {
				p.used[c] = append(p.used[c], at)
			}
		}
		if len(p.used[c]) > 1 {
			p.varying = append(p.varying, c)
		}
	}
	if len(p.varying) > 2 {
		var names []string
		for _, c := range p.varying {
			names = append(names, c.Name)
		}
		return nil, fault.New(fault.Request, "the switches "+strings.Join(names, ", ")+" all change between the measurements, and what three switches do together cannot be guessed",
			"compare measurements in which all but two of them stand in one position")
	}
	return p, nil
}

func (p *panel) findMoving() error {
	for _, c := range p.box.Controls {
		if c.Knob == nil {
			continue
		}
		for _, part := range c.Knob.Parts {
			switch part.Kind.Name {
			case "variable capacitor":
				p.capacitors = append(p.capacitors, part)
			default:
				if p.inductor != nil {
					return fault.New(fault.Request, fmt.Sprintf("%s has two variable inductors, %s and %s", p.box.Name, p.inductor.Name, part.Name), supported)
				}
				p.inductor = part
			}
		}
	}
	if n := len(p.capacitors); n == 0 || n > 2 {
		return fault.New(fault.Request, fmt.Sprintf("the knobs of %s turn %d variable capacitors", p.box.Name, n), supported)
	}
	return nil
}

// valid checks that a setting gives every control a position that it has, and no other.
func valid(b *box.Box, s box.Setting) error {
	checked := box.Setting{}
	for _, name := range slices.Sorted(maps.Keys(s)) {
		if err := b.Set(checked, name, s[name].String()); err != nil {
			return err
		}
	}
	for _, c := range b.Controls {
		if _, ok := s[c.Name]; !ok {
			return fault.New(fault.Setting, "the setting has no position for "+c.Name, "give every control a position")
		}
	}
	return nil
}

// findBypasses finds the used positions that join antenna and receiver by themselves, and whether that leaves nothing else
// at the sockets.
func (p *panel) findBypasses(settings []box.Setting) {
	var by []*box.Control
	attached := false
	for _, c := range p.box.Controls {
		if c.Switch == nil {
			continue
		}
		found := false
		for _, s := range settings {
			at := c.Switch.Position(s[c.Name].Word)
			if !joined(at.Joins)(p.box.Antenna, p.box.Receiver) {
				continue
			}
			found, p.bypasses[at] = true, true
			attached = attached || p.attached(s)
		}
		if found {
			by = append(by, c)
		}
	}
	if len(by) == 1 && !attached {
		p.out = by[0]
	}
}

// attached reports whether a part hangs at the antenna socket at a setting.
func (p *panel) attached(s box.Setting) bool {
	var groups [][]string
	for _, c := range p.box.Controls {
		if c.Switch != nil {
			groups = append(groups, c.Switch.Position(s[c.Name].Word).Joins...)
		}
	}
	same := joined(groups)
	for _, part := range p.box.Parts {
		for _, node := range part.Nodes {
			if same(node, p.box.Antenna) {
				return true
			}
		}
	}
	return false
}

// isOut reports whether a setting takes the circuit off the sockets, so that nothing else counts.
func (p *panel) isOut(s box.Setting) bool {
	return p.out != nil && p.bypasses[p.out.Switch.Position(s[p.out.Name].Word)]
}

// joined tells which nodes groups of contacts make one.
func joined(groups [][]string) func(a, b string) bool {
	parent := map[string]string{}
	var root func(n string) string
	root = func(n string) string {
		if up, ok := parent[n]; ok && up != n {
			return root(up)
		}
		return n
	}
	for _, group := range groups {
		for _, n := range group[1:] {
			if a, b := root(group[0]), root(n); a != b {
				parent[a] = b
			}
		}
	}
	return func(a, b string) bool { return root(a) == root(b) }
}

// entry is how a part or a control is written in the measured file.
func (p *panel) entry(section, name string) *document.Node {
	return p.box.Document.Root.Get(section).Get(name)
}

// twins reports whether the two capacitors are turned together and written alike, so that exchanging them changes nothing.
func (p *panel) twins() bool {
	if len(p.capacitors) < 2 || p.box.Moves(p.capacitors[0]) != p.box.Moves(p.capacitors[1]) {
		return false
	}
	var text [2]string
	for i, part := range p.capacitors {
		text[i] = inline(p.entry("parts", part.Name), map[string]string{"nodes": network.Ground})
		if strings.Contains(text[i], "?") {
			return false // two values that are looked for, each for itself
		}
	}
	return text[0] == text[1]
}
