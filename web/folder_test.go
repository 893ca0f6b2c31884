package web

import (
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"knobwise/bench/demo"
)

// shown are the files that the page offers, with what is wrong with them.
func shown(t *testing.T, s *Server) map[string]string {
	t.Helper()
	s.desk.refresh()
	all := map[string]string{}
	for _, list := range [][]File{got[Bench](t, do(s, "GET", "/api/bench", nil), 200).Boxes, got[Bench](t, do(s, "GET", "/api/bench", nil), 200).Setups} {
		for _, f := range list {
			all[f.File] = ""
			if f.Error != nil {
				all[f.File] = f.Error.Message
			}
		}
	}
	return all
}

// A pipe that nobody writes to, a link out of the folder and an editor's lock hold nothing up.
func TestOddFiles(t *testing.T) {
	s, dir := onDisk(t)
	if err := exec.CommandContext(t.Context(), "mkfifo", filepath.Join(dir, "pipe.box.yaml")).Run(); err != nil { //nolint:gosec // a folder of the test's own
		t.Skip("no named pipes here: ", err)
	}
	outside := filepath.Join(t.TempDir(), "out.box.yaml")
	for _, err := range []error{
		os.WriteFile(outside, []byte("box: Out\n"), 0o600),
		os.Symlink(outside, filepath.Join(dir, "link.box.yaml")),
		os.Symlink("nobody@nowhere:1", filepath.Join(dir, ".#tern-point.box.yaml")),
		os.WriteFile(filepath.Join(dir, "piped.setup.yaml"), []byte("setup: P\nsource: {kind: measured one-port, emf: 1 V, file: pipe.box.yaml}\nload: {kind: open}\nsweep: {from: 1 MHz, to: 2 MHz}\n"), 0o600),
	} {
		if err != nil {
			t.Fatal(err)
		}
	}
	answered := make(chan map[string]string, 1)
	go func() { answered <- shown(t, s) }()
	select {
	case all := <-answered:
		for file, says := range map[string]string{"pipe.box.yaml": "no regular file", "link.box.yaml": "leads out of the folder; put the file itself there", "piped.setup.yaml": "no regular file"} {
			if !strings.Contains(all[file], says) {
				t.Errorf("%s: %q", file, all[file])
			}
		}
		if _, ok := all[".#tern-point.box.yaml"]; ok || all[demo.DefaultBox] != "" {
			t.Errorf("%v", all)
		}
	case <-time.After(20 * time.Second):
		t.Fatal("the folder cannot be looked at")
	}
}

// A save through a link changes the file that it points at, and keeps its permissions.
func TestSaveThroughALink(t *testing.T) {
	s, dir := onDisk(t)
	file := filepath.Join(dir, demo.DefaultBox)
	for _, err := range []error{os.Chmod(file, 0o664), os.Symlink(demo.DefaultBox, filepath.Join(dir, "also.box.yaml"))} {
		if err != nil {
			t.Fatal(err)
		}
	}
	s.desk.refresh()
	version := got[Box](t, do(s, "GET", "/api/box?file=also.box.yaml", nil), 200).Version
	got[SaveReply](t, do(s, "PUT", "/api/file", `{"file":"also.box.yaml","version":"`+version+`","changes":[{"path":["parts","C3","value"],"text":"99 pF","remove":false}]}`), 200)
	if to, err := os.Readlink(filepath.Join(dir, "also.box.yaml")); err != nil || to != demo.DefaultBox {
		t.Errorf("the link is now %q, %v", to, err)
	}
	data, err := os.ReadFile(file) //nolint:gosec // a folder of the test's own
	info, _ := os.Stat(file)
	if err != nil || !strings.Contains(string(data), "99 pF") || info.Mode().Perm() != 0o664 {
		t.Errorf("%v, mode %v", err, info.Mode())
	}
	entries, _ := os.ReadDir(dir)
	for _, e := range entries {
		if strings.HasSuffix(e.Name(), ".part") {
			t.Errorf("%s is left behind", e.Name())
		}
	}
}

