package web

import (
	"slices"
	"strings"
	"testing"

	"firlot/ration"
)

// Beside a proposal stand the cautions of its foods, and whether it is more
// than is common.
func TestMendSaysCautions(t *testing.T) {
	a := start(t, true)
	page := a.open(feedingPath(a.fed("window pair").ID, "diet"))
	w := a.server.wordsIn("en", "")
	found := 0
	for _, form := range a.server.Catalogue.Forms() {
		if len(form.Cautions) > 0 && strings.Contains(page.text(), upper(w.Form(form))+": ") {
			found++
			page.says(form.Cautions...)
		}
	}
	f := &feeding{w: w}
	leaf := a.server.Catalogue.Form("raspberry/leaf-dried")
	v := f.mendWords(&ration.Mend{Changes: []ration.Addition{{Form: leaf, Uncommon: true}}, After: &ration.Ledger{}}, "feed_mend_from_week", ration.Shortage{})
	if len(v.Cautions) != 1 || !slices.Equal(v.Cautions[0].Texts, leaf.Cautions) || !strings.Contains(v.Changes[0], "More than is commonly given") {
		t.Errorf("%d foods with cautions on the page; %+v", found, v)
	}
}
