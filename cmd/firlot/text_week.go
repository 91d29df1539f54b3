package main

import (
	"fmt"
	"math"
	"slices"
	"strconv"
	"strings"

	"firlot/nutrient"
	"firlot/ration"
	"firlot/report"
)

func printWeek(s streams, plan *ration.Plan, w report.Week, f *weekly) error {
	p := &printer{s: s}
	p.para("", s.bold(cleanTitle(w.Title))+", "+longDay(plan.Day))
	p.weekAnimals(w)
	p.weekAdvice(w)
	p.weekFoods(plan, w)
	if f.ledger {
		for _, a := range w.Accounts {
			p.weekLedger(a)
		}
	}
	p.weekLacks(w)
	p.weekMends(w, f.with)
	p.weekBowls(w)
	p.weekChanges(w)
	p.weekShopping(w)
	if f.calendar != "" {
		p.say("\n")
		p.para("", "The calendar is in "+f.calendar+".")
	}
	p.say("\n")
	p.para("", "No week is complete by what tables tell. The scale has the last word, and a veterinarian who knows small mammals before it.")
	return p.err
}

func longDay(d ration.Day) string { return d.Time().Format("Monday 2 January 2006") }

func day(text string) string {
	d, err := ration.ParseDay(text)
	if err != nil {
		return text
	}
	return d.Time().Format("2 Jan 2006")
}

func (p *printer) weekAnimals(w report.Week) {
	p.say("\nWho is fed\n")
	head := []string{"", "stage", ">weight", "weighed", ">a week", "", ">kcal"}
	mix := slices.ContainsFunc(w.Foods, func(f report.WeekFood) bool { return f.Food == ration.MixName })
	if mix {
		head = append(head, ">mix a day")
	}
	rows := [][]string{head}
	for _, a := range w.Animals {
		weighed := "never"
		if a.Weighed != "" {
			weighed = day(a.Weighed)
		}
		stage := a.Stage
		if a.Breeding != "" {
			stage = a.Breeding
		}
		slope := ""
		if a.Trend.GramsWeek != nil {
			slope = signed(float64(*a.Trend.GramsWeek)) + " g"
		}
		runs := a.Trend.Runs
		if a.Trend.Runs == string(ration.TooFew) {
			runs = "too few to tell"
		}
		row := []string{a.Name, stage, ">" + two(&a.WeightG, " g"), weighed, ">" + slope, runs, ">" + two(a.NeedKcal.Mean, "")}
		if mix {
			row = append(row, ">"+two(a.MixG.Mean, " g"))
		}
		rows = append(rows, row)
	}
	p.table(rows)
	for _, a := range w.Animals {
		if n := a.Next; n != nil {
			p.para("  ", fmt.Sprintf("%s turns %s on %s: %s.", a.Name, n.Stage, day(n.Day), windowChanges(n.Windows)))
		}
	}
}

func signed(v float64) string {
	if math.Abs(v) < 0.05 {
		return "0.0"
	}
	return fmt.Sprintf("%+.1f", v)
}

// windowChanges says what a change of stage means for the mix.
func windowChanges(list []report.WeekChange) string {
	if len(list) == 0 {
		return "no window of the mix changes"
	}
	var parts []string
	for _, c := range list {
		info, _ := nutrient.Lookup(nutrient.Key(c.Nutrient))
		parts = append(parts, fmt.Sprintf("%s %s instead of %s", info.Name, windowWords(c.IsMin, c.IsMax, info.Unit), windowWords(c.WasMin, c.WasMax, info.Unit)))
	}
	return "a mix should then hold " + join(parts)
}

func windowWords(low, high *report.Number, unit nutrient.Unit) string {
	switch {
	case low != nil && high != nil:
		return fmt.Sprintf("%s to %s %s", short(float64(*low)), short(float64(*high)), unit)
	case low != nil:
		return fmt.Sprintf("at least %s %s", short(float64(*low)), unit)
	case high != nil:
		return fmt.Sprintf("at most %s %s", short(float64(*high)), unit)
	}
	return "any"
}

// originNames are the parts of a diet in running text.
var originNames = map[string]string{string(ration.FromMix): "mix", string(ration.FromGreens): "fresh", string(ration.FromForage): "dried",
	string(ration.FromHay): "hay", string(ration.FromExtras): "extras"}

