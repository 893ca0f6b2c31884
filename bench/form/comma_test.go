package form_test

import (
	"testing"

	"knobwise/bench/document"
	"knobwise/bench/form"
	"knobwise/bench/quantity"
)

// A decimal comma inside brackets is named as what it is, not as an unknown key.
func TestDecimalCommaInBrackets(t *testing.T) {
	d, err := document.Parse("t", []byte("{value: 330,5 ohm}"))
	if err != nil {
		t.Fatal(err)
	}
	_, err = form.Read(d.Root, "part R1", []form.Field{{Name: "value", Shape: form.Quantity{Unit: quantity.Ohm, Example: "330 ohm"}}})
	if want := "t:1:9: a decimal comma splits value of part R1 in two; write 330.5 ohm"; err == nil || err.Error() != want {
		t.Errorf("got %v, want %s", err, want)
	}
}
