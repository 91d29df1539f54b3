package mix

import "firlot/catalog"

// Inclusion is the most of a form that safety allows, as a share of any
// batch.
type Inclusion struct {
	Percent float64
	// Pool names what shares the limit: forms of one ingredient, or foods that
	// bring the same thing. Limits of one pool are used up together; see
	// [Pool].
	Pool string
	Why  string
	How  catalog.Evidence
}

// Inclusions lists the inclusion limits that hold for a form, whatever the
// batch is.
func (p *Plan) Inclusions(f *catalog.Form) []Inclusion {
	var list []Inclusion
	for _, l := range p.limitsOf(f) {
		list = append(list, Inclusion{Percent: l.Most, Pool: l.pool, Why: l.Why, How: l.How})
	}
	return list
}
