package web

import (
	"bytes"
	"context"
	"encoding/json"
	"net/http"
	"time"

	"github.com/coder/websocket"
)

// live answers sweep questions one after another over one connection: GET /api/live. Each message is a SweepRequest, each
// answer a SweepReply or a Failure, in their order. A page that turns a knob asks sixty times a second; the same over
// separate requests costs a browser most of each frame.
func (s *Server) live(w http.ResponseWriter, r *http.Request) {
	c, err := websocket.Accept(w, r, nil) // refuses a page of another origin
	if err != nil {
		return // it has answered
	}
	defer c.CloseNow() //nolint:errcheck // the other end may be gone
	c.SetReadLimit(mostBody)
	ctx := r.Context() // ends with the server
	for {
		_, message, err := c.Read(ctx)
		if err != nil {
			return
		}
		var out any
		if out, err = s.sweepOf(bytes.NewReader(message)); err != nil {
			out = Failure{*problem(asFault(err))}
		}
		data, err := json.Marshal(out)
		if err != nil || write(ctx, c, data) != nil {
			return
		}
	}
}

// write gives up on a page that does not take its answers.
func write(ctx context.Context, c *websocket.Conn, data []byte) error {
	ctx, cancel := context.WithTimeout(ctx, 10*time.Second)
	defer cancel()
	return c.Write(ctx, websocket.MessageText, data)
}
