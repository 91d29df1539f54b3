package web

import (
	"errors"
	"io/fs"
	"net/http"

	"firlot/internal/store"
)

const restorePath = "/settings/restore"

// adder gives a pattern its handler.
type adder func(pattern string, h func(*request) error)

// routes are the pages of who is fed, what is on the shelf and the mixes; the
// scale, feeding and sharing list theirs in files of that name.
func (s *Server) routes(assets fs.FS) *http.ServeMux {
	m := http.NewServeMux()
	handle := func(pattern string, h http.Handler) {
		m.Handle(pattern, h)
		s.listed = append(s.listed, pattern)
	}
	at := func(pattern string, h func(*request) error) { handle(pattern, s.handle(h)) }

	at("GET /{$}", s.home)
	handle("GET /static/", http.StripPrefix("/static/", cached(http.FileServerFS(assets))))

	at("GET /animals", s.animals)
	at("GET /animals/new", s.newGroup)
	at("POST /animals", s.saveGroup)
	at("GET /animals/{id}", s.group)
	at("POST /animals/{id}", s.saveGroup)
	at("POST /animals/{id}/window", s.changeWindow)
	at("POST /animals/{id}/delete", s.deleteGroup)

	at("GET /shelf", s.shelves)
	at("POST /shelf", s.addShelf)
	at("GET /shelf/{id}", s.shelf)
	at("POST /shelf/{id}", s.saveShelf)
	at("POST /shelf/{id}/add", s.addItem)
	at("POST /shelf/{id}/delete", s.deleteShelf)
	at("GET /shelf/{id}/own", s.ownForm)
	at("POST /shelf/{id}/own", s.addOwn)
	at("GET /catalogue", s.catalogue)
	at("GET /catalogue/{ingredient}/{form}", s.entry)
	at("GET /portrait/{ingredient}/{form}", s.portrait)

	at("GET /mix", s.mixes)
	at("GET /mix/new", s.newMix)
	at("POST /mix", s.createMix)
	at("POST /mix/import", s.importMix)
	at("GET /mix/compare", s.compare)
	at("GET /mix/{id}", s.mix)
	at("POST /mix/{id}", s.changeMix)
	at("POST /mix/{id}/undo", s.undoMix)
	at("POST /mix/{id}/redo", s.redoMix)
	at("POST /mix/{id}/way", s.takeWay)
	at("GET /mix/{id}/without", s.without)
	at("POST /mix/{id}/without", s.takeWithout)
	at("GET /mix/{id}/versions", s.versions)
	at("POST /mix/{id}/versions", s.keepVersion)
	at("POST /mix/{id}/restore", s.restoreVersion)
	at("POST /mix/{id}/resolve", s.resolveConflict)
	at("POST /mix/{id}/rename", s.renameMix)
	at("POST /mix/{id}/copy", s.copyMix)
	at("POST /mix/{id}/archive", s.archiveMix)
	at("POST /mix/{id}/delete", s.deleteMix)
	at("GET /mix/{id}/document", s.exportMix)

	s.scaleRoutes(at)
	s.feedingRoutes(at)
	s.shareRoutes(at)
	s.deviceRoutes(at)

	at("GET /settings", s.settings)
	at("POST /settings", s.saveSettings)
	at("GET /settings/backup", s.backup)
	at("POST "+restorePath, s.restore)
	at("GET /help", s.help)
	at("/", func(*request) error { return store.ErrNotFound })
	return m
}

// handle runs a handler and turns its error into a page.
func (s *Server) handle(h func(*request) error) http.Handler {
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		q := &request{Request: r, w: w, s: s, words: s.wordsFor(r)}
		err := h(q)
		if err == nil || r.Context().Err() != nil {
			return
		}
		status, key := http.StatusInternalServerError, "error_fault"
		var tooBig *http.MaxBytesError
		var bad badRequest
		switch {
		case errors.Is(err, store.ErrNotFound):
			status, key = http.StatusNotFound, "error_not_found"
		case errors.Is(err, store.ErrConflict):
			status, key = http.StatusConflict, "error_conflict"
		case errors.As(err, &tooBig):
			status, key = http.StatusRequestEntityTooLarge, "error_too_big"
		case errors.As(err, &bad):
			status, key = http.StatusBadRequest, "error_bad_request"
		default:
			s.Log.Error("a page failed", "path", r.URL.Path, "error", err)
		}
		if d, away := outside(r); away && d.ID == "" { // a stranger sees no page of the app
			http.Error(w, q.words.T(key), status)
			return
		}
		if err := q.show(status, "error", "", q.words.T(key), errorView{q.words.T(key), q.words.T(key + "_hint")}); err != nil {
			s.Log.Error("an error page failed", "path", r.URL.Path, "error", err)
		}
	})
}

type errorView struct{ What, Hint string }

// badRequest is a form that no page of ours sends.
type badRequest string

func (b badRequest) Error() string { return string(b) }

// cached lets the browser keep a file and ask whether it has changed.
func cached(next http.Handler) http.Handler {
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		w.Header().Set("Cache-Control", "no-cache")
		next.ServeHTTP(w, r)
	})
}

// home opens the newest mix, or the list.
func (s *Server) home(q *request) error {
	list, err := s.Store.Mixes(q.Context(), store.Filter{Most: 1})
	if err != nil {
		return err
	}
	if len(list) == 0 {
		return q.see("/mix")
	}
	return q.see(mixPath(list[0].ID))
}