// An editor that moves the file away and writes it anew, with a mistake, does not cost the last good reading.
func TestMovedAway(t *testing.T) {
	s, dir := onDisk(t)
	file := filepath.Join(dir, demo.DefaultBox)
	data, err := os.ReadFile(file) //nolint:gosec // a folder of the test's own
	if err != nil {
		t.Fatal(err)
	}
	if err := os.Rename(file, file+"~"); err != nil {
		t.Fatal(err)
	}
	if _, there := shown(t, s)[demo.DefaultBox]; there {
		t.Error("a file that is gone is offered")
	}
	if w := do(s, "POST", "/api/sweep", plainRequest); w.Code != 404 {
		t.Errorf("a file that is gone: %d", w.Code)
	}
	if err := os.WriteFile(file, []byte(strings.Replace(string(data), "kind: tapped coil", "kind: taped coil", 1)), 0o600); err != nil {
		t.Fatal(err)
	}
	if says := shown(t, s)[demo.DefaultBox]; !strings.Contains(says, "taped coil") {
		t.Errorf("%q", says)
	}
	if w := do(s, "POST", "/api/sweep", plainRequest); w.Code != 200 {
		t.Errorf("the last good reading is lost: %d %s", w.Code, w.Body)
	}
}

// A measured file in a folder below is watched, and so is one that comes later.
func TestMeasuredBelow(t *testing.T) {
	s, dir := onDisk(t)
	write := func(name, text string) {
		t.Helper()
		if err := os.MkdirAll(filepath.Dir(filepath.Join(dir, name)), 0o700); err != nil {
			t.Fatal(err)
		}
		if err := os.WriteFile(filepath.Join(dir, name), []byte(text), 0o600); err != nil {
			t.Fatal(err)
		}
	}
	write("below.setup.yaml", "setup: B\nsource: {kind: measured one-port, emf: 1 V, file: data/x.s1p}\nload: {kind: resistor, value: 50 ohm}\nsweep: {from: 1 MHz, to: 2 MHz}\n")
	if says := shown(t, s)["below.setup.yaml"]; !strings.Contains(says, "no such file") {
		t.Errorf("%q", says)
	}
	write("data/x.s1p", "# MHz S RI R 50\n1 0.5 0.1\n2 0.4 0.2\n")
	if !s.desk.refresh() || shown(t, s)["below.setup.yaml"] != "" {
		t.Error("the file that came was not noticed")
	}
	write("data/x.s1p", "# MHz S RI R 50\n1 0.5 0.1\n3 0.4 0.21\n")
	if !s.desk.refresh() {
		t.Error("the change was not noticed")
	}
	if s.desk.refresh() {
		t.Error("nothing changed")
	}
}

// A cursor or a rejection where nothing is known takes nothing else away.
func TestAskedElsewhere(t *testing.T) {
	s, _ := onDisk(t)
	q := plainRequest
	q.Setup, q.Reject = "parapet-wire.setup.yaml", []float64{1e8, 2e6, 1e300, -1}
	far := 1e300
	q.Cursor = &far
	r := got[struct {
		Sweep struct {
			Gain     []*float64 `json:"insertion_gain_db"`
			Features []struct {
				Rejections []struct {
					Frequency float64 `json:"frequency_hz"`
				} `json:"rejections"`
			} `json:"features"`
			Readings []struct {
				Frequency float64 `json:"frequency_hz"`
			} `json:"readings"`
		} `json:"sweep"`
	}](t, do(s, "POST", "/api/sweep", q), 200)
	f := r.Sweep.Features
	if len(r.Sweep.Gain) == 0 || len(f) == 0 || len(f[0].Rejections) != 1 || f[0].Rejections[0].Frequency != 2e6 || len(r.Sweep.Readings) != 1 || r.Sweep.Readings[0].Frequency > 1e9 {
		t.Errorf("%d points, %+v %+v", len(r.Sweep.Gain), f, r.Sweep.Readings)
	}
	for _, path := range []string{"/api/place", "/api/chart"} {
		body := map[string]any{"box": demo.DefaultBox, "setup": demo.DefaultSetup}
		if path == "/api/place" {
			body["frequency_hz"] = 1e308
		} else {
			body["frequencies_hz"] = []float64{1e308}
		}
		if w := do(s, "POST", path, body); w.Code < 400 || !strings.Contains(w.Body.String(), "no frequency of a bench") {
			t.Errorf("%s: %d %s", path, w.Code, w.Body)
		}
	}
}
