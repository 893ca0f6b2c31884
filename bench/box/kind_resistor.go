package box

import (
	"knobwise/bench/form"
	"knobwise/bench/quantity"
	"knobwise/physics/network"
)

var resistor = &Kind{
	Name: "resistor", About: "a resistance, with its leads in series and the stray capacitance of its body across it",
	Main: quantity.Ohm, HasMain: true,
	nodes: pairOfNodes,
	fields: []form.Field{
		{Name: "value", Required: true, Shape: findable(quantity.Ohm, "330 ohm"), About: "resistance"},
		leadsField,
		{Name: "stray", Shape: known(quantity.Farad, quantity.NonNegative, "0.5 pF"), About: "capacitance across the resistance itself"},
	},
	place: func(p *Part, n *numbers) ([]network.Element, error) {
		var err error
		r := network.NewResistor(p.Nodes[0], p.Nodes[1], n.main)
		if r.Leads, err = n.of("leads"); err != nil {
			return nil, err
		}
		if r.Stray, err = n.of("stray"); err != nil {
			return nil, err
		}
		return []network.Element{r}, nil
	},
}
