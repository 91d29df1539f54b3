package formulate

import (
	"context"
	"fmt"
	"math"
	"sort"

	"firlot/analysis"
	"firlot/catalog"
	"firlot/lp"
	"firlot/mix"
	"firlot/nutrient"
)

// Ways are the smallest changes that turn an impossible mix into a possible
// one, each found by solving.
type Ways struct {
	Moves     []Move     // one limit moved, the others kept
	Additions []Addition // one ingredient of the catalogue added
	Fewest    *Fewest    // the fewest ingredients, when no single one will do
	// Sureness is the highest joint chance found on this shelf, when the
	// document asks for one that cannot be met; nil otherwise.
	Sureness *Surest
	// Unfinished says that the time was up before everything was tried.
	Unfinished bool
}

// Move is a limit that alone can be moved so far that a mix exists.
type Move struct {
	Path  string // the document's field; empty for a window of the stage
	What  string // the limit as it stands, in words
	To    string // the limit as it must become, in words
	Bound float64
	// Share is how far it moves as a share of itself, by which moves are
	// ranked; a limit of nothing ranks last.
	Share       float64
	least, most int // the new numbers of ingredients, for a limit on them
	limit       limit
}

// Addition is an ingredient that makes the mix possible.
type Addition struct {
	Form  *catalog.Form
	Least nutrient.Mass // the least of it that will do
}

// Fewest is a smallest set of ingredients that makes the mix possible.
type Fewest struct {
	Forms []*catalog.Form
	// Proved says that no smaller set will do. With sureness it is never
	// proved: the risk is shared evenly, which asks for more than need be.
	Proved bool
}

// Surest is the highest sureness that was found.
type Surest struct {
	Joint  float64
	Answer *Answer
}

// FindWays looks for the ways out of an impossible plan. When the context ends
// it returns what was found by then, marked as unfinished.
func FindWays(ctx context.Context, p *mix.Plan, o Options) (*Ways, error) {
	p = p.Joined() // limits are tried out on a copy
	s := &solver{ctx: ctx, program: newProgram(p), plan: p, options: o, goal: &goal{cost: noCost, size: float64(p.Steps), scale: 1}}
	if s.options.Nodes == 0 {
		s.options.Nodes = wayNodes
	}
	w := &Ways{}
	for _, look := range []func() error{
		func() (err error) {
			if p.Document.Sureness > 0 {
				w.Sureness, err = surest(ctx, p, o)
			}
			return err
		},
		func() (err error) { w.Moves, err = s.moves(); return err },
		func() (err error) { w.Additions, err = s.additions(); return err },
		func() (err error) {
			// Under sureness the search over the whole catalogue is slow and
			// proves nothing; how sure the shelf can be is the better answer.
			if len(w.Additions) == 0 && w.Sureness == nil {
				w.Fewest, err = s.fewest()
			}
			return err
		},
	} {
		err := look()
		if ctx.Err() != nil {
			w.Unfinished = true
			return w, nil
		}
		if err != nil {
			return nil, err
		}
	}
	return w, nil
}

// wayNodes bounds the search of each try. A way that needs more is passed
// over, or found a little farther on: there are many to try, and a keeper
// waits.
const wayNodes = 200

// asked is the plain variant with the deviations of an evenly shared risk
// when the document asks for sureness: a mix that keeps them is sure enough.
func (s *solver) asked() variant {
	v := variant{cost: noCost}
	if p := s.plan.Document.Sureness; p > 0 {
		v.z = s.zOf(s.evenly(1 - p))
	}
	return v
}

// moves finds for each limit how far it alone must move.
func (s *solver) moves() ([]Move, error) {
	var list []Move
	var failed error
	for i, l := range s.limits {
		if l.kind == poolLimit || l.kind == ceilingLimit && s.plan.Lines[l.index].CeilingSafety {
			continue // a limit of safety is never moved
		}
		m, ok, err := s.alone(i, l)
		if err != nil {
			failed = err
			break
		}
		if ok {
			list = append(list, m)
		}
	}
	sort.SliceStable(list, func(i, j int) bool { return list[i].Share < list[j].Share })
	return list, failed
}

// alone finds how far one limit must move, if it alone can help.
func (s *solver) alone(i int, l limit) (Move, bool, error) {
	v := s.asked()
	v.skip = map[int]bool{i: true}
	if ok, err := s.possible(v); err != nil || !ok {
		return Move{}, false, err
	}
	return s.move(i, l)
}

