package web

import (
	"net/http"
	"strings"
	"testing"

	"firlot/internal/store"
	mixfiles "firlot/mix/files"
)

const protein = "window.crude_protein//offered."

// plain is the button that only takes the fields over.
func plain(n node) bool { return with("name", "do")(n) && with("value", "")(n) }

// windowsKept are the windows that a mix's document sets, by figure.
func windowsKept(a *app, name string) map[string]string {
	a.t.Helper()
	list, err := a.store.Mixes(a.t.Context(), store.Filter{Text: name})
	if err != nil || len(list) == 0 {
		a.t.Fatalf("no mix %q: %v", name, err)
	}
	m, err := a.store.Mix(a.t.Context(), list[0].ID)
	if err != nil {
		a.t.Fatal(err)
	}
	f, err := mixfiles.Parse("mix", []byte(m.Document))
	if err != nil {
		a.t.Fatal(err)
	}
	w := a.server.wordsIn("en", "")
	kept := map[string]string{}
	for _, x := range f.Document.Windows {
		text := w.boundText(x) + " " + string(x.Basis) + x.Source
		if x.Off {
			text = "off"
		}
		kept[isWindow(x.Nutrient, x.Per, x.On)] = strings.ReplaceAll(strings.TrimSpace(text), "\u00a0", " ")
	}
	return kept
}

func TestAWindowIsChangedInsideAMix(t *testing.T) {
	a := start(t, true)
	p := a.open(a.demoMix("adult gerbils"))
	p.says("3 windows to lie in")
	if kept := windowsKept(a, "adult gerbils"); len(kept) != 0 {
		t.Fatalf("before any change: %v", kept)
	}
	p = a.press(p, plain, nil)
	if kept := windowsKept(a, "adult gerbils"); len(kept) != 0 {
		t.Fatalf("nothing was changed, and yet: %v", kept)
	}
	p = a.press(p, plain, map[string]string{protein + "min": "17", protein + "max": "12"})
	p.says("The least is above the most.")
	if got := fields(p.byID("mix")).Get(protein + "min"); got != "17" {
		t.Errorf("what was typed was lost: %q", got)
	}
	p = a.press(p, plain, map[string]string{protein + "min": "12.5", protein + "max": "17"})
	p.says("Windows changed by you: crude protein.", "12.5 to 17 %", "changed by you", "set in this mix")
	if got := windowsKept(a, "adult gerbils")["crude_protein//offered"]; got != "12.5 to 17 % as fed" {
		t.Errorf("kept as %q", got)
	}
	p = a.press(p, with("id", "undo"), nil)
	if strings.Contains(p.text(), "changed by you") {
		t.Fatal("still changed after it was taken back")
	}
	p = a.press(p, plain, map[string]string{protein + "basis": "dry matter"})
	if got := windowsKept(a, "adult gerbils")["crude_protein//offered"]; got != "13 to 16 % dry matter" {
		t.Errorf("kept as %q", got)
	}
	p = a.press(p, with("value", "unwindow:crude_protein//offered"), nil)
	p = a.press(p, plain, map[string]string{protein + "on": "eaten"})
	if kept := windowsKept(a, "adult gerbils"); kept["crude_protein//offered"] != "off" || kept["crude_protein//eaten"] != "13 to 16 % as fed" {
		t.Errorf("kept as %v", kept)
	}
	p = a.press(p, with("value", "unwindow:crude_protein//eaten"), nil)
	if kept := windowsKept(a, "adult gerbils"); len(kept) != 0 {
		t.Errorf("after the reset: %v", kept)
	}
	p = a.press(p, with("value", "nowindow:crude_protein//offered"), nil)
	p.says("not asked for", "Inside its 2 windows")
}

func TestAnotherSourcesWindowIsChosenInsideAMix(t *testing.T) {
	a := start(t, true)
	p := a.open(a.demoMix("adult gerbils"))
	button := func(n node) bool {
		v, _ := attr(n, "value")
		return strings.HasPrefix(v, "usewindow:crude_protein//offered|")
	}
	p = a.press(p, button, nil)
	if got := windowsKept(a, "adult gerbils")["crude_protein//offered"]; got == "" {
		t.Fatal("no source was chosen")
	}
	p.says("changed by you")
	p = a.press(p, with("value", "addwindow"), map[string]string{"newwindow.nutrient": "calcium", "newwindow.min": "0.05"})
	p.says("calcium")
	if got := windowsKept(a, "adult gerbils")["calcium//offered"]; got != "at least 0.05 % as fed" {
		t.Errorf("kept as %q", got)
	}
	p = a.press(p, with("value", "addwindow"), map[string]string{"newwindow.nutrient": "calcium", "newwindow.min": "0.1"})
	p.says("There is a window on that already")
	p = a.press(p, with("value", "addwindow"), map[string]string{"newwindow.nutrient": "", "newwindow.min": ""})
	if p.status != http.StatusUnprocessableEntity {
		t.Errorf("no figure: status %d", p.status)
	}
}

