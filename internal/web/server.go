package web

import (
	"context"
	"embed"
	"errors"
	"io/fs"
	"log/slog"
	"net"
	"net/http"
	"time"

	"firlot/catalog"
	"firlot/internal/store"
	"firlot/needs"
)

// Config is what a server needs.
type Config struct {
	Store     store.Store
	Catalogue *catalog.Catalogue
	Needs     *needs.Table
	// Clock tells the day, for stages by date of birth.
	Clock func() time.Time
	Log   *slog.Logger
	// Addr is the host and port that the server is bound to. Requests for
	// any other host are refused, so that a page from elsewhere cannot reach
	// the app by a name of its own (DNS rebinding).
	Addr string
	// Share says how other devices may be let in. It lets nobody in by itself:
	// that takes Share, or a press in the app.
	Share ShareConfig
}

// Server is the local app.
type Server struct {
	Config
	lexicon   *lexicon
	pages     *pages
	answers   *answers
	regions   *regions
	portraits *portraits
	begun     *begun
	rescues   *rescues
	handler   http.Handler
	sharing   *sharing
	pairing   *pairing
	listed    []string // the patterns of all pages
}

//go:embed static
var staticFiles embed.FS

// New builds the app.
func New(c Config) (*Server, error) {
	host, port, err := net.SplitHostPort(c.Addr)
	if err != nil {
		return nil, err
	}
	lex, err := newLexicon()
	if err != nil {
		return nil, err
	}
	s := &Server{Config: c, lexicon: lex, pages: newPages(), answers: newAnswers(), regions: newRegions(), portraits: newPortraits(), begun: newBegun(), rescues: newRescues()}
	assets, err := fs.Sub(staticFiles, "static")
	if err != nil {
		return nil, err
	}
	pages := s.routes(lean{assets})
	door := func(h http.Handler) http.Handler {
		return secured(bounded(http.NewCrossOriginProtection().Handler(h)))
	}
	s.handler = onlyHosts(host, port, door(pages))
	s.pairing = newPairing(c.Clock)
	s.sharing = &sharing{config: c.Share, inside: door(s.gate(pages)), log: c.Log, now: c.Clock}
	return s, nil
}

// ServeHTTP implements http.Handler.
func (s *Server) ServeHTTP(w http.ResponseWriter, r *http.Request) { s.handler.ServeHTTP(w, r) }

// Bounds on what a request may cost.
const (
	maxForm       = 2 << 20   // a form, with a mix document in it
	maxBackup     = 256 << 20 // a backup to restore
	maxCard       = 17 << 20  // the page of somebody's card
	headerTimeout = 5 * time.Second
	readTimeout   = 60 * time.Second
	idleTimeout   = 2 * time.Minute
	stopTimeout   = 3 * time.Second
	maxHeader     = 64 << 10
)

// Serve answers on a listener until the context ends, then lets requests under
// way finish.
func (s *Server) Serve(ctx context.Context, l net.Listener) error {
	defer s.sharing.stop()
	hs := &http.Server{Handler: s, ReadHeaderTimeout: headerTimeout, ReadTimeout: readTimeout,
		IdleTimeout: idleTimeout, MaxHeaderBytes: maxHeader,
		BaseContext: func(net.Listener) context.Context { return context.WithoutCancel(ctx) }}
	done := make(chan error, 1)
	go func() { done <- hs.Serve(l) }()
	select {
	case err := <-done:
		return err
	case <-ctx.Done():
	}
	stop, cancel := context.WithTimeout(context.WithoutCancel(ctx), stopTimeout)
	defer cancel()
	if err := hs.Shutdown(stop); err != nil {
		hs.Close() // whoever still waits is cut off
	}
	if err := <-done; !errors.Is(err, http.ErrServerClosed) {
		return err
	}
	return nil
}

// onlyHosts refuses requests for other hosts than the bound one and the names
// of this machine.
func onlyHosts(host, port string, next http.Handler) http.Handler {
	allowed := map[string]bool{}
	for _, h := range []string{host, "localhost", "127.0.0.1", "::1"} {
		allowed[net.JoinHostPort(h, port)] = true
	}
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		if !allowed[r.Host] {
			http.Error(w, "Firlot answers on this machine only.", http.StatusMisdirectedRequest)
			return
		}
		next.ServeHTTP(w, r)
	})
}

// policy lets a page use what this server serves and nothing else.
const policy = "default-src 'none'; style-src 'self'; script-src 'self'; img-src 'self' data:; " +
	"form-action 'self'; base-uri 'none'; frame-ancestors 'none'; connect-src 'self'; manifest-src 'self'; worker-src 'self'"

func secured(next http.Handler) http.Handler {
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		h := w.Header()
		h.Set("Content-Security-Policy", policy)
		h.Set("X-Content-Type-Options", "nosniff")
		// Not "no-referrer": a form from a page with that names no Origin (Fetch
		// standard, "append a request Origin header"), and in the clear, where
		// browsers send no Sec-Fetch-Site, that is all it is known by.
		h.Set("Referrer-Policy", "same-origin")
		h.Set("Cross-Origin-Opener-Policy", "same-origin")
		h.Set("Cross-Origin-Resource-Policy", "same-origin")
		h.Set("Cache-Control", "no-store")
		next.ServeHTTP(w, r)
	})
}

// bounded limits the bodies of requests.
func bounded(next http.Handler) http.Handler {
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		most := int64(maxForm)
		switch r.URL.Path {
		case restorePath:
			most = maxBackup
		case cardPath:
			most = maxCard
		}
		r.Body = http.MaxBytesReader(w, r.Body, most)
		next.ServeHTTP(w, r)
	})
}
