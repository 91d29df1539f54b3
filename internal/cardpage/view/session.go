package view

import (
	"context"
	"fmt"
	"strings"

	"firlot/card"
	"firlot/internal/words"
)

// Session answers what a page asks of its card. The page runs it beside itself,
// in WebAssembly; the publisher's program draws the first page with it.
type Session struct {
	Card *card.Card
	// QR is the picture that leads to where the card is kept, drawn by the
	// publisher's program; it stands in the page as it is.
	QR string
	// Texts say what the card's tables say in English in other languages, by
	// language. They are no part of the card: the publisher's program has them
	// of all foods, and writes those of a card's foods into its page. What they
	// do not know is shown in English, marked as such.
	Texts  map[string]Said
	proofs map[int]card.Proof
	kept   *kept
	last   *page // that was drawn in part, and whose whole is asked for next
}

// page is what is shown for an ask.
func (s *Session) page(ctx context.Context, a Ask) (*page, error) {
	p, err := s.newPage(ctx, a)
	if err != nil {
		return nil, err
	}
	p.proof, p.qr = s.proofs[p.ask.Choices.Mix], html(s.QR)
	return p, nil
}

// Main is the whole page in one language, as published.
func (s *Session) Main(ctx context.Context, lang string) (string, error) {
	p, err := s.page(ctx, Ask{Lang: lang, Names: lang})
	if err != nil {
		return "", err
	}
	return string(p.main()), nil
}

// Answer answers one request of a page, name=value parted by &, with a JSON
// object of texts. It never fails: what went wrong stands under "error".
//
//	do=page&lang=en&from=FRAGMENT   the page for an address: html, fragment, said
//	do=form&lang=en&batch=…         the page for its form: html, fragment, said
//	do=…&first=1                    of either, what answers, without its pictures
//	do=rest                         the whole of that page, its answer proved
//	do=code&svg=…                   keeps the picture that leads to where the card is kept
//	do=texts&lang=es&text=…         keeps the texts of the tables in a language
//	do=verify&lang=en&from=…        checks the published proof: verdict, proof-en, proof-es
//	do=picture&shape=wide&…         a picture: svg
//	do=caption&…                    the mix as plain text: text
func (s *Session) Answer(ctx context.Context, request string) string {
	out, err := s.answer(ctx, request)
	if err != nil {
		return object("error", err.Error())
	}
	return object(out...)
}

func (s *Session) answer(ctx context.Context, request string) ([]string, error) {
	f, err := parseFields(request)
	if err != nil {
		return nil, err
	}
	lang := words.Languages[0]
	for _, l := range words.Languages {
		if f.one("lang") == l {
			lang = l
		}
	}
	a, trouble := ParseFragment(s.Card, f.one("from"), lang)
	if f.one("do") == "form" {
		a, trouble = askOf(s.Card, f, lang), ""
	}
	switch f.one("do") {
	case "code":
		s.QR = f.one("svg")
		return nil, nil
	case "texts":
		return nil, s.takeTexts(lang, f.one("text"))
	case "verify":
		return s.verify(ctx, a)
	case "rest":
		return s.rest()
	}
	p, err := s.page(ctx, a)
	if err != nil {
		return nil, err
	}
	switch f.one("do") {
	case "page", "form":
		if f.one("first") != "" {
			s.last = p
			return p.shown(p.first(), trouble), nil
		}
		p.prove()
		return p.shown(p.main(), trouble), nil
	case "picture":
		return []string{"svg", p.picture(Shape(f.one("shape")))}, nil
	case "caption":
		return []string{"text", p.caption(p.sheet())}, nil
	}
	return nil, fmt.Errorf("%q is not known", f.one("do"))
}

// rest is the whole of the page of which the first parts were drawn last.
func (s *Session) rest() ([]string, error) {
	p := s.last
	if p == nil {
		return nil, fmt.Errorf("no page was asked for")
	}
	s.last = nil
	p.prove()
	return []string{"html", string(p.main())}, nil
}