func TestTheWindowsOfAnImpossibleMixCanBeChanged(t *testing.T) {
	a := start(t, true)
	p := a.open(a.demoMix("after the storms"))
	p.says("These ingredients cannot make it")
	p = a.press(p, plain, map[string]string{"window.crude_fibre//offered.min": "2.5"})
	p.says("Inside its 3 windows", "Windows changed by you: crude fibre.")
}

func TestAnOwnFoodIsChanged(t *testing.T) {
	a := start(t, false)
	p := a.press(a.open("/shelf"), saying("New shelf"), map[string]string{"name": "Kitchen"})
	shelf := p.path
	a.press(a.open(shelf+"/own"), saying("Put it on the shelf"), map[string]string{"name": "Herb pellets", "source": "label, May", "figure.moisture": "10", "figure.crude_protein": "14.5", "figure.crude_fibre": "15", "caution": "Only a few."})
	a.press(a.open("/mix/new"), saying("Make it"), map[string]string{"name": "Pellets only", "for": "stage:gerbil/adult", "batch": "100 g"})
	edit := shelf + "/own?food=own-herb-pellets"
	form := a.open(edit)
	got := fields(form.find(func(n node) bool { return n.Data == "form" }))
	for k, want := range map[string]string{"name": "Herb pellets", "source": "label, May", "figure.moisture": "10", "figure.crude_protein": "14.5", "caution": "Only a few."} {
		if got.Get(k) != want {
			t.Errorf("%s is %q, want %q", k, got.Get(k), want)
		}
	}
	bad := a.press(form, saying("Save"), map[string]string{"figure.ash": "much"})
	if bad.status != http.StatusUnprocessableEntity {
		t.Fatalf("status %d", bad.status)
	}
	stale := a.open(edit)
	a.press(bad, saying("Save"), map[string]string{"figure.ash": "8", "figure.crude_protein": "16"})
	a.open("/catalogue/own-herb-pellets/own").says("16.0 %", "8.00 %")

	p = a.press(stale, saying("Save"), map[string]string{"figure.crude_protein": "15"})
	if p.status != http.StatusConflict {
		t.Fatalf("changed in another tab: status %d", p.status)
	}
	p.says("crude protein: 16 is kept, 15 is yours.", "ash: 8 is kept, nothing is yours.")
	a.press(p, saying("Save"), nil)
	a.open("/catalogue/own-herb-pellets/own").says("15.0 %")

	p = a.open(a.demoMix("Pellets only"))
	p.says("Herb pellets has other figures on its shelf now")
	p = a.press(p, with("value", "own:own-herb-pellets"), nil)
	if strings.Contains(p.text(), "has other figures") {
		t.Error("still behind")
	}
}

func TestTheMapShowsWhatIsLeftWithoutAnIngredient(t *testing.T) {
	a := start(t, true)
	at := a.demoMix("adult gerbils")
	dashed := func(p *result) bool { return p.find(with("class", "without")) != nil }
	if p := a.open(at); dashed(p) {
		t.Error("the page waited for what takes its time")
	}
	p := a.open(at + "?less=most")
	p.says("% of this area is left.")
	if again := a.open(at); !dashed(again) {
		t.Error("what is known is not shown")
	}
	if !dashed(p) {
		t.Error("nothing is drawn dashed")
	}
	p = a.press(p, plain, map[string]string{"less": "linseed/whole", "batch": "2 kg"})
	p.says("Without whole linseed,", "2,000 g")
	if got := chosen(p.byID("less")); got != "linseed/whole" {
		t.Errorf("the choice became %q", got)
	}
	one := a.open(a.demoMix("after the storms"))
	if one.byID("less") == nil {
		t.Error("an impossible mix shows no map to choose on")
	}
}

func TestWhatOneMoreGramChangesStandsInTheTradesView(t *testing.T) {
	a := start(t, true)
	p := a.open(a.demoMix("adult gerbils") + "?trade=1")
	p.says("One gram more: crude protein", "+0.0", "−0.0")
	p = a.press(p, plain, map[string]string{"batch": "2 kg"})
	p.says("One gram more:", "2,000 g")
	a.lang = "es"
	a.open(a.demoMix("adult gerbils")+"?trade=1").says("Un gramo más: proteína bruta", "+0,0")
}
