package main

import (
	"fmt"
	"math"
	"strings"

	"firlot/nutrient"
	"firlot/ration"
	"firlot/report"
)

func (p *printer) weekMends(w report.Week, with string) {
	for _, m := range w.Mends {
		p.say("\n")
		var names []string
		for _, t := range m.Targets {
			key, per, _ := strings.Cut(t, " per ")
			names = append(names, rowWords(key, per))
		}
		what := join(names)
		switch {
		case m.Found && len(m.Adds) == 0:
			p.para("", p.s.bold("To mend "+what)+": nothing is low.")
		case m.TooMany:
			p.para("", fmt.Sprintf("%s: no few foods were found that can within the limits. It takes %d of the %d foods of the %s at once, which nobody adds to a week: the mix itself should change.",
				p.s.bold("To mend "+what), len(m.Adds), m.Tried, with))
		case m.Found:
			proof := "the fewest foods and then the fewest grams, proved"
			switch {
			case !m.Proved && m.Light && len(m.Adds) > manyFoods:
				proof = "the fewest grams, proved; whether fewer foods would do was not looked into"
			case !m.Proved:
				proof = "the best found in time, not proved"
			}
			p.para("", fmt.Sprintf("%s, a week, for all together (%s):", p.s.bold("To mend "+what), proof))
			for _, a := range m.Adds {
				p.para("  - ", addWords(a))
				for _, c := range a.Cautions {
					p.para("    ", c)
				}
			}
			if len(m.Adds) > manyFoods {
				p.para("  ", fmt.Sprintf("That it takes %d foods says that the mix itself should change; these only show what it lacks.", len(m.Adds)))
			}
		case m.Tried == 0:
			p.para("", fmt.Sprintf("%s: there is no food on the %s to mend it with. Foods that are given on no day stand on the shelf; --with catalogue looks further.", p.s.bold("To mend "+what), with))
		default:
			proof := "proved"
			if !m.Proved {
				proof = "not proved"
			}
			p.para("", fmt.Sprintf("%s: none of the %d foods of the %s can within the limits (%s). %s: %s.",
				p.s.bold("To mend "+what), m.Tried, with, proof, against(m.Against), join(first(m.Against))))
		}
	}
}

// against leads in what stands against a mend.
func against(list []string) string {
	if len(list) == 1 && strings.HasPrefix(list[0], "enough ") {
		return "They do not bring"
	}
	return "Not to be had together are"
}

// manyFoods is from how many foods on nobody would add them all to a week.
const manyFoods = 3

// mostRules is how many rules that stand against a mend are named.
const mostRules = 6

func first(list []string) []string {
	if len(list) <= mostRules {
		return list
	}
	return append(append([]string(nil), list[:mostRules-1]...), fmt.Sprintf("%d more", len(list)-mostRules+1))
}

func addWords(a report.WeekAdd) string {
	var doses []string
	for _, d := range a.Doses {
		doses = append(doses, measured(d.Amount, d.Unit)+" "+daysInWords(d.Days))
	}
	text := fmt.Sprintf("%s: %s; %s g a week", a.Name, strings.Join(doses, ", and another "), two(&a.Grams, ""))
	if a.Uncommon {
		text += ". More than is commonly given (common practice, no source); look for another food first"
	}
	return text
}

// measured is a number in its unit, in words.
func measured(n report.Number, unit string) string {
	a := ration.Amount{Set: true, Count: float64(n), Unit: ration.Unit(unit)}
	if a.Unit == ration.Grams {
		a.Mass = nutrient.Mass(math.Round(float64(n) * float64(nutrient.Gram)))
	}
	return amountWords(a)
}

func (p *printer) weekBowls(w report.Week) {
	if len(w.Bowls) == 0 {
		return
	}
	p.say("\nFrom the bowl\n")
	for _, b := range w.Bowls {
		if b.EatenG == nil {
			continue
		}
		p.para("  ", fmt.Sprintf("%s, %s: %s g offered, %s g eaten, %s left.", day(b.Day), b.Food, two(&b.OfferedG, ""), two(b.EatenG, ""), percent(*b.Left)))
		var rows [][]string
		for _, k := range b.Kinds {
			note := ""
			if k.Avoided {
				note = "avoided"
			}
			rows = append(rows, []string{"  " + k.Food, ">" + two(&k.OfferedG, " g"), ">" + two(&k.LeftG, " g left"), ">" + fmt.Sprintf("%+.2f", float64(k.Electivity)), note})
		}
		if len(rows) > 0 {
			p.table(append([][]string{{"", ">offered", "", ">electivity", ""}}, rows...))
		}
		for _, g := range b.Figures {
			if g.Offered != nil && g.Eaten != nil {
				p.para("    ", fmt.Sprintf("%s: %s %s offered, %s %s eaten.", rowWords(g.Nutrient, ""), short(float64(*g.Offered)), g.Unit, short(float64(*g.Eaten)), g.Unit))
			}
		}
	}
}

