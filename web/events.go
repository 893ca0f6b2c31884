package web

import (
	"net/http"
	"sync"
	"time"

	"github.com/coder/websocket"
)

// broadcast tells every open page that the folder changed.
type broadcast struct {
	mu        sync.Mutex
	listeners map[chan struct{}]bool
}

func newBroadcast() *broadcast { return &broadcast{listeners: map[chan struct{}]bool{}} }

func (b *broadcast) listen() (heard chan struct{}, leave func()) {
	heard = make(chan struct{}, 1)
	b.mu.Lock()
	defer b.mu.Unlock()
	b.listeners[heard] = true
	return heard, func() {
		b.mu.Lock()
		defer b.mu.Unlock()
		delete(b.listeners, heard)
	}
}

func (b *broadcast) tell() {
	b.mu.Lock()
	defer b.mu.Unlock()
	for heard := range b.listeners {
		select {
		case heard <- struct{}{}:
		default: // it has not heard the last one yet; one is enough
		}
	}
}

// heartbeat is how often a page is asked whether it is still there.
const heartbeat = 10 * time.Second

// stream sends a message whenever a file of the folder changes: GET /api/events, a WebSocket, of which a browser keeps as
// many as it has tabs.
func (s *Server) stream(w http.ResponseWriter, r *http.Request) {
	c, err := websocket.Accept(w, r, nil) // refuses a page of another origin
	if err != nil {
		return // it has answered
	}
	defer c.CloseNow() //nolint:errcheck // the other end may be gone
	heard, leave := s.events.listen()
	defer leave()
	ctx := c.CloseRead(r.Context()) // ends with the page and with the server
	beat := time.NewTicker(heartbeat)
	defer beat.Stop()
	for {
		select {
		case <-ctx.Done():
			return
		case <-heard:
			if write(ctx, c, []byte("changed")) != nil {
				return
			}
		case <-beat.C:
			if c.Ping(ctx) != nil {
				return
			}
		}
	}
}
