package ration

import (
	"context"
	"fmt"
	"math"
	"slices"
	"time"

	"firlot/lp"
	"firlot/nutrient"
)

// model writes the rules as a program over whole steps a week.
func (m *mender) model(foods int, whole bool) *lp.Model {
	out := lp.NewModel()
	count := lp.Count{Name: "foods", Most: foods}
	for _, c := range m.cands {
		v := out.AddColumn(lp.Column{Name: c.served.Form.Ref(), Hi: float64(c.most), Integer: whole,
			Cost: tidy(c.grams)})
		count.Vars = append(count.Vars, v)
	}
	out.AddCount(count)
	for _, r := range m.rules {
		row := lp.Row{Name: r.name, Hi: math.Inf(1)}
		scale := math.Abs(r.need)
		for i, c := range r.coef {
			scale = max(scale, math.Abs(float64(c*m.cands[i].grams)/7))
		}
		if scale == 0 {
			continue
		}
		row.Lo = r.need / scale
		for i, c := range r.coef {
			if v := float64(c*m.cands[i].grams) / 7 / scale; v != 0 {
				row.Terms = append(row.Terms, lp.Term{Var: count.Vars[i], Coef: v})
			}
		}
		out.AddRow(row)
	}
	return out
}

// tidy rounds a cost to a thousandth of a gram, so that ties are ties.
func tidy(v float64) float64 { return math.Max(math.Round(v*1000), 1) }

// mostFoods is up to how many foods are looked for one by one; beyond, any
// number goes.
const mostFoods = 3

func (m *mender) solve(ctx context.Context, out *Mend, nodes int) error {
	if nodes == 0 {
		nodes = mendNodes
	}
	if len(m.cands) == 0 {
		out.Proved = true
		out.Against = []string{"there is no food to mend it with"}
		return nil
	}
	if names := m.hopeless(); len(names) > 0 {
		out.Proved, out.Against = true, names
		return nil
	}
	sure := true
	for k := 1; ; k++ {
		n := k
		switch {
		case k == mostFoods+1 && sensible < len(m.cands):
			n = sensible
		case k > mostFoods || k > len(m.cands):
			n = len(m.cands)
		}
		model := m.model(n, true)
		r, err := lp.Solve(ctx, model, lp.Options{Nodes: nodes})
		switch {
		case err != nil:
			return err
		case r.Status == lp.Optimal || r.Status == lp.Feasible:
			out.Found, out.Lightest = true, r.Status == lp.Optimal
			out.Proved = sure && out.Lightest && k <= mostFoods
			return m.answer(out, r.X)
		case r.Status != lp.Infeasible:
			sure = false
			if ctx.Err() != nil {
				return ctx.Err()
			}
		}
		if n == len(m.cands) {
			out.Proved = r.Status == lp.Infeasible // that any number of them cannot covers fewer
			return m.why(ctx, out, model, r, nodes)
		}
	}
}

// hopeless lists the rules that the most of every food together does not
// reach, whatever else holds.
func (m *mender) hopeless() []string {
	var list []string
	for _, r := range m.rules {
		reach := 0.0
		for i, c := range r.coef {
			reach += max(float64(c*m.cands[i].grams*float64(m.cands[i].most))/7, 0)
		}
		if reach < r.need*(1-1e-9) {
			list = append(list, r.name)
		}
	}
	return list
}

// tooCoarse says that parts of a step would do.
const tooCoarse = "the steps, which are too coarse: less than a whole one would do"

// why gathers what stands against a mend.
func (m *mender) why(ctx context.Context, out *Mend, model *lp.Model, r *lp.Result, nodes int) error {
	if out.Against = m.against(model, r); len(out.Against) == 0 {
		out.Against = m.wanted()
	}
	if r.Status != lp.Infeasible {
		return nil
	}
	free, err := lp.Solve(ctx, m.model(len(m.cands), false), lp.Options{Nodes: nodes})
	if err == nil && free.Status == lp.Optimal {
		out.Against = append(out.Against, tooCoarse)
	}
	return err
}

