package box

import (
	"fmt"

	"knobwise/bench/document"
	"knobwise/bench/folder"
	"knobwise/bench/form"
	"knobwise/bench/quantity"
	"knobwise/physics/network"
)

// couplingFactor is one of the factors of a list.
var couplingFactor = form.Number{Low: -1, High: 1, Example: "0.35"}

// couplingShape is the factor of every pair, which may be unknown. It reads as a quantity.Quantity.
type couplingShape struct{}

func (couplingShape) Read(n *document.Node) (any, error) {
	x, err := form.Quantity{Unit: quantity.One, Sign: quantity.Any, Example: "0.35", Tolerance: true, Unknown: true}.Read(n)
	if err != nil {
		return nil, err
	}
	q := x.(quantity.Quantity)
	if low, high := min(q.Value, q.Low), max(q.Value, q.High); low < -1 || high > 1 {
		return nil, n.Fault(q.Text+" is out of range", "write "+couplingShape{}.Describe())
	}
	return q, nil
}

func (couplingShape) Describe() string {
	return `a number from -1 to 1, like 0.35, or "? 0.35" where it is not known`
}

func (couplingShape) Schema() map[string]any {
	return map[string]any{"type": []string{"number", "string"}, "minimum": -1, "maximum": 1}
}

// windingShape is one winding of coupled coils.
var windingShape = form.Nested{What: "a winding", Fields: []form.Field{
	{Name: "nodes", Required: true, Shape: pairOfNodes, About: "dotted end first"},
	{Name: "value", Required: true, Shape: findable(quantity.Henry, "105 uH"), About: "inductance of the winding alone"},
}}

// pairFactorShape is a coupling between two windings: [first, second, factor]. It reads as a network.Coupling.
type pairFactorShape struct{}

var windingNumber = form.Number{Low: 1, High: 99, Whole: true, Example: "1"}

func (pairFactorShape) Read(n *document.Node) (any, error) {
	if n.Kind != document.List || len(n.Items) != 3 {
		return nil, n.Fault(n.Describe()+" where a coupling belongs", "write "+pairFactorShape{}.Describe())
	}
	var x [3]float64
	for i, shape := range []form.Shape{windingNumber, windingNumber, couplingFactor} {
		v, err := shape.Read(n.Items[i])
		if err != nil {
			return nil, err
		}
		x[i] = v.(float64)
	}
	return network.Coupling{First: int(x[0]) - 1, Second: int(x[1]) - 1, Factor: x[2]}, nil
}

func (pairFactorShape) Describe() string { return "[winding, winding, factor] like [1, 2, 0.35]" }

func (pairFactorShape) Schema() map[string]any {
	return map[string]any{
		"type": "array", "minItems": 3, "maxItems": 3,
		"prefixItems": []any{windingNumber.Schema(), windingNumber.Schema(), couplingFactor.Schema()},
	}
}

var coupledCoils = &Kind{
	Name: "coupled coils", About: "windings with mutual inductance; the first node of each is its dotted end",
	fields: []form.Field{
		{Name: "windings", Required: true, Shape: form.ListOf{Shape: windingShape, Least: 2, Most: mostWindings, What: "a list of {nodes: [p, q], value: 105 uH}"}},
		{Name: "coupling", Shape: couplingShape{}, About: "coupling factor of every pair of windings"},
		{Name: "couplings", Shape: form.ListOf{Shape: pairFactorShape{}, Least: 1, What: "a list of [winding, winding, factor] like [[1, 2, 0.35]]"}, About: "coupling factors pair by pair; pairs left out are not coupled"},
		qField,
	},
	connect: func(p *Part) error {
		list := p.Values["windings"].Node
		for i, w := range form.Items[form.Values](mustGet[[]any](p, "windings")) {
			if err := addWinding(p, list.Items[i].Get("nodes"), w["nodes"].Of); err != nil {
				return err
			}
		}
		return nil
	},
	check: func(p *Part, _ folder.Files, _ string) error {
		if err := oneOf(p, true, "coupling", "couplings"); err != nil {
			return err
		}
		seen := map[[2]int]bool{}
		for i, c := range p.Couplings() {
			where := p.node
			if list, ok := p.Values["couplings"]; ok {
				where = list.Node.Items[i]
			}
			if c.First >= len(p.branches) || c.Second >= len(p.branches) {
				return where.Fault(fmt.Sprintf("%s has only %d windings", p.Name, len(p.branches)), "number them from 1 in the order of the file")
			}
			pair := [2]int{min(c.First, c.Second), max(c.First, c.Second)}
			if c.First == c.Second || seen[pair] {
				return where.Fault("this pair of windings stands here twice, or is one winding with itself", "give each pair of different windings once")
			}
			seen[pair] = true
		}
		return possible(p, p.Couplings(), len(p.branches))
	},
	place: func(p *Part, n *numbers) ([]network.Element, error) {
		var inductances []float64
		for i, w := range form.Items[form.Values](mustGet[[]any](p, "windings")) {
			l, err := n.nominal(fmt.Sprintf("value of winding %d", i+1), w["value"])
			if err != nil {
				return nil, err
			}
			inductances = append(inductances, l)
		}
		loss, err := n.loss("")
		if err != nil {
			return nil, err
		}
		couplings, err := n.couplings()
		if err != nil {
			return nil, err
		}
		coils, err := network.NewCoupledCoils(p.branches, inductances, couplings, loss)
		return []network.Element{coils}, err
	},
}

