package cardpage_test

import (
	"bytes"
	"context"
	"encoding/json"
	"fmt"
	"net/url"
	"os"
	"strings"
	"testing"

	"github.com/chromedp/cdproto/emulation"
	"github.com/chromedp/cdproto/network"
	"github.com/chromedp/chromedp"
	"github.com/chromedp/chromedp/kb"

	"firlot/card"
	"firlot/formulate"
	"firlot/internal/cardpage"
	"firlot/internal/cardpage/pack"
	"firlot/mix"
	"firlot/nutrient"
	"firlot/report"
)

func TestItReadsChecksAndAsksForNothing(t *testing.T) {
	b := browser(t, 1280)
	b.must(chromedp.Listen(b.ctx, func(ev any) {
		if e, ok := ev.(*network.EventRequestWillBeSent); ok {
			b.mu.Lock()
			defer b.mu.Unlock()
			b.asked = append(b.asked, e.Request.URL)
		}
	}))
	at := saved(t, rendered(t, adult(t)))
	b.open(at)
	b.until(checked + ` === "sound"`)
	if got := js[string](b, `document.querySelector("h1").textContent`); got != "Skerra Rescue: adult gerbils" {
		t.Errorf("the title is %q", got)
	}
	if got := js[float64](b, sum); got != 1000 {
		t.Errorf("the grams add up to %v", got)
	}
	if got := js[string](b, `document.getElementById("en-proof").textContent`); !strings.Contains(got, "its proof holds") {
		t.Errorf("the proof says %q", got)
	}
	b.mu.Lock()
	defer b.mu.Unlock()
	if len(b.asked) == 0 {
		t.Error("not even the page itself was seen to be asked for")
	}
	for _, u := range b.asked {
		if u != at && !strings.HasPrefix(u, "blob:") && !strings.HasPrefix(u, "data:") {
			t.Errorf("it asked for %s", u)
		}
	}
}

func TestWhatCannotBeHadIsLeftOut(t *testing.T) {
	at := saved(t, rendered(t, adult(t)))
	for _, width := range []int64{360, 1280} {
		b := browser(t, width)
		b.open(at)
		b.click(cannot("en", "linseed/whole"))
		b.until(changed + ` && ` + sum + ` === 1000`)
		if got := b.grams("linseed/whole"); got != "" {
			t.Errorf("%s g of linseed are still in it", got)
		}
		if got := js[string](b, `document.getElementById("spoken").textContent`); !strings.Contains(got, "Changed here") {
			t.Errorf("a screen reader hears %q", got)
		}
		if !js[bool](b, shown+`.querySelector(".was") !== null && document.getElementById("en-proof").textContent.includes("So was the one above")`) {
			t.Error("there is no before and after, or no proof: " + js[string](b, shown+`.querySelector(".answer").innerText`))
		}
		address := js[string](b, `location.href`)
		if !strings.HasSuffix(address, "#1;l=en;w=linseed/whole") {
			t.Errorf("the address is %s", address)
		}
		want := js[string](b, shown+`.querySelector(".tag").innerText`)
		// The link is handed on, with what some programs escape escaped.
		for _, link := range []string{address, strings.Replace(address, "linseed/whole", url.QueryEscape("linseed/whole"), 1)} {
			c := browser(t, width)
			c.open(link)
			c.until(changed)
			if got := js[string](c, shown+`.querySelector(".tag").innerText`); got != want {
				t.Errorf("%s shows\n%s\nwant\n%s", link, got, want)
			}
		}
		b.click("#en-back")
		b.until(`!(` + changed + `)`)
		if got := b.grams("linseed/whole"); got == "" {
			t.Error("the published mix does not come back")
		}
		js[bool](b, `history.back() === undefined`)
		b.until(changed)
	}
}

