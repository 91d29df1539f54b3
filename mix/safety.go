package mix

import (
	"fmt"
	"math"
	"strings"

	"firlot/catalog"
	"firlot/internal/nearword"
	"firlot/nutrient"
)

// MostMoisture is the most water that an ingredient of a mix for the jar may
// hold, in per cent. Cereals start to mould above 14.5 % (AHDB, grain storage:
// moisture targets for cereals and oilseed rape); whatever holds more than 20
// would moisten its neighbours past that.
const MostMoisture = 20

// fresh reports whether a form is too moist for the jar. One whose moisture is
// not known may be.
func fresh(f *catalog.Form) bool {
	_, most := f.Bounds(nutrient.Moisture)
	return most > MostMoisture
}

// limitsOf lists the inclusion limits that hold for a form: its own, and for
// an own ingredient those of the catalogue's foods whose name it bears.
func (p *Plan) limitsOf(f *catalog.Form) []sharedLimit {
	species := ""
	if p.Species != nil {
		species = p.Species.ID
	}
	var list []sharedLimit
	for _, of := range append([]*catalog.Form{f}, p.namesakes[f]...) {
		for _, l := range of.Limits {
			if !l.For(species) {
				continue
			}
			pool := l.With
			if pool == "" {
				pool = of.Ingredient.ID
			}
			list = append(list, sharedLimit{l, pool, of})
		}
	}
	return list
}

type sharedLimit struct {
	catalog.Limit
	pool string
	of   *catalog.Form
}

// inclusion applies the catalogue's inclusion limits. A document's ceiling
// cannot lift them.
func (p *Plan) inclusion(l *PlanLine) {
	for _, lim := range p.limitsOf(l.Form) {
		n := int(math.Floor(float64(lim.Most/100*float64(p.Steps)) + stepSlack))
		l.Room = min(l.Room, n)
		if n > l.Ceiling {
			continue
		}
		l.Ceiling, l.CeilingSafety = n, true
		l.CeilingWhy = fmt.Sprintf("the inclusion limit of %v %%", lim.Most)
	}
}

// Pool is an inclusion limit that several lines share: forms of one
// ingredient, or foods that bring the same thing. Each line uses up its share
// of the limit, x/Most, and the shares may add up to one.
type Pool struct {
	Name  string
	Lines []int
	Most  []float64 // steps, one a line
}

// Pools lists the limits that more than one line shares.
func (p *Plan) Pools() []Pool {
	var list []Pool
	at := map[string]int{}
	for i, l := range p.Lines {
		for _, lim := range p.limitsOf(l.Form) {
			k, ok := at[lim.pool]
			if !ok {
				k = len(list)
				at[lim.pool] = k
				list = append(list, Pool{Name: lim.poolName()})
			}
			list[k].add(i, lim.Most/100*float64(p.Steps))
		}
	}
	shared := list[:0]
	for _, q := range list {
		if len(q.Lines) > 1 {
			shared = append(shared, q)
		}
	}
	return shared
}

// add notes a line's limit; the stricter of two holds.
func (q *Pool) add(line int, most float64) {
	if n := len(q.Lines); n > 0 && q.Lines[n-1] == line {
		q.Most[n-1] = min(q.Most[n-1], most)
		return
	}
	q.Lines, q.Most = append(q.Lines, line), append(q.Most, most)
}

func (l sharedLimit) poolName() string {
	if l.With != "" {
		return l.With
	}
	return l.of.Ingredient.Names.First("en")
}

// Used is the part of the shared limit that amounts in steps use up; above
// one breaks it.
func (q Pool) Used(steps func(line int) float64) float64 {
	sum := 0.0
	for i, line := range q.Lines {
		if q.Most[i] > 0 {
			sum += steps(line) / q.Most[i]
		} else if steps(line) > 0 {
			return math.Inf(1)
		}
	}
	return sum
}

// findNamesakes finds the limited foods of the catalogue whose name an own
// ingredient bears, so that another name for the bag lifts no limit.
func (p *Plan) findNamesakes() {
	p.namesakes = map[*catalog.Form][]*catalog.Form{}
	for _, own := range p.Document.Own {
		form := own.Forms[0]
		name := bare(own.ID) + bare(own.Names.First("en"))
		seen := map[*catalog.Ingredient]bool{}
		for _, f := range p.shop.Forms() {
			if len(f.Limits) > 0 && !seen[f.Ingredient] && bears(p.shop, f, name) {
				seen[f.Ingredient] = true
				p.namesakes[form] = append(p.namesakes[form], f)
				p.Notes = append(p.Notes, fmt.Sprintf("%q is held to the inclusion limit of %s, whose name it bears", own.Names.First("en"), f.Ref()))
			}
		}
	}
}

// Namesakes are the limited foods of the catalogue whose name an own
// ingredient's form bears; their inclusion limits hold for it.
func (p *Plan) Namesakes(own *catalog.Form) []*catalog.Form { return p.namesakes[own] }

// bare folds a name and sets it between spaces, plural endings off.
func bare(name string) string {
	words := strings.Fields(nearword.Fold(name))
	for i, w := range words {
		words[i] = strings.TrimSuffix(w, "s")
	}
	return " " + strings.Join(words, " ") + " "
}

// bears reports whether a folded name holds one of a form's names as whole
// words.
func bears(c *catalog.Catalogue, f *catalog.Form, name string) bool {
	for _, n := range c.Called(f) {
		if strings.Contains(name, bare(n.Name)) {
			return true
		}
	}
	return false
}
