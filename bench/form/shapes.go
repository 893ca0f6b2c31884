package form

import (
	"errors"
	"fmt"
	"math"
	"strconv"
	"strings"
	"unicode"

	"knobwise/bench/document"
	"knobwise/bench/fault"
	"knobwise/bench/quantity"
)

// Text is free text. It reads as a string.
type Text struct{}

func (Text) Read(n *document.Node) (any, error) { return scalar(n, Text{}) }

func (Text) Describe() string { return "text" }

func (Text) Schema() map[string]any { return scalarSchema() }

// Name is a name without line breaks, such as a node, a control or a file. It reads as a string.
type Name struct{ Of string }

func (s Name) Read(n *document.Node) (any, error) {
	text, err := scalar(n, s)
	if err != nil {
		return nil, err
	}
	if err := CheckName(n, text); err != nil {
		return nil, err
	}
	return text, nil
}

func (s Name) Describe() string { return "the name of " + s.Of }

func (s Name) Schema() map[string]any { return scalarSchema() }

// CheckName refuses names that could not be written on a command line or in a message.
func CheckName(n *document.Node, name string) error {
	if name == "" || strings.TrimSpace(name) != name || strings.ContainsFunc(name, unprintable) || strings.Contains(name, "=") || len([]rune(name)) > 60 {
		return n.Fault(fmt.Sprintf("%q cannot be a name", name), "use up to 60 printable signs, without `=`")
	}
	return nil
}

// unprintable signs would make two names look alike, or a line of output read backwards.
func unprintable(r rune) bool { return !unicode.IsPrint(r) }

// Quantity is a physical value with its unit. It reads as a quantity.Quantity.
type Quantity struct {
	Unit    quantity.Unit
	Sign    quantity.Sign
	Example string
	// Forms that may be written; an exact value always may.
	Tolerance, Unknown, Range bool
}

func (s Quantity) Read(n *document.Node) (any, error) {
	text, err := scalar(n, s)
	if err != nil {
		return nil, err
	}
	q, err := quantity.ParseWith(text, s.Unit, s.Sign)
	if err != nil {
		return nil, QuantityFault(n, err)
	}
	if err := onABench(n, text, q); err != nil {
		return nil, err
	}
	wrong := ""
	switch q.Form {
	case quantity.Exact:
		if s.Range {
			wrong = "a single value where a range belongs"
		}
	case quantity.Toleranced:
		if !s.Tolerance {
			wrong = "a tolerance where a plain value belongs"
		}
	case quantity.Range:
		if !s.Range {
			wrong = "a range where a single value belongs"
		}
	default:
		if !s.Unknown {
			wrong = "an unknown where a known value belongs"
		}
	}
	if wrong != "" {
		return nil, n.Fault(fmt.Sprintf("%q is %s", text, wrong), "write "+s.Describe())
	}
	return q, nil
}

// limits are values beyond which nothing on a bench lies; further out the arithmetic itself would fail.
var limits = map[quantity.Unit]struct{ low, high float64 }{
	quantity.Ohm:    {1e-9, 1e18},
	quantity.Farad:  {1e-21, 1e3},
	quantity.Henry:  {1e-15, 1e6},
	quantity.Hertz:  {1e-3, 1e12},
	quantity.Metre:  {1e-9, 1e9},
	quantity.Second: {1e-12, 1e9},
	quantity.Volt:   {1e-15, 1e9},
	quantity.Watt:   {1e-30, 1e15},
}

// onABench refuses values beyond the limits of their unit.
func onABench(n *document.Node, text string, q quantity.Quantity) error {
	l, ok := limits[q.Unit]
	if !ok {
		return nil
	}
	for _, v := range []float64{q.Value, q.Low, q.High} {
		if v != 0 && (math.Abs(v) < l.low || math.Abs(v) > l.high) {
			return n.Fault(fmt.Sprintf("%s is beyond any bench", text), fmt.Sprintf("write a value from %s to %s", quantity.FormatExact(l.low, q.Unit), quantity.FormatExact(l.high, q.Unit)))
		}
	}
	return nil
}

func (s Quantity) Describe() string {
	switch {
	case s.Range:
		return "a range like " + s.Example
	case s.Unknown:
		return fmt.Sprintf(`a value like %s, or "? %s" where it is not known`, s.Example, s.Example)
	}
	return "a value like " + s.Example
}

func (s Quantity) Schema() map[string]any {
	schema := map[string]any{"type": "string", "examples": []string{s.Example}}
	if s.Unit == quantity.One {
		schema["type"] = []string{"string", "number"}
	}
	return schema
}

// QFactor is a quality factor and, where its losses grow with the square root of frequency, the frequency at which it
// holds. It reads as a Q.
type QFactor struct{}

