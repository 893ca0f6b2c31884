package web

import (
	"context"
	"encoding/json"
	"net/http"
	"net/http/httptest"
	"strings"
	"testing"
	"time"

	"github.com/coder/websocket"

	"knobwise/answer"
	"knobwise/bench/demo"
)

func demonstration(t *testing.T) Store {
	t.Helper()
	store, err := InMemory("demonstration", demo.FS())
	if err != nil {
		t.Fatal(err)
	}
	return store
}

// running is a server that listens.
func running(t *testing.T) *httptest.Server {
	t.Helper()
	web := httptest.NewUnstartedServer(nil)
	web.Config.Handler = New(demonstration(t), true, []string{web.Listener.Addr().String()}).Handler()
	web.Start()
	t.Cleanup(web.Close)
	return web
}

// Over the open connection the page gets what single requests give, also after a question that cannot be answered.
func TestLive(t *testing.T) {
	web := running(t)
	ctx, cancel := context.WithTimeout(t.Context(), 20*time.Second)
	defer cancel()
	c, _, err := websocket.Dial(ctx, web.URL+"/api/live", nil)
	if err != nil {
		t.Fatal(err)
	}
	defer c.CloseNow() //nolint:errcheck // the test is over
	c.SetReadLimit(1 << 24)
	ask := func(message string) string {
		t.Helper()
		if err := c.Write(ctx, websocket.MessageText, []byte(message)); err != nil {
			t.Fatal(err)
		}
		_, data, err := c.Read(ctx)
		if err != nil {
			t.Fatal(err)
		}
		return string(data)
	}
	s := New(demonstration(t), true, []string{host})
	for _, columns := range [][]string{nil, {"insertion_gain_db"}, {"zin_re_ohm", "zin_im_ohm"}} {
		q := plainRequest
		q.Setting, q.Columns, q.Drawing = map[string]any{"Input": 4.5}, columns, true
		message, err := json.Marshal(q)
		if err != nil {
			t.Fatal(err)
		}
		if got, want := ask(string(message)), do(s, "POST", "/api/sweep", q).Body.String(); got != want {
			t.Errorf("columns %v: the connection gives\n%.200s\na single request\n%.200s", columns, got, want)
		}
		var whole struct {
			Sweep struct {
				LoadV    []float64        `json:"load_v"`
				Readings []answer.Reading `json:"readings"`
			} `json:"sweep"`
		}
		if err := json.Unmarshal([]byte(ask(string(message))), &whole); err != nil || len(whole.Sweep.Readings) != 1 {
			t.Fatal(err, len(whole.Sweep.Readings))
		}
		if n := len(whole.Sweep.LoadV); n != map[bool]int{true: 401, false: 0}[columns == nil] {
			t.Errorf("columns %v: %d load voltages", columns, n)
		}
		for _, wrong := range []string{"", "{", `{"box": 3}`, `{"box": "no such.box.yaml"}`, `{"cursor_hz": "NaN"}`} {
			var f Failure
			if err := json.Unmarshal([]byte(ask(wrong)), &f); err != nil || f.Error.Message == "" {
				t.Errorf("%q: %v, %+v", wrong, err, f)
			}
		}
	}
	// More than a question can hold ends the connection, not the server.
	_ = c.Write(ctx, websocket.MessageText, []byte(strings.Repeat("x", 2*mostBody)))
	if _, _, err := c.Read(ctx); websocket.CloseStatus(err) != websocket.StatusMessageTooBig {
		t.Errorf("a message of %d bytes: %v", 2*mostBody, err)
	}
}

// The connection is the page's own: no page of another origin, no other name of this machine.
func TestLiveRefusesStrangers(t *testing.T) {
	web := running(t)
	for name, header := range map[string]http.Header{
		"origin": {"Origin": {"http://elsewhere.example"}},
		"site":   {"Sec-Fetch-Site": {"cross-site"}},
		"null":   {"Origin": {"null"}},
	} {
		c, r, err := websocket.Dial(t.Context(), web.URL+"/api/live", &websocket.DialOptions{HTTPHeader: header})
		if err == nil {
			_ = c.CloseNow()
			t.Fatalf("%s: connected", name)
		}
		if r == nil || r.StatusCode != http.StatusForbidden {
			t.Errorf("%s: %v", name, err)
		}
	}
	if _, r, err := websocket.Dial(t.Context(), web.URL+"/api/live", &websocket.DialOptions{Host: "elsewhere.example"}); err == nil || r.StatusCode != http.StatusMisdirectedRequest {
		t.Errorf("another name: %v", err)
	}
}
