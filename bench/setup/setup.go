// Package setup reads and holds what is connected to a box: the source at its antenna socket, the load and the probe at
// its receiver socket, and the sweep that is run over it.
package setup

import (
	"fmt"
	"math"
	"strings"

	"knobwise/bench/document"
	"knobwise/bench/fault"
	"knobwise/bench/folder"
	"knobwise/bench/form"
	"knobwise/bench/measured"
	"knobwise/bench/quantity"
	"knobwise/physics/network"
)

// Setup is one setup file.
type Setup struct {
	Name, About string
	Source      Source
	Load        Load
	Probe       *Probe // nil where there is none
	Sweep       Sweep
	Document    *document.Document

	probe form.Values
}

// Source is a source of known emf behind a linear impedance.
type Source struct {
	Kind   *SourceKind
	Values form.Values
	EMF    float64 // open-circuit voltage behind the whole impedance, V rms
	ports  *measured.Ports
}

// Load is what takes the signal.
type Load struct {
	Kind   *LoadKind
	Values form.Values
	ports  *measured.Ports
}

// Probe is what looks at the signal, across the load.
type Probe struct{ Resistance, Capacitance float64 } // ohm, F

// Sweep says at which frequencies to look, and how long the generator takes from the first to the last.
type Sweep struct {
	From, To float64 // Hz
	Points   int
	Log      bool
	Time     float64 // s; 0 where not given
}

var (
	emfField  = form.Field{Name: "emf", Required: true, Shape: form.Level{}, About: "open-circuit voltage behind the whole impedance, rms"}
	fileField = form.Field{Name: "file", Required: true, Shape: form.Name{Of: "a Touchstone file"}, About: "measured S11; the name is relative to this file"}
)

func positive(u quantity.Unit, example string) form.Shape {
	return form.Quantity{Unit: u, Sign: quantity.Positive, Example: example, Tolerance: true, Unknown: true}
}

func notNegative(u quantity.Unit, example string) form.Shape {
	return form.Quantity{Unit: u, Sign: quantity.NonNegative, Example: example, Tolerance: true, Unknown: true}
}

func number(v form.Values, field string) float64 {
	q, _ := form.Get[quantity.Quantity](v, field)
	return q.Value
}

// SourceKind is a kind of source.
type SourceKind struct {
	Name, About string
	fields      []form.Field
	own         string // the resistance field into which a level given as a power is available
	measured    bool
	words       func(s *Source) string
	element     func(s *Source, node string) network.Element
}

// SourceKinds lists every kind of source in the order in which they are documented.
var SourceKinds = []*SourceKind{
	{
		Name: "generator", About: "a signal generator with its own resistance and, where one is added, a pad resistor in series",
		own: "impedance",
		fields: []form.Field{
			emfField,
			{Name: "impedance", Required: true, Shape: positive(quantity.Ohm, "50 ohm"), About: "its own resistance"},
			{Name: "series", Shape: notNegative(quantity.Ohm, "180 ohm"), About: "a resistor added in series; none if left out"},
		},
		words: func(s *Source) string {
			return "generator, " + quantity.Label(number(s.Values, "impedance")+number(s.Values, "series"), quantity.Ohm)
		},
		element: func(s *Source, node string) network.Element {
			return network.NewSeries(node, network.Ground, number(s.Values, "impedance")+number(s.Values, "series"), 0, 0)
		},
	},
	{
		Name: "impedance", About: "an emf behind resistance, inductance and capacitance in series, such as a short wire",
		own: "resistance",
		fields: []form.Field{
			emfField,
			{Name: "resistance", Required: true, Shape: positive(quantity.Ohm, "12 ohm"), About: "loss and radiation together"},
			{Name: "inductance", Shape: notNegative(quantity.Henry, "6 uH"), About: "in series; none if left out"},
			{Name: "capacitance", Shape: positive(quantity.Farad, "90 pF"), About: "in series; none if left out"},
		},
		words: func(s *Source) string {
			text := quantity.Label(number(s.Values, "resistance"), quantity.Ohm)
			if l := number(s.Values, "inductance"); l > 0 {
				text += " + " + quantity.Label(l, quantity.Henry)
			}
			if c := number(s.Values, "capacitance"); c > 0 {
				text += " + " + quantity.Label(c, quantity.Farad)
			}
			return text
		},
		element: func(s *Source, node string) network.Element {
			return network.NewSeries(node, network.Ground, number(s.Values, "resistance"), number(s.Values, "inductance"), number(s.Values, "capacitance"))
		},
	},
	{
		Name: "measured one-port", About: "an emf behind a measured impedance, such as a real antenna; computed inside the file's range only",
		fields:   []form.Field{emfField, fileField},
		measured: true,
		words:    func(s *Source) string { return s.ports.File },
		element: func(s *Source, node string) network.Element {
			return network.NewMeasuredOnePort(node, network.Ground, s.ports, s.ports.References[0])
		},
	},
}

