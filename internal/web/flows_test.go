package web

import (
	"net/http"
	"net/url"
	"strconv"
	"strings"
	"testing"

	"firlot/internal/store"
	mixfiles "firlot/mix/files"

	"golang.org/x/net/html"
)

type node = *html.Node

// under reports whether a node stands in the one with an id.
func under(n node, id string) bool {
	for ; n != nil; n = n.Parent {
		if v, _ := attr(n, "id"); v == id {
			return true
		}
	}
	return false
}

// The flows below use only what a browser without scripts does.

func TestAnimals(t *testing.T) {
	a := start(t, false)
	p := a.press(a.open("/animals/new"), saying("Save"), map[string]string{"name": "Pip and Squeak", "animals": "2"})
	p.says("Pip and Squeak", "crude protein", "13 to 16 %", "Sources disagree")

	p = a.press(p, saying("Save"), map[string]string{"stage": "", "born": "2026-03-08"}) // 70 days before the clock's day
	p.says("70 days old on 2026-05-17", "growing")
	if p = a.press(p, saying("Save"), map[string]string{"stage": "", "born": "2026-05-18"}); p.status != http.StatusUnprocessableEntity {
		t.Fatalf("born tomorrow: status %d", p.status)
	}
	p.says("Write a day that has been")
	if got := fields(p.find(func(n node) bool { return n.Data == "form" })).Get("born"); got != "2026-05-18" {
		t.Errorf("the day typed was lost: %q", got)
	}
}

func TestWindowsAreChangedChosenAndReset(t *testing.T) {
	a := start(t, false)
	p := a.press(a.open("/animals/new"), saying("Save"), map[string]string{"name": "Pip"})
	inProtein := func(match func(node) bool) func(node) bool {
		return func(n node) bool { return match(n) && under(n, "w-crude_protein") }
	}
	p = a.press(p, inProtein(saying("Set my own")), map[string]string{"min": "17", "max": "12"})
	p.says("The least is above the most.")
	p = a.press(p, inProtein(saying("Set my own")), map[string]string{"min": "12.5", "max": "17"})
	p.says("12.5 to 17 %", "changed by you")
	p = a.press(p, inProtein(saying("Back to the usual one")), nil)
	if strings.Contains(p.text(), "changed by you") {
		t.Fatal("still changed after the reset")
	}
	p = a.press(p, inProtein(saying("Use 12 to 15 %")), nil)
	p.says("12 to 15 %", "changed by you")
	p = a.press(p, inProtein(saying("Back to the usual one")), nil)
	p = a.press(p, inProtein(saying("Do without it")), nil)
	p.says("not asked for")
	g, err := a.store.Groups(t.Context())
	if err != nil || !strings.Contains(g[0].Windows, "off = true") {
		t.Fatalf("kept as %q, %v", g[0].Windows, err)
	}
}

func TestShelf(t *testing.T) {
	a := start(t, false)
	p := a.press(a.open("/shelf"), saying("New shelf"), map[string]string{"name": "Kitchen"})
	p.says("This shelf is empty")
	at := p.path
	p = a.open(at + "?q=alpiste")
	p.says("canary seed", "found as alpiste")
	p = a.press(p, with("aria-label", "Add canary seed in hull"), nil)
	p.says("Added.", "On this shelf", "canary seed in hull")
	p = a.open(at + "?q=silica+hairs")
	p.says("answer")

	p = a.press(a.open(at), with("class", "main"), map[string]string{"item.0.on_hand": "lots", "item.0.price": "3,20"})
	if p.status != http.StatusUnprocessableEntity {
		t.Fatalf("status %d", p.status)
	}
	p.says("Write a mass above nothing")
	if got := fields(p.byID("shelf-form")); got.Get("item.0.on_hand") != "lots" || got.Get("item.0.price") != "3,20" {
		t.Errorf("what was typed was lost: %v", got)
	}
	p = a.press(p, with("class", "main"), map[string]string{"item.0.on_hand": "2 kg", "item.0.price": "", "item.0.pack": "500 g", "item.0.cost": "1.60"})
	p.says("2000 g on hand", "3.20 a kilogram")
	p = a.press(p, with("value", "remove:canary-seed/in-hull"), nil)
	p.says("This shelf is empty")
}

