package web

import (
	"bytes"
	"context"
	"encoding/json"
	"fmt"
	"io"
	"math"
	"net"
	"net/http"
	"net/http/httptest"
	"os"
	"path/filepath"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/coder/websocket"

	"knobwise/answer"
	"knobwise/bench/box"
	"knobwise/bench/demo"
	"knobwise/bench/document"
	"knobwise/bench/hookup"
	"knobwise/bench/setup"
	"knobwise/study/sweep"
)

const host = "127.0.0.1:7777"

// onDisk is a server over a copy of the demonstration bench in a folder.
func onDisk(t *testing.T) (s *Server, dir string) {
	t.Helper()
	dir = t.TempDir()
	if err := os.CopyFS(dir, demo.FS()); err != nil {
		t.Fatal(err)
	}
	store, err := OpenFolder(dir)
	if err != nil {
		t.Fatal(err)
	}
	return New(store, false, []string{host}), dir
}

// do sends one request as the page would.
func do(s *Server, method, path string, body any, change ...func(*http.Request)) *httptest.ResponseRecorder {
	var data []byte
	switch b := body.(type) {
	case nil:
	case string:
		data = []byte(b)
	default:
		data, _ = json.Marshal(b) // the tests' own types
	}
	r := httptest.NewRequest(method, "http://"+host+path, bytes.NewReader(data))
	r.Header.Set("Sec-Fetch-Site", "same-origin")
	for _, c := range change {
		c(r)
	}
	w := httptest.NewRecorder()
	s.Handler().ServeHTTP(w, r)
	return w
}

// got decodes an answer with an expected status.
func got[T any](t *testing.T, w *httptest.ResponseRecorder, status int) T {
	t.Helper()
	var x T
	if w.Code != status {
		t.Fatalf("status %d, want %d: %s", w.Code, status, w.Body)
	}
	if err := json.Unmarshal(w.Body.Bytes(), &x); err != nil {
		t.Fatalf("%v: %.300s", err, w.Body)
	}
	return x
}

var plainRequest = SweepRequest{Box: demo.DefaultBox, Setup: demo.DefaultSetup}

// The page gets the numbers that the command gives.
func TestSweepIsTheCommands(t *testing.T) {
	s, _ := onDisk(t)
	q := plainRequest
	q.Setting = map[string]any{"Input": 4.5, "Coupling": "light"}
	q.Drawing = true
	reply := got[map[string]json.RawMessage](t, do(s, "POST", "/api/sweep", q), 200)
	var over map[string]json.RawMessage
	if err := json.Unmarshal(reply["sweep"], &over); err != nil {
		t.Fatal(err)
	}
	b, err := box.Load(demo.Files(), demo.DefaultBox)
	if err != nil {
		t.Fatal(err)
	}
	st, err := setup.LoadFile(demo.Files(), demo.DefaultSetup)
	if err != nil {
		t.Fatal(err)
	}
	setting := b.Start()
	for control, position := range map[string]string{"Input": "4.5", "Coupling": "light"} {
		if err := b.Set(setting, control, position); err != nil {
			t.Fatal(err)
		}
	}
	h, err := hookup.Connect(b, setting, st)
	if err != nil {
		t.Fatal(err)
	}
	r, err := sweep.Run(h, sweep.Question{Sweep: st.Sweep, AtPeak: sweep.LoadVoltage, Features: []sweep.Trace{sweep.LoadVoltage, sweep.InsertionGain}})
	if err != nil {
		t.Fatal(err)
	}
	want, err := json.Marshal(answer.OfSweep(r))
	if err != nil {
		t.Fatal(err)
	}
	if string(reply["sweep"]) != string(want) {
		t.Error("the page's sweep is not the command's")
	}
	if !strings.Contains(string(reply["drawing"]), `"dials"`) {
		t.Error("no drawing")
	}
}

