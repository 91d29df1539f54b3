package web

import (
	"net/http"
	"net/url"
	"strings"
	"testing"

	"golang.org/x/net/html"

	"firlot/nutrient"
	"firlot/ration"
)

func TestWeightIsWrittenDown(t *testing.T) {
	a := start(t, true)
	g := a.fed("window pair")
	n := len(a.kept(g.ID).Weights)
	page := a.open(feedingPath(g.ID, "weights"))
	page.says("Whin", "Haar", "adult, by its age", "Becomes")
	again := a.open(feedingPath(g.ID, "weights")) // a second phone
	first := saying("Write down")
	page = a.press(page, first, map[string]string{"weight": "84.5"})
	page.says("6 weighings")
	a.press(again, first, map[string]string{"weight": "85 g"}) // both are kept
	d := a.kept(g.ID)
	if len(d.Weights) != n+2 {
		t.Fatalf("%d weights of %d", len(d.Weights), n+2)
	}
	if w := d.Weights[n]; w.Animal != "Whin" || w.Mass.Grams() != 84.5 || w.Day != ration.DayOf(someDay) {
		t.Errorf("kept: %+v", w)
	}
	for typed, want := range map[string]string{"": "Write the weight in grams", "heavy": "Write the weight in grams", "5000": "at most 2,000"} {
		a.press(page, first, map[string]string{"weight": typed}).says(want)
	}
	a.press(page, first, map[string]string{"weight": "84", "day": "2027-01-01"}).says("not a day up to today")
	if len(a.kept(g.ID).Weights) != n+2 {
		t.Error("what was wrong was kept")
	}
}

// holds looks for pieces of the page's source.
func (r *result) holds(pieces ...string) {
	r.t.Helper()
	for _, x := range pieces {
		if !strings.Contains(r.body, x) {
			r.t.Errorf("%s does not hold %s", r.path, x)
		}
	}
}

// A slipped decimal point is asked about before it is kept, on the day and for
// days before; what was typed stays, and saying it again keeps it.
func TestUnlikelyWeightIsAskedAbout(t *testing.T) {
	a := start(t, true)
	g := a.fed("window pair")
	n := len(a.kept(g.ID).Weights)
	page := a.open(feedingPath(g.ID, "weights"))
	for _, typed := range []string{"780", "7.8"} {
		asked := a.press(page, saying("Write down"), map[string]string{"weight": typed, "day": "2026-05-01"})
		if asked.status != http.StatusUnprocessableEntity || len(a.kept(g.ID).Weights) != n {
			t.Fatalf("%s g: status %d, %d weights", typed, asked.status, len(a.kept(g.ID).Weights))
		}
		asked.says(typed+" g for Whin?", "weigh 70.0 to 135 g", "see a veterinarian", "is right: write it down")
		asked.holds(`value="`+typed+`"`, `value="2026-05-01"`)
		if r := a.press(asked, saying("Write down"), map[string]string{"weight": typed}); r.status != http.StatusUnprocessableEntity {
			t.Errorf("%s g: the same button keeps what is asked about", typed)
		}
	}
	asked := a.press(page, saying("Write down"), map[string]string{"weight": "780"})
	a.press(asked, saying("780 g is right: write it down"), map[string]string{"weight": "790"}).says("790 g for Whin?")
	a.press(asked, saying("780 g is right: write it down"), nil).says("6 weighings")
	if d := a.kept(g.ID); len(d.Weights) != n+1 || d.Weights[n].Mass.Grams() != 780 {
		t.Errorf("kept: %+v", d.Weights)
	}
	young := a.open(feedingPath(a.fed("spring litter").ID, "weights"))
	a.press(young, saying("Write down"), map[string]string{"weight": "20"}).says("5 weighings")
}

// What does not read leaves all that was typed in its form.
func TestMistypedAnimalStays(t *testing.T) {
	a := start(t, true)
	g := a.fed("window pair")
	page := a.open(feedingPath(g.ID, "weights"))
	typed := map[string]string{"name": "Whinny", "note": "grey ears", "born": "2099-01-01", "sex": "male"}
	for _, button := range []string{"Save", "Add"} {
		r := a.press(page, saying(button), typed)
		if r.status != http.StatusUnprocessableEntity {
			t.Errorf("%s: status %d", button, r.status)
		}
		r.holds(`value="Whinny"`, `value="grey ears"`, `value="2099-01-01"`, `<option value="male" selected>`)
	}
}

