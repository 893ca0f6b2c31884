package schematic_test

import (
	"bytes"
	"encoding/json"
	"encoding/xml"
	"errors"
	"fmt"
	"io"
	"math"
	"regexp"
	"slices"
	"sort"
	"strings"

	"knobwise/bench/box"
	"knobwise/figure"
	"knobwise/figure/schematic"
	"knobwise/physics/network"
)

// fataler is what tests and property tests have in common.
type fataler interface {
	Helper()
	Fatalf(string, ...any)
}

// examined counts what was checked, so that a run that checks nothing fails.
var examined struct{ drawings, parts, pairs, wires, crossings int }

// examine checks everything that must hold of any drawing. It reads the geometry and the box, nothing of how the
// drawing was made.
func examine(t fataler, name string, b *box.Box, s box.Setting, d *schematic.Drawing) {
	t.Helper()
	examined.drawings++
	complete(t, name, b, s, d)
	connected(t, name, b, s, d)
	apart(t, name, d)
	again, err := schematic.Layout(b, s, plain)
	if err != nil {
		t.Fatalf("%s: %v", name, err)
	}
	if x, y := marshalled(t, d), marshalled(t, again); !bytes.Equal(x, y) {
		t.Fatalf("%s: two drawings of one box differ", name)
	}
	var svg bytes.Buffer
	if err := d.SVG(&svg, figure.Light); err != nil {
		t.Fatalf("%s: %v", name, err)
	}
	for dec := xml.NewDecoder(&svg); ; {
		_, err := dec.Token()
		if errors.Is(err, io.EOF) {
			break
		}
		if err != nil {
			t.Fatalf("%s: SVG: %v", name, err)
		}
	}
}

func marshalled(t fataler, d *schematic.Drawing) []byte {
	data, err := json.Marshal(d) // fails for NaN and infinity
	if err != nil {
		t.Fatalf("%v", err)
	}
	return data
}

// complete: every part, contact and control is there once, with its own nodes.
func complete(t fataler, name string, b *box.Box, s box.Setting, d *schematic.Drawing) {
	t.Helper()
	seen := map[string]int{}
	contacts := []string{}
	for _, sh := range d.Shapes {
		var nodes []string
		for _, x := range sh.Terminals {
			nodes = append(nodes, x.Node)
		}
		sort.Strings(nodes)
		switch {
		case sh.Part != "":
			seen[fmt.Sprintf("%s/%d %v", sh.Part, sh.Winding, nodes)]++
			examined.parts++
		case sh.Kind == "contact":
			contacts = append(contacts, fmt.Sprint(sh.Control, nodes))
		}
	}
	total := 0
	for _, p := range b.Parts {
		var want [][]string
		switch p.Kind.Name {
		case "coupled coils", "transformer":
			for i := 0; i < len(p.Nodes); i += 2 {
				want = append(want, slices.Clone(p.Nodes[i:i+2]))
			}
		case "line", "measured two-port":
			want = [][]string{append(slices.Clone(p.Nodes), network.Ground)}
		default:
			want = [][]string{slices.Clone(p.Nodes)}
		}
		for i, nodes := range want {
			sort.Strings(nodes)
			winding := 0
			if strings.HasPrefix(p.Kind.Name, "coupled") || p.Kind.Name == "transformer" {
				winding = i + 1
			}
			if n := seen[fmt.Sprintf("%s/%d %v", p.Name, winding, nodes)]; n != 1 {
				t.Fatalf("%s: %s winding %d at %v is drawn %d times: %v", name, p.Name, winding, nodes, n, seen)
			}
			total++
		}
	}
	if total != len(seen) {
		t.Fatalf("%s: %d symbols for %d: %v", name, len(seen), total, seen)
	}
	dials, gangs, switches := map[string]int{}, map[string]int{}, map[string]int{}
	for _, m := range d.Dials {
		dials[m.Control]++
		if m.Turn < -1e-9 || m.Turn > 1+1e-9 {
			t.Fatalf("%s: %s is turned to %g", name, m.Control, m.Turn)
		}
	}
	for _, m := range d.Gangs {
		gangs[m.Control]++
	}
	for _, m := range d.Switches {
		switches[m.Control]++
		if len(m.Pills) != len(b.Control(m.Control).Switch.Positions) || m.Position != s[m.Control].Word {
			t.Fatalf("%s: pills of %s", name, m.Control)
		}
	}
	made := union{}
	for _, sh := range d.Shapes {
		if sh.Kind == "contact" {
			made.join(sh.Terminals[0].Node, sh.Terminals[1].Node)
		}
	}
	wanted := union{}
	for _, c := range b.Controls {
		if c.Knob != nil {
			if dials[c.Name] != 1 || gangs[c.Name] != len(c.Knob.Parts)-1 {
				t.Fatalf("%s: %s has %d dials and %d marks", name, c.Name, dials[c.Name], gangs[c.Name])
			}
			continue
		}
		if switches[c.Name] != 1 {
			t.Fatalf("%s: %s has %d rooms", name, c.Name, switches[c.Name])
		}
		for _, g := range c.Switch.Position(s[c.Name].Word).Joins {
			for _, n := range g {
				wanted.join(g[0], n)
			}
		}
	}
	for _, u := range []union{made, wanted} {
		for a := range u {
			for x := range u {
				if (made.find(a) == made.find(x)) != (wanted.find(a) == wanted.find(x)) {
					t.Fatalf("%s: the contacts drawn (%v) join %s and %s otherwise than the switches do", name, contacts, a, x)
				}
			}
		}
	}
}

