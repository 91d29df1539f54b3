package web

import (
	"context"
	"crypto/tls"
	"errors"
	"fmt"
	"log/slog"
	"net"
	"net/http"
	"net/netip"
	"slices"
	"strconv"
	"strings"
	"sync"
	"time"

	"golang.org/x/net/netutil"
)

// ShareConfig is what letting other devices in needs.
type ShareConfig struct {
	// Port to listen on; when it is taken, or 0, a free one.
	Port int
	// Addrs are the addresses of this machine that others may reach it by, the
	// likeliest first; nil for HomeAddresses.
	Addrs func() ([]netip.Addr, error)
	// Dir is where the certificate is kept; without it there is no TLS.
	Dir string
}

// SharePort is where other devices find the app unless told otherwise.
const SharePort = 4681

// ShareMode is how other devices are answered.
type ShareMode string

const (
	ShareOff   ShareMode = ""
	SharePlain ShareMode = "plain" // http: what goes over the air is not encrypted
	ShareTLS   ShareMode = "tls"   // https with a certificate of our own making
)

// ErrNoHome says that this machine has no address in a home network.
var ErrNoHome = errors.New("this machine has no private address: it is in no home network")

// ErrNoPlace says that there is no folder to keep a certificate in.
var ErrNoPlace = errors.New("there is no folder to keep a certificate in")

// sharing is the second door: a listener of its own on the addresses of the
// home network. Which door a request came through decides what it may do; who
// is behind it, by what the network says, does not count.
type sharing struct {
	config ShareConfig
	inside http.Handler // hosts are checked here, all else there
	log    *slog.Logger
	now    func() time.Time

	mu     sync.Mutex
	mode   ShareMode
	addrs  []netip.AddrPort
	cert   *certificate
	server *http.Server
	done   sync.WaitGroup
}

// shareState is what is shared at the moment.
type shareState struct {
	Mode  ShareMode
	Addrs []netip.AddrPort
	Cert  *certificate
}

func (s shareState) scheme() string {
	if s.Mode == ShareTLS {
		return "https"
	}
	return "http"
}

// URLs are the addresses to type, the likeliest first.
func (s shareState) URLs() []string {
	var list []string
	for _, a := range s.Addrs {
		list = append(list, s.scheme()+"://"+a.String()+"/")
	}
	return list
}

func (h *sharing) state() shareState {
	h.mu.Lock()
	defer h.mu.Unlock()
	return shareState{h.mode, slices.Clone(h.addrs), h.cert}
}

// find are the addresses that this machine may be reached by now.
func (h *sharing) find() ([]netip.Addr, error) {
	if h.config.Addrs != nil {
		return h.config.Addrs()
	}
	return HomeAddresses()
}

// moved reports whether this machine has lost the address that others were
// told, as when it has joined another network or the router gave it a new one.
func (h *sharing) moved() bool {
	bound := h.state().Addrs
	if len(bound) == 0 {
		return false
	}
	now, err := h.find()
	return err == nil && !slices.Contains(now, bound[0].Addr())
}

// start opens the door, after closing the one that is open.
func (h *sharing) start(mode ShareMode) error {
	if mode != SharePlain && mode != ShareTLS {
		return fmt.Errorf("no such way to share: %q", mode)
	}
	h.stop()
	h.mu.Lock()
	defer h.mu.Unlock()
	addrs, err := h.find()
	if err != nil {
		return err
	}
	if len(addrs) == 0 {
		return ErrNoHome
	}
	var cert *certificate
	if mode == ShareTLS {
		if h.config.Dir == "" {
			return ErrNoPlace
		}
		if cert, err = certificateFor(h.config.Dir, addrs, h.now()); err != nil {
			return err
		}
	}
	listeners, bound, err := listenOn(addrs, h.config.Port)
	if err != nil {
		return err
	}
	h.mode, h.addrs, h.cert = mode, bound, cert
	h.serve(listeners)
	return nil
}

