package main

import (
	"fmt"
	"math"
	"strings"

	"firlot/report"
	"firlot/serving"
)

func printPortion(s streams, m *mixture, o report.Portion) error {
	p := &printer{s: s}
	name := m.plan.Species.Names.First("en")
	about := "about"
	if report.UpkeepOnly(o.Stage) && o.Need.State == nil {
		about = "at least about"
	}
	p.para("", s.bold(fmt.Sprintf("A %s of %s g needs %s %s a day of this mix: %s.", name, grams(float64(o.WeightG)), about,
		two(o.Animal.Grams.Mean, " g"), inSpoons(o, o.Animal))))
	p.say("\n")
	rows := [][]string{{"", ">grams", ">from to", ">" + spoonName(o.Spoon), ">from to"}}
	if o.Animal.Tea != nil {
		rows[0] = append(rows[0], ">teaspoons")
	}
	line := func(what string, x report.Serving) {
		row := []string{what, ">" + two(x.Grams.Mean, " g"), ">" + ends(x.Grams), ">" + two(x.Spoons.Mean, ""), ">" + ends(x.Spoons)}
		if x.Tea != nil {
			row = append(row, ">"+two(x.Tea.Mean, ""))
		}
		rows = append(rows, row)
	}
	line("one animal, a day", o.Animal)
	if o.Animals > 1 {
		line(fmt.Sprintf("%d animals, a day", o.Animals), o.Day)
	}
	if o.Feedings > 1 {
		what := fmt.Sprintf("each of %d feedings", o.Feedings)
		if o.Animals > 1 {
			what += ", for all"
		}
		line(what, o.Feeding)
	}
	p.table(rows)
	p.howReckoned(o)
	p.commonPractice(o)
	if len(o.Notes) > 0 {
		p.say("\n")
	}
	for _, n := range o.Notes {
		p.para("Note: ", n)
	}
	p.say("\n")
	p.para("", "Weigh each animal every week, and give more or less by what the scale says; the bowl does not say it, for gerbils and hamsters hoard. For an animal that loses weight, grows fat or looks unwell, ask an exotics veterinarian.")
	return p.err
}

// name is what the spoon is called.
func spoonName(s report.PortionSpoon) string {
	if s.Tablespoon == nil {
		return "your level spoons"
	}
	return "level tablespoons"
}

func inSpoons(o report.Portion, x report.Serving) string {
	if x.Spoons.Mean == nil {
		return "how many spoons is not known"
	}
	n := two(x.Spoons.Mean, "")
	if o.Spoon.Tablespoon == nil {
		return n + " of your spoons, level"
	}
	return fmt.Sprintf("%s %s tablespoons, level", n, spoonWords[o.Spoon.Kind])
}

// spoonWords are kinds of spoon as running text has them.
var spoonWords = map[string]string{string(serving.US): "US", string(serving.Metric): "metric", string(serving.Australian): "Australian"}

// ends are both ends of a range.
func ends(r report.Range) string {
	if r.High == nil {
		return two(&r.Low, "") + " and up"
	}
	return two(&r.Low, "") + " to " + two(r.High, "")
}

// two prints two significant digits, and every digit before the point: more
// than a portion is known to.
func two(v *report.Number, unit string) string {
	if v == nil {
		return "not known"
	}
	a := math.Abs(float64(*v))
	places := 0
	if a > 0 && a < 9.95 {
		places = min(max(1-int(math.Floor(math.Log10(a))), 1), 6)
	}
	return fixed(float64(*v), places) + unit
}

func rangeWords(r report.Range, unit string) string {
	high := "and up"
	if r.High != nil {
		high = "to " + short(float64(*r.High))
	}
	return withUnit(r.Mean, unit) + " (" + short(float64(r.Low)) + " " + high + ")"
}

