package family_test

import (
	"bytes"
	"fmt"
	"maps"
	"math"
	"math/cmplx"
	"math/rand/v2"
	"os"
	"slices"
	"strings"
	"testing"

	"knobwise/bench/box"
	"knobwise/bench/demo"
	"knobwise/bench/family"
	"knobwise/bench/fault"
	"knobwise/bench/folder"
	"knobwise/bench/hookup"
	"knobwise/bench/quantity"
	"knobwise/bench/setup"
	"knobwise/internal/seeded"
)

func TestMain(m *testing.M) { os.Exit(seeded.Run(m, 1, 100)) }

// Ends of the traces, Hz.
const low, high = 0.5e6, 5e6

const panelHead = "box: B\nterminals: {antenna: ant, receiver: rx}\nparts:\n"

const (
	oneBox = panelHead + `  C1: {kind: variable capacitor, nodes: [ant, ground], range: 12 pF .. 400 pF, Q: 500}
  L1: {kind: inductor, nodes: [ant, rx], value: 20 uH}
controls:
  Tune: {knob: C1, scale: 10 .. 0, reverse: true}
  "Range: A": {switch: {"low, [1]": {}, mid: {}, high: {}}}
  Coupling: {switch: {loose: {}, tight: {}}}
`
	twoBox = panelHead + `  Ca: {kind: variable capacitor, nodes: [ant, ground], range: 12 pF .. 400 pF, esr: 0.2 ohm, law: straight-line frequency}
  Cb: {kind: variable capacitor, nodes: [rx, ground], law: {table: [[0, 14 pF], [50, 120 pF], [100, 390 pF]]}, leads: 8 nH}
  L1: {kind: inductor, nodes: [ant, rx], value: 20 uH}
controls:
  Range: {switch: {low: {}, mid: {}, high: {}}}
  Front: {knob: Ca}
  Coupling: {switch: {loose: {}, tight: {}, direct: {}}}
  Rear: {knob: Cb}
  Third: {switch: {a: {}, b: {}}}
start: {Range: mid, Front: 30 %}
`
	gangBox = panelHead + `  C1: {kind: variable capacitor, nodes: [ant, ground], range: 12 pF .. 400 pF, Q: 300}
  C2: {kind: variable capacitor, nodes: [rx, ground], range: 12 pF .. 330 pF, Q: 300}
  L1: {kind: inductor, nodes: [ant, rx], value: 20 uH}
controls:
  Tune: {knob: [C1, C2]}
`
	inductorBox = panelHead + `  C1: {kind: variable capacitor, nodes: [ant, ground], range: 12 pF .. 400 pF, Q: 300}
  L7: {kind: variable inductor, nodes: [ant, rx], range: 1 uH .. 30 uH, Q: 150 at 3 MHz}
controls:
  Tune: {knob: C1}
  Roller: {knob: L7, scale: 0 .. 30}
  Range: {switch: {low: {}, high: {}}}
`
	unknownBox = panelHead + `  C1: {kind: variable capacitor, nodes: [ant, ground], min: "? 5 pF .. 30 pF", max: "? 390 pF", Q: "? 100 .. 900"}
  C2: {kind: variable capacitor, nodes: [rx, ground], min: "?", max: "?"}
  L1: {kind: inductor, nodes: [ant, rx], value: "?"}
controls:
  Front: {knob: C1}
  Rear: {knob: C2}
`
	// Out takes the circuit off both sockets; Across leaves it there.
	bypassBox = panelHead + `  C1: {kind: variable capacitor, nodes: [in, ground], range: 12 pF .. 400 pF, Q: 300}
  C2: {kind: variable capacitor, nodes: [b, ground], range: 12 pF .. 390 pF, Q: 300}
  L1: {kind: inductor, nodes: [in, b], value: 20 uH}
controls:
  Path: {switch: {through: {joins: [[ant, in], [b, rx]]}, out: {joins: [[ant, k], [k, rx]]}, spare: {}}}
  Front: {knob: C1}
  Rear: {knob: C2}
  Range: {switch: {low: {}, high: {}}}
`
	acrossBox = panelHead + `  C1: {kind: variable capacitor, nodes: [ant, ground], range: 12 pF .. 400 pF, Q: 300}
  C2: {kind: variable capacitor, nodes: [rx, ground], range: 12 pF .. 390 pF, Q: 300}
  L1: {kind: inductor, nodes: [ant, rx], value: 20 uH}
controls:
  Path: {switch: {tuned: {}, across: {joins: [[ant, rx]]}}}
  Front: {knob: C1}
  Rear: {knob: C2}
`
)

