package web

import (
	"bytes"
	"context"
	"errors"
	"html/template"
	"net/http"
	"time"

	"firlot/card"
	"firlot/internal/cardpage"
	"firlot/internal/store"
	"firlot/mix"
)

const cardPath = "/card"

// cardTime bounds the making of a card. Where its engine has to be built
// first, that takes most of it.
const cardTime = 4 * time.Minute

// publishView is the form that makes a card.
type publishView struct {
	Mix     store.Mix
	Typed   map[string]string
	Error   template.HTML
	May     []mayChange
	Shapes  []string
	NoMix   bool
	Longest int
}

// mayChange is one of the things that a reader may change.
type mayChange struct {
	Name, Label string
	On          bool
}

func (s *Server) cardForm(q *request) error {
	m, err := s.Store.Mix(q.Context(), q.id())
	if err != nil {
		return err
	}
	return s.showCardForm(q, http.StatusOK, m, nil, "")
}

// cardChanges are what a reader may change, and what is ticked at first.
var cardChanges = []struct {
	name string
	on   bool
}{{"batch", true}, {"step", true}, {"sureness", true}, {"stage", false}}

func (s *Server) showCardForm(q *request, status int, m store.Mix, typed map[string]string, wrong template.HTML) error {
	v := &publishView{Mix: m, Typed: typed, Error: wrong, Longest: card.MaxWords}
	first := typed == nil
	if first {
		v.Typed = map[string]string{"title": m.Name, "edition": "1"}
	}
	for _, c := range cardChanges {
		v.May = append(v.May, mayChange{c.name, q.words.T("card_may_" + c.name), first && c.on || v.Typed["may."+c.name] != ""})
	}
	a, err := s.solve(q.Context(), m.Document)
	if err != nil {
		return err
	}
	v.NoMix = a.Answer == nil || a.Answer.Steps == nil
	return q.show(status, "card", "mix", q.words.T("card_title", "Name", m.Name), v)
}

// cardFields are the fields of the form.
var cardFields = []string{"title", "by", "words", "licence", "hosted", "edition", "may.batch", "may.step", "may.sureness", "may.stage", "reading"}

func (s *Server) makeCard(q *request) error {
	if err := q.form(); err != nil {
		return err
	}
	m, err := s.Store.Mix(q.Context(), q.id())
	if err != nil {
		return err
	}
	typed := map[string]string{}
	for _, f := range cardFields {
		typed[f] = q.value(f)
	}
	ctx, cancel := context.WithTimeout(q.Context(), cardTime)
	defer cancel()
	page, wrong, err := s.cardPage(ctx, q, m, typed)
	switch {
	case err != nil:
		return err
	case wrong != "":
		return s.showCardForm(q, http.StatusUnprocessableEntity, m, typed, wrong)
	}
	q.attach(fileName(m.Name)+".card.html", "text/html; charset=utf-8")
	_, err = q.w.Write(page)
	return err
}

// cardPage makes the page of a card, or says what is wrong with what was typed.
func (s *Server) cardPage(ctx context.Context, q *request, m store.Mix, typed map[string]string) ([]byte, template.HTML, error) {
	a, err := s.solve(ctx, m.Document)
	if err != nil {
		return nil, "", err
	}
	if a.Plan == nil || a.Answer == nil || a.Answer.Steps == nil {
		return nil, asHTML(q.words.T("card_no_mix")), nil
	}
	edition, ok := wholeNumber(typed["edition"])
	if !ok || edition < 1 || edition > mostEditions {
		return nil, asHTML(q.words.T("card_bad_edition")), nil
	}
	if len([]rune(typed["words"])) > card.MaxWords {
		return nil, asHTML(q.words.N("card_long_words", card.MaxWords)), nil
	}
	if typed["hosted"] != "" && !card.IsLink(typed["hosted"]) {
		return nil, asHTML(q.words.T("card_bad_address")), nil
	}
	other := "es"
	if q.words.lang == "es" {
		other = "en"
	}
	c, err := card.Make(ctx, []*mix.Plan{a.Plan}, card.Options{Title: typed["title"], Publisher: typed["by"], Words: typed["words"],
		Licence: typed["licence"], Hosted: typed["hosted"], Edition: edition, Date: s.Clock().Format(time.DateOnly), Languages: []string{q.words.lang, other},
		Changes: card.Changes{Batch: typed["may.batch"] != "", Step: typed["may.step"] != "", Sureness: typed["may.sureness"] != "", Stage: typed["may.stage"] != ""}})
	var problem *mix.Problem
	switch {
	case errors.Is(err, card.ErrNoMix):
		return nil, asHTML(q.words.T("card_no_mix")), nil
	case errors.As(err, &problem):
		return nil, q.words.Problem(problem), nil
	case err != nil:
		return nil, "", err
	}
	var engine []byte
	if typed["reading"] == "" {
		engine, err = cardpage.Engine(ctx, func(text string) { s.Log.Info(text) })
		if errors.Is(err, cardpage.ErrNoEngine) {
			s.Log.Warn("no engine for cards", "error", err)
			return nil, asHTML(q.words.T("card_no_engine")), nil
		}
		if err != nil {
			return nil, "", err
		}
	}
	var out bytes.Buffer
	err = cardpage.Render(&out, c, engine, cardpage.Options{Lang: q.words.lang})
	return out.Bytes(), "", err
}

// mostEditions bounds the count of a card's editions.
const mostEditions = 100_000

func wholeNumber(s string) (int, bool) {
	n := 0
	for _, c := range s {
		if c < '0' || c > '9' || n > mostEditions {
			return 0, false
		}
		n = 10*n + int(c-'0')
	}
	return n, s != ""
}

// asHTML is a sentence of ours as markup.
func asHTML(text string) template.HTML { return template.HTML(template.HTMLEscapeString(text)) }
