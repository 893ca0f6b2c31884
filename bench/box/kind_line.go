package box

import (
	"knobwise/bench/form"
	"knobwise/bench/quantity"
	"knobwise/physics/line"
	"knobwise/physics/network"
)

var transmissionLine = &Kind{
	Name: "line", About: "a transmission line between two nodes, both against ground",
	nodes: pairOfNodes,
	fields: []form.Field{
		{Name: "impedance", Required: true, Shape: known(quantity.Ohm, quantity.Positive, "50 ohm"), About: "characteristic impedance, real"},
		{Name: "velocity", Required: true, Shape: form.Number{Low: 0.01, High: 1, Example: "0.66"}, About: "velocity factor"},
		{Name: "length", Required: true, Shape: known(quantity.Metre, quantity.Positive, "12 m"), About: "mechanical length"},
		{Name: "loss", Shape: form.LineLoss{}, About: "matched loss, growing with √f; none if left out"},
	},
	place: func(p *Part, _ *numbers) ([]network.Element, error) {
		loss := form.Or(p.Values, "loss", form.Loss{})
		return []network.Element{network.NewLine(p.Nodes[0], p.Nodes[1], line.Line{
			Impedance: mustGet[quantity.Quantity](p, "impedance").Value, Length: mustGet[quantity.Quantity](p, "length").Value,
			Velocity: mustGet[float64](p, "velocity"), LossDBPerMetre: loss.DBPerMetre, LossAtHz: loss.At,
		})}, nil
	},
}