// LoadKind is a kind of load.
type LoadKind struct {
	Name, About string
	fields      []form.Field
	measured    bool
	words       func(l *Load) string
	element     func(l *Load, node string) network.Element
}

// LoadKinds lists every kind of load in the order in which they are documented.
var LoadKinds = []*LoadKind{
	{
		Name: "resistor", About: "a resistance",
		fields: []form.Field{{Name: "value", Required: true, Shape: positive(quantity.Ohm, "50 ohm"), About: "resistance"}},
		words:  func(l *Load) string { return quantity.Label(number(l.Values, "value"), quantity.Ohm) },
		element: func(l *Load, node string) network.Element {
			return network.NewResistor(node, network.Ground, number(l.Values, "value"))
		},
	},
	{
		Name: "receiver", About: "a receiver's input: resistance and capacitance in parallel",
		fields: []form.Field{
			{Name: "resistance", Required: true, Shape: positive(quantity.Ohm, "50 ohm"), About: "parallel form"},
			{Name: "capacitance", Shape: notNegative(quantity.Farad, "20 pF"), About: "in parallel; none if left out"},
		},
		words: func(l *Load) string {
			return "receiver, " + quantity.Label(number(l.Values, "resistance"), quantity.Ohm)
		},
		element: func(l *Load, node string) network.Element {
			r := network.NewResistor(node, network.Ground, number(l.Values, "resistance"))
			r.Stray = number(l.Values, "capacitance")
			return r
		},
	},
	{
		Name: "open", About: "nothing but the probe",
		words: func(*Load) string { return "open" },
		element: func(_ *Load, node string) network.Element {
			return network.NewContact(node, network.Ground, false)
		},
	},
	{
		Name: "short", About: "the socket shorted: for reflections at the other socket; no voltage stands across it",
		words: func(*Load) string { return "short" },
		element: func(_ *Load, node string) network.Element {
			return network.NewContact(node, network.Ground, true)
		},
	},
	{
		Name: "measured one-port", About: "anything with a measured impedance; computed inside the file's range only",
		fields:   []form.Field{fileField},
		measured: true,
		words:    func(l *Load) string { return l.ports.File },
		element: func(l *Load, node string) network.Element {
			return network.NewMeasuredOnePort(node, network.Ground, l.ports, l.ports.References[0])
		},
	},
}

// Fields lists every field of a source of this kind as it may stand in a setup file.
func (k *SourceKind) Fields() []form.Field { return withKind(k.Name, k.About, k.fields) }

// Fields lists every field of a load of this kind as it may stand in a setup file.
func (k *LoadKind) Fields() []form.Field { return withKind(k.Name, k.About, k.fields) }

func withKind(name, about string, fields []form.Field) []form.Field {
	return append([]form.Field{{Name: "kind", Shape: form.Choice{Words: []string{name}}, Required: true, About: about}}, fields...)
}

// Describe names a source in a few words.
func (s *Source) Describe() string { return s.Kind.words(s) }

// Describe names a load in a few words.
func (l *Load) Describe() string { return l.Kind.words(l) }

// GeneratorImpedance is a generator's own resistance in ohm, without a pad; false for another source.
func (s *Setup) GeneratorImpedance() (float64, bool) {
	return number(s.Source.Values, "impedance"), s.Source.Kind.Name == "generator"
}

// DescribeLoad names what hangs on the receiver socket in a few words.
func (s *Setup) DescribeLoad() string {
	if s.Probe != nil {
		return s.Load.Describe() + ", probe"
	}
	return s.Load.Describe()
}

// With is the setup with the source of another and the load, with its probe, of a third; each may be nil for its own.
func (s *Setup) With(source, load *Setup) *Setup {
	mixed := *s
	if source != nil {
		mixed.Source = source.Source
	}
	if load != nil {
		mixed.Load, mixed.Probe, mixed.probe = load.Load, load.Probe, load.probe
	}
	return &mixed
}

// ProbeFields lists the fields of a probe.
var ProbeFields = []form.Field{
	{Name: "resistance", Required: true, Shape: positive(quantity.Ohm, "10 Mohm"), About: "across the load"},
	{Name: "capacitance", Shape: notNegative(quantity.Farad, "12 pF"), About: "across the load; none if left out"},
}

// mostPoints bounds a sweep to what a person can look at and a computer can hold.
const mostPoints = 1_000_000

