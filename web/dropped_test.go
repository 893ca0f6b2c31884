package web

import (
	"bytes"
	"net/http"
	"net/url"
	"os"
	"path/filepath"
	"strconv"
	"strings"
	"testing"

	"knobwise/bench/demo"
	"knobwise/bench/document"
)

func dropOn(t *testing.T, s *Server, name, data string) Dropped {
	t.Helper()
	return got[Dropped](t, do(s, "POST", "/api/dropped?name="+url.QueryEscape(name), data), http.StatusOK)
}

// tried is a Trial as far as these tests look at it.
type tried struct {
	Trace, File string
	Measured    struct {
		RMS       float64   `json:"rms_db"`
		Frequency []float64 `json:"frequency_hz"`
		Measured  []float64 `json:"measured_db"`
		Residual  []float64 `json:"residual_db"`
		LoadV     []float64 `json:"load_v"`
	}
}

func readOf(t *testing.T, dir, name string) string {
	t.Helper()
	data, err := os.ReadFile(filepath.Join(dir, name))
	if err != nil {
		t.Fatal(err)
	}
	return string(data)
}

// A dropped trace is looked at without a byte being written; kept, it and its entry stand in the folder, and the page
// finds it with the same numbers.
func TestDropTryKeep(t *testing.T) {
	s, dir := onDisk(t)
	trace := readOf(t, dir, "t01.csv")
	d := dropOn(t, s, "evening.csv", trace)
	if d.Quantity != "amplitude" || !strings.Contains(d.Read, "delimiter comma") {
		t.Errorf("%+v", d)
	}
	q := NewMeasurement{
		ID: d.ID, Box: demo.DefaultBox, Name: "an evening", Setup: "bench-50.setup.yaml", Quantity: "amplitude", Reference: "straight.csv",
		Setting:  map[string]any{"Path": "tuned", "Coupling": "medium", "Range": "long", "Input": 3.5, "Output": 6.0},
		Doubtful: []string{"Output"},
	}
	before, _ := os.ReadDir(dir)
	was := readOf(t, dir, demo.DefaultMeasurements)
	first := got[tried](t, do(s, "POST", "/api/trial", q), http.StatusOK)
	filed := got[map[string]any](t, do(s, "POST", "/api/measured", MeasuredRequest{File: demo.DefaultMeasurements, Index: 0}), http.StatusOK)
	if first.Measured.RMS != filed["rms_db"] || len(first.Measured.Residual) == 0 {
		t.Errorf("rms %v, the same trace in the folder %v", first.Measured.RMS, filed["rms_db"])
	}
	changed := q
	changed.Changes = []document.Change{{Path: []string{"parts", "C3", "value"}, Text: "40 pF"}}
	if other := got[tried](t, do(s, "POST", "/api/trial", changed), http.StatusOK); other.Measured.RMS == first.Measured.RMS {
		t.Error("a change of the box changes nothing")
	}
	after, _ := os.ReadDir(dir)
	if len(after) != len(before) || readOf(t, dir, demo.DefaultMeasurements) != was {
		t.Error("a trial wrote into the folder")
	}

	kept := got[Kept](t, do(s, "POST", "/api/measurements", q), http.StatusOK)
	if kept.Trace != "evening.csv" || kept.File != demo.DefaultMeasurements || readOf(t, dir, kept.Trace) != trace {
		t.Errorf("%+v", kept)
	}
	now := readOf(t, dir, kept.File)
	if !strings.HasPrefix(now, was) || !strings.Contains(now[len(was):], `Output: "? 6"`) {
		t.Errorf("the file is now\n%s", now)
	}
	list := got[Measurements](t, do(s, "GET", "/api/measurements?box="+demo.DefaultBox, nil), http.StatusOK)
	if m := list.List[kept.Index]; m.Name != "an evening" || len(m.Doubtful) != 1 {
		t.Errorf("%+v", m)
	}
	if again := got[map[string]any](t, do(s, "POST", "/api/measured", MeasuredRequest{File: kept.File, Index: kept.Index}), http.StatusOK); again["rms_db"] != filed["rms_db"] {
		t.Errorf("kept: %v, before: %v", again["rms_db"], filed["rms_db"])
	}
}

