package schematic

import (
	"slices"

	"knobwise/bench/box"
	"knobwise/physics/network"
)

const ground = network.Ground

// item is what is drawn as one symbol: a part, a winding, a closed contact, an open end. It goes from its first node to
// its second; a tapped coil has more.
type item struct {
	kind    string
	part    *box.Part
	winding int // from 1; 0 where the part is one symbol
	control *box.Control
	nodes   []string
	used    []int // of a tapped coil: indices of the nodes in use, in winding order
	pale    bool
	value   string
}

// edge is an item, or several merged, between two nodes.
type edge struct {
	a, b string
	item *item // nil where merged
	// kids are merged in series, in order from a to b, or in parallel, all from a to b.
	kids     []*edge
	parallel bool
}

// reversed is the same edge seen from the other end.
func (e *edge) reversed() *edge {
	r := &edge{a: e.b, b: e.a, item: e.item, parallel: e.parallel}
	for _, k := range e.kids {
		r.kids = append(r.kids, k.reversed())
	}
	if !e.parallel {
		slices.Reverse(r.kids)
	}
	return r
}

func (e *edge) from(node string) *edge {
	if e.a == node {
		return e
	}
	return e.reversed()
}

// items lists what the edge holds.
func (e *edge) items() []*item {
	if e.item != nil {
		return []*item{e.item}
	}
	var all []*item
	for _, k := range e.kids {
		all = append(all, k.items()...)
	}
	return all
}

// circuit is a box at a setting, sorted into what carries current and what does not.
type circuit struct {
	antenna, receiver string
	live              []*item // two-ended, in the order of the file
	coils             []*item // tapped coils with three or more nodes in use
	open              []*item // windings with a free end, of a part that is live
	idle              []*item
	order             map[string]int // of nodes, as they first appear
}

func isWindings(p *box.Part) bool {
	return p.Kind.Name == "coupled coils" || p.Kind.Name == "transformer"
}

func isTwoPort(kind string) bool { return kind == "line" || kind == "measured two-port" }

// itemsOf lists everything that has to be drawn.
func itemsOf(b *box.Box, s box.Setting, all map[*box.Part]float64) []*item {
	var items []*item
	for _, p := range b.Parts {
		switch {
		case isWindings(p):
			for i := 0; i+1 < len(p.Nodes); i += 2 {
				items = append(items, &item{kind: "winding", part: p, winding: i/2 + 1, nodes: p.Nodes[i : i+2], value: windingText(p, i/2, all)})
			}
		default:
			items = append(items, &item{kind: p.Kind.Name, part: p, nodes: p.Nodes, value: valueText(p, all)})
		}
	}
	for _, c := range b.Controls {
		if c.Switch == nil {
			continue
		}
		for _, group := range c.Switch.Position(s[c.Name].Word).Joins {
			var distinct []string
			for _, n := range group {
				if !slices.Contains(distinct, n) {
					distinct = append(distinct, n)
				}
			}
			for i := 1; i < len(distinct); i++ {
				items = append(items, &item{kind: "contact", control: c, nodes: []string{distinct[i-1], distinct[i]}})
			}
		}
	}
	return items
}