// prove has the certificate of what was worked out checked.
func (p *page) prove() {
	if p.now.result != nil {
		p.now.result.Prove()
	}
}

// shown is a page, or its first parts, with its address and what a screen
// reader hears.
func (p *page) shown(what html, trouble Trouble) []string {
	said := p.t.sentence(p.now.answer)
	if p.now.problem != nil {
		said = p.t.T("sentence_problem")
	}
	if p.now.changed {
		said += " " + p.t.T("changed_title")
	}
	if trouble != "" {
		said = p.t.T(string(trouble)) + " " + said
	}
	note := ""
	if trouble != "" {
		note = p.t.T(string(trouble))
	}
	return []string{"html", string(what), "fragment", p.ask.Fragment(), "said", said, "note", note, "lang", p.ask.Lang, "names", p.ask.Names}
}

// verify checks the proof of a published mix once, and says so in every
// language.
func (s *Session) verify(ctx context.Context, a Ask) ([]string, error) {
	if s.proofs == nil {
		s.proofs = map[int]card.Proof{}
	}
	i := a.Choices.Mix
	if _, known := s.proofs[i]; !known {
		proof, err := s.Card.Verify(ctx, i)
		if err != nil {
			return nil, err
		}
		s.proofs[i] = proof
	}
	out := []string{"verdict", string(s.proofs[i].Verdict), "why", s.proofs[i].Why}
	for _, l := range words.Languages {
		p := &page{t: s.teller(Ask{Lang: l, Names: l}), card: s.Card, now: &state{}, proof: s.proofs[i]}
		out = append(out, "proof-"+l, string(p.proofLine()))
	}
	return out, nil
}

// picture draws what is shown for a post or a video.
func (p *page) picture(shape Shape) string {
	s := p.sheet()
	by := p.card.Publisher
	return p.t.poster(picture{title: s.name, by: by, url: p.card.Hosted, qr: p.qr, plan: s.plan(), amounts: s.amounts, answer: s.answer}, shape)
}

// Picture is a published mix as an SVG file of its own.
func (s *Session) Picture(ctx context.Context, mix int, lang string, shape Shape) (string, error) {
	p, err := s.page(ctx, Ask{Lang: lang, Names: lang, Choices: card.Choices{Mix: mix}})
	if err != nil {
		return "", err
	}
	return p.picture(shape), nil
}

// Caption is a published mix as plain text.
func (s *Session) Caption(ctx context.Context, mix int, lang string) (string, error) {
	p, err := s.page(ctx, Ask{Lang: lang, Names: lang, Choices: card.Choices{Mix: mix}})
	if err != nil {
		return "", err
	}
	return p.caption(p.sheet()), nil
}

// object is a JSON object of texts, name and value in turn.
func object(pairs ...string) string {
	var b strings.Builder
	b.WriteByte('{')
	for i := 0; i+1 < len(pairs); i += 2 {
		if i > 0 {
			b.WriteByte(',')
		}
		quote(&b, pairs[i])
		b.WriteByte(':')
		quote(&b, pairs[i+1])
	}
	b.WriteByte('}')
	return b.String()
}

func quote(b *strings.Builder, s string) {
	s = strings.ToValidUTF8(s, "\uFFFD")
	b.WriteByte('"')
	from := 0
	for i := 0; i < len(s); i++ {
		c := s[i]
		if c >= 0x20 && c != '"' && c != '\\' {
			continue
		}
		b.WriteString(s[from:i])
		from = i + 1
		if c < 0x20 {
			b.WriteString(`\u00` + string("0123456789abcdef"[c>>4]) + string("0123456789abcdef"[c&15]))
			continue
		}
		b.WriteByte('\\')
		b.WriteByte(c)
	}
	b.WriteString(s[from:])
	b.WriteByte('"')
}
