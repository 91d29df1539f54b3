package sqlite

import (
	"context"
	"slices"

	"firlot/internal/store"
)

const (
	shelfColumns = "id, rev, name, place, note, own, changed"
	itemColumns  = "shelf, ref, can_have, on_hand, price, pack_mg, pack_cost, note"
	shelfRev     = "SELECT rev FROM shelf WHERE id = ?"
)

// Shelves lists the shelves by name, with their items.
func (s *Store) Shelves(ctx context.Context) ([]store.Shelf, error) {
	var list []store.Shelf
	err := s.look(ctx, func(t tx) (err error) {
		list, err = t.shelves()
		return err
	})
	return list, err
}

func (t tx) shelves() ([]store.Shelf, error) {
	var list []store.Shelf
	place := map[store.ID]int{}
	err := t.each("SELECT "+shelfColumns+" FROM shelf ORDER BY folded, name, id", nil, func(scan func(...any) error) error {
		sh, err := scanShelf(scan)
		place[sh.ID] = len(list)
		list = append(list, sh)
		return err
	})
	if err != nil {
		return nil, err
	}
	err = t.each("SELECT "+itemColumns+" FROM shelf_item ORDER BY shelf, at", nil, func(scan func(...any) error) error {
		id, it, err := scanItem(scan)
		if err != nil {
			return err
		}
		sh := &list[place[id]]
		sh.Items = append(sh.Items, it)
		return nil
	})
	if err != nil {
		return nil, err
	}
	return list, nil
}

// Shelf returns one shelf with its items.
func (s *Store) Shelf(ctx context.Context, id store.ID) (store.Shelf, error) {
	var sh store.Shelf
	err := s.look(ctx, func(t tx) (err error) {
		sh, err = scanShelf(func(into ...any) error {
			return t.one("SELECT "+shelfColumns+" FROM shelf WHERE id = ?", []any{id}, into...)
		})
		if err != nil {
			return err
		}
		return t.each("SELECT "+itemColumns+" FROM shelf_item WHERE shelf = ? ORDER BY at", []any{id}, func(scan func(...any) error) error {
			_, it, err := scanItem(scan)
			sh.Items = append(sh.Items, it)
			return err
		})
	})
	if err != nil {
		return store.Shelf{}, err
	}
	return sh, nil
}

func scanShelf(scan func(...any) error) (store.Shelf, error) {
	var sh store.Shelf
	var changed int64
	if err := scan(&sh.ID, &sh.Rev, &sh.Name, &sh.Place, &sh.Note, &sh.Own, &changed); err != nil {
		return store.Shelf{}, err
	}
	sh.Changed = fromMicro(changed)
	return sh, nil
}

func scanItem(scan func(...any) error) (shelf store.ID, it store.Item, err error) {
	err = scan(&shelf, &it.Ref, &it.CanHave, &it.OnHand, &it.Price, &it.PackMg, &it.PackCost, &it.Note)
	return shelf, it, err
}

// SaveShelf adds or changes a shelf.
func (s *Store) SaveShelf(ctx context.Context, sh store.Shelf) (store.Shelf, error) {
	if err := sh.Check(); err != nil {
		return store.Shelf{}, err
	}
	sh.Items = copyItems(sh.Items)
	err := s.change(ctx, func(t tx) (err error) {
		if sh.ID == "" {
			sh.ID = newID()
		} else if err := t.holds(shelfRev, sh.ID, sh.Rev); err != nil {
			return err
		}
		sh.Changed = s.moment()
		sh.Rev, err = t.putShelf(sh)
		return err
	})
	if err != nil {
		return store.Shelf{}, err
	}
	return sh, nil
}

// copyItems copies items with what they point to.
func copyItems(items []store.Item) []store.Item {
	items = slices.Clone(items)
	for i := range items {
		it := &items[i]
		it.OnHand, it.PackMg = copied(it.OnHand), copied(it.PackMg)
		it.Price, it.PackCost = copied(it.Price), copied(it.PackCost)
	}
	return items
}

func copied[T any](p *T) *T {
	if p == nil {
		return nil
	}
	v := *p
	return &v
}

// putShelf writes a shelf and its items over what was there.
func (t tx) putShelf(sh store.Shelf) (int64, error) {
	rev, err := t.nextRev()
	if err != nil {
		return 0, err
	}
	err = t.exec(`INSERT INTO shelf (`+shelfColumns+`, folded) VALUES (?, ?, ?, ?, ?, ?, ?, ?)
		ON CONFLICT (id) DO UPDATE SET rev = excluded.rev, name = excluded.name, folded = excluded.folded,
			place = excluded.place, note = excluded.note, own = excluded.own, changed = excluded.changed`,
		sh.ID, rev, sh.Name, sh.Place, sh.Note, sh.Own, toMicro(sh.Changed), store.Fold(sh.Name))
	if err != nil {
		return 0, err
	}
	if err := t.exec("DELETE FROM shelf_item WHERE shelf = ?", sh.ID); err != nil {
		return 0, err
	}
	for at, it := range sh.Items {
		err := t.exec("INSERT INTO shelf_item ("+itemColumns+", at) VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?)",
			sh.ID, it.Ref, it.CanHave, it.OnHand, it.Price, it.PackMg, it.PackCost, it.Note, at)
		if err != nil {
			return 0, err
		}
	}
	return rev, nil
}

// DeleteShelf deletes a shelf and its items; its mixes stay.
func (s *Store) DeleteShelf(ctx context.Context, id store.ID, rev int64) error {
	return s.change(ctx, func(t tx) error {
		if err := t.holds(shelfRev, id, rev); err != nil {
			return err
		}
		for _, from := range []string{"mix", "making"} {
			if err := t.letGo("UPDATE "+from+" SET shelf = NULL, rev = ? WHERE shelf = ?", id); err != nil {
				return err
			}
		}
		return t.exec("DELETE FROM shelf WHERE id = ?", id)
	})
}
