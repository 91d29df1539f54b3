package view

import (
	"context"
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strings"

	"testing"

	"github.com/google/go-cmp/cmp"
	"github.com/google/go-cmp/cmp/cmpopts"
	markup "golang.org/x/net/html"
	"pgregory.net/rapid"

	"firlot/card"
	catfiles "firlot/catalog/files"
	"firlot/internal/cardpage/raster"
	"firlot/internal/words"
	"firlot/mix"
	mixfiles "firlot/mix/files"
	needfiles "firlot/needs/files"
	"firlot/nutrient"
)

func cardOf(t testing.TB, names ...string) *card.Card {
	t.Helper()
	c, err := catfiles.Builtin()
	if err != nil {
		t.Fatal(err)
	}
	n, err := needfiles.Builtin()
	if err != nil {
		t.Fatal(err)
	}
	var plans []*mix.Plan
	for _, name := range names {
		f, err := mixfiles.Read(filepath.Join("../../../examples", name+".toml"))
		if err != nil {
			t.Fatal(err)
		}
		p, err := mix.Resolve(f.Document, c, n)
		if err != nil {
			t.Fatal(err)
		}
		plans = append(plans, p)
	}
	out, err := card.Make(context.Background(), plans, card.Options{Publisher: "Skerra Rescue (invented)", Date: "2026-11-25", Hosted: "https://example.org/skerra.html",
		Changes: card.Changes{Batch: true, Step: true, Sureness: true, Stage: true}})
	if err != nil {
		t.Fatal(err)
	}
	return out
}

func TestFragmentsAreReadBack(t *testing.T) {
	c := cardOf(t, "gerbil-adult", "gerbil-senior")
	rapid.Check(t, func(rt *rapid.T) {
		lang := rapid.SampledFrom(words.Languages).Draw(rt, "lang")
		a := Ask{Lang: lang, Names: rapid.SampledFrom(nameLanguages).Draw(rt, "names")}
		ch := &a.Choices
		ch.Mix = rapid.IntRange(0, 1).Draw(rt, "mix")
		var lines []string
		for _, l := range c.Mixes[ch.Mix].Document.Lines {
			lines = append(lines, l.Ingredient)
		}
		offered := slices.DeleteFunc(slices.Clone(c.Offered), func(r string) bool { return slices.Contains(lines, r) })
		ch.Missing = rapid.SliceOfNDistinct(rapid.SampledFrom(lines), 0, 4, rapid.ID).Draw(rt, "missing")
		ch.Use = rapid.SliceOfNDistinct(rapid.SampledFrom(offered), 0, 4, rapid.ID).Draw(rt, "use")
		ch.Batch = nutrient.Mass(rapid.Int64Range(0, int64(nutrient.MaxMass)).Draw(rt, "batch"))
		ch.Step = nutrient.Mass(rapid.Int64Range(0, 1000).Draw(rt, "step"))
		if rapid.Bool().Draw(rt, "sure") {
			v := float64(rapid.IntRange(500, 999).Draw(rt, "sureness")) / 1000
			ch.Sureness = &v
		}
		if rapid.Bool().Draw(rt, "staged") {
			ch.Stage = "senior"
		}
		got, trouble := ParseFragment(c, "#"+a.Fragment(), "en")
		if trouble != "" {
			rt.Fatalf("%s: %s", a.Fragment(), trouble)
		}
		if d := cmp.Diff(a, got, cmpopts.EquateEmpty()); d != "" {
			rt.Fatalf("%s: %s", a.Fragment(), d)
		}
	})
}

// FuzzParseFragment reads what a stranger may have written: whatever is taken
// over is allowed by the card, and is read back as it is.
func FuzzParseFragment(f *testing.F) {
	c := cardOf(f, "gerbil-adult")
	for _, s := range []string{"", "#es", "#1;l=es;w=linseed/whole", "1;m=2;b=99999999999999999999", "2;x", "1;q=NaN", "1;w=,,;u=a/b;s=x;p=0;o=-1", "1;b=1;b=2", "en-r-oats/groats"} {
		f.Add(s)
	}
	f.Fuzz(func(t *testing.T, s string) {
		a, _ := ParseFragment(c, s, "en")
		if _, err := c.Document(a.Choices); err != nil {
			if strings.Contains(err.Error(), "does not let") || strings.Contains(err.Error(), "not in the mix") {
				t.Errorf("%q asks for what the card does not allow: %v", s, err)
			}
		}
		again, trouble := ParseFragment(c, a.Fragment(), "en")
		if trouble != "" {
			t.Errorf("%q becomes %q: %s", s, a.Fragment(), trouble)
		}
		if d := cmp.Diff(a, again, cmpopts.EquateEmpty()); d != "" {
			t.Errorf("%q: %s", s, d)
		}
	})
}

