package sqlite

import (
	"context"
	"fmt"

	"firlot/internal/store"
)

// mixColumns are read and written in this order, see fields.
const mixColumns = "id, rev, name, grp, shelf, archived, version, made, changed, at, oldest, newest"

// kept is a mix with the place of its document among its steps.
type kept struct {
	store.Mix
	at, oldest, newest int64
}

// mix returns what callers see of it.
func (k kept) mix() store.Mix {
	m := k.Mix
	m.CanUndo, m.CanRedo = k.at > k.oldest, k.at < k.newest
	return m
}

// Mix returns one mix.
func (s *Store) Mix(ctx context.Context, id store.ID) (store.Mix, error) {
	var k kept
	err := s.look(ctx, func(t tx) (err error) {
		k, err = t.mix(id)
		return err
	})
	return k.mix(), err
}

func (t tx) mix(id store.ID) (kept, error) {
	var k kept
	var made, changed int64
	err := t.one(`SELECT id, rev, name, coalesce(grp, ''), coalesce(shelf, ''), archived, version, made, changed, at, oldest, newest, document
		FROM mix JOIN mix_step ON mix_step.mix = mix.id AND number = at WHERE id = ?`, []any{id},
		&k.ID, &k.Rev, &k.Name, &k.Group, &k.Shelf, &k.Archived, &k.Version, &made, &changed, &k.at, &k.oldest, &k.newest, &k.Document)
	if err != nil {
		return kept{}, err
	}
	k.Made, k.Changed = fromMicro(made), fromMicro(changed)
	return k, nil
}

// mixAt returns a mix for changing, if it still has the caller's rev.
func (t tx) mixAt(id store.ID, rev int64) (kept, error) {
	k, err := t.mix(id)
	if err == nil && k.Rev != rev {
		return kept{}, store.ErrConflict
	}
	return k, err
}

// SaveMix adds or changes a mix.
func (s *Store) SaveMix(ctx context.Context, m store.Mix) (store.Mix, error) {
	if err := m.Check(); err != nil {
		return store.Mix{}, err
	}
	if m.ID == "" {
		return s.addMix(ctx, m)
	}
	return s.alter(ctx, m.ID, m.Rev, func(t tx, k *kept) error {
		if err := t.knows(m); err != nil {
			return err
		}
		k.Name, k.Group, k.Shelf, k.Archived = m.Name, m.Group, m.Shelf, m.Archived
		if k.Document == m.Document {
			return nil
		}
		k.Document = m.Document
		return t.step(k)
	})
}

func (s *Store) addMix(ctx context.Context, m store.Mix) (store.Mix, error) {
	now := s.moment()
	k := kept{Mix: store.Mix{ID: newID(), Name: m.Name, Group: m.Group, Shelf: m.Shelf, Document: m.Document,
		Archived: m.Archived, Made: now, Changed: now}}
	err := s.change(ctx, func(t tx) error {
		if err := t.knows(m); err != nil {
			return err
		}
		if err := t.putMix(&k); err != nil {
			return err
		}
		return t.putStep(k)
	})
	if err != nil {
		return store.Mix{}, err
	}
	return k.mix(), nil
}

// alter changes one mix, gives it a new rev and the time, and returns it.
func (s *Store) alter(ctx context.Context, id store.ID, rev int64, do func(tx, *kept) error) (store.Mix, error) {
	var k kept
	err := s.change(ctx, func(t tx) (err error) {
		if k, err = t.mixAt(id, rev); err != nil {
			return err
		}
		if err := do(t, &k); err != nil {
			return err
		}
		k.Changed = s.moment()
		return t.putMix(&k)
	})
	if err != nil {
		return store.Mix{}, err
	}
	return k.mix(), nil
}

// knows says whether the group and the shelf of a mix are there.
func (t tx) knows(m store.Mix) error {
	var group, shelf bool
	err := t.one("SELECT EXISTS (SELECT 1 FROM feeding_group WHERE id = ?), EXISTS (SELECT 1 FROM shelf WHERE id = ?)",
		[]any{m.Group, m.Shelf}, &group, &shelf)
	switch {
	case err != nil:
		return err
	case m.Group != "" && !group:
		return fmt.Errorf("%w: mix: its group is not there", store.ErrInvalid)
	case m.Shelf != "" && !shelf:
		return fmt.Errorf("%w: mix: its shelf is not there", store.ErrInvalid)
	}
	return nil
}

// putMix writes a mix, all but its document, with a new rev.
func (t tx) putMix(k *kept) (err error) {
	if k.Rev, err = t.nextRev(); err != nil {
		return err
	}
	return t.exec(`INSERT INTO mix (`+mixColumns+`, folded) VALUES (?, ?, ?, nullif(?, ''), nullif(?, ''), ?, ?, ?, ?, ?, ?, ?, ?)
		ON CONFLICT (id) DO UPDATE SET rev = excluded.rev, name = excluded.name, folded = excluded.folded,
			grp = excluded.grp, shelf = excluded.shelf, archived = excluded.archived, version = excluded.version,
			changed = excluded.changed, at = excluded.at, oldest = excluded.oldest, newest = excluded.newest`,
		k.ID, k.Rev, k.Name, k.Group, k.Shelf, k.Archived, k.Version, toMicro(k.Made), toMicro(k.Changed),
		k.at, k.oldest, k.newest, store.Fold(k.Name))
}

// DeleteMix deletes a mix with its steps and versions.
func (s *Store) DeleteMix(ctx context.Context, id store.ID, rev int64) error {
	return s.change(ctx, func(t tx) error {
		if err := t.holds("SELECT rev FROM mix WHERE id = ?", id, rev); err != nil {
			return err
		}
		if err := t.letGo("UPDATE making SET mix = NULL, rev = ? WHERE mix = ?", id); err != nil {
			return err
		}
		return t.exec("DELETE FROM mix WHERE id = ?", id)
	})
}