func TestOwnFood(t *testing.T) {
	a := start(t, false)
	p := a.press(a.open("/shelf"), saying("New shelf"), map[string]string{"name": "Kitchen"})
	form := p.path + "/own"
	for _, c := range []struct {
		name  string
		typed map[string]string
		says  string
	}{
		{"unsafe name", map[string]string{"name": "avocado flakes", "figure.crude_protein": "8"}, "never fed"},
		{"over 100", map[string]string{"name": "pellets", "figure.moisture": "60", "figure.crude_protein": "50"}, "add up to 110.0 %"},
		{"fibre below itself", map[string]string{"name": "pellets", "figure.crude_fibre": "20", "figure.ndf": "10"}, "Was dietary fibre typed in as crude fibre?"},
		{"no figures", map[string]string{"name": "pellets"}, "one figure at least"},
		{"not a number", map[string]string{"name": "pellets", "figure.ash": "much"}, "Write a number"},
		{"beyond any food", map[string]string{"name": "pellets", "figure.calcium": "90"}, "more than that no food holds"},
	} {
		t.Run(c.name, func(t *testing.T) {
			p := a.press(a.open(form), saying("Put it on the shelf"), c.typed)
			if p.status != http.StatusUnprocessableEntity {
				t.Fatalf("status %d", p.status)
			}
			p.says(c.says)
			got := fields(p.find(func(n node) bool { return n.Data == "form" }))
			for k, v := range c.typed {
				if got.Get(k) != v {
					t.Errorf("%s was lost: %q", k, got.Get(k))
				}
			}
		})
	}
	p = a.press(a.open(form), saying("Put it on the shelf"), map[string]string{"name": "Herb pellets", "source": "label, May", "figure.moisture": "10", "figure.crude_protein": "14.5", "figure.crude_fibre": "15", "figure.crude_fat": "2.8", "figure.ash": "8.5"})
	p.says("Herb pellets")
	a.open("/catalogue/own-herb-pellets/own").says("Herb pellets", "14.5 %", "label: label, May")
	a.press(p, with("value", "remove:own-herb-pellets"), nil)
	if gone := a.get("/catalogue/own-herb-pellets/own"); gone.status != http.StatusNotFound {
		t.Errorf("taken off the shelf, and still there: status %d", gone.status)
	}
}

func TestAMixFromAShelf(t *testing.T) {
	a := start(t, true)
	p := a.open("/mix/new")
	p = a.press(p, saying("Make it"), map[string]string{"name": "", "batch": "none"})
	p.says("Give it a name", "Write a mass")
	p = a.press(p, saying("Make it"), map[string]string{"name": "Evening mix", "batch": "1,000 g"})
	p.says("Evening mix", "Inside its 3 windows for Syrian hamster", "1,000 g")
	sum := 0
	for _, g := range p.grams() {
		n, err := strconv.Atoi(g)
		if err != nil {
			t.Fatalf("grams %q", g)
		}
		sum += n
	}
	if sum != 1000 {
		t.Errorf("the tag adds up to %d g", sum)
	}
}

