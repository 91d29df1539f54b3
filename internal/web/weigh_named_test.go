package web

import (
	"encoding/csv"
	"encoding/json"
	"net/http"
	"net/url"
	"slices"
	"strconv"
	"strings"
	"testing"

	"golang.org/x/net/html"

	"firlot/internal/store"
)

// named begins a making and pours what a keeper calls so from a wrong jar.
func named(a *app, name, mass string) *result {
	a.t.Helper()
	return a.pressIn(begin(a, nil), "wrong", map[string]string{"food": name, "mass": mass})
}

// linesOf are what was poured and was not planned, by reference.
func strays(s *stateView) map[string]int64 {
	m := map[string]int64{}
	for _, l := range s.Lines {
		if l.Planned == 0 {
			m[strings.TrimSuffix(l.Ref, "/never")] = l.Poured
		}
	}
	return m
}

// A name in any language, of any form of the catalogue, is taken down as that
// form; a food that is never fed by its id, whether or not its name stands
// with other words.
func TestAWrongJarIsNamed(t *testing.T) {
	a := start(t, true)
	for _, c := range []struct{ typed, ref string }{
		{"amaranto inflado", "amaranth/popped"}, {"rye/whole", "rye/whole"},
		{"raw kidney beans", "raw-common-bean"}, {"apple pips", "apple-pip"}, {"avocado", "avocado"}, {"Aguacate", "avocado"},
		{"pepitas de manzana", "apple-pip"}, {"Schokoladenstreusel", "chocolate"},
	} {
		p := named(a, c.typed, "5")
		if !strings.HasSuffix(where(p), "/rescue") {
			t.Errorf("%q: %s\n%s", c.typed, where(p), p.start())
			continue
		}
		if got := strays(a.state(makingOf(p))); len(got) != 1 || got[c.ref] != 5000 {
			t.Errorf("%q: %v, want %s", c.typed, got, c.ref)
		}
	}
}

// Every food that is never fed can be taken down by its usual name in both
// languages, or is among the choices.
func TestEveryNeverFedFoodIsNamed(t *testing.T) {
	a := start(t, true)
	x, err := a.server.weighing(t.Context(), store.ID(strings.TrimPrefix(where(begin(a, nil)), "/making/")))
	a.must(err)
	asked := 0
	for _, lang := range languages {
		w := a.server.wordsIn(lang, "")
		for _, u := range a.server.Catalogue.Unsafe {
			name := u.Names.First(lang)
			ref, err := x.named(w, name)
			if no, ok := err.(which); ok {
				asked++
				for _, n := range no.near {
					if n.Ref == u.Ref() {
						ref = n.Ref
					}
				}
			}
			if ref != u.Ref() {
				t.Errorf("%q of %s: %q, %v", name, u.ID, ref, err)
			}
			if a.server.Catalogue.Ingredient(u.ID) != nil { // in a log of a short while ago it goes by its id
				t.Errorf("%s is an ingredient as well: a stored reference would be taken for it", u.ID)
			}
		}
	}
	t.Logf("of %d names %d have to be asked about", 2*len(a.server.Catalogue.Unsafe), asked)
}

