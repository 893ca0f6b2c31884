package measurement

import (
	"knobwise/bench/document"
	"knobwise/bench/fault"
	"knobwise/bench/form"
	"knobwise/bench/quantity"
)

// tableFields settle what is guessed about a table.
var tableFields = []form.Field{
	{Name: "delimiter", Shape: form.Choice{Words: []string{"comma", "semicolon", "pipe", "tab", "blank", "none"}}, About: "what parts the columns"},
	{Name: "decimal", Shape: form.Choice{Words: []string{"point", "comma"}}, About: "the decimal sign"},
	{Name: "header", Shape: form.Number{Low: 0, High: 10000, Whole: true, Example: "2"}, About: "lines above the first row of numbers"},
	{Name: "abscissa", Shape: form.Text{}, About: "the column of times, frequencies or indices; `none` where rows are counted"},
	{Name: "axis", Shape: form.Choice{Words: []string{"time", "frequency", "index"}}, About: "what the abscissa is"},
	{Name: "units", Shape: unitsOf{}, About: "of columns, by name or number, where the head does not say them or says them wrongly"},
	{Name: "interval", Shape: step{quantity.Positive, "1 us or 10 kHz"}, About: "from row to row, where rows are counted"},
	{Name: "first", Shape: step{quantity.Any, "0 s or 1 MHz"}, About: "time or frequency of the first row, where rows are counted"},
}

// Table settles what is guessed about a table; the zero value guesses everything.
type Table struct {
	Delimiter, Decimal, Abscissa, Axis string // as package capture names them
	Units                              map[string]string
	Header                             *int
	Interval                           float64  // s, or Hz where Axis is frequency
	First                              *float64 // s or Hz
}

// Step is a time or a frequency.
type Step struct {
	Value     float64 // s or Hz
	Frequency bool
}

// ParseStep reads a time or a frequency; the error is that of package quantity for what the unit makes of it.
func ParseStep(text string, sign quantity.Sign) (Step, error) {
	q, err := quantity.ParseWith(text, quantity.Second, sign)
	if err == nil {
		return Step{q.Value, false}, nil
	}
	if q, inHertz := quantity.ParseWith(text, quantity.Hertz, sign); inHertz == nil {
		return Step{q.Value, true}, nil
	}
	return Step{}, err
}

// step is the shape of a Step.
type step struct {
	sign    quantity.Sign
	example string
}

func (s step) Read(n *document.Node) (any, error) {
	if n.Kind != document.Scalar {
		return nil, n.Fault(n.Describe()+" where a time or a frequency belongs", "write "+s.Describe())
	}
	x, err := ParseStep(n.Text, s.sign)
	if err != nil {
		return nil, form.QuantityFault(n, err)
	}
	return x, nil
}

func (s step) Describe() string { return "a time or a frequency like " + s.example }

func (step) Schema() map[string]any { return map[string]any{"type": "string"} }

// unitsOf is a map from columns to units; package capture knows which there are.
type unitsOf struct{}

func (s unitsOf) Read(n *document.Node) (any, error) {
	if n.Kind != document.Map {
		return nil, n.Fault(n.Describe()+" where units belong", "write "+s.Describe())
	}
	units := map[string]string{}
	for _, e := range n.Entries {
		if e.Value.Kind != document.Scalar {
			return nil, e.Value.Fault(e.Value.Describe()+" where a unit belongs", "write a unit such as MHz or dBm")
		}
		units[e.Key.Text] = e.Value.Text
	}
	return units, nil
}

func (unitsOf) Describe() string { return "{column: unit, …}" }

func (unitsOf) Schema() map[string]any {
	return map[string]any{"type": "object", "additionalProperties": map[string]any{"type": "string"}}
}

func tableOf(v form.Values) (t Table, err error) {
	t.Delimiter = map[string]string{"comma": ",", "semicolon": ";", "pipe": "|", "tab": "tab", "blank": "blank", "none": "none"}[form.Or(v, "delimiter", "")]
	t.Decimal = map[string]string{"point": ".", "comma": ","}[form.Or(v, "decimal", "")]
	t.Abscissa, t.Axis = form.Or(v, "abscissa", ""), form.Or(v, "axis", "")
	t.Units, _ = form.Get[map[string]string](v, "units")
	if n, ok := form.Get[float64](v, "header"); ok {
		lines := int(n)
		t.Header = &lines
	}
	interval, counted := form.Get[Step](v, "interval")
	first, begins := form.Get[Step](v, "first")
	if err := t.Count(interval, counted, first, begins); err != nil {
		at := v["first"].Node
		if at == nil {
			at = v["interval"].Node
		}
		return t, at.Fault(err.What, err.Instead)
	}
	return t, nil
}

// Count settles how rows are counted, if they are. The error is without a place.
func (t *Table) Count(interval Step, counted bool, first Step, begins bool) *fault.Error {
	mixed := func(what string) *fault.Error { return fault.New(fault.Request, what, "give both in s or both in Hz") }
	if counted && begins && interval.Frequency != first.Frequency {
		return mixed("the `interval` and the `first` row are not of one kind")
	}
	if counted {
		t.Interval = interval.Value
		switch {
		case interval.Frequency && t.Axis == "":
			t.Axis = "frequency"
		case interval.Frequency && t.Axis == "time", !interval.Frequency && t.Axis == "frequency":
			return mixed("the `interval` does not go with the `axis`, " + t.Axis)
		}
	}
	if begins {
		t.First = &first.Value
	}
	return nil
}
