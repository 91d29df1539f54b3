package web

import (
	"strings"
	"testing"

	"golang.org/x/net/html"

	"firlot/ration"
	rationfiles "firlot/ration/files"
)

// While a mix is changed over for another, the sheets say under each day which
// of the two is given, or how much of each, and never on a day without mix.
func TestTheSheetsSayWhichMix(t *testing.T) {
	for _, c := range []struct{ lang, sheet, lead, old, new string }{
		{"en", "sitter", "There are two mixes", "Of the mix: the old one alone", "Of the mix: the new one alone"},
		{"en", "fridge", "There are two mixes", "Of the mix: the old one alone", "Of the mix: the new one alone"},
		{"es", "sitter", "Hay dos mezclas", "De mezcla: solo la de antes", "De mezcla: solo la nueva"},
	} {
		a := start(t, true)
		a.lang = c.lang
		g := a.fed("window pair")
		d := a.kept(g.ID)
		from := ration.DayOf(someDay).Monday()
		d.Change = &ration.Change{Mix: "winter mix", From: from + 2, Days: 5}
		d.Away = []ration.Away{{From: from, To: from + 6, Who: "the ferrywoman"}}
		g.Feeding = string(rationfiles.Format(d))
		_, err := a.store.SaveGroup(t.Context(), g)
		a.must(err)
		p, _ := a.planOf(g)
		page := a.open(feedingPath(g.ID, "week/"+c.sheet))
		page.says(c.lead, "winter mix")
		var days []*html.Node
		walk(page.byID("main"), func(n *html.Node) bool {
			if class, _ := attr(n.Parent, "class"); n.Data == "li" && strings.HasPrefix(class, "days") {
				days = append(days, n)
			}
			return false
		})
		shifts := p.MixesOn(from, 7)
		if len(days) != 7 || len(shifts) != 7 {
			t.Fatalf("%s %s: %d days, %d shifts", c.lang, c.sheet, len(days), len(shifts))
		}
		seen := map[string]int{}
		for i, s := range shifts {
			text := strings.ReplaceAll(textOf(days[i]), "\u00a0", " ")
			want := c.old
			switch {
			case s.Old > 0 && s.New > 0:
				w := a.server.wordsIn(c.lang, "")
				want = strings.ReplaceAll(w.T("feed_mixes_both", "Old", w.Grams(s.Old)+" g", "New", w.Grams(s.New)+" g"), "\u00a0", " ")
			case s.New > 0:
				want = c.new
			}
			var lines []string
			walk(days[i], func(n *html.Node) bool {
				if n.Data == "li" && n != days[i] {
					lines = append(lines, strings.ReplaceAll(textOf(n), "\u00a0", " "))
				}
				return false
			})
			for k, line := range lines {
				if line == want && (k == 0 || !strings.Contains(lines[k-1], "19 g")) {
					t.Errorf("%s %s, %v: %q does not follow the mix: %q", c.lang, c.sheet, s.Day, want, lines)
				}
			}
			if s.Fed && !strings.Contains(text, want) {
				t.Errorf("%s %s, %v does not say %q: %s", c.lang, c.sheet, s.Day, want, text)
			}
			if says := strings.Contains(text, strings.SplitN(c.old, ":", 2)[0]+":"); says != s.Fed {
				t.Errorf("%s %s, %v: mix is given: %v, a mix is named: %v", c.lang, c.sheet, s.Day, s.Fed, says)
			}
			if s.Fed {
				seen[want]++
			}
		}
		if seen[c.old] == 0 || seen[c.new] == 0 || len(seen) < 3 {
			t.Errorf("not all of before, between and after: %v", seen)
		}
		d.Change = nil
		g = a.fed("window pair")
		g.Feeding = string(rationfiles.Format(d))
		_, err = a.store.SaveGroup(t.Context(), g)
		a.must(err)
		if text := a.open(feedingPath(g.ID, "week/"+c.sheet)).text(); strings.Contains(text, c.lead) || strings.Contains(text, c.new) {
			t.Errorf("one mix only, and yet: %s", text)
		}
	}
}
