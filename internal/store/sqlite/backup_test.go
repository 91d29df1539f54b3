package sqlite

import (
	"bytes"
	"compress/gzip"
	"crypto/sha256"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"os"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"

	"firlot/internal/store"
	"firlot/internal/store/backup"
)

func backupOf(t testing.TB, s *Store) string {
	t.Helper()
	var file strings.Builder
	if err := s.Backup(t.Context(), &file); err != nil {
		t.Fatal(err)
	}
	return file.String()
}

// unpacked is a backup without its first line, which has the time of day, and
// without its last.
func unpacked(t testing.TB, file string) string {
	t.Helper()
	zip, err := gzip.NewReader(strings.NewReader(file))
	if err != nil {
		t.Fatal(err)
	}
	text, err := io.ReadAll(zip)
	if err != nil {
		t.Fatal(err)
	}
	lines := strings.SplitAfter(strings.TrimSuffix(string(text), "\n"), "\n")
	return strings.Join(lines[1:len(lines)-1], "")
}

// pack makes a backup of lines, with a right end.
func pack(body string) []byte { return packAs("2", body) }

func packAs(format, body string) []byte {
	body = `{"firlot_backup":` + format + `,"made":"2026-03-31T08:15:00Z"}` + "\n" + body
	end, err := json.Marshal(map[string]any{"end": map[string]any{
		"lines": strings.Count(body, "\n"), "sha256": fmt.Sprintf("%x", sha256.Sum256([]byte(body)))}})
	var out bytes.Buffer
	w := gzip.NewWriter(&out)
	_, err2 := io.WriteString(w, body+string(end)+"\n")
	if err := errors.Join(err, err2, w.Close()); err != nil {
		panic(err) // memory does not fail
	}
	return out.Bytes()
}

// Backups of earlier formats are still restored, with everything in them.
func TestOldBackups(t *testing.T) {
	for version, format := range map[int]string{1: "1", 2: "2", 3: "2"} {
		lines, err := os.ReadFile(fmt.Sprintf("testdata/v%d.lines", version))
		if err != nil {
			t.Fatal(err)
		}
		s := open(t, t.TempDir(), Options{extra: unsynced})
		if err := s.Restore(t.Context(), bytes.NewReader(packAs(format, string(lines)))); err != nil {
			t.Fatalf("version %d: %v", version, err)
		}
		whole(t, s)
		if d := cmp.Diff(strings.SplitAfter(string(lines), "\n"), strings.SplitAfter(unpacked(t, backupOf(t, s)), "\n")); d != "" {
			t.Errorf("version %d (- restored, + backed up again):\n%s", version, d)
		}
	}
}

// FuzzRestore: whatever is restored, either nothing changes or what is kept is
// sound and makes the same backup again.
func FuzzRestore(f *testing.F) {
	dir, err := os.MkdirTemp("", "firlot-fuzz")
	if err != nil {
		f.Fatal(err)
	}
	f.Cleanup(func() { os.RemoveAll(dir) })
	s := open(f, dir, Options{extra: unsynced})
	const g = `{"group":{"id":"g","name":"Pair","animals":2,"changed":"2026-03-31T08:15:00.000001Z"}}` + "\n"
	const sh = `{"shelf":{"id":"s","name":"Kitchen","items":[{"ref":"oat/groats","can_have":true,"price_per_kg":1.5}],"changed":"2026-03-31T08:15:00Z"}}` + "\n"
	const m = `{"mix":{"id":"m","name":"Winter","group":"g","shelf":"s","document":"x","versions":1,"made":"2026-03-31T08:15:00Z","changed":"2026-03-31T08:15:00+02:00"}}` + "\n"
	const v = `{"version":{"document":"x","at":"2026-03-31T08:15:00Z"}}` + "\n"
	const d = `{"device":{"id":"d","name":"Phone","paired":"2026-03-31T08:15:00Z","seen":"2026-03-31T08:15:00Z"}}` + "\n"
	const l = `{"lot":{"id":"l","ref":"oat/groats","code":"L 1","made":"2026-03-31T08:15:00Z","changed":"2026-03-31T08:15:00Z"}}` + "\n"
	const k = `{"making":{"id":"k","key":"q","shelf":"s","start":"{}","state":"finished","lot":"B 1","started":"2026-03-31T08:15:00Z","finished":"2026-03-31T09:15:00Z","changed":"2026-03-31T08:15:00Z","events":2}}` + "\n"
	const e = `{"event":{"key":"1","kind":"pour","ref":"oat/groats","mg":7,"lot":"l","device":"d","at":"2026-03-31T08:15:00Z","took_mg":5,"short_mg":2}}` + "\n" +
		`{"event":{"key":"2","kind":"take-back","of":"1","at":"2026-03-31T08:15:00Z","took_mg":-5}}` + "\n"
	for _, body := range []string{"", sh + d + l + k + e, d + l + e, sh + l + k, k + k,
		`{"setting":{"name":"a","value":"b"}}` + "\n" + g + sh + m + v, m + v, v, g + g, sh + g, m, "null\n", "{}\n"} {
		f.Add([]byte(body), true)
		f.Add(pack(body), false)
	}
	f.Fuzz(func(t *testing.T, data []byte, body bool) {
		if body {
			data = pack(string(data))
		}
		before := unpacked(t, backupOf(t, s))
		err := s.Restore(t.Context(), bytes.NewReader(data))
		whole(t, s)
		after := backupOf(t, s)
		if err != nil {
			if got := unpacked(t, after); got != before {
				t.Fatalf("refused with %v, and changed:\n%s\n%s", err, before, got)
			}
			return
		}
		if err := s.Restore(t.Context(), strings.NewReader(after)); err != nil {
			t.Fatalf("what was restored cannot be restored again: %v", err)
		}
		if again := unpacked(t, backupOf(t, s)); again != unpacked(t, after) {
			t.Fatalf("once:\n%s\nagain:\n%s", unpacked(t, after), again)
		}
	})
}

// Files that are too large, or become so, are refused and not left lying
// about. Package backup tests the bounds one by one.
func TestRestoreBounds(t *testing.T) {
	dir := t.TempDir()
	s := open(t, dir, Options{extra: unsynced})
	for name, r := range map[string]io.Reader{
		"one long line": bytes.NewReader(bomb(t, strings.Repeat(" ", 1<<20), 64)),
		"a large file":  io.LimitReader(endless{}, backup.MostBytes+1),
	} {
		if err := s.Restore(t.Context(), r); !errors.Is(err, store.ErrTooLarge) {
			t.Errorf("%s: error %v, want ErrTooLarge", name, err)
		}
	}
	list, err := os.ReadDir(dir)
	if err != nil {
		t.Fatal(err)
	}
	for _, f := range list {
		if strings.HasPrefix(f.Name(), "restore-") {
			t.Errorf("%s is left", f.Name())
		}
	}
}

type endless struct{}

func (endless) Read(p []byte) (int, error) { return len(p), nil }

func bomb(t *testing.T, part string, times int) []byte {
	t.Helper()
	var out bytes.Buffer
	w := gzip.NewWriter(&out)
	_, err := io.WriteString(w, `{"firlot_backup":1,"made":"2026-03-31T08:15:00Z"}`+"\n")
	for range times {
		_, err2 := io.WriteString(w, part)
		err = errors.Join(err, err2)
	}
	if err := errors.Join(err, w.Close()); err != nil {
		t.Fatal(err)
	}
	return out.Bytes()
}