func parse(t *testing.T, text string) *box.Box {
	t.Helper()
	b, err := box.Parse(folder.Disk(), "b.box.yaml", []byte(text))
	if err != nil {
		t.Fatal(err)
	}
	return b
}

func load(t *testing.T, name string) *box.Box {
	t.Helper()
	b, err := box.Load(demo.Files(), name)
	if err != nil {
		t.Fatal(err)
	}
	return b
}

// settings are the box's start with changes like "Range=low, Front=3".
func settings(t *testing.T, b *box.Box, changes ...string) []box.Setting {
	t.Helper()
	if len(changes) == 0 {
		changes = []string{""}
	}
	var all []box.Setting
	for _, change := range changes {
		s := b.Start()
		for c := range strings.SplitSeq(change, "; ") {
			if control, to, ok := strings.Cut(c, "="); ok {
				if err := b.Set(s, control, to); err != nil {
					t.Fatal(err)
				}
			}
		}
		all = append(all, s)
	}
	return all
}

// boxAndSettings is a box that is tried, with the number of its candidates as they were counted when the rules were
// written: it changes only with the rules.
type boxAndSettings struct {
	name     string
	box      *box.Box
	settings []box.Setting
	count    int
}

func families(t *testing.T) []boxAndSettings {
	one, two, gang, coil := parse(t, oneBox), parse(t, twoBox), parse(t, gangBox), parse(t, inductorBox)
	unknown, bypass, across := parse(t, unknownBox), parse(t, bypassBox), parse(t, acrossBox)
	harbour, lamp, tern := load(t, "harbour-t.box.yaml"), load(t, "lamp-room.box.yaml"), load(t, "tern-point.box.yaml")
	return []boxAndSettings{
		{"one", one, settings(t, one), 97},
		{"one, switched", one, settings(t, one, "Range: A=mid", "Range: A=high"), 123},
		{"one, three positions", one, settings(t, one, "Range: A=mid", "Range: A=high", "Range: A=low, [1]"), 121},
		{"one, two switches", one, settings(t, one, "Range: A=mid", "Range: A=high; Coupling=tight"), 110},
		{"two", two, settings(t, two), 129},
		{"two, switched", two, settings(t, two, "Range=mid", "Range=high; Front=3"), 155},
		{"two, three positions", two, settings(t, two, "Range=mid", "Range=high", "Range=low"), 143},
		{"two, two switches", two, settings(t, two, "Range=mid", "Range=high", "Coupling=tight"), 130},
		{"gang", gang, settings(t, gang), 129},
		{"inductor", coil, settings(t, coil), 97},
		{"inductor, switched", coil, settings(t, coil, "Range=low", "Range=high"), 123},
		{"unknown ends", unknown, settings(t, unknown), 129},
		{"bypass", bypass, settings(t, bypass, "", "Path=out; Range=high"), 129},
		{"bypass, switched", bypass, settings(t, bypass, "", "Path=out", "Range=high"), 155},
		{"bypass across", across, settings(t, across, "", "Path=across"), 129},
		{"Harbour T", harbour, settings(t, harbour), 112},
		{"Lamp Room", lamp, settings(t, lamp), 71},
		{"Lamp Room, switched", lamp, settings(t, lamp, "Band=lower", "Band=upper"), 86},
		{"Tern Point", tern, settings(t, tern), 129},
		{"Tern Point, two switches", tern, settings(t, tern, "Range=long; Coupling=light", "Range=middle; Coupling=medium", "Path=straight; Coupling=direct"), 130},
	}
}

func of(t *testing.T, f boxAndSettings) []family.Candidate {
	t.Helper()
	all, err := family.Of(f.box, f.settings, low, high)
	if err != nil {
		t.Fatalf("%s: %v", f.name, err)
	}
	return all
}

