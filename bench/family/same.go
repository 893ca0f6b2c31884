package family

import (
	"crypto/sha256"
	"fmt"
	"maps"
	"slices"
	"strings"

	"knobwise/physics/network"
)

// arm is a part, or what stands for several, between two nodes.
type arm struct{ label, from, to string }

// canonical is a text that is the same for two circuits that are electrically the same: parts in series may change places,
// two guessed parts of one kind in series or in parallel are one, three guessed ones of a kind in a star are a triangle, and
// the names of inner nodes do not count.
//
// Inner nodes are told apart by what hangs on them, by what hangs on their neighbours, and so on (colour refinement). That
// tells circuits apart that are as small as these and have their sockets and the moving parts for landmarks.
func (c *circuit) canonical() string {
	var arms, others []arm // others are windings and contacts, which are not merged
	for i, y := range c.parts {
		for _, w := range y.windings {
			others = append(others, arm{"winding", w.from, fmt.Sprintf("assembly %d", i)})
		}
		if y.kind != "coupled coils" {
			arms = append(arms, arm{y.label(), y.from, y.to})
		}
	}
	for at, groups := range c.joins {
		for _, g := range groups {
			others = append(others, arm{"joined at " + at.Name, g[0], g[1]})
		}
	}
	colour := map[string]string{network.Ground: "0", c.antenna: "a", c.receiver: "b"}
	kept := func(node string) bool {
		return colour[node] != "" || slices.ContainsFunc(others, func(x arm) bool { return x.from == node || x.to == node })
	}
	arms = append(reduce(arms, kept), others...)
	if c.antenna == c.receiver {
		colour[c.antenna] = "ab"
	}
	inner := map[string]bool{}
	for _, x := range arms {
		for _, n := range []string{x.from, x.to} {
			inner[n] = inner[n] || colour[n] == ""
		}
	}
	for range inner {
		next := maps.Clone(colour)
		for n, is := range inner {
			if !is {
				continue
			}
			var seen []string
			for _, x := range arms {
				if x.from == n {
					seen = append(seen, x.label+" "+colour[x.to])
				}
				if x.to == n {
					seen = append(seen, x.label+" "+colour[x.from])
				}
			}
			slices.Sort(seen)
			next[n] = fmt.Sprintf("%x", sha256.Sum256([]byte(colour[n]+": "+strings.Join(seen, ", "))))
		}
		colour = next
	}
	var text []string
	for _, x := range arms {
		text = append(text, x.label+ends(colour[x.from], colour[x.to]))
	}
	slices.Sort(text)
	return strings.Join(text, "; ")
}

// label names what a part is, apart from where it stands.
func (y part) label() string {
	label := y.kind
	switch {
	case y.moves != nil:
		return "moved " + y.moves.Name
	case y.role == "stray":
		return y.role
	case y.stray:
		label += " with stray"
	}
	if y.selects != nil {
		label += " by " + y.selects.Name
	}
	return label
}

// merges are the labels of which two in series or in parallel are one.
var merges = []string{"capacitor", "inductor", "resistor"}

func ends(a, b string) string { return "[" + min(a, b) + " " + max(a, b) + "]" }

// together is the label of arms in series or in parallel.
func together(how string, labels ...string) string {
	var all []string
	for _, l := range labels {
		if inner, ok := strings.CutPrefix(l, how+"("); ok {
			all = append(all, split(strings.TrimSuffix(inner, ")"))...)
			continue
		}
		all = append(all, l)
	}
	slices.Sort(all)
	kept := all[:0]
	for i, l := range all {
		if i == 0 || l != all[i-1] || !slices.Contains(merges, l) {
			kept = append(kept, l)
		}
	}
	if len(kept) == 1 {
		return kept[0]
	}
	return how + "(" + strings.Join(kept, ", ") + ")"
}

// split cuts a list at the commas outside brackets.
func split(text string) (all []string) {
	depth, from := 0, 0
	for i, r := range text {
		switch r {
		case '(':
			depth++
		case ')':
			depth--
		case ',':
			if depth == 0 {
				all = append(all, strings.TrimSpace(text[from:i]))
				from = i + 1
			}
		}
	}
	return append(all, strings.TrimSpace(text[from:]))
}

// reduce merges arms until nothing is left to merge.
func reduce(arms []arm, kept func(node string) bool) []arm {
	for {
		next, ok := reduceOnce(arms, kept)
		if !ok {
			return arms
		}
		arms = next
	}
}

func reduceOnce(arms []arm, kept func(node string) bool) ([]arm, bool) {
	for i, x := range arms {
		for j := range i {
			if ends(x.from, x.to) == ends(arms[j].from, arms[j].to) {
				arms[j].label = together("parallel", arms[j].label, x.label)
				return slices.Delete(arms, i, i+1), true
			}
		}
	}
	at := map[string][]int{}
	var nodes []string
	for i, x := range arms {
		for _, n := range []string{x.from, x.to} {
			if at[n] == nil {
				nodes = append(nodes, n)
			}
			at[n] = append(at[n], i)
		}
	}
	other := func(x arm, n string) string {
		if x.from == n {
			return x.to
		}
		return x.from
	}
	for _, n := range nodes {
		if kept(n) {
			continue
		}
		var rest []arm
		for i, x := range arms {
			if !slices.Contains(at[n], i) {
				rest = append(rest, x)
			}
		}
		switch len(at[n]) {
		case 2:
			x, y := arms[at[n][0]], arms[at[n][1]]
			return append(rest, arm{together("series", x.label, y.label), other(x, n), other(y, n)}), true
		case 3:
			x, y, z := arms[at[n][0]], arms[at[n][1]], arms[at[n][2]]
			if x.label == y.label && y.label == z.label && slices.Contains(merges, x.label) {
				a, b, c := other(x, n), other(y, n), other(z, n)
				return append(rest, arm{x.label, a, b}, arm{x.label, b, c}, arm{x.label, a, c}), true
			}
		}
	}
	return arms, false
}
