package box

import (
	"cmp"
	"fmt"
	"math"

	"gonum.org/v1/gonum/interp"

	"knobwise/bench/document"
	"knobwise/bench/fault"
	"knobwise/bench/form"
	"knobwise/bench/quantity"
)

// Law says how the value of a variable part follows the rotation of its shaft. The laws of capacitor plates are those
// of the trade (A. Griffiths, "The law of variable condensers", Wireless Engineer 1926, from memory); the constants
// follow from the two end values.
type Law struct {
	name  string
	table *interp.FritschButland // readings to values; nil where the law is a formula
	first float64                // readings at the ends of the table
	last  float64
	low   float64 // smallest and largest value of the table
	high  float64
	node  *document.Node
}

// The laws by name; the first is the default.
const (
	linear       = "linear"
	slFrequency  = "straight-line frequency"
	slWavelength = "straight-line wavelength"
	logarithmic  = "log"
)

var laws = []string{linear, slFrequency, slWavelength, logarithmic}

// At is the value in SI units at rotation x (0 to 1 towards the larger value) for a part from low to high, both positive.
// straight-line frequency makes 1/√value linear in x, straight-line wavelength √value, log its logarithm
// (tapped_variable_cap.csv T010, T018, T026, T034).
func (l Law) At(x, low, high float64) float64 {
	mix := func(a, b float64) float64 { return a + (b-a)*x }
	switch l.name {
	case slFrequency:
		root := mix(1/math.Sqrt(low), 1/math.Sqrt(high))
		return 1 / (root * root)
	case slWavelength:
		root := mix(math.Sqrt(low), math.Sqrt(high))
		return root * root
	case logarithmic:
		return low * math.Pow(high/low, x)
	}
	return mix(low, high)
}

// lawShape is one of the laws by name, or a table of scale readings and values in between which the value is
// interpolated by a monotone cubic (F. N. Fritsch, J. Butland, SIAM J. Sci. Stat. Comput. 5 (1984) 300-304).
type lawShape struct{ unit quantity.Unit }

var lawWord = form.Choice{Words: laws}

func (s lawShape) pair() form.Shape {
	return rowShape{form.Number{Low: -1e6, High: 1e6, Example: "5"}, form.Quantity{Unit: s.unit, Sign: quantity.Positive, Example: exampleOf(s.unit)}}
}

func (s lawShape) table() form.Shape {
	return form.Nested{What: "the law", Fields: []form.Field{{
		Name: "table", Required: true, About: "scale readings with their values, in rising order of reading",
		Shape: form.ListOf{Shape: s.pair(), Least: 2, What: fmt.Sprintf("a list like [[0, %s], [10, …]]", exampleOf(s.unit))},
	}}}
}

func (s lawShape) Read(n *document.Node) (any, error) {
	if n.Kind == document.Scalar {
		word, err := lawWord.Read(n)
		if err != nil {
			return nil, err
		}
		return Law{name: word.(string), node: n}, nil
	}
	read, err := s.table().Read(n)
	if err != nil {
		return nil, err
	}
	rows, _ := form.Get[[]any](read.(form.Values), "table")
	list := n.Get("table")
	var readings, values []float64
	way := 0 // +1 where the values rise, -1 where they fall
	for i, r := range rows {
		row := r.([]any)
		readings = append(readings, row[0].(float64))
		values = append(values, row[1].(quantity.Quantity).Value)
		if i > 0 && !(readings[i] > readings[i-1]) {
			return nil, list.Items[i].Fault("the readings of the table do not rise here", "sort the rows by reading, each reading once")
		}
		if i > 0 {
			step := cmp.Compare(values[i], values[i-1])
			if step*way < 0 {
				return nil, list.Items[i].Fault("the values of the table turn back here", "a dial's value only rises or only falls; correct the row")
			}
			way = cmp.Or(step, way)
		}
	}
	if way == 0 {
		return nil, list.Fault("every row of the table has the same value", "give the smallest and the largest value")
	}
	law := Law{table: &interp.FritschButland{}, node: n, first: readings[0], last: readings[len(readings)-1]}
	law.low, law.high = min(values[0], values[len(values)-1]), max(values[0], values[len(values)-1])
	if err := law.table.Fit(readings, values); err != nil {
		return nil, n.Fault("the table cannot be interpolated: "+err.Error(), "check its rows")
	}
	return law, nil
}

func (s lawShape) Describe() string {
	return lawWord.Describe() + " | {table: [[reading, value], …]}"
}

func (s lawShape) Schema() map[string]any {
	return map[string]any{"anyOf": []any{lawWord.Schema(), s.table().Schema()}}
}

// covers checks that a table reaches over the whole scale of the knob that moves the part.
func (l Law) covers(k *Knob) error {
	if l.table == nil {
		return nil
	}
	low, high := min(k.From, k.To), max(k.From, k.To)
	if l.first > low || l.last < high {
		return l.node.Fault(fmt.Sprintf("the table runs from %g to %g, the knob's scale from %g to %g", l.first, l.last, low, high), "add rows for the ends of the scale")
	}
	if k.Reverse {
		return l.node.Fault("a table and `reverse` contradict each other", "delete `reverse`: the table already says which way the value goes")
	}
	return nil
}

// rowShape is a list of two things of different shapes.
type rowShape [2]form.Shape

func (s rowShape) Read(n *document.Node) (any, error) {
	if n.Kind != document.List || len(n.Items) != 2 {
		return nil, n.Fault(n.Describe()+" where a pair belongs", "write "+s.Describe())
	}
	var row []any
	for i, shape := range s {
		x, err := shape.Read(n.Items[i])
		if err != nil {
			return nil, err
		}
		row = append(row, x)
	}
	return row, nil
}

func (s rowShape) Describe() string {
	return "[" + s[0].Describe() + ", " + s[1].Describe() + "]"
}

func (s rowShape) Schema() map[string]any {
	return map[string]any{"type": "array", "prefixItems": []any{s[0].Schema(), s[1].Schema()}, "minItems": 2, "maxItems": 2}
}

// unknownName is the fault of a name that the box does not have.
func unknownName(n *document.Node, kind, name string, known []string) error {
	return n.Fault(fmt.Sprintf("unknown %s %q", kind, name), fault.DidYouMean(name, known))
}