// A name that may be several things, one with a slip of the pen, and one that
// nobody knows are asked about; the grams stay, and what is pressed counts once.
func TestANameIsAskedAbout(t *testing.T) {
	a := start(t, true)
	for _, c := range []struct {
		typed, press, ref string
		also              []string
	}{
		{"oats", "rolled oats", "oats/rolled", []string{"oat groats", "oat bran"}},
		{"soybeans", "soybeans (never fed)", "unnamed-soya", []string{"roasted"}},
		{"avocato", "avocado (never fed)", "avocado", nil},
		{"apple", "apple pips (never fed)", "apple-pip", []string{"dried apple"}},
		{"sunflwer", "sunflower kernels", "sunflower/kernel", nil},
	} {
		p := named(a, c.typed, "12.5")
		if p.status != http.StatusUnprocessableEntity {
			t.Errorf("%q: status %d, %s", c.typed, p.status, p.start())
			continue
		}
		p.says(append([]string{"“" + c.typed + "” may be several foods", "12.5 g " + c.typed, c.press}, c.also...)...)
		to, _ := attr(p.find(func(n *html.Node) bool { return n.Data == "form" && strings.HasSuffix(formTo(n), "/event") }), "action")
		at := strings.TrimSuffix(to, "/event")
		if got := a.state(at); got.Events != 0 {
			t.Errorf("%q: something was kept before it was answered: %+v", c.typed, got)
		}
		done := a.press(p, func(n *html.Node) bool { return textOf(n) == c.press }, nil)
		a.press(p, func(n *html.Node) bool { return textOf(n) == c.press }, nil) // a bouncing knuckle
		if s := a.state(at); strays(s)[c.ref] != 12_500 || s.Events != 1 {
			t.Errorf("%q: %v in %d events\n%s", c.typed, strays(s), s.Events, done.start())
		}
	}
	p := named(a, "gravel", "7")
	p.says("“gravel” is not in the catalogue", "7 g gravel", "food of your own")
	p = a.press(p, saying("Look for this name"), map[string]string{"food": "rye/whole"})
	if got := strays(a.state(makingOf(p))); got["rye/whole"] != 7000 {
		t.Errorf("the name typed anew: %v", got)
	}
	a.lang = "es"
	p = named(a, "avena", "7")
	p.says("«avena» puede ser varios alimentos", "7 g avena")
}

func formTo(n *html.Node) string {
	to, _ := attr(n, "action")
	return to
}

// What is chosen from the list and what is typed beside it must agree.
func TestAChoiceAndANameDisagree(t *testing.T) {
	a := start(t, true)
	p := a.pressIn(begin(a, nil), "wrong", map[string]string{"ref": "wheat/whole", "food": "avocado", "mass": "5"})
	p.says("may be several foods", "5 g avocado")
	if p.find(with("value", "wheat/whole")) == nil || p.find(with("value", "avocado/never")) == nil {
		t.Errorf("both are not offered: %s", p.text())
	}
	p = a.pressIn(begin(a, nil), "wrong", map[string]string{"ref": "wheat/whole", "food": "Triticum aestivum wheat grain nonsense", "mass": "5"})
	if p.find(with("value", "wheat/whole")) == nil {
		t.Errorf("the one that was chosen is not offered: %s", p.text())
	}
	p = a.pressIn(begin(a, nil), "wrong", map[string]string{"mass": "5"})
	p.says("No such food", "type its name")
}

// A program gets the choices as data, and what it sends again counts once.
func TestANameFromAProgram(t *testing.T) {
	a := start(t, true)
	at := where(begin(a, nil))
	event := map[string]string{"key": "k1", "kind": "pour", "food": "kidney beans", "mg": "3000"}
	for range 2 {
		status, s := a.ask(at, event)
		if status != http.StatusOK || strays(s)["raw-common-bean"] != 3000 || s.Events != 1 {
			t.Fatalf("%d %+v", status, s)
		}
		if n := s.Lines[len(s.Lines)-1].Name; n != "kidney beans" {
			t.Errorf("the state calls it %q", n)
		}
	}
	r, err := http.NewRequest("POST", a.base+at+"/event", strings.NewReader(url.Values{"key": {"k2"}, "kind": {"pour"}, "food": {"soybeans"}, "mg": {"1000"}}.Encode()))
	a.must(err)
	r.Header.Set("Content-Type", "application/x-www-form-urlencoded")
	r.Header.Set("Accept", "application/json")
	p := a.do(r)
	var said struct {
		Error, Code string
		Near        []struct{ Ref, Name string }
	}
	a.must(json.Unmarshal([]byte(p.body), &said))
	if p.status != http.StatusUnprocessableEntity || said.Code != "which" || len(said.Near) < 2 || said.Near[0].Ref != "unnamed-soya/never" || !strings.Contains(said.Error, "soybeans") {
		t.Errorf("%d %+v", p.status, said)
	}
	for _, no := range []map[string]string{
		{"key": "k3", "kind": "pour", "ref": "gravel", "mg": "1000"},
		{"key": "k4", "kind": "empty", "ref": "avocado", "mg": "1000"},
	} {
		if status, _ := a.ask(at, no); status != http.StatusUnprocessableEntity {
			t.Errorf("%v: status %d", no, status)
		}
	}
}