func (p *printer) weekFoods(plan *ration.Plan, w report.Week) {
	p.say("\nThe week, for all together\n")
	if len(w.Foods) == 0 {
		p.para("  ", "Nothing is given on any day.")
	}
	for i, f := range w.Foods {
		p.para("  ", p.s.bold(f.Name)+": "+foodWords(plan, plan.Foods[i], f)+".")
	}
	if text := ownSpoonWords(w.OwnSpoon); text != "" {
		p.para("  ", text)
	}
	if c := w.Practice; c != nil && c.Given.Mean != nil {
		p.para("  ", fmt.Sprintf("The mix comes to %s g an animal and day; commonly %s g are given, a level US tablespoon every second day (%s). firlot portion says why the two differ.",
			two(c.Given.Mean, ""), two(c.GramsDay.Mean, ""), c.Source))
		p.weekPractice(w)
	}
}

// weekPractice sets what is commonly given beside the mix next to what the week
// gives. Common practice, no source: for three gerbils a tablespoon of fresh
// greens and a teaspoon of dried forage a day; a couple of mealworms a week; the
// mix scattered, over up to three feedings, with a day or two without it.
func (p *printer) weekPractice(w report.Week) {
	day := map[string]float64{}
	for _, f := range w.Foods {
		if f.DayG.Mean != nil {
			day[f.Origin] += float64(*f.DayG.Mean)
		}
	}
	grams := func(o ration.Origin) string { return two(numberPtr(day[string(o)]), "") }
	p.para("  ", fmt.Sprintf("Beside it, for three animals: commonly a tablespoon of fresh greens and a teaspoon of dried forage a day, and a couple of mealworms a week each; "+
		"the mix scattered, over up to three feedings, with a day or two without it (%s). This week gives %s in all %s g of fresh food, %s g of dried forage and %s g of extras a day.",
		w.Practice.Source, plural(len(w.Animals), "animal", "animals"), grams(ration.FromGreens), grams(ration.FromForage), grams(ration.FromExtras)))
}

func foodWords(plan *ration.Plan, s ration.Served, f report.WeekFood) string {
	var parts []string
	switch {
	case f.AtWill:
		parts = append(parts, "always there; taken to be eaten: "+span(f.DoseG, "g a day"))
	case f.ByNeed:
		spoons, _ := plan.Spoons(s.Dose)
		text := ration.HandedGrams(s.Dose.Mean).String()
		if spoons.HasMean {
			text += fmt.Sprintf(" or about %s level tablespoons", two(numberPtr(spoons.Mean), ""))
		}
		parts = append(parts, text+" by need ("+span(f.DoseG, "g")+")")
	default:
		parts = append(parts, given(s))
	}
	if when := onDays(f); when != "" {
		parts = append(parts, when)
	}
	if s.Food.From > plan.Day {
		parts = append(parts, "from "+s.Food.From.Time().Format("2 Jan 2006"))
	}
	if s.Food.Until != 0 {
		parts = append(parts, "until "+s.Food.Until.Time().Format("2 Jan 2006"))
	}
	if n := s.Food.Feedings(); n > 1 {
		parts = append(parts, fmt.Sprintf("in %d feedings", n))
	}
	if len(s.Food.At) > 0 {
		parts = append(parts, "at "+join(s.Food.At))
	}
	if s.Food.Way != "" {
		parts = append(parts, wayWords[s.Food.Way])
	}
	return strings.Join(parts, ", ")
}

var wayWords = map[ration.Way]string{ration.Dish: "in the dish", ration.Scatter: "scattered", ration.ByHand: "by hand", ration.Rack: "in the rack"}

// given is an amount as the document has it, with its grams.
func given(s ration.Served) string {
	a := s.Food.Amount
	text := amountWords(a)
	if s.Food.Each {
		text += " each"
	}
	if a.Unit != ration.Grams {
		text += fmt.Sprintf(", %s g in all", two(numberPtr(s.Dose.Mean), ""))
	}
	return text
}

func amountWords(a ration.Amount) string {
	n := strconv.FormatFloat(a.Count, 'f', -1, 64)
	switch a.Unit {
	case ration.Grams:
		return a.Mass.String()
	case ration.Teaspoons:
		return spoonCount(a.Count) + " " + spoonsOf(a.Count, "teaspoon")
	case ration.Tablespoons:
		return spoonCount(a.Count) + " " + spoonsOf(a.Count, "tablespoon")
	case ration.OwnSpoons:
		return spoonCount(a.Count) + " " + spoonsOf(a.Count, "own spoon")
	}
	if a.Count == 1 {
		return "1 piece"
	}
	return n + " pieces"
}

