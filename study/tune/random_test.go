package tune

import (
	"fmt"
	"math"
	"math/rand/v2"
	"strings"
	"testing"

	"knobwise/bench/box"
	"knobwise/bench/demo"
	"knobwise/bench/folder"
	"knobwise/bench/hookup"
	"knobwise/bench/setup"
)

func parse(t testing.TB, boxText, setupText string) (*box.Box, *setup.Setup) {
	t.Helper()
	b, err := box.Parse(folder.Disk(), "test.box.yaml", []byte(boxText))
	if err != nil {
		t.Fatalf("%v in\n%s", err, boxText)
	}
	s, err := setup.Parse(folder.Disk(), "test.setup.yaml", []byte(setupText))
	if err != nil {
		t.Fatalf("%v in\n%s", err, setupText)
	}
	return b, s
}

func loaded(t testing.TB, boxFile, setupFile string) (*box.Box, *setup.Setup) {
	t.Helper()
	b, err := box.Load(demo.Files(), boxFile)
	if err != nil {
		t.Fatal(err)
	}
	s, err := setup.LoadFile(demo.Files(), setupFile)
	if err != nil {
		t.Fatal(err)
	}
	return b, s
}

func run(t testing.TB, q Question) *Result {
	t.Helper()
	r, err := Run(t.Context(), q)
	if err != nil {
		t.Fatal(err)
	}
	return r
}

// sample is a random box: a T of one or two series arms with shunt parts, 1 to 3 knobs (now and then a gang that is an axis,
// or one whose parts do not travel alike), and up to two switches, one of which may set a value.
type sample struct {
	text  string
	box   *box.Box
	setup *setup.Setup
	f     float64 // Hz
	slide bool    // a knob is asked one reading after another
}

type kinds struct{ knobs, gangs, slides bool }

