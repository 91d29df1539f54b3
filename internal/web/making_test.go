package web

import (
	"encoding/json"
	"net/http"
	"net/url"
	"strconv"
	"strings"
	"testing"

	"golang.org/x/net/html"

	"firlot/internal/store"
)

// scalePages lists a path for each page at the scale of an app with the
// invented rescue.
func scalePages(a *app) []string {
	a.t.Helper()
	paths := []string{"/making", "/making?q=gerbils&state=finished", "/making/new", "/lots", "/lots?gone=1&q=nothing-is-called-this", "/screen", "/screen?at=120"}
	mixes, err := a.store.Mixes(a.t.Context(), store.Filter{})
	if err != nil {
		a.t.Fatal(err)
	}
	for _, m := range mixes {
		paths = append(paths, "/making/new?mix="+string(m.ID))
	}
	list, err := a.store.Makings(a.t.Context(), store.MakingFilter{})
	if err != nil {
		a.t.Fatal(err)
	}
	for _, m := range list {
		at := makingPath(m.ID)
		paths = append(paths, at)
		if m.State == store.StateOpen {
			paths = append(paths, at+"/rescue", at+"/finish")
		} else {
			paths = append(paths, at+"/label", at+"/label?paper=sheet", at+"/mixed", at+"/mixed?list=12+9+14+11+10+13")
		}
	}
	lots, err := a.store.Lots(a.t.Context(), store.LotFilter{})
	if err != nil {
		a.t.Fatal(err)
	}
	for _, l := range lots {
		paths = append(paths, lotPath(l.ID))
	}
	return paths
}

// begin starts a making of the invented mix for adult gerbils by its pages.
func begin(a *app, typed map[string]string) *result {
	a.t.Helper()
	p := a.open(a.demoMix("adult gerbils"))
	to, _ := attr(p.byID("toscale"), "href")
	return a.press(a.open(to), with("value", "start"), typed)
}

// ask sends an event as a script does.
func (a *app) ask(at string, event map[string]string) (int, *stateView) {
	a.t.Helper()
	v := url.Values{}
	for k, x := range event {
		v.Set(k, x)
	}
	r, err := http.NewRequest("POST", a.base+at+"/event", strings.NewReader(v.Encode()))
	if err != nil {
		a.t.Fatal(err)
	}
	r.Header.Set("Content-Type", "application/x-www-form-urlencoded")
	r.Header.Set("Accept", "application/json")
	p := a.do(r)
	s := &stateView{}
	if err := json.Unmarshal([]byte(p.body), s); err != nil {
		a.t.Fatalf("%s: %v", p.body, err)
	}
	return p.status, s
}

func (a *app) state(at string) *stateView {
	a.t.Helper()
	s := &stateView{}
	if err := json.Unmarshal([]byte(a.get(at+"/state").body), s); err != nil {
		a.t.Fatal(err)
	}
	return s
}

func where(p *result) string { return strings.Split(p.path, "#")[0] }

// grow is the line that has the turn.
func grow(p *result) (ref, grams string) {
	li := p.byID("now")
	if li == nil || li.Data != "li" {
		return "", ""
	}
	ref, _ = attr(li, "data-ref")
	return ref, textOf(p.byID("grams"))
}

func TestAMakingByForms(t *testing.T) {
	a := start(t, true)
	p := begin(a, map[string]string{"who": "Runa (invented)", "ceiling": "500 g"})
	at := where(p)
	p.says("0 g in the bowl", "proso millet in hull")
	if ref, grams := grow(p); ref != "proso-millet/in-hull" || grams != "220" {
		t.Fatalf("the first line is %s, %s g", ref, grams)
	}
	p = a.press(p, with("id", "poured"), nil)
	if ref, grams := grow(p); ref != "oats/groats" || grams != "208" {
		t.Fatalf("the second line is %s, %s g", ref, grams)
	}
	// The scale shows what is in the bowl, since it was not zeroed.
	if got := strings.Join(strings.Fields(textOf(p.find(with("class", "tare")))), " "); got != "not zeroed: from 220 to 428 g" {
		t.Errorf("the running tare is %q", got)
	}
	p = a.press(p, saying("take back the last pour"), nil)
	if ref, _ := grow(p); ref != "proso-millet/in-hull" {
		t.Fatalf("after the take-back the line is %s", ref)
	}
	p = a.press(p, with("id", "poured"), nil)
	p = a.press(p, with("id", "poured"), nil)
	// The next one would be more than the scale bears.
	p.says("First tip the bowl out into the tub")
	p = a.press(p, saying("keep the note"), map[string]string{"note": "the bell rang"})
	p.says("the bell rang")
	for range 20 {
		if p.byID("poured") == nil {
			break
		}
		p = a.press(p, with("id", "poured"), nil)
	}
	p.says("1,000 g poured, inside its 3 windows")
	p = a.press(p, with("value", "finish"), map[string]string{"lot": "HARBOUR 7"})
	if where(p) != at {
		t.Fatalf("the finished making is at %s", p.path)
	}
	p.says("Batch HARBOUR 7", "finished", "Runa (invented)", "the last pour taken back", "1,000 g planned, 1,000 g poured")
	a.open("/making?q=harbour").says("Batch HARBOUR 7")
	if a.state(at).State != store.StateFinished {
		t.Error("the state does not say that it is finished")
	}
	if status, _ := a.ask(at, map[string]string{"key": "late", "kind": "pour", "ref": "oats/groats", "mg": "1000"}); status != http.StatusGone {
		t.Errorf("a pour into a finished making: status %d", status)
	}
}

