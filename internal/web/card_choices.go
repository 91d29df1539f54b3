package web

import (
	"context"
	"errors"
	"html/template"
	"net/url"
	"slices"
	"strconv"
	"strings"
	"time"

	"firlot/card"
	"firlot/formulate"
	"firlot/internal/store"
	said "firlot/internal/words"
	"firlot/mix"
	mixfiles "firlot/mix/files"
)

// What a card's form offers besides its words: further stages, one base for
// all of them, replacements, and the languages of names.

const (
	// mostListed bounds the mixes that a card's form lists.
	mostListed = 50
	// mostReplacements is what the form offers at most.
	mostReplacements = card.MaxReplacements - 1
	// baseTime is how long a base is looked for.
	baseTime = 2 * time.Minute

	stageField = "with."
	namesField = "names."
)

// nameLanguages are those in which foods have names.
var nameLanguages = []string{"en", "es", "de", "fr", "nl", "pt"}

// cardRefused says why no card is made of what was typed.
type cardRefused struct {
	why   template.HTML
	clash []string
}

func (e cardRefused) Error() string { return "no card: " + string(e.why) }

func refused(text string) error { return cardRefused{why: asHTML(text)} }

// cardTyped is what was typed into a card's form.
func cardTyped(form url.Values) map[string]string {
	clean := func(s string) string { return strings.TrimSpace(strings.ToValidUTF8(s, "\uFFFD")) }
	typed := map[string]string{}
	for _, f := range cardFields {
		typed[f] = clean(form.Get(f))
	}
	for f := range form {
		if strings.HasPrefix(f, stageField) || strings.HasPrefix(f, namesField) {
			typed[clean(f)] = clean(form.Get(f))
		}
	}
	return typed
}

// cardAsFirstShown is the form before anything is typed.
func (s *Server) cardAsFirstShown(q *request, m store.Mix) map[string]string {
	return map[string]string{"title": m.Name, "edition": "1", "replacements": strconv.Itoa(card.DefaultReplacements),
		namesField + "en": "1", namesField + "es": "1", "shape": pictureShapes[0], "as": pictureKinds[0]}
}

// cardChoices lists what can be ticked.
func (s *Server) cardChoices(q *request, v *publishView) error {
	list, err := s.Store.Mixes(q.Context(), store.Filter{Most: mostListed + 1})
	if err != nil {
		return err
	}
	if v.MoreStages = len(list) > mostListed; v.MoreStages {
		list = list[:mostListed]
	}
	listed := map[store.ID]bool{v.Mix.ID: true}
	for _, x := range list {
		if listed[x.ID] {
			continue
		}
		listed[x.ID] = true
		m, err := s.Store.Mix(q.Context(), x.ID)
		if err != nil && !errors.Is(err, store.ErrNotFound) {
			return err
		}
		if err == nil && forSpecies(m) {
			v.Stages = append(v.Stages, tickable{string(m.ID), m.Name, v.Typed[stageField+string(m.ID)] != ""})
		}
	}
	for _, id := range tickedStages(v.Typed) { // what was ticked stays in sight
		if m, err := s.Store.Mix(q.Context(), id); err == nil && !listed[id] && !m.Archived {
			v.Stages = append(v.Stages, tickable{string(id), m.Name, true})
		}
	}
	for n := range mostReplacements + 1 {
		v.Replacements = append(v.Replacements, n)
	}
	book := said.In(q.words.lang)
	for _, l := range namesInOrder(q.words.lang) {
		v.Names = append(v.Names, tickable{l, book.T("language_" + l), v.Typed[namesField+l] != ""})
	}
	return nil
}

// namesInOrder are the languages of names, the reader's own first.
func namesInOrder(own string) []string {
	list := []string{own}
	for _, l := range nameLanguages {
		if l != own {
			list = append(list, l)
		}
	}
	return list
}

// forSpecies says whether a mix names who it is for: only then it is a stage.
func forSpecies(m store.Mix) bool {
	f, err := mixfiles.Parse("mix", []byte(m.Document))
	return err == nil && f.Document.Species != ""
}

// tickedStages are the further stages that were ticked, always in one order.
func tickedStages(typed map[string]string) []store.ID {
	var list []store.ID
	for f, on := range typed {
		if id, ok := strings.CutPrefix(f, stageField); ok && on != "" {
			list = append(list, store.ID(id))
		}
	}
	slices.Sort(list)
	return list
}

// cardStage is one of the mixes that go into a card.
type cardStage struct {
	name string
	*solved
}

