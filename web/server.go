// Package web serves the bench page: a page that asks the same studies as the command, and the little interface it asks
// them through.
//
// It listens on loopback unless told otherwise, answers only to the host names it was given, takes every change by POST
// or PUT from its own page alone, and reaches no file outside the folder it was opened on.
package web

import (
	"context"
	"embed"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"net"
	"net/http"
	"slices"
	"strings"
	"time"

	"knobwise/answer"
	"knobwise/bench/fault"
	"knobwise/bench/hookup"
)

//go:embed all:page/dist
var built embed.FS

// Server is the page over one folder.
type Server struct {
	desk    *desk
	demo    bool
	events  *broadcast
	traces  traces
	dropped dropped
	handler http.Handler
}

// mostBody is the largest request in bytes: a setting with a long list of changes fits many times.
const mostBody = 1 << 20

// New makes a server over a store. hosts are the host:port pairs under which the page may be asked for; demo says that
// changes are not kept.
func New(store Store, demo bool, hosts []string) *Server {
	s := &Server{desk: newDesk(store), demo: demo, events: newBroadcast()}
	s.desk.refresh()
	mux := http.NewServeMux()
	mux.HandleFunc("GET /api/bench", s.ask(s.bench))
	mux.HandleFunc("GET /api/box", s.ask(s.box))
	mux.HandleFunc("GET /api/setup", s.ask(s.setup))
	mux.HandleFunc("POST /api/sweep", s.ask(s.sweep))
	mux.HandleFunc("GET /api/live", s.live)
	mux.HandleFunc("POST /api/lanes", s.lanes)
	mux.HandleFunc("POST /api/screen", s.ask(s.screen))
	mux.HandleFunc("GET /api/measurements", s.ask(s.measurements))
	mux.HandleFunc("POST /api/measured", s.ask(s.measured))
	mux.HandleFunc("POST "+dropPath, s.ask(s.drop))
	mux.HandleFunc("POST /api/trial", s.ask(s.trial))
	mux.HandleFunc("POST /api/measurements", s.ask(s.keepMeasurement))
	mux.HandleFunc("POST /api/inside", s.inside)
	mux.HandleFunc("POST /api/place", s.ask(s.place))
	mux.HandleFunc("POST /api/chart", s.chart)
	mux.HandleFunc("POST /api/export", s.export)
	mux.HandleFunc("PUT /api/file", s.ask(s.save))
	mux.HandleFunc("GET /api/events", s.stream)
	mux.HandleFunc("/api/", func(w http.ResponseWriter, r *http.Request) {
		fail(w, fault.New(fault.Missing, "no such question: "+r.Method+" "+r.URL.Path, "see web/api.go"))
	})
	mux.Handle("/", page())
	guarded := http.NewCrossOriginProtection()
	s.handler = onlyHosts(hosts, sameSite(guarded.Handler(headers(mux))))
	return s
}

// Handler answers every request of the page.
func (s *Server) Handler() http.Handler { return s.handler }

// Serve answers on a listener until the context ends, and looks for changed files all the while.
func (s *Server) Serve(ctx context.Context, listener net.Listener) error {
	requests, stop := context.WithCancel(ctx)
	defer stop()
	server := &http.Server{
		Handler:           s.handler,
		BaseContext:       func(net.Listener) context.Context { return requests },
		ReadHeaderTimeout: 10 * time.Second,
		ReadTimeout:       30 * time.Second,
		IdleTimeout:       2 * time.Minute,
	}
	go s.watch(requests)
	stopped := make(chan error, 1)
	go func() {
		<-ctx.Done()
		stop() // ends the open streams, which would hold Shutdown
		closing, cancel := context.WithTimeout(context.WithoutCancel(ctx), 3*time.Second)
		defer cancel()
		stopped <- server.Shutdown(closing)
	}()
	if err := server.Serve(listener); !errors.Is(err, http.ErrServerClosed) {
		return fmt.Errorf("the server stopped: %w", err)
	}
	return <-stopped
}

// lookAgain is how often the folder is looked at for changes made outside.
const lookAgain = 300 * time.Millisecond

func (s *Server) watch(ctx context.Context) {
	tick := time.NewTicker(lookAgain)
	defer tick.Stop()
	for {
		select {
		case <-ctx.Done():
			return
		case <-tick.C:
			if s.desk.refresh() {
				s.events.tell()
			}
		}
	}
}

