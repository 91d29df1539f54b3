package web

import (
	"net/netip"
	"strings"
	"testing"
)

// Another machine's browser sees the app at a private address, in the clear:
// no secure context. It then sends no Sec-Fetch headers, unlike a browser on
// this machine, and a form is known to be ours by its Origin alone.
func TestAPhoneInTheClearIsNoSecureContext(t *testing.T) {
	home, err := HomeAddresses()
	if err != nil || len(home) == 0 {
		t.Skip("this machine has no private address: ", err)
	}
	a := startShared(t, ShareOff)
	a.server.sharing.config.Addrs = func() ([]netip.Addr, error) { return home[:1], nil }
	if err := a.server.Share(SharePlain); err != nil {
		t.Skip("the private address cannot be had: ", err)
	}
	path := a.begin("adult gerbils")
	b := freshBrowser(t)
	b.comeIn(a, "Kitchen phone")
	if js[bool](b, `isSecureContext`) {
		t.Fatal("it is a secure context, so this tries nothing")
	}
	b.goTo(strings.TrimSuffix(a.server.SharedAt()[0], "/") + path)
	b.pour()
	b.until(left + ` === 0`)
	if got := a.poured(path); len(got) != 1 {
		t.Errorf("poured: %v", got)
	}
}
