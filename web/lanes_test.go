package web

import (
	"bufio"
	"bytes"
	"context"
	"encoding/json"
	"math"
	"net/http"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"
	"time"

	"knobwise/bench/demo"
)

// stepsOf reads the lines of an answer to POST /api/lanes.
func stepsOf(t *testing.T, body *bytes.Buffer) (all []Step) {
	t.Helper()
	lines := bufio.NewScanner(body)
	lines.Buffer(nil, 1<<24)
	for lines.Scan() {
		var x struct {
			Done  float64          `json:"done"`
			Lanes *json.RawMessage `json:"lanes"`
			Error *Problem         `json:"error"`
		}
		if err := json.Unmarshal(lines.Bytes(), &x); err != nil {
			t.Fatal(err)
		}
		s := Step{Error: x.Error}
		if x.Lanes != nil {
			var l struct {
				Lanes []struct {
					Name     string     `json:"name"`
					Switches []Position `json:"switches"`
					Peak     []*float64 `json:"peak_db"`
				} `json:"lanes"`
			}
			if err := json.Unmarshal(*x.Lanes, &l); err != nil {
				t.Fatal(err)
			}
			s.Lanes = &Lanes{}
			for _, lane := range l.Lanes {
				peaks := make([]float64, len(lane.Peak))
				for i, p := range lane.Peak {
					peaks[i] = math.NaN()
					if p != nil {
						peaks[i] = *p
					}
				}
				s.Lanes.Lanes = append(s.Lanes.Lanes, Lane{Name: lane.Name, Switches: lane.Switches, Peak: peaks})
			}
		}
		all = append(all, s)
	}
	return all
}

// A place in a lane, set and swept, has its peak there and as strong as the lane says.
func TestLanesAndPlaces(t *testing.T) {
	s, _ := onDisk(t)
	w := do(s, "POST", "/api/lanes", plainRequest)
	all := stepsOf(t, w.Body)
	if w.Code != 200 || len(all) == 0 || all[len(all)-1].Lanes == nil {
		t.Fatalf("status %d, %d steps", w.Code, len(all))
	}
	checked := 0
	for _, lane := range all[len(all)-1].Lanes.Lanes {
		for i := 20; i < lanePoints-20; i += 40 {
			f := 0.5e6 + 4.5e6*float64(i)/(lanePoints-1) // the range of the setup
			q := PlaceRequest{SweepRequest: plainRequest, Frequency: f}
			q.Setting = map[string]any{}
			for _, p := range lane.Switches {
				q.Setting[p.Control] = p.At
			}
			w := do(s, "POST", "/api/place", q)
			if math.IsNaN(lane.Peak[i]) {
				if w.Code != 422 {
					t.Errorf("%s at %g Hz: no peak in the lane, but a place: %d %s", lane.Name, f, w.Code, w.Body)
				}
				continue
			}
			there := got[struct {
				Setting   map[string]any `json:"setting"`
				Insertion float64        `json:"insertion_gain_db"`
			}](t, w, 200)
			if math.Abs(there.Insertion-lane.Peak[i]) > 1e-6 {
				t.Errorf("%s at %g Hz: the lane says %g dB, the place %g dB", lane.Name, f, lane.Peak[i], there.Insertion)
			}
			at := plainRequest
			at.Setting, at.Span, at.Columns = there.Setting, &Span{From: f * 0.999, To: f * 1.001, Points: 3}, []string{"load_v", "insertion_gain_db"}
			r := got[struct {
				Sweep struct {
					LoadV []float64 `json:"load_v"`
					Gain  []float64 `json:"insertion_gain_db"`
				} `json:"sweep"`
			}](t, do(s, "POST", "/api/sweep", at), 200).Sweep
			if !(r.LoadV[1] > r.LoadV[0] && r.LoadV[1] > r.LoadV[2]) || math.Abs(r.Gain[1]-there.Insertion) > 1e-5 {
				t.Errorf("%s at %g Hz: %v V, %v dB", lane.Name, f, r.LoadV, r.Gain)
			}
			checked++
		}
	}
	if checked < 15 {
		t.Errorf("only %d places were checked", checked)
	}
	for _, f := range []float64{0, -1, 1e300} {
		if w := do(s, "POST", "/api/place", PlaceRequest{SweepRequest: plainRequest, Frequency: f}); w.Code < 400 || w.Code >= 500 {
			t.Errorf("a place at %g Hz: %d", f, w.Code)
		}
	}
	q := plainRequest
	q.Setup, q.Span = "parapet-wire.setup.yaml", &Span{From: 1e6, To: 300e6, Points: 11}
	if w := do(s, "POST", "/api/lanes", q); w.Code != 422 || !strings.Contains(w.Body.String(), "covers") {
		t.Errorf("outside the measured range: %d %s", w.Code, w.Body)
	}
}

