package cardpage

import (
	"bytes"
	"context"
	"crypto/sha256"
	"embed"
	"encoding/base64"
	"fmt"
	"html/template"
	"io"
	"strings"

	"firlot/card"
	"firlot/internal/cardpage/pack"
	"firlot/internal/cardpage/view"
	"firlot/internal/words"
)

//go:embed assets
var assets embed.FS

// glue starts the engine: the page's side of cmd/firlot-wasm.
//
//go:embed wasm_glue.js
var glue string

// Options say how a card's page is made.
type Options struct {
	// Lang is the language that a reader without scripts sees first; empty is
	// the first of the card's that pages are written in.
	Lang string
}

// Render writes the page of a card. packed is what [Engine] returns; without it
// the page is for reading alone.
func Render(w io.Writer, c *card.Card, packed []byte, o Options) error {
	p, err := parts(c, o, len(packed) > 0)
	if err != nil {
		return err
	}
	var b bytes.Buffer
	if err := pageTemplate.ExecuteTemplate(&b, "top", p); err != nil {
		return err
	}
	fmt.Fprintf(&b, "%s%s%s\n", packedOpens, pack.Pack(card.Encode(c)), cardCloses)
	if len(packed) > 0 {
		for _, l := range words.Languages {
			if said := textsOf(c, l); said != "" {
				b.WriteString(packedPart("texts-"+l, said))
			}
		}
		if err := engine(&b, packed); err != nil {
			return err
		}
		fmt.Fprintf(&b, "<script>%s</script>\n", p.Script)
	}
	b.WriteString("</body>\n</html>\n")
	_, err = w.Write(b.Bytes())
	return err
}

// shell is what the page's template is filled with.
type shell struct {
	Title, Lang string
	Scripted    bool
	Policy      string
	Style       template.CSS
	Script      template.JS
	Defs        template.HTML
	Mains       []mainPart
	NoScript    map[string]string
}

// mainPart is the page in one language. Packed is one that the page's script
// unpacks when it is asked for; without a script there is no other.
type mainPart struct {
	Lang, Class, Name string
	HTML              template.HTML
	Packed            template.HTML
}

// packedPart is packed text that the page's script reads by its id.
func packedPart(id, text string) string {
	return `<script type="text/plain" id="` + id + `">` + pack.Pack([]byte(text)) + "</script>\n"
}

// languageNames are the names of the pages' languages in themselves.
var languageNames = map[string]string{"en": "English", "es": "Español"}

func parts(c *card.Card, o Options, scripted bool) (*shell, error) {
	p := &shell{Scripted: scripted, Title: c.Title, Lang: langOf(c, o), NoScript: map[string]string{}}
	style, err := asset("page.css")
	if err != nil {
		return nil, err
	}
	script, err := scripts()
	if err != nil {
		return nil, err
	}
	p.Style, p.Script = template.CSS(style), template.JS(script)
	p.Policy = policy(style, script)
	s := &view.Session{Card: c, Texts: texts()}
	if s.QR, err = qr(c.Hosted); err != nil {
		return nil, err
	}
	p.Defs = template.HTML(s.Defs())
	for _, l := range words.Languages {
		text, err := s.Main(context.Background(), l)
		if err != nil {
			return nil, err
		}
		m := mainPart{l, "other", languageNames[l], template.HTML(text), ""}
		switch {
		case l == p.Lang:
			m.Class = "own"
		case scripted:
			m.HTML, m.Packed = "", template.HTML(packedPart("main-"+l, text))
		}
		p.Mains = append(p.Mains, m)
		p.NoScript[l] = view.Words(l).T("nojs")
	}
	return p, nil
}

func langOf(c *card.Card, o Options) string {
	for _, l := range append([]string{o.Lang}, c.Languages...) {
		if languageNames[l] != "" {
			return l
		}
	}
	return words.Languages[0]
}

func asset(name string) (string, error) {
	b, err := assets.ReadFile("assets/" + name)
	return string(b), err
}

// scripts is the page's script, with the worker's in it as a text.
func scripts() (string, error) {
	page, err := asset("page.js")
	if err != nil {
		return "", err
	}
	worker, err := asset("worker.js")
	if err != nil {
		return "", err
	}
	worker = glue + worker
	quoted := "`" + strings.NewReplacer("\\", "\\\\", "`", "\\`", "${", "\\${").Replace(worker) + "`"
	said := view.Script()
	out := pack.Script + strings.Replace(page, "\"@worker\"", quoted, 1)
	out = strings.Replace(out, "\"@words\"", said, 1)
	if strings.Contains(strings.ToLower(out), "</script") || strings.Contains(out, "<!--") {
		return "", fmt.Errorf("the script cannot stand in a page")
	}
	return out, nil
}

// policy is the page's content security policy: nothing is loaded from
// anywhere, and no script runs but its own.
func policy(style, script string) string {
	hash := func(s string) string {
		sum := sha256.Sum256([]byte(s))
		return "'sha256-" + base64.StdEncoding.EncodeToString(sum[:]) + "'"
	}
	return "default-src 'none'; style-src " + hash(style) + "; script-src " + hash(script) + " 'wasm-unsafe-eval'; worker-src blob:; img-src data: blob:; connect-src 'none'; base-uri 'none'; form-action 'none'"
}

var pageTemplate = template.Must(template.New("").Parse(`{{define "top"}}<!doctype html>
<html lang="{{.Lang}}">
<head>
<meta charset="utf-8">
<meta http-equiv="Content-Security-Policy" content="{{.Policy}}">
<meta name="viewport" content="width=device-width, initial-scale=1">
<meta name="color-scheme" content="light dark">
<meta name="referrer" content="no-referrer">
<meta name="generator" content="Firlot">
<title>{{.Title}}</title>
<style>{{.Style}}</style>
</head>
<body>
<header class="top"><span class="mark">Firlot</span>
<nav class="langs{{if .Scripted}} js-only{{end}}" aria-label="English, Español">{{$own := .Lang}}{{range .Mains}}<a href="#{{.Lang}}" lang="{{.Lang}}" hreflang="{{.Lang}}"{{if eq .Lang $own}} aria-current="true"{{end}}>{{.Name}}</a>{{end}}</nav></header>
{{.Defs}}
<p id="status" class="status" role="status" hidden></p>
{{$no := .NoScript}}{{range .Mains}}<main id="{{.Lang}}" lang="{{.Lang}}" class="{{.Class}}" tabindex="-1">
{{if .HTML}}<p class="hint nojs-only screen">{{index $no .Lang}}</p>
{{.HTML}}{{end}}</main>
{{end}}<p id="spoken" class="hidden" role="status"></p>
{{range .Mains}}{{.Packed}}{{end}}{{end}}`))
