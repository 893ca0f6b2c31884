package box

import (
	"encoding/json"
	"errors"
	"fmt"
	"math"
	"slices"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"knobwise/bench/fault"
)

const panel = `box: Panel
terminals: {antenna: a, receiver: b}
parts:
  C1: {kind: variable capacitor, nodes: [a, ground], range: 10 pF .. 110 pF}
  C2: {kind: variable capacitor, nodes: [b, ground], range: 20 pF .. 220 pF}
  C3: {kind: variable capacitor, nodes: [a, b], range: 1 pF .. 5 pF}
  L1: {kind: inductor, nodes: [a, b], value: "?"}
  L2: {kind: inductor, nodes: [a, c], value: 7 uH}
controls:
  Range: {switch: {low: {values: {L1: 1.5 mH, L2: 9 uH}}, "5": {joins: [[a, c]], values: {L1: "? 10 uH .. 40 uH"}}, open: {values: {L1: "?"}}, bare: }}
  Gang:  {knob: [C1, C2]}
  Trim:  {knob: C3, scale: 10 .. 0, reverse: true}
start: {Trim: 2.5}
`

// value is a part's value at a setting, in SI units.
func value(t *testing.T, b *Box, s Setting, part string) float64 {
	t.Helper()
	w, err := b.Wire(s)
	if err != nil {
		t.Fatal(err)
	}
	for _, p := range w.Placed {
		if p.Part.Name == part {
			return p.Value
		}
	}
	t.Fatal("no part " + part)
	return 0
}

func near(t *testing.T, what string, got, want float64) {
	t.Helper()
	if !(math.Abs(got-want) <= 1e-12*math.Abs(want)) {
		t.Errorf("%s: %.15g, want %.15g", what, got, want)
	}
}

func TestStartAndDefaults(t *testing.T) {
	b := parsed(t, panel)
	s := b.Start()
	if got := b.Describe(s); got != "Range low, Gang 50 %, Trim 2.5" {
		t.Error(got)
	}
	data, err := json.Marshal(s)
	if err != nil || string(data) != `{"Gang":50,"Range":"low","Trim":2.5}` {
		t.Error(string(data), err)
	}
	near(t, "gang, first", value(t, b, s, "C1"), 60e-12)
	near(t, "gang, second", value(t, b, s, "C2"), 120e-12)
	near(t, "falling scale, reversed", value(t, b, s, "C3"), 2e-12) // rotation 0.75, value at 0.25
	near(t, "value of the position", value(t, b, s, "L1"), 1.5e-3)
	near(t, "value over the part's own", value(t, b, s, "L2"), 9e-6)
	s["Gang"] = Reading{Number: 1}
	if b.Start()["Gang"].Number != 50 {
		t.Error("a changed setting changed the start")
	}
}

func TestSet(t *testing.T) {
	b := parsed(t, panel)
	for _, c := range []struct{ control, text, want string }{
		{"Range", "low", ""},
		{"Range", " 5 ", ""},
		{"Gang", "0", ""},
		{"Gang", "40 %", ""},
		{"Trim", "10", ""},
		{"Trim", "40 %", "Trim is not marked in percent; give a reading on its scale, 10 .. 0"},
		{"Trim", "10.1", "Trim cannot stand at 10.1; its scale is 10 .. 0"},
		{"Gang", "-1", "Gang cannot stand at -1; its scale is 0 .. 100 %"},
		{"Gang", "NaN", "Gang: NaN is no finite number; write a plain number like 180, or ? where it is unknown"},
		{"Gang", "", "Gang: nothing is written here; write a plain number like 180, or ? where it is unknown"},
		{"Gang", "1,5", "Gang: the decimal mark is a point, not a comma; write 1.5"},
		{"Range", "lwo", `Range has no position "lwo"; did you mean "low"?`},
		{"Rnage", "low", `Panel has no control "Rnage"; did you mean "Range"?`},
		{"Frequency dial", "low", `Panel has no control "Frequency dial"; known are Range, Gang, Trim`},
	} {
		s := b.Start()
		err := b.Set(s, c.control, c.text)
		if got := fmt.Sprint(err); err != nil && got != c.want || err == nil && c.want != "" {
			t.Errorf("%s=%s: %v, want %s", c.control, c.text, err, c.want)
		}
		if f, ok := errors.AsType[*fault.Error](err); err != nil && (!ok || f.Kind != fault.Setting) {
			t.Errorf("%s=%s: %#v", c.control, c.text, err)
		}
		if _, wireErr := b.Wire(s); wireErr != nil {
			t.Errorf("%s=%s left a setting that does not wire: %v", c.control, c.text, wireErr)
		}
	}
}