// A bowl with a food that is never fed: it is to be thrown away, and every page
// of the making says what it is and why. No page offers to go on or to finish.
func TestANeverFedFoodInTheBowl(t *testing.T) {
	for _, c := range []struct{ lang, never, why, throw, left, finish string }{
		{"en", "Avocado is never fed:", "persin", "Throw it away", "given up", "This batch cannot be finished"},
		{"es", "Aguacate no se da nunca:", "persin", "Tírelo", "abandonada", "Esta tanda no se puede terminar"},
	} {
		a := start(t, true)
		p := begin(a, nil)
		at := where(p)
		p = a.press(p, with("id", "poured"), nil) // a planned line first
		before := shelfCounts(a)
		a.lang = c.lang
		name := strings.ToLower(strings.Fields(c.never)[0])
		p = a.pressIn(p, "wrong", map[string]string{"food": "avocado", "mass": "5"})
		p.says(c.never, c.why, c.throw)
		if p.find(with("name", "way")) != nil {
			t.Errorf("%s: a way on is offered", c.lang)
		}
		if status, _ := a.ask(at, map[string]string{"key": "on", "kind": "replan", "way": wayRescue, "seen": "2"}); status != http.StatusUnprocessableEntity {
			t.Errorf("%s: a way on is taken: status %d", c.lang, status)
		}
		a.open(at).says(name)
		p = a.open(at + "/finish")
		p.says(name, c.why, c.finish)
		if p.find(with("value", "finish")) != nil {
			t.Errorf("%s: it can be finished", c.lang)
		}
		m, err := a.store.Making(t.Context(), store.ID(strings.TrimPrefix(at, "/making/")))
		a.must(err)
		if p = a.post(at+"/finish", url.Values{"do": {"finish"}, "rev": {revOf(m.Rev)}, "lot": {"X-1"}}); p.status != http.StatusUnprocessableEntity {
			t.Errorf("%s: finishing: status %d", c.lang, p.status)
		}
		if after := shelfCounts(a); after != before {
			t.Errorf("%s: the shelf's counts moved: %s, before %s", c.lang, after, before)
		}
		p = a.press(a.open(at+"/finish"), with("value", "leave"), nil)
		p.says(c.left, name, c.why)
		if c.lang == "es" && !strings.Contains(p.text(), "escrito como «avocado»") {
			t.Errorf("the record does not say what was typed: %s", p.text())
		}
		a.open("/making")
		if row := strayRow(a, c.lang, name); len(row) == 0 {
			t.Errorf("%s: the table does not name it", c.lang)
		} else if !slices.Contains(row, "5") {
			t.Errorf("%s: %q", c.lang, row)
		}
		a.open(at + "/mixed")
		if p := a.get(at + "/label"); p.status != http.StatusSeeOther {
			t.Errorf("%s: there is a label: status %d", c.lang, p.status)
		}
	}
}

func revOf(rev int64) string { return strconv.FormatInt(rev, 10) }

// strayRow is the row of the CSV of makings given up with an ingredient.
func strayRow(a *app, lang, name string) []string {
	a.t.Helper()
	r := csv.NewReader(strings.NewReader(strings.TrimPrefix(a.get("/making/export?state=left").body, "\ufeff")))
	if lang == "es" {
		r.Comma = ';'
	}
	rows, err := r.ReadAll()
	a.must(err)
	for _, row := range rows {
		if slices.Contains(row, name) {
			return row
		}
	}
	return nil
}