// sorted finds out what can carry current. A part with a free end cannot, nor one that nothing connects to either
// socket; a line's open end is no free end.
func sorted(b *box.Box, items []*item) *circuit {
	c := &circuit{antenna: b.Antenna, receiver: b.Receiver, order: map[string]int{}}
	fixed := map[string]bool{ground: true, b.Antenna: true, b.Receiver: true}
	degree := map[string]int{}
	add := func(n string) {
		if _, ok := c.order[n]; !ok {
			c.order[n] = len(c.order)
		}
	}
	add(b.Antenna)
	for _, it := range items {
		for _, n := range it.nodes {
			add(n)
			degree[n]++
		}
	}
	add(b.Receiver)
	alive := map[*item]bool{}
	for _, it := range items {
		alive[it] = true
	}
	free := func(n string) bool { return degree[n] < 2 && !fixed[n] }
	drop := func(it *item) {
		alive[it] = false
		for _, n := range it.nodes {
			degree[n]--
		}
	}
	for again := true; again; {
		again = false
		for _, it := range items {
			if !alive[it] {
				continue
			}
			ends := 0
			for _, n := range it.nodes {
				if free(n) {
					ends++
				}
			}
			loose := ends > 0
			switch {
			case it.kind == "tapped coil":
				loose = len(it.nodes)-ends < 2
			case isTwoPort(it.kind):
				loose = ends == 2
			}
			if loose {
				drop(it)
				again = true
			}
		}
	}
	// What is reached from a socket without passing through ground; windings reach each other.
	groups := map[string]string{}
	var find func(string) string
	find = func(n string) string {
		if up, ok := groups[n]; ok && up != n {
			groups[n] = find(up)
			return groups[n]
		}
		return n
	}
	join := func(a, b string) {
		if a != ground && b != ground {
			groups[find(a)] = find(b)
		}
	}
	partOf := map[*box.Part]string{}
	for _, it := range items {
		if !alive[it] {
			continue
		}
		first := ""
		for _, n := range it.nodes {
			if n == ground || it.kind == "tapped coil" && free(n) {
				continue
			}
			if it.winding > 0 && partOf[it.part] == "" {
				partOf[it.part] = n
			}
			if it.winding > 0 {
				join(n, partOf[it.part])
			}
			if first == "" {
				first = n
			}
			join(first, n)
		}
	}
	live := func(it *item) bool {
		for _, n := range it.nodes {
			if n != ground && (find(n) == find(c.antenna) || find(n) == find(c.receiver)) {
				return true
			}
		}
		return false
	}
	livePart := map[*box.Part]bool{}
	for _, it := range items {
		if alive[it] && it.winding > 0 && live(it) {
			livePart[it.part] = true
		}
	}
	for _, it := range items {
		switch {
		case alive[it] && live(it):
			if it.kind == "tapped coil" {
				for i, n := range it.nodes {
					if !free(n) {
						it.used = append(it.used, i)
					}
				}
				if len(it.used) > 2 {
					c.coils = append(c.coils, it)
					continue
				}
			}
			c.live = append(c.live, it)
		case it.winding > 0 && livePart[it.part] && slices.Contains(it.nodes, ground):
			it.pale = true
			c.open = append(c.open, it)
		default:
			it.pale = true
			c.idle = append(c.idle, it)
		}
	}
	return c
}

// ends are the two nodes between which a live item lies.
func (it *item) ends() (string, string) {
	if len(it.used) > 0 {
		return it.nodes[it.used[0]], it.nodes[it.used[len(it.used)-1]]
	}
	return it.nodes[0], it.nodes[len(it.nodes)-1]
}

// edges are the live items; a line whose far end is open ends there.
func (c *circuit) edges() []*edge {
	degree := map[string]int{}
	for _, it := range append(slices.Clone(c.live), c.coils...) {
		for _, n := range it.nodes {
			degree[n]++
		}
	}
	var all []*edge
	for _, it := range c.live {
		a, b := it.ends()
		e := &edge{a: a, b: b, item: it}
		if isTwoPort(it.kind) {
			for _, n := range []string{a, b} {
				if degree[n] == 1 && n != c.antenna && n != c.receiver && n != ground {
					end := &edge{a: n, b: ground, item: &item{kind: "open end", nodes: []string{n, ground}}}
					e = &edge{a: e.from(n).b, b: ground, kids: []*edge{e.from(n).reversed(), end}}
					break
				}
			}
		}
		all = append(all, e)
	}
	return all
}

// reduced merges edges in series at nodes that are not fixed, and edges in parallel, until nothing is left to merge.
func (c *circuit) reduced(edges []*edge, fixed map[string]bool) []*edge {
	edges = slices.Clone(edges)
	nodes := make([]string, 0, len(c.order))
	for n := range c.order {
		nodes = append(nodes, n)
	}
	slices.SortFunc(nodes, func(a, b string) int { return c.order[a] - c.order[b] })
	for again := true; again; {
		again = false
		for i := 0; i < len(edges); i++ {
			for j := i + 1; j < len(edges); j++ {
				e, f := edges[i], edges[j]
				if e.a == f.b && e.b == f.a && e.a != e.b {
					f = f.reversed()
				}
				if e.a != f.a || e.b != f.b {
					continue
				}
				edges[i] = merged(e, f, true)
				edges = slices.Delete(edges, j, j+1)
				j--
				again = true
			}
		}
		for _, n := range nodes {
			if fixed[n] || n == ground {
				continue
			}
			var at []int
			for i, e := range edges {
				if e.a == n || e.b == n {
					at = append(at, i)
				}
			}
			if len(at) != 2 {
				continue
			}
			e, f := edges[at[0]].from(n).reversed(), edges[at[1]].from(n)
			if e.a == f.b {
				continue
			}
			edges[at[0]] = merged(e, f, false)
			edges = slices.Delete(edges, at[1], at[1]+1)
			again = true
			break // parallel edges come first
		}
	}
	return edges
}

// merged joins two edges; those that are already merged in the same way lend their kids.
func merged(e, f *edge, parallel bool) *edge {
	m := &edge{a: e.a, b: f.b, parallel: parallel}
	for _, x := range []*edge{e, f} {
		if x.item == nil && x.parallel == parallel {
			m.kids = append(m.kids, x.kids...)
		} else {
			m.kids = append(m.kids, x)
		}
	}
	return m
}
