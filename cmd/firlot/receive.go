package main

import (
	"context"
	"errors"
	"fmt"
	"os"
	"strings"
	"time"

	"github.com/spf13/cobra"

	"firlot/analysis"
	"firlot/card"
	"firlot/catalog"
	"firlot/internal/cardpage"
	"firlot/mix"
	mixfiles "firlot/mix/files"
	"firlot/needs"
	"firlot/nutrient"
	"firlot/report"
)

// verifyTime bounds the solving of a stranger's mix, which checking its
// certificate takes.
const verifyTime = 30 * time.Second

func receiveCommand(s streams) *cobra.Command {
	var out string
	var number int
	c := &cobra.Command{
		Use:   "receive CARD",
		Short: "Take in somebody's card: what it holds, what differs here, the mix as a document",
		Long: `Reads a card, as the page that somebody sent or as the card alone. Nothing in it
is run: it is a stranger's text, and is read as text. Says who made it and when,
checks the certificate of its mix, and tells where the card's figures, limits
and windows differ from those of this program's catalogue, which have the last
word. With --out the mix is written as a document.`,
		Example: `  firlot receive gerbils.card.html
  firlot receive gerbils.card.html --mix 2 --out senior.toml`,
		Args: takes(1, 1),
		RunE: func(cmd *cobra.Command, args []string) error {
			text, err := readBounded(args[0])
			if err != nil {
				return err
			}
			c, err := cardpage.Read(text)
			if err != nil {
				return fmt.Errorf("%s: %w", args[0], err)
			}
			if number < 1 || number > len(c.Mixes) {
				return fmt.Errorf("--mix %d is out of range; the card holds %s", number, plural(len(c.Mixes), "mix", "mixes"))
			}
			cat, t, err := tables()
			if err != nil {
				return err
			}
			ctx, cancel := context.WithTimeout(cmd.Context(), verifyTime)
			defer cancel()
			proof, err := c.Verify(ctx, number-1)
			if err != nil {
				return fault{err}
			}
			r, err := c.Receive(number-1, cat, t)
			var problem *mix.Problem
			if errors.As(err, &problem) {
				return fmt.Errorf("%s cannot be taken in: %w", args[0], err)
			}
			if err != nil {
				return err
			}
			if err := printReceived(s, c, number-1, proof, r, cat, t); err != nil {
				return err
			}
			if out == "" {
				return nil
			}
			if _, err := os.Stat(out); err == nil {
				return fmt.Errorf("%s is there already; name a new file", out)
			}
			return mixfiles.Save(out, mixfiles.Format(r.Document))
		},
	}
	c.Flags().StringVar(&out, "out", "", "write the mix into this new document")
	c.Flags().IntVar(&number, "mix", 1, "which of the card's mixes")
	return c
}

// readBounded reads a file that is no larger than a card can be.
func readBounded(path string) ([]byte, error) {
	if i, err := os.Stat(path); err == nil && i.Size() > cardpage.MaxFile {
		return nil, fmt.Errorf("%s is larger than a card can be", path)
	}
	return os.ReadFile(path)
}

func printReceived(s streams, c *card.Card, i int, proof card.Proof, r *card.Received, cat *catalog.Catalogue, t *needs.Table) error {
	p := &printer{s: s}
	p.say("%s\n", s.bold(orTitle(c.Title)))
	by := ""
	if c.Publisher != "" {
		by = " by " + c.Publisher
	}
	p.para("", fmt.Sprintf("Edition %d of %s%s. %s", c.Edition, c.Date, by, licensed(c)))
	for line := range strings.Lines(c.Words) {
		p.para("  | ", line)
	}
	p.para("", saysProof(proof))
	if len(c.Mixes) > 1 {
		p.para("", fmt.Sprintf("This is number %d of %d mixes: %s.", i+1, len(c.Mixes), orTitle(c.Mixes[i].Document.Title)))
	}
	rows := [][]string{}
	for k, l := range r.Document.Lines {
		if m := c.Mixes[i].Amounts[k]; m > 0 {
			rows = append(rows, []string{">" + grams(m.Grams()) + " g", l.Ingredient})
		}
	}
	p.table(rows)
	p.differences(r)
	p.here(r, cat, t)
	return p.err
}

func orTitle(s string) string {
	if s == "" {
		return "A card without a title"
	}
	return s
}

func licensed(c *card.Card) string {
	if c.Licence == "" {
		return "It names no licence."
	}
	return "Licence: " + c.Licence + "."
}

func saysProof(p card.Proof) string {
	switch p.Verdict {
	case card.Sound:
		return "Its certificate holds, exactly: the mix keeps every limit and window by the card's own figures. It speaks of nothing else: not of names, looks, cautions, words, " +
			"base and toppers, nor of who made the card."
	case card.Unproved:
		return "Nothing proves its mix: " + p.Why + "."
	}
	return "Its certificate does not hold: " + p.Why + ". The card, or its certificate, was changed; or another edition of Firlot made it."
}

// differences says where the card and the catalogue here differ.
func (p *printer) differences(r *card.Received) {
	if len(r.Foods)+len(r.Windows)+len(r.Own) == 0 {
		p.para("", "Every figure, limit and window that the mix stands on is the one that stands here.")
		return
	}
	p.say("\nWhat differs; what stands here has the last word:\n")
	for _, ref := range r.Own {
		p.para("  ", ref+" is not known here: it comes along as an ingredient of your own, with the card's figures, which are hearsay.")
	}
	for _, d := range r.Foods {
		if d.Limits {
			p.para("  ", d.Ref+": the inclusion limits differ.")
		}
		if d.Hull {
			p.para("  ", d.Ref+": the hull, or which part is eaten, differs.")
		}
		rows := [][]string{}
		for _, f := range d.Figures {
			info, _ := nutrient.Lookup(f.Nutrient)
			rows = append(rows, []string{d.Ref, info.Name, ">" + figureIn(f.Card, info), "here", ">" + figureIn(f.Here, info)})
		}
		p.table(rows)
	}
	for _, w := range r.Windows {
		p.para("  ", "window: "+windowIn(w.Card)+" in the card, "+windowIn(w.Here)+" here.")
	}
}

func figureIn(f *catalog.Figure, info nutrient.Info) string {
	if f == nil {
		return "not known"
	}
	return strings.TrimSpace(short(f.Mean) + " " + string(info.Unit))
}

func windowIn(w *needs.Window) string {
	if w == nil {
		return "none"
	}
	info, _ := nutrient.Lookup(w.Nutrient)
	s := info.Name
	if w.Min != nil {
		s += " at least " + short(*w.Min)
	}
	if w.Max != nil {
		s += " at most " + short(*w.Max)
	}
	return s
}

// here judges the card's amounts by the catalogue here.
func (p *printer) here(r *card.Received, cat *catalog.Catalogue, t *needs.Table) {
	plan, err := mix.Resolve(r.Document, cat, t)
	if err != nil {
		p.err = err
		return
	}
	amounts, _ := plan.Standing()
	var portions []analysis.Portion
	for i, m := range amounts {
		portions = append(portions, analysis.Portion{Form: plan.Lines[i].Form, Mass: m})
	}
	say := map[string]string{
		report.StatusInside:   "By the figures here the mix is inside every window and limit.",
		report.StatusOutside:  "By the figures here the mix is outside a window or a limit; firlot check says which.",
		report.StatusNotKnown: "By the figures here it is not known whether the mix is inside every window; firlot check says why.",
	}
	p.para("", say[report.OfAmounts(plan, portions).Status])
}
