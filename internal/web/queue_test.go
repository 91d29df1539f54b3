package web

import (
	"bytes"
	"os"
	"os/exec"
	"path/filepath"
	"testing"
)

// TestTheQueue runs testdata/queue.test.mjs under node. The module is copied
// beside it: node wants another ending than the browser.
func TestTheQueue(t *testing.T) {
	node, err := exec.LookPath("node")
	if err != nil {
		if os.Getenv("CI") == "true" {
			t.Fatal("there is no node")
		}
		t.Skip("there is no node")
	}
	dir := t.TempDir()
	for from, to := range map[string]string{"static/queue.js": "queue.mjs", "testdata/queue.test.mjs": "queue.test.mjs"} {
		text, err := os.ReadFile(from)
		if err != nil {
			t.Fatal(err)
		}
		if err := os.WriteFile(filepath.Join(dir, to), text, 0o600); err != nil {
			t.Fatal(err)
		}
	}
	cmd := exec.CommandContext(t.Context(), node, "--test", "queue.test.mjs")
	cmd.Dir = dir
	out, err := cmd.CombinedOutput()
	if err != nil {
		t.Fatalf("%v\n%s", err, out)
	}
	if !bytes.Contains(out, []byte("# pass 22\n")) {
		t.Errorf("not all of them ran:\n%s", out)
	}
}
