package web

import (
	"io/fs"
	"math"
	"os"
	"regexp"
	"slices"
	"strings"
	"testing"

	"github.com/pelletier/go-toml/v2"
	"pgregory.net/rapid"

	"firlot/catalog"
	said "firlot/internal/words"
	"firlot/mix"
	"firlot/nutrient"
)

// messages are the words of one language: by key, their plural forms.
func messages(t *testing.T, lang string) map[string]map[string]string {
	t.Helper()
	out := map[string]map[string]string{}
	messagesOf(t, said.Files, "shared."+lang+".toml", out)
	for _, area := range areas {
		messagesOf(t, localeFiles, "locale/"+area+"."+lang+".toml", out)
	}
	return out
}

// messagesOf adds the words of one file. A key stands in one file only.
func messagesOf(t *testing.T, files fs.ReadFileFS, name string, out map[string]map[string]string) {
	t.Helper()
	text, err := files.ReadFile(name)
	if err != nil {
		t.Fatal(err)
	}
	var raw map[string]any
	if err := toml.Unmarshal(text, &raw); err != nil {
		t.Fatal(err)
	}
	for k, v := range raw {
		if out[k] != nil {
			t.Errorf("%s stands in a file before %s too", k, name)
		}
		out[k] = map[string]string{}
		switch v := v.(type) {
		case string:
			out[k][""] = v
		case map[string]any:
			for form, s := range v {
				out[k][form] = s.(string)
			}
		}
	}
}

var (
	inTemplates = regexp.MustCompile(`[({ ][tn] "([a-z0-9_]+)"`)
	inCode      = regexp.MustCompile(`"([a-z]+(?:_[a-z0-9]+)*)"`)
	placeholder = regexp.MustCompile(`\{\{\.(\w+)\}\}`)
)

// computed are the keys that code puts together.
func computed() []string {
	var list []string
	for _, i := range nutrient.All() {
		list = append(list, "nutrient_"+string(i.Key))
	}
	for _, c := range catalog.Classes() {
		list = append(list, "class_"+string(c))
	}
	for _, p := range mix.Preferences() {
		list = append(list, "prefer_"+string(p), "proof_"+string(p))
		if p != mix.Steady {
			list = append(list, "proof_"+string(p)+"_sure")
		}
	}
	for _, e := range []catalog.Evidence{catalog.Measured, catalog.Derived, catalog.Recalled, catalog.Assumed} {
		list = append(list, "evidence_"+string(e))
	}
	for said := range sayable {
		list = append(list, "said_"+said)
	}
	for i := range catalog.GeneralCautions() {
		list = append(list, "caution_"+string(rune('1'+i)))
	}
	for _, k := range hinted {
		list = append(list, "own_hint_"+string(k))
	}
	for _, l := range languages {
		list = append(list, "own_name_"+l)
	}
	for _, l := range []string{"en", "es", "de", "fr", "nl", "pt"} {
		list = append(list, "language_"+l)
	}
	for _, e := range []string{"fault", "not_found", "conflict", "too_big", "bad_request"} {
		list = append(list, "error_"+e, "error_"+e+"_hint")
	}
	list = append(list, scaleComputed()...)
	list = append(list, feedingComputed()...)
	list = append(list, shareComputed()...)
	list = append(list, devicesComputed()...)
	return append(list, "basis_as_fed", "basis_as_fed_eaten", "basis_dry_matter", "basis_dry_matter_eaten", "source_label", "source_laboratory",
		"reach_most", "reach_least", "reach_most_surely", "reach_least_surely", "limit_together_least", "limit_together_most", "limit_least", "limit_most")
}

// used are the keys that templates and code name.
func used(t *testing.T) map[string]bool {
	t.Helper()
	keys := map[string]bool{}
	for _, k := range computed() {
		keys[k] = true
	}
	err := fs.WalkDir(templateFiles, ".", func(path string, d fs.DirEntry, err error) error {
		if err != nil || d.IsDir() {
			return err
		}
		text, err := templateFiles.ReadFile(path)
		for _, m := range inTemplates.FindAllStringSubmatch(string(text), -1) {
			keys[m[1]] = true
		}
		return err
	})
	if err != nil {
		t.Fatal(err)
	}
	return keys
}