// TestItsAnswerIsThatOfTheCommandLine compares, byte by byte, what the engine
// in the page answers with what `firlot solve --json` answers for the same
// document on the whole catalogue.
func TestItsAnswerIsThatOfTheCommandLine(t *testing.T) {
	c := adult(t)
	glue, err := os.ReadFile("wasm_glue.js")
	if err != nil {
		t.Fatal(err)
	}
	b := browser(t, 1280)
	b.open(saved(t, rendered(t, c)))
	js[bool](b, string(glue)+pack.Script+"\n;true")
	start := fmt.Sprintf(`(async () => { window.e = await firlotEngine(firlotUnpack(%s)); return e.open(%s); })()`, literal(t, string(engineText(t))), literal(t, string(card.Encode(c))))
	if _, err := chromedp.Run(b.ctx, chromedp.Evaluate[string](start, chromedp.EvalAwaitPromise)); err != nil {
		t.Fatal(err)
	}
	sure := 0.9
	for _, ch := range []card.Choices{{}, {Missing: []string{"linseed/whole"}}, {Missing: []string{"buckwheat/in-hull"}, Use: c.Offered[:1]},
		{Batch: 2500 * nutrient.Gram, Step: 5 * nutrient.Gram}, {Sureness: &sure}, {Stage: "senior"}} {
		d, err := c.Document(ch)
		if err != nil {
			t.Fatal(err)
		}
		request := literal(t, `{"do":"report","choices":`+string(card.EncodeChoices(ch))+`}`)
		if got, want := js[string](b, `e.answer(`+request+`)`), asCommand(t, d); got != want {
			t.Errorf("%+v: the page says\n%.600s\nthe command line\n%.600s", ch, got, want)
		}
	}
}

func literal(t testing.TB, s string) string {
	t.Helper()
	b, err := json.Marshal(s)
	if err != nil {
		t.Fatal(err)
	}
	return string(b)
}

// asCommand answers a document as `firlot solve --json` does, but without the
// time that it took.
func asCommand(t testing.TB, d *mix.Document) string {
	t.Helper()
	a, err := formulate.Solve(context.Background(), resolved(t, d), formulate.Options{})
	if err != nil {
		t.Fatal(err)
	}
	var out bytes.Buffer
	enc := json.NewEncoder(&out)
	enc.SetEscapeHTML(false)
	enc.SetIndent("", "  ")
	if err := enc.Encode(report.OfAnswer(a)); err != nil {
		t.Fatal(err)
	}
	return out.String()
}

func TestAWayOutIsPressed(t *testing.T) {
	b := browser(t, 360)
	b.open(saved(t, rendered(t, adult(t))))
	// Ticked one after the other until nothing can be made of the rest.
	refs := js[string](b, `[...`+shown+`.querySelectorAll(".line .cannot input:not(:checked)")].map((i) => i.value).join(" ")`)
	for _, ref := range strings.Fields(refs) {
		if js[bool](b, shown+`.querySelector(".ways") !== null`) {
			break
		}
		seen := js[string](b, `document.documentElement.dataset.seen || ""`)
		if !js[bool](b, `document.querySelector('`+cannot("en", ref)+`') !== null`) {
			continue
		}
		b.click(cannot("en", ref))
		b.until(`(document.documentElement.dataset.seen || "") !== ` + quoted(seen))
	}
	b.until(shown + `.querySelector(".answer.impossible") !== null`)
	if got := js[string](b, `document.getElementById("en-sentence").textContent`); !strings.Contains(got, "No mix was found that is as sure") {
		t.Errorf("it says %q", got)
	}
	b.until(shown + `.querySelector(".ways button") !== null`)
	js[bool](b, shown+`.querySelector(".ways button").click() === undefined`)
	b.until(sum + ` === 1000`)
}

