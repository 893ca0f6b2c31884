package box

import (
	"encoding/json"
	"errors"
	"fmt"
	"maps"
	"strconv"
	"strings"

	"knobwise/bench/document"
	"knobwise/bench/fault"
	"knobwise/bench/quantity"
)

// Setting is a position for every control of a box.
type Setting map[string]Reading

// Reading is where one control stands: a number on a knob's scale, or the name of a switch's position.
type Reading struct {
	Number float64
	Word   string // a switch's position; empty for a knob
}

// String is the reading as one would write it.
func (r Reading) String() string {
	if r.Word != "" {
		return r.Word
	}
	return strconv.FormatFloat(r.Number, 'g', -1, 64)
}

// MarshalJSON writes a knob's reading as a number and a switch's as a string.
func (r Reading) MarshalJSON() ([]byte, error) {
	if r.Word != "" {
		return json.Marshal(r.Word)
	}
	return json.Marshal(r.Number)
}

// With is a copy of the setting with one control somewhere else.
func (s Setting) With(control string, r Reading) Setting {
	s = maps.Clone(s)
	s[control] = r
	return s
}

// Start is the setting in which the box file wants the box opened: its start positions, each other switch in its first
// position and each other knob at mid-scale. The caller may change it.
func (b *Box) Start() Setting {
	s := Setting{}
	for _, c := range b.Controls {
		switch r, ok := b.start[c.Name]; {
		case ok:
			s[c.Name] = r
		case c.Switch != nil:
			s[c.Name] = Reading{Word: c.Switch.Positions[0].Name}
		default:
			s[c.Name] = Reading{Number: (c.Knob.From + c.Knob.To) / 2}
		}
	}
	return s
}

// Set changes one control of a setting to what the text says: a position of a switch, a reading of a knob.
// Errors are *fault.Error of the kind Setting.
func (b *Box) Set(s Setting, control, text string) error {
	c := b.Control(control)
	if c == nil {
		known := make([]string, len(b.Controls))
		for i, c := range b.Controls {
			known[i] = c.Name
		}
		hint := fault.DidYouMean(control, known)
		if len(known) == 0 {
			hint = "this box has no controls"
		}
		return fault.New(fault.Setting, fmt.Sprintf("%s has no control %q", b.Name, control), hint)
	}
	r, err := c.read(text)
	if err != nil {
		return err
	}
	s[control] = r
	return nil
}

// read turns text into a reading of the control.
func (c *Control) read(text string) (Reading, error) {
	text = strings.TrimSpace(text)
	if c.Switch != nil {
		if c.Switch.Position(text) == nil {
			var known []string
			for _, p := range c.Switch.Positions {
				known = append(known, p.Name)
			}
			return Reading{}, fault.New(fault.Setting, fmt.Sprintf("%s has no position %q", c.Name, text), fault.DidYouMean(text, known))
		}
		return Reading{Word: text}, nil
	}
	v, percent, err := quantity.ParseReading(text)
	if err != nil {
		return Reading{}, c.misread(err)
	}
	if percent && !c.Knob.Percent {
		return Reading{}, c.noPercent()
	}
	if v < min(c.Knob.From, c.Knob.To) || v > max(c.Knob.From, c.Knob.To) {
		return Reading{}, fault.New(fault.Setting, fmt.Sprintf("%s cannot stand at %s", c.Name, text), "its scale is "+c.Knob.Scale())
	}
	return Reading{Number: v}, nil
}

// SetDoubtful is Set for a reading that need not be certain: "?", "? 5", "? 4 .. 6", "5 ± 0.2". The setting gets the best
// guess (the middle of bounds, or of the scale), and the quantity says how sure it is, in readings; of a switch it is
// Exact. Errors are *fault.Error of the kind Setting.
func (b *Box) SetDoubtful(s Setting, control, text string) (quantity.Quantity, error) {
	c := b.Control(control)
	if c == nil || c.Knob == nil || !quantity.Doubtful(text) {
		return quantity.Quantity{}, b.Set(s, control, text)
	}
	q, percent, err := quantity.ParseDoubtfulReading(text)
	if err != nil {
		return q, c.misread(err)
	}
	if percent && !c.Knob.Percent {
		return q, c.noPercent()
	}
	low, high := min(c.Knob.From, c.Knob.To), max(c.Knob.From, c.Knob.To)
	guess := q.Value
	switch q.Form {
	case quantity.Unknown:
		guess = (low + high) / 2
	case quantity.Range, quantity.Bounds:
		if guess == 0 {
			guess = (q.Low + q.High) / 2
		}
	}
	outside := func(x float64) bool { return x < low || x > high }
	// A dial at its stop may be in doubt: what lies beyond the stop does not count.
	if q.Low != q.High && (q.Low > high || q.High < low) || outside(guess) && q.Low == q.High {
		return q, fault.New(fault.Setting, fmt.Sprintf("%s cannot stand at %s", c.Name, text), "its scale is "+c.Knob.Scale())
	}
	guess = min(max(guess, low), high)
	s[control] = Reading{Number: guess}
	return q, nil
}

// misread is the fault for a reading that is no number.
func (c *Control) misread(err error) error {
	what, instead := err.Error(), ""
	if q, ok := errors.AsType[*quantity.Error](err); ok {
		what, instead = q.What, q.Instead
	}
	return fault.New(fault.Setting, fmt.Sprintf("%s: %s", c.Name, what), instead)
}

func (c *Control) noPercent() error {
	return fault.New(fault.Setting, fmt.Sprintf("%s is not marked in percent", c.Name), "give a reading on its scale, "+c.Knob.Scale())
}

// Scale is what is printed round the knob.
func (k *Knob) Scale() string {
	s := fmt.Sprintf("%g .. %g", k.From, k.To)
	if k.Percent {
		s += " %"
	}
	return s
}

func (b *Box) readStart(n *document.Node) error {
	b.start = Setting{}
	if n == nil {
		return nil
	}
	for _, e := range n.Entries {
		if e.Value.Kind != document.Scalar {
			return e.Value.Fault(e.Value.Describe()+" where a position belongs", "write `"+e.Key.Text+": ` and a reading or the name of a position")
		}
		if err := b.Set(b.start, e.Key.Text, e.Value.Text); err != nil {
			f, _ := errors.AsType[*fault.Error](err)
			where := e.Value
			if b.Control(e.Key.Text) == nil {
				where = e.Key
			}
			return where.Fault(f.What, f.Instead)
		}
	}
	return nil
}

// Describe writes a setting in panel order.
func (b *Box) Describe(s Setting) string {
	var parts []string
	for _, c := range b.Controls {
		text := s[c.Name].String()
		if c.Knob != nil && c.Knob.Percent {
			text += " %"
		}
		parts = append(parts, c.Name+" "+text)
	}
	return strings.Join(parts, ", ")
}