// howReckoned says where need, energy and spoon come from.
func (p *printer) howReckoned(o report.Portion) {
	p.say("\nHow it is worked out\n")
	n := o.Need
	p.para("  Need: ", fmt.Sprintf("%s kcal a day, from %s kcal for each kg of body weight to the power 0.75 (%s, %s). %s",
		rangeWords(n.KcalADay, ""), rangeWords(n.Factor, ""), n.Source, n.Evidence, n.Note))
	if x := n.State; x != nil {
		p.para("  Times: ", fmt.Sprintf("%s for one that is %s (%s, %s). %s", rangeWords(x.Times, ""), x.State, x.Source, x.Evidence, x.Note))
	}
	e := o.Energy
	text := fmt.Sprintf("%s from a gram of the mix, by %s; %s.", rangeWords(e.PerGram, "kcal"), e.Method, e.Evidence)
	if left := 1 - float64(e.EatenShare); left > 0.0005 {
		text += fmt.Sprintf(" The husks, %s of the mix, are taken as left; counted as food, as the formula does, they would make it %s.",
			percent(report.Number(left)), withUnit(perGram(e.Offered), "kcal"))
	}
	p.para("  Energy: ", text)
	if o.Spoon.Tablespoon == nil {
		p.para("  Spoon: ", fmt.Sprintf("yours holds %s, as you weighed it.", withUnit(o.Spoon.Grams.Mean, "g")))
		return
	}
	d := o.Density
	text = fmt.Sprintf("one level %s tablespoon, %s mL, holds %s g of this mix. Bulk density %s g/mL (%s), as if the volumes of its parts added up",
		spoonWords[o.Spoon.Kind], fixed(float64(*o.Spoon.Tablespoon), 1), rangeWords(o.Spoon.Grams, ""), rangeWords(d.GramsPerML, ""), d.Evidence)
	if d.Packing > 0 {
		text += fmt.Sprintf("; small pieces between large ones can make it up to %s denser (assumed)", percent(d.Packing))
	}
	p.para("  Spoon: ", text+". How a spoon is levelled and knocked changes it by 5 to 15 % (assumed): weigh ten level spoons, divide by ten, and give that with --spoon.")
}

// perGram turns kcal/kg into kcal/g.
func perGram(v *report.Number) *report.Number {
	if v == nil {
		return nil
	}
	n := *v / 1000
	return &n
}

// Shares of the need within which common practice and what is worked out are
// said to agree: about what levelling a spoon changes.
const agreeLow, agreeHigh = 0.85, 1.15

// cleanGrain is a bulk density from which a mix is called clean grain, g/mL:
// hulled millet is 0.85 and oat groats are 0.66 (weights of a cup, USDA SR).
const cleanGrain = 0.66

// whyLess are the reasons why common practice gives less than is worked out.
func whyLess(o report.Portion) []string {
	list := []string{"what is worked out takes this mix for all that the animal eats, while leaf, herb, hay, insects and treats beside it feed too"}
	if d := o.Density.GramsPerML.Mean; d != nil && float64(*d) < cleanGrain {
		list = append(list, "a spoon of this mix, with its husks, flakes or leaf, is lighter than one of clean grain")
	}
	if left := 1 - float64(o.Energy.EatenShare); left > 0.0005 {
		list = append(list, "the husks are weighed and not eaten")
	}
	return append(list, "the need was measured in few animals, and the energy comes by a formula made for dogs and cats")
}

// notRule is what to do when two amounts differ.
const notRule = "Neither is a rule. Where the mix is nearly all that the animal eats, start from what is worked out; where much else is fed, from less; and let the scale decide."

// commonPractice sets what keepers give beside what is worked out, and says
// where a difference can come from.
func (p *printer) commonPractice(o report.Portion) {
	c := o.Practice
	if c == nil {
		return
	}
	p.say("\nWhat keepers commonly give (%s)\n", c.Source)
	p.para("  ", fmt.Sprintf("A level tablespoon of mix for each grown gerbil every second day: two get two, three get three, split over up to %s. Of this mix that is %s g an animal and day.",
		plural(c.Feedings, "feeding", "feedings"), rangeWords(c.Grams, "")))
	if c.OfNeed.Mean == nil {
		return
	}
	share := float64(*c.OfNeed.Mean)
	of := fixed(math.Round(100*share), 0) + " %"
	switch {
	case share < agreeLow:
		p.para("  ", fmt.Sprintf("That is %s of what is worked out above. The two differ because %s. %s", of, strings.Join(whyLess(o), "; because "), notRule))
	case share > agreeHigh:
		p.para("  ", fmt.Sprintf("That is %s of what is worked out above: the animal is light, or the mix is heavy in the spoon or rich. %s", of, notRule))
	default:
		p.para("  ", fmt.Sprintf("That is %s of what is worked out above: the two agree as well as a spoon can tell.", of))
	}
}