// wanted are the rules that do not hold as things stand.
func (m *mender) wanted() []string {
	var list []string
	for _, r := range m.rules {
		if r.need > 0 {
			list = append(list, r.name)
		}
	}
	return list
}

// against are the names of the rules that carry the proof.
func (m *mender) against(model *lp.Model, r *lp.Result) []string {
	var list []string
	for _, c := range r.Clash {
		if c.Kind == lp.ClashRow {
			if name := model.Row(lp.RowID(c.Index)).Name; !slices.Contains(list, name) {
				list = append(list, name)
			}
		}
	}
	return list
}

// answer turns steps into lines of the document, and holds the changed week
// against its own ledger.
func (m *mender) answer(out *Mend, x []float64) error {
	d := m.plan.Document.Copy()
	for i, c := range m.cands {
		n := int(math.Round(x[i]))
		if n == 0 {
			continue
		}
		ch := Addition{Form: c.served.Form, Steps: n, Step: c.step, Grams: float64(c.grams * float64(n))}
		ch.Lines = linesOf(c, n)
		ch.Uncommon = m.uncommon(c, n)
		m.join(d, ch.Lines)
		out.Changes = append(out.Changes, ch)
	}
	after, err := m.plan.With(d)
	if err != nil {
		return err
	}
	out.Document, out.After = d, after.Ledger()
	for _, t := range m.targets {
		for _, a := range out.After.Accounts {
			for _, r := range a.Rows {
				if r.Target() == t && r.Verdict != Inside {
					return fmt.Errorf("the week that should mend %s leaves it %s", t.Nutrient, r.Verdict)
				}
			}
		}
	}
	return nil
}

// practiceNeed is what three gerbils of 80 g need, kcal a day: common practice is
// known of them, and others are taken to get more or less by their need.
const practiceNeed = 79.0

// freshSpoon stands in for a tablespoon of fresh leaf whose density is not
// known, g: leaves of the catalogue run from 2 to 6. Assumed.
const freshSpoon = 4.0

func (m *mender) uncommon(c candidate, n int) bool {
	p := m.plan
	share := p.need.Mean / practiceNeed
	day := float64(c.grams*float64(n)) / 7
	switch c.served.Origin {
	case FromForage:
		r, _, _, err := p.grams("", c.served.Form, Amount{Set: true, Count: 1, Unit: Teaspoons})
		return err == nil && r.HasMean && day > float64(r.Mean*share*(1+Kitchen))
	case FromGreens:
		spoon := freshSpoon
		if d := c.served.Form.BulkDensity; d != nil && d.Mean > 0 {
			spoon = float64(d.Mean * p.spoon.Tablespoon)
		}
		return day > float64(spoon*share*(1+Kitchen))
	}
	return false
}

// join puts lines into the document: the first takes the place of a line of
// the shelf that is given on no day.
func (m *mender) join(d *Document, lines []Food) {
	for _, line := range lines {
		placed := false
		for i, f := range d.Foods {
			if !placed && !f.Given() && m.names(f.Food, line.Food) {
				f.Amount, f.Days = line.Amount, line.Days
				d.Foods[i], placed = f, true
			}
		}
		if !placed {
			d.Foods = append(d.Foods, line)
		}
	}
}

// names reports whether a name in the document means a form.
func (m *mender) names(name, ref string) bool {
	if name == ref {
		return true
	}
	f, err := m.plan.form("", name)
	return err == nil && f.Ref() == ref
}

// linesOf spreads steps over the week: as even as whole steps allow, the same
// every day and one more on some.
func linesOf(c candidate, n int) []Food {
	var list []Food
	line := func(steps int, days Weekdays) {
		a := c.step
		a.Count *= float64(steps)
		a.Mass *= nutrient.Mass(steps)
		list = append(list, Food{Food: c.served.Form.Ref(), Amount: a, Days: days})
	}
	if n >= 7 {
		line(n/7, EveryDay)
	}
	if r := n % 7; r > 0 {
		line(1, evenly(r))
	}
	return list
}

// evenly are n days of the week, as far apart as they go, from Monday.
func evenly(n int) Weekdays {
	var w Weekdays
	for i := range n {
		w = w.With(time.Weekday((i*7/n + 1) % 7))
	}
	return w
}
