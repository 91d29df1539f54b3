package find_test

import (
	"errors"
	"fmt"
	"maps"
	"slices"
	"strings"
	"testing"

	"firlot/catalog"
	"firlot/catalog/files"
	"firlot/catalog/find"
)

func builtin(t testing.TB) *catalog.Catalogue {
	t.Helper()
	c, err := files.Builtin()
	if err != nil {
		t.Fatal(err)
	}
	return c
}

// shared lists English form names that two forms bear on purpose: a shop that
// writes them may mean either, so a document has to say which.
var shared = map[string]string{
	"white millet":   "proso in hull at a bird shop, hulled at a health shop",
	"red millet":     "a colour of proso, sold in hull and hulled",
	"jhangora":       "barnyard millet as grain and as hulled grain",
	"safflower seed": "safflower in hull, or any safflower",
}

// TestEnglishFormNamesResolve: a form's own English name leads back to it.
func TestEnglishFormNamesResolve(t *testing.T) {
	c := builtin(t)
	met := map[string]bool{}
	for _, f := range c.Forms() {
		if len(f.Names["en"]) == 0 {
			t.Errorf("%s has no English name", f.Ref())
		}
		for _, name := range f.Names["en"] {
			got, err := find.Resolve(c, name)
			switch {
			case err == nil && got == f:
			case shared[name] != "" && err != nil && strings.Contains(err.Error(), f.Ref()):
				met[name] = true
			default:
				t.Errorf("%q of %s: got %v, %v", name, f.Ref(), ref(got), err)
			}
		}
	}
	for name := range shared {
		if !met[name] {
			t.Errorf("%q is listed as shared but is not", name)
		}
	}
}

// TestNamesNeverLeadElsewhere: in the other languages a form's own name leads
// to it or names it among the choices; it never leads elsewhere.
func TestNamesNeverLeadElsewhere(t *testing.T) {
	c := builtin(t)
	for _, f := range c.Forms() {
		for lang, list := range f.Names {
			for _, name := range list {
				got, err := find.Resolve(c, name)
				if err == nil && got != f || err != nil && !strings.Contains(err.Error(), f.Ref()) {
					t.Errorf("%s name %q of %s: got %v, %v", lang, name, f.Ref(), ref(got), err)
				}
			}
		}
	}
}

// plainly lists what the catalogue holds in a safe form only and what is
// refused by its plain name: the form has to be said.
var plainly = map[string]string{
	"soybean": "soybean/roasted", "Glycine max": "soybean/roasted",
	"lupin": "lupin/whole", "Lupinus albus": "lupin/whole",
}

// TestPlainNames: the caution and the safe form as the hint.
func TestPlainNames(t *testing.T) {
	c := builtin(t)
	names := map[string]string{"soybeans": "soybean/roasted", "soya beans": "soybean/roasted", "Sojabohnen": "soybean/roasted", "lupins": "lupin/whole"}
	maps.Copy(names, plainly)
	for name, hint := range names {
		if _, err := find.Resolve(c, name); err == nil || !strings.Contains(err.Error(), "is never fed") || !strings.Contains(err.Error(), hint) {
			t.Errorf("%q: %v", name, err)
		}
	}
	for name, want := range map[string]string{"soybean/roasted": "soybean/roasted", "roasted soybeans": "soybean/roasted",
		"toasted soya beans": "soybean/roasted", "sweet lupin": "lupin/whole", "lupin/whole": "lupin/whole"} {
		if f, err := find.Resolve(c, name); err != nil || f.Ref() != want {
			t.Errorf("%q: %v, %v", name, ref(f), err)
		}
	}
}

// TestIngredientNamesAreNotRefused: no name of a food in the catalogue, in
// any language, is on the unsafe list, save those that have to say their form.
func TestIngredientNamesAreNotRefused(t *testing.T) {
	c := builtin(t)
	for _, in := range c.Ingredients {
		names := []string{in.ID, in.Latin}
		for _, list := range in.Names {
			names = append(names, list...)
		}
		for _, f := range in.Forms {
			names = append(names, f.Ref())
			for _, list := range f.Names {
				names = append(names, list...)
			}
		}
		for _, n := range names {
			if u := find.Refused(c, n); u != nil && plainly[n] == "" {
				t.Errorf("%s: %q is refused as %s", in.ID, n, u.ID)
			}
		}
	}
}

// TestUnsafeNamesAreRefused: every name of an unsafe food, bare or inside a
// longer phrase, is refused by Resolve with the reason.
func TestUnsafeNamesAreRefused(t *testing.T) {
	c := builtin(t)
	n := 0
	for _, u := range c.Unsafe {
		names := []string{u.ID}
		for lang, list := range u.Names {
			if len(list) == 0 {
				t.Errorf("%s has an empty list for %s", u.ID, lang)
			}
			names = append(names, list...)
		}
		for _, name := range names {
			for _, phrase := range []string{name, strings.ToUpper(name), "organic " + name + ", whole"} {
				n++
				_, err := find.Resolve(c, phrase)
				var e *find.Error
				if !errors.As(err, &e) || !strings.Contains(e.Message, "is never fed") {
					t.Errorf("%s: %q gives %v", u.ID, phrase, err)
				}
			}
		}
		for _, lang := range languages {
			if len(u.Names[lang]) == 0 {
				t.Errorf("%s has no name in %s", u.ID, lang)
			}
		}
	}
	t.Logf("%d unsafe foods, %d phrases", len(c.Unsafe), n)
}

