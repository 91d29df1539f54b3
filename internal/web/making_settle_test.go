package web

import (
	"net/http"
	"strings"
	"testing"
)

// A mix in grams, a scale that shows steps of 5 g and a fine one: the amounts are
// brought to what the two show, said so, and can be begun with. On the coarse
// scale alone they are worked out anew in its steps.
func TestAmountsAreBroughtToBothScales(t *testing.T) {
	a := start(t, true)
	to := "/making/new?mix=" + strings.TrimPrefix(a.demoMix("adult gerbils"), "/mix/")
	scales := map[string]string{"step": "5 g", "fine_step": "0.1 g", "bowls": "1"}
	p := a.press(a.open(to), with("value", "look"), scales)
	p.says("worked out anew")
	if strings.Contains(p.text(), "less than this scale can show") {
		t.Error("it is said that they cannot be weighed")
	}
	p = a.press(a.open(to), with("value", "start"), scales)
	if p.status != http.StatusOK && p.status != http.StatusSeeOther {
		t.Fatalf("status %d", p.status)
	}
	var sum int64
	coarse := 0
	for _, n := range a.state(where(p)).Steps {
		sum += n.Mg
		if n.Fine {
			continue
		}
		if coarse++; n.Mg%5_000 != 0 {
			t.Errorf("%d mg of %s on a scale in steps of 5 g", n.Mg, n.Ref)
		}
	}
	if coarse == 0 || sum < 1_000_000 || sum >= 1_005_000 {
		t.Errorf("%d pours on the coarse scale, %d mg in all", coarse, sum)
	}
}

// Half as much again of the oats: the batch as planned is inside still, but less
// sure than asked, and a larger one is surer. That no smaller one is inside is
// not said then.
func TestASurerBatchIsNotCalledTheSmallest(t *testing.T) {
	a := start(t, true)
	p := a.press(a.open("/making/new?mix="+strings.TrimPrefix(a.demoMix("adult gerbils"), "/mix/")), with("value", "start"), nil)
	p = a.press(p, with("id", "poured"), nil)
	p = a.pressIn(p, "different", map[string]string{"mass": "312"})
	p.says("A larger batch, 1,100 g", "Same batch, 1,000 g")
	if strings.Contains(p.text(), "no smaller one does") {
		t.Error("a smaller batch that is inside is denied")
	}
}