// page serves the built page. Its hashed assets never change; everything else is asked for anew.
func page() http.Handler {
	dist, err := fs.Sub(built, "page/dist")
	if err != nil {
		panic("web: " + err.Error()) // the folder is compiled in
	}
	files := http.FileServerFS(dist)
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		if strings.HasPrefix(r.URL.Path, "/assets/") {
			w.Header().Set("Cache-Control", "public, max-age=31536000, immutable")
		} else {
			w.Header().Set("Cache-Control", "no-cache")
		}
		files.ServeHTTP(w, r)
	})
}

// onlyHosts refuses requests under another name than the server's own: the guard against a foreign page that lets its
// name point here.
func onlyHosts(hosts []string, next http.Handler) http.Handler {
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		if !slices.Contains(hosts, r.Host) {
			http.Error(w, "this server answers under its own address only: http://"+hosts[0]+"/", http.StatusMisdirectedRequest)
			return
		}
		next.ServeHTTP(w, r)
	})
}

// sameSite refuses questions that a page of another site asks: their answers are none of its business.
func sameSite(next http.Handler) http.Handler {
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		site := r.Header.Get("Sec-Fetch-Site")
		if strings.HasPrefix(r.URL.Path, "/api/") && site != "" && site != "same-origin" && site != "none" {
			http.Error(w, "this server answers its own page only", http.StatusForbidden)
			return
		}
		next.ServeHTTP(w, r)
	})
}

// policy lets the page load nothing but its own files.
const policy = "default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self' data: blob:; connect-src 'self'; " +
	"font-src 'self'; base-uri 'none'; form-action 'none'; frame-ancestors 'none'; " +
	"require-trusted-types-for 'script'; trusted-types svelte-trusted-html"

func headers(next http.Handler) http.Handler {
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		h := w.Header()
		h.Set("Content-Security-Policy", policy)
		h.Set("X-Content-Type-Options", "nosniff")
		h.Set("Referrer-Policy", "no-referrer")
		h.Set("Cross-Origin-Opener-Policy", "same-origin")
		h.Set("Cross-Origin-Resource-Policy", "same-origin")
		most := int64(mostBody)
		if r.URL.Path == dropPath {
			most = mostDropped
		}
		r.Body = http.MaxBytesReader(w, r.Body, most)
		next.ServeHTTP(w, r)
	})
}

// ask wraps a question: its answer as JSON, its error as a Failure with the status of the fault.
func (s *Server) ask(question func(*http.Request) (any, error)) http.HandlerFunc {
	return func(w http.ResponseWriter, r *http.Request) {
		answer, err := question(r)
		if err != nil {
			fail(w, err)
			return
		}
		status := http.StatusOK
		if _, ok := answer.(Conflict); ok {
			status = http.StatusConflict
		}
		reply(w, status, answer)
	}
}

// reply renders into memory first, so that an error never leaves half an answer.
func reply(w http.ResponseWriter, status int, answer any) {
	data, err := json.Marshal(answer)
	if err != nil {
		http.Error(w, "the answer could not be written as JSON", http.StatusInternalServerError)
		return
	}
	w.Header().Set("Content-Type", "application/json")
	w.Header().Set("Cache-Control", "no-store")
	w.WriteHeader(status)
	_, _ = w.Write(data) // the page may be gone
}

func fail(w http.ResponseWriter, err error) {
	f := asFault(err)
	reply(w, fault.Status(f), Failure{*problem(f)})
}

func problem(f *fault.Error) *Problem {
	if f == nil {
		return nil
	}
	p := &Problem{Message: f.Error(), Excerpt: f.Excerpt(), File: f.Place.File, Line: f.Place.Line, Column: f.Place.Column}
	if o, ok := errors.AsType[*hookup.Outside](f); ok && o.First < o.Last {
		p.Inside = &answer.Range{From: answer.Number(o.First), To: answer.Number(o.Last)}
	}
	return p
}

func tooLarge(e *http.MaxBytesError) error {
	return fault.New(fault.TooLarge, fmt.Sprintf("the request has more than %d bytes", e.Limit), "put a larger file into the folder itself")
}

// decode reads a request's JSON strictly.
func decode(body io.Reader, into any) error {
	d := json.NewDecoder(body)
	d.DisallowUnknownFields()
	if err := d.Decode(into); err != nil {
		if e, ok := errors.AsType[*http.MaxBytesError](err); ok {
			return tooLarge(e)
		}
		return fault.New(fault.Usage, "the request cannot be read: "+err.Error(), "send what the page of this version sends")
	}
	if _, err := d.Token(); !errors.Is(err, io.EOF) {
		return fault.New(fault.Usage, "something stands behind the request's JSON", "send one object")
	}
	return nil
}
