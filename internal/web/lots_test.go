package web

import (
	"encoding/csv"
	"net/http"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
	"golang.org/x/net/html"

	"firlot/internal/store"
)

func TestABagIsFoundAgain(t *testing.T) {
	a := start(t, true)
	p := a.open("/making/new?mix=" + strings.TrimPrefix(a.demoMix("adult gerbils"), "/mix/"))
	p = a.press(p, with("value", "start"), map[string]string{"code.oats/groats": "BAG 99", "caption.wheat/whole": "sack in the porch", "before.oats/groats": "2026-06-30"})
	at := where(p)
	for p.byID("poured") != nil {
		p = a.press(p, with("id", "poured"), nil)
	}
	if got, _ := attr(p.byID("best_before"), "value"); got != "2026-06-30" {
		t.Errorf("the best-before is %q, not that of the bag", got)
	}
	p = a.press(p, with("value", "finish"), nil)
	p.says("BAG 99", "sack in the porch")
	lots, err := a.store.Lots(t.Context(), store.LotFilter{Code: "BAG 99"})
	if err != nil || len(lots) != 1 {
		t.Fatalf("%d lots, %v", len(lots), err)
	}
	recall := a.open(lotPath(lots[0].ID))
	recall.says("It went into one batch", "208 g of it", "sack in the porch")
	if recall.find(func(n *html.Node) bool { h, _ := attr(n, "href"); return h == at }) == nil {
		t.Error("there is no way from the bag to its batch")
	}
}

// What is typed for a bag is kept or said to be wrong: a day alone makes a bag,
// what is no day is shown beside its field.
func TestABagsDay(t *testing.T) {
	a := start(t, true)
	to := "/making/new?mix=" + strings.TrimPrefix(a.demoMix("adult gerbils"), "/mix/")
	p := a.press(a.open(to), with("value", "start"), map[string]string{"code.wheat/whole": "BAG 7", "before.wheat/whole": "30 June"})
	if p.status != http.StatusUnprocessableEntity {
		t.Fatalf("status %d", p.status)
	}
	if v, _ := attr(p.byID("before.wheat/whole"), "value"); v != "30 June" {
		t.Errorf("what was typed is gone: %q", v)
	}
	if _, open := attr(p.byID("bag-wheat/whole"), "open"); !open {
		t.Error("the field with the mistake is folded up")
	}
	p = a.press(p, with("value", "start"), map[string]string{"code.wheat/whole": "", "before.wheat/whole": "2026-06-30"})
	if p.status != http.StatusOK {
		t.Fatalf("status %d: %s", p.status, p.start())
	}
	lots, err := a.store.Lots(t.Context(), store.LotFilter{Ref: "wheat/whole"})
	if err != nil || len(lots) != 1 || lots[0].BestBefore != "2026-06-30" {
		t.Fatalf("%+v, %v", lots, err)
	}
	// What is told of a bag that is known by its code is added to it.
	_, err = a.store.SaveLot(t.Context(), store.Lot{Ref: "oats/groats", Code: "BAG 8", From: "the merchant (invented)"})
	a.must(err)
	for range 2 {
		a.press(a.open(to), with("value", "start"), map[string]string{"code.oats/groats": "BAG 8", "before.oats/groats": "2026-07-31", "caption.oats/groats": "by the window"})
	}
	lots, err = a.store.Lots(t.Context(), store.LotFilter{Ref: "oats/groats", Code: "BAG 8"})
	if err != nil || len(lots) != 1 || lots[0].BestBefore != "2026-07-31" || lots[0].Note != "by the window" || lots[0].From == "" {
		t.Fatalf("%+v, %v", lots, err)
	}
}

// A bag that was deleted since the page was drawn keeps no pour from being
// kept, and none from beginning.
func TestABagIsDeletedMeanwhile(t *testing.T) {
	a := start(t, true)
	to := "/making/new?mix=" + strings.TrimPrefix(a.demoMix("adult gerbils"), "/mix/")
	l, err := a.store.SaveLot(t.Context(), store.Lot{Ref: "proso-millet/in-hull", Code: "GONE 1"})
	a.must(err)
	form := a.open(to)
	p := a.press(form, with("value", "start"), map[string]string{"lot.proso-millet/in-hull": string(l.ID)})
	a.must(a.store.DeleteLot(t.Context(), l.ID, l.Rev))
	at := where(p)
	p = a.press(p, with("id", "poured"), nil)
	if s := a.state(at); s.Poured != 220_000 {
		t.Errorf("%d mg are in the bowl: %s", s.Poured, p.start())
	}
	p = a.press(form, with("value", "start"), map[string]string{"lot.proso-millet/in-hull": string(l.ID), "key": "another"})
	if p = a.press(p, with("id", "poured"), nil); a.state(where(p)).Poured != 220_000 {
		t.Errorf("%s", p.start())
	}
}

