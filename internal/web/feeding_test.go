package web

import (
	"mime/multipart"
	"net/http"
	"net/http/httptest"
	"net/url"
	"slices"
	"strconv"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
	"golang.org/x/net/html"

	"firlot/internal/store"
	"firlot/nutrient"
	"firlot/ration"
	rationfiles "firlot/ration/files"
	"firlot/serving"
)

// feedingPages are the pages of feeding a group. Those of groups that look
// alike are left out, so that the browser's tests stay short.
func feedingPages(g store.Group) []string {
	if g.Animals > 2 {
		return []string{feedingPath(g.ID, "diet"), feedingPath(g.ID, "weights")}
	}
	var list []string
	for _, p := range []string{"portion", "week", "week/fridge", "week/sitter", "week/shopping?weeks=2", "diet", "weights", "bowl", "spoonful", "spoonful?counts=17+21+15&scoop=10"} {
		list = append(list, feedingPath(g.ID, p))
	}
	return list
}

// fed is one of the invented groups with its pages.
func (a *app) fed(name string) store.Group {
	a.t.Helper()
	groups, err := a.store.Groups(a.t.Context())
	if err != nil {
		a.t.Fatal(err)
	}
	for _, g := range groups {
		if strings.Contains(g.Name, name) {
			return g
		}
	}
	a.t.Fatalf("no group %q", name)
	return store.Group{}
}

func (a *app) kept(id store.ID) *ration.Document {
	a.t.Helper()
	g, err := a.store.Group(a.t.Context(), id)
	if err != nil {
		a.t.Fatal(err)
	}
	f, err := rationfiles.Parse("kept", []byte(g.Feeding))
	if err != nil {
		a.t.Fatal(err)
	}
	return f.Document
}

// planOf resolves what is kept as the app does.
func (a *app) planOf(g store.Group) (*ration.Plan, *solved) {
	a.t.Helper()
	list, err := a.store.Mixes(a.t.Context(), store.Filter{Group: g.ID, Most: 1})
	if err != nil || len(list) == 0 {
		a.t.Fatalf("no mix: %v", err)
	}
	m, err := a.store.Mix(a.t.Context(), list[0].ID)
	if err != nil {
		a.t.Fatal(err)
	}
	x, err := a.server.solve(a.t.Context(), m.Document)
	if err != nil || x.Answer == nil {
		a.t.Fatalf("not solved: %v", err)
	}
	p, err := ration.Resolve(a.kept(g.ID), a.server.Catalogue, a.server.Needs, x.Answer.Portions(), ration.DayOf(someDay))
	if err != nil {
		a.t.Fatal(err)
	}
	return p, x
}

// The portion on the page is the engine's, animal by animal, and goes with the
// spoon.
func TestPortionPage(t *testing.T) {
	a := start(t, true)
	g := a.fed("window pair")
	p, x := a.planOf(g)
	w := a.server.wordsIn("en", "")
	total := 0.0
	for _, f := range p.Animals {
		one, err := serving.Of(x.Answer.Portions(), serving.Ask{Species: f.Species, Weight: f.Weight, Animals: 1, Feedings: 1, Spoon: serving.Spoons()[0]})
		if err != nil {
			t.Fatal(err)
		}
		total += one.Animal.Grams.Mean
	}
	page := a.open(feedingPath(g.ID, "portion"))
	page.says("Together the 2 need about "+w.two(total)+" g of this mix a day", "level metric tablespoons", "to the power 0.75", "Common practice, no source", "exotics veterinarian")
	if total < 8 || total > 24 { // 70 to 90 g of gerbil and near half a tablespoon: common practice, no source
		t.Errorf("two gerbils get %v g a day", total)
	}
	page = a.press(page, saying("Save"), map[string]string{"spoon": "own", "own": "7.5", "feedings": "3"})
	page.says("your", w.two(total/7.5)+" level spoons of yours", "for all, at each of 3 feedings", "Yours holds 7.5 g")
	if n := a.kept(g.ID).Foods[0].Times; n != 3 {
		t.Errorf("%d feedings are kept", n)
	}
	page = a.press(page, saying("Save"), map[string]string{"own": "a heap"})
	if page.status != http.StatusUnprocessableEntity {
		t.Errorf("status %d", page.status)
	}
	page.says("Write what one level spoon holds in grams")
}

