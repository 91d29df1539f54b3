package web

import (
	"html/template"
	"strings"

	"firlot/internal/scales"
)

// scalePanel is the place in the weighing page for a scale with a cable, with
// the words that static/scale-talk.js needs. It stays hidden where the browser
// reaches none. into is the field that a reading fills, opens the details
// around it.
func scalePanel(w *words, into, opens string) template.HTML {
	var b strings.Builder
	set := func(name, value string) {
		b.WriteString(` data-` + name + `="` + template.HTMLEscapeString(value) + `"`)
	}
	b.WriteString(`<div id="scale"`)
	set("into", into)
	set("opens", opens)
	for _, name := range []string{"usb", "serial", "rate", "asks", "silent", "failed", "simulated"} {
		set(name, w.T("scale_"+name))
	}
	set("take", w.T("scale_take", "Mass", "%m"))
	for _, s := range scales.States() {
		if s != scales.Nothing { // an empty line is passed over
			set(string(s), w.T("scale_"+string(s)))
		}
	}
	b.WriteString(` hidden></div>`)
	return template.HTML(b.String())
}