// addWinding connects the next winding of a part to the pair of nodes that was read.
func addWinding(p *Part, n *document.Node, read any) error {
	pair, err := nodesOf(n, fmt.Sprintf("winding %d of %s", len(p.branches)+1, p.Name), read)
	if err != nil {
		return err
	}
	p.branches = append(p.branches, network.Branch{From: pair[0], To: pair[1]})
	p.Nodes = append(p.Nodes, pair...)
	return nil
}

// Couplings lists the coupling factors of coupled coils or of a transformer; one that is not known is its guess, or 0.1.
func (p *Part) Couplings() []network.Coupling {
	var ignored []string
	all, err := (&numbers{part: p, notices: &ignored}).couplings()
	if err != nil {
		return p.pairs(0.1)
	}
	return all
}

func (n *numbers) couplings() ([]network.Coupling, error) {
	if list, ok := form.Get[[]any](n.part.Values, "couplings"); ok {
		return form.Items[network.Coupling](list), nil
	}
	factor := 1.0
	if n.part.Values.Has("coupling") {
		var err error
		if factor, err = n.of("coupling"); err != nil {
			return nil, err
		}
	}
	return n.part.pairs(factor), nil
}

// pairs couples every two windings by the same factor.
func (p *Part) pairs(factor float64) []network.Coupling {
	var all []network.Coupling
	for j := range p.branches {
		for i := range j {
			all = append(all, network.Coupling{First: i, Second: j, Factor: factor})
		}
	}
	return all
}

// possible refuses couplings that no coils can have together.
func possible(p *Part, couplings []network.Coupling, windings int) error {
	ones := make([]float64, windings)
	for i := range ones {
		ones[i] = 1
	}
	if _, err := network.NewCoupledCoils(p.branches, ones, couplings, network.Loss{}); err != nil {
		where := p.node
		for _, name := range []string{"coupling", "couplings"} {
			if v, ok := p.Values[name]; ok {
				where = v.Node
			}
		}
		return where.Fault(err.Error(), "")
	}
	return nil
}

func mustGet[T any](p *Part, field string) T {
	v, ok := form.Get[T](p.Values, field)
	if !ok {
		panic("box: " + p.Kind.Name + " has no required field " + field)
	}
	return v
}

var turnsShape = form.ListOf{Shape: form.Number{Low: 0.01, High: 1e5, Example: "14"}, Least: 1, What: "a list of turns like [8, 10, 14]"}

var transformer = &Kind{
	Name: "transformer", About: "windings on one core; the inductance of each follows from the first by the square of the turns",
	Main: quantity.Henry, HasMain: true,
	nodes: pairsOfNodes,
	fields: []form.Field{
		{Name: "turns", Required: true, Shape: turnsShape, About: "turns of each winding"},
		{Name: "value", Required: true, Shape: findable(quantity.Henry, "100 uH"), About: "inductance of the first winding"},
		{Name: "coupling", Shape: couplingShape{}, About: "coupling factor of every pair of windings; 1 if left out"},
		qField,
	},
	connect: func(p *Part) error {
		list := p.Values["nodes"].Node
		for i, read := range mustGet[[]any](p, "nodes") {
			if err := addWinding(p, list.Items[i], read); err != nil {
				return err
			}
		}
		return nil
	},
	check: func(p *Part, _ folder.Files, _ string) error {
		if turns := mustGet[[]any](p, "turns"); len(turns) != len(p.branches) {
			return p.Values["turns"].Node.Fault("the numbers of turns do not fit the windings", fmt.Sprintf("give %d, one for each winding", len(p.branches)))
		}
		return possible(p, p.Couplings(), len(p.branches))
	},
	place: func(p *Part, n *numbers) ([]network.Element, error) {
		loss, err := n.loss("")
		if err != nil {
			return nil, err
		}
		turns := form.Items[float64](mustGet[[]any](p, "turns"))
		inductances := make([]float64, len(turns))
		for i := range turns {
			ratio := turns[i] / turns[0]
			inductances[i] = n.main * ratio * ratio
		}
		couplings, err := n.couplings()
		if err != nil {
			return nil, err
		}
		coils, err := network.NewCoupledCoils(p.branches, inductances, couplings, loss)
		return []network.Element{coils}, err
	},
}