// SweepFields lists the fields of a sweep.
var SweepFields = []form.Field{
	{Name: "from", Required: true, Shape: form.Quantity{Unit: quantity.Hertz, Sign: quantity.Positive, Example: "0.5 MHz"}, About: "first frequency"},
	{Name: "to", Required: true, Shape: form.Quantity{Unit: quantity.Hertz, Sign: quantity.Positive, Example: "2 MHz"}, About: "last frequency"},
	{Name: "points", Shape: form.Number{Low: 2, High: mostPoints, Whole: true, Example: "401"}, About: "401 if left out"},
	{Name: "spacing", Shape: form.Choice{Words: []string{"linear", "log"}}, About: "linear if left out"},
	{Name: "time", Shape: form.Quantity{Unit: quantity.Second, Sign: quantity.Positive, Example: "100 ms"}, About: "how long the generator takes for the sweep"},
}

func topFields() []form.Field {
	return []form.Field{
		{Name: "setup", Required: true, Shape: form.Text{}, About: "what the setup is called"},
		{Name: "about", Shape: form.Text{}, About: "anything worth knowing about it"},
		{Name: "source", Required: true, Shape: anyMap{"source", sourceSchema}, About: "what drives the antenna socket"},
		{Name: "load", Required: true, Shape: anyMap{"load", loadSchema}, About: "what hangs on the receiver socket"},
		{Name: "probe", Shape: form.Nested{What: "the probe", Fields: ProbeFields}, About: "what looks at the load's voltage; none if left out"},
		{Name: "sweep", Required: true, Shape: form.Nested{What: "the sweep", Fields: SweepFields}, About: "where to look"},
	}
}

// anyMap is a map whose fields depend on its kind; the caller reads it.
type anyMap struct {
	what   string
	schema func() map[string]any
}

func (s anyMap) Read(n *document.Node) (any, error) {
	if n.Kind != document.Map {
		return nil, n.Fault(fmt.Sprintf("%s where the %s belongs", n.Describe(), s.what), "write {kind: …} with its fields")
	}
	return n, nil
}

func (s anyMap) Describe() string { return "{kind: …} with the fields of the kind" }

func (s anyMap) Schema() map[string]any { return s.schema() }

func sourceSchema() map[string]any {
	var all []form.Alternative
	for _, k := range SourceKinds {
		all = append(all, form.Alternative{Name: k.Name, About: k.About, Fields: k.Fields()})
	}
	return form.OneOf(all)
}

func loadSchema() map[string]any {
	var all []form.Alternative
	for _, k := range LoadKinds {
		all = append(all, form.Alternative{Name: k.Name, About: k.About, Fields: k.Fields()})
	}
	return form.OneOf(all)
}

// Schema is the JSON Schema of a setup file.
func Schema() map[string]any {
	return form.Schema(topFields(), map[string]any{
		"$schema": "https://json-schema.org/draft/2020-12/schema",
		"title":   "Knobwise setup file",
	})
}

// LoadFile reads a setup file and the measured files that it names. Errors are *fault.Error.
func LoadFile(files folder.Files, name string) (*Setup, error) {
	data, err := files.Read(name)
	if err != nil {
		return nil, err
	}
	return Parse(files, name, data)
}

// Parse reads the bytes of a setup file; files is where measured files are read from. Errors are *fault.Error.
func Parse(files folder.Files, name string, data []byte) (*Setup, error) {
	d, err := document.Parse(name, data)
	if err != nil {
		return nil, err
	}
	top, err := form.Read(d.Root, "the setup", topFields())
	if err != nil {
		return nil, err
	}
	s := &Setup{Document: d, Name: form.Or(top, "setup", ""), About: form.Or(top, "about", "")}
	if err := s.readSource(d.Root.Get("source"), files, name); err != nil {
		return nil, err
	}
	if err := s.readLoad(d.Root.Get("load"), files, name); err != nil {
		return nil, err
	}
	if p, ok := form.Get[form.Values](top, "probe"); ok {
		if err := guesses("the probe", p); err != nil {
			return nil, err
		}
		s.Probe, s.probe = probeOf(p), p
	}
	sweep, _ := form.Get[form.Values](top, "sweep")
	s.Sweep = Sweep{
		From: number(sweep, "from"), To: number(sweep, "to"), Points: int(form.Or(sweep, "points", 401.0)),
		Log: form.Or(sweep, "spacing", "linear") == "log", Time: number(sweep, "time"),
	}
	if !(s.Sweep.From < s.Sweep.To) {
		return nil, sweep["from"].Node.Fault("the sweep does not rise", "give `from` a lower frequency than `to`")
	}
	return s, nil
}

