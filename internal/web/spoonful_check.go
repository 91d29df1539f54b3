package web

import (
	"strings"

	"firlot/serving"
)

// check is the mixing held against chance, from counts of a marker in a batch
// of this mix as it is planned. The words are those of a making's own check.
func (f *feeding) check(q *request, v *spoonfulView, ask spoonAsk) {
	w, get := f.w, q.URL.Query()
	s := serving.Sampling{Lot: serving.LotOf(f.Portions, ask.batch), Marker: -1, Allowed: serving.UsualAllowed}
	m := &mixedView{List: field{Value: get.Get("counts")}}
	m.markers(w, &s, get.Get("marker"))
	v.Scoop, v.Counts = get.Get("scoop"), get.Get("counts")
	if s.Marker < 0 || len(s.Lot.Pieces) < 2 {
		return
	}
	v.Markers = m.Markers
	if v.Scoop == "" {
		v.Scoop = w.typed(ask.portion)
	}
	if strings.TrimSpace(v.Counts) == "" {
		return
	}
	grams, err := w.parseNumber(strings.TrimSpace(strings.TrimSuffix(strings.TrimSpace(v.Scoop), "g")))
	if err != nil || !(grams > 0) {
		v.ScoopWrong = w.T("mixed_need_scoop")
		return
	}
	m.work(w, s, grams)
	v.ScoopWrong, v.CheckWrong = m.Scoop.Error, m.List.Error
	if m.Can {
		v.Check = m
	}
}
