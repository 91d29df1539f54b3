package sqlite

import (
	"context"

	"firlot/internal/store"
)

// KeepVersion keeps the document of a mix as its next version.
func (s *Store) KeepVersion(ctx context.Context, id store.ID, rev int64, note string) (store.Mix, error) {
	if err := store.CheckNote(note); err != nil {
		return store.Mix{}, err
	}
	return s.alter(ctx, id, rev, func(t tx, k *kept) error {
		k.Version++
		return t.putVersion(store.Version{Mix: id, Number: k.Version, Document: k.Document, Note: note, At: s.moment()})
	})
}

func (t tx) putVersion(v store.Version) error {
	return t.exec("INSERT INTO mix_version (mix, number, document, note, made) VALUES (?, ?, ?, ?, ?)",
		v.Mix, v.Number, v.Document, v.Note, toMicro(v.At))
}

// Versions lists the versions of a mix, newest first.
func (s *Store) Versions(ctx context.Context, id store.ID) ([]store.Version, error) {
	var list []store.Version
	err := s.look(ctx, func(t tx) error {
		var there int
		if err := t.one("SELECT 1 FROM mix WHERE id = ?", []any{id}, &there); err != nil {
			return err
		}
		return t.eachVersion(id, "DESC", func(v store.Version) error {
			list = append(list, v)
			return nil
		})
	})
	return list, err
}

// eachVersion hands over the versions of a mix in the order ASC or DESC.
func (t tx) eachVersion(id store.ID, order string, do func(store.Version) error) error {
	return t.each("SELECT number, document, note, made FROM mix_version WHERE mix = ? ORDER BY number "+order, []any{id},
		func(scan func(...any) error) error {
			v := store.Version{Mix: id}
			var at int64
			if err := scan(&v.Number, &v.Document, &v.Note, &at); err != nil {
				return err
			}
			v.At = fromMicro(at)
			return do(v)
		})
}
