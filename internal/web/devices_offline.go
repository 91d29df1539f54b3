package web

import (
	"bytes"
	"crypto/sha256"
	"encoding/hex"
	"encoding/json"
	"io"
	"io/fs"
	"net/http"
	"sync"
)

// What lets the weighing pages be installed and opened while the laptop
// cannot be reached. Browsers take it on this machine and over TLS only.

// filesVersion tells one set of the program's own files from another: their
// names and contents, hashed.
var filesVersion = sync.OnceValues(func() (string, error) {
	h := sha256.New()
	for _, files := range []fs.FS{staticFiles, templateFiles, localeFiles} {
		err := fs.WalkDir(files, ".", func(path string, d fs.DirEntry, err error) error {
			if err != nil || d.IsDir() {
				return err
			}
			text, err := fs.ReadFile(files, path)
			io.WriteString(h, path+"\x00") // a hash takes everything
			h.Write(text)
			return err
		})
		if err != nil {
			return "", err
		}
	}
	return hex.EncodeToString(h.Sum(nil)[:8]), nil
})

// serviceWorker hands out static/queue-sw.js with the version of the files
// that it is to keep. A new version is a new script, so browsers notice.
func (s *Server) serviceWorker(q *request) error {
	text, err := fs.ReadFile(staticFiles, "static/queue-sw.js")
	if err != nil {
		return err
	}
	version, err := filesVersion()
	if err != nil {
		return err
	}
	q.w.Header().Set("Content-Type", "text/javascript; charset=utf-8")
	q.w.Header().Set("Service-Worker-Allowed", deviceHome)
	return q.send(http.StatusOK, bytes.Replace(text, []byte("@version@"), []byte(version), 1))
}

type manifest struct {
	Name        string         `json:"name"`
	Short       string         `json:"short_name"`
	Description string         `json:"description"`
	Lang        string         `json:"lang"`
	ID          string         `json:"id"`
	Start       string         `json:"start_url"`
	Scope       string         `json:"scope"`
	Display     string         `json:"display"`
	Background  string         `json:"background_color"`
	Theme       string         `json:"theme_color"`
	Icons       []manifestIcon `json:"icons"`
}

type manifestIcon struct {
	Src   string `json:"src"`
	Sizes string `json:"sizes"`
	Type  string `json:"type"`
}

// webManifest says how the weighing pages stand among a phone's programs.
func (s *Server) webManifest(q *request) error {
	m := manifest{Name: "Firlot: " + q.words.T("app_scale"), Short: "Firlot", Description: q.words.T("app_scale_hint"), Lang: q.words.lang,
		ID: deviceHome, Start: deviceHome, Scope: deviceHome, Display: "standalone", Background: "#edf0f0", Theme: "#edf0f0",
		Icons: []manifestIcon{{"/static/icon.svg", "any", "image/svg+xml"}}}
	body, err := json.Marshal(m)
	if err != nil {
		return err
	}
	q.w.Header().Set("Content-Type", "application/manifest+json")
	return q.send(http.StatusOK, body)
}