// TestWireRefuses: settings that were not made by Set are judged too.
func TestWireRefuses(t *testing.T) {
	b := parsed(t, panel)
	for name, c := range map[string]struct {
		change func(s Setting)
		want   string
	}{
		"missing":  {func(s Setting) { delete(s, "Trim") }, "the setting has no position for Trim; give every control a position"},
		"NaN":      {func(s Setting) { s["Trim"] = Reading{Number: math.NaN()} }, "Trim: NaN is no finite number; write a plain number like 180, or ? where it is unknown"},
		"infinite": {func(s Setting) { s["Trim"] = Reading{Number: math.Inf(1)} }, "Trim: +Inf is no finite number; write a plain number like 180, or ? where it is unknown"},
		"outside":  {func(s Setting) { s["Trim"] = Reading{Number: -1} }, "Trim cannot stand at -1; its scale is 10 .. 0"},
		"no word":  {func(s Setting) { s["Range"] = Reading{} }, `Range has no position "0"; known are low, 5, open, bare`},
		"unknown value of a position": {
			func(s Setting) { s["Range"] = Reading{Word: "open"} },
			`t.box.yaml:10:137: value of L1 is not known, so nothing can be computed with it; write a guess like "? 22 uH"`,
		},
		"unknown value of a part": {
			func(s Setting) { s["Range"] = Reading{Word: "bare"} },
			`t.box.yaml:7:46: value of L1 is not known, so nothing can be computed with it; write a guess like "? 22 uH"`,
		},
	} {
		s := b.Start()
		c.change(s)
		if _, err := b.Wire(s); err == nil || err.Error() != c.want {
			t.Errorf("%s: %v, want %s", name, err, c.want)
		}
	}
}

// TestReadingsBothWays: a number for a position named by a number, and a word for a knob, mean what they say.
func TestReadingsBothWays(t *testing.T) {
	b := parsed(t, panel)
	s := b.Start()
	s["Range"], s["Trim"] = Reading{Number: 5}, Reading{Word: "7.5"}
	w, err := b.Wire(s)
	if err != nil {
		t.Fatal(err)
	}
	near(t, "knob by word", value(t, b, s, "C3"), 4e-12)
	near(t, "middle of bounds", value(t, b, s, "L1"), 20e-6)
	if !slices.Equal(w.Notices, []string{"L1: value is not known; 20.00 uH is taken"}) {
		t.Errorf("%q", w.Notices)
	}
}

func TestTwoSwitchesOneValue(t *testing.T) {
	b := parsed(t, "box: T\nterminals: {antenna: a, receiver: b}\nparts: {R: {kind: resistor, nodes: [a, b], value: 5 ohm}}\ncontrols:\n  A: {switch: {x: {values: {R: 6 ohm}}, y: }}\n  B: {switch: {x: {values: {R: 7 ohm}}, y: }}\n")
	_, err := b.Wire(b.Start())
	if err == nil || err.Error() != "two switches set the value of R at this setting; let one switch set it" {
		t.Error(err)
	}
}

