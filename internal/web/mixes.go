package web

import (
	"context"
	"errors"
	"fmt"
	"html/template"
	"io"
	"net/http"
	"regexp"
	"strings"

	"firlot/internal/nearword"
	"firlot/internal/store"
	"firlot/internal/tomldoc"
	"firlot/mix"
	mixfiles "firlot/mix/files"
	"firlot/needs"
	"firlot/nutrient"
)

// undoer is UndoMix or RedoMix.
type undoer = func(ctx context.Context, id store.ID, rev int64) (store.Mix, error)

// mixesView is the list of mixes.
type mixesView struct {
	Mixes    []mixRow
	Archived bool
	Text     string
	Group    store.ID      // whose mixes alone are listed
	For      string        // its name
	Next     string        // where the list goes on
	Error    template.HTML // of an import
	Any      bool          // there are mixes at all
}

type mixRow struct {
	store.Summary
	Who string
}

// mostMixes are listed on a page.
const mostMixes = 50

func (s *Server) mixes(q *request) error { return s.showMixes(q, http.StatusOK, "") }

func (s *Server) showMixes(q *request, status int, complaint template.HTML) error {
	p := q.URL.Query()
	f := store.Filter{Text: clip(p.Get("q"), 200), Archived: p.Get("archived") != "", Group: store.ID(p.Get("group")), After: store.ID(p.Get("after")), Most: mostMixes}
	list, err := s.Store.Mixes(q.Context(), f)
	if err != nil {
		return err
	}
	groups, err := s.Store.Groups(q.Context())
	if err != nil {
		return err
	}
	v := mixesView{Archived: f.Archived, Text: f.Text, Group: f.Group, Error: complaint, Any: len(list) > 0 || f.Text != "" || f.Archived || f.Group != ""}
	for _, g := range groups {
		if g.ID == f.Group {
			v.For = g.Name
		}
	}
	for _, m := range list {
		row := mixRow{Summary: m}
		for _, g := range groups {
			if g.ID == m.Group {
				row.Who = g.Name
			}
		}
		v.Mixes = append(v.Mixes, row)
	}
	if len(list) == mostMixes {
		p.Set("after", string(list[len(list)-1].ID))
		v.Next = "/mix?" + p.Encode()
	}
	return q.show(status, "mixes", "mix", q.words.T("nav_mix"), v)
}

// newMixView is the form for a mix.
type newMixView struct {
	Groups  []groupView
	Species []*needs.Species
	Shelves []store.Shelf
	Typed   map[string]string
	Errors  map[string]string
}

func (s *Server) newMix(q *request) error {
	typed := map[string]string{"batch": "1 kg", "for": q.URL.Query().Get("for")}
	return s.showNewMix(q, http.StatusOK, typed, map[string]string{})
}

func (s *Server) showNewMix(q *request, status int, typed, errs map[string]string) error {
	groups, err := s.Store.Groups(q.Context())
	if err != nil {
		return err
	}
	v := newMixView{Species: s.Needs.Species, Shelves: q.shelvesKept(), Typed: typed, Errors: errs}
	for _, g := range groups {
		v.Groups = append(v.Groups, s.groupView(q.words, g))
	}
	return q.show(status, "newmix", "mix", q.words.T("mix_new"), v)
}

func (s *Server) createMix(q *request) error {
	if err := q.form(); err != nil {
		return err
	}
	errs := map[string]string{}
	d := &mix.Document{Step: mix.DefaultStep, Prefer: mix.Varied}
	m := store.Mix{Name: clip(q.value("name"), 200)}
	if m.Name == "" {
		errs["name"] = q.words.T("need_name")
	}
	d.Title = m.Name
	var err error
	if d.Batch, err = q.words.parseMass(q.value("batch")); err != nil || d.Batch < d.Step || d.Batch > nutrient.MaxMass || d.Batch/d.Step > mix.MaxSteps {
		errs["batch"] = q.words.T("need_mass")
	}
	s.forWhom(q, &m, d, errs)
	s.fromShelf(q, &m, d, errs)
	if len(errs) > 0 {
		typed := map[string]string{"name": q.value("name"), "batch": q.value("batch"), "for": q.value("for"), "shelf": q.value("shelf")}
		return s.showNewMix(q, http.StatusUnprocessableEntity, typed, errs)
	}
	a, err := s.solveDoc(q.Context(), d)
	if err != nil {
		return err
	}
	m.Document = a.Text
	if m, err = s.Store.SaveMix(q.Context(), m); err != nil {
		return err
	}
	return q.see(mixPath(m.ID))
}

