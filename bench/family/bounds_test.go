package family

import (
	"fmt"
	"math"
	"testing"

	"pgregory.net/rapid"

	"knobwise/bench/box"
	"knobwise/bench/folder"
	"knobwise/bench/quantity"
)

// A coil that resonates with any value of the travel, alone or with both capacitors in parallel or in series, anywhere in
// the measured range, lies within the bounds, unless its reactance is a wire's or a gap's.
func TestTuningCoilsAreInside(t *testing.T) {
	inside, narrow := 0, 0
	rapid.Check(t, func(t *rapid.T) {
		low := math.Pow(10, rapid.Float64Range(4.5, 7).Draw(t, "low"))
		high := low * math.Pow(10, rapid.Float64Range(0, 1.5).Draw(t, "octaves"))
		least := rapid.Float64Range(2, 50).Draw(t, "least")
		most := least * rapid.Float64Range(2, 40).Draw(t, "travel")
		text := fmt.Sprintf("box: B\nterminals: {antenna: a, receiver: b}\nparts:\n"+
			"  C1: {kind: variable capacitor, nodes: [a, b], range: %g pF .. %g pF}\n"+
			"  C2: {kind: variable capacitor, nodes: [a, b], min: \"? %g pF .. %g pF\", max: %g pF}\n", least, most, least, least*1.5, most)
		b, err := box.Parse(folder.Disk(), "b.box.yaml", []byte(text))
		if err != nil {
			t.Fatal(err)
		}
		x := boundsOf(low, high, b.Parts)
		for _, s := range []span{x.capacitor, x.small, x.large, x.coil, x.tuning} {
			if !(s.low > 0 && s.low < s.high) {
				t.Fatalf("span %v", s)
			}
		}
		c := rapid.Float64Range(least/2, 2*most).Draw(t, "pF") * 1e-12
		w := 2 * math.Pi * low * math.Pow(high/low, rapid.Float64Range(0, 1).Draw(t, "at"))
		l := 1 / (w * w * c)
		if l < x.coil.low || l > x.coil.high {
			return
		}
		inside++
		if l < x.tuning.low || l > x.tuning.high {
			t.Fatalf("%g H is outside %v", l, x.tuning)
		}
		if x.tuning.high/x.tuning.low < 0.9*x.coil.high/x.coil.low {
			narrow++
		}
	})
	if inside < 40 || narrow < 20 {
		t.Errorf("%d coils were inside, %d bounds were narrower than those of any coil", inside, narrow)
	}
}

// The travel of a part whose ends are not known is as wide as the file allows.
func TestTravel(t *testing.T) {
	anywhere := span{1e-12, 1e-6}
	for _, x := range []struct {
		fields string
		want   span
	}{
		{"range: 12 pF .. 400 pF", span{12e-12, 400e-12}},
		{"law: {table: [[0, 14 pF], [50, 390 pF]]}", span{14e-12, 390e-12}},
		{"min: 10 pF, max: 200 pF", span{10e-12, 200e-12}},
		{`min: "? 5 pF .. 30 pF", max: "? 390 pF"`, span{5e-12, 7800e-12}},
		{`min: "? 20 pF", max: "? 200 pF .. 500 pF"`, span{1e-12, 500e-12}},
		{`min: "?", max: "?"`, anywhere},
	} {
		b, err := box.Parse(folder.Disk(), "b.box.yaml", []byte("box: B\nterminals: {antenna: a, receiver: b}\nparts:\n  C1: {kind: variable capacitor, nodes: [a, b], "+x.fields+"}\n"))
		if err != nil {
			t.Fatal(err)
		}
		got := travelOf(b.Parts[0], anywhere)
		if math.Abs(got.low/x.want.low-1) > 1e-12 || math.Abs(got.high/x.want.high-1) > 1e-12 {
			t.Errorf("%s: %v, want %v", x.fields, got, x.want)
		}
	}
}

func TestUnknownText(t *testing.T) {
	for want, got := range map[string]string{
		"? 20 .. 500":         qSpan.unknown(quantity.One),
		"? 0.02 .. 0.9":       linkCoupling.unknown(quantity.One),
		"? 134 nH .. 6.37 mH": span{133.7e-9, 6.3662e-3}.unknown(quantity.Henry),
		"? 500 fF .. 30 pF":   straySpan.unknown(quantity.Farad),
	} {
		if got != want {
			t.Errorf("%q, want %q", got, want)
		}
	}
}
