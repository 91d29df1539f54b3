package web

import (
	"context"
	"errors"
	"fmt"
	"math"
	"strings"
	"sync"
	"time"

	"firlot/analysis"
	"firlot/formulate"
	"firlot/internal/tomldoc"
	"firlot/mix"
	mixfiles "firlot/mix/files"
	"firlot/needs"
	"firlot/nutrient"
)

// solved is a document with what the engine makes of it. Problem is set when
// the document cannot be weighed up.
type solved struct {
	Text    string
	Doc     *mix.Document
	Plan    *mix.Plan
	Answer  *formulate.Answer
	Problem *mix.Problem

	mu   sync.Mutex
	ways *formulate.Ways
}

// answers remembers what was solved last, so that showing a page again, or
// pressing a way out, does not solve again. Solving is a function of the text.
type answers struct {
	mu    sync.Mutex
	known map[string]*solved
	order []string
}

// mostAnswers bounds the memory: an answer is some tens of kilobytes.
const mostAnswers = 64

func newAnswers() *answers { return &answers{known: map[string]*solved{}} }

func (a *answers) get(text string) *solved {
	a.mu.Lock()
	defer a.mu.Unlock()
	return a.known[text]
}

func (a *answers) put(s *solved) {
	a.mu.Lock()
	defer a.mu.Unlock()
	if a.known[s.Text] == nil {
		a.order = append(a.order, s.Text)
	}
	a.known[s.Text] = s
	for len(a.order) > mostAnswers {
		delete(a.known, a.order[0])
		a.order = a.order[1:]
	}
}

// solveTime is how long a page waits for an answer; the best mix found by
// then is shown.
const solveTime = 20 * time.Second

// solve reads, resolves and solves a document. The error is for faults of
// ours; what is wrong with the document is in Problem.
func (s *Server) solve(ctx context.Context, text string) (*solved, error) {
	if known := s.answers.get(text); known != nil {
		return known, nil
	}
	out := &solved{Text: text}
	f, err := mixfiles.Parse("mix", []byte(text))
	var at *tomldoc.Error
	switch {
	case errors.As(err, &at):
		out.Problem = &mix.Problem{Path: at.Field, Message: at.Message, Hint: at.Hint}
		return out, nil
	case err != nil:
		return nil, err
	}
	out.Doc = f.Document
	if out.Plan, err = mix.Resolve(out.Doc, s.Catalogue, s.Needs); err == nil {
		ctx, cancel := context.WithTimeout(ctx, solveTime)
		defer cancel()
		out.Answer, err = formulate.Solve(ctx, out.Plan, formulate.Options{})
	}
	if err != nil && !errors.As(err, &out.Problem) {
		return nil, err
	}
	if out.Answer == nil || out.Answer.Status != formulate.Stopped {
		s.answers.put(out)
	}
	return out, nil
}

// solveDoc solves a document, and returns it with its amounts set where a mix
// was found.
func (s *Server) solveDoc(ctx context.Context, d *mix.Document) (*solved, error) {
	a, err := s.solve(ctx, string(mixfiles.Format(d)))
	if err != nil || a.Answer == nil || a.Answer.Steps == nil {
		return a, err
	}
	next := d.Copy()
	same := true
	for i, m := range a.Answer.Amounts() {
		amount := mix.Amount{Set: true, Mass: m}
		same = same && next.Lines[i].Amount == amount
		next.Lines[i].Amount = amount
	}
	if same {
		return a, nil
	}
	return s.settle(ctx, a, next)
}

// settle takes an answer's amounts into its document, whose text then is
// another: the answer stands for it too, unless the amounts are what the mix
// is to be near to.
func (s *Server) settle(ctx context.Context, a *solved, next *mix.Document) (*solved, error) {
	text := string(mixfiles.Format(next))
	if a.Answer.Prefer == mix.Near && !hasBase(next) || a.Answer.Status == formulate.Stopped {
		return s.solve(ctx, text)
	}
	f, err := mixfiles.Parse("mix", []byte(text))
	if err != nil {
		return nil, err
	}
	plan := *a.Plan
	plan.Document = f.Document
	answer := *a.Answer
	answer.Plan = &plan
	out := &solved{Text: text, Doc: f.Document, Plan: &plan, Answer: &answer}
	s.answers.put(out)
	return out, nil
}

func hasBase(d *mix.Document) bool {
	for _, l := range d.Lines {
		if l.Base.Set {
			return true
		}
	}
	return false
}

// stuck reports whether there is no mix to show: none exists, or none was
// found that is as sure as asked. Both are helped out.
func (a *solved) stuck() bool {
	return a.Answer != nil && (a.Answer.Status == formulate.Impossible || a.Answer.Steps == nil)
}

// waysOut are the ways out of a mix that is stuck, looked for once.
func (a *solved) waysOut(ctx context.Context) (*formulate.Ways, error) {
	a.mu.Lock()
	defer a.mu.Unlock()
	if a.ways != nil {
		return a.ways, nil
	}
	ctx, cancel := context.WithTimeout(ctx, solveTime)
	defer cancel()
	p, err := a.Plan.With(a.Doc) // FindWays tries limits out on the plan that it is given
	if err != nil {
		return nil, err
	}
	w, err := formulate.FindWays(ctx, p, formulate.Options{})
	if err == nil && ctx.Err() == nil {
		a.ways = w
	}
	return w, err
}

// The two figures of the map.
var (
	mapX = analysis.Measure{Nutrient: nutrient.CrudeFibre, Basis: nutrient.AsFed, On: needs.Offered}
	mapY = analysis.Measure{Nutrient: nutrient.CrudeProtein, Basis: nutrient.AsFed, On: needs.Offered}
)

// regions remembers the regions drawn last. A region is a function of the
// ingredients and their limits alone, so that a change of anything else, such
// as the preference or a window, does not compute it anew.
type regions struct {
	*recent[string, formulate.Region]
}

// mostRegions bounds the memory: a region is a few kilobytes.
const mostRegions = 64

func newRegions() *regions { return &regions{newRecent[string, formulate.Region](mostRegions)} }

// find returns what the shelf of a plan can make, all windows left out and
// line leave too; −1 leaves none.
func (r *regions) find(ctx context.Context, p *mix.Plan, leave int) (*formulate.Region, error) {
	key := regionKey(p, leave)
	if known := r.get(key); known != nil {
		return known, nil
	}
	found, err := formulate.FindRegion(ctx, p, mapX, mapY, formulate.RegionOptions{Free: true, Leave: leave})
	if err != nil {
		return nil, err
	}
	r.put(key, found)
	return found, nil
}

// regionKey is the text of all that a region depends on: what goes into the
// mix, and its limits as shares of the batch.
func regionKey(p *mix.Plan, leave int) string {
	var b strings.Builder
	fmt.Fprintln(&b, leave, p.Document.Species, p.Steps)
	for _, l := range p.Lines {
		fmt.Fprintln(&b, l.Form.Ref(), l.Floor, l.Ceiling, l.Room)
	}
	for _, g := range p.Groups {
		fmt.Fprintln(&b, g.Lines, g.Floor, g.Ceiling)
	}
	if len(p.Document.Own) > 0 {
		b.Write(mixfiles.Format(&mix.Document{Own: p.Document.Own}))
	}
	return b.String()
}

// massOf turns an amount into a mass in a batch.
func massOf(a mix.Amount, batch nutrient.Mass) nutrient.Mass {
	if !a.Set {
		return 0
	}
	return nutrient.Mass(math.Round(a.Of(batch) * float64(nutrient.Gram)))
}