// The table names what the page names, in its language and its numbers, and
// keeps a spreadsheet from taking words for a formula.
func TestEveryPourInOneTable(t *testing.T) {
	a := start(t, true)
	p := begin(a, map[string]string{"code.oats/groats": "=1+1", "who": "Ana"})
	at := where(p)
	a.ask(at, map[string]string{"key": "k1", "kind": "pour", "ref": "proso-millet/in-hull", "mg": "220500"})
	a.ask(at, map[string]string{"key": "k2", "kind": "pour", "ref": "proso-millet/in-hull", "mg": "1000"})
	a.ask(at, map[string]string{"key": "k3", "kind": "take-back", "of": "k2"})
	lots, err := a.store.Lots(t.Context(), store.LotFilter{Code: "=1+1"})
	if err != nil || len(lots) != 1 {
		t.Fatalf("%d lots, %v", len(lots), err)
	}
	a.ask(at, map[string]string{"key": "k4", "kind": "pour", "ref": "oats/groats", "mg": "1500", "lot": string(lots[0].ID)})
	for _, c := range []struct {
		lang               string
		comma              rune
		millet, half, oats string
	}{{"en", ',', "proso millet in hull", "220.5", "1.5"}, {"es", ';', "mijo con cáscara", "220,5", "1,5"}} {
		a.lang = c.lang
		answer := a.get("/making/export?state=open")
		if kind, to := answer.header.Get("Content-Type"), answer.header.Get("Content-Disposition"); kind != "text/csv; charset=utf-8" || !strings.Contains(to, "firlot-makings.csv") {
			t.Errorf("%s: %q, %q", c.lang, kind, to)
		}
		text, marked := strings.CutPrefix(answer.body, "\ufeff")
		if !marked {
			t.Errorf("%s: no byte order mark", c.lang)
		}
		r := csv.NewReader(strings.NewReader(text))
		r.Comma = c.comma
		rows, err := r.ReadAll()
		if err != nil {
			t.Fatal(err)
		}
		column := map[string]int{}
		for i, name := range rows[0] {
			column[name] = i
		}
		var got []string
		for _, row := range rows[1:] {
			if at == "/making/"+row[column["making"]] && row[column["at"]] != "" {
				got = append(got, row[column["form"]]+"|"+row[column["ingredient_lot"]]+"|"+row[column["poured_g"]]+"|"+row[column["taken_back_g"]]+"|"+row[column["made_by"]])
			}
		}
		oats := a.server.Catalogue.Form("oats/groats").Name(c.lang)
		want := []string{c.millet + "||" + c.half + "||Ana", c.millet + "|||1|Ana", oats + "|'=1+1|" + c.oats + "||Ana"}
		if diff := cmp.Diff(want, got); diff != "" {
			t.Errorf("%s:\n%s", c.lang, diff)
		}
	}
	if text := a.get("/making/export?q=nothing-is-called-this").body; strings.Count(text, "\n") != 1 {
		t.Errorf("the list is empty, the table is not: %q", text)
	}
}

func TestTheShelfGoesDownAndSaysSo(t *testing.T) {
	a := start(t, true)
	m, err := a.store.Mixes(t.Context(), store.Filter{Text: "adult gerbils"})
	if err != nil {
		t.Fatal(err)
	}
	sh, err := a.store.Shelf(t.Context(), m[0].Shelf)
	if err != nil {
		t.Fatal(err)
	}
	for i := range sh.Items {
		if n := int64(196_000); sh.Items[i].Ref == "oats/groats" {
			sh.Items[i].OnHand = &n
		}
	}
	if _, err := a.store.SaveShelf(t.Context(), sh); err != nil {
		t.Fatal(err)
	}
	to := "/making/new?mix=" + string(m[0].ID)
	a.open(to).says("short by 12 g")
	p := a.press(a.open(to), with("value", "start"), nil)
	p = a.press(p, with("id", "poured"), nil)
	p = a.press(p, with("id", "poured"), nil)
	p.says("12 g more than the shelf had by its count")
	a.open(shelfPath(sh.ID)).says("short by 12 g")
	a.press(p, saying("take back the last pour"), nil)
	sh, err = a.store.Shelf(t.Context(), sh.ID)
	if err != nil {
		t.Fatal(err)
	}
	for _, it := range sh.Items {
		if it.Ref == "oats/groats" && *it.OnHand != 196_000 {
			t.Errorf("after the take-back %d mg are on hand", *it.OnHand)
		}
	}
}

