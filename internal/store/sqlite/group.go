package sqlite

import (
	"context"

	"firlot/internal/store"
)

const groupColumns = "id, rev, name, species, stage, born, animals, note, windows, feeding, archived, changed"

// Groups lists the groups by name.
func (s *Store) Groups(ctx context.Context) ([]store.Group, error) {
	var list []store.Group
	err := s.look(ctx, func(t tx) (err error) {
		list, err = t.groups()
		return err
	})
	return list, err
}

func (t tx) groups() ([]store.Group, error) {
	var list []store.Group
	err := t.each("SELECT "+groupColumns+" FROM feeding_group ORDER BY folded, name, id", nil, func(scan func(...any) error) error {
		g, err := scanGroup(scan)
		list = append(list, g)
		return err
	})
	return list, err
}

// Group returns one group.
func (s *Store) Group(ctx context.Context, id store.ID) (store.Group, error) {
	var g store.Group
	err := s.look(ctx, func(t tx) (err error) {
		g, err = scanGroup(func(into ...any) error {
			return t.one("SELECT "+groupColumns+" FROM feeding_group WHERE id = ?", []any{id}, into...)
		})
		return err
	})
	return g, err
}

func scanGroup(scan func(...any) error) (store.Group, error) {
	var g store.Group
	var changed int64
	err := scan(&g.ID, &g.Rev, &g.Name, &g.Species, &g.Stage, &g.Born, &g.Animals, &g.Note, &g.Windows, &g.Feeding, &g.Archived, &changed)
	if err != nil {
		return store.Group{}, err
	}
	g.Changed = fromMicro(changed)
	return g, nil
}

// SaveGroup adds or changes a group.
func (s *Store) SaveGroup(ctx context.Context, g store.Group) (store.Group, error) {
	if err := g.Check(); err != nil {
		return store.Group{}, err
	}
	err := s.change(ctx, func(t tx) (err error) {
		if g.ID == "" {
			g.ID = newID()
		} else if err := t.holds(groupRev, g.ID, g.Rev); err != nil {
			return err
		}
		g.Changed = s.moment()
		g.Rev, err = t.putGroup(g)
		return err
	})
	if err != nil {
		return store.Group{}, err
	}
	return g, nil
}

const groupRev = "SELECT rev FROM feeding_group WHERE id = ?"

// putGroup writes a group over what was there and returns its new rev.
func (t tx) putGroup(g store.Group) (int64, error) {
	rev, err := t.nextRev()
	if err != nil {
		return 0, err
	}
	return rev, t.exec(`INSERT INTO feeding_group (`+groupColumns+`, folded) VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?)
		ON CONFLICT (id) DO UPDATE SET rev = excluded.rev, name = excluded.name, folded = excluded.folded,
			species = excluded.species, stage = excluded.stage, born = excluded.born, animals = excluded.animals,
			note = excluded.note, windows = excluded.windows, feeding = excluded.feeding, archived = excluded.archived, changed = excluded.changed`,
		g.ID, rev, g.Name, g.Species, g.Stage, g.Born, g.Animals, g.Note, g.Windows, g.Feeding, g.Archived, toMicro(g.Changed), store.Fold(g.Name))
}

// DeleteGroup deletes a group; its mixes stay.
func (s *Store) DeleteGroup(ctx context.Context, id store.ID, rev int64) error {
	return s.change(ctx, func(t tx) error {
		if err := t.holds(groupRev, id, rev); err != nil {
			return err
		}
		if err := t.letGo("UPDATE mix SET grp = NULL, rev = ? WHERE grp = ?", id); err != nil {
			return err
		}
		return t.exec("DELETE FROM feeding_group WHERE id = ?", id)
	})
}

// letGo takes a group, a shelf or a mix away from what names it, which thereby
// changes.
func (t tx) letGo(update string, id store.ID) error {
	rev, err := t.nextRev()
	if err != nil {
		return err
	}
	return t.exec(update, rev, id)
}