func TestWhatIsTypedIsRead(t *testing.T) {
	c := cardOf(t, "gerbil-adult")
	for _, x := range []struct{ form, fragment, wrong string }{
		{"lang=en&batch=2+kg", "1;l=en;b=2000000", ""},
		{"lang=es&batch=2%2C5+kg", "1;l=es;b=2500000", ""},
		{"lang=en&batch=1000+g&step=1+g&sureness=80&stage=adult&names=en", "en", ""},
		{"lang=en&batch=none", "en", "batch"},
		{"lang=en&batch=1+g&step=5+g", "1;l=en;p=5000", "batch"},
		{"lang=en&step=0.1+oz", "1;l=en;p=2835;o=0.1", ""},
		{"lang=en&sureness=95&stage=senior&names=de", "1;l=en;n=de;q=0.95;s=senior", ""},
		{"lang=en&without=linseed%2Fwhole&without=nobody&use=linseed%2Fwhole", "1;l=en;w=linseed/whole", ""},
	} {
		f, err := parseFields(x.form)
		if err != nil {
			t.Fatal(err)
		}
		a := askOf(c, f, f.one("lang"))
		if a.Fragment() != x.fragment || (x.wrong != "") != (a.Wrong[x.wrong] != "") {
			t.Errorf("%s: %s, wrong: %v", x.form, a.Fragment(), a.Wrong)
		}
	}
}

var examples = []string{"dwarf-hamster", "gerbil-adult", "gerbil-growing", "gerbil-other-forms", "gerbil-senior", "jewellers-scale", "mouse",
	"own-ingredient", "pounds-and-ounces", "rat", "syrian-hamster", "thirty-gerbils"}

// TestPagesAreSound draws every example's page in both languages: whole
// markup, no identifier twice, every place that is pointed at there, and no
// key of a message that is missing.
func TestPagesAreSound(t *testing.T) {
	bare := regexp.MustCompile(`\b[a-z]+_[a-z_]+\b`)
	for _, name := range examples {
		s := &Session{Card: cardOf(t, name)}
		for _, lang := range words.Languages {
			text, err := s.Main(context.Background(), lang)
			if err != nil {
				t.Fatal(err)
			}
			text = s.Defs() + text
			root, err := markup.Parse(strings.NewReader(text))
			if err != nil {
				t.Fatal(err)
			}
			ids, to := map[string]int{}, map[string]bool{}
			for n := range root.Descendants() {
				for _, a := range n.Attr {
					switch {
					case a.Key == "id":
						ids[a.Val]++
					case a.Key == "href" && strings.HasPrefix(a.Val, "#"), a.Key == "for", a.Key == "aria-labelledby", a.Key == "form":
						to[strings.TrimPrefix(a.Val, "#")] = true
					}
				}
				if n.Type == markup.TextNode {
					if m := bare.FindString(n.Data); m != "" {
						t.Errorf("%s, %s: %q stands in %q", name, lang, m, n.Data)
					}
				}
			}
			for id, n := range ids {
				if n > 1 {
					t.Errorf("%s, %s: the identifier %s stands %d times", name, lang, id, n)
				}
			}
			for id := range to {
				if ids[id] == 0 {
					t.Errorf("%s, %s: nothing is called %s", name, lang, id)
				}
			}
		}
	}
}