// Bounds on what others may hold open. A browser takes about six connections
// (common practice, no source), so a household fits, and one machine that
// takes what it can leaves room for the phones.
const (
	mostConnections = 256 // on one address of ours
	mostOfOne       = 32  // of one address of theirs
	outsideIdle     = 30 * time.Second
)

func (h *sharing) serve(listeners []net.Listener) {
	h.server = &http.Server{Handler: onlyShared(h.addrs, h.cert != nil, h.inside), ReadHeaderTimeout: headerTimeout, ReadTimeout: readTimeout,
		WriteTimeout: readTimeout, IdleTimeout: outsideIdle, MaxHeaderBytes: maxHeader,
		ErrorLog: slog.NewLogLogger(h.log.Handler(), slog.LevelDebug)} // a stranger's broken handshake is no error of ours
	for _, l := range listeners {
		l = netutil.LimitListener(&fairListener{Listener: l, open: map[netip.Prefix]int{}}, mostConnections)
		if h.cert != nil {
			l = tls.NewListener(l, h.cert.config())
		}
		server := h.server
		h.done.Go(func() {
			if err := server.Serve(l); !errors.Is(err, http.ErrServerClosed) {
				h.log.Error("an address is shared no longer", "address", l.Addr(), "error", err)
			}
		})
	}
}

// fairListener shuts connections beyond mostOfOne of one address at once.
type fairListener struct {
	net.Listener
	mu   sync.Mutex
	open map[netip.Prefix]int
}

func (l *fairListener) Accept() (net.Conn, error) {
	for {
		c, err := l.Listener.Accept()
		if err != nil {
			return nil, err
		}
		from, _ := netip.ParseAddrPort(c.RemoteAddr().String())
		who := neighbourhood(from.Addr())
		if l.count(who, 1) <= mostOfOne {
			return &fairConn{Conn: c, end: sync.OnceFunc(func() { l.count(who, -1) })}, nil
		}
		l.count(who, -1)
		c.Close()
	}
}

func (l *fairListener) count(who netip.Prefix, by int) int {
	l.mu.Lock()
	defer l.mu.Unlock()
	n := l.open[who] + by
	if l.open[who] = n; n == 0 {
		delete(l.open, who)
	}
	return n
}

type fairConn struct {
	net.Conn
	end func()
}

func (c *fairConn) Close() error {
	c.end()
	return c.Conn.Close()
}

// stop closes the door. Requests under way get a moment to finish.
func (h *sharing) stop() {
	h.mu.Lock()
	defer h.mu.Unlock()
	if h.server == nil {
		return
	}
	ctx, cancel := context.WithTimeout(context.Background(), stopTimeout)
	defer cancel()
	if err := h.server.Shutdown(ctx); err != nil {
		h.server.Close()
	}
	h.done.Wait()
	h.mode, h.addrs, h.cert, h.server = ShareOff, nil, nil, nil
}

// listenOn listens on each address, at the same port: the one asked for, or
// any that is free. An address that cannot be had is left out, so long as one
// is left.
func listenOn(addrs []netip.Addr, port int) ([]net.Listener, []netip.AddrPort, error) {
	var listeners []net.Listener
	var bound []netip.AddrPort
	var first error
	for _, a := range addrs {
		l, err := net.Listen("tcp", net.JoinHostPort(a.String(), strconv.Itoa(port)))
		if err != nil && len(listeners) == 0 && port != 0 {
			l, err = net.Listen("tcp", net.JoinHostPort(a.String(), "0"))
		}
		if err != nil {
			first = cmpErr(first, err)
			continue
		}
		at := netip.AddrPortFrom(a, uint16(l.Addr().(*net.TCPAddr).Port))
		port = int(at.Port())
		listeners, bound = append(listeners, l), append(bound, at)
	}
	if len(listeners) == 0 {
		return nil, nil, first
	}
	return listeners, bound, nil
}

