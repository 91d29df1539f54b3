package web

import (
	"bytes"
	"errors"
	"math"
	"net/http"
	"strconv"
	"strings"
	"time"
	"unicode"

	"firlot/internal/store"
)

// pairView is the page that a device sees before it is let in.
type pairView struct {
	Code    string // from the QR code
	Name    string
	TLS     bool
	Refused bool   // let in, but not to this
	Wrong   string // what was wrong with the last try
}

// pairForm asks for the code. Opening the page uses nothing up: phones open
// what a QR code says ahead of their keeper.
func (s *Server) pairForm(q *request) error {
	if !q.fromOutside() {
		return q.see("/devices")
	}
	if q.device().ID != "" {
		return q.see(deviceHome)
	}
	code := onlyDigits(q.URL.Query().Get("code"))
	if len(code) > codeDigits || strings.Trim(code, "0123456789") != "" {
		code = ""
	}
	return q.showAlone(http.StatusOK, "pair", "pair_title", pairView{Code: grouped(code), Name: q.words.T("pair_name_usual"), TLS: q.TLS != nil})
}

// pair lets a device in that knows the code.
func (s *Server) pair(q *request) error {
	if !q.fromOutside() {
		return q.see("/devices")
	}
	q.Body = http.MaxBytesReader(q.w, q.Body, maxPairForm)
	if err := q.form(); err != nil {
		return err
	}
	v := pairView{Name: deviceName(q.value("name")), TLS: q.TLS != nil}
	if v.Name == "" {
		v.Name = q.words.T("pair_name_usual")
	}
	switch answer, wait := s.pairing.try(fromAddr(q.Request), q.value("code")); answer {
	case codeRight:
		return s.letIn(q, v)
	case codeWait:
		q.w.Header().Set("Retry-After", strconv.Itoa(seconds(wait)))
		v.Wrong = q.words.N("pair_wait", seconds(wait))
		return q.showAlone(http.StatusTooManyRequests, "pair", "pair_title", v)
	default:
		v.Wrong = q.words.T("pair_wrong")
		return q.showAlone(http.StatusForbidden, "pair", "pair_title", v)
	}
}

// maxPairForm bounds what a stranger may send.
const maxPairForm = 4 << 10

func (s *Server) letIn(q *request, v pairView) error {
	secure := q.TLS != nil
	token, err := newToken(secure)
	if err != nil {
		return err
	}
	_, err = s.Store.PairDevice(q.Context(), store.Device{Name: v.Name, TokenHash: tokenHash(token)})
	if errors.Is(err, store.ErrInvalid) { // too many devices, or a name that cannot be kept
		v.Wrong = q.words.T("pair_no_room")
		return q.showAlone(http.StatusUnprocessableEntity, "pair", "pair_title", v)
	}
	if err != nil {
		return err
	}
	http.SetCookie(q.w, deviceCookie(token, secure))
	return q.see(deviceHome)
}

// seconds are whole seconds to wait, rounded up.
func seconds(d time.Duration) int { return int(math.Ceil(d.Seconds())) }

// mostName is how long a device's name may be, in characters.
const mostName = 40

// deviceName is a name as it can be shown in a list: one line, not too long.
func deviceName(s string) string {
	s = strings.Join(strings.FieldsFunc(s, func(r rune) bool { return unicode.IsSpace(r) || !unicode.IsPrint(r) }), " ")
	if r := []rune(s); len(r) > mostName {
		s = strings.TrimSpace(string(r[:mostName]))
	}
	return s
}

// showAlone renders a page that stands by itself, without the app around it.
// It is made of what strangersMay opens.
func (q *request) showAlone(status int, name, title string, data any) error {
	t, err := q.s.pages.get(name, q.words)
	if err != nil {
		return err
	}
	var b bytes.Buffer
	if err := t.ExecuteTemplate(&b, "alone", page{Title: q.words.T(title), Lang: q.words.lang, Path: q.URL.Path, Data: data}); err != nil {
		return err
	}
	q.w.Header().Set("Content-Type", "text/html; charset=utf-8")
	q.w.Header().Set("Content-Language", q.words.lang)
	return q.send(status, b.Bytes())
}