func TestControls(t *testing.T) {
	a := start(t, true)
	p := a.open(a.demoMix("adult gerbils"))
	before := p.grams()

	p = a.press(p, with("value", "pin:oats/groats"), nil)
	p.says("kept as it is")
	if got := p.grams()["oats/groats"]; got != before["oats/groats"] {
		t.Errorf("oat groats are %s g, were %s g", got, before["oats/groats"])
	}
	p = a.press(p, plain, map[string]string{"sureness": "90"})
	if got := p.grams()["oats/groats"]; got != before["oats/groats"] {
		t.Errorf("oat groats moved to %s g though they were to be kept", got)
	}
	p = a.press(p, with("value", "unpin:oats/groats"), map[string]string{"line.2.ceiling": "100 g"})
	p.says("at its ceiling of 100 g")
	p = a.press(p, plain, map[string]string{"line.2.ceiling": "many", "batch": "2 kg"})
	if p.status != http.StatusUnprocessableEntity {
		t.Fatalf("status %d", p.status)
	}
	p.says("Write grams or a share")
	if got := fields(p.byID("mix")); got.Get("line.2.ceiling") != "many" || got.Get("batch") != "2 kg" {
		t.Errorf("what was typed was lost: %q %q", got.Get("line.2.ceiling"), got.Get("batch"))
	}
	p = a.press(p, plain, map[string]string{"line.2.ceiling": "", "batch": "2 kg", "most": "9"})
	p.says("2,000 g")
	if n := len(used9(p)); n > 9 {
		t.Errorf("%d ingredients, at most 9 were asked for", n)
	}
	p = a.press(p, with("value", "remove:linseed/whole"), map[string]string{"most": ""})
	if _, still := p.grams()["linseed/whole"]; still {
		t.Error("linseed is still there")
	}
	p = a.press(p, with("value", "add"), map[string]string{"add": "hemp/whole"})
	if _, there := p.grams()["hemp/whole"]; !there {
		t.Error("hemp did not come in")
	}
	p = a.press(p, with("value", "base"), nil)
	if strings.Contains(p.text(), "moved from the usual mix") {
		t.Error("the grams were made the usual mix, and yet they are said to have moved")
	}
	p = a.press(p, with("value", "addgroup"), map[string]string{"newgroup.class": "millet", "newgroup.ceiling": "25 %"})
	p.says("3 limits on kinds of food")
	p = a.press(p, plain, map[string]string{"prefer": "cheap"})
	p.says("cannot be worked out", "It has no price")
	p = a.press(p, plain, map[string]string{"prefer": "steady"})
	p.says("Inside its 3 windows")
}

// used9 are the lines with grams.
func used9(p *result) []string {
	var list []string
	for ref, g := range p.grams() {
		if g != "0" {
			list = append(list, ref)
		}
	}
	return list
}

func TestAWayOutIsPressedAndTakenBack(t *testing.T) {
	a := start(t, true)
	at := a.demoMix("after the storms")
	p := a.open(at)
	p.says("These ingredients cannot make it", "crude fibre at least 8 %", "the most that these ingredients allow is", "Ways out")
	p = a.press(p, with("name", "way"), nil)
	p.says("Inside its 3 windows for Syrian hamster")
	p = a.press(p, with("id", "undo"), nil)
	p.says("These ingredients cannot make it")
	p = a.press(p, with("id", "redo"), nil)
	p.says("Inside its 3 windows")
	p = a.press(p, with("id", "undo"), nil)
	p = a.press(p, with("value", "move:0"), nil)
	p.says("Inside its 3 windows", "set in this mix")
	p = a.press(p, with("value", "unwindow:crude_fibre//offered"), nil)
	p.says("These ingredients cannot make it")
}

// A mix that cannot be as sure as asked is helped out like an impossible one.
func TestTooMuchSurenessIsHelped(t *testing.T) {
	a := start(t, true)
	p := a.open(a.demoMix("adult gerbils"))
	p = a.press(p, plain, map[string]string{"sureness": "99"})
	p.says("Ways out")
	p = a.press(p, with("value", "sureness"), nil)
	p.says("Inside its 3 windows")
}

func TestGoesWithout(t *testing.T) {
	a := start(t, true)
	at := a.demoMix("thirty gerbils")
	p := a.open(at + "/without?line=linseed/whole")
	p.says("Without whole linseed", "the other grams stay", "Before and after")
	p = a.press(p, with("name", "use"), nil)
	p.says("Inside its 3 windows")
	if g, still := p.grams()["linseed/whole"]; still {
		t.Errorf("linseed is still there, %s g", g)
	}
	p = a.press(p, with("id", "undo"), nil)
	if _, back := p.grams()["linseed/whole"]; !back {
		t.Error("linseed did not come back")
	}
}

