package web

import (
	"bytes"
	"errors"
	"net/http"
	"slices"

	"firlot/internal/store"
)

type settingsView struct {
	Language, Units string
	Error           string
}

func (s *Server) settings(q *request) error { return s.showSettings(q, http.StatusOK, "") }

func (s *Server) showSettings(q *request, status int, complaint string) error {
	lang, err := s.Store.Setting(q.Context(), settingLanguage)
	if err != nil {
		return err
	}
	return q.show(status, "settings", "settings", q.words.T("nav_settings"), settingsView{lang, q.words.units, complaint})
}

func (s *Server) saveSettings(q *request) error {
	if err := q.form(); err != nil {
		return err
	}
	lang, units := q.value("language"), q.value("units")
	if lang != "" && !slices.Contains(languages, lang) || units != "" && units != unitsOunces {
		return badRequest("no such setting")
	}
	for _, x := range [][2]string{{settingLanguage, lang}, {settingUnits, units}} {
		if err := s.Store.SetSetting(q.Context(), x[0], x[1]); err != nil {
			return err
		}
	}
	return q.see("/settings?said=saved")
}

// backup sends everything as one file. It is gathered first, so that a fault
// half way is an error page and not half a file.
func (s *Server) backup(q *request) error {
	var b bytes.Buffer
	if err := s.Store.Backup(q.Context(), &b); err != nil {
		return err
	}
	q.attach("firlot-"+s.Clock().Format("2006-01-02")+".backup", "application/octet-stream")
	_, err := q.w.Write(b.Bytes())
	return err
}

// restore replaces everything with a backup, all or nothing.
func (s *Server) restore(q *request) error {
	if err := q.form(); err != nil {
		return err
	}
	file, _, err := q.FormFile("backup")
	if err != nil {
		return s.showSettings(q, http.StatusUnprocessableEntity, q.words.T("need_file"))
	}
	defer file.Close()
	if q.value("saved") == "" {
		return s.showSettings(q, http.StatusUnprocessableEntity, q.words.T("restore_first"))
	}
	err = s.Store.Restore(q.Context(), file)
	switch {
	case err == nil:
		return q.see("/settings?said=restored")
	case errors.Is(err, store.ErrTooNew):
		return s.showSettings(q, http.StatusUnprocessableEntity, q.words.T("restore_too_new"))
	case errors.Is(err, store.ErrDamaged):
		return s.showSettings(q, http.StatusUnprocessableEntity, q.words.T("restore_damaged"))
	}
	return err
}

func (s *Server) help(q *request) error {
	return q.show(http.StatusOK, "help", "help", q.words.T("nav_help"),
		thing("Cautions", q.words.Cautions(), "Unsafe", s.Catalogue.Unsafe, "Forms", len(s.Catalogue.Forms()), "Words", q.words.lang))
}
