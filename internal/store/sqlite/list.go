package sqlite

import (
	"context"
	"strings"

	"firlot/internal/store"
)

// Mixes lists a page of mixes, latest change first. A page begins where the
// one before ended and not at a count, so that the hundredth costs no more
// than the first.
func (s *Store) Mixes(ctx context.Context, f store.Filter) ([]store.Summary, error) {
	if err := f.Check(); err != nil {
		return nil, err
	}
	var list []store.Summary
	err := s.look(ctx, func(t tx) error {
		text, args, err := t.page(f)
		if err != nil {
			return err
		}
		return t.each(text, args, func(scan func(...any) error) error {
			var m store.Summary
			var changed int64
			err := scan(&m.ID, &m.Name, &m.Group, &m.Shelf, &m.Version, &m.Archived, &changed)
			m.Changed = fromMicro(changed)
			list = append(list, m)
			return err
		})
	})
	if err != nil {
		return nil, err
	}
	return list, nil
}

// page makes the query of a page: its text is one of a few, so that each can
// stay prepared.
func (t tx) page(f store.Filter) (string, []any, error) {
	var text strings.Builder
	text.WriteString("SELECT id, name, coalesce(grp, ''), coalesce(shelf, ''), version, archived, changed FROM mix WHERE archived = ?")
	args := []any{f.Archived}
	if f.Group != "" {
		text.WriteString(" AND grp = ?")
		args = append(args, f.Group)
	}
	if folded := store.Fold(f.Text); folded != "" {
		text.WriteString(" AND instr(folded, ?) > 0")
		args = append(args, folded)
	}
	if f.After != "" {
		changed := toMicro(f.AfterAt)
		if f.AfterAt.IsZero() {
			if err := t.one("SELECT changed FROM mix WHERE id = ?", []any{f.After}, &changed); err != nil {
				return "", nil, err
			}
		}
		text.WriteString(" AND (changed, id) < (?, ?)")
		args = append(args, changed, f.After)
	}
	text.WriteString(" ORDER BY changed DESC, id DESC LIMIT ?")
	return text.String(), append(args, f.Page()), nil
}
