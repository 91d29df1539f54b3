package web

import (
	"crypto/ecdsa"
	"crypto/elliptic"
	"crypto/sha256"
	"crypto/tls"
	"crypto/x509"
	"encoding/hex"
	"net"
	"net/http"
	"net/http/httptest"
	"net/netip"
	"os"
	"path/filepath"
	"runtime"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"
)

func TestWhichAddressesAreShared(t *testing.T) {
	at := netip.MustParseAddr
	got := likeliest([]homeAddr{
		{"docker0", at("172.17.0.1")}, {"eth0", at("203.0.113.7")}, {"eth0", at("fe80::1")}, {"eth0", at("fd00::5")},
		{"wlan0", at("192.168.1.20")}, {"lo", at("127.0.0.1")}, {"eth1", at("10.0.0.3")}, {"wlan0", at("192.168.1.20")}, {"eth0", at("2001:db8::1")},
	})
	want := []netip.Addr{at("192.168.1.20"), at("10.0.0.3"), at("fd00::5"), at("172.17.0.1")}
	if !slices.Equal(got, want) {
		t.Errorf("shared are %v, want %v", got, want)
	}
}

// A browser leaves the usual port out of the address.
func TestTheUsualPortMayBeLeftOut(t *testing.T) {
	fine := http.HandlerFunc(func(http.ResponseWriter, *http.Request) {})
	for _, c := range []struct {
		addr   string
		secure bool
		host   string
		want   int
	}{
		{"192.168.1.20:80", false, "192.168.1.20", 200}, {"192.168.1.20:80", false, "192.168.1.20:80", 200},
		{"[fd00::5]:443", true, "[fd00::5]", 200}, {"192.168.1.20:443", false, "192.168.1.20", 421},
		{"192.168.1.20:80", true, "192.168.1.20", 421}, {"192.168.1.20:8080", false, "192.168.1.20", 421},
	} {
		r := httptest.NewRequest("GET", "/", nil)
		r.Host = c.host
		w := httptest.NewRecorder()
		onlyShared([]netip.AddrPort{netip.MustParseAddrPort(c.addr)}, c.secure, fine).ServeHTTP(w, r)
		if w.Code != c.want {
			t.Errorf("%s (encrypted: %v) by %q: %d, want %d", c.addr, c.secure, c.host, w.Code, c.want)
		}
	}
}

func TestWithoutAHomeNetworkNothingIsShared(t *testing.T) {
	a := start(t, false)
	a.server.sharing.config.Addrs = func() ([]netip.Addr, error) { return nil, nil }
	if err := a.server.Share(SharePlain); err != ErrNoHome {
		t.Errorf("sharing said %v", err)
	}
	if got := a.server.SharedAt(); len(got) != 0 {
		t.Errorf("shared at %v", got)
	}
}

// One certificate per folder: made once, kept with its key where only its
// owner reads it, used again, and made anew for another address, near its end
// and when the file is damaged.
func TestTheCertificateIsKept(t *testing.T) {
	dir := t.TempDir()
	here := []netip.Addr{netip.MustParseAddr("127.0.0.1"), netip.MustParseAddr("::1")}
	get := func(addrs []netip.Addr, now time.Time) string {
		t.Helper()
		c, err := certificateFor(dir, addrs, now)
		if err != nil {
			t.Fatal(err)
		}
		return c.Fingerprint()
	}
	first := get(here, someDay)
	if again := get(here[:1], someDay.Add(24*time.Hour)); again != first {
		t.Error("a certificate that would do was not used again")
	}
	path := filepath.Join(dir, certFile)
	info, err := os.Stat(path)
	if err != nil {
		t.Fatal(err)
	}
	if runtime.GOOS != "windows" && info.Mode().Perm() != 0o600 {
		t.Errorf("its mode is %v", info.Mode())
	}
	entries, err := os.ReadDir(dir)
	if err != nil || len(entries) != 1 {
		t.Errorf("left behind: %v, %v", entries, err)
	}
	if late := get(here, someDay.Add(certLife-certRenew)); late == first {
		t.Error("near its end it was used still")
	}
	moved := get([]netip.Addr{netip.MustParseAddr("192.168.1.9")}, someDay)
	if moved == first {
		t.Error("it was used for another address")
	}
	if err := os.WriteFile(path, []byte("nothing"), 0o644); err != nil {
		t.Fatal(err)
	}
	if mended := get(here, someDay); mended == moved {
		t.Error("a damaged file was read")
	}
	if info, err = os.Stat(path); err != nil || runtime.GOOS != "windows" && info.Mode().Perm() != 0o600 {
		t.Errorf("after that its mode is %v, %v", info.Mode(), err)
	}
}