func TestVersionsCompareCopyArchive(t *testing.T) {
	a := start(t, true)
	at := a.demoMix("adult gerbils")
	p := a.press(a.open(at), with("id", "keep"), nil)
	p.says("version 1", "Nothing has changed since the last version")
	a.press(a.open(at), func(n node) bool { return with("name", "do")(n) && with("value", "")(n) }, map[string]string{"sureness": "90"})
	p = a.open(at + "/versions")
	p.says("Since the last version", "Sureness: 80 of 100 sets of bags became 90 of 100 sets of bags.")
	p = a.press(p, saying("Keep as a version"), map[string]string{"note": "surer"})
	p.says("version 2", "surer")
	p = a.press(p, saying("Make version 1 the mix again"), nil)
	if got := chosen(p.byID("sureness")); got != "80" {
		t.Errorf("sureness %s after going back", got)
	}
	p = a.press(p, saying("Copy"), nil)
	p.says("This is the copy.", "(copy)")
	list, err := a.store.Mixes(t.Context(), store.Filter{})
	if err != nil || len(list) != 4 {
		t.Fatalf("%d mixes, %v", len(list), err)
	}
	a.open("/mix/compare?a=" + string(list[0].ID) + "&b=" + string(list[1].ID)).says("From the first to the second")
	p = a.press(p, with("value", "1"), nil)
	p.says("Put away.")
	a.open("/mix?archived=1").says("(copy)")
	a.press(p, saying("Delete for good"), nil)
	if list, _ = a.store.Mixes(t.Context(), store.Filter{Archived: true}); len(list) != 0 {
		t.Error("the copy was not deleted")
	}
}

func TestTwoTabs(t *testing.T) {
	a := start(t, true)
	at := a.demoMix("adult gerbils")

	one, two := a.open(at), a.open(at)
	a.press(one, plain, map[string]string{"batch": "2 kg"})
	p := a.press(two, plain, map[string]string{"sureness": "90"})
	if p.status != http.StatusConflict {
		t.Fatalf("status %d", p.status)
	}
	p.says("Two hands on one mix", "Nothing is lost", "The batch of 2,000 g became 1,000 g.", "Sureness: 80 of 100 sets of bags became 90 of 100 sets of bags.")
	if got := chosen(a.open(at).byID("sureness")); got != "80" {
		t.Errorf("what was kept first was overwritten: sureness %s", got)
	}
	both := a.press(p, saying("Keep both"), nil)
	both.says("(copy)", "1,000 g")
	mine := a.press(p, saying("Keep mine"), nil)
	if got := chosen(mine.byID("sureness")); got != "90" {
		t.Errorf("mine was not kept: sureness %s", got)
	}
	mine = a.press(mine, with("id", "undo"), nil)
	mine.says("2,000 g")
}

func TestDocumentsGoOutAndComeIn(t *testing.T) {
	a := start(t, true)
	at := a.demoMix("adult gerbils")
	out := a.get(at + "/document")
	f, err := mixfiles.Parse("out", []byte(out.body))
	if err != nil {
		t.Fatal(err)
	}
	if !strings.Contains(out.body, "# An invented example") {
		t.Error("the comments are gone")
	}
	if disposition := out.header.Get("Content-Disposition"); !strings.Contains(disposition, `filename="skerra-rescue-adult-gerbils-invented.toml"`) {
		t.Errorf("disposition %q", disposition)
	}
	r := a.upload("/mix/import", "document", "x.toml", []byte(out.body))
	if r.status != http.StatusSeeOther {
		t.Fatalf("status %d: %s", r.status, r.text())
	}
	in := a.open(r.header.Get("Location"))
	for i, l := range f.Document.Lines {
		if got := in.grams()[l.Ingredient]; got != strings.TrimSuffix(l.Amount.Mass.String(), " g") {
			t.Errorf("line %d: %s is %s g, was %v", i, l.Ingredient, got, l.Amount.Mass)
		}
	}
	bad := a.upload("/mix/import", "document", "bad.toml", []byte("batch = \"1 kg\"\n[[line]]\ningredient = \"avocado/flesh\"\n"))
	if bad.status != http.StatusUnprocessableEntity {
		t.Fatalf("status %d", bad.status)
	}
	bad.says("bad.toml, line 3")
}

