package web

import (
	"context"
	"fmt"
	"strings"

	"firlot/internal/store"
	"firlot/making"
	mixfiles "firlot/mix/files"
	"firlot/nutrient"
)

// The invented bags of the rescue on Skerra, by ingredient.
var demoBags = []store.Lot{
	{Ref: "oats/groats", Code: "OG-2217 (invented)", From: "the grain merchant on Skerra (invented)"},
	{Ref: "proso-millet/in-hull", Code: "PM 40/26 (invented)", From: "the grain merchant on Skerra (invented)"},
	{Ref: "nettle/leaf-dried", Note: "nettle, harbour garden, drawer 3 (invented)", From: "the health shop on Skerra (invented)"},
}

const demoWho = "Runa of the rescue (invented)"

// demoMakings weighs out two of the invented mixes: one is finished, in the
// other three lines are poured.
func (s *Server) demoMakings(ctx context.Context) error {
	lots := map[string]string{}
	for _, l := range demoBags {
		l.Bought = s.Clock().AddDate(0, -1, 0).Format("2006-01-02")
		kept, err := s.Store.SaveLot(ctx, l)
		if err != nil {
			return err
		}
		lots[l.Ref] = string(kept.ID)
	}
	mixes, err := s.Store.Mixes(ctx, store.Filter{})
	if err != nil {
		return err
	}
	for _, d := range []struct {
		text  string
		pours int // 0: all, and finished
	}{{"adult gerbils", 0}, {"thirty gerbils", 3}} {
		for _, m := range mixes {
			if !strings.Contains(store.Fold(m.Name), d.text) {
				continue
			}
			if err := s.demoMaking(ctx, m.ID, d.pours, lots); err != nil {
				return err
			}
			break
		}
	}
	return nil
}

func (s *Server) demoMaking(ctx context.Context, id store.ID, pours int, lots map[string]string) error {
	m, err := s.Store.Mix(ctx, id)
	if err != nil {
		return err
	}
	a, err := s.solve(ctx, m.Document)
	if err != nil || a.Answer == nil || a.Answer.Steps == nil {
		return err
	}
	f, err := mixfiles.Parse("mix", []byte(a.Text))
	if err != nil {
		return err
	}
	text, err := f.WithAmounts(a.Answer.Amounts())
	if err != nil {
		return err
	}
	start, err := making.Begin(a.Plan, making.Setup{Document: string(text), Amounts: a.Answer.Amounts(), Scale: making.Scale{Step: nutrient.Gram}, Bowls: 1, Lots: lots})
	if err != nil {
		return err
	}
	kept, err := start.JSON()
	if err != nil {
		return err
	}
	w, err := s.Store.StartMaking(ctx, store.Making{Key: "demo-" + string(id), Mix: id, MixName: m.Name, MixVersion: m.Version, Shelf: m.Shelf, Start: string(kept), Who: demoWho, Note: "An invented making, to look at."})
	if err != nil {
		return err
	}
	for i, l := range start.Lines {
		if pours > 0 && i == pours {
			return nil
		}
		if w, err = s.Store.AppendEvent(ctx, w.ID, store.Event{Key: fmt.Sprintf("demo-%d", i), Kind: store.KindPour, Ref: l.Ref, Mg: int64(l.Mass), Bowl: 1, Round: 1, Lot: store.ID(l.Lot), By: demoWho}); err != nil {
			return err
		}
	}
	x, err := s.weigh(w, nil)
	if err != nil {
		return err
	}
	w.Lot, w.BestBefore = "SKERRA-1", s.Clock().AddDate(0, 3, 0).Format("2006-01-02")
	if w.Finish, err = finishOf(x); err != nil {
		return err
	}
	_, err = s.Store.FinishMaking(ctx, w)
	return err
}