func TestASlipIsRescued(t *testing.T) {
	a := start(t, true)
	p := begin(a, nil)
	at := where(p)
	p = a.press(p, with("id", "poured"), nil)
	// 130 g too much: as planned it would not be inside as surely as asked.
	p = a.pressIn(p, "different", map[string]string{"mass": "338"})
	p.says("130 g too much of oat groats are in the bowl.", "Pour it like this")
	before := a.state(at)
	if !before.Off {
		t.Error("the state does not say that the bowl is off")
	}
	p = a.press(p, with("value", wayRescue), nil)
	s := a.state(at)
	if s.Off || s.Replans != 1 || len(s.Steps) == 0 {
		t.Fatalf("after the rescue: %+v", s)
	}
	if s.Poured != before.Poured {
		t.Errorf("the rescue changed what is in the bowl from %d to %d mg", before.Poured, s.Poured)
	}
	for p.byID("poured") != nil {
		p = a.press(p, with("id", "poured"), nil)
	}
	p.says("inside its 3 windows")
}

// pressIn sends the form within an unfolded part of the page.
func (a *app) pressIn(p *result, id string, typed map[string]string) *result {
	a.t.Helper()
	within := func(n *html.Node) bool {
		for x := n; x != nil; x = x.Parent {
			if v, _ := attr(x, "id"); v == id {
				return true
			}
		}
		return false
	}
	return a.press(p, within, typed)
}

func TestAnEmptyJarIsRescued(t *testing.T) {
	a := start(t, true)
	p := begin(a, nil)
	at := where(p)
	for range 3 {
		p = a.press(p, with("id", "poured"), nil)
	}
	ref, _ := grow(p)
	p = a.pressIn(p, "empty", map[string]string{"mass": "40"})
	p.says("is empty")
	s := a.state(at)
	for _, l := range s.Lines {
		if l.Ref == ref && (l.Poured != 40_000 || !l.Empty) {
			t.Errorf("the line of the empty jar: %+v", l)
		}
	}
	// It can be taken back whole: the jar was not empty after all.
	back := a.press(a.open(at), saying("take back the last pour"), nil)
	if s := a.state(at); s.Off {
		t.Errorf("the jar stays empty after its take-back: %s", back.start())
	}
	p = a.pressIn(a.open(at), "empty", map[string]string{"mass": "40"})
	a.press(p, with("value", wayRescue), nil)
	s = a.state(at)
	if s.Off {
		t.Error("the bowl is still off")
	}
	for _, n := range s.Steps {
		if n.Ref == ref {
			t.Errorf("the rescue pours %d mg from an empty jar", n.Mg)
		}
	}
}

func TestTheWrongJar(t *testing.T) {
	a := start(t, true)
	p := begin(a, nil)
	at := where(p)
	p = a.press(p, with("id", "poured"), nil)
	p = a.pressIn(p, "wrong", map[string]string{"ref": "hemp/whole", "mass": "15"})
	p.says("15 g of", "which was not planned")
	p = a.press(p, with("class", "press1 main"), nil)
	s := a.state(at)
	if s.Off {
		t.Error("the bowl is still off")
	}
	found := false
	for _, l := range s.Lines {
		found = found || l.Ref == "hemp/whole" && l.Poured == 15_000
	}
	if !found {
		t.Errorf("the wrong jar is not among the lines: %+v", s.Lines)
	}
	p.says("hemp")
}

func TestHowAmountsAreRead(t *testing.T) {
	a := start(t, true)
	at := where(begin(a, nil))
	for i, c := range []struct {
		how, mass, before string
		status            int
		poured            int64
	}{
		{"poured", "12.5", "0", 200, 12_500}, {"poured", "12,5 g", "0", 200, 25_000}, {"shown", "30", "25000", 200, 30_000},
		{"shown", "20", "25000", 422, 30_000}, {"poured", "", "0", 422, 30_000}, {"poured", "0", "0", 422, 30_000}, {"poured", "-3", "0", 422, 30_000}, {"poured", "lots", "0", 422, 30_000},
	} {
		status, _ := a.ask(at, map[string]string{"key": "m" + strconv.Itoa(i), "kind": "pour", "ref": "proso-millet/in-hull", "mass": c.mass, "how": c.how, "before_mg": c.before})
		if status != c.status {
			t.Errorf("%+v: status %d", c, status)
		}
		if s := a.state(at); s.Poured != c.poured {
			t.Errorf("%+v: %d mg in the bowl", c, s.Poured)
		}
	}
}