// inSource are all quoted words of the code, some of which are keys.
func inSource(t *testing.T) map[string]bool {
	t.Helper()
	words := map[string]bool{}
	entries, err := os.ReadDir(".")
	if err != nil {
		t.Fatal(err)
	}
	for _, e := range entries {
		if !strings.HasSuffix(e.Name(), ".go") || strings.HasSuffix(e.Name(), "_test.go") {
			continue
		}
		text, err := os.ReadFile(e.Name())
		if err != nil {
			t.Fatal(err)
		}
		for _, m := range inCode.FindAllStringSubmatch(string(text), -1) {
			words[m[1]] = true
		}
	}
	return words
}

var calls = regexp.MustCompile(`\.(?:T|N)\("([a-z0-9_]+)"[,)]`)

func TestNoWordIsMissingOrIdle(t *testing.T) {
	keys, quoted := used(t), inSource(t)
	entries, err := os.ReadDir(".")
	if err != nil {
		t.Fatal(err)
	}
	for _, e := range entries {
		if strings.HasSuffix(e.Name(), ".go") && !strings.HasSuffix(e.Name(), "_test.go") {
			text, err := os.ReadFile(e.Name())
			if err != nil {
				t.Fatal(err)
			}
			for _, m := range calls.FindAllStringSubmatch(string(text), -1) {
				keys[m[1]] = true
			}
		}
	}
	for _, lang := range languages {
		have := messages(t, lang)
		for k := range keys {
			if have[k] == nil {
				t.Errorf("%s: the message %q is missing", lang, k)
			}
		}
		shared := map[string]map[string]string{} // said by cards too, and tested with them
		messagesOf(t, said.Files, "shared."+lang+".toml", shared)
		for k := range have {
			if !keys[k] && !quoted[k] && shared[k] == nil {
				t.Errorf("%s: the message %q is used nowhere", lang, k)
			}
		}
	}
}

func TestLanguagesSayTheSame(t *testing.T) {
	en := messages(t, "en")
	forms := map[string][]string{"en": {"one", "other"}, "es": {"one", "many", "other"}}
	for _, lang := range languages {
		have := messages(t, lang)
		for k, said := range have {
			if en[k] == nil {
				t.Errorf("%s: %q is not in English", lang, k)
				continue
			}
			if said[""] == "" {
				for _, f := range forms[lang] {
					if said[f] == "" {
						t.Errorf("%s: %q lacks the plural form %q", lang, k, f)
					}
				}
			}
			want := holders(en[k])
			for f, s := range said {
				got := holders(map[string]string{"": s})
				for _, h := range got {
					if !slices.Contains(want, h) {
						t.Errorf("%s: %q (%s) has {{.%s}}, which English has not", lang, k, f, h)
					}
				}
				for _, h := range want {
					if !slices.Contains(got, h) && h != "N" {
						t.Errorf("%s: %q (%s) lacks {{.%s}}", lang, k, f, h)
					}
				}
			}
		}
		for k := range en {
			if have[k] == nil {
				t.Errorf("%s: %q is missing", lang, k)
			}
		}
	}
}

func holders(said map[string]string) []string {
	var list []string
	for _, s := range said {
		for _, m := range placeholder.FindAllStringSubmatch(s, -1) {
			if !slices.Contains(list, m[1]) {
				list = append(list, m[1])
			}
		}
	}
	return list
}

func TestCautionsAreTheCataloguesOwn(t *testing.T) {
	en := messages(t, "en")
	for i, c := range catalog.GeneralCautions() {
		if got := en["caution_"+string(rune('1'+i))][""]; got != c {
			t.Errorf("caution %d is %q, the catalogue says %q", i+1, got, c)
		}
	}
}

func TestFiguresAreNamedAsTheEngineNamesThem(t *testing.T) {
	en := messages(t, "en")
	for _, i := range nutrient.All() {
		if got := en["nutrient_"+string(i.Key)][""]; got != i.Name {
			t.Errorf("%s is called %q here and %q by the engine", i.Key, got, i.Name)
		}
	}
}