// union is a partition of names.
type union map[string]string

func (u union) find(a string) string {
	for u[a] != "" && u[a] != a {
		a = u[a]
	}
	return a
}

func (u union) join(a, b string) {
	if _, ok := u[a]; !ok {
		u[a] = a
	}
	if _, ok := u[b]; !ok {
		u[b] = b
	}
	u[u.find(a)] = u.find(b)
}

type segment struct{ a, b schematic.Point }

func (s segment) bounds() (x0, y0, x1, y1 float64) {
	return min(s.a.X, s.b.X), min(s.a.Y, s.b.Y), max(s.a.X, s.b.X), max(s.a.Y, s.b.Y)
}

// touches: level and upright segments have a point in common, within a tenth of a pixel.
func (s segment) touches(o segment) bool {
	const near = 0.1
	ax0, ay0, ax1, ay1 := s.bounds()
	bx0, by0, bx1, by1 := o.bounds()
	return ax0 <= bx1+near && bx0 <= ax1+near && ay0 <= by1+near && by0 <= ay1+near
}

func segments(w schematic.Wire) []segment {
	var all []segment
	for i := 1; i < len(w.Points); i++ {
		all = append(all, segment{w.Points[i-1], w.Points[i]})
	}
	return all
}

// connected: what touches, and what has equal names, makes exactly the nodes of the box.
func connected(t fataler, name string, b *box.Box, s box.Setting, d *schematic.Drawing) {
	t.Helper()
	u := union{}
	type thing struct {
		id, node string
		segments []segment
	}
	var things []thing
	dot := func(p schematic.Point) []segment { return []segment{{p, p}} }
	for i, w := range d.Wires {
		for _, x := range segments(w) {
			if x.a.X != x.b.X && x.a.Y != x.b.Y {
				t.Fatalf("%s: a slanting wire %v", name, x)
			}
		}
		things = append(things, thing{fmt.Sprintf("wire %d", i), w.Node, segments(w)})
	}
	for i, sh := range d.Shapes {
		for j, x := range sh.Terminals {
			things = append(things, thing{fmt.Sprintf("terminal %d.%d of %s%s", i, j, sh.Part, sh.Kind), x.Node, dot(x.At)})
		}
	}
	for i, g := range d.Grounds {
		things = append(things, thing{fmt.Sprintf("ground %d", i), network.Ground, dot(g.Point)})
		u.join(fmt.Sprintf("ground %d", i), "ground 0")
	}
	shown := map[string]string{}
	for i, l := range d.Nodes {
		things = append(things, thing{fmt.Sprintf("label %d", i), l.Node, dot(l.At)})
		text := strings.Join(l.Text.Lines, " ")
		if before, ok := shown[text]; ok && before != l.Node {
			t.Fatalf("%s: nodes %q and %q are both shown as %q", name, before, l.Node, text)
		}
		shown[text] = l.Node
		u.join(fmt.Sprintf("label %d", i), "named "+text)
	}
	touching := map[string]int{}
	for i, x := range things {
		u.join(x.id, x.id)
		for _, y := range things[:i] {
			for _, p := range x.segments {
				if slices.ContainsFunc(y.segments, p.touches) {
					u.join(x.id, y.id)
					touching[x.id]++
					touching[y.id]++
					break
				}
			}
		}
	}
	nodeOf, groupOf := map[string]thing{}, map[string]thing{}
	for _, x := range things {
		g := u.find(x.id)
		if o, ok := nodeOf[g]; ok && o.node != x.node {
			t.Fatalf("%s: %s of node %q is connected to %s of node %q", name, x.id, x.node, o.id, o.node)
		}
		nodeOf[g] = x
		if o, ok := groupOf[x.node]; ok && u.find(o.id) != g {
			t.Fatalf("%s: %s and %s are both node %q but are not connected", name, x.id, o.id, x.node)
		}
		groupOf[x.node] = x
	}
	// Ends of wires.
	for i, w := range d.Wires {
		examined.wires++
		for _, end := range []schematic.Point{w.Points[0], w.Points[len(w.Points)-1]} {
			at := segment{end, end}
			met := 0
			for _, x := range things {
				if x.id != fmt.Sprintf("wire %d", i) && slices.ContainsFunc(x.segments, at.touches) {
					met++
				}
			}
			if met == 0 {
				t.Fatalf("%s: wire %d of %q ends in the open at %v", name, i, w.Node, end)
			}
		}
	}
	for _, sh := range d.Shapes {
		if sh.Winding > 0 {
			dotted(t, name, b.Part(sh.Part), sh)
		}
		if sh.Kind == "tapped coil" {
			tapped(t, name, b.Part(sh.Part), sh)
		}
	}
}

