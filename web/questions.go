package web

import (
	"fmt"
	"io"
	"net/http"
	"slices"
	"strconv"

	"knobwise/answer"
	"knobwise/bench/box"
	"knobwise/bench/demo"
	"knobwise/bench/document"
	"knobwise/bench/fault"
	"knobwise/bench/form"
	"knobwise/bench/hookup"
	"knobwise/bench/setup"
	"knobwise/figure/schematic"
	"knobwise/study/sweep"
)

func (s *Server) bench(*http.Request) (any, error) {
	d := s.desk
	d.mu.Lock()
	defer d.mu.Unlock()
	out := Bench{Folder: d.store.Name(), Demo: s.demo, Changes: d.changes, Boxes: []File{}, Setups: []File{}}
	for _, r := range d.boxes {
		if r.gone {
			continue
		}
		f := File{File: r.file, Error: problem(r.err)}
		if r.good != nil {
			f.Name, f.About = r.good.Name, r.good.About
		}
		out.Boxes = append(out.Boxes, f)
	}
	for _, r := range d.setups {
		if r.gone {
			continue
		}
		f := File{File: r.file, Error: problem(r.err)}
		if r.good != nil {
			f.Name, f.About = r.good.Name, r.good.About
			f.Source, f.Load = r.good.Source.Describe(), r.good.DescribeLoad()
		}
		out.Setups = append(out.Setups, f)
	}
	byFile := func(a, b File) int {
		if a.File < b.File {
			return -1
		}
		return 1
	}
	slices.SortFunc(out.Boxes, byFile)
	slices.SortFunc(out.Setups, byFile)
	out.Box, out.Setup = first(out.Boxes, demo.DefaultBox), first(out.Setups, demo.DefaultSetup)
	return out, nil
}

// first is the file to open where the page names none: the demonstration's own where it is here, else the first that can
// be read.
func first(files []File, preferred string) string {
	file := ""
	for _, f := range files {
		switch {
		case f.File == preferred:
			return f.File
		case file == "" && f.Name != "":
			file = f.File
		}
	}
	if file == "" && len(files) > 0 {
		file = files[0].File
	}
	return file
}

func (s *Server) box(r *http.Request) (any, error) {
	file := r.URL.Query().Get("file")
	now, err := look(s.desk, s.desk.boxes, file)
	if err != nil {
		return nil, err
	}
	b := now.good
	out := Box{File: file, Version: now.version, Error: problem(now.err)}
	out.Name, out.About = b.Name, b.About
	out.Controls, out.Start, out.Parts = []Control{}, map[string]any{}, []Part{}
	start := b.Start()
	for _, c := range b.Controls {
		j := Control{Name: c.Name, Kind: "switch", Parts: []string{}, Positions: []string{}}
		if c.Knob != nil {
			j.Kind, j.From, j.To, j.Percent = "knob", c.Knob.From, c.Knob.To, c.Knob.Percent
			for _, p := range c.Knob.Parts {
				j.Parts = append(j.Parts, p.Name)
			}
			out.Start[c.Name] = start[c.Name].Number
		} else {
			for _, p := range c.Switch.Positions {
				j.Positions = append(j.Positions, p.Name)
			}
			out.Start[c.Name] = start[c.Name].Word
		}
		out.Controls = append(out.Controls, j)
	}
	for _, p := range b.Parts {
		j := Part{Name: p.Name, Kind: p.Kind.Name, About: p.Kind.About}
		j.Fields = fields(b.Document, []string{"parts", p.Name}, p.Kind.Fields())
		out.Parts = append(out.Parts, j)
	}
	return out, nil
}

