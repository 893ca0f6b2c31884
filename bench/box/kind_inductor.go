package box

import (
	"knobwise/bench/folder"
	"knobwise/bench/form"
	"knobwise/bench/quantity"
	"knobwise/physics/network"
)

var selfCapacitanceField = form.Field{
	Name: "self capacitance", Shape: form.Quantity{Unit: quantity.Farad, Sign: quantity.NonNegative, Example: "3 pF", Tolerance: true, Unknown: true},
	About: "across the whole lossy coil",
}

var coilLoss = []form.Field{
	qField,
	{Name: "resistance", Shape: findable(quantity.Ohm, "2.2 ohm"), About: "series resistance, the same at every frequency (instead of Q)"},
	selfCapacitanceField,
}

var inductor = &Kind{
	Name: "inductor", About: "a fixed coil, with its loss in series and its self-capacitance across both",
	Main: quantity.Henry, HasMain: true,
	nodes: pairOfNodes,
	fields: append([]form.Field{
		{Name: "value", Required: true, Shape: findable(quantity.Henry, "22 uH"), About: "inductance"},
	}, coilLoss...),
	check: func(p *Part, _ folder.Files, _ string) error { return oneOf(p, false, "Q", "resistance") },
	place: placeInductor,
}

var variableInductor = &Kind{
	Name: "variable inductor", About: "a coil that a knob turns, such as a variometer or a roller coil",
	Main: quantity.Henry, HasMain: true, Variable: true,
	nodes:  pairOfNodes,
	fields: append(travelFields(quantity.Henry, "0.5 uH .. 28 uH", "0.5 uH", "28 uH"), coilLoss...),
	check: func(p *Part, _ folder.Files, _ string) error {
		if err := checkTravel(p); err != nil {
			return err
		}
		return oneOf(p, false, "Q", "resistance")
	},
	place: placeInductor,
}

func placeInductor(p *Part, n *numbers) ([]network.Element, error) {
	loss, err := n.loss("resistance")
	if err != nil {
		return nil, err
	}
	l := network.NewInductor(p.Nodes[0], p.Nodes[1], n.main, loss)
	if l.SelfCapacitance, err = n.of("self capacitance"); err != nil {
		return nil, err
	}
	return []network.Element{l}, nil
}