// cardStages solves the mix and the further stages that were ticked.
func (s *Server) cardStages(ctx context.Context, q *request, m store.Mix, typed map[string]string) ([]cardStage, error) {
	mixes := []store.Mix{m}
	ticked := tickedStages(typed)
	if len(ticked) > card.MaxMixes-1 {
		return nil, refused(q.words.N("card_many_stages", card.MaxMixes-1))
	}
	for _, id := range ticked {
		switch x, err := s.Store.Mix(ctx, id); {
		case errors.Is(err, store.ErrNotFound), err == nil && x.Archived:
			return nil, refused(q.words.T("card_stage_gone"))
		case err != nil:
			return nil, err
		case id != m.ID:
			mixes = append(mixes, x)
		}
	}
	var stages []cardStage
	species := map[string]bool{}
	for i, x := range mixes {
		a, err := s.solve(ctx, x.Document)
		if err != nil {
			return nil, err
		}
		unsolved := a.Plan == nil || a.Answer == nil || a.Answer.Steps == nil
		switch {
		case i > 0 && a.Doc != nil && a.Doc.Species == "":
			return nil, refused(q.words.T("card_stage_no_species", "Name", x.Name))
		case unsolved && i == 0:
			return nil, refused(q.words.T("card_no_mix"))
		case unsolved:
			return nil, refused(q.words.T("card_stage_no_mix", "Name", x.Name))
		case a.Doc.Species != "":
			species[a.Doc.Species] = true
		}
		stages = append(stages, cardStage{x.Name, a})
	}
	if len(species) > card.MaxSpecies {
		return nil, refused(q.words.N("card_many_species", card.MaxSpecies))
	}
	return stages, nil
}

// cardOptions reads what the publisher says of the card.
func (s *Server) cardOptions(q *request, typed map[string]string) (card.Options, error) {
	o := card.Options{Title: typed["title"], Publisher: typed["by"], Words: typed["words"], Licence: typed["licence"], Hosted: typed["hosted"],
		Date:    s.Clock().Format(time.DateOnly),
		Changes: card.Changes{Batch: typed["may.batch"] != "", Step: typed["may.step"] != "", Sureness: typed["may.sureness"] != "", Stage: typed["may.stage"] != ""}}
	var ok bool
	if o.Edition, ok = wholeNumber(typed["edition"]); !ok || o.Edition < 1 || o.Edition > mostEditions {
		return o, refused(q.words.T("card_bad_edition"))
	}
	if len([]rune(o.Words)) > card.MaxWords {
		return o, refused(q.words.N("card_long_words", card.MaxWords))
	}
	if o.Hosted != "" && !card.IsLink(o.Hosted) {
		return o, refused(q.words.T("card_bad_address"))
	}
	if o.Replacements, ok = wholeNumber(typed["replacements"]); !ok || o.Replacements > mostReplacements {
		return o, refused(q.words.T("card_bad_replacements", "Most", strconv.Itoa(mostReplacements)))
	}
	if o.Replacements == 0 {
		o.Replacements = -1
	}
	for _, l := range namesInOrder(q.words.lang) {
		if typed[namesField+l] != "" {
			o.Languages = append(o.Languages, l)
		}
	}
	if len(o.Languages) == 0 {
		return o, refused(q.words.T("card_no_names"))
	}
	return o, nil
}

func plansOf(stages []cardStage) (plans []*mix.Plan) {
	for _, x := range stages {
		plans = append(plans, x.Plan)
	}
	return plans
}

// cardBase finds one base for the stages. Where there is none, the card is not
// made, so that whoever makes it is told.
func (s *Server) cardBase(ctx context.Context, q *request, stages []cardStage, title string) (*card.Base, error) {
	if len(stages) < 2 {
		return nil, refused(q.words.T("card_base_alone"))
	}
	ctx, cancel := context.WithTimeout(ctx, baseTime)
	defer cancel()
	b, err := formulate.FindBase(ctx, plansOf(stages), formulate.BaseOptions{})
	var problem *mix.Problem
	switch {
	case errors.As(err, &problem):
		return nil, cardRefused{why: q.words.Problem(problem)}
	case err != nil:
		return nil, err
	case b.Status == formulate.Stopped:
		return nil, refused(q.words.T("card_base_stopped"))
	case b.Status != formulate.Found:
		no := cardRefused{why: asHTML(q.words.T("card_base_none"))}
		for _, c := range b.Clash {
			no.clash = append(no.clash, q.words.T("card_base_clash", "Name", stages[c.Stage].name, "What", s.stageClash(q.words, stages[c.Stage], c.What)))
		}
		return nil, no
	}
	return card.BaseOf(b, title), nil
}

// clashWhole are what package formulate says of a stage's limits where none of
// them stands alone.
var clashWhole = map[string]string{
	"its limits together, in whole steps":      "card_clash_steps",
	"its limits together":                      "card_clash_together",
	"what it does not list is not in the base": "card_clash_unlisted",
}

func (s *Server) stageClash(w *words, stage cardStage, what string) string {
	if key := clashWhole[what]; key != "" {
		return w.T(key)
	}
	b := &mixBuilder{s: s, w: w, v: &mixView{}, a: stage.solved}
	return b.limitWords(what)
}

// makeOf makes the card, or says why there is none.
func makeOf(ctx context.Context, q *request, stages []cardStage, o card.Options) (*card.Card, error) {
	c, err := card.Make(ctx, plansOf(stages), o)
	var problem *mix.Problem
	switch {
	case err != nil && ctx.Err() != nil:
		return nil, refused(q.words.T("card_late"))
	case errors.Is(err, card.ErrNoMix):
		return nil, refused(q.words.T("card_no_mix"))
	case errors.As(err, &problem):
		return nil, cardRefused{why: q.words.Problem(problem)}
	case err != nil:
		return nil, err
	}
	// Whoever is sent the card reads it within the bounds of every card.
	var much *card.Refusal
	if _, err := card.Decode(card.Encode(c)); errors.As(err, &much) {
		return nil, refused(q.words.T("card_too_much"))
	}
	return c, nil
}
