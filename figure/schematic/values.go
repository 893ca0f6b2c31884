package schematic

import (
	"errors"
	"fmt"

	"knobwise/bench/box"
	"knobwise/bench/fault"
	"knobwise/bench/form"
	"knobwise/bench/quantity"
	"knobwise/physics/coil"
	"knobwise/physics/network"
)

// values are the main values of the parts at the setting, in SI units. A value that is not known leaves them all to
// what the file says: the circuit can still be drawn.
func values(b *box.Box, s box.Setting) (map[*box.Part]float64, error) {
	all := map[*box.Part]float64{}
	w, err := b.Wire(s)
	if f, ok := errors.AsType[*fault.Error](err); ok && f.Kind != fault.Setting {
		return all, nil
	}
	if err != nil {
		return nil, err
	}
	for _, p := range w.Placed {
		if p.Part.Kind.HasMain {
			all[p.Part] = p.Value
		}
	}
	return all, nil
}

// written prints a value: one that turns with four digits, so that it keeps its width; one that stands as it is written.
func written(v float64, u quantity.Unit, turns bool) string {
	if turns {
		return quantity.Signs(quantity.Format(v, u, 4))
	}
	return quantity.Label(v, u)
}

func valueText(p *box.Part, all map[*box.Part]float64) string {
	if v, ok := all[p]; ok && v != 0 {
		return written(v, p.Kind.Main, p.Kind.Variable)
	}
	if q, ok := form.Get[quantity.Quantity](p.Values, "value"); ok {
		return quantityText(q)
	}
	if q, ok := form.Get[quantity.Quantity](p.Values, "impedance"); ok {
		text := quantityText(q)
		if l, ok := form.Get[quantity.Quantity](p.Values, "length"); ok {
			text += " · " + quantityText(l)
		}
		return text
	}
	if name, ok := form.Get[string](p.Values, "file"); ok {
		return cut(name, longestName)
	}
	return ""
}

func quantityText(q quantity.Quantity) string {
	if q.Form == quantity.Unknown {
		return "?"
	}
	return quantity.Signs(q.String())
}

// windingText is what is written at one winding of a part.
func windingText(p *box.Part, winding int, all map[*box.Part]float64) string {
	if list, ok := form.Get[[]any](p.Values, "windings"); ok {
		if q, ok := form.Get[quantity.Quantity](form.Items[form.Values](list)[winding], "value"); ok {
			return quantityText(q)
		}
	}
	if list, ok := form.Get[[]any](p.Values, "turns"); ok {
		text := fmt.Sprintf("%g turns", form.Items[float64](list)[winding])
		if v := all[p]; winding == 0 && v != 0 {
			text = written(v, p.Kind.Main, false) + " · " + text
		}
		return text
	}
	return ""
}

// couplings lists the coupled pairs of windings of a part.
func couplings(p *box.Part) []network.Coupling {
	var all []network.Coupling
	for _, c := range p.Couplings() {
		if c.Factor != 0 {
			all = append(all, network.Coupling{First: min(c.First, c.Second), Second: max(c.First, c.Second), Factor: c.Factor})
		}
	}
	return all
}

// inUse is the inductance between two of a tapped coil's nodes, the others open: the block of its sections between
// them (coil.Solenoid), scaled to the whole.
func inUse(p *box.Part, from, to int, whole float64) string {
	turns, ok := form.Get[[]any](p.Values, "turns")
	if !ok || whole == 0 {
		return ""
	}
	if from == 0 && to == len(turns) {
		return written(whole, quantity.Henry, false)
	}
	shape, ok := form.Get[form.Values](p.Values, "form")
	if !ok {
		return ""
	}
	winding := coil.Solenoid{Turns: form.Items[float64](turns)}
	for name, to := range map[string]*float64{"diameter": &winding.Diameter, "length": &winding.Length, "wire": &winding.Wire} {
		q, _ := form.Get[quantity.Quantity](shape, name)
		*to = q.Value
	}
	sections, err := winding.Sections()
	if err != nil {
		return "" // the reader of the file has refused such a coil
	}
	sheet, part := 0.0, 0.0
	for i := range winding.Turns {
		for j := range winding.Turns {
			sheet += sections.At(i, j)
			if i >= from && i < to && j >= from && j < to {
				part += sections.At(i, j)
			}
		}
	}
	return quantity.Signs(quantity.Format(whole*part/sheet, quantity.Henry, 3)) + " in use"
}
