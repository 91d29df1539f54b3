package web

import (
	"context"
	"encoding/json"
	"net/http"
	"net/url"
	"strings"
	"sync"
	"testing"

	"firlot/internal/store"
)

func TestAnEventIsKeptOnce(t *testing.T) {
	a := start(t, true)
	at := where(begin(a, nil))
	e := map[string]string{"key": "k1", "kind": "pour", "ref": "proso-millet/in-hull", "mg": "220000", "bowl": "1", "seen": "0"}
	for range 3 {
		if status, s := a.ask(at, e); status != http.StatusOK || s.Poured != 220_000 || s.Key != "k1" || s.Seq != 1 {
			t.Fatalf("status %d, %+v", status, s)
		}
	}
	other := map[string]string{"key": "k1", "kind": "pour", "ref": "oats/groats", "mg": "1000"}
	if status, _ := a.ask(at, other); status != http.StatusConflict {
		t.Errorf("another event with the same key: status %d", status)
	}
	if s := a.state(at); s.Poured != 220_000 || s.Events != 1 {
		t.Errorf("%+v", s)
	}
}

// Two devices take the same pour back: it is back, once, and neither is told
// of a mistake. So with a jar that was said to be empty.
func TestTakenBackTwiceIsTakenBack(t *testing.T) {
	a := start(t, true)
	at := where(begin(a, nil))
	a.ask(at, map[string]string{"key": "k1", "kind": "pour", "ref": "proso-millet/in-hull", "mg": "220000"})
	a.ask(at, map[string]string{"key": "k2", "kind": "empty", "ref": "oats/groats", "mg": "1000"})
	for _, of := range []string{"k1", "k2"} {
		for _, key := range []string{"one", "two", "two"} {
			if status, s := a.ask(at, map[string]string{"key": key + of, "kind": "take-back", "of": of}); status != http.StatusOK || s.Key != key+of {
				t.Errorf("take-back %s of %s: status %d, %+v", key, of, status, s)
			}
		}
	}
	if s := a.state(at); s.Poured != 0 || s.Off || s.Events != 6 {
		t.Errorf("%+v", s)
	}
	if p := a.post(at+"/event", url.Values{"key": {"three"}, "kind": {"take-back"}, "of": {"k1"}}); p.status != http.StatusSeeOther {
		t.Errorf("by a form: status %d", p.status)
	}
	if status, _ := a.ask(at, map[string]string{"key": "four", "kind": "take-back", "of": "nothing"}); status != http.StatusUnprocessableEntity {
		t.Errorf("of what is not there: status %d", status)
	}
}

// A phone learns in words that a making is not there any more.
func TestAnEventOfAMakingThatIsGone(t *testing.T) {
	a := start(t, true)
	r, err := http.NewRequest("POST", a.base+"/making/nowhere/event", strings.NewReader("key=k&kind=pour&ref=oats%2Fgroats&mg=1000"))
	if err != nil {
		t.Fatal(err)
	}
	r.Header.Set("Content-Type", "application/x-www-form-urlencoded")
	r.Header.Set("Accept", "application/json")
	var said map[string]string
	if p := a.do(r); p.status != http.StatusNotFound || json.Unmarshal([]byte(p.body), &said) != nil || said["code"] != codeGone || said["error"] == "" {
		t.Errorf("status %d: %s", p.status, p.body)
	}
}

func TestTwoDevicesPressForOnePour(t *testing.T) {
	a := start(t, true)
	at := where(begin(a, nil))
	pour := func(key, also string) (int, *stateView) {
		return a.ask(at, map[string]string{"key": key, "kind": "pour", "ref": "proso-millet/in-hull", "mg": "220000", "bowl": "1", "seen": "0", "also": also})
	}
	if status, _ := pour("one", ""); status != http.StatusOK {
		t.Fatalf("status %d", status)
	}
	if status, _ := pour("two", ""); status != http.StatusConflict {
		t.Fatalf("the second press for one pour: status %d", status)
	}
	if s := a.state(at); s.Poured != 220_000 {
		t.Errorf("%d mg in the bowl", s.Poured)
	}
	if status, s := pour("two", "1"); status != http.StatusOK || s.Poured != 440_000 || !s.Off {
		t.Errorf("poured besides: status %d, %+v", status, s)
	}
	// A form is asked on a page.
	p := a.post(at+"/event", url.Values{"key": {"three"}, "kind": {"pour"}, "ref": {"proso-millet/in-hull"}, "mg": {"220000"}, "seen": {"0"}})
	if p.status != http.StatusConflict {
		t.Fatalf("status %d", p.status)
	}
	p.says("Another device has just poured this", "I poured it as well", "It was the same pour")
	a.press(p, saying("I poured it as well"), nil)
	if s := a.state(at); s.Poured != 660_000 {
		t.Errorf("%d mg in the bowl", s.Poured)
	}
}