// Q is a quality factor as written.
type Q struct {
	Factor quantity.Quantity
	At     float64 // Hz; 0 where the factor is the same at every frequency
}

func (QFactor) Read(n *document.Node) (any, error) {
	text, err := scalar(n, QFactor{})
	if err != nil {
		return nil, err
	}
	q := Q{}
	if q.Factor, q.At, err = quantity.ParseQuality(text); err != nil {
		return nil, QuantityFault(n, err)
	}
	if q.Factor.Form == quantity.Range {
		return nil, n.Fault(fmt.Sprintf("%q is a range where one Q belongs", text), `write 180, or "? 100 .. 300" if it is not known`)
	}
	return q, nil
}

func (QFactor) Describe() string { return "a Q like 180, or 180 at 2 MHz" }

func (QFactor) Schema() map[string]any {
	return map[string]any{"type": []string{"string", "number"}, "examples": []string{"180", "180 at 2 MHz"}}
}

// LineLoss is the matched loss of a line per length at a frequency. It reads as a Loss.
type LineLoss struct{}

// Loss is a line's matched loss.
type Loss struct{ DBPerMetre, At float64 } // dB/m at Hz

func (LineLoss) Read(n *document.Node) (any, error) {
	text, err := scalar(n, LineLoss{})
	if err != nil {
		return nil, err
	}
	db, at, err := quantity.ParseLoss(text)
	if err != nil {
		return nil, QuantityFault(n, err)
	}
	return Loss{db, at}, nil
}

func (LineLoss) Describe() string { return "a loss like 4.2 dB/100m at 10 MHz" }

func (LineLoss) Schema() map[string]any {
	return map[string]any{"type": "string", "examples": []string{"4.2 dB/100m at 10 MHz"}}
}

// Level is the strength of a source. It reads as a quantity.Level.
type Level struct{}

func (Level) Read(n *document.Node) (any, error) {
	text, err := scalar(n, Level{})
	if err != nil {
		return nil, err
	}
	l, err := quantity.ParseLevel(text)
	if err != nil {
		return nil, QuantityFault(n, err)
	}
	unit := quantity.Volt
	if l.Kind == quantity.Power {
		unit = quantity.Watt
	}
	if err := onABench(n, text, quantity.Quantity{Value: l.Value, Unit: unit}); err != nil {
		return nil, err
	}
	return l, nil
}

func (Level) Describe() string {
	return "a voltage like 1 V (rms), 2 Vpp or 12 uV, or an available power like -73 dBm"
}

func (Level) Schema() map[string]any {
	return map[string]any{"type": "string", "examples": []string{"1 V", "2 Vpp", "-73 dBm"}}
}

// Number is a plain number between limits. It reads as a float64.
type Number struct {
	Low, High float64
	Whole     bool
	Example   string
}

func (s Number) Read(n *document.Node) (any, error) {
	text, err := scalar(n, s)
	if err != nil {
		return nil, err
	}
	v, err := quantity.ParseValue(text, quantity.One)
	if err != nil {
		return nil, QuantityFault(n, err)
	}
	if v < s.Low || v > s.High {
		return nil, n.Fault(fmt.Sprintf("%s is out of range", text), "write "+s.Describe())
	}
	if s.Whole && v != float64(int64(v)) {
		return nil, n.Fault(fmt.Sprintf("%s is not a whole number", text), "write "+s.Describe())
	}
	return v, nil
}

func (s Number) Describe() string {
	kind := "a number"
	if s.Whole {
		kind = "a whole number"
	}
	return fmt.Sprintf("%s from %s to %s, like %s", kind, short(s.Low), short(s.High), s.Example)
}

func (s Number) Schema() map[string]any {
	kind := "number"
	if s.Whole {
		kind = "integer"
	}
	return map[string]any{"type": []string{kind, "string"}, "minimum": s.Low, "maximum": s.High} // a string: a number in quotes
}

func short(v float64) string { return strconv.FormatFloat(v, 'f', -1, 64) }

// Choice is one of several words. It reads as a string.
type Choice struct{ Words []string }

func (s Choice) Read(n *document.Node) (any, error) {
	text, err := scalar(n, s)
	if err != nil {
		return nil, err
	}
	for _, w := range s.Words {
		if w == text {
			return w, nil
		}
	}
	return nil, n.Fault(fmt.Sprintf("unknown word %q", text), fault.DidYouMean(text, s.Words))
}

func (s Choice) Describe() string { return strings.Join(s.Words, " | ") }

func (s Choice) Schema() map[string]any { return map[string]any{"enum": s.Words} }

// Flag is true or false. It reads as a bool.
type Flag struct{}

