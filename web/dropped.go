package web

import (
	"bytes"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"net/http"
	"path"
	"slices"
	"strings"
	"sync"
	"time"

	"knobwise/answer"
	"knobwise/bench/box"
	"knobwise/bench/document"
	"knobwise/bench/fault"
	"knobwise/bench/folder"
	"knobwise/bench/measurement"
	"knobwise/bench/trace"
	"knobwise/study/residual"
)

const (
	dropPath = "/api/dropped"
	// mostDropped is the largest trace in bytes that the page takes: about two million samples of an oscilloscope.
	mostDropped = 64 << 20
	// mostHeld is how many bytes of dropped traces are held; the oldest goes first.
	mostHeld = 2 * mostDropped
)

// dropped holds the traces that were dropped on the page until they are kept in the folder: nothing is written before.
type dropped struct {
	mu   sync.Mutex
	held []droppedFile // the newest last
	read map[string]*trace.Trace
}

type droppedFile struct {
	id, name string
	data     []byte
}

func (d *dropped) add(name string, data []byte) string {
	d.mu.Lock()
	defer d.mu.Unlock()
	f := droppedFile{versionOf(append([]byte(name+"\x00"), data...)), name, data}
	d.held = append(slices.DeleteFunc(d.held, func(x droppedFile) bool { return x.id == f.id }), f)
	total := 0
	for i, h := range slices.Backward(d.held) {
		if total += len(h.data); total > mostHeld {
			d.held = slices.Delete(d.held, 0, i+1)
			break
		}
	}
	return f.id
}

func (d *dropped) find(id string) (droppedFile, error) {
	d.mu.Lock()
	defer d.mu.Unlock()
	for _, f := range d.held {
		if f.id == id {
			return f, nil
		}
	}
	return droppedFile{}, fault.New(fault.Missing, "the server no longer holds that trace", "drop it on the page again")
}

// load reads the trace of a trial. The last one is kept: while a dial turns, only the model's side changes.
func (d *dropped) load(r *http.Request, key string, files folder.Files, m *measurement.Measurement) (*trace.Trace, error) {
	d.mu.Lock()
	found := d.read[key]
	d.mu.Unlock()
	if found != nil {
		return found, nil
	}
	found, err := trace.Load(r.Context(), files, m)
	if err != nil {
		return nil, err
	}
	d.mu.Lock()
	d.read = map[string]*trace.Trace{key: found}
	d.mu.Unlock()
	return found, nil
}

// drop takes a trace as it is, to be looked at.
func (s *Server) drop(r *http.Request) (any, error) {
	name, err := droppedName(r.URL.Query().Get("name"))
	if err != nil {
		return nil, err
	}
	data, err := io.ReadAll(r.Body)
	if err != nil {
		if e, ok := errors.AsType[*http.MaxBytesError](err); ok {
			return nil, tooLarge(e)
		}
		return nil, fault.New(fault.Usage, "the file did not arrive whole", "drop it again")
	}
	out := Dropped{ID: s.dropped.add(name, data), Name: name, Quantity: string(measurement.Amplitude)}
	found, err := trace.Suggest(bytes.NewReader(data), name)
	if err != nil {
		out.Error = problem(asFault(err)) // a person may know how to read it
	} else {
		out.Quantity, out.OverTime, out.Read = string(found.Quantity), found.OverTime, found.Read
	}
	out.Columns = answer.OrEmpty(found.Columns)
	return out, nil
}

