package box

import (
	"fmt"

	"knobwise/bench/form"
	"knobwise/bench/quantity"
)

// travelFields are the fields that say how far a variable part goes, and how.
func travelFields(u quantity.Unit, between, least, most string) []form.Field {
	return []form.Field{
		{Name: "range", Shape: form.Quantity{Unit: u, Sign: quantity.Positive, Example: between, Range: true}, About: "smallest and largest value"},
		{Name: "min", Shape: findable(u, least), About: "smallest value (with max, instead of range)"},
		{Name: "max", Shape: findable(u, most), About: "largest value (with min, instead of range)"},
		{Name: "law", Shape: lawShape{u}, About: "how the value follows the dial; linear if left out"},
	}
}

// checkTravel judges the fields of a variable part together.
func checkTravel(p *Part) error {
	p.law = form.Or(p.Values, "law", Law{name: linear})
	low, high := p.Values.Has("min"), p.Values.Has("max")
	switch {
	case p.Values.Has("range") && (low || high):
		name := "min"
		if !low {
			name = "max"
		}
		return p.Values[name].Node.Fault(fmt.Sprintf("%s has both %q and %q", p.Name, "range", name), "give `range`, or `min` and `max`")
	case low != high:
		return p.node.Fault(fmt.Sprintf("%s has only one of \"min\" and \"max\"", p.Name), `give both; one that is not known as "? 5 pF .. 30 pF"`)
	case p.law.table != nil && (p.Values.Has("range") || low):
		return p.law.node.Fault(fmt.Sprintf("%s has a range and a table of values", p.Name), "delete the range: the table already has the end values")
	case p.law.table == nil && !p.Values.Has("range") && !low:
		return p.node.Fault(fmt.Sprintf("%s has no range", p.Name), "add `range: 14 pF .. 390 pF`, or a table as its law")
	}
	if low {
		a, b, err := p.Travel()
		if err == nil && !(a < b) { // an end that is not known may lie anywhere
			return p.Values["min"].Node.Fault(fmt.Sprintf("the smallest value of %s is not below its largest", p.Name), "exchange min and max")
		}
	}
	return nil
}

// Travel is the smallest and the largest value of a variable part in SI units. The error points at an end that is not known.
func (p *Part) Travel() (low, high float64, err error) {
	var ignored []string
	return p.travel(&numbers{part: p, notices: &ignored})
}

func (p *Part) travel(n *numbers) (low, high float64, err error) {
	if p.law.table != nil {
		return p.law.low, p.law.high, nil
	}
	if q, ok := form.Get[quantity.Quantity](p.Values, "range"); ok {
		return q.Low, q.High, nil
	}
	if low, err = n.of("min"); err != nil {
		return 0, 0, err
	}
	high, err = n.of("max")
	return low, high, err
}

// turned is the value of a variable part at a reading of the knob that moves it; k is nil for a part that no knob
// moves, which stands in the middle of its travel.
func (p *Part) turned(k *Knob, reading float64, n *numbers) (float64, error) {
	low, high, err := p.travel(n)
	if err != nil {
		return 0, err
	}
	x := 0.5
	if k == nil {
		reading = (p.law.first + p.law.last) / 2
	} else {
		x = (reading - k.From) / (k.To - k.From)
		if k.Reverse {
			x = 1 - x
		}
	}
	if p.law.table != nil {
		return p.law.table.Predict(reading), nil
	}
	return p.law.At(x, low, high), nil
}
