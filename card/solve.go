package card

import (
	"bytes"
	"context"
	"fmt"
	"slices"

	"firlot/catalog"
	"firlot/formulate"
	"firlot/lp/verify"
	"firlot/mix"
	"firlot/nutrient"
	"firlot/report"
)

// Changed reports whether choices ask for anything but a published mix.
func (ch Choices) Changed() bool {
	return len(ch.Missing) > 0 || len(ch.Use) > 0 || ch.Batch != 0 || ch.Step != 0 || ch.Ounces != 0 || ch.Sureness != nil || ch.Stage != ""
}

// Document is the mix document that choices ask for; solving it, here or with
// any other program of Firlot's, answers them. Without choices it is the
// published document. Otherwise it stays near to the published amounts: a form
// that the reader adds takes the place of the missing one that it is likest
// to, with its amount, its ceiling and its groups; what else is missing is
// made up for by the rest, and what else is added has no amount to stay near.
func (c *Card) Document(ch Choices) (*mix.Document, error) {
	p, err := c.Plan(ch)
	if err != nil {
		return nil, err
	}
	return p.Document, nil
}

// Plan is the document of choices, resolved on the card's own catalogue.
func (c *Card) Plan(ch Choices) (*mix.Plan, error) {
	a, err := c.ask(ch)
	if err != nil {
		return nil, err
	}
	return a.plan, nil
}

// asked are choices brought to a plan.
type asked struct {
	card    *Card
	from    *mix.Plan // as published
	plan    *mix.Plan
	choices Choices
	placeOf map[string]string // of an added form: the missing one whose place it takes
}

func (c *Card) ask(ch Choices) (*asked, error) {
	p, err := c.Open(ch.Mix)
	if err != nil {
		return nil, err
	}
	a := &asked{card: c, from: p, plan: p, choices: ch, placeOf: map[string]string{}}
	if !ch.Changed() {
		return a, nil
	}
	if err := a.allowed(); err != nil {
		return nil, err
	}
	if err := a.set(a.near()); err != nil {
		return nil, err
	}
	if err := a.swap(); err != nil {
		return nil, err
	}
	return a, nil
}

func (a *asked) set(d *mix.Document) error {
	p, err := a.from.With(d)
	if err == nil {
		a.plan = p
	}
	return err
}

// allowed checks choices against what the card allows.
func (a *asked) allowed() error {
	ch, may := a.choices, a.card.Changes
	for _, x := range []struct {
		asked, may bool
		what       string
	}{{ch.Batch != 0, may.Batch, "the batch"}, {ch.Step != 0 || ch.Ounces != 0, may.Step, "the scale step"},
		{ch.Sureness != nil, may.Sureness, "the sureness"}, {ch.Stage != "", may.Stage, "the stage"}} {
		if x.asked && !x.may {
			return &mix.Problem{Message: "this card does not let its reader change " + x.what}
		}
	}
	if ch.Batch < 0 || ch.Batch > nutrient.MaxMass || ch.Step < 0 || ch.Step > nutrient.MaxMass {
		return &mix.Problem{Path: "batch", Message: "a mass is out of range"}
	}
	if s := ch.Sureness; s != nil && *s != 0 && !(*s >= LeastSure && *s <= MostSure) {
		return &mix.Problem{Path: "sureness", Message: fmt.Sprintf("%v is out of range; it lies between %v and %v", *s, LeastSure, MostSure)}
	}
	for _, ref := range ch.Missing {
		if a.lineOf(ref) < 0 {
			return &mix.Problem{Message: fmt.Sprintf("%q is not in the mix", ref)}
		}
	}
	for i, ref := range ch.Use {
		f := a.card.catalogue.Form(ref)
		switch {
		case f == nil:
			return &mix.Problem{Message: fmt.Sprintf("%q is not among the card's ingredients", ref)}
		case a.lineOf(ref) >= 0 || slices.Contains(ch.Use[:i], ref):
			return &mix.Problem{Message: fmt.Sprintf("%q is in the mix already", ref)}
		case !a.from.Fits(f):
			return &mix.Problem{Message: fmt.Sprintf("%q has no place in this mix", ref)}
		}
	}
	return nil
}

func (a *asked) lineOf(ref string) int {
	return slices.IndexFunc(a.plan.Lines, func(l mix.PlanLine) bool { return l.Form.Ref() == ref })
}

// near is the published document, near to its amounts, with the plain choices
// made.
func (a *asked) near() *mix.Document {
	ch, d := a.choices, a.from.Document.Copy()
	for i, m := range a.card.Mixes[ch.Mix].Amounts {
		d.Lines[i].Base, d.Lines[i].Amount = mix.Amount{Set: m > 0, Mass: m}, mix.Amount{}
	}
	d.Prefer = mix.Near
	if ch.Batch > 0 {
		d.Batch = ch.Batch
	}
	if ch.Step > 0 {
		d.Step, d.StepOunces = ch.Step, ch.Ounces
	}
	if ch.Sureness != nil {
		d.Sureness = *ch.Sureness
	}
	if ch.Stage != "" {
		d.Stage = ch.Stage
	}
	return d
}

