package web

import (
	"strconv"
	"strings"
)

// typed puts a food's form back as it was sent and not kept.
func (v *foodView) typed(from map[string]string) {
	v.Open = true
	v.Count, v.Every, v.From, v.Times, v.At = from["count"], from["every"], from["from"], from["times"], from["at"]
	v.Until = from["until"]
	v.OnHand, v.Pack, v.Price, v.Note = from["on_hand"], from["pack"], from["price"], from["note"]
	v.Each, v.AtWill = from["each"] != "", from["at_will"] != ""
	choose(v.Units, from["unit"])
	choose(v.Ways, from["way"])
	for i := range v.Days {
		v.Days[i].On = from["day-"+v.Days[i].Name] != ""
	}
}

// typedFoods puts what was typed into the form that it was typed into, and a
// way to it beside what is wrong with it.
func (v *weekView) typedFoods() {
	do, at, _ := strings.Cut(v.Typed["do"], ":")
	to := ""
	switch do {
	case "save":
		for _, list := range [][]foodView{v.Foods, v.Shelf} {
			for i := range list {
				if strconv.Itoa(list[i].I) == at {
					list[i].typed(v.Typed)
					to = "food-" + at
				}
			}
		}
	case "add":
		to = "add"
		v.Add.typed(v.Typed)
		for _, c := range v.Choices {
			choose(c.Foods, v.Typed["food"])
		}
	}
	v.WrongAt = to
}