func TestWrongRequests(t *testing.T) {
	s, dir := onDisk(t)
	if err := os.Symlink("/etc/passwd", filepath.Join(dir, "link.box.yaml")); err != nil {
		t.Fatal(err)
	}
	s.desk.refresh()
	with := func(change func(*SweepRequest)) SweepRequest {
		q := plainRequest
		change(&q)
		return q
	}
	cases := 0
	for _, c := range []struct {
		name, method, path string
		body               any
		status             int
		says               string
	}{
		{"no such question", "GET", "/api/wat", nil, 404, "no such question"},
		{"wrong method", "GET", "/api/sweep", nil, 404, "no such question"},
		{"no such box", "GET", "/api/box?file=no.box.yaml", nil, 404, "no such file in this folder"},
		{"out of the folder", "GET", "/api/box?file=../../../etc/passwd", nil, 404, "no such file in this folder"},
		{"through a link", "GET", "/api/box?file=link.box.yaml", nil, 422, "never been read without error"},
		{"not JSON", "POST", "/api/sweep", "{", 400, "cannot be read"},
		{"two objects", "POST", "/api/sweep", "{}{}", 400, "behind the request"},
		{"unknown key", "POST", "/api/sweep", `{"bx":"a"}`, 400, "unknown field"},
		{"too large", "POST", "/api/sweep", `{"box":"` + strings.Repeat("x", 2<<20) + `"}`, 413, "has more than 1048576 bytes"},
		{"no such control", "POST", "/api/sweep", with(func(q *SweepRequest) { q.Setting = map[string]any{"Inptu": 3} }), 422, `did you mean \"Input\"`},
		{"out of scale", "POST", "/api/sweep", with(func(q *SweepRequest) { q.Setting = map[string]any{"Input": 11} }), 422, "its scale is 0 .. 10"},
		{"a list as position", "POST", "/api/sweep", with(func(q *SweepRequest) { q.Setting = map[string]any{"Input": []int{1}} }), 400, "neither a number nor a word"},
		{"span turned round", "POST", "/api/sweep", with(func(q *SweepRequest) { q.Span = &Span{2e6, 1e6, 101, false} }), 422, "no sweep runs"},
		{"too many points", "POST", "/api/sweep", with(func(q *SweepRequest) { q.Span = &Span{1e6, 2e6, 1_000_000, false} }), 422, "more than the page can use"},
		{"outside the measured range", "POST", "/api/sweep", with(func(q *SweepRequest) {
			q.Setup = "parapet-wire.setup.yaml"
			q.Span = &Span{1e5, 2e6, 101, false}
		}), 422, `"inside":{"from_hz":300000,"to_hz":1.2e+07}`},
		{"a change to nothing", "POST", "/api/sweep", `{"box":"tern-point.box.yaml","setup":"bench-50.setup.yaml","changes":[{"path":["parts","C9","Q"],"text":"3"}]}`, 422, "nothing to change"},
		{"a change to nonsense", "POST", "/api/sweep", `{"box":"tern-point.box.yaml","setup":"bench-50.setup.yaml","changes":[{"path":["parts","C3","value"],"text":"3 mHz"}]}`, 422, "value of part C3"},
		{"unknown format", "POST", "/api/export", `{"box":"tern-point.box.yaml","setup":"bench-50.setup.yaml","format":"exe"}`, 400, "unknown format"},
		{"save out of the folder", "PUT", "/api/file", `{"file":"../x.box.yaml","version":"","changes":[]}`, 404, "not a name in this folder"},
		{"save another kind of file", "PUT", "/api/file", `{"file":"parapet-wire.s1p","version":"","changes":[]}`, 404, "no such file"},
	} {
		w := do(s, c.method, c.path, c.body)
		cases++
		if w.Code != c.status || !strings.Contains(w.Body.String(), c.says) {
			t.Errorf("%s: status %d, want %d with %q: %.300s", c.name, w.Code, c.status, c.says, w.Body)
		}
		if strings.Contains(w.Body.String(), "root:") {
			t.Errorf("%s: a file outside the folder was read", c.name)
		}
	}
	if cases < 19 {
		t.Error("cases are missing")
	}
}

