package web

import (
	"context"
	"crypto/rand"
	"crypto/sha256"
	"crypto/subtle"
	"encoding/base64"
	"errors"
	"net/http"
	"net/netip"
	"strings"
	"time"

	"firlot/internal/store"
)

// The cookie of a device that was let in. Its value is 256 random bits behind
// a letter that says how it was handed out; the store keeps only the SHA-256
// of the whole. What was once handed out in the clear does not open the door
// under TLS: it may have been overheard.
const (
	plainCookie = "firlot_device"
	tlsCookie   = "__Host-firlot_device"
	plainToken  = "h."
	tlsToken    = "t."
	tokenBytes  = 32
	// deviceLife is how long a device that does not come stays let in.
	deviceLife = 180 * 24 * time.Hour
)

func cookieName(secure bool) (name, prefix string) {
	if secure {
		return tlsCookie, tlsToken
	}
	return plainCookie, plainToken
}

func newToken(secure bool) (string, error) {
	b := make([]byte, tokenBytes)
	if _, err := rand.Read(b); err != nil {
		return "", err
	}
	_, prefix := cookieName(secure)
	return prefix + base64.RawURLEncoding.EncodeToString(b), nil
}

func tokenHash(token string) []byte {
	sum := sha256.Sum256([]byte(token))
	return sum[:]
}

func deviceCookie(token string, secure bool) *http.Cookie {
	name, _ := cookieName(secure)
	return &http.Cookie{Name: name, Value: token, Path: "/", MaxAge: int(deviceLife / time.Second),
		HttpOnly: true, Secure: secure, SameSite: http.SameSiteStrictMode}
}

// errStranger says that a request comes from no device that is let in.
var errStranger = errors.New("not let in")

// deviceBehind finds the device that a request's cookie belongs to.
func (s *Server) deviceBehind(r *http.Request) (store.Device, error) {
	passes := passesOf(r)
	if len(passes) == 0 {
		return store.Device{}, errStranger
	}
	list, err := s.Store.Devices(r.Context())
	if err != nil {
		return store.Device{}, err
	}
	var found *store.Device
	for _, pass := range passes {
		hash := tokenHash(pass)
		for i := range list { // all of them, so that the time tells nothing
			if subtle.ConstantTimeCompare(list[i].TokenHash, hash) == 1 && !list[i].Revoked {
				found = &list[i]
			}
		}
	}
	if found == nil || s.Clock().Sub(lastHere(*found)) > deviceLife {
		return store.Device{}, errStranger
	}
	return *found, nil
}

// mostPasses bounds how many passes of a request are looked at.
const mostPasses = 4

// passesOf are the passes that a request shows. Cookies know no ports: another
// program on this machine's address can set one of the same name, which must
// not hide the device's own.
func passesOf(r *http.Request) []string {
	name, prefix := cookieName(r.TLS != nil)
	var list []string
	for _, c := range r.CookiesNamed(name) {
		if strings.HasPrefix(c.Value, prefix) && len(list) < mostPasses {
			list = append(list, c.Value)
		}
	}
	return list
}

// lastHere is when a device last came, to store.SeenEvery.
func lastHere(d store.Device) time.Time {
	if d.Seen.After(d.Paired) {
		return d.Seen
	}
	return d.Paired
}

type besideKey struct{}

// beside is who is at the second door.
type beside struct {
	device store.Device // without an ID: a stranger
}

// outside reports whether a request came through the second door, and the
// device behind it.
func outside(r *http.Request) (store.Device, bool) {
	b, ok := r.Context().Value(besideKey{}).(beside)
	return b.device, ok
}

// device is the paired device that a request comes from; it has no ID when
// the request comes from the machine with the store.
func (q *request) device() store.Device {
	d, _ := outside(q.Request)
	return d
}

// fromOutside reports whether a request came from another device.
func (q *request) fromOutside() bool {
	_, ok := outside(q.Request)
	return ok
}

// gate is the second door's keeper: a stranger gets the pairing page, a device
// that is let in what the list of devices_allow.go allows.
func (s *Server) gate(m *http.ServeMux) http.Handler {
	refused := s.handle((*request).refuse)
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		device, err := s.deviceBehind(r)
		if err != nil && !errors.Is(err, errStranger) {
			if r.Context().Err() == nil {
				s.Log.Error("the devices could not be read", "error", err)
			}
			http.Error(w, "Firlot cannot look up who is let in.", http.StatusServiceUnavailable)
			return
		}
		known := err == nil
		r = r.WithContext(context.WithValue(r.Context(), besideKey{}, beside{device}))
		if known {
			if err := s.Store.SeenDevice(r.Context(), device.ID); err != nil && r.Context().Err() == nil {
				s.Log.Error("that a device is there could not be kept", "error", err)
			}
			renew(w, r, device)
		}
		_, pattern := m.Handler(r)
		switch {
		case strangersMay[pattern] && strangersFile(pattern, r.URL.Path):
			m.ServeHTTP(w, r)
		case !known:
			askToPair(w, r)
		case r.URL.Path == "/" && r.Method == http.MethodGet:
			http.Redirect(w, r, deviceHome, http.StatusSeeOther)
		case devicesMay[pattern]:
			m.ServeHTTP(w, r)
		default:
			refused.ServeHTTP(w, r)
		}
	})
}

// renew lets the browser keep its pass as long as the laptop does: counted from
// the last page that was opened, not from the pairing.
func renew(w http.ResponseWriter, r *http.Request, d store.Device) {
	if !wantsPage(r) {
		return
	}
	for _, pass := range passesOf(r) {
		if subtle.ConstantTimeCompare(d.TokenHash, tokenHash(pass)) == 1 {
			http.SetCookie(w, deviceCookie(pass, r.TLS != nil))
		}
	}
}

// wantsPage reports whether a page's reader asks, not a script or a picture.
func wantsPage(r *http.Request) bool {
	return r.Method == http.MethodGet && strings.Contains(r.Header.Get("Accept"), "text/html")
}

// askToPair sends a page's reader to the pairing page, and tells a script or
// a picture that it is not let in.
func askToPair(w http.ResponseWriter, r *http.Request) {
	if wantsPage(r) {
		http.Redirect(w, r, pairPath, http.StatusSeeOther)
		return
	}
	w.Header().Set("Content-Type", "text/plain; charset=utf-8")
	w.WriteHeader(http.StatusUnauthorized)
	w.Write([]byte("This device is not let in.\n"))
}

// fromAddr is the address of whoever sent a request.
func fromAddr(r *http.Request) netip.Addr {
	at, err := netip.ParseAddrPort(r.RemoteAddr)
	if err != nil {
		return netip.Addr{}
	}
	return at.Addr()
}
