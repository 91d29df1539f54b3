package web

import (
	"context"
	"errors"
	"html/template"
	"io"
	"net/http"

	"firlot/analysis"
	"firlot/card"
	"firlot/catalog"
	"firlot/internal/cardpage"
	"firlot/internal/store"
	"firlot/internal/tomldoc"
	"firlot/mix"
	mixfiles "firlot/mix/files"
	"firlot/nutrient"
	"firlot/report"
)

// strangerView is somebody's card, read but not yet taken in.
type strangerView struct {
	Error template.HTML
	Card  *card.Card // nil before one was read
	Mixes []strangerMix
}

// strangerMix is one of the card's mixes.
type strangerMix struct {
	Name     string
	Lines    []strangerLine
	Proof    string // sound, unproved or altered
	Status   string // by the figures here: inside, outside or not known
	Own      []string
	Foods    []foodRow
	Limits   []string
	Hulls    []string
	Windows  []card.WindowDiffers
	Document string
	Refused  template.HTML // why it cannot be taken in
}

type strangerLine struct {
	Mass nutrient.Mass
	Form *catalog.Form
}

// foodRow is a figure that differs.
type foodRow struct {
	Form       *catalog.Form
	Nutrient   nutrient.Key
	Unit       nutrient.Unit
	Card, Here *catalog.Figure
}

func (s *Server) cardFile(q *request) error {
	return s.showCard(q, http.StatusOK, &strangerView{})
}

func (s *Server) showCard(q *request, status int, v *strangerView) error {
	return q.show(status, "stranger", "mix", q.words.T("stranger_title"), v)
}

// readCard shows what somebody's card holds and how it differs from what is
// known here. The file is data from a stranger: it is read, and never shown as
// anything but text.
func (s *Server) readCard(q *request) error {
	if err := q.form(); err != nil {
		return err
	}
	refuse := func(why string) error {
		return s.showCard(q, http.StatusUnprocessableEntity, &strangerView{Error: asHTML(why)})
	}
	file, _, err := q.FormFile("card")
	if err != nil {
		return refuse(q.words.T("need_file"))
	}
	defer file.Close()
	text, err := io.ReadAll(io.LimitReader(file, cardpage.MaxFile+1))
	if err != nil {
		return err
	}
	c, err := cardpage.Read(text)
	if err != nil {
		return s.showCard(q, http.StatusUnprocessableEntity, &strangerView{Error: asHTML(q.words.T("stranger_refused")+" ") + q.words.English(err.Error())})
	}
	v := &strangerView{Card: c}
	ctx, cancel := context.WithTimeout(q.Context(), solveTime) // for all its mixes: it is a stranger's
	defer cancel()
	for i := range c.Mixes {
		m, err := s.stranger(ctx, q, c, i)
		if err != nil {
			return err
		}
		v.Mixes = append(v.Mixes, *m)
	}
	return s.showCard(q, http.StatusOK, v)
}

// stranger is one of a card's mixes beside what is known here.
func (s *Server) stranger(ctx context.Context, q *request, c *card.Card, i int) (*strangerMix, error) {
	p, err := c.Open(i)
	if err != nil {
		return nil, err
	}
	proof, err := c.Verify(ctx, i)
	if err != nil {
		return nil, err
	}
	m := &strangerMix{Name: p.Document.Title, Proof: string(proof.Verdict)}
	for k, mass := range c.Mixes[i].Amounts {
		if mass == 0 {
			continue
		}
		f := p.Lines[k].Form
		if mine := s.Catalogue.Form(f.Ref()); mine != nil {
			f = mine // what would be taken in, whatever the card calls it
		}
		m.Lines = append(m.Lines, strangerLine{mass, f})
	}
	r, err := c.Receive(i, s.Catalogue, s.Needs)
	var problem *mix.Problem
	switch {
	case errors.As(err, &problem):
		m.Refused = q.words.Problem(problem)
		return m, nil
	case err != nil:
		return nil, err
	}
	m.Own, m.Windows, m.Document = r.Own, r.Windows, string(mixfiles.Format(r.Document))
	for _, d := range r.Foods {
		f := s.Catalogue.Form(d.Ref)
		if d.Hull {
			m.Hulls = append(m.Hulls, q.words.Form(f))
		}
		if d.Limits {
			m.Limits = append(m.Limits, q.words.Form(f))
		}
		for _, x := range d.Figures {
			info, _ := nutrient.Lookup(x.Nutrient)
			m.Foods = append(m.Foods, foodRow{f, x.Nutrient, info.Unit, x.Card, x.Here})
		}
	}
	m.Status, err = s.statusHere(r.Document)
	return m, err
}

// statusHere judges a document's amounts by the figures here.
func (s *Server) statusHere(d *mix.Document) (string, error) {
	p, err := mix.Resolve(d, s.Catalogue, s.Needs)
	if err != nil {
		return "", err
	}
	amounts, _ := p.Standing()
	portions := make([]analysis.Portion, len(amounts))
	for i, m := range amounts {
		portions[i] = analysis.Portion{Form: p.Lines[i].Form, Mass: m}
	}
	switch report.OfAmounts(p, portions).Status {
	case report.StatusInside:
		return "inside", nil
	case report.StatusOutside:
		return "outside", nil
	}
	return "unknown", nil
}

// takeCard keeps the mix of a card that was read.
func (s *Server) takeCard(q *request) error {
	if err := q.form(); err != nil {
		return err
	}
	f, err := mixfiles.Parse("card", []byte(q.value("document")))
	if err == nil {
		if _, err = mix.Resolve(f.Document, s.Catalogue, s.Needs); err != nil {
			err = f.Locate(err)
		}
	}
	var at *tomldoc.Error
	switch {
	case errors.As(err, &at):
		return s.showCard(q, http.StatusUnprocessableEntity, &strangerView{Error: q.words.complaint(at.Message, at.Hint)})
	case err != nil:
		return err
	}
	name := f.Document.Title
	if name == "" {
		name = q.words.T("stranger_unnamed")
	}
	m, err := s.Store.SaveMix(q.Context(), store.Mix{Name: clip(name, 200), Document: string(f.Text())})
	if err != nil {
		return err
	}
	return q.see(mixPath(m.ID) + "?said=imported")
}