func TestUnknowns(t *testing.T) {
	for _, c := range []struct {
		fields string
		want   float64
		notice string
	}{
		{`kind: inductor, nodes: [a, b], value: "? 22 uH"`, 22e-6, "P: value is not known; 22.00 uH is taken"},
		{`kind: inductor, nodes: [a, b], value: "? 10 uH .. 40 uH"`, 20e-6, "P: value is not known; 20.00 uH is taken"},
		{`kind: inductor, nodes: [a, b], value: "? 22 uH ± 20 %"`, 22e-6, "P: value is not known; 22.00 uH is taken"},
		{`kind: inductor, nodes: [a, b], value: 22 uH ± 20 %`, 22e-6, ""},
		{`kind: inductor, nodes: [a, b], value: 22 uH, Q: "? 50 .. 200"`, 22e-6, "P: Q is not known; 100.0 is taken"},
		{`kind: inductor, nodes: [a, b], value: 22 uH, self capacitance: "? 0 pF .. 4 pF"`, 22e-6, "P: self capacitance is not known; 2.000 pF is taken"},
		{`kind: variable capacitor, nodes: [a, b], min: "? 5 pF .. 20 pF", max: 390 pF`, 200e-12, "P: min is not known; 10.00 pF is taken"},
	} {
		b := parsed(t, "box: T\nterminals: {antenna: a, receiver: b}\nparts:\n  P: {"+c.fields+"}\n")
		w, err := b.Wire(b.Start())
		if err != nil {
			t.Error(c.fields, err)
			continue
		}
		near(t, c.fields, w.Placed[0].Value, c.want)
		if got := strings.Join(w.Notices, "|"); got != c.notice {
			t.Errorf("%s: %q, want %q", c.fields, got, c.notice)
		}
	}
	for fields, want := range map[string]string{
		`kind: inductor, nodes: [a, b], value: "?"`:                                                                 `t.box.yaml:4:45: value of P is not known, so nothing can be computed with it; write a guess like "? 22 uH"`,
		`kind: inductor, nodes: [a, b], value: 1 uH, Q: "?"`:                                                        `t.box.yaml:4:54: Q of P is not known, so nothing can be computed with it; write a guess like "? 180"`,
		`kind: variable capacitor, nodes: [a, b], min: "?", max: 9 pF`:                                              `t.box.yaml:4:53: min of P is not known, so nothing can be computed with it; write a guess like "? 330 pF"`,
		`kind: transformer, nodes: [[a, b], [c, d]], turns: [1, 2], value: "?"`:                                     `t.box.yaml:4:73: value of P is not known, so nothing can be computed with it; write a guess like "? 22 uH"`,
		`kind: coupled coils, windings: [{nodes: [a, b], value: "?"}, {nodes: [c, d], value: 1 uH}], coupling: 0.5`: `t.box.yaml:4:62: value of winding 1 of P is not known, so nothing can be computed with it; write a guess like "? 22 uH"`,
	} {
		b := parsed(t, "box: T\nterminals: {antenna: a, receiver: b}\nparts:\n  P: {"+fields+"}\n")
		if _, err := b.Wire(b.Start()); err == nil || err.Error() != want {
			t.Errorf("%s:\ngot  %v\nwant %s", fields, err, want)
		}
	}
}

// TestScales: whatever is printed round a knob, clockwise raises the value from the smallest to the largest, and reverse
// lowers it.
func TestScales(t *testing.T) {
	rapid.Check(t, func(rt *rapid.T) {
		from := rapid.Float64Range(-100, 100).Draw(rt, "from")
		to := rapid.Float64Range(-100, 100).Filter(func(x float64) bool { return math.Abs(x-from) > 1e-3 }).Draw(rt, "to")
		reverse, law := rapid.Bool().Draw(rt, "reverse"), rapid.SampledFrom(laws).Draw(rt, "law")
		b := parsed(t, fmt.Sprintf("box: T\nterminals: {antenna: a, receiver: b}\nparts: {C: {kind: variable capacitor, nodes: [a, b], range: 14 pF .. 390 pF, law: %s}}\ncontrols: {K: {knob: C, scale: %g .. %g, reverse: %t}}\n", law, from, to, reverse))
		last := 0.0
		for i := range 11 {
			x := float64(i) / 10
			if reverse {
				x = 1 - x
			}
			v := value(t, b, at(min(max(from+(to-from)*x, min(from, to)), max(from, to))), "C")
			if v <= last {
				rt.Fatalf("%g pF behind %g pF at %g of %s", v*1e12, last*1e12, x, law)
			}
			last = v
			switch i {
			case 0:
				near(t, "smallest", v, 14e-12)
			case 10:
				near(t, "largest", v, 390e-12)
			}
		}
	})
}