// dotted: the dot of a winding is at its first node.
func dotted(t fataler, name string, p *box.Part, sh schematic.Shape) {
	t.Helper()
	first := p.Nodes[2*(sh.Winding-1)]
	for _, path := range sh.Paths {
		if !path.Fill {
			continue
		}
		var at schematic.Point
		if _, err := fmt.Sscanf(path.D, "M%f,%f", &at.X, &at.Y); err != nil {
			t.Fatalf("%s: %v", name, err)
		}
		near, best := "", math.Inf(1)
		for _, x := range sh.Terminals {
			if r := math.Hypot(at.X-x.At.X, at.Y-x.At.Y); r < best {
				near, best = x.Node, r
			}
		}
		if near != first {
			t.Fatalf("%s: the dot of %s.%d is at %s, not %s", name, p.Name, sh.Winding, near, first)
		}
		return
	}
	t.Fatalf("%s: %s.%d has no dot", name, p.Name, sh.Winding)
}

// tapped: the sections follow one another in the order of the file, and each node is led out from between the right two.
func tapped(t fataler, name string, p *box.Part, sh schematic.Shape) {
	t.Helper()
	near := func(a, b schematic.Point) bool { return math.Hypot(a.X-b.X, a.Y-b.Y) < 0.1 }
	var at []schematic.Point // of each node on the winding
	u := union{}
	leads := map[string]schematic.Point{}
	for i, path := range sh.Paths {
		all := drawn(path.D)
		first, last := all[0], all[len(all)-1]
		if strings.Contains(path.D, "C") {
			if len(at) == 0 {
				at = append(at, first)
			}
			if !near(at[len(at)-1], first) {
				t.Fatalf("%s: a section of %s begins at %v, not at %v", name, p.Name, first, at[len(at)-1])
			}
			at = append(at, last)
			continue
		}
		// A path may hold one lead or several; each begins with a move.
		for k, stroke := range strings.Split(path.D, "M")[1:] {
			points := drawn("M" + stroke)
			a, z := fmt.Sprint(i, k, "a"), fmt.Sprint(i, k, "z")
			leads[a], leads[z] = points[0], points[len(points)-1]
			u.join(a, z)
		}
	}
	if len(at) != len(p.Nodes) {
		t.Fatalf("%s: %s has %d nodes and %d sections", name, p.Name, len(p.Nodes), len(at)-1)
	}
	for k, n := range p.Nodes {
		leads["node "+n] = at[k]
		u.join("node "+n, "node "+n)
	}
	for _, x := range sh.Terminals {
		leads["terminal "+x.Node] = x.At
		u.join("terminal "+x.Node, "terminal "+x.Node)
	}
	for a, x := range leads {
		for b, y := range leads {
			if near(x, y) {
				u.join(a, b)
			}
		}
	}
	for _, n := range p.Nodes {
		for _, m := range p.Nodes {
			if (u.find("node "+n) == u.find("terminal "+m)) != (n == m) {
				t.Fatalf("%s: terminal %s of %s is led out at %s", name, m, p.Name, n)
			}
		}
	}
}

