package web

import (
	"strconv"
	"strings"

	"firlot/ration"
	"firlot/serving"
)

// feedingComputed are the keys of feeding.*.toml that code puts together.
func feedingComputed() []string {
	var list []string
	add := func(prefix string, words ...string) {
		for _, w := range words {
			list = append(list, prefix+strings.NewReplacer("-", "_", " ", "_").Replace(w))
		}
	}
	add("feed_nav_", "portion", "week", "diet", "weights", "bowl", "spoonful")
	add("feed_title_", "portion", "week", "diet", "weights", "bowl", "spoonful")
	add("feed_sheet_", "fridge", "sitter", "shopping")
	add("feed_amount_", "tsp", "tbsp", "spoon", "piece")
	for _, k := range []serving.Kind{serving.US, serving.Metric, serving.Australian, serving.Own} {
		add("feed_spoon_", string(k))
		add("feed_spoons_of_", string(k))
	}
	for _, k := range dayKeys {
		add("feed_day_", k)
		add("feed_dayfull_", k)
	}
	for m := range 12 {
		add("feed_month_", strconv.Itoa(m+1))
	}
	for _, w := range ration.Ways() {
		add("feed_way_", string(w))
	}
	for _, u := range []ration.Unit{ration.Grams, ration.Teaspoons, ration.Tablespoons, ration.OwnSpoons, ration.Pieces} {
		add("feed_unit_", string(u))
	}
	for _, o := range ration.Origins() {
		add("feed_origin_", string(o))
	}
	for _, v := range []ration.Verdict{ration.Low, ration.Inside, ration.High, ration.NotKnown} {
		add("feed_verdict_", string(v))
	}
	for _, s := range ration.Signs() {
		add("feed_sign_", string(s.Sign))
	}
	for _, g := range rowGroups {
		add("feed_group_", string(g))
	}
	for _, s := range []serving.Sorting{serving.SortsLittle, serving.SortsSome, serving.SortsMuch, serving.FallsThrough} {
		add("feed_sorting_", string(s))
	}
	for _, x := range []ration.Open{ration.OpenFigures, ration.OpenAmounts, ration.OpenBoth, ration.OpenNothing} {
		add("feed_because_", string(x))
	}
	add("feed_sex_", "unknown", "female", "male")
	add("feed_breeding_", "none", "pregnant", "nursing")
	add("feed_stage_", "age", "breeding", "document", "assumed")
	return list
}
