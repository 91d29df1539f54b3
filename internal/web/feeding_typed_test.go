package web

import (
	"net/http"
	"net/url"
	"strconv"
	"testing"
)

// A slip in one field of a week or a bowl costs nothing that was typed into the
// others. A food has a season.
func TestMistypedWeekAndBowlStay(t *testing.T) {
	a := start(t, true)
	g := a.fed("window pair")
	send := func(do string) *result {
		return a.post(feedingPath(g.ID, "week"), url.Values{"do": {do}, "rev": {strconv.FormatInt(g.Rev, 10)}, "food": {"kale/fresh"}, "count": {"a lot"},
			"note": {"from the harbour garden"}, "pack": {"125"}, "times": {"3"}, "unit": {"tbsp"}, "day-thu": {"1"}})
	}
	add := send("add")
	for name, r := range map[string]*result{"save": send("save:2"), "add": add} {
		if r.status != http.StatusUnprocessableEntity {
			t.Errorf("%s: status %d", name, r.status)
		}
		r.says("Write an amount as a number", "What was typed stands in its form")
		r.holds(`value="a lot"`, `value="from the harbour garden"`, `value="125"`, `value="3"`, `<option value="tbsp" selected>`, `name="day-thu" value="1" checked`)
	}
	add.holds(`<option value="kale/fresh" selected>`, `href="#add"`)
	a.press(a.open(feedingPath(g.ID, "week")), with("value", "save:2"), map[string]string{"from": "2026-05-01", "until": "2026-06-30"})
	if x := a.kept(g.ID).Foods[2]; x.From.String() != "2026-05-01" || x.Until.String() != "2026-06-30" {
		t.Errorf("a season is kept as %s to %s", x.From, x.Until)
	}
	bowl := a.open(feedingPath(g.ID, "bowl"))
	r := a.press(bowl, with("value", "bowl"), map[string]string{"offered": "10", "left": "20", "note": "hoard under the wheel", "day": "2026-05-10"})
	r.holds(`value="hoard under the wheel"`, `value="2026-05-10"`, `value="20"`)
	r = a.press(bowl, with("value", "sign"), map[string]string{"animal": "Haar", "note": "sneezed twice", "day": "2026-05-11"})
	r.says("Choose what was seen")
	r.holds(`value="sneezed twice"`, `value="2026-05-11"`, `<option value="Haar" selected>`)
}