// A changeover is planned from a change of stage by one press, adds up to the
// day's mix, and can be dropped.
func TestChangeoverIsPlanned(t *testing.T) {
	a := start(t, true)
	g := a.fed("window pair")
	page := a.open(feedingPath(g.ID, "weights"))
	page = a.press(page, saying("Plan the ten days"), nil)
	c := a.kept(g.ID).Change
	if c == nil || c.Days != ration.ChangeDays {
		t.Fatalf("kept: %+v", c)
	}
	page.says("To another mix, from "+c.From.String(), "Drop this plan")
	p, _ := a.planOf(g)
	dose := 0.0
	for _, x := range p.Foods {
		if x.Form == nil {
			dose = x.Dose.Mean
		}
	}
	n := 0
	for _, s := range p.Changeover() {
		if s.Fed {
			n++
			if sum := (s.Old + s.New).Grams(); sum < dose-0.5 || sum > dose+0.5 {
				t.Errorf("%v: %v g of %v", s.Day, sum, dose)
			}
		}
	}
	if n < 8 {
		t.Errorf("%d days are planned", n)
	}
	a.press(page, saying("Drop this plan"), nil)
	if c := a.kept(g.ID).Change; c != nil {
		t.Errorf("still kept: %+v", c)
	}
}

// A slip of the finger can be taken out again.
func TestRecordsAreTakenBack(t *testing.T) {
	a := start(t, true)
	g := a.fed("window pair")
	before := a.kept(g.ID)
	page := a.open(feedingPath(g.ID, "weights"))
	page = a.press(page, saying("Write down"), map[string]string{"weight": "845"})
	page = a.press(page, saying("845 g is right"), nil) // asked, and said yes without looking
	page.says("845 g")
	page = a.press(page, saying("845 g"), nil)
	if strings.Contains(page.text(), "845") || len(a.kept(g.ID).Weights) != len(before.Weights) {
		t.Error("the weight is still there")
	}
	page = a.open(feedingPath(g.ID, "bowl"))
	page = a.press(page, with("value", "unbowl:1"), nil)
	a.press(page, with("value", "unsee:0"), nil)
	if d := a.kept(g.ID); len(d.Bowls) != len(before.Bowls)-1 || len(d.Sightings) != 0 || d.Bowls[0].Day != before.Bowls[0].Day {
		t.Errorf("kept: %+v %+v", d.Bowls, d.Sightings)
	}
	if r := a.post(feedingPath(g.ID, "bowl"), url.Values{"do": {"unbowl:99"}}); r.status != http.StatusBadRequest {
		t.Errorf("status %d", r.status)
	}
}

// A name that is changed takes its weights along.
func TestAnimalIsRenamed(t *testing.T) {
	a := start(t, true)
	g := a.fed("window pair")
	page := a.open(feedingPath(g.ID, "weights"))
	page = a.press(page, with("value", "save"), map[string]string{"name": "Gorse", "breeding": "nursing"})
	page.says("Gorse", "5 weighings")
	d := a.kept(g.ID)
	if d.Animals[0].Breeding != ration.Nursing || d.Animals[0].Since != ration.DayOf(someDay) {
		t.Errorf("kept: %+v", d.Animals[0])
	}
	a.press(page, saying("Has left the group"), nil).says("No longer here: Gorse")
	if g, _ := a.store.Group(t.Context(), g.ID); g.Animals != 1 {
		t.Errorf("the group counts %d animals", g.Animals)
	}
}

func TestFastLossAndSignsCallForAVeterinarian(t *testing.T) {
	a := start(t, true)
	g := a.fed("Bramble")
	for _, page := range []string{"weights", "bowl"} {
		p := a.open(feedingPath(g.ID, page))
		p.says("ee a veterinarian", "Bramble: small or few droppings")
		if p.find(with("role", "alert")) == nil {
			t.Errorf("%s: it is not an alert", page)
		}
	}
	a.lang = "es"
	a.open(feedingPath(g.ID, "weights")).says("Vaya al veterinario", "Bramble: excrementos pequeños o escasos")
}

