package sqlite

import (
	"context"
	"database/sql"
	"errors"
	"fmt"
	"strings"
	"time"

	"firlot/internal/store"
)

const (
	makingColumns = `id, rev, key, coalesce(mix, ''), mix_name, mix_version, coalesce(shelf, ''), state, lot, who, note,
		best_before, started, finished, changed, events, poured_mg`
	makingRev = "SELECT rev FROM making WHERE id = ?"
)

// made is a making with what its row knows of the events, and without them.
type made struct {
	store.Making
	events   int
	pouredMg int64
}

func (m made) summary() store.MakingSummary {
	return store.MakingSummary{ID: m.ID, Rev: m.Rev, Mix: m.Mix, MixName: m.MixName, MixVersion: m.MixVersion, Shelf: m.Shelf,
		State: m.State, Lot: m.Lot, Who: m.Who, Note: m.Note, BestBefore: m.BestBefore, PouredMg: m.pouredMg, Events: m.events,
		Started: m.Started, Finished: m.Finished, Changed: m.Changed}
}

// Makings lists a page of makings, latest start first.
func (s *Store) Makings(ctx context.Context, f store.MakingFilter) ([]store.MakingSummary, error) {
	if err := f.Check(); err != nil {
		return nil, err
	}
	var list []store.MakingSummary
	err := s.look(ctx, func(t tx) error {
		text, args, err := t.makingPage(f)
		if err != nil {
			return err
		}
		return t.each(text, args, func(scan func(...any) error) error {
			m, err := scanMaking(scan)
			list = append(list, m.summary())
			return err
		})
	})
	if err != nil {
		return nil, err
	}
	return list, nil
}

func (t tx) makingPage(f store.MakingFilter) (string, []any, error) {
	q := query{where: "1"}
	q.and(f.State != "", "state = ?", f.State)
	q.and(f.Mix != "", "mix = ?", f.Mix)
	q.and(f.Shelf != "", "shelf = ?", f.Shelf)
	q.and(store.Fold(f.Lot) != "", "folded_lot = ? AND folded_lot != ''", store.Fold(f.Lot))
	q.and(store.Fold(f.Text) != "", "instr(folded, ?) > 0", store.Fold(f.Text))
	if !f.Since.IsZero() {
		q.and(true, "started >= ?", toMicro(f.Since))
	}
	if !f.Until.IsZero() {
		q.and(true, "started < ?", toMicro(f.Until))
	}
	if f.After != "" {
		var started int64
		if err := t.one("SELECT started FROM making WHERE id = ?", []any{f.After}, &started); err != nil {
			return "", nil, err
		}
		q.and(true, "(started, id) < (?, ?)", started, f.After)
	}
	text := "SELECT " + makingColumns + " FROM making WHERE " + q.where + " ORDER BY started DESC, id DESC LIMIT ?"
	return text, append(q.args, f.Page()), nil
}

func scanMaking(scan func(...any) error) (made, error) {
	var m made
	var started, changed int64
	var finished sql.NullInt64
	err := scan(&m.ID, &m.Rev, &m.Key, &m.Mix, &m.MixName, &m.MixVersion, &m.Shelf, &m.State, &m.Lot, &m.Who, &m.Note,
		&m.BestBefore, &started, &finished, &changed, &m.events, &m.pouredMg)
	if err != nil {
		return made{}, err
	}
	m.Started, m.Changed = fromMicro(started), fromMicro(changed)
	if finished.Valid {
		m.Finished = fromMicro(finished.Int64)
	}
	return m, nil
}

// row returns a making as its row has it: without documents and events.
func (t tx) row(id store.ID) (made, error) {
	return scanMaking(func(into ...any) error {
		return t.one("SELECT "+makingColumns+" FROM making WHERE id = ?", []any{id}, into...)
	})
}

func (t tx) summary(id store.ID) (store.MakingSummary, error) {
	m, err := t.row(id)
	return m.summary(), err
}

// Making returns one making with its events.
func (s *Store) Making(ctx context.Context, id store.ID) (store.Making, error) {
	var m store.Making
	err := s.look(ctx, func(t tx) (err error) {
		m, err = t.making(id)
		return err
	})
	return m, err
}

