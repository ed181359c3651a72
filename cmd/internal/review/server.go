// Package review serves a local page on one installation: its sheets, findings,
// conditions with their figures, lists and source, live as the file is saved.
//
// The page is for one person on one machine. It listens on the loopback address
// only; every address holds a token that is made anew at each start; requests
// from other pages and under other names are refused; nothing is served but what
// is embedded and what was read from the installation's own files, which lie in
// one folder.
package review

import (
	"context"
	"crypto/rand"
	"crypto/subtle"
	"embed"
	"encoding/base64"
	"encoding/json"
	"fmt"
	"io/fs"
	"mime"
	"net"
	"net/http"
	"path"
	"strings"
	"sync"
	"time"
)

//go:embed assets
var assets embed.FS

// Server is the page of one installation. Make it with New.
type Server struct {
	folder *folder
	name   string // of the main file within its folder
	token  string
	host   string // the one authority that requests may name, and its spelling as localhost

	mu       sync.Mutex
	now      *snapshot // the last state that could be read
	broken   []problem // mistakes of the file as it stands, empty where it reads
	version  int
	sheets   *drawn // of the last state that was drawn
	listener map[chan string]bool
}

// New reads the installation for the first time. The file itself must be there;
// mistakes in it are shown on the page.
func New(file string) (*Server, error) {
	f, name, err := openFolder(file)
	if err != nil {
		return nil, err
	}
	raw := make([]byte, 24)
	if _, err := rand.Read(raw); err != nil {
		return nil, err
	}
	s := &Server{folder: f, name: name, token: base64.RawURLEncoding.EncodeToString(raw), listener: map[chan string]bool{}}
	s.Reload()
	return s, nil
}

// Close gives the folder back.
func (s *Server) Close() error { return s.folder.root.Close() }

// Serve serves the page until the context ends. ready is called with the address
// to open.
func (s *Server) Serve(ctx context.Context, ready func(address string)) error {
	l, err := net.Listen("tcp", "127.0.0.1:0")
	if err != nil {
		return err
	}
	s.host = l.Addr().String()
	h := &http.Server{Handler: s, ReadHeaderTimeout: 5 * time.Second, MaxHeaderBytes: 16 << 10,
		BaseContext: func(net.Listener) context.Context { return ctx }}
	watching := make(chan error, 1)
	go func() { watching <- s.watch(ctx) }()
	drawing := make(chan struct{})
	go func() { defer close(drawing); s.draw(ctx) }()
	served := make(chan error, 1)
	go func() { served <- h.Serve(l) }()
	ready(s.Address())
	select {
	case <-ctx.Done():
		err = nil
	case err = <-served:
	case err = <-watching:
	}
	h.Close()
	<-drawing
	return err
}

// Address is where the page is.
func (s *Server) Address() string { return "http://" + s.host + "/" + s.token + "/" }

// policy lets the page run and fetch what it came with and nothing else: text of
// the file can neither run nor call out, whatever it says.
const policy = "default-src 'none'; script-src 'self'; style-src 'self'; font-src 'self' data:; img-src 'self' data:; connect-src 'self'; base-uri 'none'; form-action 'none'; frame-ancestors 'none'"

// ServeHTTP answers one request.
func (s *Server) ServeHTTP(w http.ResponseWriter, r *http.Request) {
	h := w.Header()
	h.Set("Content-Security-Policy", policy)
	h.Set("X-Content-Type-Options", "nosniff")
	h.Set("Referrer-Policy", "no-referrer")
	h.Set("Cross-Origin-Resource-Policy", "same-origin")
	h.Set("Cross-Origin-Opener-Policy", "same-origin")
	h.Set("Cache-Control", "no-store")
	if reason := s.refuse(r); reason != "" {
		http.Error(w, reason, http.StatusForbidden)
		return
	}
	token, rest, _ := strings.Cut(strings.TrimPrefix(r.URL.Path, "/"), "/")
	if subtle.ConstantTimeCompare([]byte(token), []byte(s.token)) != 1 {
		http.NotFound(w, r)
		return
	}
	s.route(w, r, rest)
}

