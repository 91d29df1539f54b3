package backup

import (
	"fmt"
	"strings"
	"time"

	"firlot/internal/store"
)

// set is what has been read so far, as far as later lines are held to it.
type set struct {
	rank     int // of the kind read last, in the order of the format
	settings map[string]bool
	groups   map[store.ID]bool
	shelves  map[store.ID]bool
	mixes    map[store.ID]bool
	last     store.Mix // the mix read last
	seen     int       // versions of it

	devices map[store.ID]bool
	lots    map[store.ID]bool
	makings map[store.ID]bool
	keys    map[string]bool // of makings
	batches map[string]bool // lots of makings, folded
	under   making          // the making read last
	events  map[string]store.Event
	undone  map[string]bool // keys of its events that were taken back
}

func newSet() *set {
	return &set{settings: map[string]bool{}, groups: map[store.ID]bool{}, shelves: map[store.ID]bool{}, mixes: map[store.ID]bool{},
		devices: map[store.ID]bool{}, lots: map[store.ID]bool{}, makings: map[store.ID]bool{},
		keys: map[string]bool{}, batches: map[string]bool{}}
}

// take checks one line and returns what stands on it.
func (s *set) take(l line) (Record, error) {
	switch {
	case l.Setting != nil:
		return s.setting(*l.Setting)
	case l.Group != nil:
		rec := l.Group.record()
		return rec, first(s.order(1), newID(s.groups, rec.Group.ID), rec.Group.Check(), moment(rec.Group.Changed))
	case l.Shelf != nil:
		rec := l.Shelf.record()
		return rec, first(s.order(2), newID(s.shelves, rec.Shelf.ID), rec.Shelf.Check(), moment(rec.Shelf.Changed))
	case l.Mix != nil:
		return s.mix(l.Mix.record())
	case l.Device != nil:
		return s.device(l.Device.record())
	case l.Lot != nil:
		return s.lot(l.Lot.record())
	case l.Making != nil:
		return s.making(*l.Making)
	case l.Event != nil:
		return s.event(*l.Event)
	}
	return s.version(*l.Version)
}

func (s *set) setting(x Setting) (Record, error) {
	if s.settings[x.Name] {
		return Record{}, invalid("setting %q stands there twice", x.Name)
	}
	s.settings[x.Name] = true
	return Record{Setting: &x}, first(s.order(0), store.CheckSetting(x.Name, x.Value))
}

func (s *set) mix(rec Record) (Record, error) {
	m := *rec.Mix
	err := first(s.close(), s.order(3), newID(s.mixes, m.ID), m.Check(), moment(m.Made), moment(m.Changed))
	switch {
	case err != nil:
	case m.Group != "" && !s.groups[m.Group]:
		err = invalid("mix for a group that is not there")
	case m.Shelf != "" && !s.shelves[m.Shelf]:
		err = invalid("mix for a shelf that is not there")
	case m.Version < 0:
		err = invalid("mix of %d versions", m.Version)
	}
	s.last, s.seen = m, 0
	return rec, err
}

func (s *set) version(v version) (Record, error) {
	if s.last.ID == "" || s.rank != 3 {
		return Record{}, invalid("version without a mix")
	}
	s.seen++
	if s.seen > s.last.Version {
		return Record{}, invalid("more versions than the mix says")
	}
	out := store.Version{Mix: s.last.ID, Number: s.seen, Document: v.Document, Note: v.Note, At: v.At.UTC()}
	// A version is a document that could be kept.
	doc := store.Mix{Name: s.last.Name, Document: v.Document}
	return Record{Version: &out}, first(doc.Check(), store.CheckNote(v.Note), moment(out.At))
}

// close says whether the last mix has all its versions and the last making all
// its events.
func (s *set) close() error {
	if len(s.events) != s.under.Events {
		return invalid("making with %d events of %d", len(s.events), s.under.Events)
	}
	if s.seen != s.last.Version {
		return invalid("mix with %d versions of %d", s.seen, s.last.Version)
	}
	return nil
}

func (s *set) order(rank int) error {
	if rank < s.rank {
		return invalid("not in the order of the format")
	}
	s.rank = rank
	return nil
}

// idBytes are what IDs are made of: nothing that means something in an address
// or on a page.
const idBytes = "0123456789ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz-_"

func newID(seen map[store.ID]bool, id store.ID) error {
	if len(id) == 0 || len(id) > 64 {
		return invalid("an ID of %d bytes", len(id))
	}
	for _, c := range []byte(id) {
		if !strings.ContainsRune(idBytes, rune(c)) {
			return invalid("an ID with byte %#x", c)
		}
	}
	if seen[id] {
		return invalid("ID %s stands there twice", id)
	}
	seen[id] = true
	return nil
}

// moment lets through the times that can be kept and written again.
func moment(t time.Time) error {
	if t.Year() < 1 || t.Year() > 9999 || !t.Equal(t.Truncate(time.Microsecond)) {
		return invalid("time %v", t)
	}
	return nil
}

func first(errs ...error) error {
	for _, err := range errs {
		if err != nil {
			return err
		}
	}
	return nil
}

func invalid(format string, args ...any) error {
	return fmt.Errorf("%w: %s", store.ErrInvalid, fmt.Sprintf(format, args...))
}