func bench(t *testing.T, source, load string) *setup.Setup {
	t.Helper()
	s, err := setup.Parse(folder.Disk(), "s.setup.yaml", []byte("setup: S\nsource: "+source+"\nload: "+load+"\nsweep: {from: 0.5 MHz, to: 5 MHz}\n"))
	if err != nil {
		t.Fatal(err)
	}
	return s
}

const matched = "{kind: generator, emf: 1 V, impedance: 50 ohm}"

// middles are the geometric means of the bounds; where there are none, of a capacitor's ends.
func middles(b *box.Box) box.Given {
	g := box.Given{}
	for _, u := range b.Unknowns() {
		switch q := u.Quantity; q.Form {
		case quantity.Bounds:
			g[u.Node] = math.Sqrt(q.Low * q.High)
		case quantity.Guess:
			g[u.Node] = q.Value
		default:
			g[u.Node] = map[string]float64{"min": 10e-12, "max": 300e-12}[u.Field]
		}
	}
	return g
}

func respond(t *testing.T, b *box.Box, s box.Setting, with *setup.Setup, g box.Given, f float64) (load, straight complex128) {
	t.Helper()
	h, err := hookup.ConnectGiven(b, s, with, g)
	if err != nil {
		t.Fatalf("%s: %v", b.Name, err)
	}
	r, err := h.Response(f)
	if err != nil {
		t.Fatalf("%s: %v", b.Name, err)
	}
	return r.Load, r.Straight
}

// Every candidate of every box is a box with the controls of the measured one, can be hooked up at every setting and passes
// a signal; its name is its own, and a second call gives the same.
func TestEveryCandidate(t *testing.T) {
	fifty := bench(t, matched, "{kind: resistor, value: 50 ohm}")
	hooked := 0
	for _, f := range families(t) {
		all := of(t, f)
		if len(all) != f.count {
			t.Errorf("%s: %d candidates, want %d", f.name, len(all), f.count)
		}
		again := of(t, f)
		names := map[string]bool{}
		for i, c := range all {
			if names[c.Name] {
				t.Errorf("%s: two are called %q", f.name, c.Name)
			}
			names[c.Name] = true
			if !bytes.Equal(c.Text, again[i].Text) || c.Name != again[i].Name || c.Elements != again[i].Elements {
				t.Errorf("%s: %s is another on the second call", f.name, c.Name)
			}
			b := parse(t, string(c.Text))
			if b.Name != c.Name || b.About != c.About || strings.Contains(c.About, "\n") || c.About == "" {
				t.Errorf("%s: box %q, about %q", c.Name, b.Name, b.About)
			}
			checkControls(t, f.box, b)
			checkUnknowns(t, f.box, b, c)
			g := middles(b)
			for _, s := range append(f.settings, f.box.Start()) {
				h, err := hookup.ConnectGiven(b, s, fifty, g)
				if err != nil {
					t.Fatalf("%s: %v\n%s", c.Name, err, c.Text)
				}
				hooked++
				best := 0.0
				for i := range 31 {
					r, err := h.Response(low / 10 * math.Pow(100*high/low, float64(i)/30))
					if err != nil {
						t.Fatalf("%s: %v\n%s", c.Name, err, c.Text)
					}
					best = max(best, cmplx.Abs(r.Load/r.Straight))
				}
				if !(best > 1e-3) {
					t.Errorf("%s: %s passes %.3g at best at %s\n%s", f.name, c.Name, best, b.Describe(s), c.Text)
				}
			}
		}
	}
	if hooked < 3000 {
		t.Errorf("only %d hooked up", hooked)
	}
}

