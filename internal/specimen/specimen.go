// Package specimen makes boxes whose inside is known, with traces measured from them as a person would: few sweeps, noise on
// every point, dials that are read a little wrong. What is found from the traces can then be held against the truth.
//
// Everything follows from a seed. The circuits and values are invented; they serve tests and the proof of identification.
package specimen

import (
	"bytes"
	"fmt"
	"hash/fnv"
	"io/fs"
	"math"
	"math/cmplx"
	"math/rand/v2"
	"slices"
	"strings"
	"testing/fstest"

	"knobwise/bench/box"
	"knobwise/bench/folder"
	"knobwise/bench/hookup"
	"knobwise/bench/measurement"
	"knobwise/bench/setup"
)

// Kind is how a specimen is measured.
type Kind struct {
	Noise   float64 // of every amplitude, relative, standard deviation
	Misread float64 // by which a dial may be off what is written down, part of its scale, evenly spread
	Sweeps  int     // 0 for eight
	Points  int     // 0 for 101
	Floor   float64 // of the detector, part of the straight-through level: it adds in power
}

// Specimen is one box with its traces, as files: x.box.yaml with unknown values, x.measurements.yaml, setups and traces.
type Specimen struct {
	Name   string // family and seed
	Family string
	Files  fstest.MapFS
	Truth  map[string]float64 // "L1 value", in SI units: every value that is marked as unknown
	Box    string             // the true box file

	level  float64 // V, of the generator's EMF
	sweeps int     // that were taken
}

// List is the file of measurements.
const List = "x.measurements.yaml"

// circuit is one circuit with values: true, and as it is known.
type circuit struct {
	parts, known []string
	controls     []string
	truth        map[string]float64
	hide         [][2]string // in the controls
	random       *rand.Rand
}

// between draws a number evenly in its logarithm.
func (c *circuit) between(low, high float64) float64 {
	return low * math.Pow(high/low, c.random.Float64())
}

// part adds a part whose field is not known: the truth in one file, bounds about it in the other.
func (c *circuit) part(name, kind, nodes, rest string, fields ...hidden) {
	know, truth := "", ""
	for _, f := range fields {
		truth += fmt.Sprintf(", %s: %s", f.field, text(f.value, f.unit))
		know += fmt.Sprintf(", %s: %q", f.field, f.written(c))
		c.truth[name+" "+f.field] = rounded(f.value)
	}
	if rest != "" {
		rest = ", " + rest
	}
	head := fmt.Sprintf("  %s: {kind: %s, nodes: %s", name, kind, nodes)
	c.parts = append(c.parts, head+truth+rest+"}")
	c.known = append(c.known, head+know+rest+"}")
}

// plain adds a part that is known.
func (c *circuit) plain(name, kind, nodes, rest string) {
	line := fmt.Sprintf("  %s: {kind: %s, nodes: %s, %s}", name, kind, nodes, rest)
	c.parts, c.known = append(c.parts, line), append(c.known, line)
}

// hidden is a field that is not known.
type hidden struct {
	field string
	value float64
	unit  string // F, H, ohm, or empty
	span  float64
}

// written is how a person who cannot read the value writes it: nothing, a guess, or bounds.
func (h hidden) written(c *circuit) string {
	off := c.between(1/h.span, h.span)
	switch c.random.IntN(4) {
	case 0:
		if h.unit == "F" || h.unit == "H" {
			return "?"
		}
		return "? " + text(h.value*off, h.unit)
	case 1:
		return "? " + text(h.value*off, h.unit)
	}
	low, high := h.value/c.between(1.5, 2*h.span), h.value*c.between(1.5, 2*h.span)
	return "? " + text(low, h.unit) + " .. " + text(high, h.unit)
}

func rounded(v float64) float64 {
	if v == 0 {
		return 0
	}
	scale := math.Pow(10, 3-math.Floor(math.Log10(v)))
	return math.Round(v*scale) / scale
}

func text(v float64, unit string) string {
	v = rounded(v)
	scale := map[string]struct {
		by float64
		as string
	}{"F": {1e12, " pF"}, "H": {1e6, " uH"}, "ohm": {1, " ohm"}, "": {1, ""}}[unit]
	return fmt.Sprintf("%.6g%s", v*scale.by, scale.as)
}

// New makes specimen number seed of a family.
func New(family string, seed uint64, k Kind) (*Specimen, error) {
	build, ok := families[family]
	if !ok {
		return nil, fmt.Errorf("specimen: no family %q", family)
	}
	name := fnv.New64a()
	_, _ = name.Write([]byte(family))                   // memory does not fail
	random := rand.New(rand.NewPCG(seed, name.Sum64())) //nolint:gosec // no secret: a specimen must be made again from its seed
	c := &circuit{truth: map[string]float64{}, random: random}
	f0 := c.between(0.8e6, 9e6) // about where it is meant to peak
	build(c, f0)
	s := &Specimen{Name: fmt.Sprintf("%s %d", family, seed), Family: family, Files: fstest.MapFS{}, Truth: c.truth}
	top := "box: Specimen\nterminals: {antenna: ant, receiver: rx}\nparts:\n"
	tail := "controls:\n" + strings.Join(c.controls, "\n") + "\n"
	s.Box = top + strings.Join(c.parts, "\n") + "\n" + tail
	for _, h := range c.hide {
		tail = strings.Replace(tail, h[0], h[1], 1)
	}
	s.put("x.box.yaml", []byte(top+strings.Join(c.known, "\n")+"\n"+tail))
	sweep := fmt.Sprintf("sweep: {from: %.4g MHz, to: %.4g MHz, points: 101, spacing: log}\n", f0/3.2e6, f0*3.2/1e6)
	s.put("f.setup.yaml", []byte("setup: F\nsource: {kind: generator, emf: 1 V, impedance: 50 ohm, series: 220 ohm}\nload: {kind: resistor, value: 50 ohm}\n"+sweep))
	s.put("p.setup.yaml", []byte("setup: P\nsource: {kind: generator, emf: 1 V, impedance: 50 ohm, series: 220 ohm}\nload: {kind: open}\nprobe: {resistance: 10 Mohm, capacitance: 12 pF}\n"+sweep))
	return s, s.measure(k, random)
}