// A jar that is empty although the shelf's count had more: the count goes to
// nothing, the page says so, and both come back when the jar was not empty.
func TestAnEmptyJarAndTheShelfsCount(t *testing.T) {
	a := start(t, true)
	m, err := a.store.Mixes(t.Context(), store.Filter{Text: "adult gerbils"})
	a.must(err)
	sh, err := a.store.Shelf(t.Context(), m[0].Shelf)
	a.must(err)
	for i := range sh.Items {
		if n := int64(300_000); sh.Items[i].Ref == "oats/groats" {
			sh.Items[i].OnHand = &n
		}
	}
	_, err = a.store.SaveShelf(t.Context(), sh)
	a.must(err)
	counts := func(want int64) {
		t.Helper()
		sh, err := a.store.Shelf(t.Context(), sh.ID)
		a.must(err)
		for _, it := range sh.Items {
			if it.Ref == "oats/groats" && *it.OnHand != want {
				t.Errorf("%d mg are on hand, want %d", *it.OnHand, want)
			}
		}
	}
	p := begin(a, nil)
	at := where(p)
	p = a.press(p, with("id", "poured"), nil)
	p = a.pressIn(p, "empty", map[string]string{"mass": "40"})
	p.says("The jar of oat groats is empty; 168 g of it are missing", "By its count the shelf still had 260 g of it; the count is nothing now")
	counts(0)
	a.open("/making/new?mix=" + string(m[0].ID)).says("short by 208 g")
	a.press(a.open(at), saying("take back the last pour"), nil)
	counts(260_000)
	if strings.Contains(a.open(at+"/rescue").text(), "By its count") {
		t.Error("the count is said to be gone although it came back")
	}
	p = a.press(a.open(at), saying("take back the last pour"), nil)
	counts(300_000)
	p = a.pressIn(p, "empty", map[string]string{"mass": ""})
	p.says("208 g of it are missing", "the shelf still had 300 g")
	counts(0)
	a.press(a.open(at+"/finish"), with("value", "leave"), nil).says("the jar of oat groats was not empty", "the jar of oat groats is empty; by its count the shelf still had 300 g of it")
}

func TestTheCodeOnTheJarIsReadBack(t *testing.T) {
	a := start(t, true)
	list, err := a.store.Makings(t.Context(), store.MakingFilter{State: store.StateFinished})
	if err != nil || len(list) == 0 {
		t.Fatalf("%d makings, %v", len(list), err)
	}
	p := a.open(makingPath(list[0].ID) + "/label")
	from := strings.Index(p.body, `<svg xmlns="http://www.w3.org/2000/svg" class="qr"`)
	svg := p.body[from : from+strings.Index(p.body[from:], "</svg>")+len("</svg>")]
	got, err := readQR(svg)
	if err != nil {
		t.Fatal(err)
	}
	for _, want := range []string{"SKERRA-1", list[0].MixName, "mixed on 2026-05-17", "best before 2026-08-17"} {
		if !strings.Contains(got, want) {
			t.Errorf("the code says %q, without %q", got, want)
		}
	}
	if text := strings.ToLower(p.text()); strings.Contains(text, "complete") {
		t.Error("the label promises too much")
	}
	p.says("Mongolian gerbil", "Batch lot", "veterinarian")
}

// A batch is found by its code however it is typed; the code that is proposed
// is free.
func TestABatchIsFoundByItsCode(t *testing.T) {
	a := start(t, true)
	for _, want := range []string{"260517-01-", "260517-02-"} {
		p := begin(a, nil)
		for p.byID("poured") != nil {
			p = a.press(p, with("id", "poured"), nil)
		}
		code, _ := attr(p.byID("lot"), "value")
		if !strings.HasPrefix(code, want) {
			t.Fatalf("the code is %q", code)
		}
		a.press(p, with("value", "finish"), nil).says("Batch " + code)
		a.open("/making?q=" + strings.ReplaceAll(code, "-", "")).says("Batch " + code)
	}
}

func TestTheMixingCheck(t *testing.T) {
	a := start(t, true)
	list, err := a.store.Makings(t.Context(), store.MakingFilter{State: store.StateFinished})
	if err != nil || len(list) == 0 {
		t.Fatal(err)
	}
	at := makingPath(list[0].ID) + "/mixed"
	a.open(at).says("By chance alone, scoops of 15")
	p := a.open(at + "?marker=wheat%2Fwhole&scoop=15&list=2+44+3+51+0+60+1+48")
	p.says("Not well mixed")
	a.press(p, saying("Keep this in the note"), nil).says("Not well mixed", "2 44 3 51")
	a.open(at + "?list=12+x").says("no count or weight")
	a.open(at + "?list=12").says("It takes 3 scoops at least")
}