// A box without measurements gets a file of its own; a name that is taken by other bytes is not written over; the same
// bytes are kept once. In memory too.
func TestKeepNamesFiles(t *testing.T) {
	s, dir := onDisk(t)
	memory, err := InMemory("demonstration", demo.FS())
	if err != nil {
		t.Fatal(err)
	}
	const box = "harbour-t.box.yaml" // nothing was measured at it
	for name, server := range map[string]*Server{"disk": s, "memory": New(memory, true, []string{host})} {
		keep := func(file, data string) Kept {
			q := NewMeasurement{ID: dropOn(t, server, file, data).ID, Box: box, Setup: demo.DefaultSetup, Quantity: "amplitude"}
			return got[Kept](t, do(server, "POST", "/api/measurements", q), http.StatusOK)
		}
		one := "1e6,0.1\n2e6,0.2\n3e6,0.1\n"
		first, second, third := keep("t01.csv", one), keep("t01.csv", one), keep(`C:\data\x y.csv`, one)
		if first.Trace != "t01-2.csv" || second.Trace != "t01-2.csv" || third.Trace != "x y.csv" {
			t.Errorf("%s: %+v %+v %+v", name, first, second, third)
		}
		if want := strings.TrimSuffix(box, ".box.yaml") + ".measurements.yaml"; first.File != want || third.File != want || third.Index != 2 {
			t.Errorf("%s: %+v %+v", name, first, third)
		}
	}
	if original := readOf(t, dir, "t01.csv"); strings.HasPrefix(original, "1e6") {
		t.Error("a file of the folder was written over")
	}
}

func TestDroppedRefusals(t *testing.T) {
	s, dir := onDisk(t)
	before, _ := os.ReadDir(dir)
	for name, c := range map[string]struct {
		file, data string
		status     int
	}{
		"a box file":    {"x.box.yaml", "box: x", http.StatusUnprocessableEntity},
		"hidden":        {".bashrc", "1,2\n3,4\n", http.StatusUnprocessableEntity},
		"no name":       {"", "1,2\n3,4\n", http.StatusUnprocessableEntity},
		"only a folder": {"..", "1,2\n3,4\n", http.StatusUnprocessableEntity},
		"too large":     {"x.csv", strings.Repeat("1e6,0.5\n", mostDropped/8+1), http.StatusRequestEntityTooLarge},
	} {
		w := do(s, "POST", "/api/dropped?name="+url.QueryEscape(c.file), c.data)
		if f := got[Failure](t, w, c.status); f.Error.Message == "" {
			t.Errorf("%s: no message", name)
		}
	}
	for name, data := range map[string]string{
		"no numbers":     "hello\nworld\n",
		"empty":          "",
		"runs backwards": "time (s),V\n0,1\n2,1\n1,1\n3,2\n",
	} {
		if d := dropOn(t, s, "x.csv", data); d.Error == nil || d.Error.Message == "" || d.ID == "" || d.Columns == nil {
			t.Errorf("%s: %+v", name, d)
		}
	}
	table := dropOn(t, s, "m.csv", "1e6,0.1\n2e6,0.2\n")
	record := dropOn(t, s, "w.csv", "time (s),V\n0,1\n1e-7,-1\n2e-7,1\n3e-7,-1\n")
	if !record.OverTime || record.Quantity != "waveform" {
		t.Errorf("%+v", record)
	}
	plain := NewMeasurement{ID: table.ID, Box: demo.DefaultBox, Setup: demo.DefaultSetup, Quantity: "amplitude"}
	for name, change := range map[string]func(*NewMeasurement){
		"forgotten":          func(q *NewMeasurement) { q.ID = "0" },
		"no such box":        func(q *NewMeasurement) { q.Box = "no.box.yaml" },
		"no such setup":      func(q *NewMeasurement) { q.Setup = "no.setup.yaml" },
		"outside the folder": func(q *NewMeasurement) { q.Setup = "../x.setup.yaml" },
		"no such control":    func(q *NewMeasurement) { q.Setting = map[string]any{"Nothing": 1.0} },
		"no position":        func(q *NewMeasurement) { q.Setting = map[string]any{"Range": "x"} },
		"no quantity":        func(q *NewMeasurement) { q.Quantity = "volts" },
		"no such reference":  func(q *NewMeasurement) { q.Reference = "no.csv" },
		"no such column":     func(q *NewMeasurement) { q.Channel = "CH9" },
		"noise":              func(q *NewMeasurement) { q.Noise = "NaN" },
		"no time":            func(q *NewMeasurement) { q.ID, q.Quantity, q.From, q.To = record.ID, "waveform", "1 MHz", "2 MHz" },
		"a line of its own":  func(q *NewMeasurement) { q.Name = "x\nbox: other.box.yaml" },
	} {
		q := plain
		change(&q)
		for _, path := range []string{"/api/trial", "/api/measurements"} {
			w := do(s, "POST", path, q)
			if strings.Contains(w.Body.String(), "measurements.yaml:") {
				t.Errorf("%s, %s: points into a file that is not written: %s", name, path, w.Body)
			}
			if name != "a line of its own" && (w.Code < 400 || w.Code >= 500) {
				t.Errorf("%s, %s: %d %s", name, path, w.Code, w.Body)
			}
		}
	}
	if f := got[Bench](t, do(s, "GET", "/api/bench", nil), http.StatusOK); f.Box != demo.DefaultBox {
		t.Errorf("%+v", f)
	}
	after, _ := os.ReadDir(dir)
	if len(after) > len(before)+1 { // the one with a line of its own in its name is text like any other
		t.Errorf("%d files came into being", len(after)-len(before))
	}
	if w := do(s, "POST", "/api/sweep", `{"box":"`+strings.Repeat("x", mostBody)+`"}`); w.Code != http.StatusRequestEntityTooLarge {
		t.Errorf("a large request: %d", w.Code)
	}
	cross := do(s, "POST", "/api/dropped?name=x.csv", "1,2\n", func(r *http.Request) { r.Header.Set("Sec-Fetch-Site", "cross-site") })
	if cross.Code != http.StatusForbidden {
		t.Errorf("from another site: %d", cross.Code)
	}
}

