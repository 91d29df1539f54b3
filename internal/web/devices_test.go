package web

import (
	"crypto/tls"
	"net"
	"net/http"
	"net/http/cookiejar"
	"net/netip"
	"net/url"
	"regexp"
	"strings"
	"testing"
	"time"

	"firlot/internal/store"
)

// startShared opens an app whose second door is another port of this machine:
// what counts as outside is the door, not the address.
func startShared(t testing.TB, mode ShareMode) *app {
	t.Helper()
	a := start(t, true)
	a.server.sharing.config = ShareConfig{Dir: t.TempDir(),
		Addrs: func() ([]netip.Addr, error) { return []netip.Addr{netip.MustParseAddr("127.0.0.1")}, nil }}
	if mode != ShareOff {
		if err := a.server.Share(mode); err != nil {
			t.Fatal(err)
		}
	}
	return a
}

// phone is another device: a browser with cookies of its own, at the second
// door.
func (a *app) phone() *app {
	a.t.Helper()
	jar, err := cookiejar.New(nil)
	if err != nil {
		a.t.Fatal(err)
	}
	return &app{t: a.t, server: a.server, store: a.store, base: strings.TrimSuffix(a.server.SharedAt()[0], "/"), lang: "en",
		client: &http.Client{Jar: jar, Transport: &http.Transport{TLSClientConfig: &tls.Config{InsecureSkipVerify: true}},
			CheckRedirect: func(*http.Request, []*http.Request) error { return http.ErrUseLastResponse }}}
}

// pairs lets a phone in as a keeper does.
func (a *app) pairs(name string) *app {
	a.t.Helper()
	code, err := a.server.PairingCode()
	if err != nil {
		a.t.Fatal(err)
	}
	p := a.phone()
	if r := p.post(pairPath, url.Values{"code": {code}, "name": {name}}); r.status != http.StatusSeeOther || r.header.Get("Location") != deviceHome {
		a.t.Fatalf("pairing: status %d\n%s", r.status, r.start())
	}
	return p
}

var regexpHref = regexp.MustCompile(`(?:href|src)="(/[^"]*)"`)

func (a *app) setClock(now func() time.Time) {
	a.server.pairing.now = now
	a.server.Clock = now
}

func TestAStrangerSeesThePairingPageOnly(t *testing.T) {
	a := startShared(t, SharePlain)
	p := a.phone()
	for _, path := range []string{"/pair", "/static/app.css", "/static/devices.css", "/static/icon.svg"} {
		if r := p.get(path); r.status != http.StatusOK {
			t.Errorf("%s: status %d", path, r.status)
		}
	}
	for _, pattern := range routePatterns(a.server) {
		method, path := aPath(pattern)
		if strangersMay[pattern] {
			continue
		}
		r, err := http.NewRequest(method, p.base+path, nil)
		if err != nil {
			t.Fatal(err)
		}
		if got := p.do(r); got.status != http.StatusUnauthorized {
			t.Errorf("%s: status %d", pattern, got.status)
		}
		r.Header.Set("Accept", "text/html")
		if got := p.do(r); got.status != http.StatusUnauthorized && (got.status != http.StatusSeeOther || got.header.Get("Location") != pairPath) {
			t.Errorf("%s as a page: status %d to %q", pattern, got.status, got.header.Get("Location"))
		}
	}
	for _, path := range []string{"/static/queue.js", "/static/", "/static/../pair", "/static/app.css/..", "/nowhere", "//pair", "/pair/", "/PAIR"} {
		if r := p.get(path); r.status == http.StatusOK {
			t.Errorf("%s is there", path)
		}
	}
}

// Everything that the pairing page is made of is there for a stranger.
func TestThePairingPageIsWhole(t *testing.T) {
	a := startShared(t, SharePlain)
	for _, lang := range languages {
		p := a.phone()
		p.lang = lang
		page := p.open("/pair")
		for _, link := range regexpHref.FindAllStringSubmatch(page.body, -1) {
			if r := p.get(link[1]); r.status != http.StatusOK {
				t.Errorf("%s: status %d", link[1], r.status)
			}
		}
		if strings.Contains(page.body, "<script") {
			t.Error("it has a script")
		}
	}
}

