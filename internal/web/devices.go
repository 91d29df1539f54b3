package web

import (
	"encoding/pem"
	"errors"
	"html/template"
	"net/http"
	"strconv"
	"strings"
	"time"

	"firlot/internal/store"
)

// devicesView is the laptop's page of other devices.
type devicesView struct {
	Mode     ShareMode
	URLs     []string
	Loopback bool // shared on this machine only, for trying it out
	Moved    bool // this machine has another address since
	Cert     *certificate
	Code     string
	Until    time.Time
	CodeURL  string
	QR       template.HTML
	End      string // how the last code ended, if it did not let somebody in
	Devices  []deviceLine
	Failed   string
	Stamp    string // changes when there is something new to see
}

type deviceLine struct {
	store.Device
	In bool
}

// devices is the laptop's page of who else is let in.
func (s *Server) devices(q *request) error { return s.showDevices(q, http.StatusOK, "") }

func (s *Server) showDevices(q *request, status int, failed string) error {
	v, err := s.devicesView(q)
	if err != nil {
		return err
	}
	v.Failed = failed
	return q.show(status, "devices", "devices", q.words.T("devices_title"), v)
}

func (s *Server) devicesView(q *request) (*devicesView, error) {
	shared := s.sharing.state()
	v := &devicesView{Mode: shared.Mode, URLs: shared.URLs(), Cert: shared.Cert, Moved: s.sharing.moved()}
	for _, a := range shared.Addrs {
		v.Loopback = v.Loopback || a.Addr().IsLoopback()
	}
	list, err := s.Store.Devices(q.Context())
	if err != nil {
		return nil, err
	}
	for _, d := range list {
		v.Devices = append(v.Devices, deviceLine{d, !d.Revoked && len(d.TokenHash) > 0})
	}
	var end codeEnd
	digits, until, end := s.pairing.current()
	v.End = map[codeEnd]string{codeTooOld: "code_too_old", codeTriedOut: "code_tried_out", codeUsed: "code_used"}[end]
	if digits != "" && len(v.URLs) > 0 {
		v.Code, v.Until = grouped(digits), until
		v.CodeURL = v.URLs[0] + strings.TrimPrefix(pairPath, "/") + "?code=" + digits
		if v.QR, err = qrPicture(v.CodeURL, q.words.T("code_qr")); err != nil {
			return nil, err
		}
	}
	v.Stamp = v.stamp()
	return v, nil
}

// stamp tells two states of the page apart.
func (v *devicesView) stamp() string {
	var b strings.Builder
	b.WriteString(string(v.Mode) + v.End + strconv.FormatBool(v.Code != "") + strconv.FormatBool(v.Moved))
	for _, d := range v.Devices {
		b.WriteString("," + string(d.ID) + strconv.FormatBool(d.In))
	}
	return b.String()
}

// share starts and stops letting other devices in.
func (s *Server) share(q *request) error {
	if err := q.form(); err != nil {
		return err
	}
	mode := ShareMode(q.value("mode"))
	if mode != ShareOff && mode != SharePlain && mode != ShareTLS {
		return badRequest("no such way to share")
	}
	switch err := s.Share(mode); {
	case errors.Is(err, ErrNoHome):
		return s.showDevices(q, http.StatusUnprocessableEntity, q.words.T("share_no_home"))
	case err != nil:
		s.Log.Warn("sharing could not start", "error", err)
		return s.showDevices(q, http.StatusUnprocessableEntity, q.words.T("share_failed"))
	}
	return q.see("/devices")
}

// newCode makes a code for the next device.
func (s *Server) newCode(q *request) error {
	if s.sharing.state().Mode == ShareOff {
		return q.see("/devices")
	}
	if _, _, err := s.pairing.make(); err != nil {
		return err
	}
	return q.see("/devices#code")
}

// revoke lets a device in no more. Its next request finds the door shut.
func (s *Server) revoke(q *request) error {
	if err := s.Store.RevokeDevice(q.Context(), q.id()); err != nil {
		return err
	}
	return q.see("/devices")
}

// renameDevice gives a device another name.
func (s *Server) renameDevice(q *request) error {
	if err := q.form(); err != nil {
		return err
	}
	name := deviceName(q.value("name"))
	if name == "" {
		return q.see("/devices")
	}
	if _, err := s.Store.RenameDevice(q.Context(), q.id(), name); err != nil {
		return err
	}
	return q.see("/devices")
}

// shareCertificate hands the issuer's certificate to a device that is let in,
// for its keeper to trust or not. It holds nothing secret.
func (s *Server) shareCertificate(q *request) error {
	cert := s.sharing.state().Cert
	if cert == nil {
		return store.ErrNotFound
	}
	q.attach("firlot-issuer.crt", "application/x-x509-ca-cert")
	return pem.Encode(q.w, &pem.Block{Type: "CERTIFICATE", Bytes: cert.issuer.Raw})
}