// ownSpoonWords say what the keeper's own spoon is.
func ownSpoonWords(o *report.WeekSpoon) string {
	if o == nil {
		return ""
	}
	text := "An own spoon is filled level"
	if o.Name != "" {
		text = "An own spoon is " + o.Name + ", level"
	}
	var list []string
	if o.MixG != nil {
		list = append(list, two(o.MixG, " g of the mix"))
	}
	if o.ML != nil {
		list = append(list, two(o.ML, " mL"))
	}
	return text + "; it holds " + join(list) + "."
}

// spoonCount writes what measuring spoons hold, "1 1/4", and other numbers as
// they are.
func spoonCount(v float64) string {
	whole, part := math.Modf(v)
	for _, n := range []float64{2, 4, 8, 16} {
		k := part * n
		if k == 0 || k != math.Trunc(k) {
			continue
		}
		text := fmt.Sprintf("%.0f/%.0f", k, n)
		if whole > 0 {
			text = fmt.Sprintf("%.0f %s", whole, text)
		}
		return text
	}
	return strconv.FormatFloat(v, 'f', -1, 64)
}

func spoonsOf(n float64, word string) string {
	if n <= 1 {
		return word
	}
	return word + "s"
}

func span(s report.Range, unit string) string {
	high := "and up"
	if s.High != nil {
		high = "to " + two(s.High, "")
	}
	return strings.TrimSpace(two(&s.Low, "") + " " + high + " " + unit)
}

var dayWords = map[string]string{"mon": "Monday", "tue": "Tuesday", "wed": "Wednesday", "thu": "Thursday", "fri": "Friday", "sat": "Saturday", "sun": "Sunday"}

func onDays(f report.WeekFood) string {
	if f.Every > 0 {
		return fmt.Sprintf("every %d days", f.Every)
	}
	return daysInWords(f.Days)
}

func daysInWords(days []string) string {
	switch len(days) {
	case 0:
		return ""
	case 7:
		return "every day"
	}
	var names []string
	for _, d := range days {
		names = append(names, dayWords[d])
	}
	return "on " + join(names)
}

func (p *printer) weekLedger(a report.WeekAccount) {
	p.say("\n")
	p.para("", fmt.Sprintf("%s: one %s animal (%s) and day", a.Species, a.Stage, join(a.Animals)))
	rows := [][]string{{"", ">gets", ">from to", ">needs", "", ">known", ""}}
	for _, r := range a.Rows {
		rows = append(rows, []string{rowWords(r.Nutrient, r.Per), ">" + two(r.Got.Mean, ""), ">" + gotWords(r),
			">" + needWords(r), r.Unit, ">" + fixed(math.Floor(float64(r.Known)*100), 0) + " %", r.Verdict})
	}
	p.table(rows)
	p.weekSources(a)
	p.weekOrigins(a)
	p.say("  Limits of the whole diet\n")
	for _, l := range a.Limits {
		text := fmt.Sprintf("%s: %s of at most %s %s (%s; %s, %s). %s", l.Name, two(&l.Value, ""), two(&l.Most, ""), l.Unit, l.Verdict, l.Source, l.Evidence, l.Note)
		if len(l.StandIn) > 0 {
			text += " A stand-in was taken for " + join(l.StandIn) + "."
		}
		p.para("  - ", text)
	}
}

// gotWords are the ends of what is got; where part of it is not known the upper
// one tells nothing.
func gotWords(r report.WeekRow) string {
	if r.Known < wholly {
		return two(&r.Got.Low, "") + " and up"
	}
	return span(r.Got, "")
}

// wholly is the known share from which a figure counts as known.
const wholly = 0.9995

func rowWords(key, per string) string {
	info, _ := nutrient.Lookup(nutrient.Key(key))
	if per != "" {
		q, _ := nutrient.Lookup(nutrient.Key(per))
		return info.Name + " : " + q.Name
	}
	return info.Name
}

func needWords(r report.WeekRow) string {
	switch {
	case r.Least != nil && r.Most != nil:
		return two(r.Least, "") + " to " + two(r.Most, "")
	case r.Least != nil:
		return two(r.Least, "")
	case r.Most != nil:
		return "to " + two(r.Most, "")
	}
	return ""
}