func TestADeviceIsLetInAndShutOut(t *testing.T) {
	a := startShared(t, SharePlain)
	laptop := a.press(a.open("/devices"), saying("make a pairing code"), nil)
	code := strings.TrimSpace(textOf(laptop.find(with("class", "digits"))))
	p := a.phone()

	// Opening what the QR code says, as often as may be, uses nothing up.
	digits := onlyDigits(code)
	for range 3 {
		if v, _ := attr(p.open("/pair?code="+digits).byID("code"), "value"); v != grouped(digits) {
			t.Fatalf("the field holds %q", v)
		}
	}
	in := p.post(pairPath, url.Values{"code": {code}, "name": {"Kitchen phone"}})
	if in.status != http.StatusSeeOther {
		t.Fatalf("status %d: %s", in.status, in.start())
	}
	cookie := in.header.Get("Set-Cookie")
	for _, flag := range []string{"firlot_device=h.", "HttpOnly", "SameSite=Strict", "Path=/", "Max-Age="} {
		if !strings.Contains(cookie, flag) {
			t.Errorf("the cookie %q lacks %s", cookie, flag)
		}
	}
	if strings.Contains(cookie, "Secure") {
		t.Error("in the clear a Secure cookie would never come back")
	}
	list, err := a.store.Devices(t.Context())
	if err != nil || len(list) != 1 || list[0].Name != "Kitchen phone" {
		t.Fatalf("devices: %v, %v", list, err)
	}
	token := strings.TrimPrefix(strings.SplitN(cookie, ";", 2)[0], "firlot_device=")
	if len(list[0].TokenHash) != 32 || strings.Contains(token, string(list[0].TokenHash)) {
		t.Error("what is kept is not a SHA-256")
	}
	if r := p.get("/help"); r.status != http.StatusOK {
		t.Fatalf("it is not in: status %d", r.status)
	}
	if r := p.get("/pair"); r.status != http.StatusSeeOther {
		t.Errorf("it is asked to pair again: status %d", r.status)
	}
	laptop = a.open("/devices")
	laptop.says("The code was used", "Let in 2026-05-17")
	laptop = a.press(laptop, saying("rename"), map[string]string{"name": "Phone of the barn"})
	if v, _ := attr(laptop.find(with("name", "name")), "value"); v != "Phone of the barn" {
		t.Errorf("it is called %q", v)
	}
	a.press(laptop, saying("shut out"), nil).says("Shut out.")
	if r := p.get("/help"); r.status != http.StatusUnauthorized {
		t.Errorf("after being shut out: status %d", r.status)
	}
	if r := a.phone().post(pairPath, url.Values{"code": {code}}); r.status != http.StatusForbidden {
		t.Errorf("the code is good again: status %d", r.status)
	}
}

func TestUnderTLSTheCookieIsSecure(t *testing.T) {
	a := startShared(t, ShareTLS)
	code, err := a.server.PairingCode()
	if err != nil {
		t.Fatal(err)
	}
	p := a.phone()
	in := p.post(pairPath, url.Values{"code": {code}, "name": {"x"}})
	cookie := in.header.Get("Set-Cookie")
	for _, flag := range []string{"__Host-firlot_device=t.", "HttpOnly", "SameSite=Strict", "Secure", "Path=/"} {
		if !strings.Contains(cookie, flag) {
			t.Errorf("the cookie %q lacks %s", cookie, flag)
		}
	}
	if r := p.get("/help"); r.status != http.StatusOK {
		t.Errorf("status %d", r.status)
	}
	if r := p.get("/devices/certificate"); r.status != http.StatusOK || !strings.Contains(r.body, "BEGIN CERTIFICATE") || strings.Contains(r.body, "PRIVATE") {
		t.Errorf("the issuer's certificate: status %d\n%s", r.status, r.body)
	}
}

