package web

import (
	"html/template"

	"firlot/catalog"
	"firlot/internal/store"
	"firlot/making"
)

// outView takes a pour back that was picked out of the bowl again.
type outView struct{ Key, Of, Text string }

// neverWords say why foods are never fed, and how well that is known.
func (w *words) neverWords(list []*catalog.Unsafe) []template.HTML {
	var out []template.HTML
	for _, u := range list {
		text := template.HTML(template.HTMLEscapeString(upper(w.T("rescue_never", "Name", u.Names.First(w.lang))))) + " " + w.English(u.Reason)
		out = append(out, text+` <small>`+w.Source(u.Source)+"; "+template.HTML(template.HTMLEscapeString(w.Evidence(u.How)))+`</small>`)
	}
	return out
}

// discardHint says what to do with a bowl that no batch saves. What is never
// fed or too moist cannot be diluted; what is only too much could be, in a
// batch larger than any that was looked at.
func (b *proposer) discardHint(r *making.Rescued) string {
	if r.Mended == nil {
		return b.w.T("rescue_discard_hint")
	}
	return b.w.T("rescue_discard_most", "Mass", b.w.Mass(r.Mended.MostBatch))
}

// outs are the pours of a wrong jar into the bowl of a slip.
func (x *weighing) outs(w *words, slip making.Slip) []outView {
	if slip.Kind != making.WrongJar {
		return nil
	}
	var list []outView
	for _, p := range x.Now.Pours {
		if p.Taken || p.Kind != store.KindPour || p.Ref != slip.Ref || p.Bowl != max(slip.Bowl, 1) {
			continue
		}
		list = append(list, outView{newKey(), p.Key, w.T("rescue_out", "Mass", w.Mass(p.Mass), "Name", x.name(w, p.Ref))})
	}
	return list
}