func TestBackupComesBack(t *testing.T) {
	a := start(t, true)
	kept := a.get("/settings/backup")
	b := start(t, false)
	r := b.upload("/settings/restore", "backup", "firlot.backup", []byte(kept.body))
	if r.status != http.StatusUnprocessableEntity {
		t.Fatalf("without a word about a backup of what is there: status %d", r.status)
	}
	r.says("Save a backup of what is here now first")
	r = b.upload("/settings/restore", "backup", "firlot.backup", []byte(kept.body), "saved")
	if r.status != http.StatusSeeOther {
		t.Fatalf("status %d: %s", r.status, r.text())
	}
	b.open("/animals").says("The window pair (invented)")
	b.open(b.demoMix("adult gerbils")).says("Inside its 3 windows")
	r = b.upload("/settings/restore", "backup", "firlot.backup", []byte(kept.body[:len(kept.body)/2]), "saved")
	if r.status != http.StatusUnprocessableEntity {
		t.Fatalf("half a backup: status %d: %s", r.status, r.text())
	}
	b.open("/animals").says("The window pair (invented)")
}

func TestSettings(t *testing.T) {
	a := start(t, true)
	p := a.press(a.open("/settings"), saying("Save"), map[string]string{"language": "es", "units": "ounces"})
	p.says("Guardado.")
	p = a.open(a.demoMix("adult gerbils"))
	p.says("Dentro de sus 3 ventanas", "oz", "tazas", "1000 g")
	if p := a.post("/settings", url.Values{"language": {"xx"}}); p.status != http.StatusBadRequest {
		t.Errorf("an unknown language: status %d", p.status)
	}
}

func TestAMixFollowsItsGroup(t *testing.T) {
	a := start(t, true)
	groups, err := a.store.Groups(t.Context())
	if err != nil {
		t.Fatal(err)
	}
	for _, g := range groups {
		if g.Name == "The window pair (invented)" {
			g.Stage = "senior"
			if _, err := a.store.SaveGroup(t.Context(), g); err != nil {
				t.Fatal(err)
			}
		}
	}
	p := a.open(a.demoMix("adult gerbils"))
	p.says("is held to other windows, or another stage")
	p = a.press(p, saying("Use theirs"), nil)
	p.says("Mongolian gerbil, old")
	if strings.Contains(p.text(), "is held to other windows") {
		t.Error("still behind")
	}
}

func TestAMixReadInIsTiedToAnimals(t *testing.T) {
	a := start(t, true)
	text := a.get(a.demoMix("adult gerbils") + "/document").body
	p := a.open(a.upload("/mix/import", "document", "x.toml", []byte(text)).header.Get("Location"))
	groups, err := a.store.Groups(t.Context())
	if err != nil {
		t.Fatal(err)
	}
	for _, g := range groups {
		if g.Species == "syrian-hamster" {
			p = a.press(p, saying("Save this"), map[string]string{"name": "Borrowed", "tie.group": string(g.ID)})
		}
	}
	p.says("Borrowed", "for Bramble", "is held to other windows, or another stage")
}

func TestPagesAreCompressedForWhoTakesIt(t *testing.T) {
	a := start(t, true)
	r, err := http.NewRequest("GET", a.base+a.demoMix("adult gerbils"), nil)
	if err != nil {
		t.Fatal(err)
	}
	r.Header.Set("Accept-Encoding", "gzip") // said aloud, so that the client leaves it packed
	p := a.do(r)
	if p.header.Get("Content-Encoding") != "gzip" || len(p.body) > 150_000 {
		t.Errorf("%s, %d bytes", p.header.Get("Content-Encoding"), len(p.body))
	}
	r.Header.Set("Accept-Encoding", "identity")
	if p := a.do(r); p.header.Get("Content-Encoding") != "" || len(p.body) > 150_000 {
		t.Errorf("unpacked: %q, %d bytes", p.header.Get("Content-Encoding"), len(p.body))
	}
}
