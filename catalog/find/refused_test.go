package find_test

import (
	"strings"
	"testing"

	"pgregory.net/rapid"

	"firlot/catalog/find"
)

// TestRefused: what is refused however it is written, and as what.
func TestRefused(t *testing.T) {
	c := builtin(t)
	for _, tt := range []struct{ name, as string }{
		// A safe word that speaks of something else.
		{"treated seed, non GMO", "dressed-sowing-seed"},
		{"salted peanuts, no shells", "salt"},
		{"peanuts salted without skin", "salt"},
		{"kidney beans not cooked", "raw-common-bean"},
		{"not cooked kidney beans", "raw-common-bean"},
		{"un-cooked kidney beans", "raw-common-bean"},
		{"half cooked kidney beans", "raw-common-bean"},
		{"kidney beans; mung beans cooked", "raw-common-bean"},
		{"kidney beans, mung beans", "raw-common-bean"},
		{"black tea with mint", "black-or-green-tea"},
		{"black tea, mint", "black-or-green-tea"},
		{"mouldy hay free of dust", "mould"},
		{"not without salt", "salt"},
		{"salt, free flowing", "salt"},
		{"garlic; mustard", "garlic"},
		{"ragweed seed, cleaned", "ragweed"},
		// Punctuation.
		{"chocolate.", "chocolate"},
		{"dried (kidney beans)", "raw-common-bean"},
		{"almonds (bitter)", "bitter-almond"},
		{"muesli+raisins", "grape"},
		{"garlic;onion", "onion"},
		{"cho\u200bcolate", "chocolate"},
		{"kidney\u200bbeans", "raw-common-bean"},
		{"on\u00adion", "onion"},
		// Spelling.
		{"choclate", "chocolate"},
		{"kidneybeans", "raw-common-bean"},
		{"kidny beans", "raw-common-bean"},
		{"kidney beens", "raw-common-bean"},
		{"onoin", "onion"},
		{"Kidney-Bohnen", "raw-common-bean"},
		{"weisse Bohnen", "raw-common-bean"},
		{"Kaeferbohnen", "raw-runner-bean"},
		{"gruene Kartoffel", "green-potato"},
		{"avocadoes", "avocado"},
		{"Schokoladenstreusel", "chocolate"},
		{"Zartbitterschokolade", "chocolate"},
		// Singulars and everyday names.
		{"apricot seeds", "stone-fruit-kernel"},
		{"apricot seed", "stone-fruit-kernel"},
		{"peach kernel", "stone-fruit-kernel"},
		{"cherry stone", "stone-fruit-kernel"},
		{"plum kernel", "stone-fruit-kernel"},
		{"buckwheat sprout", "buckwheat-herb"},
		{"lupins", "unnamed-lupin"},
		{"jack beans", "jack-bean"},
		{"soybeans", "unnamed-soya"},
		{"soya beans", "unnamed-soya"},
		{"Sojabohnen", "unnamed-soya"},
		{"soybeans, not roasted", "unnamed-soya"},
		{"raw soybeans", "raw-soybean"},
		// Plants.
		{"horse chestnuts", "horse-chestnut"},
		{"yew twigs", "yew"},
		{"oleander", "oleander"},
		{"foxglove", "foxglove"},
		{"deadly nightshade", "nightshade"},
		{"laburnum pods", "laburnum"},
		{"rhododendron", "rhododendron"},
		{"ragwort", "ragwort"},
		{"bracken", "bracken"},
		{"nutmeg", "nutmeg"},
		{"tonka beans", "tonka-bean"},
		{"elderberries", "elderberry"},
		{"comfrey", "comfrey"},
		{"tobacco leaf", "tobacco"},
		{"lily bulbs", "poisonous-bulb"},
		{"daffodil bulb", "poisonous-bulb"},
	} {
		got := "nothing"
		if u := find.Refused(c, tt.name); u != nil {
			got = u.ID
		}
		if got != tt.as {
			t.Errorf("%q is refused as %s, want %s", tt.name, got, tt.as)
		}
	}
}