// Who goes back while pictures and proof of a change are still to come sees
// what was published, and it stays.
func TestBackBeforeThePicturesCome(t *testing.T) {
	b := browser(t, 360)
	b.open(saved(t, rendered(t, adult(t))))
	b.until(checked + ` === "sound"`)
	js[bool](b, `(() => { window.pressed = 0; new MutationObserver(() => {
		if (document.documentElement.dataset.rest === "coming") { pressed++; document.getElementById("en-back").click(); }
	}).observe(document.documentElement, {attributes: true, attributeFilter: ["data-rest"]}); return true; })()`)
	b.click(cannot("en", "linseed/whole"))
	b.until(`document.documentElement.dataset.seen === "1"`)
	if n := js[float64](b, `pressed`); n != 1 {
		t.Fatalf("it was pressed %v times", n)
	}
	if js[bool](b, changed) || b.grams("linseed/whole") == "" {
		t.Error("the change came back")
	}
}

func TestQuestionsAreAskedOtherwise(t *testing.T) {
	b := browser(t, 1280)
	b.open(saved(t, rendered(t, adult(t))))
	b.click("#en-batch")
	js[bool](b, `document.getElementById("en-batch").select() === undefined`)
	b.keys("2.5 kg" + kb.Enter)
	b.until(sum + ` === 2500`)
	b.click("#en-batch")
	js[bool](b, `document.getElementById("en-batch").select() === undefined`)
	b.keys("lots" + kb.Enter)
	b.until(`document.getElementById("en-err-batch") !== null && document.getElementById("en-batch").value === "lots"`)
	if !js[bool](b, `document.activeElement.id === "en-batch" && document.activeElement.getAttribute("aria-describedby") === "en-err-batch"`) {
		t.Error("the field lost the focus, or its complaint is not its own")
	}
	b.do(chromedp.Focus(chromedp.CSS("#en-sureness")))
	b.keys("95")
	b.until(`document.getElementById("en-sureness").value === "95" && location.hash.includes("q=0.95")`)
	b.do(chromedp.Focus(chromedp.CSS("#en-names")))
	b.keys("German")
	b.until(`document.getElementById("en-names").value === "de" && ` + shown + `.querySelector(".who [lang=de]") !== null`)
}

func TestTheLanguageIsKept(t *testing.T) {
	b := browser(t, 360)
	at := saved(t, rendered(t, adult(t)))
	b.open(at)
	b.click(`.langs a[lang="es"]`)
	b.until(`document.documentElement.lang === "es" && location.hash === "#es" && !document.getElementById("es").hidden && document.getElementById("en").hidden`)
	b.click(cannot("es", "linseed/whole"))
	b.until(changed + ` && ` + sum + ` === 1000`)
	for _, want := range []string{"Cambiada aquí, no por quien la publica", "antes", "1000 g", "juegos de sacos"} {
		if got := js[string](b, shown+`.innerText`); !strings.Contains(strings.ReplaceAll(got, "\u00a0", " "), want) {
			t.Errorf("%q is not said", want)
		}
	}
	if !js[bool](b, `/\d,\d/.test(document.querySelector("#es .strip").textContent)`) {
		t.Error("numbers are not written in the Spanish way")
	}
	b.click(`.langs a[lang="en"]`)
	b.until(`document.documentElement.lang === "en" && ` + changed + ` && location.hash === "#1;l=en;w=linseed/whole"`)
	again := browser(t, 360)
	again.open(at + "#es")
	again.until(`document.documentElement.lang === "es" && document.getElementById("en").hidden`)
}

func TestAKeyboardAloneWillDo(t *testing.T) {
	b := browser(t, 1280)
	b.open(saved(t, rendered(t, adult(t))))
	b.tabTo(cannot("en", "wheat/whole"))
	b.keys(" ")
	b.until(changed + ` && ` + sum + ` === 1000`)
	if !js[bool](b, `document.activeElement.id === "en-w-wheat/whole" && document.activeElement.checked`) {
		t.Error("the focus was lost: " + js[string](b, `document.activeElement.outerHTML.slice(0, 200)`))
	}
	b.keys(" ")
	b.until(`!(` + changed + `)`)
}