func TestTheOrderAndTheScale(t *testing.T) {
	a := start(t, true)
	to := "/making/new?mix=" + strings.TrimPrefix(a.demoMix("adult gerbils"), "/mix/")
	p := a.open(to)
	p = a.press(p, with("value", "down:proso-millet/in-hull"), nil)
	p = a.press(p, with("value", "start"), map[string]string{"bowls": "2", "fine_step": "0.1 g", "step": "1 g"})
	s := a.state(where(p))
	if s.Steps[0].Ref != "oats/groats" || s.Steps[0].Bowl != 1 || s.Steps[1].Ref != "oats/groats" || s.Steps[1].Bowl != 2 {
		t.Errorf("the first steps are %+v", s.Steps[:2])
	}
	p.says("Bowl 1 of 2.")
	fine := 0
	var sum int64
	for _, n := range s.Steps {
		sum += n.Mg
		if n.Fine {
			fine++
		}
	}
	if fine == 0 || sum != 1_000_000 {
		t.Errorf("%d pours on the fine scale, %d mg in all", fine, sum)
	}
	// Another batch on a coarser scale is worked out anew.
	p = a.press(a.open(to), with("value", "look"), map[string]string{"batch": "2 kg", "step": "5 g"})
	p.says("worked out anew", "2,000 g")
	bad := a.press(a.open(to), with("value", "start"), map[string]string{"batch": "none"})
	if bad.status != http.StatusUnprocessableEntity {
		t.Errorf("a batch of nothing: status %d", bad.status)
	}
}

func TestTheScreensSizeIsKept(t *testing.T) {
	a := start(t, true)
	p := a.post("/screen", url.Values{"percent": {"104.5"}, "back": {"/making/abc"}})
	if p.status != http.StatusSeeOther || p.header.Get("Location") != "/making/abc" {
		t.Fatalf("status %d, to %s", p.status, p.header.Get("Location"))
	}
	if c := p.header.Get("Set-Cookie"); !strings.Contains(c, screenCookie+"=1.0450") || !strings.Contains(c, "SameSite=Strict") {
		t.Errorf("the cookie is %q", c)
	}
	for _, bad := range []string{"https://elsewhere.example/", "//elsewhere.example", "/making/../settings?x", "/settings"} {
		if got := localPath(bad); got != "/making" {
			t.Errorf("%q leads to %q", bad, got)
		}
	}
	if p := a.post("/screen", url.Values{"percent": {"9000"}}); p.status != http.StatusBadRequest {
		t.Errorf("status %d", p.status)
	}
	svg := a.get("/life/oats/groats?s=2").body
	if svg == a.get("/life/oats/groats?s=1").body || !strings.HasPrefix(svg, "<svg") {
		t.Error("the calibration does not change the picture")
	}
}

// An own food goes by its id on the shelf and by its form in the bowl; its
// count goes down all the same.
func TestAnOwnFoodIsPoured(t *testing.T) {
	a := start(t, true)
	own := "[[own]]\nid = \"own-crumbs\"\nname = \"harbour crumbs (invented)\"\nkind = \"label\"\nsource = \"the bag (invented)\"\n[own.figures]\ncrude_protein = 14.0\ncrude_fat = 6.0\ncrude_fibre = 8.0\nmoisture = 10.0\n"
	had := int64(500_000)
	sh, err := a.store.SaveShelf(t.Context(), store.Shelf{Name: "Own (invented)", Own: own, Items: []store.Item{{Ref: "own-crumbs", CanHave: true, OnHand: &had}}})
	if err != nil {
		t.Fatal(err)
	}
	doc := "title = \"Crumbs (invented)\"\nspecies = \"gerbil\"\nstage = \"adult\"\nbatch = \"100 g\"\nstep = \"1 g\"\n[[line]]\ningredient = \"own-crumbs\"\n" + own
	m, err := a.store.SaveMix(t.Context(), store.Mix{Name: "Crumbs (invented)", Shelf: sh.ID, Document: doc})
	if err != nil {
		t.Fatal(err)
	}
	p := a.press(a.open("/making/new?mix="+string(m.ID)), with("value", "start"), nil)
	p.says("harbour crumbs")
	p = a.press(p, with("id", "poured"), nil)
	p.says("100 g poured")
	if sh, err = a.store.Shelf(t.Context(), sh.ID); err != nil || *sh.Items[0].OnHand != 400_000 {
		t.Errorf("%d mg are on hand, %v", *sh.Items[0].OnHand, err)
	}
}

// A making in which nothing was poured can be removed; one that was begun can
// be given up, and opened again.
func TestAMakingIsGivenUp(t *testing.T) {
	a := start(t, true)
	at := where(begin(a, nil))
	a.press(a.open(at+"/finish"), saying("Remove this making"), nil)
	if p := a.get(at); p.status != http.StatusNotFound {
		t.Errorf("the removed making: status %d", p.status)
	}
	p := begin(a, nil)
	at = where(p)
	a.press(p, with("id", "poured"), nil)
	p = a.press(a.open(at+"/finish"), saying("Give this making up"), nil)
	p.says("given up", "220 g")
	p = a.press(p, saying("Open it again"), nil)
	if ref, _ := grow(p); ref != "oats/groats" {
		t.Errorf("the line that has the turn is %q: %s", ref, p.start())
	}
}