// Only the page itself is answered, under the server's own name.
func TestStrangersAreRefused(t *testing.T) {
	s, _ := onDisk(t)
	site := func(value string) func(*http.Request) {
		return func(r *http.Request) { r.Header.Set("Sec-Fetch-Site", value) }
	}
	for _, c := range []struct {
		name, method, path string
		change             func(*http.Request)
		status             int
	}{
		{"another host name", "GET", "/", func(r *http.Request) { r.Host = "bench.example:7777" }, 421},
		{"another port", "GET", "/api/bench", func(r *http.Request) { r.Host = "127.0.0.1:7778" }, 421},
		{"another site reads", "GET", "/api/bench", site("cross-site"), 403},
		{"another port's page reads", "GET", "/api/bench", site("same-site"), 403},
		{"another site writes", "PUT", "/api/file", site("cross-site"), 403},
		{"an old browser's foreign origin", "POST", "/api/sweep", func(r *http.Request) {
			r.Header.Del("Sec-Fetch-Site")
			r.Header.Set("Origin", "http://bench.example")
		}, 403},
		{"the page itself", "GET", "/api/bench", site("same-origin"), 200},
		{"typed by hand", "GET", "/api/bench", site("none"), 200},
		{"a script on this computer", "GET", "/api/bench", func(r *http.Request) { r.Header.Del("Sec-Fetch-Site") }, 200},
	} {
		w := do(s, c.method, c.path, nil, c.change)
		if w.Code != c.status {
			t.Errorf("%s: status %d, want %d", c.name, w.Code, c.status)
		}
	}
	h := do(s, "GET", "/api/bench", nil).Header()
	for name, want := range map[string]string{
		"Content-Security-Policy": "default-src 'none'", "X-Content-Type-Options": "nosniff", "Cache-Control": "no-store",
	} {
		if !strings.Contains(h.Get(name), want) {
			t.Errorf("%s: %q", name, h.Get(name))
		}
	}
}

// A save changes the values and nothing else; a save of a file that changed meanwhile writes nothing and offers both.
func TestSave(t *testing.T) {
	s, dir := onDisk(t)
	name := filepath.Join(dir, "lamp-room.box.yaml")
	before, err := os.ReadFile(name)
	if err != nil {
		t.Fatal(err)
	}
	b := got[Box](t, do(s, "GET", "/api/box?file=lamp-room.box.yaml", nil), 200)
	save := `{"file":"lamp-room.box.yaml","version":"` + b.Version + `","changes":[{"path":["parts","C3","value"],"text":"15 pF"}]}`
	first := got[SaveReply](t, do(s, "PUT", "/api/file", save), 200)
	after, err := os.ReadFile(name)
	if err != nil {
		t.Fatal(err)
	}
	if want := strings.Replace(string(before), "C3: {kind: capacitor, nodes: [a, ground], value: 12 pF", "C3: {kind: capacitor, nodes: [a, ground], value: 15 pF", 1); string(after) != want || want == string(before) {
		t.Errorf("the file is now\n%s", after)
	}
	if v := got[Box](t, do(s, "GET", "/api/box?file=lamp-room.box.yaml", nil), 200).Version; v != first.Version || v == b.Version {
		t.Errorf("version %s after the save of %s", v, first.Version)
	}
	// The same save again, with the old version: the file has changed since.
	c := got[Conflict](t, do(s, "PUT", "/api/file", save), 409)
	if c.Version != first.Version || c.Theirs != string(after) || c.Mine != string(after) {
		t.Errorf("conflict %+v", c)
	}
	// A change that the file could not be read with is refused.
	bad := `{"file":"lamp-room.box.yaml","version":"` + first.Version + `","changes":[{"path":["parts","C3","value"],"text":"15 ohm"}]}`
	if w := do(s, "PUT", "/api/file", bad); w.Code != 422 {
		t.Errorf("nonsense: status %d: %s", w.Code, w.Body)
	}
	now, err := os.ReadFile(name)
	if err != nil || string(now) != string(after) {
		t.Errorf("a refused save changed the file: %v", err)
	}
	entries, err := os.ReadDir(dir)
	if err != nil || len(entries) != 20 {
		t.Errorf("%d files, want 20: a temporary file was left", len(entries))
	}
}