// droppedName is the name under which a dropped file may be kept: a plain name that is none of a box's own files and that
// no editor hides.
func droppedName(name string) (string, error) {
	name = path.Base(strings.ReplaceAll(name, `\`, "/"))
	if name == "" || name == "." || name == "/" || strings.HasPrefix(name, ".") || strings.HasSuffix(strings.ToLower(name), ".yaml") ||
		len(name) > 120 || !fs.ValidPath(name) || strings.ContainsFunc(name, func(r rune) bool { return r < ' ' || strings.ContainsRune(`<>:"|?*`, r) }) {
		return "", fault.New(fault.Request, fmt.Sprintf("%q is no name for a trace", name), "give the file a plain name such as m01.csv")
	}
	return name, nil
}

// over is a file system with one file laid over it.
type over struct {
	fs.FS
	file string
	data []byte
}

func (o over) Open(name string) (fs.File, error) {
	if name == o.file {
		return &openFile{fileInfo{name, memoryFile{data: o.data, time: time.Unix(0, 0)}}, strings.NewReader(string(o.data))}, nil
	}
	return o.FS.Open(name)
}

// trialing is a new measurement as it would stand in its file.
type trialing struct {
	trace string // the file to write
	data  []byte // nil where the folder has it already
	file  string // of measurements
	was   []byte // its bytes so far; nil where it is new
	text  []byte // and with the entry
	read  *measurement.Measurement
	files folder.Files
}

// propose writes the entry and reads it back: what the page shows and what is kept go one way.
func (s *Server) propose(q *NewMeasurement) (*trialing, error) {
	from, err := s.dropped.find(q.ID)
	if err != nil {
		return nil, err
	}
	b, err := look(s.desk, s.desk.boxes, q.Box)
	if err != nil {
		return nil, err
	}
	files := s.desk.files()
	t := &trialing{data: from.data}
	if t.trace, err = s.freeName(from.name, from.data); err != nil {
		return nil, err
	}
	if there, err := files.Read(t.trace); err == nil && bytes.Equal(there, from.data) {
		t.data = nil
	}
	entry, err := entryOf(q, b.good, t.trace)
	if err != nil {
		return nil, err
	}
	if err := t.into(files, q.Box, entry); err != nil {
		return nil, err
	}
	t.files = folder.Within(over{s.desk.store.FS(), t.trace, from.data})
	f, err := measurement.Parse(t.files, t.file, t.text)
	if err != nil {
		return nil, t.plain(err)
	}
	t.read = f.Measurements[len(f.Measurements)-1]
	return t, nil
}

// plain takes the place from a mistake in the entry that is not written yet: nobody could look there.
func (t *trialing) plain(err error) error {
	f, ok := errors.AsType[*fault.Error](err)
	if !ok || f.Place.File != t.file || f.Place.Line <= bytes.Count(t.was, []byte("\n")) {
		return err
	}
	plain := *f
	plain.Place = fault.Place{}
	return &plain
}

// freeName is the name itself where the folder has no such file or the same one, else one with a number.
func (s *Server) freeName(name string, data []byte) (string, error) {
	ending := path.Ext(name)
	for try := 1; try < 1000; try++ {
		candidate := name
		if try > 1 {
			candidate = fmt.Sprintf("%s-%d%s", strings.TrimSuffix(name, ending), try, ending)
		}
		_, err := fs.Stat(s.desk.store.FS(), candidate)
		if errors.Is(err, fs.ErrNotExist) {
			return candidate, nil
		}
		if there, err := s.desk.files().Read(candidate); err == nil && data != nil && bytes.Equal(there, data) {
			return candidate, nil
		}
	}
	return "", fault.New(fault.Output, "the folder has too many files like "+name, "give the file another name")
}

// into finds the file of measurements of a box and writes the entry into its bytes; where the box has none it begins one.
func (t *trialing) into(files folder.Files, boxFile string, entry []document.Field) error {
	names, err := files.List(measurement.Suffix)
	if err != nil {
		return err
	}
	for _, name := range names {
		data, err := files.Read(name)
		if err != nil {
			continue
		}
		d, err := document.Parse(name, data)
		if err != nil || d.Root.Get("box") == nil || files.Beside(name, d.Root.Get("box").Text) != boxFile {
			continue
		}
		t.file, t.was = name, data
		t.text, err = measurement.Append(d, entry)
		return err
	}
	stem := strings.TrimSuffix(boxFile, boxEnding)
	t.file = stem + measurement.Suffix
	for try := 2; slices.Contains(names, t.file); try++ {
		t.file = fmt.Sprintf("%s-%d%s", stem, try, measurement.Suffix)
	}
	t.text = measurement.Fresh(boxFile, entry)
	return nil
}

// entryOf is a measurement in the words of its file.
func entryOf(q *NewMeasurement, b *box.Box, file string) ([]document.Field, error) {
	var all []document.Field
	add := func(key, text string) {
		if text = strings.TrimSpace(text); text != "" {
			all = append(all, document.Field{Key: key, Text: text})
		}
	}
	nested := func(key string, pairs ...string) {
		f := document.Field{Key: key}
		for i := 0; i < len(pairs); i += 2 {
			if text := strings.TrimSpace(pairs[i+1]); text != "" {
				f.Map = append(f.Map, document.Field{Key: pairs[i], Text: text})
			}
		}
		if len(f.Map) > 0 {
			all = append(all, f)
		}
	}
	add("name", q.Name)
	add("file", file)
	add("setup", q.Setup)
	setting, err := settingOf(b, q.Setting)
	if err != nil {
		return nil, err
	}
	stood := document.Field{Key: "setting"}
	for _, c := range b.Controls {
		text := setting[c.Name].String()
		if c.Knob != nil && slices.Contains(q.Doubtful, c.Name) {
			text = "? " + text
		}
		stood.Map = append(stood.Map, document.Field{Key: c.Name, Text: text})
	}
	if len(stood.Map) > 0 {
		all = append(all, stood)
	}
	add("quantity", q.Quantity)
	add("reference", q.Reference)
	add("channel", q.Channel)
	add("noise", q.Noise)
	add("lag of", q.LagOf)
	if q.Deconvolve {
		add("deconvolve", "true")
	}
	nested("table", "delimiter", q.Delimiter, "decimal", q.Decimal, "header", q.Header, "abscissa", q.Abscissa, "axis", q.Axis, "interval", q.Interval)
	if unit := strings.TrimSpace(q.Unit); unit != "" {
		column := strings.TrimSpace(q.Abscissa)
		if column == "" {
			column = "1"
		}
		units := document.Field{Key: "units", Map: []document.Field{{Key: column, Text: unit}}}
		if i := slices.IndexFunc(all, func(f document.Field) bool { return f.Key == "table" }); i >= 0 {
			all[i].Map = append(all[i].Map, units)
		} else {
			all = append(all, document.Field{Key: "table", Map: []document.Field{units}})
		}
	}
	switch {
	case strings.TrimSpace(q.From+q.To+q.Time) != "":
		nested("sweep", "from", q.From, "to", q.To, "time", q.Time, "spacing", q.Spacing, "start", q.Start)
	case strings.TrimSpace(q.Start) != "":
		return nil, fault.New(fault.Request, "the sweep has a start, but not from where to where it runs", "give from, to and the time it takes too")
	}
	return all, nil
}

// trial answers with a dropped trace beside the model, as it would be if it were kept.
func (s *Server) trial(r *http.Request) (any, error) {
	var q NewMeasurement
	if err := decode(r.Body, &q); err != nil {
		return nil, err
	}
	t, err := s.propose(&q)
	if err != nil {
		return nil, err
	}
	read := q
	read.Setting, read.Doubtful, read.Changes = nil, nil, nil
	found, err := s.dropped.load(r, fmt.Sprintf("%+v %d", read, s.desk.count()), t.files, t.read)
	if err != nil {
		return nil, t.plain(err)
	}
	b, err := s.desk.boxWith(q.Box, q.Changes)
	if err != nil {
		return nil, err
	}
	compared, err := residual.Run(r.Context(), b, t.read, found)
	if err != nil {
		return nil, err
	}
	return Trial{Trace: t.trace, File: t.file, Measured: thinned(answer.OfResidual(compared))}, nil
}

// keepMeasurement writes a dropped trace into the folder and an entry into the file of measurements. The trace comes
// first: an entry without its trace would be in error.
func (s *Server) keepMeasurement(r *http.Request) (any, error) {
	var q NewMeasurement
	if err := decode(r.Body, &q); err != nil {
		return nil, err
	}
	t, err := s.propose(&q)
	if err != nil {
		return nil, err
	}
	// What cannot be compared is not kept.
	if _, err := trace.Load(r.Context(), t.files, t.read); err != nil {
		return nil, t.plain(err)
	}
	if err := s.desk.keep(t); err != nil {
		return nil, err
	}
	s.events.tell()
	f, err := measurement.LoadFile(s.desk.files(), t.file)
	if err != nil {
		return nil, err
	}
	return Kept{Trace: t.trace, File: t.file, Index: len(f.Measurements) - 1}, nil
}

// keep writes what a trial found, unless the file of measurements has changed meanwhile.
func (d *desk) keep(t *trialing) error {
	d.mu.Lock()
	defer d.mu.Unlock()
	if t.was == nil {
		if _, err := fs.Stat(d.store.FS(), t.file); err == nil {
			return fault.New(fault.Output, t.file+" has come into being meanwhile", "keep the trace once more")
		}
	} else if now, err := d.files().Read(t.file); err != nil || !bytes.Equal(now, t.was) {
		return fault.New(fault.Output, t.file+" was changed meanwhile by another program; nothing was written", "keep the trace once more")
	}
	if t.data != nil {
		if err := d.store.Create(t.trace, t.data); err != nil {
			return err
		}
	}
	write := d.store.Write
	if t.was == nil {
		write = d.store.Create
	}
	if err := write(t.file, t.text); err != nil {
		return err
	}
	d.refreshLocked()
	return nil
}

// count is how many times anything changed.
func (d *desk) count() int {
	d.mu.Lock()
	defer d.mu.Unlock()
	return d.changes
}

// mostDots is how many points of a measured trace the page gets; more than a screen has columns.
const mostDots = 4000

// thinned leaves of a long trace the highest and the lowest measured point of each of some equal parts.
func thinned(m answer.Measured) answer.Measured {
	n := len(m.Frequency)
	if n <= mostDots {
		return m
	}
	var keep []int
	parts := mostDots / 2
	for p := range parts {
		from, to := p*n/parts, (p+1)*n/parts
		low, high := from, from
		for i := from; i < to; i++ {
			if m.Measured[i] < m.Measured[low] {
				low = i
			}
			if m.Measured[i] > m.Measured[high] {
				high = i
			}
		}
		keep = append(keep, min(low, high))
		if low != high {
			keep = append(keep, max(low, high))
		}
	}
	of := func(all answer.Column) answer.Column {
		if len(all) != n {
			return all
		}
		out := make(answer.Column, len(keep))
		for i, k := range keep {
			out[i] = all[k]
		}
		return out
	}
	m.Frequency, m.Measured, m.Model, m.Residual, m.Insertion, m.LoadV = of(m.Frequency), of(m.Measured), of(m.Model), of(m.Residual), of(m.Insertion), of(m.LoadV)
	return m
}
