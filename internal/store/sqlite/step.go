package sqlite

import (
	"context"

	"firlot/internal/store"
)

// The documents that a mix has had are its steps, numbered; the mix stands at
// one of them. Undo and redo move it, saving another document cuts off what
// lies ahead and goes one further.

// step puts the document of a mix one step further and forgets the steps that
// no longer count.
func (t tx) step(k *kept) error {
	if err := t.exec("DELETE FROM mix_step WHERE mix = ? AND number > ?", k.ID, k.at); err != nil {
		return err
	}
	k.at++
	k.newest = k.at
	k.oldest = max(k.oldest, k.at-store.MostUndo)
	if err := t.putStep(*k); err != nil {
		return err
	}
	return t.exec("DELETE FROM mix_step WHERE mix = ? AND number < ?", k.ID, k.oldest)
}

func (t tx) putStep(k kept) error {
	return t.exec("INSERT INTO mix_step (mix, number, document) VALUES (?, ?, ?)", k.ID, k.at, k.Document)
}

// UndoMix takes back the last change of a document.
func (s *Store) UndoMix(ctx context.Context, id store.ID, rev int64) (store.Mix, error) {
	return s.move(ctx, id, rev, -1)
}

// RedoMix does again what was taken back last.
func (s *Store) RedoMix(ctx context.Context, id store.ID, rev int64) (store.Mix, error) {
	return s.move(ctx, id, rev, +1)
}

func (s *Store) move(ctx context.Context, id store.ID, rev, by int64) (store.Mix, error) {
	return s.alter(ctx, id, rev, func(t tx, k *kept) error {
		k.at += by
		if k.at < k.oldest || k.at > k.newest {
			return store.ErrNoStep
		}
		return t.one("SELECT document FROM mix_step WHERE mix = ? AND number = ?", []any{id, k.at}, &k.Document)
	})
}
