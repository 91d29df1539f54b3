package web

import (
	"bufio"
	"context"
	"fmt"
	"math/rand/v2"
	"net/http"
	"net/netip"
	"os"
	"os/exec"
	"strconv"
	"strings"
	"testing"
	"time"

	"golang.org/x/net/html"

	"firlot/internal/store"
	"firlot/internal/store/sqlite"
)

// Names of what a program under test is told by its environment.
const (
	killDir    = "FIRLOT_TEST_DIR"
	killAddr   = "FIRLOT_TEST_ADDR"
	killShared = "FIRLOT_TEST_SHARED"
)

// TestAProgramToKill is no test but the program that TestKilledWhileAPhonePours
// kills: the app with its second door, until somebody ends it.
func TestAProgramToKill(t *testing.T) {
	dir := os.Getenv(killDir)
	if dir == "" {
		t.Skip("this is run by another test")
	}
	a := startIn(t, dir, os.Getenv(killAddr), true)
	port, err := strconv.Atoi(os.Getenv(killShared))
	if err != nil {
		t.Fatal(err)
	}
	a.server.sharing.config = ShareConfig{Port: port, Addrs: func() ([]netip.Addr, error) { return []netip.Addr{netip.MustParseAddr("127.0.0.1")}, nil }}
	if err := a.server.Share(SharePlain); err != nil {
		t.Fatal(err)
	}
	code, err := a.server.PairingCode()
	if err != nil {
		t.Fatal(err)
	}
	fmt.Printf("\nready %s %s %s\n", a.base, a.server.SharedAt()[0], onlyDigits(code))
	<-t.Context().Done()
	time.Sleep(time.Hour)
}

// killable is a running TestAProgramToKill.
type killable struct {
	cmd                *exec.Cmd
	base, shared, code string
}

func (k *killable) start(t *testing.T, dir string) {
	t.Helper()
	addr, port := "127.0.0.1:0", "0"
	if k.base != "" { // again where it was
		addr, port = strings.TrimPrefix(k.base, "http://"), portOf(k.shared)
	}
	k.cmd = exec.Command(os.Args[0], "-test.run=^TestAProgramToKill$", "-test.timeout=10m")
	k.cmd.Env = append(os.Environ(), killDir+"="+dir, killAddr+"="+addr, killShared+"="+port)
	out, err := k.cmd.StdoutPipe()
	if err != nil {
		t.Fatal(err)
	}
	if err := k.cmd.Start(); err != nil {
		t.Fatal(err)
	}
	shared := k.shared
	said := ""
	for lines := bufio.NewScanner(out); lines.Scan(); {
		if n, _ := fmt.Sscanf(lines.Text(), "ready %s %s %s", &k.base, &k.shared, &k.code); n == 3 {
			if shared != "" && k.shared != shared {
				t.Fatalf("it was at %s and is at %s", shared, k.shared)
			}
			go func() { // the pipe must not fill up
				for lines.Scan() {
				}
			}()
			return
		}
		said += lines.Text() + "\n"
	}
	t.Fatalf("it did not start: %s", said)
}

// kill ends it at once: SIGKILL where there are signals.
func (k *killable) kill() {
	k.cmd.Process.Kill()
	k.cmd.Wait()
}

func portOf(url string) string {
	return strings.TrimSuffix(url[strings.LastIndexByte(url, ':')+1:], "/")
}

// The program is killed, at random moments around each press, while a phone
// pours: no pour is lost, none is doubled, their order stays, and the database
// passes its check.
func TestKilledWhileAPhonePours(t *testing.T) {
	chromium(t)
	if testing.Short() {
		t.Skip("short")
	}
	dir := t.TempDir()
	var k killable
	k.start(t, dir)
	defer func() { k.kill() }()
	a := &app{t: t, base: k.base, lang: "en", client: &http.Client{CheckRedirect: func(*http.Request, []*http.Request) error { return http.ErrUseLastResponse }}}
	list := a.open("/making/new")
	link := list.find(func(n *html.Node) bool {
		to, _ := attr(n, "href")
		return strings.HasPrefix(to, "/making/new?mix=") && strings.Contains(textOf(n), "adult gerbils")
	})
	to, _ := attr(link, "href")
	begun := a.press(a.open(to), with("value", "start"), nil)
	path, _, _ := strings.Cut(begun.path, "?")

	b := freshBrowser(t)
	b.pairs(k.shared, k.code, "phone")
	b.goTo(strings.TrimSuffix(k.shared, "/") + path)
	b.until(ready + ` && ` + drawn)
	lines := js[int](b, `document.querySelectorAll("#pours > li").length`)
	r := rand.New(rand.NewPCG(5, uint64(lines)))
	var want []string
	for i := range min(lines-1, 7) {
		down := make(chan struct{})
		go func() {
			time.Sleep(time.Duration(r.IntN(60)) * time.Millisecond)
			k.kill()
			close(down)
		}()
		want = append(want, b.pour())
		<-down
		if i%3 == 2 { // two pours in a row without the laptop
			want = append(want, b.pour())
		}
		if len(want) >= lines-1 {
			k.start(t, dir)
			break
		}
		k.start(t, dir)
	}
	b.until(left + ` === 0`)
	k.kill()

	kept, err := sqlite.Open(t.Context(), dir, sqlite.Options{})
	if err != nil {
		t.Fatal(err)
	}
	m, err := kept.Making(context.Background(), store.ID(strings.TrimPrefix(path, "/making/")))
	if err != nil {
		t.Fatal(err)
	}
	var got []string
	for _, e := range m.Events {
		got = append(got, e.Ref)
	}
	if strings.Join(got, " ") != strings.Join(want, " ") {
		t.Errorf("kept are\n%v, poured were\n%v", got, want)
	}
	if err := kept.Close(); err != nil {
		t.Error(err)
	}
}