// The chart of the page is the command's, as numbers and as files; too long a one is refused.
func TestChart(t *testing.T) {
	s, _ := onDisk(t)
	q := ChartRequest{SweepRequest: plainRequest, Frequencies: []float64{2e6, 1.5e6}}
	w := do(s, "POST", "/api/chart", q)
	pieces := strings.SplitAfter(strings.TrimSpace(w.Body.String()), "\n")
	w.Body = bytes.NewBufferString(pieces[len(pieces)-1]) // those before it tell how far the work is
	r := got[struct {
		Chart struct {
			Results []struct {
				Frequency float64        `json:"frequency_hz"`
				Setting   map[string]any `json:"setting"`
				Insertion float64        `json:"insertion_gain_db"`
			} `json:"results"`
		} `json:"chart"`
	}](t, w, 200).Chart
	if len(r.Results) != 2 || r.Results[0].Frequency != 1.5e6 {
		t.Fatalf("%+v", r)
	}
	for _, l := range r.Results {
		at := plainRequest
		at.Setting, at.Span = l.Setting, &Span{From: l.Frequency, To: 2 * l.Frequency, Points: 2}
		x := got[struct {
			Sweep struct {
				Gain []float64 `json:"insertion_gain_db"`
			} `json:"sweep"`
		}](t, do(s, "POST", "/api/sweep", at), 200)
		if math.Abs(x.Sweep.Gain[0]-l.Insertion) > 1e-6 {
			t.Errorf("at %g Hz the chart says %g dB, the sweep %g dB", l.Frequency, l.Insertion, x.Sweep.Gain[0])
		}
	}
	for format, begins := range map[string]string{"html": "<!doctype html>", "csv": "frequency_hz,"} {
		q.Format = format
		w := do(s, "POST", "/api/chart", q)
		if w.Code != 200 || !strings.HasPrefix(w.Body.String(), begins) || !strings.Contains(w.Header().Get("Content-Disposition"), "tern-point-chart."+format) {
			t.Errorf("%s: %d %s", format, w.Code, w.Header().Get("Content-Disposition"))
		}
	}
	for name, wrong := range map[string]ChartRequest{
		"format": {SweepRequest: plainRequest, Frequencies: []float64{1e6}, Format: "doc"},
		"none":   {SweepRequest: plainRequest},
		"long":   {SweepRequest: plainRequest, Frequencies: make([]float64, mostChartLines+1)},
	} {
		if w := do(s, "POST", "/api/chart", wrong); w.Code < 400 || w.Code >= 500 {
			t.Errorf("%s: %d", name, w.Code)
		}
	}
}

// A page that goes away ends the work on its lanes.
func TestLanesEndWithThePage(t *testing.T) {
	var text strings.Builder
	text.WriteString("box: Many\nterminals: {antenna: a, receiver: c}\nparts:\n  C1: {kind: variable capacitor, nodes: [a, c], range: 10 pF .. 100 pF}\n" +
		"  C2: {kind: variable capacitor, nodes: [a, ground], range: 10 pF .. 100 pF}\n  L1: {kind: inductor, nodes: [c, ground], value: 10 uH, Q: 100}\n" +
		"controls:\n  A: {knob: C1}\n  B: {knob: C2}\n")
	for i := range 12 {
		text.WriteString("  S" + string(rune('a'+i)) + ": {switch: {on: {joins: [[a, n]]}, off: {}}}\n")
	}
	s, dir := onDisk(t)
	if err := os.WriteFile(filepath.Join(dir, "many.box.yaml"), []byte(text.String()), 0o600); err != nil {
		t.Fatal(err)
	}
	s.desk.refresh()
	ctx, cancel := context.WithCancel(t.Context())
	ended := make(chan struct{})
	q := SweepRequest{Box: "many.box.yaml", Setup: demo.DefaultSetup}
	go func() {
		defer close(ended)
		do(s, "POST", "/api/lanes", q, func(r *http.Request) { *r = *r.WithContext(ctx) })
	}()
	time.AfterFunc(50*time.Millisecond, cancel)
	select {
	case <-ended:
	case <-time.After(20 * time.Second):
		t.Fatal("the work goes on") // 4096 combinations at 201 frequencies take minutes
	}
}

// The screen's slow curve is √2 times what a sweep says; a fast sweep shows less, later.
func TestScreen(t *testing.T) {
	s, _ := onDisk(t)
	var highest, at [2]float64
	for i, time := range []float64{0.2, 1e-4} {
		r := got[struct {
			Time     []float64 `json:"time_s"`
			Envelope []float64 `json:"envelope_v"`
			Steady   []float64 `json:"steady_v"`
		}](t, do(s, "POST", "/api/screen", ScreenRequest{SweepRequest: plainRequest, Time: time}), 200)
		if len(r.Time) != screenSamples || math.Abs(r.Time[screenSamples-1]/time-1) > 1e-12 || len(r.Steady) != screenSamples {
			t.Fatalf("%d times to %g", len(r.Time), r.Time[len(r.Time)-1])
		}
		for k, v := range r.Envelope {
			if v > highest[i] {
				highest[i], at[i] = v, r.Time[k]/time
			}
		}
	}
	x := got[struct {
		Sweep struct {
			LoadV []float64 `json:"load_v"`
		} `json:"sweep"`
	}](t, do(s, "POST", "/api/sweep", plainRequest), 200)
	if want := math.Sqrt2 * slices.Max(x.Sweep.LoadV); math.Abs(highest[0]/want-1) > 1e-3 {
		t.Errorf("slow: %g V, want %g", highest[0], want)
	}
	if !(highest[1] < 0.99*highest[0]) || !(at[1] > at[0]) {
		t.Errorf("fast: %g V at %g of the sweep, slow: %g V at %g", highest[1], at[1], highest[0], at[0])
	}
	for _, time := range []float64{0, -1, 1e9} {
		if w := do(s, "POST", "/api/screen", ScreenRequest{SweepRequest: plainRequest, Time: time}); w.Code < 400 || w.Code >= 500 {
			t.Errorf("%g s: %d %s", time, w.Code, w.Body)
		}
	}
}
