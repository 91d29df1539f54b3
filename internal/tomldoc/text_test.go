package tomldoc

import (
	"errors"
	"math"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/pelletier/go-toml/v2"
	"pgregory.net/rapid"
)

// What is written is read back by go-toml to the same value.
func TestWrittenIsReadBack(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		text := rapid.String().Draw(t, "text")
		number := rapid.Float64().Filter(func(v float64) bool { return math.Abs(v) < 1e15 }).Draw(t, "number")
		var got struct {
			Text   string
			Number float64
		}
		written := "Text = " + Quote(text) + "\nNumber = " + Decimal(number) + "\n"
		if err := toml.Unmarshal([]byte(written), &got); err != nil {
			t.Fatalf("%q: %v", written, err)
		}
		if got.Text != text || got.Number != number {
			t.Fatalf("%q is read as %+v", written, got)
		}
	})
}

func TestReadFile(t *testing.T) {
	dir := t.TempDir()
	path := filepath.Join(dir, "a.toml")
	if err := os.WriteFile(path, []byte("0123456789"), 0o600); err != nil {
		t.Fatal(err)
	}
	if text, err := ReadFile(path, 4); err != nil || string(text) != "01234" {
		t.Errorf("of a larger file %q is read, %v; want one byte beyond the most", text, err)
	}
	for path, want := range map[string]string{filepath.Join(dir, "none.toml"): "no such file", dir: "folder"} {
		_, err := ReadFile(path, 4)
		var e *Error
		if !errors.As(err, &e) || !strings.Contains(e.Error(), want) {
			t.Errorf("%s: %v; want %q", path, err, want)
		}
	}
}
