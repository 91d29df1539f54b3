package web

import (
	"encoding/json"
	"errors"
	"net/http"
	"strconv"
	"strings"

	"firlot/catalog"
	"firlot/internal/store"
	"firlot/making"
	"firlot/nutrient"
)

// What another program, such as the queue of a phone, needs to know of a
// making under way. There are two addresses:
//
//	POST /making/{id}/event   one event; fields below
//	GET  /making/{id}/state   what the log comes to, with an ETag for polling
//
// Both answer stateView as JSON to whoever asks for application/json. Fields of
// an event:
//
//	key    made by the page, at most 90 characters; again with the same content
//	       it changes nothing and is answered as the first time
//	kind   pour, empty (the jar), take-back, note, replan
//	ref    ingredient/form, or for a food that is never fed its id/never
//	food   in place of ref, for a pour: what a keeper calls it, in any language
//	mg     what was poured; in its place mass is what was typed, with its unit,
//	       and with how=shown what the scale shows, from before_mg
//	bowl, round, lot, note, by
//	of     the key that is taken back; what is taken back already changes nothing
//	seen   the events of the state that the page showed, for a pour; it may be left out
//	also   1: poured besides what another device poured meanwhile
//	way    with replan: which proposal of the rescue is taken
//
// Answers: 200 with the state (it is on disk); 303 to a page for a form; 409
// when another device has poured the same since seen and both would be too
// much (nothing is kept: send it again with also=1 if it was poured as well,
// or drop it), or when the key has another content; 404 when the making is no
// longer there; 410 when it is no longer open; 422 when it cannot be; 507 when the disk is full or cannot be
// written. All but the first two bring {"error": words, "code": word}. The 422
// for a food that may be several things, or is not known, has the code "which"
// and near, a list of {"ref", "name"} of what it may be.
const (
	codeTwice    = "twice"
	codeNotOpen  = "not-open"
	codeKey      = "key"
	codeBad      = "bad"
	codeDisk     = "disk"
	codeGone     = "gone"
	codeWhich    = "which"
	mostEventKey = 90
)

// refusal is why an event is not kept.
type refusal struct {
	status int
	code   string
	key    string // of the message
}

func (r refusal) Error() string { return r.code }

// postEvent keeps one event, sent by a form or by a script.
func (s *Server) postEvent(q *request) error {
	if err := q.form(); err != nil {
		return err
	}
	id := q.id()
	x, err := s.takeEvent(q, id)
	var no refusal
	if key := storeTrouble(err); key != "" {
		err = refusal{http.StatusInsufficientStorage, codeDisk, key}
	}
	if errors.Is(err, store.ErrNotFound) {
		err = refusal{http.StatusNotFound, codeGone, "event_gone"}
	}
	if errors.As(err, &no) {
		return s.refuse(q, id, no)
	}
	var open which
	if errors.As(err, &open) {
		return s.askWhich(q, id, open)
	}
	if err != nil {
		return err
	}
	if q.wantsJSON() {
		v, err := s.stateOf(q.words, x)
		if err != nil {
			return err
		}
		v.Key = q.value("key")
		for _, e := range x.Events {
			if e.Key == v.Key {
				v.Seq = e.Seq
			}
		}
		return q.sendJSON(http.StatusOK, v)
	}
	return q.see(x.after(q.value("kind")))
}

// after is the page that follows an event.
func (x *weighing) after(kind string) string {
	at := makingPath(x.ID)
	switch {
	case kind == store.KindTakeBack || kind == string(making.Note):
		return at
	case x.off():
		return at + "/rescue"
	case x.Now.Done():
		return at + "/finish"
	}
	return at + "#now"
}

// wantsJSON reports whether a script asks.
func (q *request) wantsJSON() bool {
	return strings.Contains(q.Header.Get("Accept"), "application/json")
}

func (q *request) sendJSON(status int, v any) error {
	body, err := json.Marshal(v)
	if err != nil {
		return err
	}
	q.w.Header().Set("Content-Type", "application/json")
	return q.send(status, body)
}

