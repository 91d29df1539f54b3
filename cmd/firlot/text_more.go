package main

import "firlot/report"

// beside are the figures that a keeper asks for next: the main ones without a
// window, and the same as eaten once hulls are left.
var beside = []struct{ nutrient, per string }{
	{"crude_protein", ""}, {"crude_fat", ""}, {"crude_fibre", ""}, {"moisture", ""},
	{"energy", ""}, {"calcium", ""}, {"phosphorus", ""}, {"calcium", "phosphorus"},
}

func (p *printer) beside() {
	if len(p.r.Figures) == 0 {
		return
	}
	p.say("\n")
	rows := [][]string{{"", ">as offered", ">on dry matter", ">as eaten", ">known"}}
	for _, k := range beside {
		offered := p.find(k.nutrient, k.per, "offered", "as fed")
		dry := p.find(k.nutrient, k.per, "offered", "dry matter")
		eaten := p.find(k.nutrient, k.per, "eaten", "as fed")
		if offered == nil {
			continue
		}
		row := []string{offered.Name, ">" + withUnit(offered.Mean, offered.Unit), ">", ">", ">" + percent(offered.KnownShare)}
		if dry != nil {
			row[2] = ">" + withUnit(dry.Mean, dry.Unit)
		}
		if eaten != nil {
			row[3] = ">" + withUnit(eaten.Mean, eaten.Unit)
		}
		rows = append(rows, row)
	}
	p.table(rows)
}

func (p *printer) find(nutrient, per, on, basis string) *report.Figure {
	for i := range p.r.Figures {
		f := &p.r.Figures[i]
		if f.Nutrient == nutrient && f.Per == per && f.On == on && f.Basis == basis {
			return f
		}
	}
	return nil
}

func percent(v report.Number) string {
	switch {
	case v >= 0.9995:
		return "all"
	case v == 0:
		return "none"
	}
	return fixed(100*float64(v), 1) + " %"
}

// everything prints every figure as offered and as fed.
func (p *printer) everything() {
	if len(p.r.Figures) == 0 {
		return
	}
	p.say("\n")
	rows := [][]string{{"as offered, as fed", ">mix", ">90 of 100 sets of bags", ">bounds", ">known", "evidence"}}
	for _, f := range p.r.Figures {
		if f.On != "offered" || f.Basis != "as fed" || f.Per != "" {
			continue
		}
		rows = append(rows, []string{f.Name, ">" + withUnit(f.Mean, f.Unit), ">" + between(f.Low, f.High),
			">" + bounds(f), ">" + percent(f.KnownShare), f.Evidence})
	}
	p.table(rows)
}

func bounds(f report.Figure) string {
	if f.KnownShare >= 1 {
		return ""
	}
	return between(f.Least, f.Most)
}

// shown prints the published windows that the mix need not meet by itself.
func (p *printer) shown() {
	if len(p.r.Shown) == 0 {
		return
	}
	p.say("\nPublished for this stage, not asked of the mix alone:\n")
	rows := [][]string{{"", ">mix", ">published", "the mix alone is", "from"}}
	for _, w := range p.r.Shown {
		from := sourceWords(w.Window)
		if w.StandsIn != "" {
			from += ", stands in from " + w.StandsIn
		}
		rows = append(rows, []string{w.Name, ">" + withUnit(w.Mean, w.Unit), ">" + windowText(w.Window) + " " + w.Unit, w.Verdict, from})
	}
	p.table(rows)
}

// shortages names the published minima that the mix alone does not reach.
func (p *printer) shortages() {
	var names []string
	seen := map[string]bool{}
	for _, w := range p.r.Shown {
		if w.Verdict == "inside" || seen[w.Name] || w.Per != "" || w.Window.Min == nil || w.Mean == nil || *w.Mean >= *w.Window.Min {
			continue
		}
		seen[w.Name] = true
		names = append(names, w.Name)
	}
	if len(names) > 0 {
		p.say("\nLess than published minima in the mix alone, to come from leaf, herb, hay and insect: %s.\n", join(names))
		p.say("--all shows every figure.\n")
	}
}

func join(names []string) string {
	s := ""
	for i, n := range names {
		switch {
		case i == 0:
		case i == len(names)-1:
			s += " and "
		default:
			s += ", "
		}
		s += n
	}
	return s
}

func (p *printer) tail() {
	if len(p.r.Notes) > 0 {
		p.say("\n")
	}
	for _, n := range p.r.Notes {
		p.say("Note: %s.\n", n)
	}
	if p.r.CostPerKg != nil {
		p.say("\nA kilogram costs %s %s.\n", short(float64(*p.r.CostPerKg)), p.r.Currency)
	}
	if len(p.r.Cautions) > 0 {
		p.say("\nBefore you feed it:\n")
	}
	for _, c := range p.r.Cautions {
		p.say("  - %s\n", c)
	}
}
