package web

import (
	"encoding/json"
	"fmt"
	"os"
	"strings"
	"testing"

	cdpage "github.com/chromedp/cdproto/page"
	"github.com/chromedp/chromedp"
)

// On a phone's width somebody's card is chosen, read and taken in; the page
// with its differences has no fault that axe-core finds, and does not scroll
// sideways.
func TestCardOnAPhone(t *testing.T) {
	script := axe(t)
	a := start(t, true)
	text, err := os.ReadFile("../../card/testdata/v1.json")
	if err != nil {
		t.Fatal(err)
	}
	// A stranger's figure, and a stranger's words that would be markup.
	card := strings.Replace(string(text), `"moisture":[8.22,`, `"moisture":[9.5,`, 1)
	card = strings.Replace(card, `"words":"`, `"words":"\u003cimg src=x onerror=window.harm=1\u003e `, 1)
	quoted, err := json.Marshal(card)
	if err != nil {
		t.Fatal(err)
	}
	b := browser(t, 360)
	_, err = chromedp.Call(b.ctx, cdpage.SetBypassCSP, cdpage.SetBypassCSPParams{Enabled: true})
	b.must(err)
	b.goTo(a.base + a.demoMix("adult"))
	b.click(`a[href$="/card"]`)
	b.until(`document.querySelector(".cardform") !== null`)
	b.goTo(a.base + cardPath)
	js[bool](b, fmt.Sprintf(`(() => { const d = new DataTransfer(); d.items.add(new File([%s], "skerra.json")); document.getElementById("card").files = d.files; return true; })()`, quoted))
	b.click(`form[enctype] button`)
	b.until(`document.querySelector(".stranger table") !== null`)
	if over := js[float64](b, `document.documentElement.scrollWidth - document.documentElement.clientWidth`); over > 0 {
		t.Errorf("the page is %v px wider than the window", over)
	}
	if js[bool](b, `window.harm !== undefined || document.querySelector(".theirwords img") !== null`) {
		t.Error("a stranger's words were run")
	}
	js[bool](b, script+"; true")
	faults, err := chromedp.Run(b.ctx, chromedp.Evaluate[[]string](fmt.Sprintf(runAxe, looks[0].options), chromedp.EvalAwaitPromise))
	b.must(err)
	for _, f := range faults {
		t.Error(f)
	}
	b.click(`form[action="/card/take"] button`)
	b.until(`location.pathname.startsWith("/mix/") && document.getElementById("undo") !== null`)
}