func (t tx) making(id store.ID) (store.Making, error) {
	m, err := t.row(id)
	if err != nil {
		return store.Making{}, err
	}
	if err := t.one("SELECT start, finish FROM making_document WHERE making = ?", []any{id}, &m.Start, &m.Finish); err != nil {
		return store.Making{}, err
	}
	m.Events, err = t.events(id)
	return m.Making, err
}

// StartMaking adds a making, once for each key.
func (s *Store) StartMaking(ctx context.Context, m store.Making) (store.Making, error) {
	if err := m.Check(); err != nil {
		return store.Making{}, err
	}
	var out store.Making
	err := s.change(ctx, func(t tx) error {
		has, err := t.startedAs(m.Key)
		if err == nil {
			if out, err = t.making(has); err == nil && out.Start != m.Start {
				return fmt.Errorf("%w: another making was started with this key", store.ErrConflict)
			}
			return err
		}
		if !errors.Is(err, sql.ErrNoRows) {
			return err
		}
		now := s.moment()
		out = store.Making{ID: newID(), Key: m.Key, Mix: m.Mix, MixName: m.MixName, MixVersion: m.MixVersion, Shelf: m.Shelf,
			Start: m.Start, State: store.StateOpen, Lot: m.Lot, Who: m.Who, Note: m.Note, BestBefore: m.BestBefore,
			Started: now, Changed: now}
		if err := t.placesOf(out); err != nil {
			return err
		}
		return t.addMaking(&made{Making: out}, &out.Rev)
	})
	if err != nil {
		return store.Making{}, err
	}
	return out, nil
}

// startedAs finds the making that was started with a key.
func (t tx) startedAs(key string) (store.ID, error) {
	var id store.ID
	if key == "" {
		return "", sql.ErrNoRows
	}
	err := t.one("SELECT id FROM making WHERE key = ? AND key != ''", []any{key}, &id)
	return id, err
}

// placesOf says whether the mix and the shelf of a making are there and its
// lot is free.
func (t tx) placesOf(m store.Making) error {
	var mix, shelf bool
	err := t.one("SELECT EXISTS (SELECT 1 FROM mix WHERE id = ?), EXISTS (SELECT 1 FROM shelf WHERE id = ?)",
		[]any{m.Mix, m.Shelf}, &mix, &shelf)
	switch {
	case err != nil:
		return err
	case m.Mix != "" && !mix:
		return fmt.Errorf("%w: making: its mix is not there", store.ErrInvalid)
	case m.Shelf != "" && !shelf:
		return fmt.Errorf("%w: making: its shelf is not there", store.ErrInvalid)
	}
	return t.freeLot(m)
}

// freeLot says whether no other making has the lot of a making.
func (t tx) freeLot(m store.Making) error {
	folded := store.Fold(m.Lot)
	if folded == "" {
		return nil
	}
	var taken bool
	err := t.one("SELECT EXISTS (SELECT 1 FROM making WHERE folded_lot = ? AND folded_lot != '' AND id != ?)", []any{folded, m.ID}, &taken)
	if err == nil && taken {
		err = fmt.Errorf("%w: lot %q is another batch's", store.ErrTaken, m.Lot)
	}
	return err
}

// addMaking writes a new making, without events, and gives it a rev.
func (t tx) addMaking(m *made, rev *int64) (err error) {
	if *rev, err = t.nextRev(); err != nil {
		return err
	}
	err = t.exec(`INSERT INTO making (id, rev, key, mix, mix_name, mix_version, shelf, state, lot, folded_lot, folded, who, note,
			best_before, started, finished, changed, events, poured_mg)
		VALUES (?, ?, ?, nullif(?, ''), ?, ?, nullif(?, ''), ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, 0, 0)`,
		m.ID, *rev, m.Key, m.Mix, m.MixName, m.MixVersion, m.Shelf, m.State, m.Lot, store.Fold(m.Lot), searched(m.Making), m.Who, m.Note,
		m.BestBefore, toMicro(m.Started), m.finished(), toMicro(m.Changed))
	if err != nil {
		return err
	}
	return t.exec("INSERT INTO making_document (making, start, finish) VALUES (?, ?, ?)", m.ID, m.Start, m.Finish)
}

// searched is what a search looks through.
func searched(m store.Making) string {
	return store.Fold(strings.Join([]string{m.MixName, m.Lot, m.Who}, " "))
}

func (m made) finished() any {
	if m.State == store.StateOpen {
		return nil
	}
	return toMicro(m.Finished)
}