// TestPicturesArePainted paints every example's picture in every shape: what
// it is drawn with is known to the painter.
func TestPicturesArePainted(t *testing.T) {
	names := examples
	if testing.Short() {
		names = names[:1]
	}
	for _, name := range names {
		s := &Session{Card: cardOf(t, name)}
		for _, shape := range Shapes() {
			svg, err := s.Picture(context.Background(), 0, "es", shape)
			if err != nil {
				t.Fatal(err)
			}
			img, err := raster.Image(svg, 0.5)
			if err != nil {
				t.Errorf("%s, %s: %v", name, shape, err)
				continue
			}
			if w, h := shape.size(); img.Rect.Dx() != int(w/2) || img.Rect.Dy() != int(h/2) {
				t.Errorf("%s, %s: %v", name, shape, img.Rect)
			}
			if sizes := regexp.MustCompile(`<text x="[^"]*" y="[^"]*" font-size="([\d.]+)" fill="#`).FindAllStringSubmatch(svg, -1); len(sizes) < 3 {
				t.Errorf("%s, %s: it says next to nothing", name, shape)
			}
		}
	}
}

func TestCaptionsHoldTheMix(t *testing.T) {
	s := &Session{Card: cardOf(t, "gerbil-adult")}
	for lang, want := range map[string]string{"en": "208 g  oat groats\n", "es": "208 g  avena pelada\n"} {
		text, err := s.Caption(context.Background(), 0, lang)
		if err != nil {
			t.Fatal(err)
		}
		if !strings.Contains(strings.ReplaceAll(text, "\u00a0", " "), want) || !strings.Contains(text, "https://example.org/skerra.html") {
			t.Errorf("%s:\n%s", lang, text)
		}
	}
}

// TestAnswersNeverFail asks for what makes no sense.
func TestAnswersNeverFail(t *testing.T) {
	s := &Session{Card: cardOf(t, "gerbil-adult")}
	for _, q := range []string{"", "do", "do=", "do=fly", "do=page&lang=xx&from=%", "do=page&from=%zz", "do=form&mix=99&batch=%00", "do=picture&shape=round", "do=verify&from=1;m=9"} {
		if got := s.Answer(context.Background(), q); !strings.HasPrefix(got, "{") {
			t.Errorf("%q: %s", q, got)
		}
	}
}

// TestWords holds the card's words in both languages against each other and
// against the code: none is missing, and none is idle. The shared words count
// as used when the app's pages use them.
func TestWords(t *testing.T) {
	var code strings.Builder
	for _, pattern := range []string{"*.go", "../../web/*.go", "../../web/templates/*.html", "../../words/*.go"} {
		names, err := filepath.Glob(pattern)
		if err != nil || len(names) == 0 {
			t.Fatalf("%s: %v", pattern, err)
		}
		for _, n := range names {
			text, err := os.ReadFile(n)
			if err != nil {
				t.Fatal(err)
			}
			code.Write(text)
		}
	}
	computed := regexp.MustCompile(`^(nutrient|class|evidence|caution|source|picture|language|basis|reach|limit_together|link|need)_|^proof_(near|cheap|varied|steady)`)
	en, es := cardWords("en"), cardWords("es")
	text, err := words.Files.ReadFile("shared.en.toml")
	if err != nil {
		t.Fatal(err)
	}
	shared, err := words.Parse(string(text))
	if err != nil {
		t.Fatal(err)
	}
	for k := range en {
		if es[k] == (words.Message{}) {
			t.Errorf("%s is missing in Spanish", k)
		}
		if !strings.Contains(code.String(), `"`+k+`"`) && !computed.MatchString(k) {
			t.Errorf("%s is said nowhere", k)
		}
		if _, twice := shared[k]; twice {
			t.Errorf("%s is among the shared words too", k)
		}
	}
	for k := range es {
		if en[k] == (words.Message{}) {
			t.Errorf("%s is missing in English", k)
		}
	}
	for k := range shared {
		if !strings.Contains(code.String(), `"`+k+`"`) && !computed.MatchString(k) {
			t.Errorf("the shared %s is said nowhere", k)
		}
	}
	for _, m := range regexp.MustCompile(`\.(?:T|N)\("([a-z0-9_]+)"[,)]`).FindAllStringSubmatch(readAll(t, "*.go"), -1) {
		if !Words("en").Has(m[1]) || !Words("es").Has(m[1]) {
			t.Errorf("%s is not in the words", m[1])
		}
	}
}

func readAll(t *testing.T, pattern string) string {
	t.Helper()
	names, err := filepath.Glob(pattern)
	if err != nil {
		t.Fatal(err)
	}
	var b strings.Builder
	for _, n := range names {
		text, err := os.ReadFile(n)
		if err != nil {
			t.Fatal(err)
		}
		b.Write(text)
	}
	return b.String()
}