// forWhom reads "group:ID" or "stage:species/stage".
func (s *Server) forWhom(q *request, m *store.Mix, d *mix.Document, errs map[string]string) {
	kind, arg, _ := strings.Cut(q.value("for"), ":")
	switch kind {
	case "group":
		g, err := s.Store.Group(q.Context(), store.ID(arg))
		v := s.groupView(q.words, g)
		if err == nil && v.Stage != nil {
			m.Group = g.ID
			*d = *takeGroup(d, v)
			return
		}
	case "stage":
		species, stage, _ := strings.Cut(arg, "/")
		if sp := s.Needs.Find(species); sp != nil && sp.Stage(stage) != nil {
			d.Species, d.Stage = sp.ID, stage
			return
		}
	}
	errs["for"] = q.words.T("need_choice")
}

// fromShelf takes what is to be had on a shelf and may go into a dry mix.
func (s *Server) fromShelf(q *request, m *store.Mix, d *mix.Document, errs map[string]string) {
	sh, err := s.Store.Shelf(q.Context(), store.ID(q.value("shelf")))
	if err != nil {
		errs["shelf"] = q.words.T("need_shelf")
		return
	}
	m.Shelf = sh.ID
	cat := s.catalogueOf(sh)
	for _, it := range sh.Items {
		f := formOf(cat, it.Ref)
		if f == nil || !it.CanHave || !fitsDry(f, d.Species) || len(d.Lines) >= mix.MaxLines {
			continue
		}
		l := mix.Line{Ingredient: it.Ref, Price: pricePerKg(it)}
		if it.OnHand != nil {
			l.OnHand = mix.Amount{Set: true, Mass: nutrient.Mass(*it.OnHand)}
		}
		if in := ownNamed(ownOf(sh), it.Ref); in != nil {
			d.Own = append(d.Own, in)
		}
		d.Lines = append(d.Lines, l)
	}
	if len(d.Lines) == 0 {
		errs["shelf"] = q.words.T("need_stock")
	}
}

// importMix reads a mix document, the same as the command line's.
func (s *Server) importMix(q *request) error {
	if err := q.form(); err != nil {
		return err
	}
	file, head, err := q.FormFile("document")
	if err != nil {
		return s.showMixes(q, http.StatusUnprocessableEntity, template.HTML(template.HTMLEscapeString(q.words.T("need_file"))))
	}
	defer file.Close()
	text, err := io.ReadAll(io.LimitReader(file, mixfiles.MaxBytes+1))
	if err != nil {
		return err
	}
	name := clip(strings.ToValidUTF8(head.Filename, "?"), 100)
	f, err := mixfiles.Parse(name, text)
	if err == nil {
		_, err = mix.Resolve(f.Document, s.Catalogue, s.Needs)
		if err != nil {
			err = f.Locate(err)
		}
	}
	var at *tomldoc.Error
	switch {
	case errors.As(err, &at):
		where := template.HTMLEscapeString(q.words.T("import_problem", "File", name, "Line", at.Line, "Field", at.Field))
		return s.showMixes(q, http.StatusUnprocessableEntity, template.HTML(where)+" "+q.words.complaint(at.Message, at.Hint))
	case err != nil:
		return err
	}
	title := f.Document.Title
	if title == "" {
		title = strings.TrimSuffix(name, ".toml")
	}
	m, err := s.Store.SaveMix(q.Context(), store.Mix{Name: clip(title, 200), Document: string(f.Text())})
	if err != nil {
		return err
	}
	return q.see(mixPath(m.ID) + "?said=imported")
}