func (s *Specimen) put(name string, data []byte) { s.Files[name] = &fstest.MapFile{Data: data} }

// measure takes the sweeps: dials all over their scales, some into 50 ohm with a straight-through reference, some into the probe.
func (s *Specimen) measure(k Kind, random *rand.Rand) error {
	if k.Sweeps == 0 {
		k.Sweeps = 8
	}
	s.put(List, []byte("box: x.box.yaml\nmeasurements:\n"))
	s.level = 0.2 + random.Float64()
	truth, err := s.truth()
	if err != nil {
		return err
	}
	for i := range k.Sweeps {
		which := "f"
		if i%3 == 2 {
			which = "p"
		}
		at, stood := truth.Start(), truth.Start()
		for n, c := range truth.Controls {
			if c.Switch != nil {
				at[c.Name] = box.Reading{Word: c.Switch.Positions[i%len(c.Switch.Positions)].Name}
				stood[c.Name] = at[c.Name]
				continue
			}
			span := c.Knob.To - c.Knob.From
			// Strata, so that eight sweeps see all of a scale.
			read := c.Knob.From + span*(float64((i*5+n*3)%k.Sweeps)+random.Float64())/float64(k.Sweeps)
			at[c.Name] = box.Reading{Number: math.Round(read*10) / 10}
			stood[c.Name] = misread(at[c.Name], c.Knob, k, random)
		}
		if err := s.take(truth, which, at, stood, k, random); err != nil {
			return err
		}
	}
	return nil
}

func (s *Specimen) truth() (*box.Box, error) {
	return box.Parse(folder.Within(s.Files), "truth.box.yaml", []byte(s.Box))
}

// Take adds a sweep with the controls read as at, with setup "f" or "p".
func (s *Specimen) Take(which string, at box.Setting, k Kind, seed uint64) error {
	truth, err := s.truth()
	if err != nil {
		return err
	}
	random := rand.New(rand.NewPCG(seed, 99)) //nolint:gosec // no secret: a sweep must be made again from its seed
	stood := truth.Start()
	for _, c := range truth.Controls {
		stood[c.Name] = at[c.Name]
		if c.Knob != nil {
			stood[c.Name] = misread(at[c.Name], c.Knob, k, random)
		}
	}
	return s.take(truth, which, at, stood, k, random)
}

// misread is where a knob stands that was read, not beyond its stops.
func misread(read box.Reading, knob *box.Knob, k Kind, random *rand.Rand) box.Reading {
	at := read.Number + (2*random.Float64()-1)*k.Misread*(knob.To-knob.From)
	return box.Reading{Number: min(max(at, knob.From), knob.To)}
}

// take writes a sweep, its entry in the list, and with the first one into 50 ohm the reference.
func (s *Specimen) take(truth *box.Box, which string, at, stood box.Setting, k Kind, random *rand.Rand) error {
	with, err := setup.LoadFile(folder.Within(s.Files), which+".setup.yaml")
	if err != nil {
		return err
	}
	if k.Points > 0 {
		with.Sweep.Points = k.Points
	}
	var written []string
	for _, c := range truth.Controls {
		written = append(written, c.Name+": "+at[c.Name].String())
	}
	h, err := hookup.Connect(truth, stood, with)
	if err != nil {
		return err
	}
	data, reference, err := trace(h, with, s.level, k, random)
	if err != nil {
		return err
	}
	s.sweeps++
	name := fmt.Sprintf("m%d.csv", s.sweeps)
	s.put(name, data)
	entry := fmt.Sprintf("  - {file: %s, setup: %s.setup.yaml, setting: {%s}", name, which, strings.Join(written, ", "))
	if which == "f" {
		if s.Files["straight.csv"] == nil {
			s.put("straight.csv", reference)
		}
		entry += ", reference: straight.csv"
	}
	s.put(List, append(slices.Clone(s.Files[List].Data), entry+"}\n"...))
	return nil
}

// trace is one sweep as a table, and the same straight through, which is taken with ten times less noise: it is flat and can be averaged.
func trace(h *hookup.Hookup, st *setup.Setup, level float64, k Kind, random *rand.Rand) (data, reference []byte, err error) {
	var a, b bytes.Buffer
	a.WriteString("frequency (Hz),CH1 (V)\n")
	b.WriteString("frequency (Hz),CH1 (V)\n")
	for _, f := range st.Sweep.Frequencies() {
		r, err := h.Response(f)
		if err != nil {
			return nil, nil, err
		}
		v, straight := level*cmplx.Abs(r.Load), level*cmplx.Abs(r.Straight)
		fmt.Fprintf(&a, "%.9g,%.7g\n", f, math.Hypot(v, k.Floor*straight)*(1+k.Noise*random.NormFloat64()))
		fmt.Fprintf(&b, "%.9g,%.7g\n", f, straight*(1+k.Noise/10*random.NormFloat64()))
	}
	return a.Bytes(), b.Bytes(), nil
}

// Load reads the file of measurements back.
func (s *Specimen) Load() (*measurement.File, folder.Files, error) {
	files := folder.Within(fs.FS(s.Files))
	f, err := measurement.LoadFile(files, List)
	return f, files, err
}
