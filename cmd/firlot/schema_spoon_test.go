package main

import (
	"os"
	"path/filepath"
	"testing"
)

// A week with a spoon of the keeper's own fits the schema too, whichever way it
// is known.
func TestAnOwnSpoonFitsTheSchema(t *testing.T) {
	schema := compiled(t, "week")
	for _, spoon := range []string{"name = \"the blue scoop\"\nholds = \"7.5 g\"", "ml = 12.5"} {
		file := filepath.Join(t.TempDir(), "week.toml")
		text := "species = \"gerbil\"\n[own_spoon]\n" + spoon + "\n[[line]]\ningredient = \"oats/groats\"\namount = \"500 g\"\n[[animal]]\nname = \"Brae\"\n[[food]]\nfood = \"mix\"\namount = \"2 spoons\"\ndays = \"daily\"\n"
		if err := os.WriteFile(file, []byte(text), 0o644); err != nil {
			t.Fatal(err)
		}
		doc := decoded(t, mustRun(t, []string{"week", file, "--day", "2026-11-25", "--json"}, 0))
		if err := schema.Validate(doc); err != nil {
			t.Errorf("%s: %v", spoon, err)
		}
		own, _ := doc.(map[string]any)["own_spoon"].(map[string]any)
		if own == nil || (own["mix_g"] == nil) == (own["ml"] == nil) {
			t.Errorf("%s: %v", spoon, own)
		}
	}
}
