package web

import (
	"net/http"
	"net/url"
	"strings"
	"testing"
)

func TestHeadersOfEveryAnswer(t *testing.T) {
	a := start(t, true)
	for _, path := range []string{"/mix", "/static/app.css", "/nowhere", "/settings/backup"} {
		h := a.get(path).header
		csp := h.Get("Content-Security-Policy")
		for _, part := range []string{"default-src 'none'", "style-src 'self'", "script-src 'self'", "form-action 'self'", "base-uri 'none'", "frame-ancestors 'none'", "connect-src 'self'"} {
			if !strings.Contains(csp, part) {
				t.Errorf("%s: the policy %q lacks %q", path, csp, part)
			}
		}
		if strings.Contains(csp, "unsafe") {
			t.Errorf("%s: the policy allows what is unsafe: %q", path, csp)
		}
		for name, want := range map[string]string{"X-Content-Type-Options": "nosniff", "Referrer-Policy": "same-origin"} {
			if h.Get(name) != want {
				t.Errorf("%s: %s is %q", path, name, h.Get(name))
			}
		}
	}
}

func TestOnlyThisMachinesNames(t *testing.T) {
	a := start(t, false)
	port := a.base[strings.LastIndexByte(a.base, ':'):]
	for host, want := range map[string]int{"127.0.0.1" + port: 200, "localhost" + port: 200, "[::1]" + port: 200,
		"evil.example" + port: 421, "localhost": 421, "127.0.0.1:1": 421, "localhost.evil.example" + port: 421} {
		r, err := http.NewRequest("GET", a.base+"/help", nil)
		if err != nil {
			t.Fatal(err)
		}
		r.Host = host
		if p := a.do(r); p.status != want {
			t.Errorf("host %q: status %d, want %d", host, p.status, want)
		}
	}
}

func TestPostsFromElsewhereAreRefused(t *testing.T) {
	a := start(t, false)
	for name, value := range map[string]string{"Sec-Fetch-Site": "cross-site", "Origin": "https://evil.example"} {
		r, err := http.NewRequest("POST", a.base+"/settings", strings.NewReader("language=es&units="))
		if err != nil {
			t.Fatal(err)
		}
		r.Header.Set("Content-Type", "application/x-www-form-urlencoded")
		r.Header.Set(name, value)
		if p := a.do(r); p.status != http.StatusForbidden {
			t.Errorf("with %s %s: status %d, want 403", name, value, p.status)
		}
	}
	if lang, _ := a.store.Setting(t.Context(), settingLanguage); lang != "" {
		t.Errorf("the language became %q", lang)
	}
}

func TestLargeBodiesAreRefused(t *testing.T) {
	a := start(t, false)
	if p := a.post("/settings", url.Values{"language": {strings.Repeat("x", maxForm+1)}}); p.status != http.StatusRequestEntityTooLarge {
		t.Errorf("a large form: status %d", p.status)
	}
	if p := a.upload("/mix/import", "document", "big.toml", make([]byte, maxForm+1)); p.status != http.StatusRequestEntityTooLarge {
		t.Errorf("a large document: status %d", p.status)
	}
}