// possible drafts first, which rules out most variants in no time, and then
// solves.
func (s *solver) possible(v variant) (bool, error) {
	r := v
	r.relaxed = true
	if d, err := s.draft(r); err != nil || d.Status == lp.Infeasible {
		return false, err
	}
	still, err := s.stillImpossible(v)
	return !still, err
}

func (s *solver) move(i int, l limit) (Move, bool, error) {
	m := Move{Path: l.path, What: l.what, limit: l}
	v := s.asked()
	var at float64
	var ok bool
	var err error
	switch l.kind {
	case edgeLimit:
		at = l.edge.Bound
		m.Bound, ok, err = s.loosen(i, v)
		w := s.plan.Targets[l.index].Window
		m.To = edgeWords(w, analysis.Edge{Bound: m.Bound, Upper: l.edge.Upper})
	case mixCount, groupCount:
		return s.moveCount(i, l, m)
	default:
		at, m.Bound, ok, err = s.moveMass(i, l)
		m.To = fmt.Sprintf("%v instead", mass(s.plan, int(m.Bound)))
	}
	m.Share = relative(m.Bound, at)
	return m, ok, err
}

func relative(to, from float64) float64 {
	if from == 0 {
		return math.Inf(1)
	}
	return math.Abs(to-from) / math.Abs(from)
}

// moveMass finds the nearest number of steps for a limit in mass, by halving.
func (s *solver) moveMass(i int, l limit) (at, bound float64, ok bool, err error) {
	get, far := s.massLimit(l)
	near := *get
	save := near
	defer func() { *get = save }()
	if far == near {
		return float64(near), 0, false, nil
	}
	for abs(far-near) > 1 {
		mid := (near + far) / 2
		*get = mid
		fits, err := s.possible(s.asked())
		if err != nil {
			return 0, 0, false, err
		}
		if fits {
			far = mid
		} else {
			near = mid
		}
	}
	return float64(save), float64(far), true, nil
}

func abs(n int) int { return max(n, -n) }

// massLimit is where the plan keeps a limit in mass, and the loosest that it
// can become.
func (s *solver) massLimit(l limit) (*int, int) {
	p := s.plan
	switch l.kind {
	case floorLimit:
		return &p.Lines[l.index].Floor, 0
	case ceilingLimit:
		return &p.Lines[l.index].Ceiling, p.Lines[l.index].Room
	case nothingOrLimit:
		return &p.Lines[l.index].NothingOr, 1
	case groupFloor:
		return &p.Groups[l.index].Floor, 0
	}
	return &p.Groups[l.index].Ceiling, p.Steps
}

// moveCount finds the nearest number of ingredients.
func (s *solver) moveCount(i int, l limit, m Move) (Move, bool, error) {
	least, most := &s.plan.Document.LeastIngredients, &s.plan.Document.MostIngredients
	all := len(s.plan.Lines)
	if l.kind == groupCount {
		g := &s.plan.Groups[l.index]
		least, most, all = &g.Least, &g.Most, len(g.Lines)
	}
	saveLeast, saveMost := *least, *most
	defer func() { *least, *most = saveLeast, saveMost }()
	for d := 1; d <= all; d++ {
		for _, try := range [][2]int{{saveLeast, min(saveMost+d, all)}, {max(saveLeast-d, 0), saveMost}} {
			if saveMost == 0 && try[1] != 0 {
				continue
			}
			*least, *most = try[0], try[1]
			fits, err := s.possible(s.asked())
			if err != nil {
				return m, false, err
			}
			if fits {
				m.To = countWords("the mix", try[0], try[1])
				if l.kind == groupCount {
					m.To = countWords(s.plan.Groups[l.index].Name, try[0], try[1])
				}
				m.least, m.most = try[0], try[1]
				m.Bound, m.Share = float64(d), float64(d)/float64(max(saveLeast+saveMost, 1))
				return m, true, nil
			}
		}
	}
	return m, false, nil
}

// additions tries every form of the catalogue that is not on the shelf and
// is safe for the species.
func (s *solver) additions() ([]Addition, error) {
	var list []Addition
	var failed error
	for _, f := range candidates(s.plan) {
		least, ok, err := s.leastOf(f)
		if err != nil {
			failed = err
			break
		}
		if ok {
			list = append(list, Addition{f, mass(s.plan, least)})
		}
	}
	sort.SliceStable(list, func(i, j int) bool { return list[i].Least < list[j].Least })
	return list, failed
}

