package box

import (
	"errors"
	"fmt"
	"maps"
	"slices"
	"strings"

	"knobwise/bench/document"
	"knobwise/bench/fault"
	"knobwise/bench/folder"
	"knobwise/bench/form"
	"knobwise/physics/network"
)

// terminalsShape names the nodes of the two sockets.
var terminalsShape = form.Nested{What: "the map of terminals", Fields: []form.Field{
	{Name: "antenna", Required: true, Shape: nodeName, About: "node of the antenna socket; its other pole is ground"},
	{Name: "receiver", Required: true, Shape: nodeName, About: "node of the receiver socket; its other pole is ground"},
}}

// Bounds of a box to what a person builds: solving takes the cube of the number of parts, looking for slips in names the
// square of the number of nodes.
const (
	mostParts = 200
	mostNodes = 1000
)

// Load reads a box file and the measured files that it names. Errors are *fault.Error.
func Load(files folder.Files, name string) (*Box, error) {
	data, err := files.Read(name)
	if err != nil {
		return nil, err
	}
	return Parse(files, name, data)
}

// Parse reads the bytes of a box file; files is where measured files are read from. Errors are *fault.Error.
func Parse(files folder.Files, name string, data []byte) (*Box, error) {
	d, err := document.Parse(name, data)
	if err != nil {
		return nil, err
	}
	top, err := form.Read(d.Root, "the box", topFields())
	if err != nil {
		return nil, err
	}
	b := &Box{Document: d, Name: form.Or(top, "box", ""), About: form.Or(top, "about", "")}
	terminals, _ := form.Get[form.Values](top, "terminals")
	b.Antenna, b.Receiver = form.Or(terminals, "antenna", ""), form.Or(terminals, "receiver", "")

	parts := d.Root.Get("parts")
	if n := len(parts.Entries); n > mostParts {
		return nil, parts.Fault(fmt.Sprintf("the box has %d parts", n), fmt.Sprintf("keep it to %d; is this one box?", mostParts))
	}
	for _, e := range parts.Entries {
		p, err := readPart(e, files, name)
		if err != nil {
			return nil, err
		}
		b.Parts = append(b.Parts, p)
	}
	if list := d.Root.Get("controls"); list != nil {
		for _, e := range list.Entries {
			c, err := b.readControl(e)
			if err != nil {
				return nil, err
			}
			b.Controls = append(b.Controls, c)
		}
	}
	nodes := b.nodeNames()
	if len(nodes) > mostNodes {
		return nil, parts.Fault(fmt.Sprintf("parts and contacts are at %d nodes", len(nodes)), fmt.Sprintf("keep it to %d; is this one box?", mostNodes))
	}
	if err := checkTerminals(terminals, nodes); err != nil {
		return nil, err
	}
	return b, b.readStart(d.Root.Get("start"))
}

// mapShape is a map whose keys the user chooses; what stands in it is read by the caller.
type mapShape struct {
	what   string
	schema func() map[string]any
}

func (s mapShape) Read(n *document.Node) (any, error) {
	if n.Kind != document.Map {
		return nil, n.Fault(fmt.Sprintf("%s where %s belong", n.Describe(), s.what), "write a map from name to description, or {}")
	}
	for _, e := range n.Entries {
		if err := form.CheckName(e.Key, e.Key.Text); err != nil {
			return nil, err
		}
	}
	return n, nil
}

func (s mapShape) Describe() string { return "a map of " + s.what }

func (s mapShape) Schema() map[string]any {
	return map[string]any{"type": "object", "additionalProperties": s.schema()}
}

func topFields() []form.Field {
	return []form.Field{
		{Name: "box", Required: true, Shape: form.Text{}, About: "what the box is called"},
		{Name: "about", Shape: form.Text{}, About: "anything worth knowing about it"},
		{Name: "terminals", Required: true, Shape: terminalsShape, About: "the nodes of the two sockets"},
		{Name: "parts", Required: true, Shape: mapShape{"parts", partSchema}, About: "every part by name"},
		{Name: "controls", Shape: mapShape{"controls", controlSchema}, About: "every knob and switch, in the order of the panel"},
		{Name: "start", Shape: mapShape{"positions", func() map[string]any { return map[string]any{"type": []string{"string", "number", "boolean"}} }}, About: "where the controls stand at first"},
	}
}