// A food is added, changed and taken out; the rest of the document stays.
func TestWeekIsChanged(t *testing.T) {
	a := start(t, true)
	g := a.fed("window pair")
	before := a.kept(g.ID)
	page := a.open(feedingPath(g.ID, "week"))
	page.says("The mix", "about", "by need", "Friday is free", "the ferrywoman", "Romaine lettuce", "5 g, in a dish, Monday and Thursday")
	form := fields(page.byID("add").Parent)
	form.Set("food", "kale/fresh")
	form.Set("count", "6")
	form.Set("unit", "g")
	form.Set("day-wed", "1")
	form.Set("do", "add")
	if r := a.post(feedingPath(g.ID, "week"), form); r.status != http.StatusSeeOther {
		t.Fatalf("status %d: %s", r.status, r.start())
	}
	after := a.kept(g.ID)
	if n := len(after.Foods); n != len(before.Foods)+1 {
		t.Fatalf("%d foods", n)
	}
	last := after.Foods[len(after.Foods)-1]
	if last.Food != "kale/fresh" || last.Amount.Mass != 6*nutrient.Gram || last.Days.Count() != 1 || last.Way != ration.Dish {
		t.Errorf("kept: %+v", last)
	}
	if len(after.Weights) != len(before.Weights) || len(after.Bowls) != len(before.Bowls) {
		t.Error("records were lost")
	}
	page = a.open(feedingPath(g.ID, "week"))
	page.says("6 g, in a dish, Wednesday")
	page = a.press(page, with("value", "remove:2"), nil)
	if strings.Contains(page.text(), "Romaine lettuce: ") {
		t.Error("it is still there")
	}
	// What does not fit is not kept, and says why.
	form.Set("rev", "0")
	form.Set("count", "lots")
	r := a.post(feedingPath(g.ID, "week"), form)
	r.says("Write an amount as a number")
	if n := len(a.kept(g.ID).Foods); n != len(before.Foods) {
		t.Errorf("%d foods are kept", n)
	}
}

// Two tabs change one week: the second is told, and nothing is lost.
func TestWeekInTwoTabs(t *testing.T) {
	a := start(t, true)
	g := a.fed("window pair")
	first, second := a.open(feedingPath(g.ID, "week")), a.open(feedingPath(g.ID, "week"))
	a.press(first, with("value", "remove:4"), nil)
	n := len(a.kept(g.ID).Foods)
	r := a.press(second, with("value", "remove:3"), nil)
	if r.status != http.StatusConflict {
		t.Errorf("status %d", r.status)
	}
	r.says("Somebody changed how this group is fed")
	if len(a.kept(g.ID).Foods) != n {
		t.Error("the second tab overwrote the first")
	}
	a.press(r, with("value", "remove:3"), nil) // now on top of what is kept
	if len(a.kept(g.ID).Foods) != n-1 {
		t.Error("after looking again it could not be changed")
	}
}

// The page draws what the engine draws, and the same number draws the same.
func TestSpoonfulPage(t *testing.T) {
	a := start(t, true)
	g := a.fed("window pair")
	_, x := a.planOf(g)
	lot := serving.LotOf(x.Answer.Portions(), serving.MassOf(x.Answer.Portions()).Grams())
	path := feedingPath(g.ID, "spoonful") + "?portion=8&seed=5"
	page := a.open(path)
	drawn := lot.Draw(8, 5)
	rows := 0
	for _, d := range drawn {
		if !d.Known {
			continue
		}
		name := a.server.wordsIn("en", "").Form(d.Form)
		tr := page.find(func(n *html.Node) bool { return n.Data == "tr" && strings.Contains(textOf(n), name) })
		if tr == nil {
			t.Fatalf("no row for %s", name)
		}
		cells := []string{}
		walk(tr, func(n *html.Node) bool {
			if n.Data == "td" {
				cells = append(cells, strings.TrimSpace(textOf(n)))
			}
			return false
		})
		if want := a.server.wordsIn("en", "").Plain(float64(d.Count)); cells[2] != want {
			t.Errorf("%s: %s in this draw, drawn were %s", name, cells[2], want)
		}
		rows++
	}
	if rows < 5 {
		t.Fatalf("only %d kinds", rows)
	}
	if again := a.open(path); again.text() != page.text() {
		t.Error("the same number drew another spoonful")
	}
	next := ""
	page.find(func(n *html.Node) bool {
		if n.Data == "a" && strings.Contains(textOf(n), "Draw another") {
			next, _ = attr(n, "href")
		}
		return next != ""
	})
	if other := a.open(strings.TrimSuffix(next, "#drawn")); other.text() == page.text() || !strings.Contains(other.text(), "Draw number 6") {
		t.Error("another number drew the same spoonful")
	}
	a.open(feedingPath(g.ID, "spoonful") + "?portion=none").says("Write a number from 0.1 to")
}

