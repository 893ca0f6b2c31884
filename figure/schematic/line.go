package schematic

import (
	"slices"

	"knobwise/bench/box"
)

// plan says where everything goes: the nodes of the line from left to right, and what lies between, below, above it.
type plan struct {
	nodes   []string
	between []*edge // between[i] joins nodes[i] and nodes[i+1]; nil where windings or a tapped coil do, or nothing
	taps    []*item // taps[i] is the tapped coil whose taps are nodes[i] and nodes[i+1]; nil for most
	shunts  [][]*edge
	bridges []bridge
	islands []*edge          // to ground, touching the line only by coupling
	under   map[string]*edge // shunts that hang from the tap of a coil in the line
	rest    []*edge
	lone    []*item // tapped coils with three or more nodes in use that fit nowhere
}

// bridge joins two nodes of the line that are no neighbours.
type bridge struct {
	from, to int
	edge     *edge
}

// searches bounds the number of lines tried; a circuit with more has no textbook form anyway.
const searches = 4000

// step is one way from a node of the line to the next.
type step struct {
	to   string
	coil *item
}

// plan finds the line on which the most can be drawn as a textbook would.
func (c *circuit) plan() *plan {
	edges := c.edges()
	hot := map[string]bool{c.antenna: true, c.receiver: true}
	for _, it := range c.coils {
		for _, u := range it.used {
			hot[it.nodes[u]] = true
		}
	}
	fixed := map[string]bool{}
	for n := range hot {
		fixed[n] = true
	}
	for _, e := range edges {
		if e.item != nil && e.item.winding > 0 && (e.a == ground || e.b == ground) {
			fixed[e.a], fixed[e.b] = true, true
		}
	}
	first := c.reduced(edges, fixed)
	steps := c.steps(first)
	var best *plan
	worst := 0
	tries := 0
	seen := map[string]bool{}
	var walk func(path []string, coils []*item)
	walk = func(path []string, coils []*item) {
		tries++
		if tries > searches {
			return
		}
		here := path[len(path)-1]
		if here == c.receiver {
			keep := map[string]bool{}
			for n := range hot {
				keep[n] = true
			}
			for _, n := range path {
				keep[n] = true
			}
			p := c.arrange(path, coils, c.reduced(first, keep))
			if cost := p.cost(); best == nil || cost < worst {
				best, worst = p, cost
			}
			return
		}
		seen[here] = true
		for _, s := range steps[here] {
			if !seen[s.to] {
				walk(append(slices.Clone(path), s.to), append(slices.Clone(coils), s.coil))
			}
		}
		seen[here] = false
	}
	walk([]string{c.antenna}, nil)
	if best == nil {
		path := []string{c.antenna}
		var coils []*item
		if c.receiver != c.antenna {
			path, coils = append(path, c.receiver), []*item{nil}
		}
		best = c.arrange(path, coils, c.reduced(first, hot))
	}
	return best
}

// steps lists the ways on from every node: along parts, from winding to winding, from tap to tap.
func (c *circuit) steps(edges []*edge) map[string][]step {
	all := map[string][]step{}
	add := func(a, b string, coil *item) {
		if a == ground || b == ground || a == b {
			return
		}
		for _, s := range all[a] {
			if s.to == b && s.coil == coil {
				return
			}
		}
		all[a] = append(all[a], step{b, coil})
	}
	hot := map[*box.Part]map[int]string{}
	for _, e := range edges {
		add(e.a, e.b, nil)
		add(e.b, e.a, nil)
		for _, it := range e.items() {
			if it.winding == 0 || e.a != ground && e.b != ground {
				continue
			}
			if hot[it.part] == nil {
				hot[it.part] = map[int]string{}
			}
			hot[it.part][it.winding-1] = e.a
			if e.a == ground {
				hot[it.part][it.winding-1] = e.b
			}
		}
	}
	for _, it := range c.live {
		if it.winding == 0 {
			continue
		}
		for _, k := range couplings(it.part) {
			a, b := hot[it.part][k.First], hot[it.part][k.Second]
			if a != "" && b != "" {
				add(a, b, nil)
				add(b, a, nil)
			}
		}
	}
	for _, it := range c.coils {
		for _, i := range it.used {
			for _, j := range it.used {
				if i != j && it.joins(i, j) {
					add(it.nodes[i], it.nodes[j], it)
				}
			}
		}
	}
	return all
}

