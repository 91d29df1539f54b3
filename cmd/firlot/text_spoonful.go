package main

import (
	"fmt"
	"math"

	"firlot/analysis"
	"firlot/catalog"
	"firlot/report"
)

func printSpoonful(s streams, o report.Spoonful) error {
	p := &printer{s: s}
	p.para("", s.bold(spoonfulHeadline(o)))
	p.say("\n")
	p.variations(o)
	for _, v := range o.Figures {
		p.cause(o, v)
	}
	p.say("\n")
	p.pieces(o)
	p.say("\n")
	p.sorting(o.Sorting)
	if o.Drawn != nil {
		p.drawn(*o.Drawn)
	}
	for _, n := range o.Notes {
		p.para("Note: ", n)
	}
	p.para("", "All this is for a batch mixed through and through, and the least that chance allows: seeds that sort themselves by size differ more. Tumble the closed jar before each serving, scoop from several places, and keep batches small. More scoops help against sorting; bigger ones do not.")
	return p.err
}

// headline answers the question in one sentence.
func spoonfulHeadline(o report.Spoonful) string {
	var most *report.SpoonfulFigure
	for i, v := range o.Figures {
		if v.RSD != nil && (most == nil || *v.RSD > *most.RSD) {
			most = &o.Figures[i]
		}
	}
	if most == nil {
		return fmt.Sprintf("How much portions of %s g differ is not known: the figures are not known for every ingredient.", grams(float64(o.PortionG)))
	}
	return fmt.Sprintf("Portions of %s g differ most in %s: by %s%s %% of it, give or take, by chance alone.",
		grams(float64(o.PortionG)), most.Name, atLeast(most.AtLeast), short(float64(*most.RSD)))
}

func atLeast(b bool) string {
	if b {
		return "at least "
	}
	return ""
}

// floor marks a number that is a lower bound.
func floor(v *report.Number, least bool, unit string) string {
	if v == nil {
		return "not known"
	}
	if least {
		return "≥ " + short(float64(*v)) + unit
	}
	return short(float64(*v)) + unit
}

// smallest is the smallest portion. The sum holds for portions of many pieces,
// so below a gram no number is given.
func smallest(v report.SpoonfulFigure) string {
	if v.Smallest != nil && *v.Smallest < 1 && !v.AtLeast {
		return "under 1 g"
	}
	return floor(v.Smallest, v.AtLeast, " g")
}

func (p *printer) variations(o report.Spoonful) {
	rows := [][]string{{"", ">mix", ">± of it", ">90 of 100 portions", fmt.Sprintf(">portion for ± %s %%", short(float64(o.Target)))}}
	least := false
	for _, v := range o.Figures {
		row := []string{v.Name, ">" + withUnit(v.Value, v.Unit), ">" + floor(v.RSD, v.AtLeast, " %"), ">not known", ">" + smallest(v)}
		if v.SD != nil {
			low, high := max(float64(*v.Value)-analysis.Interval90*float64(*v.SD), 0), float64(*v.Value)+analysis.Interval90*float64(*v.SD)
			row[3] = ">" + short(low) + " to " + short(high)
		}
		least = least || v.AtLeast
		rows = append(rows, row)
	}
	p.table(rows)
	text := fmt.Sprintf("±: one standard deviation between portions of %s g from a batch of %s g; two of three portions lie within it.", grams(float64(o.PortionG)), grams(float64(o.BatchG)))
	if least {
		text += " ≥: at least, and 90 of 100 at best, for the mass of some pieces is not known."
	}
	p.para("  ", text)
}

// cause says what makes a figure differ, and what would help.
func (p *printer) cause(o report.Spoonful, v report.SpoonfulFigure) {
	p.say("\n%s\n", v.Name)
	switch {
	case len(v.Unknown) > 0:
		p.para("  ", "Not known, for "+join(v.Unknown)+" lack the figure.")
		return
	case v.RSD == nil:
		p.para("  ", "There is none in the mix, so it cannot differ in proportion.")
		return
	}
	if v.Most != nil {
		p.help(o, v)
	}
	p.missingPieces(v)
}

