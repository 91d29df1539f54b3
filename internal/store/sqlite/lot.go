package sqlite

import (
	"context"
	"fmt"
	"strings"

	"firlot/internal/store"
)

// stands picks the events e that were not taken back.
const stands = "NOT EXISTS (SELECT 1 FROM making_event b WHERE b.making = e.making AND b.undoes = e.key AND b.undoes != '')"

const (
	lotColumns = "id, rev, ref, code, source, bought, best_before, bought_mg, gone, note, made, changed"
	lotPoured  = "(SELECT coalesce(sum(mg), 0) FROM making_event e WHERE e.lot = lot.id AND e.kind = 'pour' AND " + stands + ")"
	pouredInto = "(SELECT coalesce(sum(mg), 0) FROM making_event e WHERE e.making = making.id AND e.kind = 'pour' AND " + stands + ")"
	selectLot  = "SELECT " + lotColumns + ", " + lotPoured + " FROM lot"
	lotRev     = "SELECT rev FROM lot WHERE id = ?"
)

// Lots lists a page of lots, latest made first.
func (s *Store) Lots(ctx context.Context, f store.LotFilter) ([]store.Lot, error) {
	if err := f.Check(); err != nil {
		return nil, err
	}
	var list []store.Lot
	err := s.look(ctx, func(t tx) error {
		text, args, err := t.lotPage(f)
		if err != nil {
			return err
		}
		return t.each(text, args, func(scan func(...any) error) error {
			l, err := scanLot(scan)
			list = append(list, l)
			return err
		})
	})
	if err != nil {
		return nil, err
	}
	return list, nil
}

func (t tx) lotPage(f store.LotFilter) (string, []any, error) {
	q := query{where: "1"}
	q.and(f.Ref != "", "ref = ?", f.Ref)
	q.and(store.Fold(f.Code) != "", "folded_code = ?", store.Fold(f.Code))
	q.and(f.Here, "gone = 0")
	q.and(store.Fold(f.Text) != "", "instr(folded, ?) > 0", store.Fold(f.Text))
	if f.After != "" {
		var made int64
		if err := t.one("SELECT made FROM lot WHERE id = ?", []any{f.After}, &made); err != nil {
			return "", nil, err
		}
		q.and(true, "(made, id) < (?, ?)", made, f.After)
	}
	return selectLot + " WHERE " + q.where + " ORDER BY made DESC, id DESC LIMIT ?", append(q.args, f.Page()), nil
}

// query puts conditions together. Its text is one of a few, so that each can
// stay prepared.
type query struct {
	where string
	args  []any
}

func (q *query) and(asked bool, condition string, args ...any) {
	if asked {
		q.where += " AND " + condition
		q.args = append(q.args, args...)
	}
}

// Lot returns one lot.
func (s *Store) Lot(ctx context.Context, id store.ID) (store.Lot, error) {
	var l store.Lot
	err := s.look(ctx, func(t tx) (err error) {
		l, err = t.lot(id)
		return err
	})
	return l, err
}

func (t tx) lot(id store.ID) (store.Lot, error) {
	return scanLot(func(into ...any) error { return t.one(selectLot+" WHERE id = ?", []any{id}, into...) })
}

func scanLot(scan func(...any) error) (store.Lot, error) {
	var l store.Lot
	var made, changed int64
	err := scan(&l.ID, &l.Rev, &l.Ref, &l.Code, &l.From, &l.Bought, &l.BestBefore, &l.BoughtMg, &l.Gone, &l.Note, &made, &changed, &l.PouredMg)
	if err != nil {
		return store.Lot{}, err
	}
	l.Made, l.Changed = fromMicro(made), fromMicro(changed)
	return l, nil
}

// SaveLot adds or changes a lot.
func (s *Store) SaveLot(ctx context.Context, l store.Lot) (store.Lot, error) {
	if err := l.Check(); err != nil {
		return store.Lot{}, err
	}
	l.BoughtMg = copied(l.BoughtMg)
	err := s.change(ctx, func(t tx) error {
		l.Changed = s.moment()
		if l.ID == "" {
			l.ID, l.Made, l.PouredMg = newID(), l.Changed, 0
			return t.putLot(&l)
		}
		if err := t.holds(lotRev, l.ID, l.Rev); err != nil {
			return err
		}
		has, err := t.lot(l.ID)
		if err != nil {
			return err
		}
		l.Made, l.PouredMg = has.Made, has.PouredMg
		return t.putLot(&l)
	})
	if err != nil {
		return store.Lot{}, err
	}
	return l, nil
}