func TestMixingIsChecked(t *testing.T) {
	a := start(t, true)
	g := a.fed("window pair")
	ask := func(counts string) *result {
		return a.open(feedingPath(g.ID, "spoonful") + "?" + url.Values{"marker": {"canary-seed/in-hull"}, "scoop": {"20"}, "counts": {counts}}.Encode())
	}
	ask("380 420 401 366 440 395 410 372 408 391 425 388").says("Well mixed")
	ask("180 620 401 266 540 195 410 672 208 391 725 88").says("Not well mixed")
	if r := ask("380 420 401"); strings.Contains(r.body, "heavier than") {
		t.Error("what would overturn a verdict is told where there is none")
	}
	ask("380 420 401").says("cannot tell")
	ask("380 many").says("“many” is no count or weight")
	a.open(feedingPath(g.ID, "spoonful") + "?scoop=5000&counts=3+4+5").says("at most the batch")
}

// The check under a making and that beside a spoonful say the same from the
// same numbers.
func TestMixingIsCheckedAlike(t *testing.T) {
	a := start(t, true)
	g := a.fed("window pair")
	list, err := a.store.Makings(t.Context(), store.MakingFilter{State: store.StateFinished})
	if err != nil || len(list) == 0 {
		t.Fatalf("%d makings, %v", len(list), err)
	}
	r := httptest.NewRequest(http.MethodGet, "/?marker=canary-seed/in-hull&scoop=20", nil)
	q := &request{Request: r, s: a.server, words: a.server.wordsIn("en", "")}
	x, err := a.server.weighing(t.Context(), list[0].ID)
	if err != nil {
		t.Fatal(err)
	}
	_, poured, _ := x.measured()
	for _, counts := range []string{"380 420 401 366 440 395 410", "180 620 401 266 540 195 410 672 208 391 725 88", "380, 420, 401", "0 0 0", "380 4.5 2", "1 2 1e9"} {
		get := url.Values{"marker": {"canary-seed/in-hull"}, "scoop": {"20"}, "list": {counts}, "counts": {counts}}
		q.URL.RawQuery = get.Encode()
		making := a.server.mixed(q, x, get)
		f := &feeding{s: a.server, w: q.words, Group: g, Portions: poured}
		spoon := &spoonfulView{}
		f.check(q, spoon, spoonAsk{portion: 10, batch: serving.MassOf(poured).Grams()})
		if making.List.Error != spoon.CheckWrong {
			t.Errorf("%s: %q and %q", counts, making.List.Error, spoon.CheckWrong)
		}
		if making.Can != (spoon.Check != nil) {
			t.Errorf("%s: one page answers and the other does not", counts)
			continue
		}
		if !making.Can {
			continue
		}
		type said struct {
			Sentence           string
			Facts, Found, Plan any
		}
		if diff := cmp.Diff(said{making.Sentence, making.Facts, making.Found, making.Plan}, said{spoon.Check.Sentence, spoon.Check.Facts, spoon.Check.Found, spoon.Check.Plan}); diff != "" {
			t.Errorf("%s: under the making, and beside the spoonful:\n%s", counts, diff)
		}
	}
}

