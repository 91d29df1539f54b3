package sqlite

import (
	"bufio"
	"bytes"
	"database/sql"
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

// Promise 4, within one program.
func TestLock(t *testing.T) {
	dir := t.TempDir()
	s := open(t, dir, Options{})
	_, err := Open(t.Context(), dir, Options{})
	if !errors.Is(err, store.ErrLocked) || !strings.Contains(err.Error(), "close it first") {
		t.Fatalf("second: %v", err)
	}
	// Being refused has not loosened the first one's lock.
	if _, err := Open(t.Context(), dir, Options{}); !errors.Is(err, store.ErrLocked) {
		t.Fatalf("third: %v", err)
	}
	if err := s.Close(); err != nil {
		t.Fatal(err)
	}
	open(t, dir, Options{})
}

// Promise 4, between programs.
func TestLockOfAnotherProgram(t *testing.T) {
	dir := t.TempDir()
	p := startChild(t, dir, 1)
	out := bufio.NewScanner(p.out)
	if !out.Scan() { // its first line says that it has the store
		t.Fatalf("the other program said nothing: %v", out.Err())
	}
	if _, err := Open(t.Context(), dir, Options{}); !errors.Is(err, store.ErrLocked) {
		t.Errorf("while it runs: %v", err)
	}
	p.kill(t)
	open(t, dir, Options{})
}

func TestFilesAreTheOwners(t *testing.T) {
	if runtime.GOOS == "windows" {
		t.Skip("Windows keeps no such bits; %LocalAppData% is the owner's")
	}
	dir := filepath.Join(t.TempDir(), "new", "folder # 100 %?")
	s := open(t, dir, Options{})
	if _, err := s.SaveMix(t.Context(), store.Mix{Name: "a"}); err != nil {
		t.Fatal(err)
	}
	list, err := filepath.Glob(filepath.Join(filepath.Dir(dir), "*", "*"))
	if err != nil || len(list) != 4 {
		t.Fatalf("%v: %v", list, err)
	}
	for _, name := range append(list, dir) {
		info, err := os.Stat(name)
		if err != nil {
			t.Fatal(err)
		}
		if info.Mode().Perm()&0o077 != 0 {
			t.Errorf("%s: %v", name, info.Mode())
		}
	}
}

// Promise 5. What is refused is left as it is, byte for byte.
func TestRefused(t *testing.T) {
	for name, c := range map[string]struct {
		make func(t *testing.T, file string)
		want error
	}{
		"newer":         {newer, store.ErrTooNew},
		"text":          {func(t *testing.T, file string) { writeFile(t, file, []byte("dear keeper, this is not it")) }, store.ErrDamaged},
		"short":         {func(t *testing.T, file string) { writeFile(t, file, []byte("SQLite")) }, store.ErrDamaged},
		"another's":     {foreign, store.ErrForeign},
		"holes":         {holes, store.ErrDamaged},
		"cut off":       {cutOff, store.ErrDamaged},
		"emptied":       {emptied, store.ErrDamaged},
		"a folder":      {func(t *testing.T, file string) { mkdir(t, file) }, nil},
		"only a header": {func(t *testing.T, file string) { writeFile(t, file, []byte(magic+strings.Repeat("\xff", 500))) }, store.ErrDamaged},
	} {
		t.Run(name, func(t *testing.T) {
			dir := t.TempDir()
			file := filepath.Join(dir, fileName)
			c.make(t, file)
			before, _ := os.ReadFile(file) // none of a folder
			s, err := Open(t.Context(), dir, Options{})
			if err == nil {
				t.Fatal(s.Close())
			}
			if c.want != nil && !errors.Is(err, c.want) || !strings.Contains(err.Error(), file) {
				t.Errorf("error %v, want %v and the file's name", err, c.want)
			}
			if after, _ := os.ReadFile(file); !bytes.Equal(before, after) {
				t.Error("the refused file was changed")
			}
		})
	}
}

func writeFile(t *testing.T, name string, text []byte) {
	t.Helper()
	if err := os.WriteFile(name, text, 0o600); err != nil {
		t.Fatal(err)
	}
}

func mkdir(t *testing.T, name string) {
	t.Helper()
	if err := os.Mkdir(name, 0o700); err != nil {
		t.Fatal(err)
	}
}

// run runs statements on a database file.
func run(t testing.TB, file, text string) {
	t.Helper()
	db, err := sql.Open("sqlite", address(file, looking))
	if err != nil {
		t.Fatal(err)
	}
	_, err = db.ExecContext(t.Context(), text)
	if err := errors.Join(err, db.Close()); err != nil {
		t.Fatal(err)
	}
}

// filled makes a database with a few hundred pages in it.
func filled(t *testing.T, file string) {
	t.Helper()
	s := open(t, filepath.Dir(file), Options{extra: unsynced})
	for range 100 {
		if _, err := s.SaveMix(t.Context(), store.Mix{Name: "a", Document: strings.Repeat("barley ", 1000)}); err != nil {
			t.Fatal(err)
		}
	}
	if err := s.Close(); err != nil {
		t.Fatal(err)
	}
}

func newer(t *testing.T, file string) {
	filled(t, file)
	run(t, file, "INSERT INTO "+versions+" (version_id, is_applied) VALUES (9999, 1); CREATE TABLE later (a)")
}

func foreign(t *testing.T, file string) { run(t, file, "CREATE TABLE a (b); INSERT INTO a VALUES (1)") }

func holes(t *testing.T, file string) {
	filled(t, file)
	text, err := os.ReadFile(file)
	if err != nil {
		t.Fatal(err)
	}
	for at := len(text) / 3; at < len(text)/2; at++ {
		text[at] = 0xa5
	}
	writeFile(t, file, text)
}

func cutOff(t *testing.T, file string) {
	filled(t, file)
	info, err := os.Stat(file)
	if err != nil {
		t.Fatal(err)
	}
	if err := os.Truncate(file, info.Size()/2); err != nil {
		t.Fatal(err)
	}
}

func emptied(t *testing.T, file string) {
	writeFile(t, file, nil)
	writeFile(t, file+"-wal", []byte("what was kept"))
}

// A program stopped while it made the database leaves one that opens.
func TestHalfMade(t *testing.T) {
	for name, text := range map[string]string{
		"nothing but a header": "PRAGMA journal_mode = WAL",
		"marked":               fmt.Sprintf("PRAGMA application_id = %d", appID),
	} {
		dir := t.TempDir()
		run(t, filepath.Join(dir, fileName), text)
		s := open(t, dir, Options{})
		if _, err := s.SaveMix(t.Context(), store.Mix{Name: name}); err != nil {
			t.Error(err)
		}
	}
}

// What a stopped restore left behind goes, and nothing else.
func TestSweep(t *testing.T) {
	dir := t.TempDir()
	part, other := filepath.Join(dir, "restore-12.part"), filepath.Join(dir, "restore-notes.txt")
	writeFile(t, part, []byte("x"))
	writeFile(t, other, []byte("x"))
	open(t, dir, Options{})
	if _, err := os.Stat(part); !errors.Is(err, os.ErrNotExist) {
		t.Errorf("the part: %v", err)
	}
	if _, err := os.Stat(other); err != nil {
		t.Error(err)
	}
}

func TestDefaultDir(t *testing.T) {
	home := func() (string, error) { return "/home/ana", nil }
	homeless := func() (string, error) { return "", errors.New("no home") }
	for _, c := range []struct {
		system string
		env    map[string]string
		home   func() (string, error)
		want   string
	}{
		{"linux", nil, home, "/home/ana/.local/share/firlot"},
		{"linux", map[string]string{"XDG_DATA_HOME": "/data"}, homeless, "/data/firlot"},
		{"linux", map[string]string{"XDG_DATA_HOME": "data"}, home, "/home/ana/.local/share/firlot"},
		{"linux", nil, homeless, ""},
		{"freebsd", nil, home, "/home/ana/.local/share/firlot"},
		{"darwin", map[string]string{"XDG_DATA_HOME": "/data"}, home, "/home/ana/Library/Application Support/Firlot"},
		{"windows", map[string]string{"LocalAppData": "/appdata"}, home, "/appdata/Firlot"},
		{"windows", nil, home, ""},
	} {
		got, err := defaultDir(c.system, func(name string) string { return c.env[name] }, c.home)
		if filepath.ToSlash(got) != c.want || (err == nil) != (c.want != "") {
			t.Errorf("%s %v: %q, %v; want %q", c.system, c.env, got, err, c.want)
		}
	}
	if dir, err := DefaultDir(); err == nil && !filepath.IsAbs(dir) {
		t.Errorf("%q is not absolute", dir)
	}
}

// The libc that modernc.org/sqlite was made with is the one it must run with:
// its authors say that other versions may break it.
func TestLibcIsSQLites(t *testing.T) {
	goTool, err := exec.LookPath("go")
	if err != nil {
		t.Skip("no go command here")
	}
	list := exec.Command(goTool, "list", "-m", "-f", "{{.Version}} {{.GoMod}}", "modernc.org/libc", "modernc.org/sqlite")
	text, err := list.Output()
	if err != nil {
		t.Fatal(err)
	}
	words := strings.Fields(string(text)) // version and go.mod of libc, then of sqlite
	if len(words) != 4 {
		t.Fatalf("go list said %q", text)
	}
	wanted, err := os.ReadFile(words[3])
	if err != nil {
		t.Fatal(err)
	}
	if !strings.Contains(string(wanted), "\tmodernc.org/libc "+words[0]+"\n") {
		t.Errorf("modernc.org/libc is at %s, which is not what the go.mod of modernc.org/sqlite %s asks for", words[0], words[2])
	}
}