func checkControls(t *testing.T, measured, b *box.Box) {
	t.Helper()
	if fmt.Sprint(measured.Start()) != fmt.Sprint(b.Start()) {
		t.Errorf("%s starts at %v", b.Name, b.Start())
	}
	if len(b.Controls) != len(measured.Controls) {
		t.Fatalf("%s has %d controls", b.Name, len(b.Controls))
	}
	for i, c := range measured.Controls {
		got := b.Controls[i]
		if got.Name != c.Name || (got.Knob == nil) != (c.Knob == nil) {
			t.Fatalf("%s: control %s instead of %s", b.Name, got.Name, c.Name)
		}
		if c.Switch != nil {
			for j, p := range c.Switch.Positions {
				if got.Switch.Positions[j].Name != p.Name || len(got.Switch.Positions) != len(c.Switch.Positions) {
					t.Errorf("%s: position %s of %s", b.Name, got.Switch.Positions[j].Name, c.Name)
				}
			}
			continue
		}
		if got.Knob.Scale() != c.Knob.Scale() || got.Knob.Reverse != c.Knob.Reverse || len(got.Knob.Parts) != len(c.Knob.Parts) {
			t.Errorf("%s: knob %s is %+v", b.Name, c.Name, got.Knob)
		}
		for j, p := range c.Knob.Parts {
			q := got.Knob.Parts[j]
			if q.Name != p.Name || q.Kind != p.Kind || len(q.Values) != len(p.Values) {
				t.Fatalf("%s: %s instead of %s", b.Name, q.Name, p.Name)
			}
			for field, v := range p.Values {
				// Fields are compared as they are written; nodes are the candidate's.
				if field != "nodes" && q.Values[field].Node.Text != v.Node.Text {
					t.Errorf("%s: %s of %s is %q", b.Name, field, q.Name, q.Values[field].Node.Text)
				}
			}
		}
	}
}

func checkUnknowns(t *testing.T, measured, b *box.Box, c family.Candidate) {
	t.Helper()
	guessed := 0
	for _, u := range b.Unknowns() {
		if b.Moves(u.Part) != nil {
			continue
		}
		guessed++
		if q := u.Quantity; q.Form != quantity.Bounds || !(q.Low > 0 && q.Low < q.High) {
			t.Errorf("%s: %s of %s is %s", b.Name, u.Field, u.Part.Name, u.Quantity)
		}
	}
	if len(b.Unknowns()) != c.Elements || guessed > 10 {
		t.Errorf("%s: %d unknowns, %d of guessed parts; %d are told", b.Name, len(b.Unknowns()), guessed, c.Elements)
	}
	for _, p := range b.Parts {
		if b.Moves(p) == nil && p.Kind.Variable {
			t.Errorf("%s: no knob moves %s", b.Name, p.Name)
		}
	}
	moving := 0
	for _, p := range measured.Parts {
		if measured.Moves(p) != nil {
			moving++
			if b.Part(p.Name) == nil {
				t.Errorf("%s lacks %s", b.Name, p.Name)
			}
		}
	}
	if moving == 0 {
		t.Error("nothing moves")
	}
}

// No two candidates are one circuit: their responses differ however the same values are dealt to the guessed parts, between
// two pairs of source and load. This knows nothing of the rules by which Of leaves circuits out.
func TestNoTwoAlike(t *testing.T) {
	benches := []*setup.Setup{
		bench(t, "{kind: impedance, emf: 1 V, resistance: 70 ohm, capacitance: 300 pF}", "{kind: receiver, resistance: 400 ohm, capacitance: 20 pF}"),
		bench(t, matched, "{kind: resistor, value: 120 ohm}"),
	}
	pools := map[string][]float64{
		"farad": {150e-12, 410e-12, 930e-12, 1700e-12}, "henry": {3e-6, 7.7e-6, 19e-6, 41e-6}, "ohm": {130, 470},
		"Q": {90, 90, 90}, "coupling": {0.31, 0.31}, "self capacitance": {9e-12},
	}
	dealt := 0
	for _, f := range families(t) {
		if strings.Contains(f.name, "switch") || strings.Contains(f.name, "three") {
			continue // values in switch positions are one more deal of the same circuits
		}
		owner := map[string]string{}
		for _, c := range of(t, f) {
			b := parse(t, string(c.Text))
			s := f.settings[0]
			for i, control := range b.Controls {
				if control.Knob != nil { // nowhere special, and each elsewhere
					s = s.With(control.Name, box.Reading{Number: control.Knob.From + (0.3+0.1*float64(i))*(control.Knob.To-control.Knob.From)})
				}
			}
			mine := map[string]bool{}
			deal(t, b, pools, func(g box.Given) {
				dealt++
				text := ""
				for i, with := range benches {
					load, _ := respond(t, b, s, with, g, []float64{1.1e6, 2.3e6}[i])
					text += fmt.Sprintf(" %.7e", cmplx.Abs(load))
				}
				mine[text] = true
			})
			for text := range mine {
				if other, ok := owner[text]; ok {
					t.Errorf("%s: %q and %q are one circuit", f.name, other, c.Name)
					break
				}
			}
			for text := range mine {
				owner[text] = c.Name
			}
		}
	}
	if dealt < 2000 {
		t.Errorf("only %d deals", dealt)
	}
}