// fields lists what may be changed in one map of a file: single values as they are written, those inside lists and maps
// too. What is not there yet can be added where it is a single value.
func fields(d *document.Document, path []string, known []form.Field) []Field {
	node := d.Root
	for _, key := range path {
		if node = node.Get(key); node == nil {
			break
		}
	}
	all := []Field{}
	for _, f := range known {
		if slices.Contains(wiring, f.Name) {
			continue
		}
		j := Field{Path: append(slices.Clone(path), f.Name), Name: f.Name, Write: f.Shape.Describe(), About: f.About}
		var given *document.Node
		if node != nil {
			given = node.Get(f.Name)
		}
		switch {
		case given != nil:
			all = append(all, leaves(given, j)...)
		case single(f.Shape):
			all = append(all, j)
		}
	}
	return all
}

// wiring is what makes a part what it is; it is changed in the file.
var wiring = []string{"kind", "nodes", "file"}

// single reports whether a value of a shape may be written as a scalar.
func single(s form.Shape) bool {
	t, ok := s.Schema()["type"].(string)
	return !ok || t != "array" && t != "object"
}

// leaves lists the single values at and below a node. Items of lists are named by their numbers from 1.
func leaves(n *document.Node, at Field) (all []Field) {
	below := func(n *document.Node, step, name string) {
		in := at
		if len(all) > 0 {
			in.About = "" // said beside the first
		}
		in.Path, in.Name, in.Write = append(slices.Clone(at.Path), step), at.Name+" "+name, ""
		all = append(all, leaves(n, in)...)
	}
	switch n.Kind {
	case document.Map:
		for _, e := range n.Entries {
			if !slices.Contains(wiring, e.Key.Text) {
				below(e.Value, e.Key.Text, e.Key.Text)
			}
		}
	case document.List:
		for i, item := range n.Items {
			below(item, strconv.Itoa(i), strconv.Itoa(i+1))
		}
	default:
		at.Text = n.Text
		all = append(all, at)
	}
	return all
}

func (s *Server) setup(r *http.Request) (any, error) {
	file := r.URL.Query().Get("file")
	now, err := look(s.desk, s.desk.setups, file)
	if err != nil {
		return nil, err
	}
	st := now.good
	out := Setup{File: file, Version: now.version, Error: problem(now.err)}
	out.Name, out.About = st.Name, st.About
	out.From, out.To, out.Points, out.Log, out.Time = st.Sweep.From, st.Sweep.To, st.Sweep.Points, st.Sweep.Log, st.Sweep.Time
	out.Groups = []Group{
		{"source", st.Source.Kind.Name, st.Source.Kind.About, fields(st.Document, []string{"source"}, st.Source.Kind.Fields())},
		{"load", st.Load.Kind.Name, st.Load.Kind.About, fields(st.Document, []string{"load"}, st.Load.Kind.Fields())},
	}
	if st.Probe != nil {
		out.Groups = append(out.Groups, Group{"probe", "", "across the load", fields(st.Document, []string{"probe"}, setup.ProbeFields)})
	}
	out.Groups = append(out.Groups, Group{"sweep", "", "where to look", fields(st.Document, []string{"sweep"}, setup.SweepFields)})
	return out, nil
}

// mostPoints bounds what a page asks for at once, so that one question does not hold the others up.
const mostPoints = 20_001

// asked is a sweep request made ready to run.
type asked struct {
	box     *box.Box
	setup   *setup.Setup
	setting box.Setting
	over    setup.Sweep
	hookup  *hookup.Hookup
}

func (s *Server) prepare(q SweepRequest) (a asked, err error) {
	if a.box, err = s.desk.boxWith(q.Box, q.Changes); err != nil {
		return a, err
	}
	if a.setup, err = s.desk.setupWith(q.Setup, q.SetupChanges); err != nil {
		return a, err
	}
	if a.setup, err = s.mixed(a.setup, q.Source, q.Load); err != nil {
		return a, err
	}
	if a.setting, err = settingOf(a.box, q.Setting); err != nil {
		return a, err
	}
	a.over = a.setup.Sweep
	if q.Span != nil {
		a.over.From, a.over.To, a.over.Points, a.over.Log = q.Span.From, q.Span.To, q.Span.Points, q.Span.Log
	}
	if a.over.Points > mostPoints {
		return a, fault.New(fault.Request, fmt.Sprintf("%d points are more than the page can use", a.over.Points), fmt.Sprintf("ask for at most %d", mostPoints))
	}
	a.hookup, err = hookup.Connect(a.box, a.setting, a.setup)
	return a, err
}

