package main

import (
	"fmt"
	"math"

	"firlot/report"
	"firlot/serving"
)

func printScoops(s streams, o report.Mixing) error {
	p := &printer{s: s}
	p.para("", s.bold(mixingHeadline(o)))
	p.say("\n")
	if f := o.Found; f != nil {
		p.found(o, *f)
		p.say("\n")
	}
	p.enough(o)
	if o.Visman != nil {
		p.visman(*o.Visman)
	}
	p.say("\n")
	p.sorting(o.Sorting)
	p.para("", "Take scoops from the top, the middle and the bottom, and count without choosing. Mix by weight, tumble the closed tub, and do not pour from high up: small seeds gather under the stream, large ones roll to the edge.")
	return p.err
}

// mixingHeadline is the verdict in one sentence.
func mixingHeadline(o report.Mixing) string {
	if o.Found == nil {
		return fmt.Sprintf("By chance alone, scoops of %s g differ by %s%s %% in %s, give or take, however well they are mixed.",
			short(float64(o.ScoopG)), atLeast(o.AtLeast), short(float64(o.Floor)), o.Name)
	}
	f := *o.Found
	switch serving.Verdict(f.Verdict) {
	case serving.WellMixed:
		return fmt.Sprintf("Well mixed, as far as %s shows it (%s sure): beyond chance the batch is uneven by less than %s %%.", o.Name, ofHundred(float64(f.Confidence)), short(float64(o.Allowed)))
	case serving.NotWellMixed:
		return fmt.Sprintf("Not well mixed (%s sure): beyond chance the batch is uneven by more than %s %% in %s.", ofHundred(float64(f.Confidence)), short(float64(o.Allowed)), o.Name)
	}
	return fmt.Sprintf("These scoops cannot tell whether the batch is well mixed: %s is likelier, %s.", likelyWords(f.Likely), ofHundred(float64(f.Confidence)))
}

func likelyWords(v string) string {
	if v == string(serving.WellMixed) {
		return "yes"
	}
	return "no"
}

func (p *printer) found(o report.Mixing, f report.MixingFound) {
	unit := " seeds"
	if o.Weighed {
		unit = " g"
	}
	p.table([][]string{
		{"in a scoop on average", ">" + short(float64(f.Mean)) + unit},
		{"scoops differ by", ">± " + short(float64(f.Shown)) + " %"},
		{"which is itself known to", ">± " + short(float64(f.ShownError)) + " points"},
		{"chance alone gives", ">± " + floor(&o.Floor, o.AtLeast, " %")},
		{"left for the mixing", ">± " + short(float64(f.Own)) + " %"},
		{"with 90 of 100 between", ">" + short(float64(f.OwnLow)) + " and " + short(float64(f.OwnHigh)) + " %"},
	})
	text := fmt.Sprintf("Index of dispersion %s with %s; perfect mixing gives as much or more in %s such checks.",
		short(float64(f.Index)), plural(f.Degrees, "degree of freedom", "degrees of freedom"), ofHundred(float64(f.Chance)))
	if f.Lacey != nil {
		text += fmt.Sprintf(" Lacey's index %s (0 separated, 1 chance; nearly all that is mixed at all lies above 0.75).", fixed(float64(*f.Lacey), 3))
	}
	p.para("  ", text)
	if o.Weighed && f.Rounding > 0.1 {
		p.para("  ", fmt.Sprintf("The scale's step alone brings ± %s %%; it is taken off.", short(float64(f.Rounding))))
	}
	if f.TooAlike {
		p.para("  ", "The scoops are more alike than chance makes them in 99 of 100 checks. Were they chosen, or guessed? Count again, without choosing.")
	}
	if f.Rough {
		p.para("  ", "Chance puts fewer than five seeds into a scoop, so all this is rough: take larger scoops.")
	}
	if o.AtLeast {
		text := "The mass of some pieces is not known, so chance may bring more than is said."
		if f.Overturns != nil {
			text += fmt.Sprintf(" Were those pieces heavier than %s g, the batch could not be called badly mixed.", short(float64(*f.Overturns)))
		}
		p.para("  ", text)
	}
	if !f.TradeRule {
		p.para("  ", "A mill's rule (a coefficient of variation under 10 %) does not fit these scoops: chance alone brings more than a third of that.")
	}
}

// enough says how many scoops, or how large ones, would tell.
func (p *printer) enough(o report.Mixing) {
	many := func(n *int) string {
		if n == nil {
			return fmt.Sprintf("more than %d", serving.MostScoops)
		}
		return fmt.Sprint(*n)
	}
	text := fmt.Sprintf("Of scoops of %s g it takes %s to tell a perfect mixing, and %s to tell one twice as uneven as allowed, four times of five.",
		short(float64(o.ScoopG)), many(o.Enough.Good), many(o.Enough.Bad))
	if g := o.Enough.Grams; g != nil {
		text += fmt.Sprintf(" With %d scoops, each would have to weigh %s g", o.Enough.As, short(math.Ceil(float64(*g))))
		if as := float64(o.Enough.As); as*float64(*g) > float64(o.BatchG) {
			text += ", which is more than there is"
		}
		text += "."
	}
	p.para("", text)
}

func (p *printer) visman(v report.MixingVisman) {
	if v.A == nil {
		p.para("", "The larger scoops do not tell sorting from chance: by Visman's law they should differ less than the small ones, and not by more than pieces alone explain. Take more of both.")
		return
	}
	p.para("", fmt.Sprintf("Visman's constants: A %s g (by chance %s g), B %s, degree of segregation %s. B is what larger scoops do not help against, and more scoops do.",
		short(float64(*v.A)), short(float64(v.ChanceA)), short(float64(*v.B)), short(float64(*v.Sorted))))
}

// sortingWords are the degrees of sorting.
var sortingWords = map[string]string{
	string(serving.SortsLittle): "sort themselves little", string(serving.SortsSome): "sort themselves somewhat",
	string(serving.SortsMuch): "sort themselves readily", string(serving.FallsThrough): "sort themselves readily, and the smallest fall through the rest",
}

func (p *printer) sorting(s report.MixingSorting) {
	if s.Ratio == nil {
		return
	}
	p.para("", fmt.Sprintf("Seeds of this mix %s: %s is %s times as wide as %s (an estimate by width alone).", sortingWords[s.Degree], s.Wide, short(float64(*s.Ratio)), s.Narrow))
}