// What is taken out comes back in, in another group too; what does not read
// changes nothing and says where.
func TestFeedingDocument(t *testing.T) {
	a := start(t, true)
	g := a.fed("window pair")
	r := a.get(feedingPath(g.ID, "feeding"))
	if r.status != http.StatusOK || !strings.Contains(r.body, `food = "lettuce/romaine"`) {
		t.Fatalf("status %d: %.200s", r.status, r.body)
	}
	other := a.fed("spring litter")
	text := strings.Replace(r.body, "[[food]]", "# kept with its comments\n[[food]]", 1)
	path := feedingPath(other.ID, "feeding")
	if up := a.uploadRev(path, other.Rev, text); up.status != http.StatusUnprocessableEntity {
		t.Errorf("a week with a mix was taken for a group without one: %d", up.status)
	}
	path = feedingPath(g.ID, "feeding")
	if up := a.uploadRev(path, g.Rev, text); up.status != http.StatusSeeOther {
		t.Fatalf("status %d: %s", up.status, up.start())
	}
	if back := a.get(path).body; back != text {
		t.Error("it came back otherwise")
	}
	bad := a.uploadRev(path, g.Rev+1, strings.Replace(text, "lettuce/romaine", "letuce/romaine", 1))
	if bad.status != http.StatusUnprocessableEntity {
		t.Errorf("status %d", bad.status)
	}
	bad.says("letuce/romaine")
	if a.get(path).body != text {
		t.Error("a document with a fault was kept")
	}
	if late := a.uploadRev(path, g.Rev, text); late.status != http.StatusConflict {
		t.Errorf("an old page overwrote: %d", late.status)
	}
}

func (a *app) uploadRev(path string, rev int64, text string) *result {
	a.t.Helper()
	var b strings.Builder
	w := multipart.NewWriter(&b)
	part, err := w.CreateFormFile("document", "week.toml")
	if err != nil {
		a.t.Fatal(err)
	}
	if _, err := part.Write([]byte(text)); err != nil {
		a.t.Fatal(err)
	}
	if err := w.WriteField("rev", strconv.FormatInt(rev, 10)); err != nil {
		a.t.Fatal(err)
	}
	if err := w.Close(); err != nil {
		a.t.Fatal(err)
	}
	r, err := http.NewRequest("POST", a.base+path, strings.NewReader(b.String()))
	if err != nil {
		a.t.Fatal(err)
	}
	r.Header.Set("Content-Type", w.FormDataContentType())
	return a.do(r)
}

func TestSheetsAndCalendar(t *testing.T) {
	a := start(t, true)
	g := a.fed("window pair")
	a.open(feedingPath(g.ID, "week/fridge")).says("Feeding The window pair", "Whin, 83 g", "Timothy hay, cut: always there", "in 2 feedings of", "08:00 and 19:00", "No mix on this day")
	a.open(feedingPath(g.ID, "week/sitter")).says("the ferrywoman", "The key hangs in the porch", "needs a veterinarian today")
	a.open(feedingPath(g.ID, "week/shopping")).says("4 weeks", "Romaine lettuce: 40 g", "From the foods of the week: what is on hand")
	if r := a.get(feedingPath(g.ID, "week/receipt")); r.status != http.StatusBadRequest {
		t.Errorf("status %d", r.status)
	}
	r := a.get(feedingPath(g.ID, "week.ics"))
	if got := r.header.Get("Content-Type"); !strings.HasPrefix(got, "text/calendar") {
		t.Errorf("type %s", got)
	}
	for _, want := range []string{"BEGIN:VCALENDAR\r\n", "RRULE:FREQ=WEEKLY", "Romaine lettuce", "END:VCALENDAR"} {
		if !strings.Contains(r.body, want) {
			t.Errorf("the calendar has no %q", want)
		}
	}
	a.open(feedingPath(g.ID, "week") + "?from=2026-05-20").says("away: the ferrywoman")
	a.lang = "es"
	if r := a.get(feedingPath(g.ID, "week.ics")); !strings.Contains(r.body, "por el lecho") {
		t.Error("the calendar is not in Spanish")
	}
}

