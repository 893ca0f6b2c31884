package box

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"knobwise/bench/document"
	"knobwise/bench/folder"
	"knobwise/bench/form"
	"knobwise/bench/quantity"
	"knobwise/physics/network"
)

// Kind is a kind of part: what its entry in a box file may hold, and the elements that it becomes.
// A new kind is one value of this type in a file of its own, listed in Kinds.
type Kind struct {
	Name  string
	About string // one line
	// Main is the unit of the value that a switch position may set; a part of a kind without one has no such value.
	Main    quantity.Unit
	HasMain bool
	// Variable kinds are moved by a knob; their range says how far.
	Variable bool

	nodes  form.Shape // how `nodes` is written; nil where the kind lists its nodes elsewhere
	fields []form.Field
	// connect finds the part's nodes; nil for a kind with a plain pair.
	connect func(p *Part) error
	// check judges the fields together and loads what the part needs.
	check func(p *Part, files folder.Files, boxFile string) error
	// place makes the elements for the values that hold at one setting.
	place func(p *Part, n *numbers) ([]network.Element, error)
}

// Kinds lists every kind of part, in the order in which they are documented.
var Kinds = []*Kind{
	resistor, capacitor, variableCapacitor, inductor, variableInductor, tappedCoil, coupledCoils, transformer,
	transmissionLine, crystal, measuredOnePort, measuredTwoPort,
}

// KindNames lists their names.
func KindNames() []string {
	var names []string
	for _, k := range Kinds {
		names = append(names, k.Name)
	}
	return names
}

func kindNamed(name string) *Kind {
	for _, k := range Kinds {
		if k.Name == name {
			return k
		}
	}
	return nil
}

// Fields lists every field of a part of this kind as it may stand in a box file.
func (k *Kind) Fields() []form.Field {
	all := []form.Field{{Name: "kind", Shape: form.Choice{Words: []string{k.Name}}, Required: true, About: k.About}}
	if k.nodes != nil {
		all = append(all, form.Field{Name: "nodes", Shape: k.nodes, Required: true, About: "where the part is connected"})
	}
	return append(all, k.fields...)
}

// examples of each unit, for descriptions.
var examples = map[quantity.Unit]string{
	quantity.Ohm: "50 ohm", quantity.Farad: "330 pF", quantity.Henry: "22 uH", quantity.Hertz: "2 MHz",
	quantity.Metre: "32 mm", quantity.Second: "100 ms",
}

func exampleOf(u quantity.Unit) string { return examples[u] }

// known is the shape of a value that must be known.
func known(u quantity.Unit, s quantity.Sign, example string) form.Shape {
	return form.Quantity{Unit: u, Sign: s, Example: example, Tolerance: true}
}

// findable is the shape of a positive value that may also be unknown.
func findable(u quantity.Unit, example string) form.Shape {
	return form.Quantity{Unit: u, Sign: quantity.Positive, Example: example, Tolerance: true, Unknown: true}
}

var (
	leadsField = form.Field{Name: "leads", Shape: known(quantity.Henry, quantity.NonNegative, "8 nH"), About: "inductance of the leads, in series"}
	qField     = form.Field{Name: "Q", Shape: form.QFactor{}, About: "quality factor: the same at every frequency, or at one and falling with √f from there"}
)

// oneOf refuses more than one of several fields, or none of them where one is required.
func oneOf(p *Part, required bool, names ...string) error {
	found := ""
	for _, name := range names {
		if !p.Values.Has(name) {
			continue
		}
		if found != "" {
			return p.Values[name].Node.Fault(fmt.Sprintf("%s has both %q and %q", p.Name, found, name), "give one of them")
		}
		found = name
	}
	if required && found == "" {
		return p.node.Fault(fmt.Sprintf("%s has none of %s", p.Name, strings.Join(names, ", ")), "give one of them")
	}
	return nil
}

// numbers gives the values of one part at one setting.
type numbers struct {
	part    *Part
	main    float64 // the main value, SI: as a knob or a switch position sets it, or as the file gives it
	given   Given   // what stands for values of the file
	notices *[]string
}

// of is a field's value in SI units; 0 where the field was not written.
func (n *numbers) of(field string) (float64, error) {
	v, ok := n.part.Values[field]
	if !ok {
		return 0, nil
	}
	return n.nominal(field, v)
}

// nominal is the number that stands for a quantity: its value, the guess, or the middle of its bounds.
func (n *numbers) nominal(field string, value form.Value) (float64, error) {
	if v, ok := n.given[value.Node]; ok {
		return v, nil
	}
	q := value.Of.(quantity.Quantity)
	v, guessed, err := nominal(n.part, field, q, value.Node)
	if guessed {
		*n.notices = append(*n.notices, fmt.Sprintf("%s: %s is not known; %s is taken", n.part.Name, field, quantity.Format(v, q.Unit, 4)))
	}
	return v, err
}

func nominal(p *Part, field string, q quantity.Quantity, node *document.Node) (v float64, guessed bool, err error) {
	switch q.Form {
	case quantity.Unknown:
		return 0, false, node.Fault(fmt.Sprintf("%s of %s is not known, so nothing can be computed with it", field, p.Name),
			fmt.Sprintf(`write a guess like "? %s"`, exampleOr(q.Unit)))
	case quantity.Guess:
		return q.Value, true, nil
	case quantity.Bounds:
		switch {
		case q.Value != 0:
			return q.Value, true, nil
		case q.Low <= 0: // has no geometric mean
			return (q.Low + q.High) / 2, true, nil
		}
		return math.Sqrt(q.Low) * math.Sqrt(q.High), true, nil
	}
	return q.Value, false, nil
}

func exampleOr(u quantity.Unit) string {
	if e := exampleOf(u); e != "" {
		return e
	}
	return "180"
}

// loss reads the loss fields of a coil or a capacitor.
func (n *numbers) loss(resistance string) (network.Loss, error) {
	if q, ok := form.Get[form.Q](n.part.Values, "Q"); ok {
		factor, err := n.nominal("Q", form.Value{Node: n.part.Values["Q"].Node, Of: q.Factor})
		if err != nil {
			return network.Loss{}, err
		}
		if q.At > 0 {
			return network.Loss{Model: network.SkinQ, Q: factor, At: q.At}, nil
		}
		return network.Loss{Model: network.ConstantQ, Q: factor}, nil
	}
	if n.part.Values.Has("loss tangent") {
		tangent, err := n.of("loss tangent")
		return network.Loss{Model: network.ConstantQ, Q: 1 / tangent}, err
	}
	if n.part.Values.Has(resistance) {
		r, err := n.of(resistance)
		return network.Loss{Model: network.SeriesResistance, R: r}, err
	}
	return network.Loss{}, nil
}

// hintFor explains a key that this kind of part does not have but its variable sister has; else it is empty.
func (k *Kind) hintFor(key string) string {
	sister := kindNamed("variable " + k.Name)
	if sister == nil || k.has(key) || !sister.has(key) {
		return ""
	}
	return fmt.Sprintf("delete it, or make the part a %s", sister.Name)
}

func (k *Kind) has(key string) bool {
	return slices.ContainsFunc(k.Fields(), func(f form.Field) bool { return f.Name == key })
}