func TestWithoutScripts(t *testing.T) {
	b := browser(t, 360)
	_, err := chromedp.Call(b.ctx, emulation.SetScriptExecutionDisabled, emulation.SetScriptExecutionDisabledParams{Value: true})
	b.must(err)
	at := saved(t, rendered(t, adult(t)))
	b.goTo(at)
	b.until(`document.readyState === "complete" && [...document.querySelectorAll("#en .columns .grams b")].length === 11`)
	if over := js[float64](b, wider); over > 0 {
		t.Errorf("the page is %v px wider than the window", over)
	}
	visible := func(lang string) bool {
		return js[bool](b, `document.getElementById("`+lang+`").getBoundingClientRect().height > 100`)
	}
	if !visible("en") || visible("es") {
		t.Error("the publisher's language is not the one that shows")
	}
	if js[bool](b, `[...document.querySelectorAll("#en input, #en button, #en select")].some((e) => e.getBoundingClientRect().height > 0)`) {
		t.Error("something to press shows that would do nothing")
	}
	// A page for reading alone holds both languages, and turns without scripts.
	var plain bytes.Buffer
	b.must(cardpage.Render(&plain, adult(t), nil, cardpage.Options{Lang: "es"}))
	b.goTo(saved(t, plain.Bytes()))
	if visible("en") || !visible("es") {
		t.Error("the language that was asked for is not the one that shows")
	}
	b.click(`.langs a[lang="en"]`)
	if !visible("en") || visible("es") {
		t.Error("the other language does not show")
	}
}

// tampered is a card two grams of which were moved from one ingredient to
// another after it was made.
func tampered(t testing.TB) *card.Card {
	t.Helper()
	c := adult(t)
	c.Mixes[0].Amounts[0] -= 2 * nutrient.Gram
	c.Mixes[0].Amounts[1] += 2 * nutrient.Gram
	return c
}

func TestATamperedCardSaysSo(t *testing.T) {
	b := browser(t, 360)
	b.open(saved(t, rendered(t, tampered(t))))
	b.until(checked + ` === "altered"`)
	if !js[bool](b, `document.getElementById("en-proof").getAttribute("role") === "alert" && document.getElementById("en-proof").textContent.includes("Do not rely on it")`) {
		t.Error("it is not said")
	}
	if got := js[string](b, `document.getElementById("spoken").textContent`); !strings.Contains(got, "Do not rely on it") {
		t.Errorf("a screen reader hears %q", got)
	}
}

// nasty are texts that would do harm if a page took them for markup.
var nasty = []string{`<script>window.harm=1</script>`, `</script><script>window.harm=1</script>`, `<img src=x onerror="window.harm=1">`, `"><svg onload=window.harm=1>`,
	`<!--<script>`, `{{.Title}}`, `javascript:window.harm=1`, `]]>`, "\u202egnp.exe", `' onmouseover='window.harm=1`}

func TestAStrangersWordsStayText(t *testing.T) {
	for _, text := range nasty {
		o := skerra
		o.Title, o.Publisher, o.Words, o.Licence = text, text, text+"\n\n"+text, text
		c := cardOf(t, o, "own-ingredient")
		for i := range c.Mixes {
			c.Mixes[i].Document.Title = text
			for k := range c.Mixes[i].Document.Groups {
				c.Mixes[i].Document.Groups[k].Name = text
			}
			for _, in := range c.Mixes[i].Document.Own {
				in.Names["en"] = []string{text}
				for _, f := range in.Forms {
					f.Names = in.Names
					f.Looks, f.Cautions = text, []string{text}
				}
			}
		}
		for _, in := range c.Ingredients {
			in.Names["es"], in.Latin = []string{text}, text
			for _, f := range in.Forms {
				f.Looks, f.Cautions, f.Colours, f.Shape = text, []string{text}, []string{text}, text
				f.Names["en"] = []string{text}
			}
		}
		for k, s := range c.Sources {
			s.Title, s.Publisher, s.Link = text, text, "javascript:window.harm=1"
			c.Sources[k] = s
		}
		page := rendered(t, c)
		b := browser(t, 360)
		b.goTo(saved(t, page))
		b.until(`document.documentElement.dataset.engine !== undefined`)
		js[bool](b, `[...document.querySelectorAll("details")].forEach((d) => d.open = true) === undefined`)
		if js[bool](b, `window.harm !== undefined || document.querySelector("main script, main img, main iframe, [onerror], [onload], [onmouseover], a[href^='javascript']") !== null`) {
			t.Errorf("%q did harm", text)
		}
		if got := js[string](b, `document.querySelector("h1").textContent`); !strings.Contains(text, got) || got == "" {
			t.Errorf("%q is shown as %q", text, got)
		}
		if n := js[float64](b, `document.querySelectorAll("script").length`); n != 5 { // the engine, the card, the other language, its texts, and the page's own
			t.Errorf("%q: there are %v scripts in the page", text, n)
		}
	}
}

