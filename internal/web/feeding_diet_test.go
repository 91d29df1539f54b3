package web

import (
	"net/http"
	"strings"
	"testing"

	"firlot/nutrient"
	"firlot/ration"
)

// A proposal that is pressed mends what it says.
func TestMendIsTaken(t *testing.T) {
	a := start(t, true)
	g := a.fed("window pair")
	page := a.open(feedingPath(g.ID, "diet"))
	page.says("low", "The smallest change that mends it", "never calls a diet complete")
	p, _ := a.planOf(g)
	state := func(p *ration.Plan) ration.Verdict {
		for _, r := range p.Ledger().Accounts[0].Rows {
			if r.Nutrient == nutrient.Calcium && r.Per == "" {
				return r.Verdict
			}
		}
		t.Fatal("there is no calcium")
		return ""
	}
	if state(p) != ration.Low {
		t.Fatalf("calcium is %s before", state(p))
	}
	page = a.press(page, with("value", "calcium|"), nil)
	if page.status != http.StatusOK {
		t.Fatalf("status %d: %s", page.status, page.start())
	}
	p, _ = a.planOf(g)
	if state(p) != ration.Inside {
		t.Errorf("calcium is %s after", state(p))
	}
}

// Without a mix in the week nothing is proposed in its stead.
func TestDietWithoutAMix(t *testing.T) {
	a := start(t, true)
	page := a.open(feedingPath(a.fed("Bramble").ID, "diet"))
	page.says("The week has no mix yet, so this is not the whole diet")
	if strings.Contains(page.body, "with a published need are low") {
		t.Error("a week without its mix leads with what is short")
	}
	if page.find(with("name", "target")) != nil {
		t.Error("leaves are proposed for a mix")
	}
}

// Every row of the ledger is on the page with its verdict in words.
func TestWholeDietIsShown(t *testing.T) {
	a := start(t, true)
	g := a.fed("window pair")
	p, _ := a.planOf(g)
	page := a.open(feedingPath(g.ID, "diet"))
	w := a.server.wordsIn("en", "")
	for _, account := range p.Ledger().Accounts {
		for _, r := range account.Rows {
			id := ""
			for _, x := range rowGroups {
				if info, _ := nutrient.Lookup(r.Nutrient); info.Group == x {
					id = "a-" + strings.ReplaceAll(string(x), " ", "-") + "-" + string(r.Nutrient) + string(r.Per)
				}
			}
			n := page.byID(id)
			if n == nil {
				t.Errorf("no row for %s %s (%s)", r.Nutrient, r.Per, id)
				continue
			}
			if text := textOf(n); !strings.Contains(text, w.T("feed_verdict_"+strings.ReplaceAll(string(r.Verdict), " ", "_"))) {
				t.Errorf("%s is %s, and the page says %.200s", r.Nutrient, r.Verdict, text)
			}
		}
	}
}

// What is not known says which of two things is not: a figure of the tables, or
// how much is eaten.
func TestDietSaysWhyItIsNotKnown(t *testing.T) {
	a := start(t, true)
	g := a.fed("window pair")
	at := feedingPath(g.ID, "diet")
	a.open(at).says("hangs on how much is eaten of timothy hay, cut", "As far as that goes, an animal gets", "not known: hangs on how much is eaten", "Not known, since the tables lack part of it")
	a.lang = "es"
	a.open(at).says("depende de cuánto se come de heno", "a las tablas les falta una parte")
}

// A mended week keeps the comments of a document that was brought in.
func TestMendKeepsComments(t *testing.T) {
	a := start(t, true)
	g := a.fed("window pair")
	text := "# by hand\n" + a.get(feedingPath(g.ID, "feeding")).body
	if up := a.uploadRev(feedingPath(g.ID, "feeding"), g.Rev, text); up.status != http.StatusSeeOther {
		t.Fatalf("status %d: %s", up.status, up.start())
	}
	a.press(a.open(feedingPath(g.ID, "diet")), with("value", "calcium|"), nil)
	page := a.open(feedingPath(g.ID, "weights"))
	a.press(page, saying("Write down"), map[string]string{"weight": "84.5"})
	if back := a.get(feedingPath(g.ID, "feeding")).body; !strings.HasPrefix(back, "# by hand\n") {
		t.Errorf("the comment went: %.100s", back)
	}
}

// BenchmarkDietPage is the page of the whole diet of two and of thirty, with
// the search for what mends three shortages.
func BenchmarkDietPage(b *testing.B) {
	a := start(b, true)
	for _, name := range []string{"window pair", "thirty"} {
		path := feedingPath(a.fed(name).ID, "diet")
		b.Run(name, func(b *testing.B) {
			for b.Loop() {
				a.open(path)
			}
		})
	}
}