type area struct {
	what string
	r    schematic.Rect
}

func (a area) overlaps(b area) bool {
	const touch = 0.5
	return a.r.X+touch < b.r.X+b.r.W && b.r.X+touch < a.r.X+a.r.W && a.r.Y+touch < b.r.Y+b.r.H && b.r.Y+touch < a.r.Y+a.r.H
}

func within(inner, outer schematic.Rect) bool {
	const slack = 0.5
	return inner.X >= outer.X-slack && inner.Y >= outer.Y-slack && inner.X+inner.W <= outer.X+outer.W+slack && inner.Y+inner.H <= outer.Y+outer.H+slack
}

// named says whether an area is the name of one of a coil's taps within the bounds of the coil, and clear of its lines.
func named(d *schematic.Drawing, a, b area) bool {
	for _, n := range d.Nodes {
		if n.Text.Box != a.r {
			continue
		}
		for _, s := range d.Shapes {
			if s.Kind != "tapped coil" || s.Box != b.r || !slices.ContainsFunc(s.Terminals, func(x schematic.Terminal) bool { return x.At == n.At }) {
				continue
			}
			for _, p := range s.Paths {
				for _, at := range drawn(p.D) {
					if (area{"", schematic.Rect{X: at.X - 0.6, Y: at.Y - 0.6, W: 1.2, H: 1.2}}).overlaps(a) {
						return false
					}
				}
			}
			return true
		}
	}
	return false
}

// drawn are points along path data, a curve taken as the polygon of its controls.
func drawn(data string) []schematic.Point {
	var all []schematic.Point
	var at, start schematic.Point
	for _, step := range regexp.MustCompile(`[MLCZ][^MLCZ]*`).FindAllString(data, -1) {
		for pair := range strings.FieldsSeq(step[1:]) {
			var q schematic.Point
			if _, err := fmt.Sscanf(pair, "%f,%f", &q.X, &q.Y); err != nil {
				panic(err)
			}
			if step[0] == 'M' {
				at, start = q, q
			}
			for k := range 41 {
				f := float64(k) / 40
				all = append(all, schematic.Point{X: at.X + f*(q.X-at.X), Y: at.Y + f*(q.Y-at.Y)})
			}
			at = q
		}
		if step[0] == 'Z' {
			at = start
		}
	}
	return all
}

