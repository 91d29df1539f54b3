package sqlite

import (
	"bytes"
	"fmt"
	"io"
	"strings"
	"testing"

	"firlot/internal/store"
	"firlot/internal/store/backup"
)

// document is about as long as a keeper's: 2 kB.
var document = strings.Repeat("[[line]]\nuse = \"oat/groats\"\nat_most = \"40 %\"\n", 43)

// thousands fills a store with mixes, by way of a backup: one change instead
// of ten thousand.
func thousands(b *testing.B, s *Store, mixes int) {
	b.Helper()
	var file bytes.Buffer
	out, err := backup.NewWriter(&file, s.moment())
	if err != nil {
		b.Fatal(err)
	}
	put := func(r backup.Record) {
		if err := out.Put(r); err != nil {
			b.Fatal(err)
		}
	}
	put(backup.Record{Group: &store.Group{ID: "g", Name: "Pair", Changed: s.moment()}})
	for i := range mixes {
		m := store.Mix{ID: store.ID(fmt.Sprintf("m%05d", i)), Name: fmt.Sprintf("Mix number %d", i), Document: document,
			Made: s.moment(), Changed: s.moment()}
		if i%10 == 0 {
			m.Group = "g"
		}
		put(backup.Record{Mix: &m})
	}
	if err := out.Close(); err != nil {
		b.Fatal(err)
	}
	if err := s.Restore(b.Context(), &file); err != nil {
		b.Fatal(err)
	}
}

// BenchmarkSaveMix saves a changed document among 10,000 mixes, to the disk.
func BenchmarkSaveMix(b *testing.B) {
	s := open(b, b.TempDir(), Options{})
	thousands(b, s, 10_000)
	m, err := s.Mix(b.Context(), "m00500")
	if err != nil {
		b.Fatal(err)
	}
	for i := 0; b.Loop(); i++ {
		m.Document = fmt.Sprint(document, i)
		if m, err = s.SaveMix(b.Context(), m); err != nil {
			b.Fatal(err)
		}
	}
}

// BenchmarkMix reads one mix among 10,000.
func BenchmarkMix(b *testing.B) {
	s := open(b, b.TempDir(), Options{})
	thousands(b, s, 10_000)
	for b.Loop() {
		if _, err := s.Mix(b.Context(), "m05000"); err != nil {
			b.Fatal(err)
		}
	}
}

// BenchmarkMixes lists a page of 50 among 10,000 mixes.
func BenchmarkMixes(b *testing.B) {
	s := open(b, b.TempDir(), Options{})
	thousands(b, s, 10_000)
	for _, c := range []struct {
		name   string
		filter store.Filter
	}{
		{"first", store.Filter{}},
		{"in the middle", store.Filter{After: "m05000"}},
		{"last", store.Filter{After: "m00050"}},
		{"of a group", store.Filter{Group: "g"}},
		{"a common word", store.Filter{Text: "number"}},
		{"a rare word", store.Filter{Text: "number 77"}},
		{"no such word", store.Filter{Text: "rye"}},
	} {
		b.Run(c.name, func(b *testing.B) {
			for b.Loop() {
				if _, err := s.Mixes(b.Context(), c.filter); err != nil {
					b.Fatal(err)
				}
			}
		})
	}
}

// BenchmarkOpen opens and closes a database of so many mixes.
func BenchmarkOpen(b *testing.B) {
	for _, mixes := range []int{0, 100, 10_000} {
		b.Run(fmt.Sprint(mixes), func(b *testing.B) {
			dir := b.TempDir()
			s := open(b, dir, Options{})
			thousands(b, s, mixes)
			if err := s.Close(); err != nil {
				b.Fatal(err)
			}
			for b.Loop() {
				s, err := Open(b.Context(), dir, Options{})
				if err != nil {
					b.Fatal(err)
				}
				if err := s.Close(); err != nil {
					b.Fatal(err)
				}
			}
		})
	}
}

// BenchmarkBackup writes, and BenchmarkRestore reads, 10,000 mixes.
func BenchmarkBackup(b *testing.B) {
	s := open(b, b.TempDir(), Options{})
	thousands(b, s, 10_000)
	for b.Loop() {
		if err := s.Backup(b.Context(), io.Discard); err != nil {
			b.Fatal(err)
		}
	}
}

func BenchmarkRestore(b *testing.B) {
	s := open(b, b.TempDir(), Options{})
	thousands(b, s, 10_000)
	file := backupOf(b, s)
	for b.Loop() {
		if err := s.Restore(b.Context(), strings.NewReader(file)); err != nil {
			b.Fatal(err)
		}
	}
}