func draw(t testing.TB, r *rand.Rand, k kinds) sample {
	var parts, controls []string
	spread := func(low, high float64) float64 { return low * math.Pow(high/low, r.Float64()) }
	pick := func(words ...string) string { return words[r.IntN(len(words))] }
	left, n := 1+r.IntN(3), 0
	if !k.knobs {
		left = 0
	}
	if k.gangs || k.slides {
		left = max(0, left-1)
	}
	name := func(letter string) string { n++; return fmt.Sprintf("%s%d", letter, n) }
	laws := []string{"linear", "straight-line frequency", "log", "straight-line wavelength"}
	fixed := func(a, b string) string {
		if r.IntN(2) == 0 {
			c := name("C")
			parts = append(parts, fmt.Sprintf("  %s: {kind: capacitor, nodes: [%s, %s], value: %.6g pF, Q: %.4g}", c, a, b, spread(15, 900), spread(200, 2000)))
			return c
		}
		l := name("L")
		parts = append(parts, fmt.Sprintf("  %s: {kind: inductor, nodes: [%s, %s], value: %.6g uH, Q: %.4g}", l, a, b, spread(0.8, 40), spread(40, 400)))
		return l
	}
	moving := func(a, b string) {
		if left == 0 {
			fixed(a, b)
			return
		}
		left--
		p := ""
		if r.IntN(3) > 0 {
			p = name("C")
			low := spread(8, 40)
			parts = append(parts, fmt.Sprintf("  %s: {kind: variable capacitor, nodes: [%s, %s], range: %.6g pF .. %.6g pF, Q: %.4g, law: %s}",
				p, a, b, low, low*spread(5, 40), spread(200, 2000), pick(laws...)))
		} else {
			p = name("L")
			low := spread(0.3, 4)
			parts = append(parts, fmt.Sprintf("  %s: {kind: variable inductor, nodes: [%s, %s], range: %.6g uH .. %.6g uH, Q: %.4g}",
				p, a, b, low, low*spread(4, 30), spread(60, 400)))
		}
		controls = append(controls, fmt.Sprintf("  K%s: {knob: %s, scale: %s}", p, p, pick("0 .. 10", "0 .. 100", "30 .. 0")))
	}
	some := func(a, b string) {
		if r.IntN(3) > 0 {
			moving(a, b)
		}
	}
	moving("a", "m")
	some("m", "ground")
	if k.gangs || k.slides {
		low, most := spread(8, 40), spread(5, 30)
		law, other := pick(laws[:3]...), ""
		if other = law; k.slides {
			other = laws[3]
		}
		for i, nodes := range []string{"m, ground", "c, ground"} {
			parts = append(parts, fmt.Sprintf("  G%d: {kind: variable capacitor, nodes: [%s], range: %.6g pF .. %.6g pF, Q: 500, law: %s}", i+1, nodes, low, low*most, law))
			law = other
		}
		parts = append(parts, fmt.Sprintf("  LG: {kind: inductor, nodes: [m, ground], value: %.6g uH, Q: 120}", spread(1, 30)))
		parts = append(parts, fmt.Sprintf("  LH: {kind: inductor, nodes: [c, ground], value: %.6g uH, Q: 120}", spread(1, 30)))
		controls = append(controls, "  Gang: {knob: [G1, G2], scale: 0 .. 180}")
	}
	moving("m", "c")
	some("c", "ground")
	some("a", "ground")
	if r.IntN(2) == 0 {
		node, value := pick("a", "m", "c"), ""
		second := fixed("s", "ground")
		if strings.HasPrefix(second, "C") && r.IntN(2) == 0 {
			value = fmt.Sprintf("\n  Value:\n    switch:\n      one: {}\n      two: {values: {%s: %.6g pF}}", second, spread(15, 900))
		}
		controls = append(controls, fmt.Sprintf("  Range:\n    switch:\n      low: {}\n      high: {joins: [[%s, s]]}%s", node, value))
	}
	if r.IntN(3) == 0 {
		controls = append(controls, "  Arm:\n    switch:\n      in: {}\n      out: {joins: [[m, c]]}")
	}
	text := "box: Random\nterminals: {antenna: a, receiver: c}\nparts:\n" + strings.Join(parts, "\n")
	if len(controls) > 0 {
		text += "\ncontrols:\n" + strings.Join(controls, "\n")
	}
	s := sample{text: text + "\n", f: spread(1e6, 10e6), slide: k.slides}
	s.box, s.setup = parse(t, s.text, fmt.Sprintf(`
setup: Random
source: {kind: impedance, emf: 1 V, resistance: %.5g ohm, capacitance: %.5g pF}
load: {kind: receiver, resistance: %.5g ohm, capacitance: %.4g pF}
sweep: {from: 1 MHz, to: 10 MHz}
`, spread(10, 800), spread(50, 5000), spread(30, 3000), spread(2, 60)))
	return s
}

// solved is a setting by the full solve alone. It shares no code with what it checks.
type solved struct {
	t testing.TB
	h *hookup.Hookup
}

func solve(t testing.TB, b *box.Box, s box.Setting, st *setup.Setup) solved {
	t.Helper()
	h, err := hookup.Connect(b, s, st)
	if err != nil {
		t.Fatal(err)
	}
	return solved{t, h}
}

// insertion is the insertion gain at f Hz, voltage the level of the load voltage over the emf; both in dB.
func (s solved) at(f float64) (insertion, transducer, voltage float64) {
	x, err := s.h.Response(f)
	if err != nil {
		s.t.Fatal(err)
	}
	load := math.Hypot(real(x.Load), imag(x.Load))
	return 20 * math.Log10(load/math.Hypot(real(x.Straight), imag(x.Straight))), 10 * math.Log10(x.LoadPower/x.AvailablePower),
		20 * math.Log10(load/s.h.Setup.Source.EMF)
}

func (s solved) gain(f float64) float64 { g, _, _ := s.at(f); return g }

func (s solved) rejection(f float64, at ...float64) float64 {
	worst := 200.
	_, _, wanted := s.at(f)
	for _, g := range at {
		_, _, v := s.at(g)
		worst = math.Min(worst, wanted-v)
	}
	return worst
}