// The issuer that a phone may come to trust can speak for the shared addresses
// only, and nobody has its key.
func TestTheIssuerIsHeldToItsAddresses(t *testing.T) {
	addrs := []netip.Addr{netip.MustParseAddr("192.168.1.20")}
	text, err := makeCertificate(addrs, someDay)
	if err != nil {
		t.Fatal(err)
	}
	c, err := parseCertificate(text)
	if err != nil {
		t.Fatal(err)
	}
	key, ok := c.leaf.PrivateKey.(*ecdsa.PrivateKey)
	if !ok || key.Curve != elliptic.P256() {
		t.Errorf("the key is %T", c.leaf.PrivateKey)
	}
	if n := strings.Count(string(text), "PRIVATE KEY-----\n"); n != 2 { // begin and end of one
		t.Errorf("%d lines about private keys", n)
	}
	if key.PublicKey.Equal(c.issuer.PublicKey) {
		t.Error("the key that is kept is the issuer's")
	}
	if c.leaf.Leaf.IsCA || !c.issuer.IsCA || !c.issuer.MaxPathLenZero || !c.issuer.PermittedDNSDomainsCritical {
		t.Error("leaf and issuer are not what they should be")
	}
	if life := c.leaf.Leaf.NotAfter.Sub(c.leaf.Leaf.NotBefore); life > 825*24*time.Hour {
		t.Errorf("it lives %v", life)
	}
	roots := x509.NewCertPool()
	roots.AddCert(c.issuer)
	if _, err := c.leaf.Leaf.Verify(x509.VerifyOptions{Roots: roots, CurrentTime: someDay, DNSName: "192.168.1.20"}); err != nil {
		t.Errorf("the shared address: %v", err)
	}
	for _, name := range []string{"192.168.1.21", "example.org"} {
		if _, err := c.leaf.Leaf.Verify(x509.VerifyOptions{Roots: roots, CurrentTime: someDay, DNSName: name}); err == nil {
			t.Errorf("it is good for %s", name)
		}
	}
	// Were the issuer's key kept, name constraints would still hold it.
	if len(c.issuer.PermittedIPRanges) != 1 || c.issuer.PermittedIPRanges[0].String() != "192.168.1.20/32" || len(c.issuer.ExcludedDNSDomains) != 1 {
		t.Errorf("the issuer may speak for %v and not for %q", c.issuer.PermittedIPRanges, c.issuer.ExcludedDNSDomains)
	}
}

// The fingerprint on the laptop's screen is that of the certificate that comes
// over the wire.
func TestTheFingerprintIsWhatComesOverTheWire(t *testing.T) {
	a := startShared(t, ShareTLS)
	at := strings.TrimSuffix(strings.TrimPrefix(a.server.SharedAt()[0], "https://"), "/")
	conn, err := tls.Dial("tcp", at, &tls.Config{InsecureSkipVerify: true})
	if err != nil {
		t.Fatal(err)
	}
	defer conn.Close()
	sum := sha256.Sum256(conn.ConnectionState().PeerCertificates[0].Raw)
	want := strings.ToUpper(hex.EncodeToString(sum[:]))
	page := strings.NewReplacer(":", "", " ", "").Replace(textOf(a.open("/devices").byID("main")))
	if !strings.Contains(page, want) {
		t.Errorf("the page does not show %s", want)
	}
	if _, err := tls.Dial("tcp", at, &tls.Config{InsecureSkipVerify: true, MaxVersion: tls.VersionTLS11}); err == nil {
		t.Error("TLS 1.1 is taken")
	}
}

