package lp

import (
	"bytes"
	"encoding/json"
	"testing"

	"pgregory.net/rapid"
)

// The certificate's own writer writes what encoding/json does.
func TestCertificateIsJSON(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		text := rapid.SampledFrom([]string{"", "12", "-5p-3", "7/3", "fat <at> most & \"more\"", "ñandú – 90 %", "\u2028"})
		texts := rapid.SliceOfN(text, 1, 3)
		terms := rapid.Custom(func(t *rapid.T) []certTerm {
			return []certTerm{{rapid.IntRange(0, 9).Draw(t, "c"), text.Draw(t, "v")}}
		})
		weights := rapid.Custom(func(t *rapid.T) []certWeight {
			return []certWeight{{rapid.IntRange(0, 9).Draw(t, "i"), text.Draw(t, "y")}, {1, "1"}}
		})
		at := rapid.IntRange(0, 5).Draw(t, "at")
		d := certDoc{Format: CertificateFormat, Version: 1, Claim: certClaim{"optimal", text.Draw(t, "objective"), text.Draw(t, "bound")},
			Point: texts.Draw(t, "point"), Cuts: []certCut{{at, texts.Draw(t, "dir")}}, Grid: &certGrid{&at, text.Draw(t, "mult")},
			Tree: []certNode{{Kind: "value", Col: &at, At: text.Draw(t, "where")}, {Kind: "bound", Rows: weights.Draw(t, "rows"), Counts: weights.Draw(t, "counts")}, {Kind: "logic"}}}
		d.Model = certModel{
			Columns: []certColumn{{Name: text.Draw(t, "name"), Lo: "0", Cost: text.Draw(t, "cost"), Breaks: [][2]string{{"1", text.Draw(t, "rise")}}, Whole: rapid.Bool().Draw(t, "whole")}, {}},
			Rows:    []certRow{{text.Draw(t, "row"), "", "1", terms.Draw(t, "terms")}, {}},
			Counts:  []certCount{{Name: text.Draw(t, "count"), Cols: []int{}, Least: at, Most: 2}, {Cols: []int{1, 2}}},
			Cones:   []certCone{{text.Draw(t, "cone"), "0", "1", terms.Draw(t, "means"), nil}},
		}
		want, err := json.Marshal(&d)
		if err != nil {
			t.Fatal(err)
		}
		if got := d.json(); !bytes.Equal(got, want) {
			t.Fatalf("got  %s\nwant %s", got, want)
		}
	})
}
