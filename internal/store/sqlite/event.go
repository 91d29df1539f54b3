package sqlite

import (
	"context"
	"database/sql"
	"errors"
	"fmt"

	"firlot/internal/store"
)

const eventColumns = `seq, key, kind, ref, mg, bowl, round, coalesce(lot, ''), undoes, plan, note, coalesce(device, ''), person, at, took_mg, short_mg`

func (t tx) events(making store.ID) ([]store.Event, error) {
	var list []store.Event
	err := t.eachEvent(making, func(e store.Event) error {
		list = append(list, e)
		return nil
	})
	return list, err
}

// eachEvent hands over the events of a making in their order.
func (t tx) eachEvent(making store.ID, do func(store.Event) error) error {
	return t.each("SELECT "+eventColumns+" FROM making_event WHERE making = ? ORDER BY seq", []any{making}, func(scan func(...any) error) error {
		e, err := scanEvent(scan)
		if err != nil {
			return err
		}
		return do(e)
	})
}

func (t tx) event(making store.ID, key string) (store.Event, error) {
	return scanEvent(func(into ...any) error {
		return t.one("SELECT "+eventColumns+" FROM making_event WHERE making = ? AND key = ?", []any{making, key}, into...)
	})
}

func scanEvent(scan func(...any) error) (store.Event, error) {
	var e store.Event
	var at int64
	err := scan(&e.Seq, &e.Key, &e.Kind, &e.Ref, &e.Mg, &e.Bowl, &e.Round, &e.Lot, &e.Of, &e.Plan, &e.Note, &e.Device, &e.By, &at, &e.TookMg, &e.ShortMg)
	if err != nil {
		return store.Event{}, err
	}
	e.At = fromMicro(at)
	return e, nil
}

// AppendEvent adds an event to an open making, once for each key, together
// with what it does to the shelf.
func (s *Store) AppendEvent(ctx context.Context, making store.ID, e store.Event) (store.Making, error) {
	return s.AppendEventIf(ctx, making, e, func(store.Making) error { return nil })
}

// AppendEventIf does so if the making with the event fits.
func (s *Store) AppendEventIf(ctx context.Context, making store.ID, e store.Event, fits func(store.Making) error) (store.Making, error) {
	if err := e.Check(); err != nil {
		return store.Making{}, err
	}
	var out store.Making
	err := s.change(ctx, func(t tx) error {
		m, err := t.row(making)
		if err != nil {
			return err
		}
		switch has, err := t.event(making, e.Key); {
		case err == nil && !has.SameContent(e):
			return fmt.Errorf("%w: another event has this key", store.ErrConflict)
		case errors.Is(err, sql.ErrNoRows):
			if err := t.happen(&m, e, s); err != nil {
				return err
			}
			if out, err = t.making(making); err != nil {
				return err
			}
			return fits(out)
		case err != nil:
			return err
		}
		out, err = t.making(making)
		return err
	})
	if err != nil {
		return store.Making{}, err
	}
	return out, nil
}

// happen adds an event that is not there yet.
func (t tx) happen(m *made, e store.Event, s *Store) error {
	if m.State != store.StateOpen {
		return store.ErrNotOpen
	}
	if m.events >= store.MostEvents {
		return fmt.Errorf("%w: a making of more than %d events", store.ErrInvalid, store.MostEvents)
	}
	if err := t.namedBy(e); err != nil {
		return err
	}
	undone, err := t.undone(m.ID, e)
	if err != nil {
		return err
	}
	e.At = s.moment()
	if err := t.draw(m, &e, undone); err != nil {
		return err
	}
	m.events++
	e.Seq = int64(m.events)
	if err := t.putEvent(m.ID, e); err != nil {
		return err
	}
	switch {
	case e.Kind == store.KindPour:
		m.pouredMg += e.Mg
	case undone.Kind == store.KindPour:
		m.pouredMg -= undone.Mg
	}
	rev, err := t.nextRev()
	if err != nil {
		return err
	}
	return t.exec("UPDATE making SET rev = ?, changed = ?, events = ?, poured_mg = ? WHERE id = ?", rev, toMicro(e.At), m.events, m.pouredMg, m.ID)
}

