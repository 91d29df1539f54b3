package main

import (
	"bufio"
	"fmt"
	"io"
	"net/http"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"strconv"
	"strings"
	"testing"
	"time"
)

// BenchmarkOpen builds the program, starts the app on an empty folder and
// takes the time until its first page has come, and what it holds in memory
// once the invented mixes have been opened and changed sixty times each (Linux
// only).
func BenchmarkOpen(b *testing.B) {
	bin := filepath.Join(b.TempDir(), "firlot")
	build := exec.Command("go", "build", "-o", bin, ".")
	build.Env = append(os.Environ(), "CGO_ENABLED=0")
	if out, err := build.CombinedOutput(); err != nil {
		b.Fatalf("%v\n%s", err, out)
	}
	var first time.Duration
	var resident float64
	for b.Loop() {
		took, mb := startOnce(b, bin)
		first += took
		resident = max(resident, mb)
	}
	b.ReportMetric(float64(first.Microseconds())/1000/float64(b.N), "ms-first-page")
	b.ReportMetric(resident, "MB-resident-most")
}

var mixLink = regexp.MustCompile(`href="(/mix/[a-z0-9]{20,})"`)

func startOnce(b *testing.B, bin string) (time.Duration, float64) {
	b.Helper()
	from := time.Now()
	cmd := exec.Command(bin, "open", "--no-browser", "--addr", "127.0.0.1:0", "--data", b.TempDir())
	out, err := cmd.StdoutPipe()
	if err != nil {
		b.Fatal(err)
	}
	if err := cmd.Start(); err != nil {
		b.Fatal(err)
	}
	defer func() {
		if err := cmd.Process.Signal(os.Interrupt); err != nil {
			b.Error(err)
		}
		if err := cmd.Wait(); err != nil {
			b.Errorf("stopping: %v", err)
		}
	}()
	line, err := bufio.NewReader(out).ReadString('\n')
	_, base, ok := strings.Cut(strings.TrimSpace(line), "at ")
	if err != nil || !ok {
		b.Fatalf("%q, %v", line, err)
	}
	page(b, base)
	first := time.Since(from)
	for _, m := range mixLink.FindAllStringSubmatch(page(b, base+"mix"), -1) {
		page(b, base+m[1][1:])
		for i := range 60 {
			preview(b, base+m[1][1:], fmt.Sprintf("batch=%d+g", 400+10*i))
		}
	}
	return first, residentMB(b, cmd.Process.Pid)
}

func page(b *testing.B, url string) string {
	b.Helper()
	resp, err := http.Get(url)
	if err != nil {
		b.Fatal(err)
	}
	defer resp.Body.Close()
	text, err := io.ReadAll(resp.Body)
	if err != nil || resp.StatusCode != http.StatusOK {
		b.Fatalf("%s: %d, %v", url, resp.StatusCode, err)
	}
	return string(text)
}

// preview asks for the page of a changed mix.
func preview(b *testing.B, url, form string) {
	b.Helper()
	r, err := http.NewRequest("POST", url, strings.NewReader(form))
	if err != nil {
		b.Fatal(err)
	}
	r.Header.Set("Content-Type", "application/x-www-form-urlencoded")
	r.Header.Set("Firlot-Preview", "page")
	resp, err := http.DefaultClient.Do(r)
	if err != nil {
		b.Fatal(err)
	}
	defer resp.Body.Close()
	if _, err := io.Copy(io.Discard, resp.Body); err != nil || resp.StatusCode != http.StatusOK {
		b.Fatalf("%s: %d, %v", url, resp.StatusCode, err)
	}
}

// residentMB is the most memory that a process has had, 0 where the system
// does not tell.
func residentMB(b *testing.B, pid int) float64 {
	b.Helper()
	text, err := os.ReadFile(fmt.Sprintf("/proc/%d/status", pid))
	if err != nil {
		return 0
	}
	for l := range strings.Lines(string(text)) {
		if rest, ok := strings.CutPrefix(l, "VmHWM:"); ok {
			kb, err := strconv.Atoi(strings.Fields(rest)[0])
			if err != nil {
				b.Fatal(err)
			}
			return float64(kb) / 1000
		}
	}
	return 0
}
