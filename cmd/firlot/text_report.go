package main

import (
	"fmt"
	"strings"

	"firlot/formulate"
	"firlot/report"
)

// printReport prints a mix for people.
func printReport(s streams, r *report.Report, all bool) error {
	p := &printer{s: s, r: r}
	p.head()
	p.amounts()
	p.windows()
	p.beside()
	if all {
		p.everything()
		p.shown()
	} else {
		p.shortages()
	}
	p.tail(all)
	return p.err
}

func (p *printer) head() {
	r := p.r
	if r.Title != "" {
		p.say("%s\n", p.s.bold(r.Title))
	}
	p.para("", sentence(r))
	if r.Objective != nil {
		p.para("", objective(r))
	}
	for _, c := range append(append([]report.Clash(nil), r.Clash...), r.Broken...) {
		text := c.What
		if c.Reach != "" {
			text += "; while the others hold, " + c.Reach
		}
		p.para("  - ", text)
	}
	p.ways()
}

// sentence answers the keeper's question.
func sentence(r *report.Report) string {
	windows, of := plural(windowCount(r), "window", "windows"), forWhom(r)
	switch r.Status {
	case string(formulate.Found), report.StatusInside:
		return "Inside its " + windows + of + sure(r) + "."
	case string(formulate.Impossible):
		return "No mix of this shelf meets its limits" + of + ". These cannot hold together:"
	case report.StatusOutside:
		return outside(r, windows, of)
	case report.StatusNotKnown:
		return "Not known to be inside its " + windows + of + ": figures are missing that could turn it."
	}
	if len(r.Amounts) > 0 {
		return "Not as sure as asked" + of + sure(r) + "."
	}
	return "Stopped before an answer" + of + "."
}

// sure says the joint chance, for the end of a sentence.
func sure(r *report.Report) string {
	if r.Sureness == nil {
		return ""
	}
	return fmt.Sprintf("; made from ordinary bags, %s sets of bags lie inside all of them", ofHundred(float64(*r.Sureness)))
}

func forWhom(r *report.Report) string {
	if r.Species == "" {
		return ""
	}
	return fmt.Sprintf(" for %s, %s", strings.ReplaceAll(r.Species, "-", " "), r.Stage)
}

func windowCount(r *report.Report) int {
	n := 0
	for _, f := range r.Figures {
		if f.Window != nil {
			n++
		}
	}
	return n
}

// outside says which windows and limits a mix does not keep; the limits are
// listed below the sentence.
func outside(r *report.Report, windows, of string) string {
	var names []string
	for _, f := range r.Figures {
		if f.Verdict == "outside" {
			names = append(names, figureName(f))
		}
	}
	limits := plural(len(r.Broken), "limit", "limits")
	switch {
	case len(names) == 0:
		return "Past " + limits + of + ":"
	case len(r.Broken) > 0:
		return "Outside its windows of " + join(names) + of + ", and past " + limits + ":"
	case len(names) == 1:
		return "Outside its window of " + names[0] + of + "."
	}
	return "Outside its windows of " + join(names) + of + "."
}

// objective says how well the preference is met. With sureness the bound
// holds for the risk as it was shared out, not for every way of sharing it.
func objective(r *report.Report) string {
	o, b := short(float64(*r.Objective)), short(float64(*r.Bound))
	no := "no mix"
	if r.SurenessAsked > 0 {
		no = "with the risk shared out like this, no mix"
	}
	switch r.Prefer {
	case "near":
		if *r.Objective == 0 {
			return "The base mix lies inside as it is: nothing is moved."
		}
		return fmt.Sprintf("Near to the base mix: %s g moved; %s moves less than %s g.", o, no, b)
	case "cheap":
		return fmt.Sprintf("Cheap: the batch costs %s %s; %s costs less than %s.", money(*r.Objective), r.Unit, no, money(*r.Bound))
	case "varied":
		return fmt.Sprintf("Varied: the largest line is %s g; %s keeps it under %s g.", o, no, b)
	}
	return fmt.Sprintf("Steady: every edge of a window is at least %s standard deviations away; no mix keeps more than %s.", o, b)
}

// places is the number of decimals that every amount needs.
func (p *printer) places() int {
	most := 0
	for _, a := range p.r.Amounts {
		if _, decimals, ok := strings.Cut(grams(float64(a.Grams)), "."); ok {
			most = max(most, len(decimals))
		}
	}
	return most
}

