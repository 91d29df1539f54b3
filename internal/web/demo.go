package web

import (
	"context"
	"embed"
	"fmt"
	"time"

	"firlot/internal/store"
	mixfiles "firlot/mix/files"
	"firlot/nutrient"
	"firlot/ration"
)

// demo holds copies of three of the documents in examples; a test keeps them
// the same.
//
//go:embed demo
var demoFiles embed.FS

// settingStarted is set once the store has been opened for the first time.
const settingStarted = "started"

// The invented rescue on Skerra: who lives there, and which mixes it makes.
var demoGroups = []struct {
	name, species, stage string
	bornDaysAgo, animals int
	mix                  string
}{
	{"The window pair (invented)", "gerbil", "adult", 0, 2, "gerbil-adult"},
	{"The barn, thirty gerbils (invented)", "gerbil", "adult", 0, 30, "thirty-gerbils"},
	{"The spring litter (invented)", "gerbil", "", 70, 5, ""},
	{"Bramble, a Syrian hamster (invented)", "syrian-hamster", "adult", 0, 1, "impossible-fibre"},
}

// demoExtra are foods on the invented shelf beside those of the mixes, with
// invented prices for a kilogram.
var demoExtra = map[string]float64{
	"foxtail-millet/in-hull": 2.6, "pea/flaked": 2.9, "hemp/whole": 5.4, "mealworm/dried": 24, "timothy-hay/cut": 3.2, "oats/in-hull": 0.95,
}

// LoadDemo puts the invented rescue into an empty store the first time that
// it is opened, and never again.
func (s *Server) LoadDemo(ctx context.Context) error {
	started, err := s.Store.Setting(ctx, settingStarted)
	if err != nil || started != "" {
		return err
	}
	groups, err := s.Store.Groups(ctx)
	if err != nil {
		return err
	}
	shelves, err := s.Store.Shelves(ctx)
	if err != nil {
		return err
	}
	if len(groups) == 0 && len(shelves) == 0 {
		if err := s.demo(ctx); err != nil {
			return err
		}
	}
	return s.Store.SetSetting(ctx, settingStarted, s.Clock().UTC().Format(time.DateOnly))
}

func (s *Server) demo(ctx context.Context) error {
	shelf := store.Shelf{Name: "Skerra: merchant and health shop (invented)", Place: "an invented island"}
	docs := map[string]string{}
	for _, g := range demoGroups {
		if g.mix == "" {
			continue
		}
		text, err := demoFiles.ReadFile("demo/" + g.mix + ".toml")
		if err != nil {
			return err
		}
		docs[g.mix] = string(text)
		if err := stock(&shelf, g.mix, text); err != nil {
			return err
		}
	}
	for ref, price := range demoExtra {
		if s.Catalogue.Form(ref) != nil {
			put(&shelf, store.Item{Ref: ref, CanHave: true, Price: &price})
		}
	}
	shelf, err := s.Store.SaveShelf(ctx, shelf)
	if err != nil {
		return err
	}
	for i := len(demoGroups) - 1; i >= 0; i-- { // the first is changed last, and opens
		if err := s.demoGroup(ctx, i, shelf.ID, docs); err != nil {
			return err
		}
	}
	return s.demoMakings(ctx)
}

func (s *Server) demoGroup(ctx context.Context, i int, shelf store.ID, docs map[string]string) error {
	d := demoGroups[i]
	g := store.Group{Name: d.name, Species: d.species, Stage: d.stage, Animals: d.animals}
	if d.stage == "" {
		g.Born = s.Clock().AddDate(0, 0, -d.bornDaysAgo).Format(time.DateOnly)
	}
	g.Feeding = demoFeeding(i, ration.DayOf(s.Clock()))
	g, err := s.Store.SaveGroup(ctx, g)
	if err != nil || d.mix == "" {
		return err
	}
	f, err := mixfiles.Parse(d.mix, []byte(docs[d.mix]))
	if err != nil {
		return err
	}
	_, err = s.Store.SaveMix(ctx, store.Mix{Name: f.Document.Title + " (invented)", Group: g.ID, Shelf: shelf, Document: docs[d.mix]})
	return err
}

// stock puts a document's lines on a shelf, with their prices.
func stock(shelf *store.Shelf, name string, text []byte) error {
	f, err := mixfiles.Parse(name, text)
	if err != nil {
		return fmt.Errorf("the invented mixes do not read: %w", err)
	}
	for _, l := range f.Document.Lines {
		it := store.Item{Ref: l.Ingredient, CanHave: true, Price: l.Price}
		if l.OnHand.Set {
			mg := int64(massOf(l.OnHand, nutrient.Kilogram))
			it.OnHand = &mg
		}
		put(shelf, it)
	}
	return nil
}

// put adds an item, or its price to one that is there.
func put(shelf *store.Shelf, it store.Item) {
	for i := range shelf.Items {
		if have := &shelf.Items[i]; have.Ref == it.Ref {
			if have.Price == nil {
				have.Price = it.Price
			}
			return
		}
	}
	shelf.Items = append(shelf.Items, it)
}
