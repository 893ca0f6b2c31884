package box

import (
	"knobwise/bench/folder"
	"knobwise/bench/form"
	"knobwise/bench/quantity"
	"knobwise/physics/network"
)

var capacitorLoss = []form.Field{
	qField,
	{Name: "esr", Shape: findable(quantity.Ohm, "0.1 ohm"), About: "series resistance, the same at every frequency (instead of Q)"},
	{Name: "loss tangent", Shape: form.Quantity{Unit: quantity.One, Sign: quantity.Positive, Example: "0.001"}, About: "1/Q (instead of Q)"},
	leadsField,
}

var capacitor = &Kind{
	Name: "capacitor", About: "a fixed capacitor, with its loss and its leads in series",
	Main: quantity.Farad, HasMain: true,
	nodes: pairOfNodes,
	fields: append([]form.Field{
		{Name: "value", Required: true, Shape: findable(quantity.Farad, "330 pF"), About: "capacitance"},
	}, capacitorLoss...),
	check: func(p *Part, _ folder.Files, _ string) error { return oneOf(p, false, "Q", "esr", "loss tangent") },
	place: placeCapacitor,
}

var variableCapacitor = &Kind{
	Name: "variable capacitor", About: "a capacitor that a knob turns, with its loss and its leads in series",
	Main: quantity.Farad, HasMain: true, Variable: true,
	nodes:  pairOfNodes,
	fields: append(travelFields(quantity.Farad, "14 pF .. 390 pF", "14 pF", "390 pF"), capacitorLoss...),
	check: func(p *Part, _ folder.Files, _ string) error {
		if err := checkTravel(p); err != nil {
			return err
		}
		return oneOf(p, false, "Q", "esr", "loss tangent")
	},
	place: placeCapacitor,
}

func placeCapacitor(p *Part, n *numbers) ([]network.Element, error) {
	loss, err := n.loss("esr")
	if err != nil {
		return nil, err
	}
	c := network.NewCapacitor(p.Nodes[0], p.Nodes[1], n.main, loss)
	if c.Leads, err = n.of("leads"); err != nil {
		return nil, err
	}
	return []network.Element{c}, nil
}
