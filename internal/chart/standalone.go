package chart

import (
	"strconv"
	"strings"
)

// StandaloneOptions say how a picture becomes a file.
type StandaloneOptions struct {
	White bool   // on white; otherwise transparent
	Fonts string // a font-family list; empty is a plain sans
}

// Standalone turns a picture of this package into a file of its own: an XML
// header, fonts, and each variable colour replaced by its fallback, since
// many viewers know no variables.
func Standalone(svg string, o StandaloneOptions) string {
	fonts := o.Fonts
	if fonts == "" {
		fonts = "system-ui, 'Segoe UI', Roboto, 'Helvetica Neue', 'DejaVu Sans', Arial, sans-serif"
	}
	svg = strings.Replace(svg, "<svg ", `<svg font-family="`+esc(fonts)+`" `, 1)
	svg, x, y := margin(svg)
	if o.White {
		svg = behindAll(svg, `<rect x="`+x+`" y="`+y+`" width="100%" height="100%" fill="#ffffff"/>`)
	}
	return `<?xml version="1.0" encoding="UTF-8"?>` + "\n" + fixColours(svg)
}

// fileMargin is the room around a picture in a file of its own, px.
const fileMargin = 16

// margin widens a picture on all sides and returns where it then begins.
func margin(svg string) (out, x, y string) {
	before, rest, ok := strings.Cut(svg, `viewBox="0 0 `)
	box, rest, whole := strings.Cut(rest, `"`)
	w, h, two := strings.Cut(box, " ")
	sized := ` width="` + w + `" height="` + h + `"`
	if !ok || !whole || !two || !strings.HasPrefix(rest, sized) {
		return svg, "0", "0"
	}
	from := strconv.Itoa(-fileMargin)
	wider := func(s string) string {
		v, _ := strconv.ParseFloat(s, 64)
		return strconv.FormatFloat(v+2*fileMargin, 'f', -1, 64)
	}
	box = `viewBox="` + from + " " + from + " " + wider(w) + " " + wider(h) + `" width="` + wider(w) + `" height="` + wider(h) + `"`
	return before + box + rest[len(sized):], from, from
}

// behindAll puts markup before the first drawn element.
func behindAll(svg, markup string) string {
	for _, after := range []string{"</desc>", "</title>", ">"} {
		if i := strings.Index(svg, after); i >= 0 {
			i += len(after)
			return svg[:i] + markup + svg[i:]
		}
	}
	return svg
}

// Fixed replaces each variable colour of a picture by its fallback, for a
// picture that is put into another file.
func Fixed(svg string) string { return fixColours(svg) }

// fixColours replaces variables and the current colour in attributes by fixed
// colours. Text cannot be mistaken for them: its quotes are escaped.
func fixColours(svg string) string {
	svg = strings.ReplaceAll(svg, `="currentColor"`, `="#1e2a2e"`)
	for _, v := range []string{ink, soft, flax, paper} {
		_, fallback, _ := strings.Cut(strings.TrimSuffix(v, ")"), ", ")
		svg = strings.ReplaceAll(svg, `="`+v+`"`, `="`+fallback+`"`)
	}
	return svg
}