// What the shelf of the mix holds is not bought again: its stock, packs and
// prices are used for what the mix is made of and for the week's foods, and the
// page says so. What the week itself says comes first.
func TestShoppingUsesTheShelf(t *testing.T) {
	a := start(t, true)
	g := a.fed("window pair")
	list, err := a.store.Mixes(t.Context(), store.Filter{Group: g.ID, Most: 1})
	if err != nil || len(list) == 0 {
		t.Fatal(err)
	}
	sh, err := a.store.Shelf(t.Context(), list[0].Shelf)
	if err != nil {
		t.Fatal(err)
	}
	at := feedingPath(g.ID, "week/shopping")
	a.open(at).says("For the mix: ", "From the shelf “Skerra: merchant and health shop (invented)”: the price")
	much, pack, cost := int64(5_000_000), int64(400_000), 1.25
	for _, ref := range []string{"oats/groats", "dandelion/leaf-dried", "lettuce/romaine"} {
		it := store.Item{Ref: ref, CanHave: true, OnHand: &much}
		if ref == "lettuce/romaine" {
			it.OnHand, it.PackMg, it.PackCost = nil, &pack, &cost
		}
		sh.Items = append(slices.DeleteFunc(sh.Items, func(x store.Item) bool { return x.Ref == ref }), it)
	}
	if _, err := a.store.SaveShelf(t.Context(), sh); err != nil {
		t.Fatal(err)
	}
	page := a.open(at)
	page.says("Oat groats: nothing to buy", "on hand 5.00 kg", "Romaine lettuce: one pack of 400 g 1.25", ": the pack and the price.",
		"on hand 40 g. For the mix: ", "From the foods of the week: what is on hand.")
	a.lang = "es"
	a.open(at).says("Para la mezcla: ", "Del estante «Skerra: merchant and health shop (invented)»: ")
}

// A group that was never fed has pages of its own accord.
func TestFreshGroup(t *testing.T) {
	a := start(t, false)
	g, err := a.store.SaveGroup(t.Context(), store.Group{Name: "new", Species: "gerbil", Stage: "adult", Animals: 3})
	if err != nil {
		t.Fatal(err)
	}
	for _, p := range []string{"portion", "week", "diet", "weights", "bowl", "spoonful", "week/fridge", "week/sitter", "week/shopping"} {
		a.open(feedingPath(g.ID, p))
	}
	page := a.open(feedingPath(g.ID, "weights"))
	page.says("Animal 1", "Animal 3", "adult, as you chose")
	a.press(page, saying("Write down"), map[string]string{"weight": "70"})
	if d := a.kept(g.ID); len(d.Animals) != 3 || len(d.Weights) != 1 {
		t.Errorf("kept: %+v", d)
	}
	a.open(feedingPath(g.ID, "portion")).says("This group has no mix yet")
}

// Hostile names, notes and addresses are text on every page, and in a calendar.
func TestHostileFeedingIsText(t *testing.T) {
	a := start(t, true)
	g := a.fed("window pair")
	d := a.kept(g.ID)
	name := strings.ReplaceAll(hostile, "\u202e", "")
	d.Animals[0].Name, d.Animals[0].Note, d.Note, d.Title = name, name, name, name
	for i := range d.Weights {
		if d.Weights[i].Animal == "Whin" {
			d.Weights[i].Animal = name
		}
	}
	d.Away[0].Who, d.Away[0].Note, d.Foods[0].Note, d.Bowls[0].Note = name, name, name, name
	d.Change = &ration.Change{Mix: name, From: ration.DayOf(someDay), Days: 10}
	d.Sightings = append(d.Sightings, ration.Sighting{Day: ration.DayOf(someDay), Animal: name, What: ration.Blood, Note: name})
	g.Feeding = string(rationfiles.Format(d))
	g, err := a.store.SaveGroup(t.Context(), g)
	if err != nil {
		t.Fatal(err)
	}
	for _, lang := range languages {
		a.lang = lang
		for _, path := range append(feedingPages(g), feedingPath(g.ID, "spoonful")+"?counts=%3Cscript%3E&portion=%22%3E%3Cb%3E&marker=%3Ci%3E") {
			p := a.open(path)
			checkMarkup(t, lang+" "+path, p)
			if x := p.find(func(n *html.Node) bool {
				class, _ := attr(n, "class")
				_, src := attr(n, "src")
				return n.Data == "img" && class != "portrait" || n.Data == "script" && !src
			}); x != nil {
				t.Errorf("%s: a hostile word became markup", path)
			}
		}
	}
	if ics := a.get(feedingPath(g.ID, "week.ics")).body; strings.Contains(ics, "\r\n<script") {
		t.Error("the calendar was broken open")
	}
}

// What the records say is said with the reader's names of foods.
func TestPickyEatingIsNamedInSpanish(t *testing.T) {
	a := start(t, true)
	a.lang = "es"
	page := a.open(feedingPath(a.fed("window pair").ID, "bowl"))
	page.says("Escogen en la mezcla", a.server.wordsIn("es", "").Form(a.server.Catalogue.Form("buckwheat/in-hull")))
	if strings.Contains(page.text(), "buckwheat") {
		t.Error("a food has its English name")
	}
}
