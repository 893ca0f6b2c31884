package quantity

// Sign is what physics allows a value to be.
type Sign int

// The signs a field may ask for.
const (
	Any         Sign = iota // negative, zero or positive
	NonNegative             // zero is legal: a pad resistor that is not there, leads without inductance
	Positive                // zero would divide by zero or make the part vanish
)

// Require returns nil where every value that the quantity may have is of the sign, and an *Error otherwise; its place is
// relative to q.Text. What is unknown without bounds passes.
func (q Quantity) Require(s Sign) error {
	return q.require(s, piece{q.Text, 0, len(q.Text)})
}

func (q Quantity) require(s Sign, p piece) error {
	lowest := q.Value
	switch q.Form {
	case Unknown:
		return nil
	case Range, Bounds:
		lowest = q.Low
	}
	if s == Any || lowest > 0 || (s == NonNegative && lowest == 0) {
		return nil
	}
	state := "negative"
	if lowest == 0 {
		state = "zero"
	}
	if q.Form == Range || q.Form == Bounds {
		state += " at its lower end"
	}
	wanted := "above zero"
	if s == NonNegative {
		wanted = "of zero or more"
	}
	return p.fail(q.Unit, show(p.String())+" is "+state, "write "+units[q.Unit].quantity+" "+wanted+", like "+units[q.Unit].example)
}

// ParseWith reads any form, as Parse does, and requires the sign.
func ParseWith(text string, u Unit, s Sign) (Quantity, error) {
	p, err := enter(text, u)
	if err != nil {
		return Quantity{}, err
	}
	q, err := parse(p, u)
	if err == nil {
		err = q.require(s, p)
	}
	if err != nil {
		return Quantity{}, err
	}
	return q, nil
}