// settingOf is where the controls stand; those left out stand where the box starts.
func settingOf(b *box.Box, stood map[string]any) (box.Setting, error) {
	setting := b.Start()
	for control, position := range stood {
		text := ""
		switch v := position.(type) {
		case string:
			text = v
		case float64:
			text = strconv.FormatFloat(v, 'g', -1, 64)
		default:
			return nil, fault.New(fault.Usage, fmt.Sprintf("the position of %s is neither a number nor a word", control), "give a reading, or the name of a position")
		}
		if err := b.Set(setting, control, text); err != nil {
			return nil, err
		}
	}
	return setting, nil
}

// mixed connects the source of one setup and the load of another.
func (s *Server) mixed(st *setup.Setup, source, load string) (*setup.Setup, error) {
	var others [2]*setup.Setup
	for i, file := range []string{source, load} {
		if file == "" {
			continue
		}
		now, err := look(s.desk, s.desk.setups, file)
		if err != nil {
			return nil, err
		}
		others[i] = now.good
	}
	return st.With(others[0], others[1]), nil
}

func (a asked) labels() schematic.Labels {
	return schematic.Labels{Source: a.setup.Source.Describe(), Load: a.setup.DescribeLoad()}
}

// mostHertz is far above any bench.
const mostHertz = 1e12

// answerable reports whether the box can be asked at f Hz. A cursor or a rejection elsewhere is left out, so that one of
// them does not take the trace away.
func (a asked) answerable(f float64) bool {
	return f > 0 && f <= mostHertz && a.hookup.Covers(f, f) == nil
}

func (a asked) question(q SweepRequest, traces ...sweep.Trace) sweep.Question {
	out := sweep.Question{Sweep: a.over, Features: traces}
	for _, f := range q.Reject {
		if a.answerable(f) {
			out.Reject = append(out.Reject, f)
		}
	}
	if q.Cursor != nil && a.answerable(*q.Cursor) {
		out.At = []float64{*q.Cursor}
	} else {
		out.AtPeak = sweep.LoadVoltage
		if sweep.Trace(q.Peak) == sweep.InsertionGain {
			out.AtPeak = sweep.InsertionGain
		}
	}
	return out
}

func (s *Server) sweep(r *http.Request) (any, error) { return s.sweepOf(r.Body) }

func (s *Server) sweepOf(request io.Reader) (any, error) {
	var q SweepRequest
	if err := decode(request, &q); err != nil {
		return nil, err
	}
	a, err := s.prepare(q)
	if err != nil {
		return nil, err
	}
	result, err := sweep.Run(a.hookup, a.question(q, sweep.LoadVoltage, sweep.InsertionGain))
	if err != nil {
		return nil, err
	}
	out := SweepReply{Sweep: answer.OfSweep(result), Span: Span{a.over.From, a.over.To, a.over.Points, a.over.Log}}
	if len(q.Columns) > 0 {
		out.Sweep.ForDrawing(q.Columns)
	}
	if q.Drawing {
		out.Drawing, err = schematic.Layout(a.box, a.setting, a.labels())
	}
	return out, err
}

func (s *Server) save(r *http.Request) (any, error) {
	var q SaveRequest
	if err := decode(r.Body, &q); err != nil {
		return nil, err
	}
	version, c, err := s.desk.save(q.File, q.Version, q.Changes, q.Remarks)
	if err != nil {
		return nil, err
	}
	if c != nil {
		return Conflict{c.version, string(c.theirs), string(c.mine)}, nil
	}
	s.events.tell()
	return SaveReply{version}, nil
}