func TestPicturesAreSaved(t *testing.T) {
	b := browser(t, 360)
	b.open(saved(t, rendered(t, adult(t))))
	js[bool](b, `(() => { window.made = []; const f = URL.createObjectURL; URL.createObjectURL = (x) => { made.push(x); return f(x); }; return true; })()`)
	for i, x := range []struct{ shape, as, kind, size string }{{"wide", "png", "image/png", "1280x720"}, {"square", "png", "image/png", "1080x1080"}, {"tall", "svg", "image/svg+xml", "1080x1920"}} {
		js[bool](b, fmt.Sprintf(`%s.querySelector('[data-picture="%s"][data-as="%s"]').click() === undefined`, shown, x.shape, x.as))
		b.until(fmt.Sprintf(`made.length === %d`, i+1))
		got, err := chromedp.Run(b.ctx, chromedp.Evaluate[string](fmt.Sprintf(`(async () => {
			const blob = made[%d], img = new Image();
			img.src = await new Promise((r) => { const f = new FileReader(); f.onload = () => r(f.result); f.readAsDataURL(blob); });
			await img.decode();
			const c = document.createElement("canvas");
			c.width = img.naturalWidth; c.height = img.naturalHeight;
			const d = c.getContext("2d");
			d.drawImage(img, 0, 0);
			const p = d.getImageData(0, 0, c.width, c.height).data;
			let dark = 0;
			for (let i = 0; i < p.length; i += 4) if (p[i] + p[i + 1] + p[i + 2] < 300) dark++;
			return blob.type + " " + c.width + "x" + c.height + " " + (dark > p.length / 4 / 100);
		})()`, i), chromedp.EvalAwaitPromise))
		b.must(err)
		if want := x.kind + " " + x.size + " true"; got != want {
			t.Errorf("the picture is %q, want %q", got, want)
		}
	}
}

func TestLinksThatCannotBeFollowed(t *testing.T) {
	at := saved(t, rendered(t, adult(t)))
	for _, x := range []struct{ fragment, says string }{
		{"#1;l=en;w=nobody/knows", "could not be read"}, {"#2;l=en;w=linseed/whole", "newer kind of card"}, {"#1;l=en;b=-5", "could not be read"},
		{"#1;l=en;q=7;s=ghost;x=y", "could not be read"},
	} {
		b := browser(t, 360)
		b.open(at + x.fragment)
		b.until(`document.getElementById("status").textContent.includes(` + quoted(x.says) + `)`)
		if got := js[float64](b, sum); got != 1000 {
			t.Errorf("%s: the grams add up to %v", x.fragment, got)
		}
	}
}

func TestSeveralMixes(t *testing.T) {
	b := browser(t, 360)
	b.open(saved(t, rendered(t, cardOf(t, skerra, "gerbil-adult", "gerbil-growing", "gerbil-senior"))))
	if n := js[float64](b, shown+`.querySelectorAll(".stages .tag").length`); n != 2 {
		t.Errorf("%v other mixes are shown", n)
	}
	js[bool](b, shown+`.querySelector("[data-mix='2']").click() === undefined`)
	b.until(`location.hash === "#1;l=en;m=3" && document.getElementById("en-tag-h").textContent.includes("old gerbils")`)
	b.until(`document.getElementById("en-proof").dataset.verdict === "sound"`)
}