// swap takes out what is missing and puts in what is added.
func (a *asked) swap() error {
	missing := slices.Clone(a.choices.Missing)
	for _, ref := range a.choices.Use {
		f := a.plan.Catalogue.Form(ref)
		k := a.likest(f, missing)
		if k < 0 {
			if err := a.set(a.plan.Document.Add(mix.Line{Ingredient: ref})); err != nil {
				return err
			}
			continue
		}
		i := a.lineOf(missing[k])
		base := a.plan.Document.Lines[i].Base
		d := a.plan.Replace(i, ref)
		d.Lines[i].Base = base
		if err := a.set(d); err != nil {
			return err
		}
		a.placeOf[ref] = missing[k]
		missing = slices.Delete(missing, k, k+1)
	}
	for _, ref := range missing {
		if len(a.plan.Lines) == 1 {
			return &mix.Problem{Message: "nothing is left of the mix", Hint: "add something that you have"}
		}
		if err := a.set(a.plan.Remove(a.lineOf(ref))); err != nil {
			return err
		}
	}
	return nil
}

// likest is the place in missing of the form that f is likest to, or -1.
func (a *asked) likest(f *catalog.Form, missing []string) int {
	best, at := 0.0, -1
	for k, ref := range missing {
		l := formulate.LikenessOf(a.from.Catalogue.Form(ref), f)
		unlike := l.Analysis
		if !l.Alike() {
			unlike += notAlike
		}
		if at < 0 || unlike < best {
			best, at = unlike, k
		}
	}
	return at
}

// notAlike sets forms of another kind or size behind all that are alike: more
// points than two analyses can differ by.
const notAlike = 1000

// Solve answers choices: the report that `firlot solve --json` gives for the
// document of the choices, the amounts before and after, and what its
// certificate proves. The error is a *mix.Problem when the choices ask for
// what cannot be.
func (c *Card) Solve(ctx context.Context, ch Choices, o formulate.Options) (*Result, error) {
	r, err := c.Answer(ctx, ch, o)
	if err != nil {
		return nil, err
	}
	r.Report = report.OfAnswer(r.Answer)
	if r.Ways != nil {
		r.Report.Ways = report.WaysOf(r.Ways)
	}
	r.Prove()
	return r, nil
}

// Answer is [Card.Solve] without its report, whose making takes as long as the
// solving, and with its certificate still to be checked.
func (c *Card) Answer(ctx context.Context, ch Choices, o formulate.Options) (*Result, error) {
	ask, err := c.ask(ch)
	if err != nil {
		return nil, err
	}
	o.Proof = true
	a, err := formulate.Solve(ctx, ask.plan, o)
	if err != nil {
		return nil, err
	}
	r := &Result{Changed: ch.Changed(), Lines: ask.lines(a), Answer: a}
	if a.Status != formulate.Found {
		ways, err := formulate.FindWays(ctx, ask.plan, formulate.Options{Gap: o.Gap, Nodes: o.Nodes})
		if err != nil {
			return nil, err
		}
		r.Ways = ask.reachable(ways)
	}
	return r, nil
}

// Prove checks the certificate of an answer, exactly, and keeps what it proves.
func (r *Result) Prove() Proof {
	r.Proved = proofOf(r.Answer)
	return r.Proved
}

// reachable leaves out of the ways what the reader cannot get.
func (a *asked) reachable(w *formulate.Ways) *formulate.Ways {
	gone := func(f *catalog.Form) bool { return slices.Contains(a.choices.Missing, f.Ref()) }
	out := *w
	out.Additions = slices.DeleteFunc(slices.Clone(w.Additions), func(x formulate.Addition) bool { return gone(x.Form) })
	if w.Fewest != nil && slices.ContainsFunc(w.Fewest.Forms, gone) {
		out.Fewest = nil
	}
	return &out
}

// lines sets the published amounts, brought to the batch, beside the new.
func (a *asked) lines(answer *formulate.Answer) []Line {
	m := a.card.Mixes[a.choices.Mix]
	before := map[string]nutrient.Mass{}
	var list []Line
	for i, l := range a.from.Lines {
		mass := m.Amounts[i]
		if from, to := a.from.Batch(), a.plan.Batch(); from != to {
			mass = nutrient.Mass(float64(float64(mass)/float64(from)*float64(to)) + 0.5)
		}
		ref := l.Form.Ref()
		before[ref] = mass
		if a.lineOf(ref) < 0 {
			list = append(list, Line{Ref: ref, Before: mass, Missing: true})
		}
	}
	for i, l := range a.plan.Lines {
		ref := l.Form.Ref()
		was, had := before[ref]
		x := Line{Ref: ref, Before: was, Added: !had, For: a.placeOf[ref]}
		if answer.Steps != nil {
			x.After = answer.Amounts()[i]
		}
		list = append(list, x)
	}
	return list
}