func readPart(e document.Entry, files folder.Files, boxFile string) (*Part, error) {
	p := &Part{Name: e.Key.Text, node: e.Key}
	what := "part " + p.Name
	if e.Value.Kind != document.Map {
		return nil, e.Key.Fault(fmt.Sprintf("%s is %s where a map belongs", what, e.Value.Describe()), "write {kind: …, nodes: […], …}")
	}
	kind := e.Value.Get("kind")
	if kind == nil {
		return nil, e.Key.Fault(what+" has no kind", "add `kind: capacitor`, or another of "+strings.Join(KindNames(), ", "))
	}
	if kind.Kind != document.Scalar {
		return nil, kind.Fault(kind.Describe()+" where a kind of part belongs", fault.DidYouMean("", KindNames()))
	}
	p.Kind = kindNamed(kind.Text)
	if p.Kind == nil {
		return nil, unknownName(kind, "kind of part", kind.Text, KindNames())
	}
	for _, field := range e.Value.Entries {
		if hint := p.Kind.hintFor(field.Key.Text); hint != "" {
			return nil, field.Key.Fault(fmt.Sprintf("a %s has no %q", p.Kind.Name, field.Key.Text), hint)
		}
	}
	var err error
	p.Values, err = form.Read(e.Value, what, p.Kind.Fields())
	if err == nil {
		err = p.examine(files, boxFile)
	}
	if f, ok := errors.AsType[*fault.Error](err); ok && f.Place.File == boxFile && !strings.Contains(f.What, p.Name) {
		err = form.About(err, what)
	}
	if err != nil {
		return nil, err
	}
	return p, nil
}

// examine finds the part's nodes and judges its fields together.
func (p *Part) examine(files folder.Files, boxFile string) (err error) {
	if p.Kind.connect != nil {
		err = p.Kind.connect(p)
	} else {
		p.Nodes, err = nodesOf(p.Values["nodes"].Node, p.Name, p.Values["nodes"].Of)
	}
	if err == nil && p.Kind.check != nil {
		err = p.Kind.check(p, files, boxFile)
	}
	return err
}

// nodeNames lists every node that a part touches or a contact joins, in the order of the file, ground first.
func (b *Box) nodeNames() []string {
	all := []string{network.Ground}
	seen := map[string]bool{network.Ground: true}
	add := func(names []string) {
		for _, n := range names {
			if !seen[n] {
				seen[n] = true
				all = append(all, n)
			}
		}
	}
	for _, p := range b.Parts {
		add(p.Nodes)
	}
	for _, c := range b.Controls {
		if c.Switch == nil {
			continue
		}
		for _, position := range c.Switch.Positions {
			for _, group := range position.Joins {
				add(group)
			}
		}
	}
	return all
}

func checkTerminals(terminals form.Values, nodes []string) error {
	for _, name := range []string{"antenna", "receiver"} {
		v := terminals[name]
		node := v.Of.(string)
		if node == network.Ground {
			return v.Node.Fault(fmt.Sprintf("the %s socket is at ground", name), "name the node of its inner contact")
		}
		if !slices.Contains(nodes, node) {
			return v.Node.Fault(fmt.Sprintf("no part and no contact is at node %q", node), fault.DidYouMean(node, nodes[1:]))
		}
	}
	return nil
}

// Schema is the JSON Schema of a box file.
func Schema() map[string]any {
	return form.Schema(topFields(), map[string]any{
		"$schema": "https://json-schema.org/draft/2020-12/schema",
		"title":   "Knobwise box file",
	})
}

func partSchema() map[string]any {
	var all []form.Alternative
	for _, k := range Kinds {
		all = append(all, form.Alternative{Name: k.Name, About: k.About, Fields: k.Fields()})
	}
	return form.OneOf(all)
}

func controlSchema() map[string]any {
	return map[string]any{"oneOf": []any{form.Schema(knobFields, nil), form.Schema(switchFields, nil)}}
}

// valuesOf reads the `values` of a switch position: part name to value.
func (b *Box) valuesOf(n *document.Node) (map[string]form.Value, error) {
	if n == nil {
		return nil, nil
	}
	all := map[string]form.Value{}
	for _, e := range n.Entries {
		p := b.Part(e.Key.Text)
		if p == nil {
			return nil, unknownName(e.Key, "part", e.Key.Text, b.partNames())
		}
		if !p.Kind.HasMain || p.Kind.Variable {
			return nil, e.Key.Fault(fmt.Sprintf("%s is a %s: a switch position cannot set its value", p.Name, p.Kind.Name), "give the value to a resistor, capacitor, inductor, tapped coil or transformer")
		}
		q, err := findable(p.Kind.Main, exampleOf(p.Kind.Main)).Read(e.Value)
		if err != nil {
			return nil, form.About(err, "value of part "+p.Name)
		}
		all[p.Name] = form.Value{Node: e.Value, Of: q}
	}
	return all, nil
}

func (b *Box) partNames() []string {
	var names []string
	for _, p := range b.Parts {
		names = append(names, p.Name)
	}
	return names
}

// sortedKeys lists the keys of a map in order, so that results do not depend on chance.
func sortedKeys[V any](m map[string]V) []string { return slices.Sorted(maps.Keys(m)) }