// exportMix sends the document as it is kept, with the amounts that the page
// shows.
func (s *Server) exportMix(q *request) error {
	m, err := s.Store.Mix(q.Context(), q.id())
	if err != nil {
		return err
	}
	text := []byte(m.Document)
	a, err := s.solve(q.Context(), m.Document)
	if err != nil {
		return err
	}
	if a.Answer != nil && a.Answer.Steps != nil {
		f, err := mixfiles.Parse("mix", text)
		if err != nil {
			return err
		}
		if text, err = f.WithAmounts(a.Answer.Amounts()); err != nil {
			return err
		}
	}
	q.attach(fileName(m.Name)+".toml", "application/toml")
	_, err = q.w.Write(text)
	return err
}

// attach names a file to be saved.
func (q *request) attach(name, kind string) {
	q.w.Header().Set("Content-Type", kind)
	q.w.Header().Set("Content-Disposition", fmt.Sprintf("attachment; filename=%q", name))
}

var notInNames = regexp.MustCompile(`[^a-z0-9]+`)

// fileName turns a name into one that every file system takes.
func fileName(name string) string {
	s := strings.Trim(notInNames.ReplaceAllString(nearword.Fold(name), "-"), "-")
	if s = clip(s, 60); s == "" {
		return "mix"
	}
	return s
}

func (s *Server) copyMix(q *request) error {
	if err := q.form(); err != nil {
		return err
	}
	m, err := s.Store.Mix(q.Context(), q.id())
	if err != nil {
		return err
	}
	kept, err := s.Store.SaveMix(q.Context(), store.Mix{Name: clip(q.words.T("copy_of", "Name", m.Name), 200), Group: m.Group, Shelf: m.Shelf, Document: m.Document})
	if err != nil {
		return err
	}
	return q.see(mixPath(kept.ID) + "?said=copied")
}

// renameMix changes a mix's name, whose it is and which shelf it is from.
func (s *Server) renameMix(q *request) error {
	return s.alter(q, func(m *store.Mix) {
		if n := clip(q.value("name"), 200); n != "" {
			m.Name = n
		}
		if id := store.ID(q.value("tie.group")); id == "" || s.hasGroup(q, id) {
			m.Group = id
		}
		if id := store.ID(q.value("tie.shelf")); id == "" || s.hasShelf(q, id) {
			m.Shelf = id
		}
	}, "saved")
}

func (s *Server) hasGroup(q *request, id store.ID) bool {
	_, err := s.Store.Group(q.Context(), id)
	return err == nil
}

func (s *Server) hasShelf(q *request, id store.ID) bool {
	_, err := s.Store.Shelf(q.Context(), id)
	return err == nil
}

func (s *Server) archiveMix(q *request) error {
	said := "archived"
	return s.alter(q, func(m *store.Mix) { m.Archived = q.value("archived") != "" }, said)
}

// alter changes what stands about a mix, not its document.
func (s *Server) alter(q *request, change func(*store.Mix), said string) error {
	if err := q.form(); err != nil {
		return err
	}
	m, err := s.Store.Mix(q.Context(), q.id())
	if err != nil {
		return err
	}
	if m.Rev != q.rev() {
		return s.showConflict(q, m.ID, m.Document)
	}
	change(&m)
	if said == "archived" && !m.Archived {
		said = "unarchived"
	}
	if _, err := s.Store.SaveMix(q.Context(), m); err != nil {
		return err
	}
	return q.see(mixPath(m.ID) + "?said=" + said)
}

func (s *Server) deleteMix(q *request) error {
	if err := q.form(); err != nil {
		return err
	}
	if err := s.Store.DeleteMix(q.Context(), q.id(), q.rev()); err != nil {
		return err
	}
	return q.see("/mix?archived=1&said=removed")
}
