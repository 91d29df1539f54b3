package sqlite

import (
	"context"
	"database/sql"
	"errors"
	"fmt"
	"hash/crc32"
	"strings"
	"sync"

	"firlot/internal/store"
)

// foldMark tells one way of folding names from another: a sum over what becomes
// of some 12,000 letters and signs. We may change the way, and so may a newer Go
// with newer tables of Unicode. The mark of a database is its user_version; 0 is
// none.
var foldMark = sync.OnceValue(func() int32 {
	var all strings.Builder
	for _, span := range [][2]rune{{0x20, 0x2fff}, {0xfb00, 0xfb06}, {0xff01, 0xff5e}} {
		for r := span[0]; r <= span[1]; r++ {
			all.WriteString("x" + string(r) + "x\n")
		}
	}
	return int32(crc32.ChecksumIEEE([]byte(store.Fold(all.String())))>>1 | 1) // positive, never 0
})

// foldAnew brings the folded names up to date when they were folded another
// way, as one change.
func foldAnew(ctx context.Context, db *sql.DB) (err error) {
	var mark int32
	if err := db.QueryRowContext(ctx, "PRAGMA user_version").Scan(&mark); err != nil || mark == foldMark() {
		return err
	}
	change, err := db.BeginTx(ctx, nil)
	if err != nil {
		return err
	}
	defer func() {
		if err != nil {
			err = errors.Join(err, change.Rollback())
		}
	}()
	for _, x := range []struct{ table, column, from string }{
		{"feeding_group", "folded", "name"}, {"shelf", "folded", "name"}, {"mix", "folded", "name"},
		{"lot", "folded_code", "code"}, {"lot", "folded", "code || ' ' || source || ' ' || ref"},
		{"making", "folded", "mix_name || ' ' || lot || ' ' || who"}, {"making", "folded_lot", "lot"},
	} {
		if err := refold(ctx, change, x.table, x.column, x.from); err != nil {
			return err
		}
	}
	if _, err := change.ExecContext(ctx, fmt.Sprintf("PRAGMA user_version = %d", foldMark())); err != nil {
		return err
	}
	return change.Commit()
}

// refold writes the folded names of one column that are not as they should be.
// Two batches' lots that come to the same only now stay as they were.
func refold(ctx context.Context, change *sql.Tx, table, column, from string) error {
	rows, err := change.QueryContext(ctx, fmt.Sprintf("SELECT id, %s, %s FROM %s", column, from, table))
	if err != nil {
		return err
	}
	stale := map[string]string{}
	for rows.Next() {
		var id, has, name string
		if err := rows.Scan(&id, &has, &name); err != nil {
			return errors.Join(err, rows.Close())
		}
		if now := store.Fold(name); now != has {
			stale[id] = now
		}
	}
	if err := errors.Join(rows.Err(), rows.Close()); err != nil {
		return err
	}
	for id, now := range stale {
		if _, err := change.ExecContext(ctx, fmt.Sprintf("UPDATE OR IGNORE %s SET %s = ? WHERE id = ?", table, column), now, id); err != nil {
			return err
		}
	}
	return nil
}