// takeEvent weighs the event up against the log and keeps it.
func (s *Server) takeEvent(q *request, id store.ID) (*weighing, error) {
	x, err := s.weighing(q.Context(), id)
	if err != nil {
		return nil, err
	}
	list, err := s.eventsOf(q, x)
	if err != nil {
		return nil, err
	}
	for _, e := range list {
		var no refusal
		m, err := s.Store.AppendEventIf(q.Context(), id, e, func(with store.Making) error { return s.allows(q, with, x.own) })
		switch {
		case errors.As(err, &no):
			return nil, no
		case errors.Is(err, store.ErrConflict):
			return nil, refusal{http.StatusConflict, codeKey, "event_key"}
		case errors.Is(err, store.ErrNotOpen):
			return nil, refusal{http.StatusGone, codeNotOpen, "event_not_open"}
		case errors.Is(err, store.ErrTakenBack): // by somebody else meanwhile: what was wanted is so
			if x, err = s.weighing(q.Context(), id); err != nil {
				return nil, err
			}
			continue
		case errors.Is(err, store.ErrInvalid):
			return nil, refusal{http.StatusUnprocessableEntity, codeBad, "event_bad"}
		case err != nil:
			return nil, err
		}
		if x, err = s.weigh(m, x.own); err != nil {
			return nil, err
		}
	}
	return x, nil
}

// has is the kept event with a key.
func (x *weighing) has(key string) *store.Event {
	for i := range x.Events {
		if x.Events[i].Key == key {
			return &x.Events[i]
		}
	}
	return nil
}

// allows reports whether the log of a making can be, with its last event: one
// that cannot must never be kept.
func (s *Server) allows(q *request, with store.Making, own []*catalog.Ingredient) error {
	if _, err := s.weigh(with, own); err != nil {
		return refusal{http.StatusUnprocessableEntity, codeBad, "event_bad"}
	}
	last := len(with.Events) - 1
	e := with.Events[last]
	if e.Kind == string(making.Replan) && q.value("seen") != strconv.Itoa(last) { // poured while it was worked out
		return refusal{http.StatusConflict, codeBad, "event_stale"}
	}
	if e.Kind != store.KindPour || q.value("also") != "" {
		return nil
	}
	with.Events = with.Events[:last]
	before, err := s.weigh(with, own)
	if err == nil && before.twice(e, q.value("seen")) {
		return refusal{http.StatusConflict, codeTwice, "event_twice"}
	}
	return err
}

// twice reports whether another device has poured the same since the page was
// shown, so that both would be more than planned.
func (x *weighing) twice(e store.Event, seen string) bool {
	known, err := strconv.Atoi(seen)
	if err != nil || known < 0 || known >= len(x.Events) {
		return false
	}
	poured := false
	for _, o := range x.Events[known:] {
		poured = poured || o.Kind == store.KindPour && x.lineRef(o.Ref) == x.lineRef(e.Ref) && max(o.Bowl, 1) == max(e.Bowl, 1)
	}
	if !poured {
		return false
	}
	for _, l := range x.Now.Lines {
		if l.Ref == x.lineRef(e.Ref) {
			part := l.Parts[max(e.Bowl, 1)-1]
			return part.Poured+nutrient.Mass(e.Mg) > part.Planned
		}
	}
	return false
}

// eventsOf reads the event of a form. A jar that is empty is two: what it
// still had, and that it is empty.
func (s *Server) eventsOf(q *request, x *weighing) ([]store.Event, error) {
	bad := refusal{http.StatusUnprocessableEntity, codeBad, "event_bad"}
	e := store.Event{Key: q.value("key"), Kind: q.value("kind"), Ref: q.value("ref"), Lot: store.ID(q.value("lot")), Of: q.value("of"),
		Note: clip(q.value("note"), 2000), By: clip(q.value("by"), 200), Device: q.device().ID}
	e.Bowl, _ = strconv.Atoi(q.value("bowl"))
	e.Round, _ = strconv.Atoi(q.value("round"))
	if e.Key == "" || len(e.Key) > mostEventKey {
		return nil, bad
	}
	if e.By == "" {
		e.By = x.Who
	}
	switch e.Kind {
	case store.KindPour, store.KindEmpty:
		return s.poursOf(q, x, e)
	case store.KindTakeBack:
		list := []store.Event{{Key: e.Key, Kind: e.Kind, Of: e.Of, By: e.By, Device: e.Device}}
		if of := x.has(e.Of + emptySuffix); of != nil { // the jar was said to be empty with it
			list = append(list, store.Event{Key: e.Key + emptySuffix, Kind: e.Kind, Of: of.Key, By: e.By, Device: e.Device})
		}
		return list, nil
	case string(making.Note):
		if e.Note == "" {
			return nil, refusal{http.StatusUnprocessableEntity, codeBad, "event_no_note"}
		}
		return []store.Event{{Key: e.Key, Kind: e.Kind, Note: e.Note, By: e.By, Ref: e.Ref, Device: e.Device}}, nil
	case string(making.Replan):
		return s.replanOf(q, x, e)
	}
	return nil, bad
}