// alterMaking changes what may be changed of a making by its rev, and returns
// it with its events.
func (s *Store) alterMaking(ctx context.Context, id store.ID, rev int64, do func(*made) error) (store.Making, error) {
	var out store.Making
	err := s.change(ctx, func(t tx) error {
		if err := t.holds(makingRev, id, rev); err != nil {
			return err
		}
		m, err := t.row(id)
		if err != nil {
			return err
		}
		if err := t.one("SELECT finish FROM making_document WHERE making = ?", []any{id}, &m.Finish); err != nil {
			return err
		}
		m.Changed = s.moment()
		switch err := do(&m); {
		case errors.Is(err, errAsItIs):
			out, err = t.making(id)
			return err
		case err != nil:
			return err
		}
		if err := t.freeLot(m.Making); err != nil {
			return err
		}
		if err := t.updateMaking(&m); err != nil {
			return err
		}
		out, err = t.making(id)
		return err
	})
	if err != nil {
		return store.Making{}, err
	}
	return out, nil
}

// errAsItIs says that there is nothing to change.
var errAsItIs = errors.New("as it is")

func (t tx) updateMaking(m *made) (err error) {
	if m.Rev, err = t.nextRev(); err != nil {
		return err
	}
	err = t.exec(`UPDATE making SET rev = ?, state = ?, lot = ?, folded_lot = ?, folded = ?, who = ?, note = ?, best_before = ?,
			finished = ?, changed = ? WHERE id = ?`,
		m.Rev, m.State, m.Lot, store.Fold(m.Lot), searched(m.Making), m.Who, m.Note, m.BestBefore, m.finished(), toMicro(m.Changed), m.ID)
	if err != nil {
		return err
	}
	return t.exec("UPDATE making_document SET finish = ? WHERE making = ?", m.Finish, m.ID)
}

// SaveMaking changes the words beside a making.
func (s *Store) SaveMaking(ctx context.Context, m store.Making) (store.Making, error) {
	if err := m.Check(); err != nil {
		return store.Making{}, err
	}
	return s.alterMaking(ctx, m.ID, m.Rev, func(has *made) error {
		has.words(m)
		return nil
	})
}

func (m *made) words(from store.Making) {
	m.Lot, m.Who, m.Note, m.BestBefore = from.Lot, from.Who, from.Note, from.BestBefore
}

// FinishMaking closes a making as a batch.
func (s *Store) FinishMaking(ctx context.Context, m store.Making) (store.Making, error) {
	if err := m.Check(); err != nil {
		return store.Making{}, err
	}
	return s.alterMaking(ctx, m.ID, m.Rev, func(has *made) error {
		has.words(m)
		has.Finish = m.Finish
		return has.end(store.StateFinished)
	})
}

// LeaveMaking closes a making that comes to no batch.
func (s *Store) LeaveMaking(ctx context.Context, id store.ID, rev int64) (store.Making, error) {
	return s.alterMaking(ctx, id, rev, func(has *made) error { return has.end(store.StateLeft) })
}

func (m *made) end(state string) error {
	if m.State != store.StateOpen {
		return store.ErrNotOpen
	}
	m.State, m.Finished = state, m.Changed
	return nil
}

// ReopenMaking opens a making again.
func (s *Store) ReopenMaking(ctx context.Context, id store.ID, rev int64) (store.Making, error) {
	return s.alterMaking(ctx, id, rev, func(has *made) error {
		if has.State == store.StateOpen {
			return errAsItIs
		}
		has.State, has.Finish, has.Finished = store.StateOpen, "", time.Time{}
		return nil
	})
}

// DeleteMaking deletes a making in which nothing stands as poured.
func (s *Store) DeleteMaking(ctx context.Context, id store.ID, rev int64) error {
	return s.change(ctx, func(t tx) error {
		if err := t.holds(makingRev, id, rev); err != nil {
			return err
		}
		var poured bool
		err := t.one("SELECT EXISTS (SELECT 1 FROM making_event e WHERE making = ? AND kind = 'pour' AND "+stands+")", []any{id}, &poured)
		if err != nil {
			return err
		}
		if poured {
			return fmt.Errorf("%w: something was poured in this making", store.ErrInUse)
		}
		return t.exec("DELETE FROM making WHERE id = ?", id)
	})
}