// deal calls f with every way to give the values of a pool to the unknown values of its kind.
func deal(t *testing.T, b *box.Box, pools map[string][]float64, f func(box.Given)) {
	t.Helper()
	g := middles(b)
	var guessed []box.Unknown
	for _, u := range b.Unknowns() {
		if b.Moves(u.Part) == nil {
			guessed = append(guessed, u)
		}
	}
	taken := map[string]int{} // bits
	count := map[string]int{}
	pool := func(u box.Unknown) string {
		if _, ok := pools[u.Field]; ok {
			return u.Field
		}
		return u.Quantity.Unit.Name()
	}
	for _, u := range guessed {
		count[pool(u)]++
	}
	var place func(i int)
	place = func(i int) {
		if i == len(guessed) {
			f(maps.Clone(g))
			return
		}
		name := pool(guessed[i])
		if count[name] > len(pools[name]) {
			t.Fatalf("%s: %d values of %s", b.Name, count[name], name)
		}
		for n := range count[name] {
			if taken[name]&(1<<n) == 0 {
				taken[name] |= 1 << n
				g[guessed[i].Node] = pools[name][n]
				place(i + 1)
				taken[name] &^= 1 << n
			}
		}
	}
	place(0)
}

// A switch that stood in several positions changes something in every candidate, whatever the other one does; one that
// stood in one position, and a position that was not measured, change nothing.
func TestSwitchesAct(t *testing.T) {
	b := parse(t, twoBox)
	with := bench(t, matched, "{kind: resistor, value: 120 ohm}")
	random := rand.New(rand.NewPCG(3, 4))
	acted, still := 0, 0
	for _, f := range families(t) {
		if f.box.Name != b.Name || !strings.HasPrefix(f.name, "two") {
			continue
		}
		varies := map[string]map[string]bool{}
		for _, s := range f.settings {
			for _, c := range b.Controls {
				if c.Switch != nil {
					if varies[c.Name] == nil {
						varies[c.Name] = map[string]bool{}
					}
					varies[c.Name][s[c.Name].Word] = true
				}
			}
		}
		for _, c := range of(t, f) {
			candidate := parse(t, string(c.Text))
			g := box.Given{}
			for _, u := range candidate.Unknowns() {
				q := u.Quantity
				g[u.Node] = q.Low * math.Pow(q.High/q.Low, 0.3+0.4*random.Float64())
			}
			for _, control := range candidate.Controls {
				if control.Switch == nil {
					continue
				}
				at := map[string]float64{}
				for _, p := range control.Switch.Positions {
					for i := range 9 {
						load, straight := respond(t, candidate, f.settings[0].With(control.Name, box.Reading{Word: p.Name}), with, g, low*math.Pow(high/low, float64(i)/8))
						at[p.Name] += cmplx.Abs(load / straight)
					}
				}
				for _, p := range control.Switch.Positions {
					for _, q := range control.Switch.Positions {
						used := varies[control.Name]
						differ := math.Abs(at[p.Name]-at[q.Name]) > 1e-9*at[p.Name]
						switch {
						case p.Name < q.Name && used[p.Name] && used[q.Name]:
							acted++
							if !differ {
								t.Errorf("%s: %s and %s of %s are alike\n%s", c.Name, p.Name, q.Name, control.Name, c.Text)
							}
						case !used[p.Name] && slices.IndexFunc(control.Switch.Positions, func(x *box.Position) bool { return used[x.Name] }) == slices.Index(control.Switch.Positions, q):
							still++
							if differ {
								t.Errorf("%s: %s of %s, which was not measured, is not like %s", c.Name, p.Name, control.Name, q.Name)
							}
						}
					}
				}
			}
		}
	}
	if acted < 400 || still < 1500 {
		t.Errorf("%d pairs acted, %d stood still", acted, still)
	}
}

