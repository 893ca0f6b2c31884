package web

import (
	"fmt"
	"net/http"
	"sync"
	"time"
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

// heartbeat keeps a stream alive, and tells a page within this time that the server is gone.
const heartbeat = 10 * time.Second

// stream sends the event `changed` whenever a file of the folder changes: GET /api/events.
func (s *Server) stream(w http.ResponseWriter, r *http.Request) {
	heard, leave := s.events.listen()
	defer leave()
	w.Header().Set("Content-Type", "text/event-stream")
	w.Header().Set("Cache-Control", "no-store")
	control := http.NewResponseController(w)
	send := func(text string) bool {
		if _, err := fmt.Fprint(w, text); err != nil {
			return false
		}
		return control.Flush() == nil
	}
	if !send("retry: 500\n\n") {
		return
	}
	beat := time.NewTicker(heartbeat)
	defer beat.Stop()
	for {
		select {
		case <-r.Context().Done():
			return
		case <-heard:
			if !send("event: changed\ndata: {}\n\n") {
				return
			}
		case <-beat.C:
			if !send(": alive\n\n") {
				return
			}
		}
	}
}
