package sqlite

import (
	"context"
	"database/sql"
	"errors"

	"firlot/internal/store"
)

// Setting returns a setting, or "" when it was never set.
func (s *Store) Setting(ctx context.Context, name string) (string, error) {
	var value string
	err := s.look(ctx, func(t tx) error {
		err := t.one("SELECT value FROM setting WHERE name = ?", []any{name}, &value)
		if errors.Is(err, sql.ErrNoRows) {
			return nil
		}
		return err
	})
	return value, err
}

// SetSetting keeps a setting.
func (s *Store) SetSetting(ctx context.Context, name, value string) error {
	if err := store.CheckSetting(name, value); err != nil {
		return err
	}
	return s.change(ctx, func(t tx) error { return t.putSetting(name, value) })
}

func (t tx) putSetting(name, value string) error {
	return t.exec("INSERT INTO setting (name, value) VALUES (?, ?) ON CONFLICT (name) DO UPDATE SET value = excluded.value", name, value)
}
