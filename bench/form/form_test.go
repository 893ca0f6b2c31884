package form

import (
	"encoding/json"
	"math"
	"testing"

	"knobwise/bench/document"
	"knobwise/bench/quantity"
)

var everyShape = []struct {
	shape Shape
	good  map[string]any // YAML to what it reads as; quantities by value
	bad   map[string]string
}{
	{Text{}, map[string]any{"no": "no", `"a: b"`: "a: b", "017": "017"}, map[string]string{"[a]": `t:1:4: x of the thing: a list where a single value belongs; write text`}},
	{Name{Of: "a node"}, map[string]any{"null": "null", "1e3": "1e3", "t 1": "t 1"}, map[string]string{`" a"`: `t:1:4: x of the thing: " a" cannot be a name; use up to 60 printable signs, without ` + "`=`"}},
	{Quantity{Unit: quantity.Farad, Sign: quantity.Positive, Example: "330 pF"}, map[string]any{"4n7": 4.7e-9}, map[string]string{
		"1 nF ± 5 %": `t:1:4: x of the thing: "1 nF ± 5 %" is a tolerance where a plain value belongs; write a value like 330 pF`,
		`"?"`:        `t:1:4: x of the thing: "?" is an unknown where a known value belongs; write a value like 330 pF`,
	}},
	{QFactor{}, map[string]any{"180": 180.0, "180 at 2 MHz": 180.0}, map[string]string{"-5": "t:1:4: x of the thing: -5 is negative; write a plain number above zero, like 180"}},
	{LineLoss{}, map[string]any{"4.2 dB/100m at 10 MHz": 0.042}, map[string]string{"4.2 dB": "t:1:4: x of the thing: a line loss is decibels per length; write it like 4.2 dB/100m at 10 MHz"}},
	{Level{}, map[string]any{"2 V": 2.0}, map[string]string{"0 V": "t:1:4: x of the thing: a level of 0 V is no signal; write a level above zero, like 1 V"}},
	{Number{Low: 1, High: 9, Whole: true, Example: "3"}, map[string]any{"9": 9.0, `"1"`: 1.0, "1e0": 1.0}, map[string]string{
		"0":    "t:1:4: x of the thing: 0 is out of range; write a whole number from 1 to 9, like 3",
		"10":   "t:1:4: x of the thing: 10 is out of range; write a whole number from 1 to 9, like 3",
		"1.5":  "t:1:4: x of the thing: 1.5 is not a whole number; write a whole number from 1 to 9, like 3",
		".inf": "t:1:4: x of the thing: .inf is no number; write a plain number like 180",
	}},
	{Choice{Words: []string{"linear", "log"}}, map[string]any{"log": "log"}, map[string]string{"lgo": `t:1:4: x of the thing: unknown word "lgo"; did you mean "log"?`}},
	{Flag{}, map[string]any{"true": true, "no": false}, map[string]string{`"true"`: `t:1:4: x of the thing: "true" where true or false belongs; write true or false`}},
	{ListOf{Shape: Text{}, Least: 1, Most: 2, What: "one or two words"}, map[string]any{}, map[string]string{
		"[]":        "t:1:4: x of the thing: 0 in the list, too few; write one or two words",
		"[a, b, c]": "t:1:4: x of the thing: 3 in the list, more than 2; write one or two words",
		"a":         `t:1:4: x of the thing: "a" where a list belongs; write one or two words`,
		"[a, {}]":   "t:1:8: x of the thing: a map where a single value belongs; write text",
	}},
	{Nested{What: "the inner", Fields: []Field{{Name: "y", Shape: Flag{}, Required: true}}}, map[string]any{}, map[string]string{
		"{y: 1}": `t:1:8: y of the inner: "1" where true or false belongs; write true or false`,
		"{}":     "t:1:4: the inner has no \"y\"; add `y: …`: true | false",
		"{z: 1}": `t:1:5: unknown key "z" in the inner; known are y`,
		"5":      "t:1:4: the inner is \"5\" where a map belongs; write `y: …` and what else it needs",
	}},
	{Either{Scalar: Flag{}, Other: ListOf{Shape: Flag{}, What: "flags"}}, map[string]any{"yes": true}, map[string]string{"[a]": `t:1:5: x of the thing: "a" where true or false belongs; write true or false`}},
}

// TestShapes: what each shape reads, what it refuses and in which words, and that its schema is JSON.
func TestShapes(t *testing.T) {
	n := 0
	for _, s := range everyShape {
		fields := []Field{{Name: "x", Shape: s.shape, About: "about"}}
		read := func(text string) (Values, error) {
			d, err := document.Parse("t", []byte("x: "+text+"\n"))
			if err != nil {
				t.Fatal(err)
			}
			return Read(d.Root, "the thing", fields)
		}
		for text, want := range s.good {
			n++
			v, err := read(text)
			if err != nil {
				t.Errorf("%T %s: %v", s.shape, text, err)
				continue
			}
			got := v["x"].Of
			switch x := got.(type) {
			case quantity.Quantity:
				got = x.Value
			case Q:
				got = x.Factor.Value
			case Loss:
				got = math.Round(x.DBPerMetre*1e9) / 1e9
			case quantity.Level:
				got = x.Value
			}
			if got != want {
				t.Errorf("%T %s: %v, want %v", s.shape, text, got, want)
			}
		}
		for text, want := range s.bad {
			n++
			if _, err := read(text); err == nil || err.Error() != want {
				t.Errorf("%T %s:\ngot  %v\nwant %s", s.shape, text, err, want)
			}
		}
		if _, err := read(""); err == nil {
			t.Errorf("%T took nothing", s.shape)
		}
		if _, err := json.Marshal(Schema(fields, nil)); err != nil || s.shape.Describe() == "" {
			t.Errorf("%T: %v", s.shape, err)
		}
	}
	if n < 30 {
		t.Errorf("only %d cases", n)
	}
}

func TestGet(t *testing.T) {
	v := Values{"a": {Of: 5.0}}
	if x, ok := Get[float64](v, "a"); x != 5 || !ok || Or(v, "b", 7.0) != 7 || v.Has("b") {
		t.Error(x, ok)
	}
	defer func() {
		if recover() == nil {
			t.Error("a wrong type is a mistake in the program")
		}
	}()
	Get[string](v, "a")
}

func TestFromText(t *testing.T) {
	if v, err := FromText("1.5 MHz", quantity.Hertz, quantity.Positive); v != 1.5e6 || err != nil {
		t.Error(v, err)
	}
	for _, text := range []string{"1 MHz .. 2 MHz", "? 3 MHz", "-1 MHz", "1"} {
		if _, err := FromText(text, quantity.Hertz, quantity.Positive); err == nil {
			t.Errorf("%s was taken", text)
		}
	}
}