// TestNotRefused: what names something unsafe but is safe, and words that only
// look like it.
func TestNotRefused(t *testing.T) {
	c := builtin(t)
	for _, name := range []string{
		"onion-free", "xylitol-free peanut butter", "peanut butter without xylitol", "alkoholfrei", "ergot-free rye", "rye, free from ergot",
		"no added salt", "peanuts, no salt", "unsalted peanuts", "un-salted peanuts", "ungesalzene Erdnüsse", "ohne Salz", "nuts not salted",
		"boiled kidney beans", "kidney beans, boiled", "gekochte Kidneybohnen", "mint tea", "sweet lupins", "roasted soya beans", "geroestete Sojabohnen",
		"garlic mustard", "food-grade oats", "malted barley", "coarse oat bran", "toasted seed", "salad leaves", "elderflower", "sweet potato leaves",
		"toffee", "Knoblauchsrauke", "Süßlupinen", "garden weeds", "black beetles", "white beets", "tyrosine", "digital scale", "self-raising flour", "mixed grades", "union mills", "casting sand", "sorted seed", "grated carrot", "grain mix", "green peas", "sesame seeds",
	} {
		if u := find.Refused(c, name); u != nil {
			t.Errorf("%q is refused as %s", name, u.ID)
		}
	}
}

// TestNearlyRefused: a near misspelling is refused with a way on for whoever
// meant something else.
func TestNearlyRefused(t *testing.T) {
	_, err := find.Resolve(builtin(t), "choclate")
	if err == nil || !strings.Contains(err.Error(), "If you mean something else than chocolate, name it otherwise.") {
		t.Errorf("got %v", err)
	}
	if _, err = find.Resolve(builtin(t), "chocolate"); err == nil || strings.Contains(err.Error(), "something else") {
		t.Errorf("spelt rightly: %v", err)
	}
}

// TestLongText: an unsafe name at the end of a megabyte of words is found.
func TestLongText(t *testing.T) {
	c := builtin(t)
	if u := find.Refused(c, strings.Repeat("no onion, zzqqzz ", 60_000)+"chocolate"); u == nil || u.ID != "chocolate" {
		t.Errorf("got %v", u)
	}
}

// TestRefusedHoweverWritten: marks between its words, characters without room
// inside them, capitals and other words around them hide no unsafe name.
func TestRefusedHoweverWritten(t *testing.T) {
	c := builtin(t)
	rapid.Check(t, func(t *rapid.T) {
		u := rapid.SampledFrom(c.Unsafe).Draw(t, "food")
		lang := rapid.SampledFrom(languages).Draw(t, "language")
		name := rapid.SampledFrom(u.Names[lang]).Draw(t, "name")
		var b strings.Builder
		for _, r := range name {
			switch {
			case r == ' ':
				b.WriteString(rapid.SampledFrom([]string{" ", "-", ", ", "_", "/", ".", " (", "\u00a0", "  "}).Draw(t, "between"))
				continue
			case rapid.IntRange(0, 3).Draw(t, "roomless") == 0:
				b.WriteString(rapid.SampledFrom([]string{"\u200b", "\u00ad", "\u2060"}).Draw(t, "character"))
			}
			b.WriteRune(r)
		}
		written := b.String()
		if rapid.Bool().Draw(t, "capitals") {
			written = strings.ToUpper(written)
		}
		written = rapid.SampledFrom([]string{"", "best ", "seed mix: ", "oats + ", "\""}).Draw(t, "before") + written +
			rapid.SampledFrom([]string{"", ".", " 500 g", "; oats", ")"}).Draw(t, "after")
		if find.Refused(c, written) == nil {
			t.Fatalf("%q, %s of %s, passes", written, lang, u.ID)
		}
	})
}

// FuzzRefused: no text makes it fail, and what a text holds is refused with
// the text as it is.
func FuzzRefused(f *testing.F) {
	for _, s := range []string{"", " ", "\xff\xfe", "un-", "ß", "kidney\u0301 beans", "no", "free of", "ä;ö+ü"} {
		f.Add(s)
	}
	c := builtin(f)
	f.Fuzz(func(t *testing.T, s string) {
		find.Refused(c, s)
		if find.Refused(c, s+"; chocolate") == nil {
			t.Errorf("%q hides chocolate", s)
		}
	})
}
