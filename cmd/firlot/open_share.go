package main

import (
	"fmt"
	"net"
	"net/netip"
	"strconv"

	"firlot/internal/store/sqlite"
	"firlot/internal/web"
)

// sharing is what the options say about other devices, and the folder that
// everything is kept in.
func (o openOptions) sharing() (web.ShareConfig, error) {
	c := web.ShareConfig{Port: web.SharePort, Dir: o.dir}
	if c.Dir == "" {
		var err error
		if c.Dir, err = sqlite.DefaultDir(); err != nil {
			return c, fmt.Errorf("there is no place for data: %w; name a folder with --data", err)
		}
	}
	switch m := web.ShareMode(o.share); m {
	case web.ShareOff, web.SharePlain, web.ShareTLS:
	default:
		return c, fmt.Errorf("--share %q is no way to share; write --share for plain http, or --share=tls", o.share)
	}
	if o.shareAddr == "" {
		return c, nil
	}
	addr, port, err := shareAddr(o.shareAddr)
	if err != nil {
		return c, err
	}
	c.Addrs = func() ([]netip.Addr, error) { return []netip.Addr{addr}, nil }
	if port >= 0 {
		c.Port = port
	}
	return c, nil
}

// shareAddr reads an address with or without a port (-1). A public address
// would let the whole world knock, and is refused; one of this machine alone
// is good for trying sharing out.
func shareAddr(text string) (netip.Addr, int, error) {
	host, port := text, -1
	if h, p, err := net.SplitHostPort(text); err == nil {
		n, err := strconv.ParseUint(p, 10, 16)
		if err != nil {
			return netip.Addr{}, 0, fmt.Errorf("--share-addr %q: %q is no port", text, p)
		}
		host, port = h, int(n)
	}
	a, err := netip.ParseAddr(host)
	if err != nil {
		return netip.Addr{}, 0, fmt.Errorf("--share-addr %q is not an address; write for example --share-addr 192.168.1.20", text)
	}
	if !a.IsPrivate() && !a.IsLoopback() {
		return netip.Addr{}, 0, fmt.Errorf("--share-addr %s is not a private address; Firlot shares in the home network only", host)
	}
	return a, port, nil
}

// tellShared prints where other devices come in, and a code for the first.
func tellShared(s streams, app *web.Server, o openOptions) error {
	code, err := app.PairingCode()
	if err != nil {
		return err
	}
	fmt.Fprintln(s.out, "\nOther devices of the home network open:")
	for _, u := range app.SharedAt() {
		fmt.Fprintf(s.out, "  %s\n", u)
	}
	fmt.Fprintf(s.out, "Pairing code, good once and for two minutes: %s\n", code)
	if print := app.Fingerprint(); print != "" {
		fmt.Fprintf(s.out, "Compare the certificate's SHA-256 fingerprint before you type the code:\n  %s\n", print)
	} else {
		fmt.Fprintln(s.out, "This is not encrypted: whoever listens in the same Wi-Fi can read along. --share=tls encrypts.")
	}
	fmt.Fprintln(s.out, `More codes, and who is let in: "Other devices" in the app.`)
	return nil
}