// candidates are the forms that could join a plan: dry, not there yet, and
// not limited to nothing.
func candidates(p *mix.Plan) []*catalog.Form {
	have := map[*catalog.Form]bool{}
	for _, l := range p.Lines {
		have[l.Form] = true
	}
	var list []*catalog.Form
	for _, f := range p.Catalogue.Forms() {
		if !have[f] && p.Fits(f) {
			list = append(list, f)
		}
	}
	return list
}

// leastOf is the least of a form that makes a mix possible.
func (s *solver) leastOf(f *catalog.Form) (int, bool, error) {
	p := s.plan.Joined(f)
	g := &solver{ctx: s.ctx, program: newProgram(p), plan: p, options: s.options, goal: s.goal}
	last := len(p.Lines) - 1
	v := g.asked()
	v.cost = func(i int) (float64, []lp.Break) {
		if i == last {
			return 1, nil
		}
		return 0, nil
	}
	r := v
	r.relaxed = true
	if d, err := g.draft(r); err != nil || d.Status == lp.Infeasible {
		return 0, false, err
	}
	res, _, err := g.run(v)
	if err != nil || res.X == nil {
		return 0, false, err
	}
	return int(res.X[last]), true, nil
}

// mostMissing is how many ingredients more are looked for: a keeper who lacks
// more than that needs another recipe.
const mostMissing = 4

// fewestNodes bounds the search for each number of ingredients.
const fewestNodes = 300

// fewest finds a smallest set of catalogue ingredients that makes the mix
// possible, knowing that no single one does.
func (s *solver) fewest() (*Fewest, error) {
	forms := candidates(s.plan)
	p := s.plan.Joined(forms...)
	g := &solver{ctx: s.ctx, program: newProgram(p), plan: p, options: s.options, goal: s.goal}
	g.options.Nodes = fewestNodes
	first := len(s.plan.Lines)
	if ok, err := g.possible(g.asked()); err != nil || !ok {
		return nil, err
	}
	proved := s.plan.Document.Sureness == 0
	for k := 2; k <= mostMissing; k++ {
		v := g.asked()
		v.extra = func(m *lp.Model, x []lp.Var) {
			m.AddCount(lp.Count{Name: "ingredients more", Vars: x[first:], Most: k})
		}
		v.cost = func(i int) (float64, []lp.Break) {
			if i >= first {
				return 1, nil
			}
			return 0, nil
		}
		res, _, err := g.run(v)
		if err != nil {
			return nil, err
		}
		if res.X == nil {
			proved = proved && res.Status == lp.Infeasible
			continue
		}
		f := &Fewest{Proved: proved}
		for i, form := range forms {
			if res.X[first+i] > 0 {
				f.Forms = append(f.Forms, form)
			}
		}
		return f, nil
	}
	return nil, nil
}

// surest looks for the highest joint chance: by halving between none and the
// one asked for, and by the steadiest mix.
func surest(ctx context.Context, p *mix.Plan, o Options) (*Surest, error) {
	var best *Surest
	try := func(change func(*mix.Document)) (bool, error) {
		q := *p
		q.Document = p.Document.Copy()
		change(q.Document)
		a, err := Solve(ctx, &q, o)
		if err != nil || a.Steps == nil {
			return false, err
		}
		if best == nil || a.Joint > best.Joint {
			best = &Surest{a.Joint, a}
		}
		return a.Status == Found, nil
	}
	if ok, err := try(func(d *mix.Document) { d.Sureness, d.Prefer = 0, mix.Steady }); err != nil || !ok {
		return nil, err
	}
	lo, hi := best.Joint, p.Document.Sureness
	for hi-lo > surestStep && ctx.Err() == nil {
		mid := (lo + hi) / 2
		ok, err := try(func(d *mix.Document) { d.Sureness = mid })
		if err != nil {
			return nil, err
		}
		if ok {
			lo = max(mid, best.Joint)
		} else {
			hi = mid
		}
	}
	return best, nil
}

// surestStep is how finely the highest sureness is looked for: one set of
// bags in a hundred.
const surestStep = 0.01