// A pass that was handed out in the clear may have been overheard.
func TestAPlainPassIsNoGoodUnderTLS(t *testing.T) {
	a := startShared(t, SharePlain)
	p := a.pairs("phone")
	at, _ := url.Parse(p.base)
	pass := p.client.Jar.Cookies(at)[0].Value
	if err := a.server.Share(ShareTLS); err != nil {
		t.Fatal(err)
	}
	q := a.phone()
	for _, name := range []string{plainCookie, tlsCookie} {
		r, err := http.NewRequest("GET", q.base+"/help", nil)
		if err != nil {
			t.Fatal(err)
		}
		r.AddCookie(&http.Cookie{Name: name, Value: pass})
		if got := q.do(r); got.status != http.StatusUnauthorized {
			t.Errorf("as %s: status %d", name, got.status)
		}
	}
}

func TestADeviceThatStaysAwayIsOut(t *testing.T) {
	a := startShared(t, SharePlain)
	clock := newHand()
	p := a.pairs("phone")
	a.setClock(clock.now)
	clock.pass(deviceLife)
	if r := p.get("/help"); r.status != http.StatusOK {
		t.Errorf("just in time: status %d", r.status)
	}
	clock.pass(time.Second)
	if r := p.get("/help"); r.status != http.StatusUnauthorized {
		t.Errorf("too late: status %d", r.status)
	}
}

// The browser throws a pass away when its time is over, so each page that is
// opened begins that time anew; what scripts ask for does not.
func TestAPassIsRenewedByUse(t *testing.T) {
	for _, mode := range []ShareMode{SharePlain, ShareTLS} {
		a := startShared(t, mode)
		p := a.pairs("phone")
		at, _ := url.Parse(p.base)
		pass := p.client.Jar.Cookies(at)[0]
		for accept, want := range map[string]string{"text/html,*/*": deviceCookie(pass.Value, mode == ShareTLS).String(), "application/json": ""} {
			r, err := http.NewRequest("GET", p.base+"/making", nil)
			if err != nil {
				t.Fatal(err)
			}
			r.Header.Set("Accept", accept)
			if got := p.do(r); got.status != http.StatusOK || got.header.Get("Set-Cookie") != want {
				t.Errorf("%s, %s: status %d, cookie %q, want %q", mode, accept, got.status, got.header.Get("Set-Cookie"), want)
			}
		}
		// Nobody is given a pass who has none that is good.
		r, err := http.NewRequest("GET", p.base+"/pair", nil)
		if err != nil {
			t.Fatal(err)
		}
		r.Header.Set("Accept", "text/html")
		r.AddCookie(&http.Cookie{Name: pass.Name, Value: pass.Value[:len(pass.Value)-1] + "_"})
		if got := a.phone().do(r); got.header.Get("Set-Cookie") != "" {
			t.Errorf("%s: a wrong pass was renewed", mode)
		}
	}
}

// Another program on the same address can set a cookie of the same name with a
// longer path, which browsers send first.
func TestAnotherProgramsCookieHidesNoPass(t *testing.T) {
	a := startShared(t, SharePlain)
	p := a.pairs("phone")
	at, _ := url.Parse(p.base)
	pass := p.client.Jar.Cookies(at)[0].Value
	for cookies, want := range map[string]int{
		"firlot_device=h.another; firlot_device=" + pass:                            http.StatusOK,
		"firlot_device=; firlot_device=x; firlot_device=" + pass:                    http.StatusOK,
		"firlot_device=h.another; firlot_device=h.more":                             http.StatusUnauthorized,
		strings.Repeat("firlot_device=h.x; ", mostPasses) + "firlot_device=" + pass: http.StatusUnauthorized,
	} {
		r, err := http.NewRequest("GET", p.base+"/help", nil)
		if err != nil {
			t.Fatal(err)
		}
		r.Header.Set("Cookie", cookies)
		if got := a.phone().do(r); got.status != want {
			t.Errorf("%s: status %d, want %d", cookies, got.status, want)
		}
	}
}

