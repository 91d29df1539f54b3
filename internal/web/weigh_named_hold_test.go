package web

import (
	"net/http"
	"strconv"
	"strings"
	"testing"

	"firlot/internal/store"
)

// A key that comes back with another name is another pour: it is said, and
// never taken for the first one.
func TestAKeyWithAnotherName(t *testing.T) {
	a := start(t, true)
	at := where(begin(a, nil))
	send := func(food string) int {
		status, _ := a.ask(at, map[string]string{"key": "k", "kind": "pour", "food": food, "mg": "5000"})
		return status
	}
	if status := send("amaranto inflado"); status != http.StatusOK {
		t.Fatalf("status %d", status)
	}
	for _, c := range []struct {
		food   string
		status int
	}{{"amaranto inflado", 200}, {"popped amaranth", 200}, {"amaranth/popped", 200}, {"avocado", 409}, {"rye/whole", 409}, {"gravel", 409}, {"oats", 409}} {
		if status := send(c.food); status != c.status {
			t.Errorf("%s: status %d, want %d", c.food, status, c.status)
		}
	}
	if s := a.state(at); s.Events != 1 || strays(s)["amaranth/popped"] != 5000 {
		t.Errorf("%d events, %v", s.Events, strays(s))
	}
}

// A name is kept as one line of sound text, whatever was sent.
func TestATypedNameIsOneLine(t *testing.T) {
	a := start(t, true)
	at := where(begin(a, nil))
	for i, food := range []string{"Avo\nAguacate", "aguacate\x07", " aguacate \t", "ave\x00na", "<script>alert(1)</script>", "!!!", "/never", strings.Repeat("ñ", 80)} {
		status, s := a.ask(at, map[string]string{"key": "k" + strconv.Itoa(i), "kind": "pour", "food": food, "mg": "5000"})
		if want := strings.Contains(strings.ToLower(food), "aguacate"); want != (status == http.StatusOK) {
			t.Errorf("%q: status %d, %v", food, status, strays(s))
		}
	}
	m, err := a.store.Making(t.Context(), store.ID(strings.TrimPrefix(at, "/making/")))
	a.must(err)
	if len(m.Events) != 3 {
		t.Errorf("%d events", len(m.Events))
	}
	for _, e := range m.Events {
		if e.Ref != "avocado/never" || e.Note != "Avo Aguacate" && e.Note != "aguacate" {
			t.Errorf("%q, %q", e.Ref, e.Note)
		}
	}
}

// A food of one's own that has the id of a never fed food never makes one of it
// that was poured.
func TestANeverFedFoodStaysOne(t *testing.T) {
	a := start(t, true)
	own := labFood("own-poor", "8.9")
	p := beginOwn(a, store.Shelf{Name: "Ids (invented)", Own: own, Items: []store.Item{{Ref: "own-poor", CanHave: true}}},
		"batch = \"1 kg\"\nstep = \"1 g\"\n[[window]]\nnutrient = \"crude_protein\"\nmin = 5\n[[line]]\ningredient = \"own-poor\"\n"+own)
	at := makingOf(p)
	if status, _ := a.ask(at, map[string]string{"key": "k", "kind": "pour", "food": "avocado", "mg": "5000"}); status != http.StatusOK {
		t.Fatalf("status %d", status)
	}
	m, err := a.store.Making(t.Context(), store.ID(strings.TrimPrefix(at, "/making/")))
	a.must(err)
	sh, err := a.store.Shelf(t.Context(), m.Shelf)
	a.must(err)
	kilo := int64(1_000_000)
	sh.Own += labFood("avocado", "30.0")
	sh.Items = append(sh.Items, store.Item{Ref: "avocado", CanHave: true, OnHand: &kilo})
	_, err = a.store.SaveShelf(t.Context(), sh)
	a.must(err)
	a.ask(at, map[string]string{"key": "l", "kind": "pour", "ref": "avocado/never", "mg": "3000"})
	if got := strays(a.state(at)); got["avocado"] != 8000 {
		t.Errorf("%v", got)
	}
	a.open(at).says("never fed")
	m, err = a.store.Making(t.Context(), m.ID)
	a.must(err)
	if p := a.post(at+"/finish", map[string][]string{"rev": {strconv.FormatInt(m.Rev, 10)}, "lot": {"X"}}); p.status != http.StatusUnprocessableEntity {
		t.Errorf("it is finished: status %d", p.status)
	}
	sh, err = a.store.Shelf(t.Context(), m.Shelf)
	a.must(err)
	if got := *sh.Items[1].OnHand; got != kilo {
		t.Errorf("the own food's count is %d mg", got)
	}
	// What a program calls by that id is the keeper's food now, as it ever was.
	a.ask(at, map[string]string{"key": "m", "kind": "pour", "ref": "avocado", "mg": "1000"})
	if sh, err = a.store.Shelf(t.Context(), m.Shelf); err != nil || *sh.Items[1].OnHand != kilo-1000 {
		t.Errorf("the own food's count is %d mg, %v", *sh.Items[1].OnHand, err)
	}
}

// A log that holds a never fed food by its id alone still means it.
func TestANeverFedFoodByItsID(t *testing.T) {
	a := start(t, true)
	at := where(begin(a, nil))
	_, err := a.store.AppendEvent(t.Context(), store.ID(strings.TrimPrefix(at, "/making/")), store.Event{Key: "old", Kind: store.KindPour, Ref: "avocado", Mg: 5000, Bowl: 1})
	a.must(err)
	a.open(at).says("avocado", "never fed")
	a.open(at+"/rescue").says("cannot be saved", "take back 5 g avocado")
	a.open(at + "/finish").says("never fed")
}
