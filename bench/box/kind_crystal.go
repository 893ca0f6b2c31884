package box

import (
	"knobwise/bench/form"
	"knobwise/bench/quantity"
	"knobwise/physics/network"
)

var crystal = &Kind{
	Name: "crystal", About: "a quartz resonator: its motional arm in series, the holder across it",
	nodes: pairOfNodes,
	fields: []form.Field{
		{Name: "resistance", Required: true, Shape: findable(quantity.Ohm, "25 ohm"), About: "motional resistance"},
		{Name: "inductance", Required: true, Shape: findable(quantity.Henry, "80 mH"), About: "motional inductance"},
		{Name: "capacitance", Required: true, Shape: findable(quantity.Farad, "0.02 pF"), About: "motional capacitance"},
		{Name: "holder", Required: true, Shape: findable(quantity.Farad, "5 pF"), About: "capacitance across the crystal"},
	},
	place: func(p *Part, n *numbers) ([]network.Element, error) {
		var v [4]float64
		for i, field := range []string{"resistance", "inductance", "capacitance", "holder"} {
			var err error
			if v[i], err = n.of(field); err != nil {
				return nil, err
			}
		}
		return []network.Element{network.NewCrystal(p.Nodes[0], p.Nodes[1], v[0], v[1], v[2], v[3])}, nil
	},
}