func TestAnOldRescueIsNotTaken(t *testing.T) {
	a := start(t, true)
	p := begin(a, nil)
	at := where(p)
	p = a.pressIn(p, "different", map[string]string{"mass": "360"})
	if status, _ := a.ask(at, map[string]string{"key": "meanwhile", "kind": "pour", "ref": "wheat/whole", "mg": "20000"}); status != http.StatusOK {
		t.Fatalf("status %d", status)
	}
	p = a.press(p, with("value", wayRescue), nil)
	if p.status != http.StatusConflict {
		t.Fatalf("status %d", p.status)
	}
	p.says("Something was poured meanwhile")
	if s := a.state(at); s.Replans != 0 {
		t.Errorf("%d replans", s.Replans)
	}
}

// racingStore lets another device pour between the working out of a plan and
// its keeping.
type racingStore struct {
	store.Store
	first *store.Event
}

func (r *racingStore) AppendEventIf(ctx context.Context, id store.ID, e store.Event, fits func(store.Making) error) (store.Making, error) {
	if first := r.first; first != nil && e.Kind == "replan" {
		r.first = nil
		if _, err := r.Store.AppendEvent(ctx, id, *first); err != nil {
			return store.Making{}, err
		}
	}
	return r.Store.AppendEventIf(ctx, id, e, fits)
}

func TestARescueThatWasOvertakenIsNotTaken(t *testing.T) {
	a := start(t, true)
	racing := &racingStore{Store: a.store}
	a.server.Store = racing
	p := begin(a, nil)
	at := where(p)
	p = a.pressIn(p, "different", map[string]string{"mass": "360"})
	racing.first = &store.Event{Key: "meanwhile", Kind: store.KindPour, Ref: "wheat/whole", Mg: 20_000, Bowl: 1, Round: 1}
	p = a.press(p, with("value", wayRescue), nil)
	if s := a.state(at); p.status != http.StatusConflict || s.Replans != 0 || s.Events != 2 {
		t.Fatalf("status %d, %d replans, %d events", p.status, s.Replans, s.Events)
	}
	p.says("Something was poured meanwhile")
}

func TestTheStateIsAnsweredOnce(t *testing.T) {
	a := start(t, true)
	at := where(begin(a, nil))
	first := a.get(at + "/state")
	again := func(tag string) *result {
		r, err := http.NewRequest("GET", a.base+at+"/state", nil)
		if err != nil {
			t.Fatal(err)
		}
		r.Header.Set("If-None-Match", tag)
		return a.do(r)
	}
	tag := first.header.Get("ETag")
	if p := again(tag); p.status != http.StatusNotModified {
		t.Errorf("an unchanged state: status %d", p.status)
	}
	a.ask(at, map[string]string{"key": "k", "kind": "note", "note": "rain"})
	if p := again(tag); p.status != http.StatusOK || p.header.Get("ETag") == tag {
		t.Errorf("a changed state: status %d", p.status)
	}
}

// fullStore is a store on a disk without room.
type fullStore struct {
	store.Store
	mu  sync.Mutex
	err error
}

func (f *fullStore) set(err error) {
	f.mu.Lock()
	defer f.mu.Unlock()
	f.err = err
}

func (f *fullStore) trouble() error {
	f.mu.Lock()
	defer f.mu.Unlock()
	return f.err
}

func (f *fullStore) AppendEventIf(ctx context.Context, id store.ID, e store.Event, fits func(store.Making) error) (store.Making, error) {
	if err := f.trouble(); err != nil {
		return store.Making{}, err
	}
	return f.Store.AppendEventIf(ctx, id, e, fits)
}

func TestAFullDiskIsSaid(t *testing.T) {
	a := start(t, true)
	full := &fullStore{Store: a.store}
	a.server.Store = full
	p := begin(a, nil)
	at := where(p)
	full.set(store.ErrFull)
	p = a.press(p, with("id", "poured"), nil)
	if p.status != http.StatusInsufficientStorage {
		t.Fatalf("status %d", p.status)
	}
	p.says("The disk is full: this pour is not saved", "220 g", "Try again")
	if s := a.state(at); s.Poured != 0 {
		t.Errorf("%d mg are said to be in the bowl", s.Poured)
	}
	full.set(nil)
	p = a.press(p, saying("Try again"), nil)
	if s := a.state(at); s.Poured != 220_000 {
		t.Errorf("%d mg are in the bowl: %s", s.Poured, p.start())
	}
	full.set(store.ErrReadOnly)
	if status, _ := a.ask(at, map[string]string{"key": "k", "kind": "pour", "ref": "oats/groats", "mg": "1000"}); status != http.StatusInsufficientStorage {
		t.Errorf("a disk that cannot be written: status %d", status)
	}
}
