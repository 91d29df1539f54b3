package web

import (
	"context"
	"net/url"
	"strconv"
	"strings"

	"firlot/catalog"
	"firlot/formulate"
	"firlot/internal/store"
	"firlot/mix"
)

// waysView are the ways out of an impossible mix, as buttons.
type waysView struct {
	Moves     []wayView
	Additions []wayView
	Fewest    *wayView
	Proved    bool // no smaller set of additions will do
	Sureness  *wayView
	OnShelf   []wayView // additions that a shelf already holds
	None      bool
}

// wayView is one way out; Do names it in the form.
type wayView struct {
	Do       string
	What, To string
	Form     *catalog.Form
	Mass     string
	Names    string
}

// mostAdditions are shown at first; there may be a hundred.
const mostAdditions = 12

func (b *mixBuilder) ways(ctx context.Context) error {
	ways, err := b.a.waysOut(ctx)
	if err != nil {
		return err
	}
	v := &waysView{}
	for i, m := range ways.Moves {
		v.Moves = append(v.Moves, wayView{Do: "move:" + strconv.Itoa(i), What: b.limitWords(m.What), To: b.moved(m.To)})
	}
	have := b.s.onShelves(ctx)
	for i, a := range ways.Additions {
		w := wayView{Do: "add:" + strconv.Itoa(i), Form: a.Form, Mass: b.w.Mass(a.Least)}
		switch {
		case have[a.Form.Ref()]:
			v.OnShelf = append(v.OnShelf, w)
		case len(v.Additions) < mostAdditions:
			v.Additions = append(v.Additions, w)
		}
	}
	if f := ways.Fewest; f != nil {
		var names []string
		for _, x := range f.Forms {
			names = append(names, b.w.Form(x))
		}
		v.Fewest, v.Proved = &wayView{Do: "fewest", Names: b.w.And(names)}, f.Proved
	}
	if s := ways.Sureness; s != nil {
		v.Sureness = &wayView{Do: "sureness", What: b.w.OfHundred(s.Joint)}
	}
	v.None = len(v.Moves)+len(v.Additions)+len(v.OnShelf) == 0 && v.Fewest == nil && v.Sureness == nil
	b.v.Ways = v
	return nil
}

// moved says where a limit moves to: the bound alone, for what it is on has
// been said.
func (b *mixBuilder) moved(to string) string { return b.limitsSaid().Bound(to) }

// onShelves are the forms that are to be had on any shelf.
func (s *Server) onShelves(ctx context.Context) map[string]bool {
	have := map[string]bool{}
	list, err := s.Store.Shelves(ctx)
	if err != nil {
		s.Log.Error("the shelves could not be read", "error", err)
	}
	for _, sh := range list {
		for _, it := range sh.Items {
			if it.CanHave {
				have[it.Ref] = true
			}
		}
	}
	return have
}

// posted reads a press on a mix's page. It reports false when the mix has
// changed since that page was made; both are shown then, and nothing is done.
func (s *Server) posted(q *request) (m store.Mix, now bool, err error) {
	if err = q.form(); err != nil {
		return m, false, err
	}
	if m, err = s.Store.Mix(q.Context(), q.id()); err != nil {
		return m, false, err
	}
	if m.Rev != q.rev() {
		return m, false, s.showConflict(q, m.ID, m.Document)
	}
	return m, true, nil
}

// takeWay applies the way out that was pressed. It is named by its place in
// what FindWays finds, which is the same for the same document.
func (s *Server) takeWay(q *request) error {
	m, now, err := s.posted(q)
	if err != nil || !now {
		return err
	}
	a, err := s.solve(q.Context(), m.Document)
	if err != nil {
		return err
	}
	if !a.stuck() {
		return q.see(mixPath(m.ID))
	}
	ways, err := a.waysOut(q.Context())
	if err != nil {
		return err
	}
	d := wayDocument(a, ways, q.value("way"))
	if d == nil {
		return badRequest("no such way out")
	}
	next, err := s.solveDoc(q.Context(), d)
	if err != nil {
		return err
	}
	return s.keep(q, m, q.rev(), next.Text)
}

// wayDocument is the document with a way out taken, or nil.
func wayDocument(a *solved, ways *formulate.Ways, way string) *mix.Document {
	what, arg, _ := strings.Cut(way, ":")
	i, err := strconv.Atoi(arg)
	in := func(n int) bool { return err == nil && i >= 0 && i < n }
	switch {
	case what == "move" && in(len(ways.Moves)):
		return ways.Moves[i].Apply(a.Plan)
	case what == "add" && in(len(ways.Additions)):
		return ways.Additions[i].Apply(a.Plan)
	case what == "fewest" && ways.Fewest != nil:
		d := a.Doc.Copy()
		for _, f := range ways.Fewest.Forms {
			d = d.Add(mix.Line{Ingredient: f.Ref()})
		}
		return d
	case what == "sureness" && ways.Sureness != nil:
		return surest(a, ways.Sureness)
	}
	return nil
}

// surest asks for the highest sureness that was found: what the answer's own
// document asks for, or the joint chance of the steadiest mix.
func surest(a *solved, s *formulate.Surest) *mix.Document {
	d := a.Doc.Copy()
	found := s.Answer.Plan.Document
	d.Prefer = found.Prefer
	d.Sureness = found.Sureness
	return d
}

func withoutPath(id store.ID, ref string) string {
	return mixPath(id) + "/without?line=" + url.QueryEscape(ref)
}
