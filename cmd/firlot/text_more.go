package main

import (
	"strings"

	"firlot/nutrient"
	"firlot/report"
)

// beside are the figures that a keeper asks for next: the main ones, and the
// same as eaten once hulls are left.
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
	p.para("  ", "As eaten: once the animal has left the hulls. Known: the part of the mix whose figure is known; the mean is of that part.")
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

// everything prints every figure as offered and as fed.
func (p *printer) everything() {
	if len(p.r.Figures) == 0 {
		return
	}
	p.say("\n")
	rows := [][]string{{"as offered, as fed", ">mix", ">90 of 100", ">least to most", ">known", "evidence"}}
	for _, f := range p.r.Figures {
		if f.On != "offered" || f.Basis != "as fed" || f.Per != "" {
			continue
		}
		rows = append(rows, []string{f.Name, ">" + withUnit(f.Mean, f.Unit), ">" + between(f.Low, f.High),
			">" + bounds(f), ">" + percent(f.KnownShare), f.Evidence})
	}
	p.table(rows)
	p.para("  ", "Least to most: what the mix could hold, whatever the parts hold that are not known.")
}

func bounds(f report.Figure) string {
	if f.KnownShare >= 1 {
		return ""
	}
	return between(f.Least, f.Most)
}

// shown prints the published windows that the mix need not meet by itself,
// those of one source together.
func (p *printer) shown() {
	if len(p.r.Shown) == 0 {
		return
	}
	p.say("\nPublished for this stage, not asked of the mix alone:\n")
	var order []string
	rows := map[string][][]string{}
	for _, w := range p.r.Shown {
		from := sourceWords(w.Window)
		if w.StandsIn != "" {
			from += "; stands in from the " + w.StandsIn
		}
		if rows[from] == nil {
			order = append(order, from)
		}
		rows[from] = append(rows[from], []string{"  " + w.Name, ">" + withUnit(w.Mean, w.Unit),
			">" + strings.TrimSpace(windowText(w.Window)+" "+w.Unit), w.Verdict})
	}
	for _, from := range order {
		p.para("  ", from)
		p.table(rows[from])
	}
}

// shortages names the published minima of minerals, vitamins, amino acids and
// fatty acids that the mix alone does not reach. Protein, fat and fibre have
// windows of their own.
func (p *printer) shortages() {
	if len(p.r.Figures) == 0 {
		return
	}
	var short, likely, open []string
	seen := map[string]bool{}
	for _, w := range p.r.Shown {
		info, _ := nutrient.Lookup(nutrient.Key(w.Nutrient))
		if seen[w.Name] || w.Per != "" || w.Window.Min == nil || info.Group == nutrient.Proximate {
			continue
		}
		below := w.Mean != nil && *w.Mean < *w.Window.Min
		switch {
		case w.Verdict == "outside" && below:
			short = append(short, w.Name)
		case w.Verdict == "not known" && below && w.Known >= likelyShare:
			likely = append(likely, w.Name)
		case w.Verdict == "not known":
			open = append(open, w.Name)
		default:
			continue
		}
		seen[w.Name] = true
	}
	p.say("\n")
	for _, part := range []struct {
		words string
		names []string
	}{
		{"Below a published minimum in the mix alone: ", short},
		{"Likely below one, though not known for every ingredient: ", likely},
		{"Left open, for want of figures: ", open},
	} {
		if len(part.names) > 0 {
			p.para("", part.words+join(part.names)+".")
		}
	}
	if len(short)+len(likely) > 0 {
		p.para("", "Leaf, herb, hay, insect and a mineral source beside the mix bring what it lacks.")
	}
	p.para("", "--all shows every figure, and the cautions in full.")
}

// likelyShare is the share of a mix for which a figure must be known before the
// mean of the known part is called likely.
const likelyShare = 2.0 / 3

// inShort is the gist of the general cautions; --all prints them in full.
const inShort = "food-grade or feed-grade seed, never sowing seed; nothing musty, webbed or damp; ten days to change over; " +
	"leaf, herb, hay, insect and fresh water beside it. For an animal that loses weight or looks unwell, ask an exotics " +
	"veterinarian. Whoever sells a mix follows the feed law of the place."

// tail prints notes, cost and cautions: those of ingredients first, each
// ingredient's together, the general ones last and short.
func (p *printer) tail(all bool) {
	if len(p.r.Notes) > 0 {
		p.say("\n")
	}
	for _, n := range p.r.Notes {
		p.para("Note: ", n+".")
	}
	if p.r.CostPerKg != nil {
		p.say("\n")
		p.para("", strings.TrimSpace("A kilogram costs "+money(*p.r.CostPerKg)+" "+p.r.Currency)+".")
	}
	if len(p.r.General) > 0 {
		p.say("\n%s\n", p.s.bold("Before you feed it"))
	}
	for _, c := range p.r.Cautions {
		p.para("  "+c.Name+": ", strings.Join(c.Texts, " "))
	}
	switch {
	case len(p.r.General) == 0:
	case all:
		for _, g := range p.r.General {
			p.para("  - ", g)
		}
	default:
		p.para("  Always: ", inShort)
	}
}