// The circuit of a box is among its candidates: with its own values, the candidate of that name does what the box does.
func TestTrueCircuitIsThere(t *testing.T) {
	with := bench(t, "{kind: generator, emf: 1 V, impedance: 50 ohm, series: 220 ohm}", "{kind: receiver, resistance: 50 ohm, capacitance: 20 pF}")
	knobs := `  Front: {knob: C1, scale: 0 .. 10}
  Rear: {knob: C2, scale: 0 .. 10}
`
	caps := func(n ...string) string {
		return fmt.Sprintf("  C1: {kind: variable capacitor, nodes: [%s, %s], range: 12 pF .. 400 pF, Q: 500}\n  C2: {kind: variable capacitor, nodes: [%s, %s], range: 10 pF .. 300 pF, Q: 500}\n", n[0], n[1], n[2], n[3])
	}
	for _, x := range []struct {
		name, text string
		changes    []string
		values     []float64 // in the order of the candidate's unknown values
	}{
		{"pi, low-pass, C1 at the antenna; antenna through a resistor; Range selects the coil; Coupling selects the coupling", panelHead + caps("a", "ground", "rx", "ground") + `  La: {kind: inductor, nodes: [a, rx], value: 30 uH, Q: 120}
  Ra: {kind: resistor, nodes: [ant, a], value: 50 ohm}
controls:
` + knobs + `  Range: {switch: {low: {}, high: {values: {La: 9 uH}}}}
  Coupling: {switch: {tight: {}, loose: {values: {Ra: 900 ohm}}}}
`, []string{"", "Range=high", "Coupling=loose"}, []float64{30e-6, 120, 50, 9e-6, 900}},
		{"shunt tuned, antenna at the capacitive tap, C2 above the tap; receiver through a capacitor", panelHead + caps("ant", "ground", "ant", "b") + `  La: {kind: inductor, nodes: [b, ground], value: 30 uH, Q: 120}
  Ca: {kind: capacitor, nodes: [b, rx], value: 50 pF}
controls:
` + knobs, nil, []float64{30e-6, 120, 50e-12}},
		{"link to a tuned circuit, series capacitor, C1 across the coil", panelHead + caps("t", "ground", "t", "rx") + `  T1: {kind: coupled coils, windings: [{nodes: [t, ground], value: 40 uH}, {nodes: [ant, ground], value: 2 uH}], coupling: 0.4, Q: 120}
controls:
` + knobs, nil, []float64{2e-6, 40e-6, 0.4, 120}},
		{"link to a tuned circuit, series capacitor, C1 across the coil; Range selects coupled coils", panelHead + caps("t", "ground", "t", "rx") + `  T1: {kind: coupled coils, windings: [{nodes: [t1, ground], value: 40 uH}, {nodes: [a1, ground], value: 2 uH}], coupling: 0.4, Q: 120}
  T2: {kind: coupled coils, windings: [{nodes: [t2, ground], value: 8 uH}, {nodes: [a2, ground], value: 1 uH}], coupling: 0.5, Q: 130}
controls:
` + knobs + `  Range: {switch: {low: {joins: [[t, t1], [ant, a1]]}, high: {joins: [[t, t2], [ant, a2]]}}}
`, []string{"", "Range=high"}, []float64{2e-6, 40e-6, 0.4, 120, 1e-6, 8e-6, 0.5, 130}},
		{"double tuned, coupled at the foot by a capacitor, C2 at the antenna; Range selects the coil", panelHead + caps("rx", "ground", "ant", "ground") + `  La: {kind: inductor, nodes: [ant, f], value: 40 uH, Q: 120}
  Lb: {kind: inductor, nodes: [rx, f], value: 50 uH, Q: 120}
  Ca: {kind: capacitor, nodes: [f, ground], value: 5 nF}
controls:
` + knobs + `  Range: {switch: {low: {}, high: {values: {La: 9 uH, Lb: 11 uH}}}}
`, []string{"", "Range=high"}, []float64{40e-6, 120, 5e-9, 50e-6, 120, 9e-6, 11e-6}},
		{"series tuned link to a tuned circuit, C2 across the coil; Range selects the coil; Coupling selects the coupling", panelHead + caps("ant", "l", "rx", "ground") + `  T1: {kind: coupled coils, windings: [{nodes: [m, ground], value: 20 uH}, {nodes: [l1, ground], value: 2 uH}, {nodes: [l2, ground], value: 5 uH}], coupling: 0.4, Q: 120}
  La: {kind: inductor, nodes: [rx, m], value: 30 uH, Q: 110}
controls:
` + knobs + `  Range: {switch: {low: {}, high: {values: {La: 9 uH}}}}
  Coupling: {switch: {tight: {joins: [[l, l1]]}, loose: {joins: [[l, l2]]}}}
`, []string{"", "Range=high", "Coupling=loose"}, []float64{30e-6, 110, 20e-6, 2e-6, 5e-6, 0.4, 120, 9e-6}},
	} {
		b := parse(t, x.text)
		ss := settings(t, b, x.changes...)
		all, err := family.Of(b, ss, low, high)
		if err != nil {
			t.Fatal(err)
		}
		name := strings.TrimSuffix(x.name, "; Range selects the coil")
		i := slices.IndexFunc(all, func(c family.Candidate) bool { return c.Name == x.name || c.Name == name })
		if i < 0 {
			t.Errorf("%q is not there", x.name)
			continue
		}
		c := parse(t, string(all[i].Text))
		g := box.Given{}
		if len(c.Unknowns()) != len(x.values) {
			t.Errorf("%s: %d unknown values\n%s", x.name, len(c.Unknowns()), all[i].Text)
			continue
		}
		for j, u := range c.Unknowns() {
			g[u.Node] = x.values[j]
			if v := x.values[j]; v < u.Quantity.Low || v > u.Quantity.High {
				t.Errorf("%s: %s of %s, %g, is outside %s", x.name, u.Field, u.Part.Name, v, u.Quantity)
			}
		}
		for _, s := range ss {
			for _, f := range []float64{low, 1.3e6, 2.9e6, high} {
				want, _ := respond(t, b, s, with, nil, f)
				got, _ := respond(t, c, s, with, g, f)
				if cmplx.Abs(got-want) > 1e-9*cmplx.Abs(want) {
					t.Errorf("%s at %s, %g Hz: %v, want %v\n%s", x.name, b.Describe(s), f, got, want, all[i].Text)
				}
			}
		}
	}
}