func (p *printer) weekChanges(w report.Week) {
	if c := w.Changeover; c != nil {
		p.say("\nChangeover of the mix (common practice, no source)\n")
		if c.Animal != "" {
			p.para("  ", "For "+c.Animal+"; whoever is fed with it gets the same.")
		}
		rows := [][]string{{"", ">old", ">new"}}
		for _, s := range c.Days {
			if s.Fed {
				rows = append(rows, []string{day(s.Day), ">" + two(&s.OldG, " g"), ">" + two(&s.NewG, " g")})
			}
		}
		p.table(rows)
	}
	for _, a := range w.Away {
		who := a.Who
		if who == "" {
			who = "whoever feeds"
		}
		p.say("\n")
		p.para("", fmt.Sprintf("From %s to %s, for %s", day(a.From), day(a.To), who))
		if text := ownSpoonWords(w.OwnSpoon); text != "" {
			p.para("  ", text)
		}
		for _, d := range a.Days {
			p.para("  "+day(d.Day)+": ", sitterWords(d, mixOn(w.Changeover, d.Day, a.To)))
		}
		p.para("  ", "Fresh water every day. Take away yesterday's fresh food. An animal that does not eat, sits hunched or has loose droppings: call the veterinarian, and the keeper.")
	}
}

// mixOn says which mix is meant on a day of a time away that ends on the last:
// nothing where the changeover begins later than that.
func mixOn(c *report.WeekTurn, day, last string) string {
	switch {
	case c == nil || last < c.Days[0].Day:
		return ""
	case day < c.Days[0].Day:
		return " (the old one)"
	}
	for i, s := range c.Days {
		switch {
		case s.Day != day:
		case s.OldG == 0 && s.NewG == 0 && 2*(i+1) < len(c.Days): // less than a gram in all
			return " (the old one)"
		case s.OldG > 0:
			return fmt.Sprintf(" (%s g of the old one and %s g of the new)", two(&s.OldG, ""), two(&s.NewG, ""))
		}
	}
	return " (the new one)"
}

// sitterWords is one day for somebody who has never fed before; mix says which
// mix is meant.
func sitterWords(d report.WeekDay, mix string) string {
	var parts []string
	mixes := 0
	for _, e := range d.Entries {
		if e.Food == ration.MixName {
			mixes++
		}
	}
	for _, e := range d.Entries {
		switch {
		case e.Amount == nil:
			parts = append(parts, "see that there is "+e.Name)
			continue
		}
		text := measured(*e.Amount, e.Unit) + " of " + e.Name
		if e.Food == ration.MixName && mixes == 1 {
			text += mix
		}
		switch {
		case e.Feedings > 1 && e.Each != nil:
			text += fmt.Sprintf(" in %d feedings of %s", e.Feedings, measured(*e.Each, e.Unit))
		case e.Feedings > 1:
			text += fmt.Sprintf(" in %d feedings", e.Feedings)
		}
		if e.Way != "" {
			text += ", " + wayWords[ration.Way(e.Way)]
		}
		parts = append(parts, text)
	}
	if mixes > 1 && mix != "" { // the grams are those of the day
		parts = append(parts, "of mix in all"+mix)
	}
	if d.MixFree {
		parts = append(parts, "no mix today")
	}
	return strings.Join(parts, "; ") + "."
}

func (p *printer) weekShopping(w report.Week) {
	l := w.Shopping
	if l == nil {
		return
	}
	p.say("\n")
	p.para("", fmt.Sprintf("For %s from %s", plural(l.Weeks, "week", "weeks"), day(l.From)))
	rows := [][]string{{"", ">needed", ">there", ">to buy", ">cost", ""}}
	for _, b := range l.Lines {
		buy, cost, note := "nothing", "", ""
		switch {
		case b.BuyG > 0 && b.Packs > 0:
			buy = fmt.Sprintf("%d × %s", b.Packs, two(&b.PackG, " g"))
		case b.BuyG > 0:
			buy = two(&b.BuyG, " g")
		}
		if b.Cost != nil && b.BuyG > 0 {
			cost = fixed(float64(*b.Cost), 2)
		}
		if b.Fresh {
			note = "as needed"
		}
		if b.Loose {
			note = "at most eaten"
		}
		if b.Food == ration.MixName {
			buy, note = "make "+two(&b.BuyG, " g"), ""
		}
		rows = append(rows, []string{b.Food, ">" + two(&b.NeedG, " g"), ">" + two(&b.HaveG, " g"), ">" + buy, ">" + cost, note})
	}
	p.table(rows)
	mix, priced, buys := false, false, false
	for _, b := range l.Lines {
		mix = mix || b.Food == ration.MixName
		priced = priced || b.Cost != nil && b.BuyG > 0
		buys = buys || b.Food != ration.MixName && b.BuyG > 0
	}
	text := "No price is known."
	switch {
	case !buys:
		text = "Nothing is to be bought."
	case priced:
		text = "Together " + fixed(float64(l.Cost), 2)
		if !l.All {
			text += " and what has no price here"
		}
		text += "."
	}
	if mix {
		text += " What the mix is made of comes on top."
	}
	p.para("  ", text+" Hay is nest and gnawing too: have more of it than is eaten.")
}

func (p *printer) weekAdvice(w report.Week) {
	if len(w.Advice) == 0 {
		return
	}
	p.say("\nWhat the records say\n")
	for _, a := range w.Advice {
		p.para("  - ", a.Text+" "+a.Why)
	}
}

func numberPtr(v float64) *report.Number {
	n := report.Number(v)
	return &n
}
