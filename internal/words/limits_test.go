package words

import "testing"

func TestLimitsAreSaid(t *testing.T) {
	subject := func(s string) string { return "‹" + s + "›" }
	en, es := Limits{In("en"), subject}, Limits{In("es"), subject}
	for _, c := range []struct{ text, en, es string }{
		{"oat groats at least 1200 g", "‹oat groats› at least 1,200\u00a0g", "‹oat groats›: al menos 1200\u00a0g"},
		{"oat groats at most 25.5 g (the inclusion limit of 2.5 %)", "‹oat groats› at most 25.5\u00a0g (the safe limit of 2.5 %)", "‹oat groats›: como mucho 25,5\u00a0g (el límite seguro de 2,5 %)"},
		{"oat groats at most 25 g (what is on hand)", "‹oat groats› at most 25\u00a0g (what is on hand)", "‹oat groats›: como mucho 25\u00a0g (lo que hay)"},
		{"oat groats either none or at least 5 g", "‹oat groats› either none or at least 5\u00a0g", "‹oat groats›: nada o al menos 5\u00a0g"},
		{"oilseed together at most 120 g", "‹oilseed› together at most 120\u00a0g", "‹oilseed› en conjunto: como mucho 120\u00a0g"},
		{"crude protein at least 14 %", "‹crude protein› at least 14\u00a0%", "‹crude protein›: al menos 14\u00a0%"},
		{"calcium to phosphorus at most 2", "‹calcium to phosphorus› at most 2", "‹calcium to phosphorus›: como mucho 2"},
		{"the mix of at least 4 ingredients", "‹the mix›: at least 4 ingredients", "‹the mix›: al menos 4 ingredientes"},
		{"the mix of 2 to 4 ingredients", "‹the mix›: 2 to 4 ingredients", "‹the mix›: de 2 a 4 ingredientes"},
		{"the most that this shelf allows is 12.5 %", "the most that these ingredients allow is 12.5\u00a0%", "lo más que permiten estos ingredientes es 12,5\u00a0%"},
		{"40 g instead", "40\u00a0g", "40\u00a0g"},
		{"a sentence of another kind", "a sentence of another kind", "a sentence of another kind"},
	} {
		if got := en.Say(c.text); got != c.en {
			t.Errorf("en: %q", got)
		}
		if got := es.Say(c.text); got != c.es {
			t.Errorf("es: %q", got)
		}
	}
	if got := es.Bound("crude fat at most 8.5 %"); got != "como mucho 8,5\u00a0%" {
		t.Errorf("%q", got)
	}
}