func (Flag) Read(n *document.Node) (any, error) {
	if n.Kind == document.Scalar && !n.Quoted {
		switch n.Text {
		case "true", "yes":
			return true, nil
		case "false", "no":
			return false, nil
		}
	}
	return nil, n.Fault(fmt.Sprintf("%s where true or false belongs", n.Describe()), "write true or false")
}

func (Flag) Describe() string { return "true | false" }

func (Flag) Schema() map[string]any { return map[string]any{"enum": []any{true, false, "yes", "no"}} }

// Nested is a map with fields of its own. It reads as Values.
type Nested struct {
	What   string
	Fields []Field
}

func (s Nested) Read(n *document.Node) (any, error) {
	v, err := Read(n, s.What, s.Fields)
	if err != nil {
		return nil, err // not the typed nil inside an interface
	}
	return v, nil
}

func (s Nested) Describe() string {
	var parts []string
	for _, f := range s.Fields {
		parts = append(parts, f.Name)
	}
	return "{" + strings.Join(parts, ", ") + "}"
}

func (s Nested) Schema() map[string]any { return Schema(s.Fields, nil) }

// ListOf is a list of things of one shape. It reads as a []any of what the shape reads.
type ListOf struct {
	Shape Shape
	Least int // 0: may be empty
	Most  int // 0: no limit
	What  string
}

func (s ListOf) Read(n *document.Node) (any, error) {
	if n.Kind != document.List {
		return nil, n.Fault(fmt.Sprintf("%s where a list belongs", n.Describe()), "write "+s.Describe())
	}
	if len(n.Items) < s.Least {
		return nil, n.Fault(fmt.Sprintf("%d in the list, too few", len(n.Items)), "write "+s.Describe())
	}
	if s.Most > 0 && len(n.Items) > s.Most {
		return nil, n.Fault(fmt.Sprintf("%d in the list, more than %d", len(n.Items), s.Most), "write "+s.Describe())
	}
	all := make([]any, 0, len(n.Items))
	for _, item := range n.Items {
		x, err := s.Shape.Read(item)
		if err != nil {
			return nil, err
		}
		all = append(all, x)
	}
	return all, nil
}

func (s ListOf) Describe() string { return s.What }

func (s ListOf) Schema() map[string]any {
	schema := map[string]any{"type": "array", "items": s.Shape.Schema()}
	if s.Least > 0 {
		schema["minItems"] = s.Least
	}
	if s.Most > 0 {
		schema["maxItems"] = s.Most
	}
	return schema
}

// Items turns what ListOf read into a typed list.
func Items[T any](list []any) []T {
	all := make([]T, len(list))
	for i, x := range list {
		all[i] = x.(T)
	}
	return all
}

// Either is one of two shapes: the second where the file has a map or a list, the first otherwise.
type Either struct{ Scalar, Other Shape }

func (s Either) Read(n *document.Node) (any, error) {
	if n.Kind == document.Map || n.Kind == document.List {
		return s.Other.Read(n)
	}
	return s.Scalar.Read(n)
}

func (s Either) Describe() string { return s.Scalar.Describe() + " | " + s.Other.Describe() }

func (s Either) Schema() map[string]any {
	return map[string]any{"anyOf": []any{s.Scalar.Schema(), s.Other.Schema()}}
}

// scalar is the text of a single value; the fault of anything else says what the shape wants.
func scalar(n *document.Node, s Shape) (string, error) {
	if n.Kind != document.Scalar {
		return "", n.Fault(n.Describe()+" where a single value belongs", "write "+s.Describe())
	}
	return n.Text, nil
}

func scalarSchema() map[string]any {
	return map[string]any{"type": []string{"string", "number", "boolean"}}
}

// QuantityFault puts an error of package quantity at its place in the file.
func QuantityFault(n *document.Node, err error) error {
	q, ok := errors.AsType[*quantity.Error](err)
	if !ok {
		return n.Fault(err.Error(), "")
	}
	f := fault.At(n.PlaceIn(q.Offset, q.Length), q.What, q.Instead)
	f.Cause = err
	return f
}

// FromText reads a single value from outside a file, such as a command line. The error is one line.
func FromText(text string, u quantity.Unit, s quantity.Sign) (float64, error) {
	q, err := quantity.ParseWith(text, u, s)
	if err != nil {
		return 0, err
	}
	if q.Form != quantity.Exact {
		return 0, fmt.Errorf("%q is not a single known value", text)
	}
	if l, ok := limits[u]; ok && q.Value != 0 && (q.Value < l.low || q.Value > l.high) {
		return 0, fmt.Errorf("%s is beyond any bench; give a value from %s to %s", text, quantity.FormatExact(l.low, u), quantity.FormatExact(l.high, u))
	}
	return q.Value, nil
}