// putLot writes a lot over what was there, with a new rev.
func (t tx) putLot(l *store.Lot) (err error) {
	if l.Rev, err = t.nextRev(); err != nil {
		return err
	}
	folded := store.Fold(strings.Join([]string{l.Code, l.From, l.Ref}, " "))
	return t.exec(`INSERT INTO lot (`+lotColumns+`, folded_code, folded) VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?)
		ON CONFLICT (id) DO UPDATE SET rev = excluded.rev, ref = excluded.ref, code = excluded.code, source = excluded.source,
			bought = excluded.bought, best_before = excluded.best_before, bought_mg = excluded.bought_mg, gone = excluded.gone,
			note = excluded.note, changed = excluded.changed, folded_code = excluded.folded_code, folded = excluded.folded`,
		l.ID, l.Rev, l.Ref, l.Code, l.From, l.Bought, l.BestBefore, l.BoughtMg, l.Gone, l.Note, toMicro(l.Made), toMicro(l.Changed),
		store.Fold(l.Code), folded)
}

// DeleteLot deletes a lot that no event names.
func (s *Store) DeleteLot(ctx context.Context, id store.ID, rev int64) error {
	return s.change(ctx, func(t tx) error {
		if err := t.holds(lotRev, id, rev); err != nil {
			return err
		}
		var used bool
		if err := t.one("SELECT EXISTS (SELECT 1 FROM making_event WHERE lot = ?)", []any{id}, &used); err != nil {
			return err
		}
		if used {
			return fmt.Errorf("%w: a batch was made from this lot", store.ErrInUse)
		}
		return t.exec("DELETE FROM lot WHERE id = ?", id)
	})
}

// MakingsOfLot tells every batch that a lot went into.
func (s *Store) MakingsOfLot(ctx context.Context, id store.ID) ([]store.LotUse, error) {
	return s.uses(ctx, func(t tx) error { _, err := t.lot(id); return err },
		"e.lot = ?", "m.started DESC, m.id DESC", id)
}

// LotsOfMaking tells every lot that went into a batch.
func (s *Store) LotsOfMaking(ctx context.Context, id store.ID) ([]store.LotUse, error) {
	return s.uses(ctx, func(t tx) error { _, err := t.summary(id); return err },
		"e.making = ? AND e.lot IS NOT NULL", "lot.ref, lot.made, lot.id", id)
}

// uses adds up the pours of one lot in one batch. exists says whether what is
// asked for is there.
func (s *Store) uses(ctx context.Context, exists func(tx) error, where, order string, id store.ID) ([]store.LotUse, error) {
	type pair struct {
		lot, making store.ID
		mg, back    int64
	}
	var list []store.LotUse
	err := s.look(ctx, func(t tx) error {
		if err := exists(t); err != nil {
			return err
		}
		var pairs []pair
		err := t.each(`SELECT e.lot, e.making, sum(iif(`+stands+`, e.mg, 0)), sum(iif(`+stands+`, 0, e.mg))
			FROM making_event e JOIN making m ON m.id = e.making JOIN lot ON lot.id = e.lot
			WHERE e.kind = 'pour' AND `+where+` GROUP BY e.lot, e.making ORDER BY `+order, []any{id},
			func(scan func(...any) error) error {
				var p pair
				err := scan(&p.lot, &p.making, &p.mg, &p.back)
				pairs = append(pairs, p)
				return err
			})
		if err != nil {
			return err
		}
		lots, makings := map[store.ID]store.Lot{}, map[store.ID]store.MakingSummary{}
		for _, p := range pairs {
			if err := once(lots, p.lot, t.lot); err != nil {
				return err
			}
			if err := once(makings, p.making, t.summary); err != nil {
				return err
			}
			list = append(list, store.LotUse{Lot: lots[p.lot], Making: makings[p.making], Mg: p.mg, BackMg: p.back})
		}
		return nil
	})
	if err != nil {
		return nil, err
	}
	return list, nil
}

// once reads a thing that has not been read yet.
func once[T any](known map[store.ID]T, id store.ID, read func(store.ID) (T, error)) (err error) {
	if _, there := known[id]; !there {
		known[id], err = read(id)
	}
	return err
}
