package report

import (
	"math"

	"firlot/serving"
)

// Mixing is the answer to a check of a mixing. Spreads are relative standard
// deviations in per cent of the marker's mean.
type Mixing struct {
	Ingredient string  `json:"ingredient"`
	Form       string  `json:"form"`
	Name       string  `json:"name"`
	Amounts    string  `json:"amounts_from"`
	Weighed    bool    `json:"weighed"`
	ScoopG     Number  `json:"scoop_g"`
	BatchG     Number  `json:"batch_g"`
	Expected   *Number `json:"expected_pieces"`
	Allowed    Number  `json:"allowed_rsd"`
	Floor      Number  `json:"chance_rsd"`
	AtLeast    bool    `json:"chance_at_least"`
	// Found is null where only a plan was asked for.
	Found   *MixingFound  `json:"found"`
	Enough  MixingEnough  `json:"enough"`
	Visman  *MixingVisman `json:"visman,omitempty"`
	Sorting MixingSorting `json:"sorting"`
	Sources []string      `json:"sources"`
}

// MixingFound is what the scoops show.
type MixingFound struct {
	Scoops     int     `json:"scoops"`
	Mean       Number  `json:"mean"`
	Verdict    string  `json:"verdict"`
	Likely     string  `json:"likely"`
	Confidence Number  `json:"confidence"`
	Shown      Number  `json:"rsd"`
	ShownError Number  `json:"rsd_standard_error"`
	Rounding   Number  `json:"scale_rsd"`
	Own        Number  `json:"mixing_rsd"`
	OwnLow     Number  `json:"mixing_rsd_low"`
	OwnHigh    Number  `json:"mixing_rsd_high"`
	Index      Number  `json:"index_of_dispersion"`
	Degrees    int     `json:"degrees_of_freedom"`
	Chance     Number  `json:"chance_of_as_much"`
	TooAlike   bool    `json:"too_alike"`
	Rough      bool    `json:"rough"`
	Overturns  *Number `json:"overturned_by_piece_g"`
	Lacey      *Number `json:"lacey_index"`
	TradeRule  bool    `json:"trade_rule_fits"`
}

// MixingEnough is how many scoops would tell; null where more than can be
// asked for would not.
type MixingEnough struct {
	Good  *int    `json:"scoops_to_tell_good"`
	Bad   *int    `json:"scoops_to_tell_bad"`
	Grams *Number `json:"scoop_g_for_as_many"`
	As    int     `json:"as_many"`
}

// MixingVisman are Visman's constants, in shares; null where the scoops do not
// determine them.
type MixingVisman struct {
	LargeG  Number  `json:"large_scoop_g"`
	A       *Number `json:"a_g"`
	B       *Number `json:"b"`
	ChanceA Number  `json:"a_by_chance_g"`
	Sorted  *Number `json:"degree_of_segregation"`
}

// MixingSorting is how readily the mix's seeds sort themselves: an estimate.
type MixingSorting struct {
	Degree string  `json:"degree"`
	Ratio  *Number `json:"width_ratio"`
	Narrow string  `json:"narrowest,omitempty"`
	Wide   string  `json:"widest,omitempty"`
}

// mixingSources are what a check rests on.
func mixingSources() []string {
	return []string{
		"chance between scoops: P. Gy, fundamental sampling error, from the heterogeneity of particles",
		"index of dispersion and its chance: Fisher, Thornton and Mackenzie 1922 (recalled)",
		"chi-square: Abramowitz and Stegun 1964, 6.5.29, 6.5.31 and 26.4.19 (recalled)",
		"index of mixing: Lacey 1954 (recalled), with Gy's spread as the limit of chance",
		"segregation: Visman's law of increments, S² = A/W + B/N",
		"sorting by width: estimates",
	}
}

// MixingOf reports a check; found is nil for a plan alone, of as many scoops
// of some grams.
func MixingOf(amounts string, s serving.Sampling, grams float64, as int, found *serving.Mixing) Mixing {
	p := s.Lot.Pieces[s.Marker]
	out := Mixing{Ingredient: p.Form.Ingredient.ID, Form: p.Form.ID, Name: p.Form.Name("en"), Amounts: amounts, Weighed: s.Weighed,
		ScoopG: Number(grams), BatchG: Number(s.Lot.Grams), Allowed: Number(100 * s.Allowed), Floor: Number(100 * s.Floor(grams)),
		AtLeast: len(s.Lot.OfShare(s.Marker).Missing) > 0, Enough: mixingEnough(s.Plan(grams, as), as), Sorting: sortingOf(s.Lot), Sources: mixingSources()}
	if n, ok := s.Lot.Count(s.Marker, grams); ok {
		out.Expected = num(n)
	}
	if m := found; m != nil {
		f := &MixingFound{Scoops: m.Degrees + 1, Mean: Number(m.Mean), Verdict: string(m.Verdict), Likely: string(m.Likely), Confidence: Number(m.Confidence),
			Shown: Number(100 * m.Shown), ShownError: Number(100 * m.ShownError), Rounding: Number(100 * m.Rounding),
			Own: Number(100 * m.Own), OwnLow: Number(100 * m.OwnLow), OwnHigh: Number(100 * m.OwnHigh),
			Index: Number(m.Index), Degrees: m.Degrees, Chance: Number(m.Chance), TooAlike: m.TooAlike, Rough: m.Rough, TradeRule: m.TradeRule}
		if m.AtLeast && m.Likely == serving.NotWellMixed {
			f.Overturns = num(m.Overturns)
		}
		if !math.IsNaN(m.Lacey) {
			f.Lacey = num(m.Lacey)
		}
		out.Found = f
	}
	return out
}

func mixingEnough(e serving.Enough, as int) MixingEnough {
	out := MixingEnough{As: as}
	if e.Good > 0 {
		out.Good = &e.Good
	}
	if e.Bad > 0 {
		out.Bad = &e.Bad
	}
	if e.Grams > 0 {
		out.Grams = num(e.Grams)
	}
	return out
}

func sortingOf(l serving.Lot) MixingSorting {
	s := l.Sorting()
	if !s.Known {
		return MixingSorting{Degree: "not-known"}
	}
	return MixingSorting{string(s.Degree), num(s.Ratio), l.Pieces[s.Narrow].Form.Ref(), l.Pieces[s.Wide].Form.Ref()}
}

// VismanOf reports Visman's constants from a check with scoops and one with
// larger ones.
func VismanOf(s serving.Sampling, small, large *serving.Mixing) *MixingVisman {
	out := &MixingVisman{LargeG: Number(large.Grams), ChanceA: Number(s.Lot.OfShare(s.Marker).K)}
	v, ok := serving.VismanOf(small.Shown*small.Shown, large.Shown*large.Shown, small.Grams, large.Grams)
	if ok {
		out.A, out.B, out.Sorted = num(v.A), num(v.B), num(v.Sorted)
	}
	return out
}