func TestGuessingIsHeldBack(t *testing.T) {
	a := startShared(t, SharePlain)
	clock := newHand()
	a.setClock(clock.now)
	code, err := a.server.PairingCode()
	if err != nil {
		t.Fatal(err)
	}
	p := a.phone()
	if r := p.post(pairPath, url.Values{"code": {other(onlyDigits(code))}, "name": {"x"}}); r.status != http.StatusForbidden || r.header.Get("Set-Cookie") != "" {
		t.Fatalf("a wrong code: status %d", r.status)
	}
	r := p.post(pairPath, url.Values{"code": {code}, "name": {"x"}})
	if r.status != http.StatusTooManyRequests || r.header.Get("Retry-After") != "1" || r.header.Get("Set-Cookie") != "" {
		t.Fatalf("at once after it: status %d, to wait %q", r.status, r.header.Get("Retry-After"))
	}
	for range mostWrong - 1 {
		clock.pass(20 * time.Second)
		p.post(pairPath, url.Values{"code": {"1"}, "name": {"x"}})
	}
	clock.pass(20 * time.Second)
	if r := p.post(pairPath, url.Values{"code": {code}, "name": {"x"}}); r.status != http.StatusForbidden {
		t.Errorf("after %d wrong tries the code gives %d", mostWrong, r.status)
	}
	a.open("/devices").says("somebody in your network is guessing")
	if list, _ := a.store.Devices(t.Context()); len(list) != 0 {
		t.Errorf("let in: %v", list)
	}
}

func TestTheSecondDoorKnowsItsOwnAddressesOnly(t *testing.T) {
	a := startShared(t, SharePlain)
	p := a.pairs("phone")
	at := strings.TrimPrefix(p.base, "http://")
	port := at[strings.LastIndexByte(at, ':'):]
	inside := strings.TrimPrefix(a.base, "http://")
	for host, want := range map[string]int{at: 200, "localhost" + port: 421, "evil.example" + port: 421, "127.0.0.1": 421, inside: 421, "": 421} {
		r, err := http.NewRequest("GET", p.base+"/pair", nil)
		if err != nil {
			t.Fatal(err)
		}
		if r.Host = host; host == "" {
			r.Host = " "
		}
		if got := p.do(r).status; got != want && !(want == 200 && got == http.StatusSeeOther) && !(host == "" && got == http.StatusBadRequest) {
			t.Errorf("host %q: status %d, want %d", host, got, want)
		}
	}
}

func TestFormsFromElsewhereAreRefusedAtTheSecondDoor(t *testing.T) {
	a := startShared(t, SharePlain)
	code, err := a.server.PairingCode()
	if err != nil {
		t.Fatal(err)
	}
	for name, value := range map[string]string{"Sec-Fetch-Site": "cross-site", "Origin": "http://evil.example", "origin": a.base} {
		p := a.phone()
		r, err := http.NewRequest("POST", p.base+pairPath, strings.NewReader(url.Values{"code": {code}, "name": {"x"}}.Encode()))
		if err != nil {
			t.Fatal(err)
		}
		r.Header.Set("Content-Type", "application/x-www-form-urlencoded")
		r.Header.Set(name, value)
		if got := p.do(r); got.status != http.StatusForbidden || got.header.Get("Set-Cookie") != "" {
			t.Errorf("with %s %s: status %d", name, value, got.status)
		}
	}
	if digits, _, _ := a.server.pairing.current(); digits == "" {
		t.Error("the code is gone")
	}
}

