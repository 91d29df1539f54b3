package main

import (
	"fmt"
	"sort"
	"strings"

	"firlot/catalog"
	"firlot/nutrient"
)

// form prints a form for people.
func (p *printer) form(c *catalog.Catalogue, f *catalog.Form) {
	p.say("%s  %s\n", p.s.bold(f.Name("en")), f.Ref())
	p.say("  %s, %s", f.Ingredient.Class, f.State)
	if f.Ingredient.Latin != "" {
		p.say("; %s", f.Ingredient.Latin)
	}
	p.say("\n")
	p.otherNames(f)
	if f.Looks != "" {
		p.para("  ", f.Looks)
	}
	for _, x := range f.Confused {
		p.para("  Not "+x.With+": ", x.Tell)
	}
	if f.EatenAs != "" {
		p.para("  ", fmt.Sprintf("The animal husks it and eats the form %q.", f.EatenAs))
	}
	for _, l := range f.Limits {
		p.para("  ", fmt.Sprintf("At most %s %% of a mix%s: %s (%s, %s)", short(l.Most), forSpecies(l), l.Why, l.Source, l.How))
	}
	for _, x := range f.Cautions {
		p.para("  Caution: ", x)
	}
	if f.Balance != "" {
		p.para("  ", f.Balance)
	}
	p.figures(f)
	p.missing(f)
	p.sources(c, f)
}

// figures prints every figure of a form, and below it the notes on them.
func (p *printer) figures(f *catalog.Form) {
	rows := [][]string{{"as fed", ">mean ± spread", "evidence", "source"}}
	var notes [][2]string
	add := func(label, unit string, fig catalog.Figure) {
		row, note := figureRow(label, unit, fig)
		rows = append(rows, row)
		if note != "" {
			notes = append(notes, [2]string{label, note})
		}
	}
	for _, q := range sizes(f) {
		add(q.label, q.unit, *q.figure)
	}
	for _, info := range nutrient.All() {
		if fig, ok := f.Figure(info.Key); ok {
			add(info.Name, string(info.Unit), fig)
		}
	}
	p.table(rows)
	p.para("  ", "Spread: one standard deviation between bags. Where none is recorded, one of its class of food stands in.")
	for _, n := range notes {
		p.para("  "+n[0]+": ", n[1])
	}
}

func forSpecies(l catalog.Limit) string {
	if len(l.Species) == 0 {
		return ""
	}
	return " for " + join(l.Species)
}

func (p *printer) otherNames(f *catalog.Form) {
	langs := make([]string, 0, 6)
	for l := range f.Names {
		langs = append(langs, l)
	}
	for l := range f.Ingredient.Names {
		if _, ok := f.Names[l]; !ok {
			langs = append(langs, l)
		}
	}
	sort.Strings(langs)
	var parts []string
	for _, l := range langs {
		names := f.Names[l]
		if len(names) == 0 {
			names = f.Ingredient.Names[l]
		}
		parts = append(parts, l+": "+strings.Join(names, ", "))
	}
	p.para("  ", strings.Join(parts, "; "))
}

// figureRow is the row of a figure, with the note on it.
func figureRow(label, unit string, f catalog.Figure) (row []string, note string) {
	mean := short(f.Mean)
	if f.SD > 0 {
		mean += " ± " + short(f.SD)
	}
	note = f.Note
	if f.Ranged {
		note = strings.TrimPrefix(note+"; printed from "+short(f.Low)+" to "+short(f.High), "; ")
	}
	return []string{label, ">" + mean + " " + unit, string(f.How), f.Source}, note
}

func (p *printer) missing(f *catalog.Form) {
	var names []string
	for _, info := range nutrient.All() {
		if _, ok := f.Figure(info.Key); !ok && !info.Derived {
			names = append(names, info.Name)
		}
	}
	if len(names) > 0 {
		p.para("  Not known: ", strings.Join(names, ", ")+".")
	}
}

// sources spells out the publications that a form's figures name.
func (p *printer) sources(c *catalog.Catalogue, f *catalog.Form) {
	used := map[string]bool{}
	for _, fig := range f.Figures {
		key, item, _ := strings.Cut(fig.Source, ":")
		used[key] = true
		if key == "recalled" {
			used[item] = true
		}
	}
	keys := make([]string, 0, len(used))
	for k := range used {
		keys = append(keys, k)
	}
	sort.Strings(keys)
	for _, k := range keys {
		if src, ok := c.Sources[k]; ok {
			p.para("  "+k+": ", citation(src))
		}
	}
}

func citation(s catalog.Source) string {
	out := s.Title
	if s.Publisher != "" {
		out += ", " + s.Publisher
	}
	if s.Year != 0 {
		out += fmt.Sprintf(", %d", s.Year)
	}
	if s.Link != "" {
		out += ", " + s.Link
	}
	return out
}
