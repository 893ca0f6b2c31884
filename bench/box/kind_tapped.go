package box

import (
	"errors"
	"fmt"

	"knobwise/bench/folder"
	"knobwise/bench/form"
	"knobwise/bench/quantity"
	"knobwise/physics/coil"
	"knobwise/physics/network"
)

var tappedCoil = &Kind{
	Name: "tapped coil", About: "one single-layer coil in sections between its taps, every pair of sections coupled",
	Main: quantity.Henry, HasMain: true,
	nodes: chainOfNodes,
	fields: []form.Field{
		{Name: "turns", Required: true, Shape: turnsShape, About: "turns of each section, in winding order"},
		{Name: "form", Required: true, About: "the winding: diameter to the middle of the wire, length = turns × pitch, bare wire", Shape: form.Nested{What: "the form", Fields: []form.Field{
			{Name: "diameter", Required: true, Shape: known(quantity.Metre, quantity.Positive, "32 mm"), About: "to the middle of the wire"},
			{Name: "length", Required: true, Shape: known(quantity.Metre, quantity.Positive, "40 mm"), About: "all turns times pitch"},
			{Name: "wire", Required: true, Shape: known(quantity.Metre, quantity.Positive, "0.5 mm"), About: "diameter of the bare wire"},
		}}},
		{Name: "value", Shape: findable(quantity.Henry, "22 uH"), About: "inductance of the whole coil where it is known; the form then gives only the shape"},
		qField,
		{Name: "self capacitance", Shape: selfCapacitanceField.Shape, About: "from end to end"},
	},
	check: func(p *Part, _ folder.Files, _ string) error {
		turns := form.Items[float64](mustGet[[]any](p, "turns"))
		if len(turns) != len(p.Nodes)-1 {
			return p.Values["turns"].Node.Fault("the numbers of turns do not fit the nodes", fmt.Sprintf("give %d, one for each section between two nodes", len(p.Nodes)-1))
		}
		dimensions := mustGet[form.Values](p, "form")
		metres := func(name string) float64 { return dimensions[name].Of.(quantity.Quantity).Value }
		winding := coil.Solenoid{Diameter: metres("diameter"), Length: metres("length"), Wire: metres("wire"), Turns: turns}
		sections, err := winding.Sections()
		if err != nil {
			where := p.Values["form"].Node
			if e, ok := errors.AsType[*coil.FieldError](err); ok && dimensions.Has(e.Field) {
				where = dimensions[e.Field].Node
			}
			return where.Fault(err.Error(), "")
		}
		p.whole = 0
		for i := range turns {
			for j := range turns {
				p.shape = append(p.shape, sections.At(i, j))
				p.whole += sections.At(i, j)
			}
		}
		return nil
	},
	place: func(p *Part, n *numbers) ([]network.Element, error) {
		loss, err := n.loss("")
		if err != nil {
			return nil, err
		}
		turns := form.Items[float64](mustGet[[]any](p, "turns"))
		elements := []network.Element{network.NewTappedCoil(p.Nodes, turns, p.shape, n.main, loss)}
		self, err := n.of("self capacitance")
		if err == nil && self > 0 {
			elements = append(elements, network.NewCapacitor(p.Nodes[0], p.Nodes[len(p.Nodes)-1], self, network.Loss{}))
		}
		return elements, err
	},
}