// A file that an editor breaks shows the command's message, and its last good reading stays in use; a new file appears.
func TestChangesOutside(t *testing.T) {
	s, dir := onDisk(t)
	name := filepath.Join(dir, "tern-point.box.yaml")
	good, err := os.ReadFile(name)
	if err != nil {
		t.Fatal(err)
	}
	write := func(file, text string) {
		t.Helper()
		if err := os.WriteFile(file, []byte(text), 0o644); err != nil {
			t.Fatal(err)
		}
		if !s.desk.refresh() {
			t.Fatal("the change was not seen")
		}
	}
	write(name, strings.Replace(string(good), "Q: 400", "Q: four", 1))
	b := got[Box](t, do(s, "GET", "/api/box?file=tern-point.box.yaml", nil), 200)
	if b.Error == nil || b.Error.Line == 0 || !strings.Contains(b.Error.Message, "tern-point.box.yaml:") || b.Error.Excerpt == "" || len(b.Parts) != 5 {
		t.Errorf("box in error: %+v", b.Error)
	}
	if w := do(s, "POST", "/api/sweep", plainRequest); w.Code != 200 {
		t.Errorf("the last good reading does not answer: %d %s", w.Code, w.Body)
	}
	write(name, string(good)+"# mended\n")
	if b := got[Box](t, do(s, "GET", "/api/box?file=tern-point.box.yaml", nil), 200); b.Error != nil {
		t.Errorf("mended, but %+v", b.Error)
	}
	write(filepath.Join(dir, "new.box.yaml"), "box: New\nterminals: {antenna: a, receiver: a}\nparts: {R: {kind: resistor, nodes: [a, ground], value: 50 ohm}}\n")
	if n := len(got[Bench](t, do(s, "GET", "/api/bench", nil), 200).Boxes); n != 5 {
		t.Errorf("%d boxes, want 5", n)
	}
	if err := os.Remove(filepath.Join(dir, "new.box.yaml")); err != nil {
		t.Fatal(err)
	}
	s.desk.refresh()
	if n := len(got[Bench](t, do(s, "GET", "/api/bench", nil), 200).Boxes); n != 4 {
		t.Errorf("%d boxes, want 4", n)
	}
}

// Every form of file can be asked for; what-if changes count in it.
func TestExport(t *testing.T) {
	s, _ := onDisk(t)
	for format, begins := range map[string]string{"csv": "frequency_hz,", "json": "{", "svg": "<", "png": "\x89PNG", "pdf": "%PDF", "s2p": "!"} {
		w := do(s, "POST", "/api/export", ExportRequest{SweepRequest: plainRequest, Format: format})
		if w.Code != 200 || !strings.HasPrefix(w.Body.String(), begins) || !strings.Contains(w.Header().Get("Content-Disposition"), "tern-point."+format) {
			t.Errorf("%s: status %d, %q, begins %.20q", format, w.Code, w.Header().Get("Content-Disposition"), w.Body.String())
		}
	}
	changed := plainRequest
	if err := json.Unmarshal([]byte(`[{"path":["parts","C3","value"],"text":"100 pF"}]`), &changed.Changes); err != nil {
		t.Fatal(err)
	}
	plain := do(s, "POST", "/api/export", ExportRequest{SweepRequest: plainRequest, Format: "csv"}).Body.String()
	if other := do(s, "POST", "/api/export", ExportRequest{SweepRequest: changed, Format: "csv"}).Body.String(); other == plain {
		t.Error("a changed part changes nothing")
	}
}

// The demonstration in memory can be saved to, and forgets it with the program.
func TestInMemory(t *testing.T) {
	store, err := InMemory("demonstration", demo.FS())
	if err != nil {
		t.Fatal(err)
	}
	s := New(store, true, []string{host})
	b := got[Box](t, do(s, "GET", "/api/box?file="+demo.DefaultBox, nil), 200)
	save := `{"file":"` + demo.DefaultBox + `","version":"` + b.Version + `","changes":[{"path":["parts","C3","value"],"text":"100 pF"}]}`
	if w := do(s, "PUT", "/api/file", save); w.Code != 200 {
		t.Fatalf("status %d: %s", w.Code, w.Body)
	}
	if again := got[Box](t, do(s, "GET", "/api/box?file="+demo.DefaultBox, nil), 200); again.Version == b.Version {
		t.Error("the save did not last")
	}
	if fresh, err := InMemory("demonstration", demo.FS()); err != nil || fresh == nil {
		t.Fatal(err)
	}
}

