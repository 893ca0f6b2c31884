package box

import (
	"knobwise/bench/folder"
	"knobwise/bench/form"
	"knobwise/bench/measured"
	"knobwise/physics/network"
)

// fileField names a Touchstone file, seen from the file that names it.
var fileField = form.Field{Name: "file", Required: true, Shape: form.Name{Of: "a Touchstone file"}, About: "measured S-parameters; the name is relative to this file"}

var measuredOnePort = &Kind{
	Name: "measured one-port", About: "anything with two ends, known by a measured .s1p file; computed inside the file's range only",
	nodes:  pairOfNodes,
	fields: []form.Field{fileField},
	check:  loadPorts(1),
	place: func(p *Part, _ *numbers) ([]network.Element, error) {
		return []network.Element{network.NewMeasuredOnePort(p.Nodes[0], p.Nodes[1], p.ports, p.ports.References[0])}, nil
	},
}

var measuredTwoPort = &Kind{
	Name: "measured two-port", About: "anything with two ports against ground, known by a measured .s2p file; computed inside the file's range only",
	nodes:  pairOfNodes,
	fields: []form.Field{fileField},
	check:  loadPorts(2),
	place: func(p *Part, _ *numbers) ([]network.Element, error) {
		return []network.Element{network.NewMeasuredTwoPort(p.Nodes[0], p.Nodes[1], p.ports, [2]float64(p.ports.References))}, nil
	},
}

func loadPorts(ports int) func(*Part, folder.Files, string) error {
	return func(p *Part, files folder.Files, boxFile string) (err error) {
		p.ports, err = measured.Load(p.Values["file"].Node, files, boxFile, ports)
		return err
	}
}