func TestSharingStartsAndStopsAtRunTime(t *testing.T) {
	a := startShared(t, ShareOff)
	p := a.open("/devices")
	p.says("Only this machine can open Firlot")
	p = a.press(p, saying("share in the home network"), nil)
	p.says("Shared on this machine only", "Not encrypted")
	first := a.server.SharedAt()
	if len(first) != 1 || !strings.HasPrefix(first[0], "http://127.0.0.1:") {
		t.Fatalf("shared at %v", first)
	}
	if got := getStatus(t, first[0]+"pair"); got != http.StatusOK {
		t.Fatalf("the second door answers %d", got)
	}
	p = a.press(p, saying("make a pairing code"), nil)
	p.says("Good once")
	p = a.press(p, saying("stop sharing"), nil)
	p.says("Only this machine can open Firlot")
	if c, err := net.DialTimeout("tcp", strings.Trim(strings.TrimPrefix(first[0], "http:"), "/"), time.Second); err == nil {
		c.Close()
		t.Error("the second door is still open")
	}
	if digits, _, _ := a.server.pairing.current(); digits != "" {
		t.Error("the code outlived the sharing")
	}
	p = a.press(p, saying("share encrypted"), nil)
	p.says("Encrypted, with a certificate", "fingerprint")
	if diff := cmp.Diff([]string{"https"}, []string{strings.SplitN(a.server.SharedAt()[0], ":", 2)[0]}); diff != "" {
		t.Error(diff)
	}
	a.stop() // ends the second door too
	if got := a.server.SharedAt(); len(got) != 0 {
		t.Errorf("after the end it is shared at %v", got)
	}
}

func getStatus(t *testing.T, url string) int {
	t.Helper()
	resp, err := http.Get(url)
	if err != nil {
		t.Fatal(err)
	}
	resp.Body.Close()
	return resp.StatusCode
}

// One machine that holds open what it can get leaves room for others.
func TestConnectionsOfOneAddressAreBounded(t *testing.T) {
	l, err := net.Listen("tcp", "127.0.0.1:0")
	if err != nil {
		t.Fatal(err)
	}
	fair := &fairListener{Listener: l, open: map[netip.Prefix]int{}}
	accepted := make(chan net.Conn, 10*mostOfOne)
	go func() {
		for {
			c, err := fair.Accept()
			if err != nil {
				close(accepted)
				return
			}
			accepted <- c
		}
	}()
	var held []net.Conn
	for range 3 * mostOfOne {
		c, err := net.Dial("tcp", l.Addr().String())
		if err != nil {
			t.Fatal(err)
		}
		held = append(held, c)
	}
	// Those beyond the bound are shut: reading from them ends.
	for _, c := range held[mostOfOne:] {
		c.SetReadDeadline(time.Now().Add(patience))
		if _, err := c.Read(make([]byte, 1)); err == nil || os.IsTimeout(err) {
			t.Fatalf("one beyond the bound is open: %v", err)
		}
	}
	for range mostOfOne {
		c := <-accepted
		c.Close()
		c.Close() // a second time counts for nothing
	}
	if n := len(accepted); n != 0 {
		t.Errorf("%d more were let in", n)
	}
	c, err := net.Dial("tcp", l.Addr().String())
	if err != nil {
		t.Fatal(err)
	}
	(<-accepted).Close()
	c.Close()
	l.Close()
	for range accepted {
	}
	fair.mu.Lock()
	defer fair.mu.Unlock()
	if len(fair.open) != 0 {
		t.Errorf("counted as open are %v", fair.open)
	}
	for _, c := range held {
		c.Close()
	}
}