// apart: nothing lies on anything else, nor outside the drawing.
func apart(t fataler, name string, d *schematic.Drawing) {
	t.Helper()
	var all []area
	add := func(what string, r schematic.Rect) {
		if r.W > 0 && r.H > 0 {
			all = append(all, area{what, r})
		}
	}
	for _, s := range d.Shapes {
		add(fmt.Sprintf("%s %s.%d %s", s.Kind, s.Part, s.Winding, s.Control), s.Box)
		if !within(s.Label.Box, s.Box) {
			add(fmt.Sprintf("label of %s.%d %s", s.Part, s.Winding, s.Control), s.Label.Box)
		}
	}
	for _, m := range d.Dials {
		add("dial "+m.Control, m.Room)
		if !within(m.Title.Box, m.Room) || !within(schematic.Rect{X: m.Center.X - m.Radius, Y: m.Center.Y - m.Radius, W: 2 * m.Radius, H: 2 * m.Radius}, m.Room) {
			t.Fatalf("%s: dial %s is not in its room", name, m.Control)
		}
	}
	for _, m := range d.Gangs {
		add("gang "+m.Control+" at "+m.Part, m.Room)
	}
	for _, m := range d.Switches {
		add("switch "+m.Control, m.Room)
		for i, p := range m.Pills {
			if !within(p.Room, m.Room) || !within(m.Title.Box, m.Room) {
				t.Fatalf("%s: %s is not in its room", name, p.Position)
			}
			for _, o := range m.Pills[:i] {
				if (area{"", p.Room}).overlaps(area{"", o.Room}) {
					t.Fatalf("%s: pills %s and %s overlap", name, p.Position, o.Position)
				}
			}
		}
	}
	for _, n := range d.Nodes {
		add("name of node "+n.Node, n.Text.Box)
	}
	for _, x := range d.Texts {
		if !slices.ContainsFunc(d.Shapes, func(s schematic.Shape) bool { return within(x.Box, s.Box) }) {
			add("text "+strings.Join(x.Lines, " "), x.Box)
		}
	}
	for _, k := range d.Couplings {
		add(fmt.Sprintf("coupling %s %d %d", k.Part, k.First, k.Second), k.Box)
		add(fmt.Sprintf("text of coupling %s %d %d", k.Part, k.First, k.Second), k.Text.Box)
	}
	for _, g := range d.Grounds {
		add("ground sign", schematic.Rect{X: g.X - 8, Y: g.Y + 1, W: 16, H: 16})
	}
	whole := schematic.Rect{W: d.Width, H: d.Height}
	for i, a := range all {
		if !within(a.r, whole) {
			t.Fatalf("%s: %s at %v is outside the drawing", name, a.what, a.r)
		}
		for _, b := range all[:i] {
			examined.pairs++
			if a.overlaps(b) && !named(d, a, b) {
				t.Fatalf("%s: %s %v lies on %s %v", name, a.what, a.r, b.what, b.r)
			}
		}
	}
	// Wires run through nothing; a lead may run to a terminal of the symbol.
	for _, w := range d.Wires {
		for _, s := range segments(w) {
			x0, y0, x1, y1 := s.bounds()
			line := area{"wire", schematic.Rect{X: x0 - 0.6, Y: y0 - 0.6, W: x1 - x0 + 1.2, H: y1 - y0 + 1.2}}
			for i, a := range all {
				if !line.overlaps(a) {
					continue
				}
				examined.crossings++
				own := false
				for _, sh := range d.Shapes {
					if a.r == sh.Box && strings.HasPrefix(a.what, sh.Kind) {
						for _, x := range sh.Terminals {
							own = own || (segment{x.At, x.At}).touches(s) && (x.At == s.a || x.At == s.b)
						}
					}
				}
				if !own {
					t.Fatalf("%s: a wire of %q %v runs through %s %v (%d)", name, w.Node, s, a.what, a.r, i)
				}
			}
		}
	}
}