// width walks from f in steps of a two-hundredth of the distance, and halves the last.
func (s solved) width(f float64) float64 {
	wanted, total := s.gain(f), 0.0
	half := 10 * math.Log10(2)
	for _, limit := range []float64{f / 4, 4 * f} {
		inside := func(d float64) bool { return math.Abs(s.gain(f+math.Copysign(d, limit-f))-wanted) <= half }
		in, most := 0.0, math.Abs(limit-f)
		for d := 1e-4 * f; ; d *= 1.06 {
			d := math.Min(d, most)
			if inside(d) {
				if in = d; d < most {
					continue
				}
				break
			}
			for range 30 {
				if m := (in + d) / 2; inside(m) {
					in = m
				} else {
					d = m
				}
			}
			break
		}
		total += in
	}
	return total
}

func (s solved) ripple(from, to float64) (ripple, low float64) {
	low, high := math.Inf(1), math.Inf(-1)
	for i := range 202 {
		g := s.gain(from + (to-from)*float64(i)/201)
		low, high = math.Min(low, g), math.Max(high, g)
	}
	return high - low, low
}

// everything lists the combinations of all switches.
func everything(b *box.Box) []box.Setting {
	all := []box.Setting{b.Start()}
	for _, c := range b.Controls {
		if c.Switch == nil {
			continue
		}
		var longer []box.Setting
		for _, s := range all {
			for _, p := range c.Switch.Positions {
				longer = append(longer, s.With(c.Name, box.Reading{Word: p.Name}))
			}
		}
		all = longer
	}
	return all
}

func knobs(b *box.Box) (all []*box.Control) {
	for _, c := range b.Controls {
		if c.Knob != nil {
			all = append(all, c)
		}
	}
	return all
}

// turned is a setting with the knobs at parts of their scales.
func turned(s box.Setting, knobs []*box.Control, part []float64) box.Setting {
	for i, c := range knobs {
		s = s.With(c.Name, box.Reading{Number: c.Knob.From + (c.Knob.To-c.Knob.From)*part[i]})
	}
	return s
}

// exhaustive looks for the setting with the largest value: every combination of the switches, a grid over the knobs, and
// from the best of these in smaller and smaller steps to all sides.
func exhaustive(b *box.Box, points float64, starts int, least float64, value func(s box.Setting) float64) (best float64, at box.Setting, tried int) {
	best = math.Inf(-1)
	ks := knobs(b)
	n := 1
	if len(ks) > 0 {
		n = max(3, int(math.Round(math.Pow(points, 1/float64(len(ks))))))
	}
	for _, s := range everything(b) {
		type place struct {
			part  []float64
			value float64
		}
		var all []place
		ask := func(part []float64) float64 {
			tried++
			v := value(turned(s, ks, part))
			if v > best {
				best, at = v, turned(s, ks, part)
			}
			return v
		}
		total := int(math.Round(math.Pow(float64(n), float64(len(ks)))))
		for i := range total {
			part, rest := make([]float64, len(ks)), i
			for k := range part {
				part[k] = float64(rest%n) / float64(n-1)
				rest /= n
			}
			all = append(all, place{part, ask(part)})
		}
		for range min(starts, len(all)) {
			if len(ks) == 0 {
				break
			}
			top := 0
			for i := range all {
				if all[i].value > all[top].value {
					top = i
				}
			}
			p := all[top]
			all[top].value = math.Inf(-1)
			if math.IsInf(p.value, -1) {
				break
			}
			for step := 1 / float64(n); step > least; {
				gained := false
				for _, way := range ways(len(ks)) {
					part := make([]float64, len(ks))
					for k := range part {
						part[k] = math.Max(0, math.Min(1, p.part[k]+step*way[k]))
					}
					if v := ask(part); v > p.value {
						p, gained = place{part, v}, true
					}
				}
				if !gained {
					step /= 2
				}
			}
		}
	}
	return best, at, tried
}

// ways are all directions of -1, 0 and 1.
func ways(n int) (all [][]float64) {
	all = [][]float64{{}}
	for range n {
		var longer [][]float64
		for _, w := range all {
			for _, v := range []float64{-1, 0, 1} {
				longer = append(longer, append(append([]float64(nil), w...), v))
			}
		}
		all = longer
	}
	return all
}