// A box whose circuit has no guessed part is met by its candidate exactly: the demonstration's T.
func TestHarbourIsATee(t *testing.T) {
	b := load(t, "harbour-t.box.yaml")
	with := bench(t, matched, "{kind: resistor, value: 50 ohm}")
	compared := 0
	for _, c := range of(t, boxAndSettings{"T", b, settings(t, b), 0}) {
		if c.Name != "T, high-pass, C1 at the antenna" {
			continue
		}
		got := parse(t, string(c.Text))
		for _, s := range settings(t, b, "", "Antenna=80; Roller=9; Receiver=12") {
			x, _ := respond(t, got, s, with, nil, 3e6)
			want, _ := respond(t, b, s, with, nil, 3e6)
			compared++
			if cmplx.Abs(x-want) > 1e-12 {
				t.Errorf("%v, want %v", x, want)
			}
		}
	}
	if compared != 2 {
		t.Errorf("%d compared", compared)
	}
}

// A bypass of the measured box is one in every candidate: off the sockets where the box was, across the circuit where not.
func TestBypass(t *testing.T) {
	with := bench(t, matched, "{kind: resistor, value: 120 ohm}")
	through, loaded := 0, 0
	for _, f := range families(t) {
		if !strings.HasPrefix(f.name, "bypass") {
			continue
		}
		for _, c := range of(t, f) {
			b := parse(t, string(c.Text))
			load, straight := respond(t, b, f.settings[1], with, middles(b), 2e6)
			same := cmplx.Abs(load-straight) < 1e-9
			if f.name != "bypass across" {
				through++
				if !same {
					t.Errorf("%s: %s gives %v at the bypass, straight %v", f.name, c.Name, load, straight)
				}
				continue
			}
			if !same {
				loaded++
			}
			h, err := hookup.ConnectGiven(b, f.settings[1], with, middles(b))
			if err != nil {
				t.Fatal(err)
			}
			r, err := h.Response(2e6)
			if err != nil {
				t.Fatal(err)
			}
			if cmplx.Abs(r.OutputImpedance) > 50*10 {
				t.Errorf("%s is open at the bypass", c.Name)
			}
		}
	}
	if through != 284 || loaded < 90 {
		t.Errorf("%d straight through, %d with the circuit at the sockets", through, loaded)
	}
}

