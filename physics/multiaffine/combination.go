package multiaffine

import (
	"bytes"
	"fmt"
	"slices"
	"sort"

	"knobwise/physics/network"
)

// state is what a contact does in a combination.
type state byte

const (
	// apart: it carries no current, being open or in parallel with contacts that already join its ends.
	apart state = iota
	// looped: it is closed across what conducts already, and so has no voltage.
	looped
	// merged: it is closed and is the first link between two pieces that did not hang together. Alone it carries
	// no current; it only lets later contacts close a loop through it.
	merged
)

// Plan is a list of combinations of closed contacts, in an order in which neighbours share most of their work.
//
// A View has all contacts open; pieces of the circuit may then hang free (a coil that no contact reaches), each with its
// potential fixed somewhere by the solver, where no current can flow as long as none is brought in. Which contacts bring
// what is topology, known before any number is: the contacts that are closed are taken one by one with two spanning
// forests (J. B. Kruskal 1956), one of galvanic pieces and one of joined nodes. So no piece ever needs a
// leak to ground, and nothing is computed as the small rest of a large bridge.
type Plan struct {
	contacts int
	states   []state     // combinations × contacts
	order    []int       // combinations in the order of the walk
	shared   []int       // how many contacts of order[i] are as in order[i-1]
	merges   [][][]touch // for order[i]: what each merged contact from shared[i] on touches
}

// touch is a later contact with one end in a piece that is being merged, and by which share of its current the merging
// contact brings it back.
type touch struct {
	port int
	sign complex128 // 1 or -1
}

// Plan prepares combinations: for each, which contacts are closed, in the order of Circuit.Contacts.
// The error names a combination of a wrong length.
func (m *Model) Plan(combinations [][]bool) (*Plan, error) {
	n := len(m.circuit.Contacts)
	p := &Plan{contacts: n}
	t := m.topology()
	for i, c := range combinations {
		if len(c) != n {
			return nil, fmt.Errorf("multiaffine: combination %d gives the state of %d contacts; there are %d", i, len(c), n)
		}
		p.states = append(p.states, t.states(c, nil)...)
		p.order = append(p.order, i)
	}
	of := func(i int) []byte {
		b := make([]byte, n)
		for k, s := range p.states[i*n : i*n+n] {
			b[k] = byte(s)
		}
		return b
	}
	sort.SliceStable(p.order, func(i, j int) bool { return bytes.Compare(of(p.order[i]), of(p.order[j])) < 0 })
	for i, c := range p.order {
		same := 0
		if i > 0 {
			for before := of(p.order[i-1]); same < n && of(c)[same] == before[same]; {
				same++
			}
		}
		p.shared = append(p.shared, same)
		var merges [][]touch
		t.states(combinations[c], func(contact int, touched []touch) {
			if contact >= same {
				merges = append(merges, touched)
			}
		})
		p.merges = append(p.merges, merges)
	}
	return p, nil
}

// Len is the number of combinations.
func (p *Plan) Len() int { return len(p.order) }

// topology is the pieces and the nodes at the ends of contacts, numbered; ground's are 0.
type topology struct {
	pieces, nodes           [][2]int // of each contact's two ends
	pieceCount, joinedCount int
}

func (m *Model) topology() topology {
	var t topology
	pieces, nodes := map[string]int{network.Ground: 0}, map[string]int{network.Ground: 0}
	number := func(of map[string]int, name string) int {
		i, ok := of[name]
		if !ok {
			i = len(of)
			of[name] = i
		}
		return i
	}
	for _, id := range m.circuit.Contacts {
		b := m.circuit.Network.Element(id).Branches()[0]
		t.pieces = append(t.pieces, [2]int{number(pieces, m.ties.Galvanic[b.From]), number(pieces, m.ties.Galvanic[b.To])})
		t.nodes = append(t.nodes, [2]int{number(nodes, m.ties.Joined[b.From]), number(nodes, m.ties.Joined[b.To])})
	}
	t.pieceCount, t.joinedCount = len(pieces), len(nodes)
	return t
}

// states finds what each contact does when the given ones are closed, and tells merging of each one that merges.
func (t topology) states(closed []bool, merging func(contact int, touched []touch)) []state {
	s := make([]state, len(closed))
	pieces, nodes := newSets(t.pieceCount), newSets(t.joinedCount)
	for k, isClosed := range closed {
		if !isClosed || !nodes.union(t.nodes[k]) {
			continue
		}
		s[k] = looped
		// The piece that loses its own fixed potential: never ground's, which has the lowest number.
		gone := max(pieces.find(t.pieces[k][0]), pieces.find(t.pieces[k][1]))
		into := func(contact int) int {
			net := 0
			if pieces.find(t.pieces[contact][0]) == gone {
				net++
			}
			if pieces.find(t.pieces[contact][1]) == gone {
				net--
			}
			return net
		}
		back := into(k)
		if back == 0 {
			continue
		}
		s[k] = merged
		if merging != nil {
			var touched []touch
			for later := k + 1; later < len(closed); later++ {
				if net := into(later); net != 0 {
					touched = append(touched, touch{later, complex(float64(-net*back), 0)})
				}
			}
			merging(k, slices.Clip(touched))
		}
		pieces.union(t.pieces[k])
	}
	return s
}

// sets is a union-find over numbers; each set is named by its lowest.
type sets []int

func newSets(n int) sets {
	s := make(sets, n)
	for i := range s {
		s[i] = i
	}
	return s
}

func (s sets) find(i int) int {
	for s[i] != i {
		s[i] = s[s[i]]
		i = s[i]
	}
	return i
}

// union joins two sets and reports whether they were apart.
func (s sets) union(ends [2]int) bool {
	i, j := s.find(ends[0]), s.find(ends[1])
	s[max(i, j)] = min(i, j)
	return i != j
}
