package web

import (
	"errors"
	"io"
	"net/http"

	rationfiles "firlot/ration/files"
)

// feedingDocument sends the group's document as a file.
func (s *Server) feedingDocument(q *request) error {
	f, err := s.feedingOf(q)
	if err != nil {
		return err
	}
	text := f.Group.Feeding
	if text == "" {
		text = string(rationfiles.Format(f.Doc))
	}
	q.attach("firlot-week.toml", "application/toml")
	_, err = io.WriteString(q.w, text)
	return err
}

// importFeeding takes a document over from a file. One that does not read, or
// does not fit the catalogue, changes nothing and says why.
func (s *Server) importFeeding(q *request) error {
	if err := q.form(); err != nil {
		return err
	}
	f, err := s.feedingOf(q)
	if err != nil {
		return err
	}
	file, _, err := q.FormFile("document")
	if errors.Is(err, http.ErrMissingFile) {
		return f.again(q, "week", f.complain("feed_need_file"), false)
	}
	if err != nil {
		return asBad(err)
	}
	defer file.Close()
	text, err := io.ReadAll(io.LimitReader(file, rationfiles.MaxBytes+1))
	if err != nil {
		return err
	}
	complaint, err := f.keep(q, string(text))
	wrong, conflict, err := f.orWrong(q, complaint, err)
	if err != nil {
		return err
	}
	if wrong != "" {
		return f.again(q, "week", wrong, conflict)
	}
	return q.see(feedingPath(f.Group.ID, "week") + "?said=imported")
}