// namedBy says whether the lot and the device of an event are there.
func (t tx) namedBy(e store.Event) error {
	var lot, device bool
	err := t.one("SELECT EXISTS (SELECT 1 FROM lot WHERE id = ?), EXISTS (SELECT 1 FROM device WHERE id = ?)", []any{e.Lot, e.Device}, &lot, &device)
	switch {
	case err != nil:
		return err
	case e.Lot != "" && !lot:
		return fmt.Errorf("%w: event: its lot is not there", store.ErrInvalid)
	case e.Device != "" && !device:
		return fmt.Errorf("%w: event: its device is not there", store.ErrInvalid)
	}
	return nil
}

// undone returns the event that a take-back takes back; none for other kinds.
func (t tx) undone(making store.ID, e store.Event) (store.Event, error) {
	if e.Kind != store.KindTakeBack {
		return store.Event{}, nil
	}
	of, err := t.event(making, e.Of)
	if errors.Is(err, sql.ErrNoRows) {
		return store.Event{}, fmt.Errorf("%w: event: %q is not there to be taken back", store.ErrInvalid, e.Of)
	}
	if err != nil {
		return store.Event{}, err
	}
	if of.Kind == store.KindTakeBack {
		return store.Event{}, fmt.Errorf("%w: event: a take-back is not taken back", store.ErrInvalid)
	}
	var before bool
	err = t.one("SELECT EXISTS (SELECT 1 FROM making_event WHERE making = ? AND undoes = ? AND undoes != '')", []any{making, e.Of}, &before)
	if err == nil && before {
		err = fmt.Errorf("%w: %q", store.ErrTakenBack, e.Of)
	}
	return of, err
}

func (t tx) putEvent(making store.ID, e store.Event) error {
	return t.exec(`INSERT INTO making_event (making, seq, key, kind, ref, mg, bowl, round, lot, undoes, plan, note, device, person, at, took_mg, short_mg)
		VALUES (?, ?, ?, ?, ?, ?, ?, ?, nullif(?, ''), ?, ?, ?, nullif(?, ''), ?, ?, ?, ?)`,
		making, e.Seq, e.Key, e.Kind, e.Ref, e.Mg, e.Bowl, e.Round, e.Lot, e.Of, e.Plan, e.Note, e.Device, e.By, toMicro(e.At), e.TookMg, e.ShortMg)
}

// draw changes the shelf's count by what an event took or gives back, and
// notes both in the event. Where nothing is counted, nothing changes.
func (t tx) draw(m *made, e *store.Event, undone store.Event) error {
	ref := e.Ref
	if e.Kind == store.KindTakeBack {
		ref = undone.Ref
	}
	var had *int64
	err := t.one("SELECT on_hand FROM shelf_item WHERE shelf = ? AND ref = ?", []any{m.Shelf, ref}, &had)
	if errors.Is(err, sql.ErrNoRows) {
		return nil
	}
	if err != nil || had == nil {
		return err
	}
	switch e.Kind {
	case store.KindPour:
		e.TookMg = min(e.Mg, *had)
		e.ShortMg = e.Mg - e.TookMg
	case store.KindEmpty:
		e.TookMg = max(*had-e.Mg, 0)
	case store.KindTakeBack:
		e.TookMg = max(-undone.TookMg, *had-store.MostMg) // no count is above MostMg
	}
	if e.TookMg == 0 {
		return nil
	}
	return t.setCount(m.Shelf, ref, *had-e.TookMg, toMicro(e.At))
}

// setCount writes a count and gives the shelf a new rev, so that what was read
// before cannot be saved over it.
func (t tx) setCount(shelf store.ID, ref string, mg, at int64) error {
	if err := t.exec("UPDATE shelf_item SET on_hand = ? WHERE shelf = ? AND ref = ?", mg, shelf, ref); err != nil {
		return err
	}
	rev, err := t.nextRev()
	if err != nil {
		return err
	}
	return t.exec("UPDATE shelf SET rev = ?, changed = ? WHERE id = ?", rev, at, shelf)
}
