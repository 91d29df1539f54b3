package main

import (
	"context"
	"crypto/sha256"
	"crypto/tls"
	"encoding/hex"
	"net/http"
	"net/http/cookiejar"
	"net/url"
	"regexp"
	"strings"
	"testing"
	"time"
)

var (
	sharedLine = regexp.MustCompile(`  (https?://127\.0\.0\.1:\d+/)\n`)
	codeLine   = regexp.MustCompile("two minutes: (\\d{4}\u00a0\\d{4})\n")
	printLine  = regexp.MustCompile(`  ((?:[0-9A-F]{2}:){31}[0-9A-F]{2})\n`)
)

// shared starts the program with more arguments and waits for what it says.
func shared(t *testing.T, args ...string) string {
	t.Helper()
	ctx, cancel := context.WithCancel(context.Background())
	out := &heard{}
	done := make(chan int, 1)
	go func() {
		done <- run(ctx, append([]string{"open", "--addr", "127.0.0.1:0", "--share-addr", "127.0.0.1:0", "--data", t.TempDir(), "--no-browser"}, args...), streams{out: out, err: out})
	}()
	t.Cleanup(func() {
		cancel()
		if status := <-done; status != exitDone {
			t.Errorf("stopped with status %d: %s", status, out)
		}
	})
	for end := time.Now().Add(20 * time.Second); time.Now().Before(end); time.Sleep(5 * time.Millisecond) {
		if strings.Contains(out.String(), "who is let in") {
			return out.String()
		}
	}
	t.Fatalf("it did not start: %s", out)
	return ""
}

func TestOpenShare(t *testing.T) {
	for _, way := range []string{"--share", "--share=tls"} {
		said := shared(t, way)
		at, code := sharedLine.FindStringSubmatch(said), codeLine.FindStringSubmatch(said)
		if at == nil || code == nil {
			t.Fatalf("%s says: %s", way, said)
		}
		jar, err := cookiejar.New(nil)
		if err != nil {
			t.Fatal(err)
		}
		seen := ""
		phone := &http.Client{Jar: jar, CheckRedirect: func(*http.Request, []*http.Request) error { return http.ErrUseLastResponse },
			Transport: &http.Transport{TLSClientConfig: &tls.Config{InsecureSkipVerify: true, VerifyConnection: func(s tls.ConnectionState) error {
				sum := sha256.Sum256(s.PeerCertificates[0].Raw)
				seen = strings.ToUpper(hex.EncodeToString(sum[:]))
				return nil
			}}}}
		status := func() int {
			resp, err := phone.Get(at[1] + "help")
			if err != nil {
				t.Fatal(err)
			}
			resp.Body.Close()
			return resp.StatusCode
		}
		if got := status(); got != http.StatusUnauthorized {
			t.Errorf("%s: before pairing: %d", way, got)
		}
		resp, err := phone.PostForm(at[1]+"pair", url.Values{"code": {code[1]}, "name": {"x"}})
		if err != nil {
			t.Fatal(err)
		}
		resp.Body.Close()
		if got := status(); got != http.StatusOK {
			t.Errorf("%s: after pairing: %d", way, got)
		}
		print := printLine.FindStringSubmatch(said)
		if secure := way == "--share=tls"; secure != strings.HasPrefix(at[1], "https:") || secure != (print != nil) || secure == strings.Contains(said, "not encrypted") {
			t.Errorf("%s says: %s", way, said)
		} else if secure && strings.ReplaceAll(print[1], ":", "") != seen {
			t.Errorf("the fingerprint %s is not that of %s", print[1], seen)
		}
	}
}

func TestOpenSharesInTheHomeNetworkOnly(t *testing.T) {
	for _, args := range [][]string{{"--share=all"}, {"--share", "--share-addr", "0.0.0.0"}, {"--share", "--share-addr", "203.0.113.5"}, {"--share", "--share-addr", "[::]:80"},
		{"--share", "--share-addr", "example.org"}, {"--share", "--share-addr", "127.0.0.1:99999"}} {
		out := &heard{}
		if status := run(t.Context(), append([]string{"open", "--addr", "127.0.0.1:0", "--data", t.TempDir(), "--no-browser"}, args...), streams{out: out, err: out}); status != exitUse {
			t.Errorf("%v: status %d: %s", args, status, out)
		}
	}
}
