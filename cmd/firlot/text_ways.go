package main

import (
	"fmt"
	"strings"

	"firlot/report"
)

// mostWays is how many ways out of one kind are printed; --json has them all.
const mostWays = 5

// ways prints the smallest changes that make an impossible mix possible.
func (p *printer) ways() {
	w := p.r.Ways
	if w == nil {
		return
	}
	if w.Unfinished {
		defer p.para("  ", "The time was up before every way was tried; --within gives more.")
	}
	if len(w.Moves)+len(w.Additions) == 0 && w.Fewest == nil && w.HighestSureness == nil {
		p.para("", "No single limit moved, and nothing added to the shelf, makes a mix possible.")
		return
	}
	p.say("\nWhat would do, each by itself:\n")
	p.moves(w.Moves)
	p.additions(w.Additions)
	if f := w.Fewest; f != nil {
		p.para("  - ", fmt.Sprintf("Put on the shelf together: %s%s.", strings.Join(f.Ingredients, " and "), proved(f)))
	}
	if h := w.HighestSureness; h != nil {
		p.para("  - ", fmt.Sprintf("Ask for less: the surest mix found stays inside with %s sets of bags.", ofHundred(float64(*h))))
	}
}

func proved(f *report.Fewest) string {
	if f.Proved {
		return "; fewer will not do"
	}
	return ""
}

func (p *printer) moves(list []report.Move) {
	for i, m := range list {
		if i == mostWays {
			p.para("    ", fmt.Sprintf("and %s more (--json lists them)", plural(len(list)-i, "limit", "limits")))
			return
		}
		p.para("  - ", fmt.Sprintf("Instead of %s: %s.", m.What, m.To))
	}
}

func (p *printer) additions(list []report.Addition) {
	var names []string
	for i, a := range list {
		if i < mostWays {
			names = append(names, fmt.Sprintf("%s, at least %s g", a.Ingredient+"/"+a.Form, grams(float64(a.LeastGrams))))
		}
	}
	if len(names) == 0 {
		return
	}
	text := "Put one more on the shelf: " + strings.Join(names, "; ")
	if rest := len(list) - len(names); rest > 0 {
		text += fmt.Sprintf("; or one of %d others (--json lists them)", rest)
	}
	p.para("  - ", text+".")
}
