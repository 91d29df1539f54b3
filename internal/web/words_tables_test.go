package web

import (
	"html/template"
	"net/url"
	"regexp"
	"strings"
	"testing"

	"firlot/internal/words/tables"
)

// Spanish pages tell foods in Spanish, and mark none of it as English.
func TestFoodsAreToldInSpanish(t *testing.T) {
	a := start(t, true)
	a.lang = "es"
	f, u := a.server.Catalogue.Form("linseed/whole"), a.server.Catalogue.Unsafe[0]
	noted := a.open("/catalogue/barley/in-hull").body
	if strings.Contains(noted, "from the printed 870 g") || !strings.Contains(noted, "desde los 870 g de materia seca por kg impresos") {
		t.Error("a note on a figure is not Spanish")
	}
	for path, texts := range map[string][]string{
		"/catalogue/linseed/whole":                                       {f.Looks, f.Confused[0].Tell, f.Limits[0].Why, f.Cautions[0], f.State, f.Balance},
		"/catalogue?q=" + url.QueryEscape(u.Names["es"][0]):              {u.Reason, u.Instead},
		"/catalogue?q=" + url.QueryEscape("lágrima plana muy brillante"): {f.Looks},
		"/help": {u.Reason},
	} {
		page := a.open(path).body
		for _, english := range texts {
			es := tables.In("es")[english].Other
			if safe := template.HTMLEscapeString(es); es == "" || !strings.Contains(page, safe) || strings.Contains(page, `<span lang="en">`+safe) {
				t.Errorf("%s: %q is not said as %q, unmarked", path, english, es)
			}
			if len(english) > 20 && strings.Contains(page, template.HTMLEscapeString(english)) {
				t.Errorf("%s: %q stands there in English", path, english)
			}
		}
	}
}

// While weighing, and beside a mix, too.
func TestMixesAreToldInSpanish(t *testing.T) {
	a := start(t, true)
	a.lang = "es"
	marked := regexp.MustCompile(`<(?:p|li)(?: class="[a-z]+")?>(?:<b>[^<]*</b>: |No confundir con [^<]*: )?<span lang="en">[^<]*`)
	for _, path := range []string{a.begin("adult gerbils"), a.demoMix("adult gerbils")} {
		page := a.open(path).body
		if m := marked.FindString(page); m != "" {
			t.Errorf("%s: %s", path, m)
		}
	}
	weighing := a.open(a.begin("adult gerbils")).body
	said := 0
	for _, f := range a.server.Catalogue.Forms() {
		if es := tables.In("es")[f.Looks].Other; strings.Contains(weighing, template.HTMLEscapeString(es)) {
			said++
		}
	}
	if said == 0 {
		t.Error("the weighing page tells no food's looks")
	}
}

// What a keeper typed of a food is neither said otherwise nor marked.
func TestWhatWasTypedIsNotMarked(t *testing.T) {
	a := start(t, false)
	p := a.press(a.open("/shelf"), saying("New shelf"), map[string]string{"name": "Cocina"})
	const typed = "Mucho calcio, cuidado."
	a.press(a.open(p.path+"/own"), saying("Put it on the shelf"), map[string]string{"name": "Herb pellets", "caution": typed, "figure.moisture": "10"})
	a.lang = "es"
	page := a.open("/catalogue/own-herb-pellets/own").body
	if !strings.Contains(page, "<li>"+typed+"</li>") {
		t.Errorf("the caution does not stand there as it was typed:\n%s", page)
	}
	if strings.Contains(page, "as bought") {
		t.Error("the state of an own food is English")
	}
}
