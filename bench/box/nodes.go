package box

import (
	"fmt"

	"knobwise/bench/document"
	"knobwise/bench/form"
)

var nodeName = form.Name{Of: "a node"}

// pairOfNodes is how a part with two ends is connected. It reads as a []string of two.
var pairOfNodes = form.ListOf{Shape: nodeName, Least: 2, Most: 2, What: "two nodes like [a, ground]"}

// chainOfNodes is how a tapped coil is connected. It reads as a []string.
var chainOfNodes = form.ListOf{Shape: nodeName, Least: 2, What: "one end, each tap in winding order, the other end, like [a, t1, t2]"}

// pairsOfNodes is how windings are connected. It reads as a []any of []any of two strings.
var pairsOfNodes = form.ListOf{Shape: pairOfNodes, Least: 2, Most: mostWindings, What: "a pair of nodes per winding like [[p, q], [r, s]]"}

// mostWindings bounds a part to what can be wound; solving takes the cube of their number.
const mostWindings = 12

// nodesOf reads the strings of a list of nodes and refuses a part with two ends on one node.
func nodesOf(n *document.Node, part string, read any) ([]string, error) {
	all := form.Items[string](read.([]any))
	for i := 1; i < len(all); i++ {
		for j := range i {
			if all[i] == all[j] {
				return nil, n.Items[i].Fault(fmt.Sprintf("two ends of %s are at node %q", part, all[i]), "give each end its own node, or leave the part out")
			}
		}
	}
	return all, nil
}