func TestErrors(t *testing.T) {
	two := parse(t, twoBox)
	good := settings(t, two)
	none := parse(t, panelHead+"  C1: {kind: variable capacitor, nodes: [ant, rx], range: 1 pF .. 9 pF}\n")
	three := parse(t, panelHead+"  C1: {kind: variable capacitor, nodes: [ant, rx], range: 1 pF .. 9 pF}\n  C2: {kind: variable capacitor, nodes: [ant, rx], range: 1 pF .. 9 pF}\n  C3: {kind: variable capacitor, nodes: [ant, rx], range: 1 pF .. 9 pF}\ncontrols:\n  Tune: {knob: [C1, C2, C3]}\n")
	coils := parse(t, panelHead+"  C1: {kind: variable capacitor, nodes: [ant, rx], range: 1 pF .. 9 pF}\n  L1: {kind: variable inductor, nodes: [ant, rx], range: 1 uH .. 9 uH}\n  L2: {kind: variable inductor, nodes: [ant, rx], range: 1 uH .. 9 uH}\ncontrols:\n  Tune: {knob: [C1, L1, L2]}\n")
	short := box.Setting{}
	const instead = "; guessing works with one or two variable capacitors and at most one variable inductor, each on a knob"
	for _, x := range []struct {
		name      string
		box       *box.Box
		settings  []box.Setting
		low, high float64
		kind      fault.Kind
		want      string
	}{
		{"no capacitor", none, settings(t, none), low, high, fault.Request, "the knobs of B turn 0 variable capacitors" + instead},
		{"three capacitors", three, settings(t, three), low, high, fault.Request, "the knobs of B turn 3 variable capacitors" + instead},
		{"two inductors", coils, settings(t, coils), low, high, fault.Request, "B has two variable inductors, L1 and L2" + instead},
		{
			"three switches", two, settings(t, two, "Range=low; Third=a", "Range=high; Coupling=tight; Third=b"), low, high, fault.Request,
			"the switches Range, Coupling, Third all change between the measurements, and what three switches do together cannot be guessed; compare measurements in which all but two of them stand in one position",
		},
		{"no settings", two, nil, low, high, fault.Request, "there is no setting at which B was measured; give the settings of the measurements"},
		{"setting without controls", two, []box.Setting{short}, low, high, fault.Setting, "the setting has no position for Range; give every control a position"},
		{"unknown control", two, []box.Setting{good[0].With("Frnt", box.Reading{Number: 1})}, low, high, fault.Setting, `B has no control "Frnt"; did you mean "Front"?`},
		{"unknown position", two, []box.Setting{good[0].With("Range", box.Reading{Word: "hi"})}, low, high, fault.Setting, `Range has no position "hi"; known are low, mid, high`},
		{"no frequency", two, good, 0, high, fault.Request, "no traces run from 0 to 5e+06 Hz; give the lowest and the highest frequency, above zero"},
		{"falling", two, good, high, low, fault.Request, "no traces run from 5e+06 to 500000 Hz; give the lowest and the highest frequency, above zero"},
		{"not a number", two, good, math.NaN(), high, fault.Request, "no traces run from NaN to 5e+06 Hz; give the lowest and the highest frequency, above zero"},
		{"infinite", two, good, low, math.Inf(1), fault.Request, "no traces run from 500000 to +Inf Hz; give the lowest and the highest frequency, above zero"},
	} {
		all, err := family.Of(x.box, x.settings, x.low, x.high)
		f, ok := err.(*fault.Error) //nolint:errorlint // the type is what is promised
		if !ok || f.Kind != x.kind || err.Error() != x.want || all != nil {
			t.Errorf("%s: %d candidates and\n     %v\nwant %s", x.name, len(all), err, x.want)
		}
	}
}
