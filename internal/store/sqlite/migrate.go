package sqlite

import (
	"context"
	"database/sql"
	"embed"
	"errors"
	"fmt"
	"io/fs"

	"github.com/pressly/goose/v3"

	"firlot/internal/store"
)

//go:embed migrations/*.sql
var migrations embed.FS

const (
	magic = "SQLite format 3\x00"
	// appID marks the file as Firlot's ("Frlt"), in the place that SQLite's
	// header has for it.
	appID = 0x46726c74
	// versions is the table of migrations that have been done.
	versions = "schema_version"
)

// inspect refuses what is damaged, not ours or too new (promise 5). It looks
// through a connection of its own, which does not write.
func inspect(ctx context.Context, name string, o Options) (err error) {
	db, err := sql.Open("sqlite", address(name, reading+o.extra))
	if err != nil {
		return err
	}
	defer func() { err = errors.Join(err, db.Close()) }()
	db.SetMaxOpenConns(1)
	var tables, id int
	if err := db.QueryRowContext(ctx, "SELECT count(*) FROM sqlite_schema").Scan(&tables); err != nil {
		return err
	}
	if err := db.QueryRowContext(ctx, "PRAGMA application_id").Scan(&id); err != nil {
		return err
	}
	switch {
	case id == 0 && tables == 0:
		return nil // whoever made it was stopped before the first migration
	case id != appID:
		return fmt.Errorf("%w: another program's database", store.ErrForeign)
	}
	var said string
	if err := db.QueryRowContext(ctx, "PRAGMA quick_check(1)").Scan(&said); err != nil {
		return err
	}
	if said != "ok" {
		return fmt.Errorf("%w: %s", store.ErrDamaged, said)
	}
	return refuseNewer(ctx, db)
}

// refuseNewer compares the version of a database with what this program
// knows. It reads it itself: goose would make its table where there is none.
func refuseNewer(ctx context.Context, db *sql.DB) error {
	known, err := newest(db)
	if err != nil {
		return err
	}
	has, err := schemaVersion(ctx, db)
	if err != nil {
		return err
	}
	if has > known {
		return fmt.Errorf("%w: database of version %d; this Firlot knows up to %d", store.ErrTooNew, has, known)
	}
	return nil
}

// schemaVersion is the version of a database; 0 before its first migration.
func schemaVersion(ctx context.Context, db *sql.DB) (int64, error) {
	var there bool
	err := db.QueryRowContext(ctx, "SELECT EXISTS (SELECT 1 FROM sqlite_schema WHERE name = ?)", versions).Scan(&there)
	if err != nil || !there {
		return 0, err
	}
	var v int64
	err = db.QueryRowContext(ctx, "SELECT coalesce(max(version_id), 0) FROM "+versions+" WHERE is_applied").Scan(&v)
	return v, err
}

// newest is the version that the migrations lead to.
func newest(db *sql.DB) (int64, error) {
	p, err := provider(db)
	if err != nil {
		return 0, err
	}
	list := p.ListSources()
	return list[len(list)-1].Version, nil
}

// migrate marks a database as ours and brings it to the newest version, each
// step whole or not at all.
func migrate(ctx context.Context, db *sql.DB) error {
	p, err := provider(db)
	if err != nil {
		return err
	}
	known, err := newest(db)
	if err != nil {
		return err
	}
	has, err := schemaVersion(ctx, db)
	if err != nil || has == known {
		return err
	}
	if _, err := db.ExecContext(ctx, fmt.Sprintf("PRAGMA application_id = %d", appID)); err != nil {
		return err
	}
	if _, err := p.Up(ctx); err != nil {
		return fmt.Errorf("bringing the database up to date: %w", err)
	}
	return nil
}

func provider(db *sql.DB) (*goose.Provider, error) {
	files, err := fs.Sub(migrations, "migrations")
	if err != nil {
		return nil, err
	}
	return goose.NewProvider(goose.DialectSQLite3, db, files,
		goose.WithTableName(versions), goose.WithDisableGlobalRegistry(true))
}