// Serve tells open pages of changes, and stops at once with a stream open.
func TestServeTellsAndStops(t *testing.T) {
	s, dir := onDisk(t)
	listener, err := net.Listen("tcp", "127.0.0.1:0")
	if err != nil {
		t.Fatal(err)
	}
	address := listener.Addr().String()
	store, err := OpenFolder(dir)
	if err != nil {
		t.Fatal(err)
	}
	s = New(store, false, []string{address})
	ctx, stop := context.WithCancel(context.Background())
	stopped := make(chan error, 1)
	go func() { stopped <- s.Serve(ctx, listener) }()
	page, _, err := websocket.Dial(t.Context(), "ws://"+address+"/api/events", nil)
	if err != nil {
		t.Fatal(err)
	}
	defer page.CloseNow() //nolint:errcheck // the server has gone
	if err := os.WriteFile(filepath.Join(dir, "new.setup.yaml"), []byte("setup: New\n"), 0o644); err != nil {
		t.Fatal(err)
	}
	soon, cancel := context.WithTimeout(t.Context(), 10*time.Second)
	defer cancel()
	if _, told, err := page.Read(soon); err != nil || string(told) != "changed" {
		t.Errorf("the page was told %q, %v", told, err)
	}
	stop()
	select {
	case err := <-stopped:
		if err != nil {
			t.Error(err)
		}
	case <-time.After(2 * time.Second):
		t.Error("an open stream holds the server")
	}
}

// Many pages at once, with files changing beneath them.
func TestManyPagesAtOnce(t *testing.T) {
	s, dir := onDisk(t)
	var group sync.WaitGroup
	var failures sync.Map
	for page := range 8 {
		group.Go(func() {
			for i := range 12 {
				q := plainRequest
				q.Setting = map[string]any{"Input": float64(i)}
				q.Box = []string{"tern-point.box.yaml", "tern-point.box.yaml"}[page%2]
				q.Drawing = i%3 == 0
				if i > 10 {
					q.Setting["Input"] = 10.0
				}
				if w := do(s, "POST", "/api/sweep", q); w.Code != 200 {
					failures.Store(fmt.Sprint(page, i), w.Body.String())
				}
				do(s, "GET", "/api/bench", nil)
			}
		})
	}
	group.Go(func() {
		for i := range 20 {
			text := fmt.Sprintf("setup: N%d\nsource: {kind: generator, emf: 1 V, impedance: 50 ohm}\nload: {kind: open}\nsweep: {from: 1 MHz, to: 2 MHz}\n", i)
			if err := os.WriteFile(filepath.Join(dir, "n.setup.yaml"), []byte(text), 0o644); err != nil {
				failures.Store("write", err.Error())
			}
			s.desk.refresh()
		}
	})
	group.Wait()
	failures.Range(func(k, v any) bool {
		t.Errorf("%v: %v", k, v)
		return true
	})
}

// BenchmarkSweepRequest is what one frame of a turning dial asks of the server.
func BenchmarkSweepRequest(b *testing.B) {
	store, err := InMemory("demonstration", demo.FS())
	if err != nil {
		b.Fatal(err)
	}
	s := New(store, true, []string{host})
	for _, drawing := range []bool{false, true} {
		q := plainRequest
		q.Drawing = drawing
		b.Run(fmt.Sprintf("drawing %v", drawing), func(b *testing.B) {
			for b.Loop() {
				w := do(s, "POST", "/api/sweep", q)
				if w.Code != 200 {
					b.Fatal(w.Body)
				}
				b.SetBytes(int64(w.Body.Len()))
				_, _ = io.Copy(io.Discard, w.Body)
			}
		})
	}
}