// A file that cannot be read as it is is held all the same, and read where somebody says how.
func TestDroppedSaidHow(t *testing.T) {
	s, _ := onDisk(t)
	d := dropOn(t, s, "x.csv", "time (s),V\n0,0.1\n2,0.2\n1,0.3\n3,0.1\n")
	if d.Error == nil {
		t.Fatalf("%+v", d)
	}
	q := NewMeasurement{ID: d.ID, Box: demo.DefaultBox, Setup: demo.DefaultSetup, Quantity: "amplitude"}
	if w := do(s, "POST", "/api/trial", q); w.Code != http.StatusUnprocessableEntity {
		t.Errorf("as it is: status %d", w.Code)
	}
	q.Abscissa, q.Axis, q.Interval, q.Channel, q.From, q.To, q.Time = "none", "time", "1 us", "V", "1 MHz", "2 MHz", "3 us"
	if f := got[tried](t, do(s, "POST", "/api/trial", q), http.StatusOK); len(f.Measured.Frequency) < 2 {
		t.Errorf("%+v", f)
	}
}

// What was guessed wrongly is settled from the page, and stands in the file.
func TestDroppedSettled(t *testing.T) {
	s, dir := onDisk(t)
	q := NewMeasurement{
		ID: dropOn(t, s, "k.csv", "1000;0,1\n1500;0,2\n2000;0,3\n2500;0,2\n").ID, Box: demo.DefaultBox, Setup: demo.DefaultSetup, Quantity: "amplitude",
		Axis: "frequency", Unit: "kHz",
	}
	m := got[tried](t, do(s, "POST", "/api/trial", q), http.StatusOK).Measured
	if m.Frequency[0] != 1e6 || m.Frequency[3] != 2.5e6 {
		t.Errorf("%v Hz", m.Frequency)
	}
	kept := got[Kept](t, do(s, "POST", "/api/measurements", q), http.StatusOK)
	if text := readOf(t, dir, kept.File); !strings.Contains(text, "table: {axis: frequency, units: {1: kHz}}") {
		t.Error(text)
	}
	q.Start = "2 ms"
	if w := do(s, "POST", "/api/trial", q); w.Code != http.StatusUnprocessableEntity {
		t.Errorf("a start alone: %d", w.Code)
	}
}

// What is held does not grow without end, and the newest stays.
func TestHeldTraces(t *testing.T) {
	s, _ := onDisk(t)
	big := bytes.Repeat([]byte("1e6,0.5\n"), mostDropped/8)
	var last string
	for _, name := range []string{"a.csv", "b.csv", "c.csv"} {
		last = s.dropped.add(name, big)
	}
	if _, err := s.dropped.find(last); err != nil || len(s.dropped.held) != 2 {
		t.Errorf("%v, %d held", err, len(s.dropped.held))
	}
}

// Of a long trace the page gets few points, the highest among them.
func TestThinned(t *testing.T) {
	s, _ := onDisk(t)
	var b strings.Builder
	for i := range 50000 {
		level := "0.1"
		if i == 31234 {
			level = "0.9"
		}
		b.WriteString(strconv.Itoa(1000000+i) + "," + level + "\n")
	}
	q := NewMeasurement{ID: dropOn(t, s, "long.csv", b.String()).ID, Box: demo.DefaultBox, Setup: demo.DefaultSetup, Quantity: "amplitude"}
	m := got[tried](t, do(s, "POST", "/api/trial", q), http.StatusOK).Measured
	top := 0
	for i, v := range m.Measured {
		if v > m.Measured[top] {
			top = i
		}
	}
	if n := len(m.Frequency); n > mostDots || n < mostDots/4 || m.Frequency[top] != 1031234 || len(m.Residual) != n || len(m.LoadV) != n {
		t.Errorf("%d points, the highest at %v", n, m.Frequency[top])
	}
}