// weekSources says where the needs come from, whose they are, and how well the
// worst that a row rests on is known.
func (p *printer) weekSources(a report.WeekAccount) {
	p.say("  Sources of the needs, and the worst evidence behind need and figures\n")
	var order []string
	of := map[string][]string{}
	for _, r := range a.Rows {
		key := r.Source
		if r.StandsIn != "" {
			key += ", of " + r.StandsIn + " standing in"
		}
		key += " (" + r.Evidence + ")"
		if of[key] == nil {
			order = append(order, key)
		}
		of[key] = append(of[key], rowWords(r.Nutrient, r.Per))
	}
	for _, key := range order {
		p.para("  - ", key+": "+join(of[key])+".")
	}
}

// weekOrigins says where each figure comes from.
func (p *printer) weekOrigins(a report.WeekAccount) {
	p.say("  Where it comes from (the known part)\n")
	head := []string{""}
	for _, o := range ration.Origins() {
		head = append(head, ">"+originNames[string(o)])
	}
	rows := [][]string{append(head, "")}
	for _, r := range a.Rows {
		row := []string{rowWords(r.Nutrient, r.Per)}
		for _, o := range ration.Origins() {
			cell := ">-"
			for _, q := range r.Parts {
				if q.Origin == string(o) {
					if cell = ">" + two(&q.Amount, ""); q.Known < 0.005 {
						cell = ">?"
					}
				}
			}
			row = append(row, cell)
		}
		rows = append(rows, append(row, r.Unit))
	}
	p.table(rows)
}

// weekShort lists what is low, and what is not known to be enough with why.
func (p *printer) weekShort(w report.Week) {
	low, tables, amounts := []string{}, []string{}, []string{}
	for _, s := range w.Shortages {
		name := rowWords(s.Nutrient, s.Per)
		switch {
		case s.Verdict == string(ration.Low) && s.Per == "":
			low = append(low, fmt.Sprintf("%s (%s of what is needed)", name, fixed(math.Floor(float64(s.OfNeed)*100), 0)+" %"))
		case s.Verdict == string(ration.Low):
			low = append(low, name)
		case s.Open != string(ration.OpenAmounts):
			tables = append(tables, name)
		default:
			amounts = append(amounts, name)
		}
	}
	switch {
	case len(w.Foods) == 0:
		p.para("  ", "Nothing is given, so everything.")
		return
	case len(low) == 0:
		p.para("  ", "No figure is known to be low.")
	case !slices.ContainsFunc(w.Foods, func(x report.WeekFood) bool { return x.Food == ration.MixName }):
		p.para("  ", "The week has no mix, so this is not the whole diet; what is low is mostly what a mix is to bring: "+join(low)+".")
	default:
		p.para("  ", "Low: "+join(low)+".")
	}
	if len(tables) > 0 {
		p.para("  ", "Not known to be enough, since the tables lack part of it: "+join(tables)+".")
	}
	if len(amounts) > 0 {
		p.para("  ", "Not known to be enough, since it hangs on amounts that are not known, such as how much hay is eaten: "+join(amounts)+".")
	}
}

// weekMuch lists what is high, and what could be and is not short.
func (p *printer) weekMuch(w report.Week) {
	short := map[[2]string]bool{}
	for _, s := range w.Shortages {
		short[[2]string{s.Nutrient, s.Per}] = true
	}
	for _, a := range w.Accounts {
		var high, perhaps []string
		for _, r := range a.Rows {
			switch name := rowWords(r.Nutrient, r.Per); {
			case r.Verdict == string(ration.High):
				high = append(high, name)
			case r.Verdict == string(ration.NotKnown) && !short[[2]string{r.Nutrient, r.Per}]:
				perhaps = append(perhaps, name)
			}
		}
		if len(high) > 0 {
			p.para("  ", fmt.Sprintf("High (%s): %s.", a.Stage, join(high)))
		}
		if len(perhaps) > 0 {
			p.para("  ", fmt.Sprintf("Not known to stay below what is too much (%s): %s.", a.Stage, join(perhaps)))
		}
	}
}

func (p *printer) weekLacks(w report.Week) {
	p.say("\nWhat it lacks\n")
	p.weekShort(w)
	p.weekMuch(w)
	for _, a := range w.Accounts {
		for _, l := range a.Limits {
			if l.Verdict != string(ration.Inside) {
				p.para("  ", fmt.Sprintf("%s (%s): %s of at most %s %s: %s.", l.Name, a.Stage, two(&l.Value, ""), two(&l.Most, ""), l.Unit, l.Verdict))
			}
		}
	}
	seen := map[string]bool{}
	for _, n := range w.Notes {
		if !seen[n.Text] {
			p.para("  Note: ", fmt.Sprintf("%s (%s)", n.Text, n.Evidence))
		}
		seen[n.Text] = true
	}
}
