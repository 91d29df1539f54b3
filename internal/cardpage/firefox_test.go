package cardpage_test

import (
	"bufio"
	"encoding/base64"
	"encoding/json"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"strings"
	"testing"
	"time"

	"golang.org/x/net/websocket"
)

// fox is a page in Firefox, driven by WebDriver BiDi (a W3C draft:
// https://w3c.github.io/webdriver-bidi/).
type fox struct {
	t       testing.TB
	ws      *websocket.Conn
	count   int
	context string
}

// origin is where the test says that it calls from; Firefox is told to let it.
const origin = "http://127.0.0.1"

// foxPreferences keep a fresh profile from asking anything of the network; a
// proxy that is not there takes what would still go out.
const foxPreferences = `
user_pref("app.update.enabled", false);
user_pref("app.normandy.enabled", false);
user_pref("browser.shell.checkDefaultBrowser", false);
user_pref("datareporting.policy.dataSubmissionEnabled", false);
user_pref("toolkit.telemetry.enabled", false);
user_pref("network.captive-portal-service.enabled", false);
user_pref("network.connectivity-service.enabled", false);
user_pref("network.proxy.type", 1);
user_pref("network.proxy.http", "127.0.0.1");
user_pref("network.proxy.http_port", 9);
user_pref("network.proxy.ssl", "127.0.0.1");
user_pref("network.proxy.ssl_port", 9);
user_pref("intl.accept_languages", "en");
`

var listening = regexp.MustCompile(`WebDriver BiDi listening on (ws://\S+)`)

// firefox opens Firefox with a fresh profile.
func firefox(t testing.TB) *fox {
	t.Helper()
	if testing.Short() {
		t.Skip("short")
	}
	path := program(t, "firefox-esr", "firefox")
	dir := t.TempDir()
	if err := os.WriteFile(filepath.Join(dir, "user.js"), []byte(foxPreferences), 0o600); err != nil {
		t.Fatal(err)
	}
	cmd := exec.Command(path, "--headless", "--no-remote", "--profile", dir, "--remote-debugging-port", "0", "--remote-allow-origins", origin)
	cmd.Env = append(os.Environ(), "HOME="+dir, "MOZ_CRASHREPORTER_DISABLE=1")
	out, err := cmd.StderrPipe()
	if err != nil {
		t.Fatal(err)
	}
	if err := cmd.Start(); err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() {
		cmd.Process.Kill()
		cmd.Wait()
	})
	address := make(chan string, 1)
	go func() {
		lines := bufio.NewScanner(out)
		for lines.Scan() {
			if m := listening.FindStringSubmatch(lines.Text()); m != nil {
				address <- m[1]
			}
		}
	}()
	select {
	case at := <-address:
		ws, err := websocket.Dial(at+"/session", "", origin)
		if err != nil {
			t.Fatal(err)
		}
		t.Cleanup(func() { ws.Close() })
		f := &fox{t: t, ws: ws}
		f.call("session.new", map[string]any{"capabilities": map[string]any{}}, nil)
		var tree struct{ Contexts []struct{ Context string } }
		f.call("browsingContext.getTree", map[string]any{}, &tree)
		f.context = tree.Contexts[0].Context
		return f
	case <-time.After(patience):
		t.Fatal("Firefox does not listen")
	}
	return nil
}

// call sends a command and waits for its result.
func (f *fox) call(method string, params any, result any) {
	f.t.Helper()
	f.count++
	if err := websocket.JSON.Send(f.ws, map[string]any{"id": f.count, "method": method, "params": params}); err != nil {
		f.t.Fatal(err)
	}
	f.ws.SetReadDeadline(time.Now().Add(2 * patience))
	for {
		var m struct {
			ID             int
			Type           string
			Error, Message string
			Result         json.RawMessage
		}
		if err := websocket.JSON.Receive(f.ws, &m); err != nil {
			f.t.Fatalf("%s: %v", method, err)
		}
		if m.ID != f.count {
			continue // an event
		}
		if m.Type == "error" {
			f.t.Fatalf("%s: %s: %s", method, m.Error, m.Message)
		}
		if result != nil {
			if err := json.Unmarshal(m.Result, result); err != nil {
				f.t.Fatal(err)
			}
		}
		return
	}
}