// money prints two decimals.
func money(n report.Number) string { return fixed(float64(n), 2) }

func (p *printer) amounts() {
	if len(p.r.Amounts) == 0 {
		return
	}
	p.say("\n")
	var rows [][]string
	used, ounces := 0, 0.0
	for _, a := range p.r.Amounts {
		if a.Ounces != nil {
			ounces += float64(*a.Ounces)
		}
		if a.Grams == 0 {
			continue
		}
		used++
		rows = append(rows, p.amount(a.Grams, a.Ounces, fixed(float64(a.Percent), 1), a.Name, a.Ingredient+"/"+a.Form))
	}
	sum := report.Number(ounces)
	rows = append(rows, p.amount(p.r.BatchG, &sum, "100.0", plural(used, "ingredient", "ingredients"), ""))
	p.table(rows)
}

func (p *printer) amount(g report.Number, oz *report.Number, percent, name, ref string) []string {
	row := []string{">" + fixed(float64(g), p.places()) + " g"}
	if p.r.Amounts[0].Ounces != nil {
		row = append(row, ">"+fixed(float64(*oz), 2)+" oz")
	}
	return append(row, ">"+percent+" %", name, ref)
}

func (p *printer) windows() {
	if windowCount(p.r) == 0 {
		return
	}
	p.say("\n")
	rows := [][]string{{"", ">mix", ">90 of 100", ">window", "sets inside"}}
	for _, f := range p.r.Figures {
		if f.Window != nil {
			rows = append(rows, []string{figureName(f), ">" + withUnit(f.Mean, f.Unit), ">" + between(f.Low, f.High),
				">" + strings.TrimSpace(windowText(*f.Window)+" "+f.Unit), inside(f)})
		}
	}
	p.table(rows)
	p.para("  ", "90 of 100: where the mix lies with 90 of 100 sets of ordinary bags. Sets inside: how many sets of bags lie in the window.")
	p.windowSources()
}

// windowSources says where the windows come from, those of one source
// together.
func (p *printer) windowSources() {
	var order []string
	names := map[string][]string{}
	for _, f := range p.r.Figures {
		if f.Window == nil {
			continue
		}
		s := sourceWords(*f.Window)
		if names[s] == nil {
			order = append(order, s)
		}
		names[s] = append(names[s], f.Name)
	}
	var parts []string
	for _, s := range order {
		parts = append(parts, join(names[s])+": "+s)
	}
	if len(order) == 1 {
		parts = []string{order[0]}
	}
	text := "Windows from " + strings.Join(parts, "; ") + "."
	if len(order) > 1 {
		text = "Windows: " + strings.Join(parts, "; ") + "."
	}
	if p.r.Species != "" {
		text += fmt.Sprintf(" firlot needs show %s %s lists what others publish.", p.r.Species, p.r.Stage)
	}
	p.para("  ", text)
}

// inside says how many sets of bags lie in a window, at the worst that the
// parts could hold that are not known.
func inside(f report.Figure) string {
	s := "not known"
	if f.Chance != nil {
		s = ofHundred(float64(*f.Chance))
	}
	if f.Verdict == "outside" {
		s = "outside; " + s
	}
	if f.KnownShare < 1 {
		s += "; " + percent(f.KnownShare) + " known"
	}
	return s
}

func figureName(f report.Figure) string {
	s := f.Name
	if f.Basis == "dry matter" && f.Per == "" {
		s += ", dry matter"
	}
	if f.On == "eaten" {
		s += ", as eaten"
	}
	return s
}

// sourceWords says where a window comes from.
func sourceWords(w report.Window) string {
	s := w.Source
	switch s {
	case "document":
		return "this document"
	case "firlot:starting-range":
		s = "Firlot's own starting range"
	}
	if w.Evidence != "" {
		s += " (" + w.Evidence + ")"
	}
	return s
}

func windowText(w report.Window) string {
	switch {
	case w.Min == nil:
		return "at most " + short(float64(*w.Max))
	case w.Max == nil:
		return "at least " + short(float64(*w.Min))
	case *w.Min == *w.Max:
		return short(float64(*w.Min))
	}
	return short(float64(*w.Min)) + " to " + short(float64(*w.Max))
}