// TestSafeWordsMakeItSafe: a safe word beside an unsafe name lifts the
// refusal of that food.
func TestSafeWordsMakeItSafe(t *testing.T) {
	c := builtin(t)
	for i, u := range c.Unsafe {
		for _, w := range u.SafeWords {
			phrase := u.Names["en"][0] + " " + w
			if got := find.Refused(c, phrase); got == &c.Unsafe[i] {
				t.Errorf("%q is still refused as %s", phrase, u.ID)
			}
		}
	}
}

var languages = []string{"en", "es", "de", "fr", "nl", "pt"}

// withoutEveryLanguage lists ingredients that lack a name in some language,
// and why.
var withoutEveryLanguage = map[string]string{
	"little-millet":   "hardly sold outside India; no settled name is known to us",
	"finger-millet":   "no settled Portuguese name is known to us",
	"japanese-millet": "no settled Portuguese name is known to us",
	"kodo-millet":     "no settled Portuguese name is known to us",
}

// TestNamesInSixLanguages reports how many foods are named in each language.
// Every ingredient has a name in each, and every form a name to be shown by,
// unless listed: those are shown by their English name.
func TestNamesInSixLanguages(t *testing.T) {
	c := builtin(t)
	own, shown := map[string]int{}, map[string]int{}
	for _, in := range c.Ingredients {
		excused := withoutEveryLanguage[in.ID] != ""
		for _, l := range languages {
			if len(in.Names[l]) == 0 && !excused {
				t.Errorf("%s has no name in %s", in.ID, l)
			}
		}
		for lang := range in.Names {
			if !slices.Contains(languages, lang) {
				t.Errorf("%s has a name in %q, a language that is not in use", in.ID, lang)
			}
		}
		for _, f := range in.Forms {
			for _, l := range languages {
				if len(f.Names[l]) > 0 {
					own[l]++
				}
				n := f.Name(l)
				if slices.Contains(f.Names[l], n) || slices.Contains(in.Names[l], n) {
					shown[l]++
				} else if !excused {
					t.Errorf("%s is shown as %q in %s", f.Ref(), n, l)
				}
			}
		}
	}
	for _, l := range languages {
		t.Logf("%s: %d of %d forms with a name of their own, %d shown by a name in the language", l, own[l], len(c.Forms()), shown[l])
	}
}

func ref(f *catalog.Form) string {
	if f == nil {
		return "no form"
	}
	return f.Ref()
}

// TestUnknownNames: what is not known is said to be so, with a hint.
func TestUnknownNames(t *testing.T) {
	c := builtin(t)
	for _, tt := range []struct{ name, want string }{
		{"oats", "several forms"},
		{"oats/rold", "oats comes as"},
		{"oats/grots", `did you mean "oats/groats"? oats comes as`},
		{"carrots", `did you mean "carrot/dried" or "carrot/fresh"?`},
		{"whaet/whole", `did you mean "wheat/whole"?`},
		{"sunflower seeds", `did you mean "sunflower/kernel" or "sunflower/in-shell-black" or "sunflower/in-shell-striped"?`},
		{"pumpernickel", "not in the catalogue"},
		{"painço", "may be several things"}, // foxtail and proso millet both, in Portugal
		{"kidney beans", "never fed"},
		{"", "not in the catalogue"},
	} {
		f, err := find.Resolve(c, tt.name)
		if err == nil || !strings.Contains(err.Error(), tt.want) {
			t.Errorf("%q: got %s, %v; want %q", tt.name, ref(f), err, tt.want)
		}
	}
}

// TestSearchOrder: whole names come before beginnings, words inside and
// misspellings, in any language and without accents.
func TestSearchOrder(t *testing.T) {
	c := builtin(t)
	for _, tt := range []struct{ query, first string }{
		{"oat groats", "oats/groats"},
		{"Nackthafer", "oats/groats"},
		{"mijo en espiga", "foxtail-millet/spray"},
		{"amaranto inflado", "amaranth/popped"},
		{"Linum", "linseed/whole"},
		{"buckweat", "buckwheat/groats"},
		{"sunflwer", "sunflower/kernel"},
		{"carrots", "carrot/dried"},
		{"whaet/whole", "wheat/whole"},
		{"oats/grots", "oats/groats"},
	} {
		got := find.Search(c, tt.query)
		if len(got) == 0 || got[0].Form.Ref() != tt.first {
			t.Errorf("%q: got %v", tt.query, first(got))
		}
	}
	if got := find.Search(c, "  "); got != nil {
		t.Errorf("an empty query finds %d foods", len(got))
	}
}

func first(list []find.Match) string {
	if len(list) == 0 {
		return "nothing"
	}
	return fmt.Sprintf("%s by %q", list[0].Form.Ref(), list[0].Name)
}