func kindOf[K any](n *document.Node, what string, kinds []K, name func(K) string) (k K, err error) {
	node := n.Get("kind")
	var names []string
	for _, k := range kinds {
		names = append(names, name(k))
	}
	if node == nil {
		return k, n.Fault("the "+what+" has no kind", fmt.Sprintf("add `kind: %s`, or another of %s", names[0], strings.Join(names, ", ")))
	}
	if node.Kind != document.Scalar {
		return k, node.Fault(fmt.Sprintf("%s where a kind of %s belongs", node.Describe(), what), fault.DidYouMean("", names))
	}
	for _, k := range kinds {
		if name(k) == node.Text {
			return k, nil
		}
	}
	return k, node.Fault(fmt.Sprintf("unknown kind of %s %q", what, node.Text), fault.DidYouMean(node.Text, names))
}

func (s *Setup) readSource(n *document.Node, files folder.Files, name string) (err error) {
	if s.Source.Kind, err = kindOf(n, "source", SourceKinds, func(k *SourceKind) string { return k.Name }); err != nil {
		return err
	}
	if s.Source.Values, err = form.Read(n, "the source", s.Source.Kind.Fields()); err != nil {
		return err
	}
	if err := guesses("the source", s.Source.Values); err != nil {
		return err
	}
	level, _ := form.Get[quantity.Level](s.Source.Values, "emf")
	s.Source.EMF = level.Value
	if level.Kind == quantity.Power {
		resistance := number(s.Source.Values, s.Source.Kind.own)
		if resistance == 0 {
			return s.Source.Values["emf"].Node.Fault(fmt.Sprintf("%s is a power, and gives no emf without a resistance", level.Text), "write the emf as a voltage, like 100 uV")
		}
		if s.Source.EMF, err = level.EMF(resistance); err != nil {
			return s.Source.Values["emf"].Node.Fault(err.Error(), "")
		}
	}
	if s.Source.Kind.measured {
		s.Source.ports, err = measured.Load(s.Source.Values["file"].Node, files, name, 1)
	}
	return err
}

func (s *Setup) readLoad(n *document.Node, files folder.Files, name string) (err error) {
	if s.Load.Kind, err = kindOf(n, "load", LoadKinds, func(k *LoadKind) string { return k.Name }); err != nil {
		return err
	}
	if s.Load.Values, err = form.Read(n, "the load", s.Load.Kind.Fields()); err != nil {
		return err
	}
	if err := guesses("the load", s.Load.Values); err != nil {
		return err
	}
	if s.Load.Kind.measured {
		s.Load.ports, err = measured.Load(s.Load.Values["file"].Node, files, name, 1)
	}
	return err
}

// SourceElement is the source as an element from a node to ground.
func (s *Setup) SourceElement(node string) network.Element {
	return s.Source.Kind.element(&s.Source, node)
}

// LoadElement is the load with the probe across it as an element from a node to ground.
func (s *Setup) LoadElement(node string) network.Element {
	load := s.Load.Kind.element(&s.Load, node)
	if s.Probe == nil {
		return load
	}
	probe := network.NewResistor(node, network.Ground, s.Probe.Resistance)
	probe.Stray = s.Probe.Capacitance
	return network.NewParallel(load, probe)
}

// Measured lists the measured data of source and load.
func (s *Setup) Measured() []*measured.Ports {
	var all []*measured.Ports
	for _, p := range []*measured.Ports{s.Source.ports, s.Load.ports} {
		if p != nil {
			all = append(all, p)
		}
	}
	return all
}

// Frequencies lists the frequencies of the sweep in Hz, the ends exact.
func (s Sweep) Frequencies() []float64 {
	f := make([]float64, s.Points)
	for i := range f {
		x := float64(i) / float64(s.Points-1)
		if s.Log {
			f[i] = s.From * math.Pow(s.To/s.From, x)
		} else {
			f[i] = s.From + (s.To-s.From)*x
		}
	}
	f[0], f[len(f)-1] = s.From, s.To
	return f
}

// Check refuses a sweep that no one can run. Errors are *fault.Error of the kind Request.
func (s Sweep) Check() error {
	switch {
	case !(s.From > 0) || !(s.To > s.From) || math.IsInf(s.To, 0):
		return fault.New(fault.Request, fmt.Sprintf("no sweep runs from %s to %s", quantity.Format(s.From, quantity.Hertz, 6), quantity.Format(s.To, quantity.Hertz, 6)), "give a lower and a higher frequency above zero")
	case s.Points < 2 || s.Points > mostPoints:
		return fault.New(fault.Request, fmt.Sprintf("a sweep cannot have %d points", s.Points), fmt.Sprintf("give 2 to %d", mostPoints))
	}
	return nil
}