// Source and load may come from different setups; the circuit is drawn with what is connected.
func TestSourceAndLoadOfOthers(t *testing.T) {
	s, _ := onDisk(t)
	q := plainRequest
	q.Drawing = true
	reading := func(q SweepRequest) (load, straight float64, labels string) {
		t.Helper()
		r := got[struct {
			Sweep struct {
				LoadV     []float64 `json:"load_v"`
				StraightV []float64 `json:"straight_v"`
			} `json:"sweep"`
			Drawing json.RawMessage `json:"drawing"`
		}](t, do(s, "POST", "/api/sweep", q), 200)
		return r.Sweep.LoadV[100], r.Sweep.StraightV[100], string(r.Drawing)
	}
	own, straight, _ := reading(q)
	q.Source, q.Load = plainRequest.Setup, plainRequest.Setup
	if same, _, _ := reading(q); same != own {
		t.Errorf("its own source and load give %g, not %g", same, own)
	}
	q.Source = ""
	q.Load = "bench-probe.setup.yaml"
	_, open, labels := reading(q)
	// The generator's emf behind 270 ohm: all of it stands at an open end (Ohm's law), 50/320 of it at 50 ohm.
	if math.Abs(straight-50./320) > 1e-6 || open < 0.99 || open > 1 {
		t.Errorf("straight through: %g V at 50 ohm, %g V at the probe", straight, open)
	}
	if !strings.Contains(labels, "generator, 270 Ω") || !strings.Contains(labels, "open, probe") {
		t.Errorf("the drawing does not name source and load: %.300s", labels)
	}
	q.Source = "no such.setup.yaml"
	if w := do(s, "POST", "/api/sweep", q); w.Code != 404 {
		t.Errorf("a source of nowhere: %d", w.Code)
	}
	if w := do(s, "POST", "/api/export", ExportRequest{SweepRequest: plainRequest, Format: "circuit"}); w.Code != 200 ||
		!strings.HasPrefix(w.Body.String(), "<svg") || !strings.Contains(w.Header().Get("Content-Disposition"), "tern-point-circuit.svg") {
		t.Errorf("circuit: %d, %s, %.40s", w.Code, w.Header().Get("Content-Disposition"), w.Body)
	}
	bench := got[Bench](t, do(s, "GET", "/api/bench", nil), 200)
	if bench.Box != demo.DefaultBox || bench.Setup != demo.DefaultSetup {
		t.Errorf("opens %s and %s", bench.Box, bench.Setup)
	}
}

// What stands inside lists and maps of a part can be changed one by one.
func TestFieldsInside(t *testing.T) {
	s, _ := onDisk(t)
	b := got[Box](t, do(s, "GET", "/api/box?file="+demo.DefaultBox, nil), 200)
	texts := map[string]string{}
	before, _, _ := strings.Cut(do(s, "POST", "/api/sweep", plainRequest).Body.String(), `"features"`)
	changed := 0
	for _, p := range b.Parts {
		if p.Kind != "tapped coil" {
			continue
		}
		for _, f := range p.Fields {
			texts[f.Name] = f.Text
			if f.Name != "turns 3" && f.Name != "form diameter" {
				continue
			}
			q := plainRequest
			q.Changes = []document.Change{{Path: f.Path, Text: map[string]string{"turns 3": "40", "form diameter": "50 mm"}[f.Name]}}
			w := do(s, "POST", "/api/sweep", q)
			if after, _, _ := strings.Cut(w.Body.String(), `"features"`); w.Code != 200 || after == before {
				t.Errorf("%s: status %d, or nothing changed", f.Name, w.Code)
			}
			changed++
		}
	}
	if texts["turns 1"] != "9" || texts["turns 3"] != "32" || texts["form wire"] != "0.6 mm" || texts["Q"] != "170 at 2 MHz" || changed != 2 {
		t.Errorf("fields of the tapped coil: %v", texts)
	}
	if _, there := texts["nodes 1"]; there {
		t.Error("the wiring is offered for change")
	}
}