func (f *fox) goTo(url string) {
	f.t.Helper()
	f.call("browsingContext.navigate", map[string]any{"context": f.context, "url": url, "wait": "complete"}, nil)
}

// js evaluates an expression, as a text.
func (f *fox) js(expression string) string {
	f.t.Helper()
	var got struct {
		Type   string
		Result struct {
			Value any
		}
		ExceptionDetails struct{ Text string }
	}
	f.call("script.evaluate", map[string]any{"expression": "String(" + expression + ")", "target": map[string]any{"context": f.context}, "awaitPromise": true}, &got)
	if got.Type != "success" {
		f.t.Fatalf("%s: %s", expression, got.ExceptionDetails.Text)
	}
	return fmt.Sprint(got.Result.Value)
}

// until waits for an expression to become true.
func (f *fox) until(expression string) {
	f.t.Helper()
	for end := time.Now().Add(patience); time.Now().Before(end); time.Sleep(30 * time.Millisecond) {
		if f.js(expression) == "true" {
			return
		}
	}
	f.t.Fatalf("this did not come true: %s\n%s", expression, f.js(`document.getElementById("status").textContent + `+shown+`.innerText.slice(0, 600)`))
}

var onePage = regexp.MustCompile(`(?m)^Pages:\s+1$`)

// TestInFirefox opens the file from disk: it reads, checks its proof, leaves
// an ingredient out by a press, speaks Spanish, and opens a link.
func TestInFirefox(t *testing.T) {
	f := firefox(t)
	at := saved(t, rendered(t, adult(t)))
	f.goTo(at)
	f.until(`document.documentElement.dataset.engine === "ready"`)
	f.until(checked + ` === "sound"`)
	if got := f.js(sum); got != "1000" {
		t.Errorf("the grams add up to %s", got)
	}
	f.js(`document.querySelector('` + cannot("en", "linseed/whole") + `').click()`)
	f.until(changed + ` && ` + sum + ` === 1000`)
	if got := f.js(`location.hash`); got != "#1;l=en;w=linseed/whole" {
		t.Errorf("the address ends in %s", got)
	}
	want := f.js(shown + `.querySelector(".tag").textContent`)
	f.js(`document.querySelector('.langs a[lang="es"]').click()`)
	f.until(`document.documentElement.lang === "es" && ` + changed)
	if got := f.js(shown + `.textContent`); !strings.Contains(got, "Cambiada aquí") || strings.Contains(got, "Changed here") {
		t.Error("the changed mix is not said in Spanish")
	}
	f.goTo("about:blank")
	f.goTo(at + "#1;l=en;w=linseed/whole")
	f.until(`document.documentElement.dataset.engine === "ready" && ` + changed)
	if got := f.js(shown + `.querySelector(".tag").textContent`); got != want {
		t.Errorf("the link shows\n%s\nwant\n%s", got, want)
	}
	for _, width := range []int{360, 1280} {
		f.call("browsingContext.setViewport", map[string]any{"context": f.context, "viewport": map[string]int{"width": width, "height": 800}}, nil)
		f.js(openAll)
		if over := f.js(wider); over != "0" {
			t.Errorf("at %d px the page is %s px wider than the window", width, over)
		}
	}
	f.js(`(window.made = [], f = URL.createObjectURL, URL.createObjectURL = (x) => (made.push(x), f.call(URL, x)), ` + shown + `.querySelector('[data-picture="wide"][data-as="png"]').click())`)
	f.until(`made.length === 1 && made[0].type === "image/png" && made[0].size > 20000`)
	var printed struct{ Data string }
	f.call("browsingContext.print", map[string]any{"context": f.context, "page": map[string]float64{"width": 21, "height": 29.7}}, &printed)
	pdf, err := base64.StdEncoding.DecodeString(printed.Data)
	if err != nil {
		t.Fatal(err)
	}
	name := filepath.Join(t.TempDir(), "card.pdf")
	if err := os.WriteFile(name, pdf, 0o600); err != nil {
		t.Fatal(err)
	}
	said, err := exec.Command(program(t, "pdfinfo"), name).CombinedOutput()
	if err != nil || !onePage.Match(said) {
		t.Errorf("the mix is not one printed page: %v\n%s", err, said)
	}
}