// Who needs a veterinarian is said on the first page of the animals too.
func TestTheListCallsForAVeterinarian(t *testing.T) {
	a := start(t, true)
	a.open("/animals").says("Bramble loses weight fast: see a veterinarian.")
	if n := strings.Count(a.open("/animals").text(), "ee a veterinarian"); n != 2 { // and the sign
		t.Errorf("%d calls", n)
	}
}

func TestBowlIsWrittenDown(t *testing.T) {
	a := start(t, true)
	g := a.fed("window pair")
	page := a.open(feedingPath(g.ID, "bowl"))
	page.says("The mix is picked over", "buckwheat in hull", "14.6 g eaten of 18 g", "left aside")
	page = a.press(page, saying("Write down"), map[string]string{"offered": "20", "left": "5", "left-wheat/whole": "0"})
	page.says("15 g eaten of 20 g; 25 % left")
	b := a.kept(g.ID).Bowls
	if x := b[len(b)-1]; !x.HasLeft || x.Left != 5*nutrient.Gram || len(x.Sorted) != 1 || x.Sorted[0].Left != 0 {
		t.Errorf("kept: %+v", x)
	}
	// Nothing written is not known, and never nothing left.
	page = a.press(page, saying("Write down"), map[string]string{"offered": "20", "left": "", "note": "forgot"})
	page.says("what was left was not weighed")
	for typed, want := range map[string]string{"25": "more than", "some": "Write an amount"} {
		if r := a.press(page, saying("Write down"), map[string]string{"offered": "20", "left": typed}); r.status != http.StatusUnprocessableEntity {
			t.Errorf("%q: status %d", typed, r.status)
		} else {
			r.says(want)
		}
	}
	page = a.press(page, func(n *html.Node) bool { v, _ := attr(n, "value"); return v == "sign" }, map[string]string{"sign": "loose-stool", "animal": "Haar"})
	page.says("Haar: loose or watery droppings", "See a veterinarian")
	a.press(page, func(n *html.Node) bool { v, _ := attr(n, "value"); return v == "sign" }, nil).says("Choose what was seen")
}

// A document that does not read, or does not fit any more, is said to on every
// page, can be taken out, and another can take its place.
func TestBrokenFeeding(t *testing.T) {
	a := start(t, true)
	g := a.fed("window pair")
	good := g.Feeding
	for _, text := range []string{"[[food", "species = \"gerbil\"\n[[animal]]\nname = \"A\"\n[[food]]\nfood = \"no such food\"\namount = \"1 g\"\ndays = \"daily\"\n"} {
		g.Feeding = text
		var err error
		if g, err = a.store.SaveGroup(t.Context(), g); err != nil {
			t.Fatal(err)
		}
		for _, lang := range languages {
			a.lang = lang
			for _, p := range []string{"portion", "week", "week/fridge", "diet", "weights", "bowl", "spoonful"} {
				page := a.open(feedingPath(g.ID, p))
				checkMarkup(t, lang+" "+p, page)
				if p != "week/fridge" && page.find(with("role", "alert")) == nil {
					t.Errorf("%s: nothing is said", p)
				}
			}
		}
		a.lang = "en"
		for _, p := range []string{"portion", "week", "weights", "bowl"} {
			r := a.post(feedingPath(g.ID, p), url.Values{"do": {"add"}, "feedings": {"2"}, "spoon": {"us"}})
			if r.status < 400 || r.status >= 500 {
				t.Errorf("%s took a change: %d", p, r.status)
			}
		}
		if r := a.get(feedingPath(g.ID, "week.ics")); r.status != http.StatusNotFound {
			t.Errorf("the calendar: status %d", r.status)
		}
		if back := a.get(feedingPath(g.ID, "feeding")).body; back != text {
			t.Errorf("taken out: %q", back)
		}
	}
	if up := a.uploadRev(feedingPath(g.ID, "feeding"), g.Rev, good); up.status != http.StatusSeeOther {
		t.Errorf("status %d: %s", up.status, up.start())
	}
	a.open(feedingPath(g.ID, "portion")).says("Together the 2 need")
}