// help says which ingredient brings most of a figure's spread, and what would
// make it less.
func (p *printer) help(o report.Spoonful, v report.SpoonfulFigure) {
	c, known := v.Most, ""
	if v.AtLeast {
		known = " that is known"
	}
	text := fmt.Sprintf("%s of the variance%s comes from %s.", percent(c.Share), known, c.Name)
	if *v.RSD <= o.Target {
		as := ""
		if v.AtLeast {
			as = ", as far as it is known"
		}
		p.para("  ", fmt.Sprintf("%s It keeps within ± %s %% as it is%s.", text, short(float64(o.Target)), as))
		return
	}
	var help []string
	if c.Apart < *v.RSD {
		help = append(help, fmt.Sprintf("counted out by hand, exactly its share in every portion, ± %s %%", short(float64(c.Apart))))
	}
	help = append(help, fmt.Sprintf("in pieces half as heavy, ± %s %%", short(float64(c.Halved))))
	n := math.Ceil(float64(*v.Smallest)/float64(o.PortionG) - 1e-9)
	as := " or less"
	if v.AtLeast {
		as = ", as far as it is known"
	}
	help = append(help, fmt.Sprintf("judged over %s portions together instead of one, ± %s %%%s", fixed(n, 0), short(float64(o.Target)), as))
	p.para("  ", text+" What would help: "+join(help)+".")
}

// missingPieces names what is left out for want of the mass of a piece, and
// how heavy the pieces would have to be to matter as much as all the rest.
func (p *printer) missingPieces(v report.SpoonfulFigure) {
	var names, masses []string
	for _, m := range v.Missing {
		names = append(names, m.Name)
		if m.DoublesAt != nil {
			masses = append(masses, short(float64(*m.DoublesAt))+" g")
		}
	}
	if len(names) == 0 {
		return
	}
	text := "Left out, for the mass of a piece is not known: " + join(names) + "."
	if len(masses) == len(names) {
		text += " To bring as much variance as all the rest, each alone, a piece would have to weigh " + join(masses) + "."
	}
	p.para("  ", text)
}

func (p *printer) pieces(o report.Spoonful) {
	rows := [][]string{{"in a portion", ">of the mix", ">a piece", ">pieces", ">its share ±", ">portions without"}}
	unknown := false
	for _, x := range o.Ingredients {
		if x.PieceG == nil {
			unknown = true
			rows = append(rows, []string{x.Name, ">" + short(float64(x.Percent)) + " %", ">not known", ">not known", ">not known", ">not known"})
			continue
		}
		rows = append(rows, []string{x.Name, ">" + short(float64(x.Percent)) + " %", ">" + short(1000*float64(*x.PieceG)) + " mg", ">" + short(float64(*x.Pieces)),
			">" + floor(x.RSD, x.AtLeast, " %"), ">" + lacking(float64(*x.None))})
	}
	p.table(rows)
	text := fmt.Sprintf("Masses of pieces from thousand-kernel masses, at worst %s; one that is a quarter off moves a spread by an eighth.", worstPiece(o))
	if unknown {
		text += " A piece of leaf or flake can weigh anything, so nothing is said of it."
	}
	p.para("  ", text)
}

// lacking is the chance of a portion without an ingredient.
func lacking(none float64) string {
	if none < 0.0005 {
		return "under 1 in 1000"
	}
	return ofHundred(none)
}

// worstPiece is how well the masses of pieces are known, at worst.
func worstPiece(o report.Spoonful) catalog.Evidence {
	how := catalog.Measured
	for _, p := range o.Ingredients {
		if p.PieceG != nil {
			how = how.Worse(catalog.Evidence(p.Evidence))
		}
	}
	return how
}

// drawn lists a portion as chance deals it.
func (p *printer) drawn(d report.SpoonfulDrawn) {
	var counted, not []string
	for _, x := range d.Pieces {
		if x.Count == nil {
			not = append(not, x.Name)
			continue
		}
		counted = append(counted, fmt.Sprintf("%d %s", *x.Count, x.Name))
	}
	text := fmt.Sprintf("%s; %s g.", join(counted), short(float64(d.Grams)))
	if len(not) > 0 {
		text += " Not drawn, for the mass of a piece is not known: " + join(not) + "."
	}
	p.para(fmt.Sprintf("Draw number %d: ", d.Seed), text)
}
