package catalog

import "testing"

func TestCite(t *testing.T) {
	sources := map[string]Source{
		"recalled":   {Title: "Recalled from memory"},
		"tables-x":   {Title: "Tables of X (invented)", Publisher: "An office", Year: 1995},
		"no-details": {Title: "A page"},
	}
	sources["long"] = Source{Title: "Tables of much, and of more besides"}
	find := func(key string) (Source, bool) { s, ok := sources[key]; return s, ok }
	for ref, want := range map[string]struct {
		long, short string
		year        int
	}{
		"tables-x":                    {"Tables of X (invented), An office, 1995", "Tables of X (invented)", 1995},
		"tables-x:item 7":             {"Tables of X (invented), An office, 1995 (item 7)", "Tables of X (invented)", 1995},
		"long":                        {"Tables of much, and of more besides", "Tables of much, and of…", 0},
		"no-details:p. 3":             {"A page (p. 3)", "A page", 0},
		"recalled":                    {"Recalled from memory", "Recalled from memory", 0},
		"recalled:tables-x":           {"Recalled from memory (Tables of X (invented), An office, 1995)", "Tables of X (invented)", 1995},
		"recalled:tables-x chapter 3": {"Recalled from memory (Tables of X (invented), An office, 1995, chapter 3)", "Tables of X (invented)", 1995},
		"recalled:barn-lore":          {"Recalled from memory (barn lore)", "barn lore", 0},
	} {
		if got, ok := Cite(find, ref); !ok || got != want.long {
			t.Errorf("%s: %q", ref, got)
		}
		if got, year, ok := ShortTitle(find, ref, 22); !ok || got != want.short || year != want.year {
			t.Errorf("%s in short: %q, %d", ref, got, year)
		}
	}
	if got, ok := Cite(find, "gone:1"); ok {
		t.Errorf("a source that is not there is %q", got)
	}
	if _, _, ok := ShortTitle(find, "gone", 22); ok {
		t.Error("a source that is not there has a title")
	}
}