// TestTable: a table gives its rows exactly and never turns back between them (Fritsch and Butland's cubic is monotone).
func TestTable(t *testing.T) {
	rapid.Check(t, func(rt *rapid.T) {
		n := rapid.IntRange(2, 8).Draw(rt, "rows")
		falls := rapid.Bool().Draw(rt, "falls")
		var rows []string
		var readings, values []float64
		x, v := 0, 20
		for i := range n {
			readings, values = append(readings, float64(x)), append(values, float64(v))
			x += rapid.IntRange(1, 9).Draw(rt, "step")
			if i == 0 {
				v++
			}
			v += rapid.IntRange(0, 60).Draw(rt, "rise")
		}
		if falls {
			slices.Reverse(values)
		}
		for i := range n {
			rows = append(rows, fmt.Sprintf("[%g, %g pF]", readings[i], values[i]))
		}
		text := fmt.Sprintf("box: T\nterminals: {antenna: a, receiver: b}\nparts: {C: {kind: variable capacitor, nodes: [a, b], law: {table: [%s]}}}\n", strings.Join(rows, ", "))
		free := parsed(t, text)
		end := readings[n-1]
		b := parsed(t, text+fmt.Sprintf("controls: {K: {knob: C, scale: 0 .. %g}}\n", end))
		for i, r := range readings {
			near(t, "row", value(t, b, at(r), "C"), values[i]*1e-12)
		}
		last := value(t, b, at(0), "C")
		for i := range 101 {
			v := value(t, b, at(min(end, end*float64(i)/100)), "C")
			if (v-last)*(values[n-1]-values[0]) < -1e-24*math.Abs(values[n-1]) {
				rt.Fatalf("turns back at %g: %s", end*float64(i)/100, text)
			}
			last = v
		}
		near(t, "without a knob", value(t, free, Setting{}, "C"), value(t, b, at(end/2), "C"))
		if low, high, err := b.Part("C").Travel(); err != nil || low != min(values[0], values[n-1])*1e-12 || high != max(values[0], values[n-1])*1e-12 {
			if math.Abs(low*1e12-min(values[0], values[n-1])) > 1e-9 || math.Abs(high*1e12-max(values[0], values[n-1])) > 1e-9 {
				rt.Fatal(low, high, err)
			}
		}
	})
}

// TestWithoutKnob: a variable part that no knob moves stands in the middle of its travel.
func TestWithoutKnob(t *testing.T) {
	b := parsed(t, "box: T\nterminals: {antenna: a, receiver: b}\nparts: {C: {kind: variable capacitor, nodes: [a, b], range: 10 pF .. 90 pF, law: log}}\n")
	near(t, "middle by its law", value(t, b, Setting{}, "C"), 30e-12)
	if b.Moves(b.Part("C")) != nil {
		t.Error("moved by nothing")
	}
}

// TestSelfResonance checks f = 1/(2π√(LC)) by hand: 25.33 uH with 1 pF give 31.62 MHz (1/(2π·√(25.33e-18)) = 31.623e6).
func TestSelfResonance(t *testing.T) {
	b := parsed(t, "box: T\nterminals: {antenna: a, receiver: b}\nparts:\n  L: {kind: inductor, nodes: [a, b], value: 25.33 uH, self capacitance: 1 pF}\n  V: {kind: variable inductor, nodes: [a, b], range: 25.33 uH .. 101.32 uH, self capacitance: 1 pF}\n  N: {kind: inductor, nodes: [a, b], value: 25.33 uH}\n  U: {kind: inductor, nodes: [a, b], value: \"?\", self capacitance: 1 pF}\n")
	low, high, ok := b.Part("L").SelfResonance()
	if !ok || low != high || math.Abs(low-31.623e6) > 1e3 {
		t.Error(low, high, ok)
	}
	low, high, ok = b.Part("V").SelfResonance()
	if !ok || math.Abs(high-31.623e6) > 1e3 || math.Abs(high/low-2) > 1e-9 {
		t.Error(low, high, ok)
	}
	for _, name := range []string{"N", "U"} {
		if _, _, ok := b.Part(name).SelfResonance(); ok {
			t.Error(name)
		}
	}
}
