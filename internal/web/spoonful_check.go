package web

import (
	"strings"

	"firlot/serving"
)

// check is the mixing held against chance, from counts of a marker.
func (f *feeding) check(q *request, v *spoonfulView, ask spoonAsk) {
	w, get := f.w, q.URL.Query()
	lot := serving.LotOf(f.Portions, ask.batch)
	marker := -1
	for i, p := range lot.Pieces {
		if !p.Known {
			continue
		}
		ref := p.Form.Ref()
		if marker < 0 || ref == get.Get("marker") {
			marker = i
		}
		v.Markers = append(v.Markers, choice{ref, w.Form(p.Form), ref == get.Get("marker")})
	}
	v.Scoop, v.Counts = get.Get("scoop"), get.Get("counts")
	if marker < 0 || len(lot.Pieces) < 2 {
		v.Markers = nil
		return
	}
	if v.Scoop == "" {
		v.Scoop = w.typed(ask.portion)
	}
	if v.Counts == "" {
		return
	}
	grams, err := w.parseNumber(v.Scoop)
	if err != nil || !(grams > 0) || grams > ask.batch {
		v.CheckWrong = w.T("feed_check_need_scoop")
		return
	}
	s := serving.Sampling{Lot: lot, Marker: marker, Allowed: serving.UsualAllowed}
	for _, t := range strings.FieldsFunc(v.Counts, func(r rune) bool { return strings.ContainsRune(",; \n\r\t", r) }) {
		n, err := w.parseNumber(t)
		if err != nil || n < 0 || n != float64(int64(n)) || n > serving.MostMarker {
			v.CheckWrong = w.T("feed_check_need_counts")
			return
		}
		s.Scoops = append(s.Scoops, serving.Scoop{Grams: grams, Marker: n})
	}
	m, err := s.Check()
	if err != nil {
		v.CheckWrong = w.T("feed_check_need_counts")
		return
	}
	v.Check = f.checkView(s, m)
}

func (f *feeding) checkView(s serving.Sampling, m *serving.Mixing) *checkView {
	w := f.w
	name := w.Form(s.Lot.Pieces[s.Marker].Form)
	allowed, sure := w.Plain(100*s.Allowed), w.OfHundred(m.Confidence)
	v := &checkView{Verdict: string(m.Verdict)}
	switch m.Verdict {
	case serving.WellMixed:
		v.Lead = w.T("feed_check_well", "Name", name, "Sure", sure, "Allowed", allowed)
	case serving.NotWellMixed:
		v.Lead = w.T("feed_check_not", "Name", name, "Sure", sure, "Allowed", allowed)
	default:
		key := "feed_check_cannot_yes"
		if m.Likely == serving.NotWellMixed {
			key = "feed_check_cannot_no"
		}
		v.Lead = w.T(key, "Sure", sure)
	}
	v.Facts = append(v.Facts,
		w.T("feed_check_shown", "Mean", w.Short(m.Mean), "Shown", w.two(100*m.Shown), "Error", w.two(100*m.ShownError), "Floor", w.two(100*m.Floor)),
		w.T("feed_check_own", "Own", w.two(100*m.Own), "Low", w.two(100*m.OwnLow), "High", w.two(100*m.OwnHigh)),
		w.T("feed_check_index", "Index", w.Short(m.Index), "Degrees", w.Plain(float64(m.Degrees)), "Chance", w.OfHundred(m.Chance)))
	if m.TooAlike {
		v.Facts = append(v.Facts, w.T("feed_check_alike"))
	}
	if m.Rough {
		v.Facts = append(v.Facts, w.T("feed_check_rough"))
	}
	if m.AtLeast {
		v.Facts = append(v.Facts, w.T("feed_check_least"))
	}
	if !m.TradeRule {
		v.Facts = append(v.Facts, w.T("feed_check_rule"))
	}
	many := func(n int) string {
		if n == 0 {
			return w.T("feed_check_too_many", "N", w.Plain(serving.MostScoops))
		}
		return w.Plain(float64(n))
	}
	v.Facts = append(v.Facts, w.T("feed_check_enough", "Good", many(m.Enough.Good), "Bad", many(m.Enough.Bad), "As", w.Plain(float64(m.Degrees+1)), "Grams", w.two(m.Enough.Grams)))
	return v
}