// emptySuffix makes the key of "the jar is empty" from that of the pour.
const emptySuffix = ".empty"

func (s *Server) poursOf(q *request, x *weighing, e store.Event) ([]store.Event, error) {
	e.Note = ""
	m, err := q.poured()
	if err != nil || m > nutrient.MaxMass || m == 0 && e.Kind == store.KindPour {
		return nil, refusal{http.StatusUnprocessableEntity, codeBad, "event_mass"}
	}
	if err := s.typedRef(q, x, &e); err != nil {
		return nil, err
	}
	switch u := x.Cat.Never(e.Ref); {
	case x.form(e.Ref) != nil:
		e.Ref = x.stock(e.Ref)
	case u != nil && e.Kind == store.KindPour:
		e.Ref = u.Ref()
	default:
		return nil, refusal{http.StatusUnprocessableEntity, codeBad, "event_food"}
	}
	if e.Lot, err = s.lotFor(q, e); err != nil {
		return nil, err
	}
	var list []store.Event
	if m > 0 {
		p := e
		p.Kind, p.Mg, p.Of = store.KindPour, int64(m), ""
		list = append(list, p)
	}
	if e.Kind == store.KindEmpty {
		list = append(list, store.Event{Key: strings.TrimSuffix(e.Key, emptySuffix) + emptySuffix, Kind: store.KindEmpty, Ref: e.Ref, Bowl: e.Bowl, By: e.By, Device: e.Device})
	}
	return list, nil
}

// poured is how much was poured: as told by a script, as typed, or as the
// scale shows it from what it showed before.
func (q *request) poured() (nutrient.Mass, error) {
	if t := q.value("mg"); t != "" && q.value("mass") == "" {
		n, err := strconv.ParseInt(t, 10, 64)
		if err != nil || n < 0 {
			return 0, errNumber
		}
		return nutrient.Mass(n), nil
	}
	t := q.value("mass")
	if t == "" && q.value("kind") == store.KindEmpty {
		return 0, nil
	}
	m, err := q.words.parseMass(t)
	if err != nil || q.value("how") != "shown" {
		return m, err
	}
	before, err := strconv.ParseInt(q.value("before_mg"), 10, 64)
	if err != nil || m < nutrient.Mass(before) {
		return 0, errNumber
	}
	return m - nutrient.Mass(before), nil
}

// lotFor is the lot that a pour is from: the one chosen, or one with the code
// that was typed, which is kept once.
func (s *Server) lotFor(q *request, e store.Event) (store.ID, error) {
	code := clip(q.value("lot_code"), 200)
	if code == "" {
		return s.lotThere(q, e.Lot)
	}
	have, err := s.Store.Lots(q.Context(), store.LotFilter{Ref: e.Ref, Code: code, Most: 1})
	if err != nil {
		return "", err
	}
	if len(have) > 0 {
		return have[0].ID, nil
	}
	l, err := s.Store.SaveLot(q.Context(), store.Lot{Ref: e.Ref, Code: code})
	return l.ID, err
}

// lotThere is a lot that is there, or none: one that was deleted since a page
// was drawn keeps no pour from being kept.
func (s *Server) lotThere(q *request, id store.ID) (store.ID, error) {
	if id == "" {
		return "", nil
	}
	l, err := s.Store.Lot(q.Context(), id)
	if errors.Is(err, store.ErrNotFound) {
		return "", nil
	}
	return l.ID, err
}

// refuse says why an event is not kept: to a script in a word, to a keeper on
// a page from which it can be sent again.
func (s *Server) refuse(q *request, id store.ID, no refusal) error {
	text := q.words.T(no.key)
	if q.wantsJSON() {
		return q.sendJSON(no.status, map[string]string{"error": text, "code": no.code})
	}
	v := refusedView{Making: id, Text: text, Hint: q.words.T(no.key + "_hint"), Twice: no.code == codeTwice, Again: no.code == codeDisk}
	v.Fields = q.sentFields()
	if v.Twice || v.Again {
		if m, err := q.poured(); err == nil {
			v.What = s.pouredWords(q, m)
		}
	}
	return q.show(no.status, "refused", "making", text, v)
}

// refusedView is the page of an event that is not kept.
type refusedView struct {
	Making     store.ID
	Text, Hint string
	What       string
	Twice      bool      // it can be sent as poured besides
	Again      bool      // it can be sent again as it is
	Fields     []addView // as they were sent
}