// joins says whether the line can pass a tapped coil from one node to another: with one end at ground it stands upright
// and any two do; else it lies in the line and only the outermost do.
func (it *item) joins(i, j int) bool {
	first, last := it.used[0], it.used[len(it.used)-1]
	if it.stands() {
		return true
	}
	return it.nodes[first] != ground && it.nodes[last] != ground && min(i, j) == first && max(i, j) == last
}

func (it *item) stands() bool { return it.nodes[0] == ground || it.nodes[len(it.nodes)-1] == ground }

func (it *item) index(node string) int { return slices.Index(it.nodes, node) }

// arrange sorts merged edges round a line.
func (c *circuit) arrange(path []string, coils []*item, edges []*edge) *plan {
	p := &plan{nodes: path, between: make([]*edge, len(path)), taps: make([]*item, len(path)), shunts: make([][]*edge, len(path))}
	placed := map[*item]bool{}
	for i, coil := range coils {
		if coil != nil && !placed[coil] {
			p.taps[i] = coil
			placed[coil] = true
		}
	}
	for _, it := range c.coils {
		if !placed[it] {
			p.lone = append(p.lone, it)
		}
	}
	at := map[string]int{}
	for i, n := range path {
		at[n] = i
	}
	nodes := map[string]int{} // how many edges end there
	for _, e := range edges {
		nodes[e.a]++
		nodes[e.b]++
	}
	var bridges []bridge
	for _, e := range edges {
		i, onA := at[e.a]
		j, onB := at[e.b]
		switch {
		case onA && onB:
			if i > j {
				i, j, e = j, i, e.reversed()
			}
			if j == i+1 && p.taps[i] == nil {
				p.between[i] = e
			} else {
				bridges = append(bridges, bridge{i, j, e})
			}
		case onA && e.b == ground, onB && e.a == ground:
			n := i
			if onB {
				n, e = j, e.reversed()
			}
			if e.parallel {
				p.shunts[n] = append(p.shunts[n], e.kids...)
			} else {
				p.shunts[n] = append(p.shunts[n], e)
			}
		case (e.a == ground && nodes[e.b] == 1 || e.b == ground && nodes[e.a] == 1) && hasWinding(e):
			island := e
			if e.a == ground {
				island = e.reversed()
			}
			p.islands = append(p.islands, island)
		default:
			p.rest = append(p.rest, e)
		}
	}
	// Short bridges first; one that would cross another is left to the names of its nodes.
	slices.SortStableFunc(bridges, func(a, b bridge) int { return (a.to - a.from) - (b.to - b.from) })
	for _, b := range bridges {
		crosses := slices.ContainsFunc(p.bridges, func(o bridge) bool {
			return o.from < b.from && b.from < o.to && o.to < b.to || b.from < o.from && o.from < b.to && b.to < o.to
		})
		if crosses {
			p.rest = append(p.rest, b.edge)
		} else {
			p.bridges = append(p.bridges, b)
		}
	}
	return p
}

// hangTaps takes what goes from a tap of a coil in the line to ground, and from nowhere else, out of the rest: it hangs
// from the tap. Taps where something idle is connected are left to their names.
func (p *plan) hangTaps(idle []*item) {
	p.under = map[string]*edge{}
	for i, it := range p.taps {
		if it == nil || it.stands() {
			continue
		}
		for _, u := range it.used {
			n := it.nodes[u]
			var at []int
			for k, e := range p.rest {
				if e.a == n || e.b == n {
					at = append(at, k)
				}
			}
			busy := slices.ContainsFunc(slices.Concat(idle, p.lone), func(o *item) bool { return slices.Contains(o.nodes, n) })
			if n == ground || n == p.nodes[i] || n == p.nodes[i+1] || len(at) != 1 || busy {
				continue
			}
			if e := p.rest[at[0]].from(n); e.b == ground {
				p.under[n] = e
				p.rest = slices.Delete(p.rest, at[0], at[0]+1)
			}
		}
	}
}

func hasWinding(e *edge) bool {
	return slices.ContainsFunc(e.items(), func(it *item) bool { return it.winding > 0 })
}

// cost is smaller the more a plan looks like a textbook's.
func (p *plan) cost() int {
	cost := 0
	for _, e := range p.rest {
		cost += 1000 * len(e.items())
	}
	cost += 1500 * len(p.lone)
	cost += 60*len(p.bridges) + 10*len(p.islands)
	for i := range len(p.nodes) - 1 {
		if p.between[i] == nil && p.taps[i] == nil {
			cost += 30
		}
		if it := p.taps[i]; it != nil {
			for _, u := range it.used {
				if n := it.nodes[u]; n != ground && n != p.nodes[i] && n != p.nodes[i+1] {
					cost += 500
				}
			}
		}
	}
	return cost
}
