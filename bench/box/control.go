package box

import (
	"fmt"
	"slices"

	"knobwise/bench/document"
	"knobwise/bench/form"
	"knobwise/bench/quantity"
)

// scaleShape is what is printed round a knob. It reads as a scale.
type scaleShape struct{}

type scale struct {
	from, to float64
	percent  bool
}

func (scaleShape) Read(n *document.Node) (any, error) {
	if n.Kind != document.Scalar {
		return nil, n.Fault(n.Describe()+" where a scale belongs", "write "+scaleShape{}.Describe())
	}
	from, to, percent, err := quantity.ParseScale(n.Text)
	if err != nil {
		return nil, form.QuantityFault(n, err)
	}
	return scale{from, to, percent}, nil
}

func (scaleShape) Describe() string { return "a scale like 0 .. 10" }

func (scaleShape) Schema() map[string]any {
	return map[string]any{"type": "string", "examples": []string{"0 .. 10", "0 .. 100 %"}}
}

var partName = form.Name{Of: "a part"}

var knobFields = []form.Field{
	{Name: "knob", Required: true, Shape: form.Either{Scalar: partName, Other: form.ListOf{Shape: partName, Least: 1, What: "a list of parts like [C1, C2]"}}, About: "the variable part that it turns, or a gang of them"},
	{Name: "scale", Shape: scaleShape{}, About: "what is printed round it; 0 .. 100 % if left out"},
	{Name: "reverse", Shape: form.Flag{}, About: "true where clockwise lowers the value"},
}

var joinsShape = form.ListOf{
	Shape: form.ListOf{Shape: nodeName, Least: 2, What: "a group of nodes like [b, t3]"},
	What:  "groups of nodes that are joined, like [[b, t3]]",
}

var positionFields = []form.Field{
	{Name: "joins", Shape: joinsShape, About: "groups of nodes that this position joins; nothing else is connected by it"},
	{Name: "values", Shape: mapShape{"values", func() map[string]any { return map[string]any{"type": "string"} }}, About: "values that parts have in this position, where the inside is not known yet"},
}

var switchFields = []form.Field{
	{Name: "switch", Required: true, Shape: mapShape{"positions", func() map[string]any {
		return form.Schema(positionFields, map[string]any{"type": []string{"object", "null"}})
	}}, About: "its positions in order; the first is the default"},
}

func (b *Box) readControl(e document.Entry) (*Control, error) {
	c := &Control{Name: e.Key.Text, node: e.Key}
	what := "control " + c.Name
	n := e.Value
	var err error
	switch knob, selector := n.Get("knob"), n.Get("switch"); {
	case knob == nil && selector == nil:
		return nil, e.Key.Fault(what+" is neither a knob nor a switch", "write {knob: C1} or {switch: {…}}")
	case knob != nil && selector != nil:
		return nil, e.Key.Fault(what+" is both a knob and a switch", "make two controls of it")
	case knob != nil:
		c.Knob, err = b.readKnob(n, what)
	default:
		c.Switch, err = b.readSwitch(n, what)
	}
	return c, err
}

func (b *Box) readKnob(n *document.Node, what string) (*Knob, error) {
	values, err := form.Read(n, what, knobFields)
	if err != nil {
		return nil, err
	}
	s := form.Or(values, "scale", scale{0, 100, true})
	k := &Knob{From: s.from, To: s.to, Percent: s.percent, Reverse: form.Or(values, "reverse", false)}
	names := n.Get("knob").Items
	if names == nil {
		names = []*document.Node{n.Get("knob")}
	}
	for _, name := range names {
		p := b.Part(name.Text)
		switch {
		case p == nil:
			return nil, unknownName(name, "part", name.Text, b.partNames())
		case !p.Kind.Variable:
			return nil, name.Fault(fmt.Sprintf("%s is a %s, which no knob can turn", p.Name, p.Kind.Name), "make it a variable capacitor or variable inductor with a range")
		case b.Moves(p) != nil:
			return nil, name.Fault(fmt.Sprintf("%s is already turned by %s", p.Name, b.Moves(p).Name), "let one knob turn it")
		}
		if slices.Contains(k.Parts, p) {
			return nil, name.Fault(fmt.Sprintf("%s stands twice in the gang", p.Name), "name it once")
		}
		if err := p.law.covers(k); err != nil {
			return nil, err
		}
		k.Parts = append(k.Parts, p)
	}
	return k, nil
}

func (b *Box) readSwitch(n *document.Node, what string) (*Switch, error) {
	if _, err := form.Read(n, what, switchFields); err != nil {
		return nil, err
	}
	list := n.Get("switch")
	if len(list.Entries) == 0 {
		return nil, list.Fault(what+" has no position", "write {in: {joins: [[a, b]]}, out: {}}")
	}
	s := &Switch{}
	for _, e := range list.Entries {
		position := &Position{Name: e.Key.Text, node: e.Key}
		if e.Value.Kind != document.Empty { // `off:` with nothing behind it joins nothing
			values, err := form.Read(e.Value, fmt.Sprintf("position %s of %s", position.Name, what), positionFields)
			if err != nil {
				return nil, err
			}
			groups, _ := form.Get[[]any](values, "joins")
			for _, group := range groups {
				position.Joins = append(position.Joins, form.Items[string](group.([]any)))
			}
			if position.Values, err = b.valuesOf(e.Value.Get("values")); err != nil {
				return nil, err
			}
		}
		s.Positions = append(s.Positions, position)
	}
	return s, nil
}