// proofOf checks the certificate of an answer of ours, which is short work even
// where the search took all of its time.
func proofOf(a *formulate.Answer) Proof {
	if a.Proof == nil {
		return Proof{Verdict: Unproved, Why: "the search was stopped before it could prove its answer"}
	}
	p, _ := checked(context.Background(), a.Proof.JSON())
	return p
}

func checked(ctx context.Context, certificate []byte) (Proof, *verify.Report) {
	r, err := verify.CheckContext(ctx, certificate)
	if err != nil && ctx.Err() != nil {
		return Proof{Verdict: Unproved, Why: "the time was up before the certificate was checked"}, nil
	}
	if err != nil {
		return Proof{Verdict: Altered, Why: "the certificate proves nothing: " + err.Error()}, nil
	}
	p := Proof{Verdict: Sound, Status: r.Status, Leaves: r.Leaves, Cuts: r.Cuts}
	if r.Gap != nil {
		p.Gap = r.Gap.RatString()
	}
	return p, r
}

// Verify checks the certificate of a published mix: in exact fractions, that
// it proves what it claims; and that what it speaks of is this card's mix. For
// that the program is written anew from the card, which takes solving it, and
// must be the same; and the certified point must be the published amounts. The
// program comes first: a stranger's could be one whose fractions take minutes
// to add up, and only what ours comes to is checked.
func (c *Card) Verify(ctx context.Context, i int) (Proof, error) {
	p, err := c.Open(i)
	if err != nil {
		return Proof{}, err
	}
	m := c.Mixes[i]
	if len(m.Certificate) == 0 {
		return Proof{Verdict: Unproved, Why: "the certificate was left out for its size"}, nil
	}
	a, err := formulate.Solve(ctx, p, formulate.Options{Proof: true})
	switch {
	case err != nil:
		return Proof{}, err
	case ctx.Err() != nil:
		return Proof{Verdict: Unproved, Why: "the time was up before the program could be written anew"}, nil
	case a.Proof == nil || !sameProgram(m.Certificate, a.Proof.JSON()):
		return Proof{Verdict: Altered, Why: "the certificate speaks of another mix than the card's figures, limits and windows make"}, nil
	}
	proof, r := checked(ctx, m.Certificate)
	if proof.Verdict != Sound {
		return proof, nil
	}
	if why := c.speaksOf(m, p, r); why != "" {
		return Proof{Verdict: Altered, Why: why}, nil
	}
	return proof, nil
}

// speaksOf compares the certified point with the published amounts.
func (c *Card) speaksOf(m Mix, p *mix.Plan, r *verify.Report) string {
	if len(r.Point) < len(m.Amounts) {
		return "the certificate speaks of fewer ingredients than the mix has"
	}
	for i, a := range m.Amounts {
		x := r.Point[i]
		if !x.IsInt() || !x.Num().IsInt64() || nutrient.Mass(x.Num().Int64())*p.Document.Step != a {
			return fmt.Sprintf("the amount of %s is not the one that is certified", p.Lines[i].Form.Ref())
		}
	}
	return ""
}

// sameProgram compares the programs of two certificates.
func sameProgram(a, b []byte) bool {
	p := programOf(a)
	return len(p) > 0 && bytes.Equal(p, programOf(b))
}

// programOf is the part of a certificate that holds its program, as it stands.
func programOf(certificate []byte) []byte {
	var model []byte
	r := &reader{b: certificate}
	skip := func() { r.raw(MaxCertificate) }
	r.object(members{"format": skip, "version": skip, "claim": skip, "grid": skip, "point": skip, "cuts": skip, "tree": skip,
		"model": func() { model = r.raw(MaxCertificate) }})
	if r.err != nil {
		return nil
	}
	return model
}

// Without ranks what can stand in for one ingredient of what choices ask for:
// each of the card's forms that can, and making do with the rest.
func (c *Card) Without(ctx context.Context, ch Choices, ref string, o formulate.Options) ([]formulate.Swap, error) {
	a, err := c.ask(ch)
	if err != nil {
		return nil, err
	}
	i := a.lineOf(ref)
	if i < 0 {
		return nil, &mix.Problem{Message: fmt.Sprintf("%q is not in the mix", ref)}
	}
	p := a.plan
	if !ch.Changed() {
		if p, err = p.With(based(p, c.Mixes[ch.Mix].Amounts)); err != nil {
			return nil, err
		}
	}
	list, err := formulate.Without(ctx, p, i, nil, o)
	return slices.DeleteFunc(list, func(s formulate.Swap) bool {
		return s.Form != nil && slices.Contains(ch.Missing, s.Form.Ref())
	}), err
}
