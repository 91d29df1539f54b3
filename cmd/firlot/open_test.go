package main

import (
	"bytes"
	"context"
	"io"
	"net/http"
	"strings"
	"sync"
	"testing"
	"time"
)

// heard is what a command printed, for reading while it runs.
type heard struct {
	mu sync.Mutex
	b  bytes.Buffer
}

func (h *heard) Write(p []byte) (int, error) {
	h.mu.Lock()
	defer h.mu.Unlock()
	return h.b.Write(p)
}

func (h *heard) String() string {
	h.mu.Lock()
	defer h.mu.Unlock()
	return h.b.String()
}

// opened starts the app and returns its address, and a way to stop it that
// tells the exit status.
func opened(t *testing.T, dir string) (addr string, stop func() int) {
	t.Helper()
	ctx, cancel := context.WithCancel(context.Background())
	out := &heard{}
	done := make(chan int, 1)
	go func() {
		done <- run(ctx, []string{"open", "--addr", "127.0.0.1:0", "--data", dir, "--no-browser"}, streams{out: out, err: out})
	}()
	for end := time.Now().Add(20 * time.Second); time.Now().Before(end); time.Sleep(5 * time.Millisecond) {
		if _, rest, ok := strings.Cut(out.String(), "http://"); ok && strings.Contains(rest, "\n") {
			return "http://" + rest[:strings.IndexByte(rest, '\n')], func() int { cancel(); return <-done }
		}
	}
	cancel()
	t.Fatalf("the app did not start: %s", out)
	return "", nil
}

func TestOpen(t *testing.T) {
	dir := t.TempDir()
	addr, stop := opened(t, dir)
	resp, err := http.Get(addr)
	if err != nil {
		t.Fatal(err)
	}
	body, err := io.ReadAll(resp.Body)
	resp.Body.Close()
	if err != nil || resp.StatusCode != http.StatusOK || !strings.Contains(string(body), "Skerra Rescue") {
		t.Errorf("status %d, %v: the invented rescue is not there", resp.StatusCode, err)
	}
	out := &heard{}
	if status := run(t.Context(), []string{"open", "--addr", "127.0.0.1:0", "--data", dir, "--no-browser"}, streams{out: out, err: out}); status != exitUse || !strings.Contains(out.String(), "another Firlot is running") {
		t.Errorf("a second one: status %d: %s", status, out)
	}
	if status := stop(); status != exitDone {
		t.Errorf("stopped with status %d", status)
	}
	_, stop = opened(t, dir) // the lock is gone
	if status := stop(); status != exitDone {
		t.Errorf("stopped again with status %d", status)
	}
}

func TestOpenAnswersThisMachineOnly(t *testing.T) {
	for _, addr := range []string{"0.0.0.0:0", "192.0.2.1:4680", ":4680", "example.org:80", "4680"} {
		out := &heard{}
		if status := run(t.Context(), []string{"open", "--addr", addr, "--data", t.TempDir(), "--no-browser"}, streams{out: out, err: out}); status != exitUse {
			t.Errorf("%s: status %d: %s", addr, status, out)
		}
	}
}
