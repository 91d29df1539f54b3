package web

import (
	"bytes"
	"context"
	"errors"
	"html/template"
	"net/http"
	"slices"
	"time"

	"firlot/card"
	"firlot/internal/cardpage"
	"firlot/internal/store"
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

	Stages       []tickable
	MoreStages   bool // mixes are kept that the list does not show
	Clash        []string
	Replacements []int
	Names        []tickable
	Kinds        []string
}

// tickable is something to tick.
type tickable struct {
	Name, Label string
	On          bool
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
	return s.showCardClash(q, status, m, typed, wrong, nil)
}

// showCardClash shows the form with what clashes where no base was found.
func (s *Server) showCardClash(q *request, status int, m store.Mix, typed map[string]string, wrong template.HTML, clash []string) error {
	v := &publishView{Mix: m, Typed: typed, Error: wrong, Longest: card.MaxWords, Clash: clash, Shapes: pictureShapes, Kinds: pictureKinds}
	first := typed == nil
	if first {
		v.Typed = s.cardAsFirstShown(q, m)
	}
	if err := s.cardChoices(q, v); err != nil {
		return err
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
var cardFields = []string{"title", "by", "words", "licence", "hosted", "edition", "may.batch", "may.step", "may.sureness", "may.stage", "reading",
	"base", "replacements", "shape", "as"}

func (s *Server) makeCard(q *request) error {
	if err := q.form(); err != nil {
		return err
	}
	m, err := s.Store.Mix(q.Context(), q.id())
	if err != nil {
		return err
	}
	typed := cardTyped(q.PostForm)
	ctx, cancel := context.WithTimeout(q.Context(), cardTime)
	defer cancel()
	page, err := s.cardPage(ctx, q, m, typed)
	var no cardRefused
	switch {
	case errors.As(err, &no):
		return s.showCardClash(q, http.StatusUnprocessableEntity, m, typed, no.why, no.clash)
	case err != nil:
		return err
	}
	q.attach(fileName(m.Name)+".card.html", "text/html; charset=utf-8")
	_, err = q.w.Write(page)
	return err
}

// cardPage makes the page of a card, or refuses what was typed.
func (s *Server) cardPage(ctx context.Context, q *request, m store.Mix, typed map[string]string) ([]byte, error) {
	stages, err := s.cardStages(ctx, q, m, typed)
	if err != nil {
		return nil, err
	}
	o, err := s.cardOptions(q, typed)
	if err != nil {
		return nil, err
	}
	if typed["base"] != "" {
		if o.Base, err = s.cardBase(ctx, q, stages, o.Title); err != nil {
			return nil, err
		}
	}
	c, err := makeOf(ctx, q, stages, o)
	if err != nil {
		return nil, err
	}
	var engine []byte
	if typed["reading"] == "" {
		engine, err = cardpage.Engine(ctx, func(text string) { s.Log.Info(text) })
		if errors.Is(err, cardpage.ErrNoEngine) {
			s.Log.Warn("no engine for cards", "error", err)
			return nil, refused(q.words.T("card_no_engine"))
		}
		if err != nil {
			return nil, err
		}
	}
	var out bytes.Buffer
	err = cardpage.Render(&out, c, engine, cardpage.Options{Lang: cardOpensIn(c, q.words.lang)})
	return out.Bytes(), err
}

// cardOpensIn is the language that a card's page opens in: the first of its
// own that pages are written in.
func cardOpensIn(c *card.Card, own string) string {
	for _, l := range c.Languages {
		if slices.Contains(languages, l) {
			return l
		}
	}
	return own
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
