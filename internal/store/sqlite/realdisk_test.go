package sqlite

import (
	"context"
	"errors"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"runtime"
	"strings"
	"testing"

	"firlot/internal/store"
)

// childFull is the folder in which the program of TestRealDisk finds a disk of
// 2 MB, in a place of its own.
const childFull = "FIRLOT_FULL_DIR"

// TestRealDisk: promises 6 and 7 on a file system that really is full, and on
// one that really is read-only. Linux lets a program without rights have one of
// its own.
func TestRealDisk(t *testing.T) {
	if runtime.GOOS != "linux" {
		t.Skip("only Linux lets a program have a disk of its own; TestFullDisk stands in")
	}
	dir := t.TempDir()
	const script = `mount -t tmpfs -o size=2m tmpfs "$1" || exit 42
"$0"; code=$?
[ $code = 0 ] && mount -o remount,ro "$1" && FIRLOT_FULL_READONLY=1 "$0"`
	cmd := exec.Command("unshare", "--user", "--map-root-user", "--mount", "sh", "-c", script, os.Args[0], dir)
	cmd.Env = append(os.Environ(), childFull+"="+dir)
	out, err := cmd.CombinedOutput()
	var exit *exec.ExitError
	if errors.Is(err, exec.ErrNotFound) || errors.As(err, &exit) && exit.ExitCode() == 42 || strings.Contains(string(out), "unshare:") {
		t.Skipf("no disk of its own is to be had here: %v: %s", err, out)
	}
	if err != nil {
		t.Fatalf("%v: %s", err, out)
	}
	t.Logf("%s", out)
}

func childOnFullDisk(dir string) {
	do := fillDisk
	if os.Getenv("FIRLOT_FULL_READONLY") != "" {
		do = readOnlyDisk
	}
	if err := do(context.Background(), dir); err != nil {
		fmt.Println(err)
		os.Exit(1)
	}
}

func readOnlyDisk(ctx context.Context, dir string) error {
	if _, err := Open(ctx, dir, Options{}); !errors.Is(err, store.ErrReadOnly) {
		return fmt.Errorf("read-only: error %v, want ErrReadOnly", err)
	}
	fmt.Println("read-only: said so")
	return nil
}

// fillDisk pours until nothing fits, makes room and goes on. A file beside the
// database leaves it room for some pours at first.
func fillDisk(ctx context.Context, dir string) error {
	filler := filepath.Join(dir, "filler")
	if err := os.WriteFile(filler, make([]byte, 700<<10), 0o600); err != nil {
		return err
	}
	s, err := Open(ctx, dir, Options{})
	if err != nil {
		return err
	}
	had := int64(store.MostMg)
	sh, err1 := s.SaveShelf(ctx, store.Shelf{Name: "a", Items: []store.Item{{Ref: "oat/groats", OnHand: &had}}})
	m, err2 := s.StartMaking(ctx, store.Making{Shelf: sh.ID})
	if err := errors.Join(err1, err2); err != nil {
		return err
	}
	event := func(i int) store.Event {
		return store.Event{Key: fmt.Sprint(i), Kind: store.KindPour, Ref: "oat/groats", Mg: 1, Note: strings.Repeat("x", 9000)}
	}
	kept := 0
	for ; err == nil && kept < 1000; kept++ {
		_, err = s.AppendEvent(ctx, m.ID, event(kept))
	}
	kept--
	if !errors.Is(err, store.ErrFull) {
		return fmt.Errorf("after %d pours: error %v, want ErrFull", kept, err)
	}
	if err := as(ctx, s, m.ID, sh.ID, kept); err != nil {
		return err
	}
	if err := os.Remove(filler); err != nil {
		return err
	}
	for i := range 5 { // the first is the one that did not fit
		if _, err := s.AppendEvent(ctx, m.ID, event(kept+i)); err != nil {
			return fmt.Errorf("with room again: %w", err)
		}
	}
	if err := s.Close(); err != nil {
		return err
	}
	if s, err = Open(ctx, dir, Options{}); err != nil {
		return err
	}
	fmt.Println("full after", kept, "pours, and five more with room again")
	return errors.Join(as(ctx, s, m.ID, sh.ID, kept+5), s.Close())
}

// as says whether so many pours are kept, and whole.
func as(ctx context.Context, s *Store, id, shelf store.ID, pours int) error {
	m, err := s.Making(ctx, id)
	if err != nil || len(m.Events) != pours {
		return fmt.Errorf("%d pours, not %d: %w", len(m.Events), pours, err)
	}
	sh, err := s.Shelf(ctx, shelf)
	if err != nil || *sh.Items[0].OnHand != store.MostMg-int64(pours) {
		return fmt.Errorf("after %d pours: %+v: %w", pours, sh, err)
	}
	return s.look(ctx, func(x tx) error {
		var said string
		err := x.one("PRAGMA integrity_check", nil, &said)
		if err == nil && said != "ok" {
			err = errors.New(said)
		}
		return err
	})
}