// A laptop that was given another address says so, and shares there at a press.
func TestAnotherAddressIsSaid(t *testing.T) {
	a := startShared(t, SharePlain)
	if p := a.open("/devices"); strings.Contains(p.text(), "no longer has the address") {
		t.Error("it says so where it is")
	}
	if home, err := net.Listen("tcp", "127.0.0.2:0"); err != nil {
		t.Skip("this machine has one address only: ", err)
	} else {
		home.Close()
	}
	a.server.sharing.config.Addrs = func() ([]netip.Addr, error) { return []netip.Addr{netip.MustParseAddr("127.0.0.2")}, nil }
	p := a.open("/devices")
	p.says("no longer has the address")
	p = a.press(p, saying("share at the new address"), nil)
	if strings.Contains(p.text(), "no longer has the address") || !strings.Contains(a.server.SharedAt()[0], "//127.0.0.2:") {
		t.Errorf("shared at %v: %s", a.server.SharedAt(), p.start())
	}
}

func TestLoopbackNeedsNoPairing(t *testing.T) {
	a := startShared(t, SharePlain)
	for _, path := range []string{"/settings", "/devices", "/mix", "/settings/backup"} {
		if p := a.open(path); p.status != http.StatusOK {
			t.Errorf("%s: status %d", path, p.status)
		}
	}
	if r := a.get("/pair"); r.status != http.StatusSeeOther || r.header.Get("Location") != "/devices" {
		t.Errorf("/pair: status %d", r.status)
	}
}

func TestManyDevicesAreHeldToABound(t *testing.T) {
	a := startShared(t, SharePlain)
	var got int
	for i := range 500 {
		token, err := newToken(false)
		if err != nil {
			t.Fatal(err)
		}
		if _, err := a.store.PairDevice(t.Context(), store.Device{Name: "x", TokenHash: tokenHash(token)}); err != nil {
			got = i
			break
		}
	}
	if got == 0 {
		t.Skip("the store bounds nothing")
	}
	code, err := a.server.PairingCode()
	if err != nil {
		t.Fatal(err)
	}
	r := a.phone().post(pairPath, url.Values{"code": {code}, "name": {"one more"}})
	if r.status != http.StatusUnprocessableEntity || r.header.Get("Set-Cookie") != "" {
		t.Errorf("status %d", r.status)
	}
	r.says("cannot keep another device")
}

func TestALongPairingFormIsRefused(t *testing.T) {
	a := startShared(t, SharePlain)
	r := a.phone().post(pairPath, url.Values{"code": {strings.Repeat("9", maxPairForm)}})
	if r.status != http.StatusRequestEntityTooLarge || r.header.Get("Set-Cookie") != "" || strings.Contains(r.body, "<nav") {
		t.Errorf("status %d: %s", r.status, r.body)
	}
}

// Whatever is typed into the pairing form lets nobody in but the code, and
// never breaks the page.
func FuzzPairingForm(f *testing.F) {
	a := startShared(f, SharePlain)
	stranger := a.phone()
	clock := newHand()
	a.server.pairing.now = clock.now
	for _, s := range []string{"", "00000000", "1234 5678", "１２３４５６７８", "a=b&code=", "\x00", strings.Repeat("9", 500), "12345678\u2028"} {
		f.Add(s, s)
	}
	f.Fuzz(func(t *testing.T, code, name string) {
		if 3*(len(code)+len(name)) > maxPairForm-100 {
			t.Skip("a form that is too long may be cut off before its answer is read")
		}
		clock.pass(wrongWindow + time.Second) // no waiting here
		right, err := a.server.PairingCode()
		if err != nil {
			t.Fatal(err)
		}
		if onlyDigits(code) == onlyDigits(right) {
			return
		}
		p := *stranger
		p.t = t
		r := p.post(pairPath, url.Values{"code": {code}, "name": {name}})
		if r.status != http.StatusForbidden && r.status != http.StatusRequestEntityTooLarge {
			t.Errorf("status %d", r.status)
		}
		if r.header.Get("Set-Cookie") != "" {
			t.Error("somebody was let in")
		}
		q := p.get("/pair?" + url.Values{"code": {code}}.Encode())
		if q.status != http.StatusOK && q.status != http.StatusBadRequest && q.status != http.StatusRequestHeaderFieldsTooLarge {
			t.Errorf("the page: status %d", q.status)
		}
	})
}
