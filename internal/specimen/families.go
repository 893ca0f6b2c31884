package specimen

import (
	"fmt"
	"maps"
	"math"
	"slices"
)

// Families lists the families of circuits by name.
func Families() []string { return slices.Sorted(maps.Keys(families)) }

// travel is a variable capacitor's, pF.
func (c *circuit) travel() (low, high float64) {
	high = []float64{250, 365, 390, 500}[c.random.IntN(4)]
	return math.Round(high / c.between(12, 30)), high
}

// tuner adds a variable capacitor with its knob and returns the middle of its travel, F.
func (c *circuit) tuner(name, nodes, knob string) float64 {
	low, high := c.travel()
	c.plain(name, "variable capacitor", nodes, fmt.Sprintf("range: %g pF .. %g pF, Q: %g", low, high, rounded(c.between(200, 800))))
	c.controls = append(c.controls, fmt.Sprintf("  %s: {knob: %s, scale: 0 .. 10}", knob, name))
	return (low + high) / 2 * 1e-12
}

// coil adds a coil that resonates with a capacitance somewhere about a frequency.
func (c *circuit) coil(name, nodes string, f0, farad float64) float64 {
	henry := c.between(0.7, 1.4) / (4 * math.Pi * math.Pi * f0 * f0 * farad)
	c.part(name, "inductor", nodes, "", hidden{"value", henry, "H", 3}, hidden{"Q", c.between(50, 250), "", 2})
	return henry
}

// reactance adds a capacitor of about a reactance at a frequency.
func (c *circuit) capacitor(name, nodes string, f0, low, high float64) {
	c.part(name, "capacitor", nodes, "Q: 800", hidden{"value", 1 / (2 * math.Pi * f0 * c.between(low, high)), "F", 3})
}

// families build circuits of the trade about a frequency.
var families = map[string]func(c *circuit, f0 float64){
	"pi": func(c *circuit, f0 float64) {
		mid := c.tuner("C1", "[a, ground]", "Front")
		c.tuner("C2", "[b, ground]", "Rear")
		c.capacitor("C3", "[ant, a]", f0, 300, 3000)
		c.coil("L1", "[a, b]", f0, mid/2)
		c.capacitor("C4", "[b, rx]", f0, 100, 1500)
	},
	"tee": func(c *circuit, f0 float64) {
		mid := c.tuner("C1", "[ant, a]", "Front")
		c.tuner("C2", "[a, rx]", "Rear")
		c.coil("L1", "[a, ground]", f0, 2*mid)
	},
	"series tuned": func(c *circuit, f0 float64) {
		mid := c.tuner("C1", "[ant, a]", "Front")
		c.coil("L1", "[a, b]", f0, mid)
		c.tuner("C2", "[b, ground]", "Rear")
		c.part("R1", "resistor", "[b, rx]", "", hidden{"value", c.between(20, 400), "ohm", 3})
	},
	"shunt tuned": func(c *circuit, f0 float64) {
		c.capacitor("C3", "[ant, a]", f0, 300, 4000)
		mid := c.tuner("C1", "[a, ground]", "Front")
		c.coil("L1", "[a, ground]", f0, mid)
		c.tuner("C2", "[a, rx]", "Rear")
	},
	"shunt tuned, one knob": func(c *circuit, f0 float64) {
		c.capacitor("C3", "[ant, a]", f0, 300, 4000)
		mid := c.tuner("C1", "[a, ground]", "Tune")
		c.coil("L1", "[a, ground]", f0, mid)
		c.capacitor("C4", "[a, rx]", f0, 300, 4000)
	},
	"double tuned, top": func(c *circuit, f0 float64) {
		c.capacitor("C3", "[ant, a]", f0, 400, 3000)
		mid := c.tuner("C1", "[a, ground]", "Front")
		c.coil("L1", "[a, ground]", f0, mid)
		c.capacitor("C4", "[a, b]", f0, 2000, 15000)
		mid = c.tuner("C2", "[b, ground]", "Rear")
		c.coil("L2", "[b, ground]", f0, mid)
		c.capacitor("C5", "[b, rx]", f0, 400, 3000)
	},
	"double tuned, mutual": func(c *circuit, f0 float64) {
		c.capacitor("C3", "[ant, a]", f0, 400, 3000)
		mid := c.tuner("C1", "[a, ground]", "Front")
		far := c.tuner("C2", "[b, ground]", "Rear")
		c.coupled("T1", f0, mid, far)
		c.capacitor("C5", "[b, rx]", f0, 400, 3000)
	},
	"ell": func(c *circuit, f0 float64) {
		c.capacitor("C3", "[ant, a]", f0, 100, 1500)
		mid := c.tuner("C1", "[a, ground]", "Front")
		c.coil("L1", "[a, b]", f0, mid)
		c.tuner("C2", "[b, rx]", "Rear")
	},
	"ranges": func(c *circuit, f0 float64) {
		c.capacitor("C3", "[ant, a]", f0, 300, 3000)
		mid := c.tuner("C1", "[a, ground]", "Front")
		henry := c.coil("L1", "[a, b]", f0, mid/2)
		c.tuner("C2", "[b, ground]", "Rear")
		c.capacitor("C4", "[b, rx]", f0, 100, 1500)
		short := henry * c.between(0.2, 0.5)
		c.choice("Range", "L1", hidden{"value", short, "H", 2})
	},
}

// coupled adds two coils with an unknown coupling.
func (c *circuit) coupled(name string, f0, first, second float64) {
	value := func(farad float64) float64 {
		return c.between(0.7, 1.4) / (4 * math.Pi * math.Pi * f0 * f0 * farad)
	}
	a, b, k, q := hidden{"value of winding 1", value(first), "H", 2}, hidden{"value of winding 2", value(second), "H", 2}, c.between(0.03, 0.3), hidden{"Q", c.between(50, 200), "", 2}
	line := "  %s: {kind: coupled coils, windings: [{nodes: [a, ground], value: %s}, {nodes: [b, ground], value: %s}], coupling: %s, Q: %s}"
	quoted := func(s string) string { return `"` + s + `"` }
	c.parts = append(c.parts, fmt.Sprintf(line, name, text(a.value, a.unit), text(b.value, b.unit), text(k, ""), text(q.value, "")))
	c.known = append(c.known, fmt.Sprintf(line, name, quoted(a.written(c)), quoted(b.written(c)), quoted(fmt.Sprintf("? %s .. %s", text(k/4, ""), text(min(0.95, k*4), ""))), quoted(q.written(c))))
	for _, h := range []hidden{a, b, q} {
		c.truth[name+" "+h.field] = rounded(h.value)
	}
	c.truth[name+" coupling"] = rounded(k)
}

// choice adds a switch whose second position gives a part another value.
func (c *circuit) choice(name, part string, h hidden) {
	// The file of the truth and the other differ in the controls too; both are told here.
	c.truth[part+" value in "+name+" short"] = rounded(h.value)
	c.controls = append(c.controls, fmt.Sprintf("  %s: {switch: {long: {}, short: {values: {%s: %s}}}}", name, part, text(h.value, h.unit)))
	c.hide = append(c.hide, [2]string{fmt.Sprintf("{%s: %s}", part, text(h.value, h.unit)), fmt.Sprintf("{%s: %q}", part, h.written(c))})
}