func wordsIn(t *testing.T, lang string) *words {
	t.Helper()
	lex, err := newLexicon()
	if err != nil {
		t.Fatal(err)
	}
	return (&Server{lexicon: lex}).wordsInBare(lang)
}

func (s *Server) wordsInBare(lang string) *words {
	s.Catalogue = catalog.New(nil, nil, nil)
	return s.wordsIn(lang, "")
}

func TestNumbersInBothLanguages(t *testing.T) {
	en, es := wordsIn(t, "en"), wordsIn(t, "es")
	for _, c := range []struct {
		v      float64
		places int
		en, es string
	}{{1000, 0, "1,000", "1000"}, {12345.5, 1, "12,345.5", "12\u202f345,5"}, {0.25, 2, "0.25", "0,25"}, {-3.5, 1, "−3.5", "−3,5"}} {
		if got := en.Num(c.v, c.places); got != c.en {
			t.Errorf("en %v: %q, want %q", c.v, got, c.en)
		}
		if got := es.Num(c.v, c.places); got != c.es {
			t.Errorf("es %v: %q, want %q", c.v, got, c.es)
		}
	}
	for _, c := range []struct {
		w    *words
		text string
		want float64
	}{{en, "1,000", 1000}, {en, "1,5", 1.5}, {en, "0,125", 0.125}, {en, "1,234.5", 1234.5}, {es, "1,5", 1.5}, {es, "1.5", 1.5},
		{es, "1.000", 1000}, {es, "1.234,5", 1234.5}, {es, "0.125", 0.125}, {es, "12\u202f345", 12345}} {
		if got, err := c.w.parseNumber(c.text); err != nil || got != c.want {
			t.Errorf("%s %q: %v, %v; want %v", c.w.lang, c.text, got, err, c.want)
		}
	}
	for _, bad := range []string{"", "abc", "1,2,3", "1e", "0x10", "NaN", "inf", "1..2", "--1"} {
		for _, w := range []*words{en, es} {
			if v, err := w.parseNumber(bad); err == nil {
				t.Errorf("%s %q read as %v", w.lang, bad, v)
			}
		}
	}
}

func TestWhatIsShownIsReadBack(t *testing.T) {
	en, es := wordsIn(t, "en"), wordsIn(t, "es")
	rapid.Check(t, func(rt *rapid.T) {
		mg := rapid.Int64Range(1, int64(nutrient.MaxMass)).Draw(rt, "mg")
		for _, w := range []*words{en, es} {
			m := nutrient.Mass(mg)
			if got, err := w.parseMass(w.Grams(m) + " g"); err != nil || got != m {
				rt.Fatalf("%s: %v shown as %q read as %v, %v", w.lang, m, w.Grams(m), got, err)
			}
			a := mix.Amount{Set: true, Mass: m}
			if got, err := w.parseAmount(w.Amount(a)); err != nil || got != a {
				rt.Fatalf("%s: %q read as %v, %v", w.lang, w.Amount(a), got, err)
			}
		}
	})
}

func TestPluralsInBothLanguages(t *testing.T) {
	for _, c := range []struct {
		lang string
		n    int
		want string
	}{{"en", 1, "1 ingredient"}, {"en", 2, "2 ingredients"}, {"en", 0, "0 ingredients"}, {"es", 1, "1 ingrediente"}, {"es", 11, "11 ingredientes"}, {"es", 1_000_000, "1\u202f000\u202f000 de ingredientes"}} {
		if got := wordsIn(t, c.lang).N("ingredients", c.n); got != c.want {
			t.Errorf("%s %d: %q, want %q", c.lang, c.n, got, c.want)
		}
	}
}

func TestChancesAreNeverCertain(t *testing.T) {
	w := wordsIn(t, "en")
	rapid.Check(t, func(rt *rapid.T) {
		p := rapid.Float64Range(0, 1).Draw(rt, "p")
		s := w.OfHundred(p)
		if strings.HasPrefix(s, "0 of") || strings.HasPrefix(s, "100 of") {
			rt.Fatalf("%v is said as %q", p, s)
		}
		if n, err := w.parseNumber(strings.TrimSuffix(s, " of 100")); err == nil && n > math.Floor(p*100) {
			rt.Fatalf("%v is flattered as %q", p, s)
		}
	})
}