// refuse says why a request is not answered: another method, a name that is not
// ours (a page that had its name point here), or another page's request.
func (s *Server) refuse(r *http.Request) string {
	_, port, err := net.SplitHostPort(s.host)
	local := "localhost:" + port
	switch {
	case r.Method != http.MethodGet && r.Method != http.MethodHead:
		return "only reading is possible"
	case err != nil || r.Host != s.host && r.Host != local:
		return "this name is not served"
	}
	if o := r.Header.Get("Origin"); o != "" && o != "http://"+r.Host {
		return "requests from another page are refused"
	}
	switch r.Header.Get("Sec-Fetch-Site") {
	case "cross-site", "same-site":
		if r.Header.Get("Sec-Fetch-Mode") != "navigate" {
			return "requests from another page are refused"
		}
	}
	return ""
}

func (s *Server) route(w http.ResponseWriter, r *http.Request, rest string) {
	head, tail, _ := strings.Cut(rest, "/")
	switch head {
	case "":
		s.asset(w, r, "index.html")
	case "app":
		s.asset(w, r, tail)
	case "state":
		s.reply(w, r, s.state())
	case "sheet":
		s.sheet(w, r, tail)
	case "fonts.css":
		w.Header().Set("Content-Type", "text/css; charset=utf-8")
		w.Write([]byte(s.fonts()))
	case "thing":
		s.answer(w, r, func(n *snapshot) (any, bool) { return n.thing(tail) })
	case "list":
		s.answer(w, r, func(n *snapshot) (any, bool) { return n.table(tail) })
	case "source":
		s.answer(w, r, func(n *snapshot) (any, bool) { return n.sources(), true })
	case "heel":
		s.answer(w, r, func(n *snapshot) (any, bool) { return s.heel(n, tail) })
	case "events":
		s.events(w, r)
	default:
		http.NotFound(w, r)
	}
}

// asset serves an embedded file.
func (s *Server) asset(w http.ResponseWriter, r *http.Request, name string) {
	data, err := fs.ReadFile(assets, path.Join("assets", path.Clean("/"+name)))
	if err != nil {
		http.NotFound(w, r)
		return
	}
	w.Header().Set("Content-Type", mime.TypeByExtension(path.Ext(name)))
	w.Write(data)
}

// answer replies with something about the last good state.
func (s *Server) answer(w http.ResponseWriter, r *http.Request, of func(*snapshot) (any, bool)) {
	s.mu.Lock()
	n := s.now
	s.mu.Unlock()
	if n == nil {
		http.NotFound(w, r)
		return
	}
	v, ok := of(n)
	if !ok {
		http.NotFound(w, r)
		return
	}
	s.reply(w, r, v)
}

func (s *Server) reply(w http.ResponseWriter, _ *http.Request, v any) {
	w.Header().Set("Content-Type", "application/json")
	if err := json.NewEncoder(w).Encode(v); err != nil {
		return // the reader has gone
	}
}

// events tells the page, for as long as it listens, that there is something new.
func (s *Server) events(w http.ResponseWriter, r *http.Request) {
	flush := http.NewResponseController(w)
	w.Header().Set("Content-Type", "text/event-stream")
	news := make(chan string, 8)
	s.mu.Lock()
	s.listener[news] = true
	first := s.version
	s.mu.Unlock()
	defer func() {
		s.mu.Lock()
		delete(s.listener, news)
		s.mu.Unlock()
	}()
	fmt.Fprintf(w, "event: state\ndata: %d\n\n", first)
	if flush.Flush() != nil {
		return
	}
	beat := time.NewTicker(20 * time.Second)
	defer beat.Stop()
	for {
		text := ": still here\n\n"
		select {
		case <-r.Context().Done():
			return
		case kind := <-news:
			text = "event: " + kind + "\ndata: new\n\n"
		case <-beat.C:
		}
		if _, err := w.Write([]byte(text)); err != nil || flush.Flush() != nil {
			return
		}
	}
}

// tell sends an event to every page that listens; one that does not keep up
// misses it and reads the whole state at its next.
func (s *Server) tell(kind string) {
	s.mu.Lock()
	defer s.mu.Unlock()
	for c := range s.listener {
		select {
		case c <- kind:
		default:
		}
	}
}
