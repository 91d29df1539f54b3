package view

import (
	"context"
	"errors"
	"math"

	"firlot/analysis"
	"firlot/card"
	"firlot/formulate"
	"firlot/internal/words"
	"firlot/mix"
	"firlot/needs"
	"firlot/nutrient"
)

// Ask is what a page is asked to show.
type Ask struct {
	Lang    string // of the page
	Names   string // the language of foods' names
	Choices card.Choices
	// Typed are fields that could not be read, as they were typed, and Wrong
	// what is wrong with each.
	Typed, Wrong map[string]string
}

// state is a card with what was asked of it, worked out.
type state struct {
	plans   []*mix.Plan         // of the card's mixes, as published
	was     []*formulate.Answer // their published amounts, judged
	answer  *formulate.Answer
	result  *card.Result // nil for what was published
	changed bool
	problem *mix.Problem // what was asked for cannot be asked
}

// kept is what one card's pages have in common: it is worked out once.
type kept struct {
	plans   []*mix.Plan
	was     []*formulate.Answer
	samples map[string]drawn // of the card's own forms, by reference
}

// keep works out what the pages of a card have in common.
func (s *Session) keep() (*kept, error) {
	if s.kept != nil {
		return s.kept, nil
	}
	k := &kept{samples: map[string]drawn{}}
	for i, m := range s.Card.Mixes {
		p, err := s.Card.Open(i)
		if err != nil {
			return nil, err
		}
		k.plans = append(k.plans, p)
		k.was = append(k.was, asPublished(p, m))
	}
	s.kept = k
	return k, nil
}

// asPublished is the answer that a card holds for one of its mixes: its
// amounts, judged anew.
func asPublished(p *mix.Plan, m card.Mix) *formulate.Answer {
	a := &formulate.Answer{Status: formulate.Found, Plan: p, Prefer: p.Document.Prefer, Steps: make([]int, len(m.Amounts))}
	for i, x := range m.Amounts {
		a.Steps[i] = int(x / p.Document.Step)
	}
	judge(a)
	return a
}

// judge works an answer's checks and joint chance out.
func judge(a *formulate.Answer) {
	var windows []needs.Window
	a.Checks = nil
	for _, t := range a.Plan.Targets {
		windows = append(windows, t.Window)
		a.Checks = append(a.Checks, analysis.CheckWindow(a.Portions(), t.Window))
	}
	a.Joint = analysis.Joint(a.Portions(), windows)
}

// said says what is wrong with what was asked.
func (s *state) said(t *teller) html {
	out := t.engine(s.problem.Message)
	if s.problem.Hint != "" {
		out += "; " + t.engine(s.problem.Hint)
	}
	return out
}

// newPage works out what a page shows.
func (s *Session) newPage(ctx context.Context, a Ask) (*page, error) {
	k, err := s.keep()
	if err != nil {
		return nil, err
	}
	c := s.Card
	a.Choices.Mix = min(max(a.Choices.Mix, 0), len(c.Mixes)-1)
	now := &state{plans: k.plans, was: k.was, answer: k.was[a.Choices.Mix]}
	p := &page{card: c, ask: a, now: now, t: s.teller(a), kept: k}
	if !a.Choices.Changed() {
		return p, nil
	}
	now.changed = true
	if err := now.solve(ctx, c, a.Choices); !errors.As(err, &now.problem) {
		return p, err
	}
	return p, nil
}

func (s *Session) teller(a Ask) *teller {
	c := s.Card
	return &teller{Book: words.In(a.Lang, cardWords(a.Lang)), names: a.Names, find: c.Form, sources: c.Sources, texts: s.Texts[a.Lang], tables: c.Catalogue()}
}

// solve answers choices.
func (s *state) solve(ctx context.Context, c *card.Card, ch card.Choices) error {
	r, err := c.Answer(ctx, ch, formulate.Options{})
	if err != nil {
		return err
	}
	s.result, s.answer = r, r.Answer
	return nil
}

// published is the plan of the mix that is shown, as it was published.
func (p *page) published() *mix.Plan { return p.now.plans[p.ask.Choices.Mix] }

// sheet is the mix that is shown.
func (p *page) sheet() *sheet {
	i := p.ask.Choices.Mix
	a := p.now.answer
	s := &sheet{stage: i, name: p.mixName(i), answer: a, choose: true, amounts: make([]nutrient.Mass, len(a.Plan.Lines))}
	if a.Steps != nil {
		copy(s.amounts, a.Amounts())
	}
	if !p.now.changed || p.now.problem != nil {
		return s
	}
	s.was, s.instead = map[string]nutrient.Mass{}, map[string]string{}
	for _, l := range p.now.result.Lines {
		s.was[l.Ref] = l.Before
		if l.For != "" {
			s.instead[l.Ref] = l.For
		}
	}
	for _, ref := range p.ask.Choices.Missing {
		if f := p.card.Form(ref); f != nil {
			s.without = append(s.without, f)
		}
	}
	if pub := p.now.was[i]; len(pub.Checks) == len(a.Checks) {
		s.before = pub.Checks
	}
	return s
}

func percent(v float64) float64 { return math.Round(v*1e4) / 100 }

// floorPercent is a chance in whole per cent, rounded down, so that asking for
// it can be met.
func floorPercent(v float64) float64 { return math.Floor(v * 100) }
