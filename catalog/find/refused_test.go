package find_test

import (
	"strings"
	"testing"

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
		"toffee", "tyrosine", "digital scale", "self-raising flour", "mixed grades", "union mills", "casting sand", "sorted seed", "grated carrot", "grain mix", "green peas", "sesame seeds",
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
