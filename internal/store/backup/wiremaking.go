package backup

import (
	"time"

	"firlot/internal/store"
)

// What format 2 has besides what format 1 had.

type device struct {
	ID     store.ID  `json:"id"`
	Name   string    `json:"name"`
	Paired time.Time `json:"paired"`
	Seen   time.Time `json:"seen"`
}

type lot struct {
	ID         store.ID  `json:"id"`
	Ref        string    `json:"ref"`
	Code       string    `json:"code,omitempty"`
	From       string    `json:"from,omitempty"`
	Bought     string    `json:"bought,omitempty"`
	BestBefore string    `json:"best_before,omitempty"`
	BoughtMg   *int64    `json:"bought_mg,omitempty"`
	Gone       bool      `json:"gone,omitempty"`
	Note       string    `json:"note,omitempty"`
	Made       time.Time `json:"made"`
	Changed    time.Time `json:"changed"`
}

type making struct {
	ID         store.ID   `json:"id"`
	Key        string     `json:"key,omitempty"`
	Mix        store.ID   `json:"mix,omitempty"`
	MixName    string     `json:"mix_name,omitempty"`
	MixVersion int        `json:"mix_version,omitempty"`
	Shelf      store.ID   `json:"shelf,omitempty"`
	Start      string     `json:"start,omitempty"`
	State      string     `json:"state"`
	Lot        string     `json:"lot,omitempty"`
	Who        string     `json:"who,omitempty"`
	Note       string     `json:"note,omitempty"`
	BestBefore string     `json:"best_before,omitempty"`
	Finish     string     `json:"finish,omitempty"`
	Started    time.Time  `json:"started"`
	Finished   *time.Time `json:"finished,omitempty"`
	Changed    time.Time  `json:"changed"`
	Events     int        `json:"events,omitempty"`
}

type event struct {
	Key     string    `json:"key"`
	Kind    string    `json:"kind"`
	Ref     string    `json:"ref,omitempty"`
	Mg      int64     `json:"mg,omitempty"`
	Bowl    int       `json:"bowl,omitempty"`
	Round   int       `json:"round,omitempty"`
	Lot     store.ID  `json:"lot,omitempty"`
	Of      string    `json:"of,omitempty"`
	Plan    string    `json:"plan,omitempty"`
	Note    string    `json:"note,omitempty"`
	Device  store.ID  `json:"device,omitempty"`
	By      string    `json:"by,omitempty"`
	At      time.Time `json:"at"`
	TookMg  int64     `json:"took_mg,omitempty"`
	ShortMg int64     `json:"short_mg,omitempty"`
}

func fromDevice(d store.Device) *device { return &device{d.ID, d.Name, d.Paired, d.Seen} }

func (d device) record() Record {
	return Record{Device: &store.Device{ID: d.ID, Name: d.Name, Revoked: true, Paired: d.Paired.UTC(), Seen: d.Seen.UTC()}}
}

func fromLot(l store.Lot) *lot {
	return &lot{l.ID, l.Ref, l.Code, l.From, l.Bought, l.BestBefore, l.BoughtMg, l.Gone, l.Note, l.Made, l.Changed}
}

func (l lot) record() Record {
	return Record{Lot: &store.Lot{ID: l.ID, Ref: l.Ref, Code: l.Code, From: l.From, Bought: l.Bought, BestBefore: l.BestBefore,
		BoughtMg: l.BoughtMg, Gone: l.Gone, Note: l.Note, Made: l.Made.UTC(), Changed: l.Changed.UTC()}}
}

func fromMaking(m store.Making) *making {
	out := &making{ID: m.ID, Key: m.Key, Mix: m.Mix, MixName: m.MixName, MixVersion: m.MixVersion, Shelf: m.Shelf, Start: m.Start,
		State: m.State, Lot: m.Lot, Who: m.Who, Note: m.Note, BestBefore: m.BestBefore, Finish: m.Finish,
		Started: m.Started, Changed: m.Changed, Events: len(m.Events)}
	if !m.Finished.IsZero() {
		out.Finished = &m.Finished
	}
	return out
}

// record leaves out the events, which follow on lines of their own.
func (m making) record() Record {
	out := &store.Making{ID: m.ID, Key: m.Key, Mix: m.Mix, MixName: m.MixName, MixVersion: m.MixVersion, Shelf: m.Shelf, Start: m.Start,
		State: m.State, Lot: m.Lot, Who: m.Who, Note: m.Note, BestBefore: m.BestBefore, Finish: m.Finish,
		Started: m.Started.UTC(), Changed: m.Changed.UTC()}
	if m.Finished != nil {
		out.Finished = m.Finished.UTC()
	}
	return Record{Making: out}
}

func fromEvent(e store.Event) *event {
	return &event{e.Key, e.Kind, e.Ref, e.Mg, e.Bowl, e.Round, e.Lot, e.Of, e.Plan, e.Note, e.Device, e.By, e.At, e.TookMg, e.ShortMg}
}

// event returns the event at its place in the making.
func (e event) event(seq int64) store.Event {
	return store.Event{Key: e.Key, Seq: seq, Kind: e.Kind, Ref: e.Ref, Mg: e.Mg, Bowl: e.Bowl, Round: e.Round, Lot: e.Lot, Of: e.Of,
		Plan: e.Plan, Note: e.Note, Device: e.Device, By: e.By, At: e.At.UTC(), TookMg: e.TookMg, ShortMg: e.ShortMg}
}