func cmpErr(first, next error) error {
	if first != nil {
		return first
	}
	return next
}

// onlyShared refuses requests for other hosts than the shared addresses: a
// name that somebody has made to point here (DNS rebinding) is none of them.
// The usual port of http or https is left out by browsers.
func onlyShared(addrs []netip.AddrPort, secure bool, next http.Handler) http.Handler {
	usual := uint16(80)
	if secure {
		usual = 443
	}
	allowed := map[string]bool{}
	for _, a := range addrs {
		allowed[a.String()] = true
		if a.Port() == usual {
			allowed[strings.TrimSuffix(a.String(), ":"+strconv.Itoa(int(usual)))] = true
		}
	}
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		if !allowed[r.Host] {
			http.Error(w, "Firlot answers by the addresses that it shows only.", http.StatusMisdirectedRequest)
			return
		}
		next.ServeHTTP(w, r)
	})
}

// HomeAddresses are this machine's private addresses (RFC 1918, and RFC 4193
// for IPv6), the likeliest to be the home network's first. Public addresses
// are never among them.
func HomeAddresses() ([]netip.Addr, error) {
	interfaces, err := net.Interfaces()
	if err != nil {
		return nil, err
	}
	var found []homeAddr
	for _, i := range interfaces {
		if i.Flags&net.FlagUp == 0 || i.Flags&(net.FlagLoopback|net.FlagPointToPoint) != 0 {
			continue
		}
		list, err := i.Addrs()
		if err != nil {
			continue // it went away meanwhile
		}
		for _, a := range list {
			if p, err := netip.ParsePrefix(a.String()); err == nil {
				found = append(found, homeAddr{i.Name, p.Addr().Unmap()})
			}
		}
	}
	return likeliest(found), nil
}

type homeAddr struct {
	card string // the interface's name
	addr netip.Addr
}

// bridges begin the names of interfaces that lead to machines inside this one,
// or to a private network elsewhere (common practice, no source). Their
// addresses come last.
var bridges = []string{"docker", "br-", "veth", "virbr", "vmnet", "vboxnet", "lxc", "lxd", "podman", "cni", "zt", "tailscale", "wg", "tun", "tap"}

// likeliest keeps the private addresses and puts them in order: real network
// cards before bridges, IPv4 before IPv6, else as found.
func likeliest(found []homeAddr) []netip.Addr {
	rank := func(h homeAddr) int {
		n := 0
		if slices.ContainsFunc(bridges, func(b string) bool { return strings.HasPrefix(h.card, b) }) {
			n = 2
		}
		if h.addr.Is6() {
			n++
		}
		return n
	}
	found = slices.DeleteFunc(slices.Clone(found), func(h homeAddr) bool { return !h.addr.IsPrivate() })
	slices.SortStableFunc(found, func(a, b homeAddr) int { return rank(a) - rank(b) })
	var out []netip.Addr
	for _, h := range found {
		if !slices.Contains(out, h.addr) {
			out = append(out, h.addr)
		}
	}
	return out
}

// Share lets other devices in, or with ShareOff no longer.
func (s *Server) Share(mode ShareMode) error {
	if mode == ShareOff {
		s.sharing.stop()
		s.pairing.forget()
		return nil
	}
	return s.sharing.start(mode)
}

// SharedAt are the addresses that others may open, the likeliest first.
func (s *Server) SharedAt() []string { return s.sharing.state().URLs() }

// PairingCode makes a code that lets one device in.
func (s *Server) PairingCode() (string, error) {
	code, _, err := s.pairing.make()
	return grouped(code), err
}

// Fingerprint is the SHA-256 of the certificate that others are shown, or
// nothing where they are answered in the clear.
func (s *Server) Fingerprint() string {
	if c := s.sharing.state().Cert; c != nil {
		return c.Fingerprint()
	}
	return ""
}