func jsonOf(v any) string {
	text, err := json.Marshal(v)
	if err != nil {
		return err.Error()
	}
	return string(text)
}

// shelfCounts are the counts of all shelves.
func shelfCounts(a *app) string {
	a.t.Helper()
	all, err := a.store.Shelves(a.t.Context())
	a.must(err)
	var items []store.Item
	for _, sh := range all {
		items = append(items, sh.Items...)
	}
	return jsonOf(items)
}

// Every piece picked out again: the pour is taken back though others followed,
// and the making goes on as if it had never been.
func TestANeverFedFoodIsPickedOut(t *testing.T) {
	a := start(t, true)
	p := begin(a, nil)
	at := where(p)
	a.pressIn(p, "wrong", map[string]string{"food": "apple pips", "mass": "2"})
	a.press(a.open(at), with("id", "poured"), nil)
	before := a.state(at)
	p = a.press(a.open(at+"/rescue"), saying("take back 2 g apple pips"), nil)
	s := a.state(at)
	if s.Off || len(strays(s)) != 0 || s.Poured != before.Poured-2000 || len(s.Lines) != len(before.Lines)-1 {
		t.Fatalf("%+v", s)
	}
	if strings.Contains(p.text(), "apple pips") {
		t.Errorf("it stands on the page still: %s", p.text())
	}
	for p.byID("poured") != nil {
		p = a.press(p, with("id", "poured"), nil)
	}
	p.says("inside its")
	p = a.press(a.open(at+"/finish"), with("value", "finish"), nil)
	p.says("inside its", "2 g apple pips", "(taken back)")
}

// In one of two bowls it is that bowl which is to be thrown away, whatever went
// wrong in the other.
func TestANeverFedFoodInOneBowl(t *testing.T) {
	a := start(t, true)
	p := begin(a, map[string]string{"bowls": "2"})
	at := makingOf(p)
	a.ask(at, map[string]string{"key": "much", "kind": "pour", "ref": "proso-millet/in-hull", "mg": "150000", "bowl": "1"})
	a.ask(at, map[string]string{"key": "stray", "kind": "pour", "food": "onion", "mg": "4000", "bowl": "2"})
	a.open(at+"/rescue").says("Onion is never fed:", "This is for bowl 2 of 2. What is said of another bowl comes after it", "40 g too much of proso millet in hull are in bowl 1", "4 g of onion are in bowl 2")
	a.lang = "es"
	a.open(at+"/rescue").says("Esto vale para el cuenco 2 de 2. Lo que se dice de otro cuenco", "en el cuenco 1.", "en el cuenco 2, que no")
	a.lang = "en"
	a.ask(at, map[string]string{"key": "back", "kind": "take-back", "of": "much"})
	a.open(at + "/rescue").says("This is for bowl 2 of 2; the others stay as planned")
	a.ask(at, map[string]string{"key": "pips", "kind": "pour", "food": "apple pips", "mg": "2000", "bowl": "1"})
	a.ask(at, map[string]string{"key": "out", "kind": "take-back", "of": "stray"})
	a.open(at+"/rescue").says("Apple pips", "This is for bowl 1 of 2", "take back 2 g apple pips")
}

// A backup holds such a making, and gives it back as it was.
func TestANeverFedFoodInABackup(t *testing.T) {
	a := start(t, true)
	p := named(a, "avocado", "5")
	at := makingOf(p)
	kept := a.get("/settings/backup")
	b := start(t, false)
	if r := b.upload("/settings/restore", "backup", "firlot.backup", []byte(kept.body), "saved"); r.status != http.StatusSeeOther {
		t.Fatalf("status %d: %s", r.status, r.text())
	}
	if got := strays(b.state(at)); got["avocado"] != 5000 {
		t.Errorf("%v", got)
	}
	b.open(at + "/rescue").says("Avocado is never fed:")
}
