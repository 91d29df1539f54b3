package cardpage_test

import (
	"bytes"
	"context"
	"html"
	"net/url"
	"strings"
	"testing"

	"firlot/internal/cardpage/pack"
	"firlot/internal/cardpage/view"
)

// takes hands a session texts as a page holds them.
func takes(t *testing.T, s *view.Session, lang, text string) string {
	t.Helper()
	return s.Answer(t.Context(), url.Values{"do": {"texts"}, "lang": {lang}, "text": {text}}.Encode())
}

// Whatever stands in the texts beside a card, they are text, they leave no
// caution unsaid, and the English page stays the card's.
func TestStrangeTexts(t *testing.T) {
	c := adult(t)
	caution := c.Form("linseed/whole").Cautions[0]
	key := view.TextKey(caution)
	draw := func(lang, text string) string {
		s := &view.Session{Card: c}
		takes(t, s, lang, text)
		page, err := s.Main(context.Background(), "es")
		if err != nil {
			t.Fatal(err)
		}
		return page
	}
	if page := draw("es", key+` = "<img src=x onerror=alert(1)>"`); strings.Contains(page, "<img") || !strings.Contains(page, "&lt;img") {
		t.Error("a text becomes markup")
	}
	for _, text := range []string{key + ` = ""`, key + ` = "  "`, "[" + key + "]\none = \"x\"", "no table", key + ` = "`} {
		if page := draw("es", text); !strings.Contains(page, html.EscapeString(caution)) {
			t.Errorf("%q: the caution is not said", text)
		}
	}
	for _, lang := range []string{"en", "de", ""} {
		s := &view.Session{Card: c}
		takes(t, s, lang, key+` = "Feed as much as you like."`)
		page, err := s.Main(context.Background(), "en")
		if err != nil || strings.Contains(page, "as you like") || !strings.Contains(page, html.EscapeString(caution)) {
			t.Errorf("texts in %q: the English page is not the card's, %v", lang, err)
		}
	}
}

// A page whose texts are damaged still works anew what is asked, in English
// where it must.
func TestDamagedTextsLeaveTheEngine(t *testing.T) {
	c := adult(t)
	page := rendered(t, c)
	opens := []byte(`<script type="text/plain" id="texts-es">`)
	before, after, ok := bytes.Cut(page, opens)
	if !ok {
		t.Fatal("the page has no texts")
	}
	rest := after[bytes.Index(after, []byte("</script>")):]
	for _, text := range []string{"~~~~~~~~~~~~~~~~~~~~~~~~", pack.Pack([]byte("no table"))} {
		b := browser(t, 360)
		b.open(saved(t, bytes.Join([][]byte{before, opens, []byte(text), rest}, nil)) + "#es")
		b.until(`document.documentElement.dataset.engine === "broken" || document.documentElement.lang === "es" && ` + checked + ` === "sound"`)
		if why := js[string](b, `document.documentElement.dataset.engine === "broken" ? document.getElementById("status").textContent : ""`); why != "" {
			t.Errorf("the page says %q", why)
			continue
		}
		b.click(cannot("es", "linseed/whole"))
		b.until(changed + ` && ` + sum + ` === 1000`)
	}
}
