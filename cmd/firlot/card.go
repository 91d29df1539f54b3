package main

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"time"

	"github.com/spf13/cobra"

	"firlot/card"
	"firlot/formulate"
	"firlot/internal/cardpage"
	"firlot/mix"
	mixfiles "firlot/mix/files"
)

// handing are the flags of card.
type handing struct {
	out, title, by, words, wordsFrom, licence, hosted, dated string
	languages, mayChange                                     []string
	standIns, edition                                        int
	json, bare, base, caption                                bool
	picture, shape                                           string
	within                                                   time.Duration
}

func cardCommand(s streams) *cobra.Command {
	var h handing
	c := &cobra.Command{
		Use:   "card FILE...",
		Short: "Make a card: a page of a mix to hand on, which re-solves itself",
		Long: `Makes a card of one mix, or of several stages together: a single HTML file that
can be sent or put anywhere. It shows the mix, how to know each ingredient, and
proves that the mix is what it claims. Whoever reads it ticks what cannot be had
where they live, and the card solves the mix anew in their browser, with the
same engine and nothing from the network.

Each mix is solved before it goes out. What is on hand stays at home, and so do
prices, unless the cheapest mix is asked for. Of the catalogue a card holds the
mix's own entries and the likest replacements.`,
		Example: `  firlot card examples/gerbil-adult.toml
  firlot card examples/gerbil-growing.toml examples/gerbil-adult.toml --base --out gerbils.html
  firlot card examples/gerbil-adult.toml --by "Skerra Rescue" --licence "CC BY 4.0" --hosted https://example.org/adult.html
  firlot card examples/gerbil-adult.toml --caption`,
		Args: takes(1, card.MaxMixes), ValidArgsFunction: manyDocuments,
		RunE: func(cmd *cobra.Command, args []string) error { return h.run(cmd.Context(), s, args) },
	}
	h.flags(c)
	return c
}

func (h *handing) flags(c *cobra.Command) {
	f := c.Flags()
	f.StringVar(&h.out, "out", "", "where the page goes; without it, beside you, named after the first FILE")
	f.StringVar(&h.title, "title", "", "the card's title; without it, the first mix's")
	f.StringVar(&h.by, "by", "", "who publishes the card")
	f.StringVar(&h.words, "words", "", "your own words to the reader, plain text")
	f.StringVar(&h.wordsFrom, "words-from", "", "take your own words from this text file")
	f.StringVar(&h.licence, "licence", "", "what the reader may do with the card, such as \"CC BY 4.0\"")
	f.StringVar(&h.hosted, "hosted", "", "the address where the card will be kept; the page shows it as a QR code")
	f.StringVar(&h.dated, "dated", "", "the card's date, such as 2026-01-31; without it, today")
	f.IntVar(&h.edition, "edition", 1, "which edition of the card this is")
	f.StringSliceVar(&h.languages, "languages", []string{"en", "es"}, "the languages of names, the reader's first")
	f.StringSliceVar(&h.mayChange, "may-change", []string{"batch", "step", "sureness"}, "what the reader may change: batch, step, sureness, stage, or none")
	f.IntVar(&h.standIns, "stand-ins", card.DefaultReplacements, "how many replacements to offer for each ingredient, 0 for none")
	f.BoolVar(&h.base, "base", false, "find one base and the smallest toppers that make every stage of it")
	f.BoolVar(&h.json, "json", false, "print the card itself (docs/card-format.md) and write no page")
	f.BoolVar(&h.bare, "for-reading", false, "leave the engine out: a small page that cannot solve anew")
	f.StringVar(&h.picture, "picture", "", "draw the mix into this file instead, as PNG or SVG by its name")
	f.StringVar(&h.shape, "shape", "wide", "the picture's shape: wide (16:9), square or tall")
	f.BoolVar(&h.caption, "caption", false, "print the mix as plain text for a caption instead")
	f.DurationVar(&h.within, "within", 2*time.Minute, "stop after this time")
}

// manyDocuments completes the names of mix documents.
func manyDocuments(*cobra.Command, []string, string) ([]string, cobra.ShellCompDirective) {
	return []string{"toml"}, cobra.ShellCompDirectiveFilterFileExt
}

func (h *handing) run(ctx context.Context, s streams, paths []string) error {
	o, err := h.options()
	if err != nil {
		return err
	}
	ctx, cancel := context.WithTimeout(ctx, h.within)
	defer cancel()
	c, err := h.make(ctx, s, paths, o)
	if err != nil {
		return err
	}
	switch {
	case h.json:
		_, err := fmt.Fprintf(s.out, "%s\n", card.Encode(c))
		return err
	case h.caption:
		return h.printCaption(ctx, s, c)
	case h.picture != "":
		return h.draw(ctx, s, c)
	}
	return h.page(ctx, s, c, paths[0])
}

// options turns flags into what the publisher says of the card.
func (h *handing) options() (card.Options, error) {
	o := card.Options{Title: h.title, Publisher: h.by, Words: h.words, Licence: h.licence, Hosted: h.hosted, Date: h.dated, Edition: h.edition,
		Languages: h.languages, Replacements: h.standIns}
	if h.standIns < 0 || h.standIns > card.MaxReplacements {
		return o, fmt.Errorf("--stand-ins %d is out of range; it is 0 to %d", h.standIns, card.MaxReplacements)
	}
	if h.standIns == 0 {
		o.Replacements = -1
	}
	if h.edition < 1 {
		return o, fmt.Errorf("--edition %d is out of range; the first is 1", h.edition)
	}
	if h.wordsFrom != "" {
		if h.words != "" {
			return o, errors.New("--words and --words-from are one too many; write one of them")
		}
		text, err := os.ReadFile(h.wordsFrom)
		if err != nil {
			return o, err
		}
		o.Words = string(text)
	}
	if o.Date == "" {
		o.Date = time.Now().Format(time.DateOnly)
	}
	may := map[string]*bool{"batch": &o.Changes.Batch, "step": &o.Changes.Step, "sureness": &o.Changes.Sureness, "stage": &o.Changes.Stage}
	for _, w := range h.mayChange {
		switch to := may[w]; {
		case to != nil:
			*to = true
		case w != "none" || len(h.mayChange) > 1:
			return o, notOneOf("--may-change", w, []string{"batch", "step", "sureness", "stage", "none"})
		}
	}
	return o, nil
}

// make reads the documents and makes the card.
func (h *handing) make(ctx context.Context, s streams, paths []string, o card.Options) (*card.Card, error) {
	var plans []*mix.Plan
	var first *mixfiles.File
	for _, path := range paths {
		file, plan, err := load(path)
		if err != nil {
			return nil, err
		}
		if plans = append(plans, plan); first == nil {
			first = file
		}
	}
	if h.base {
		b, err := h.findBase(ctx, s, plans)
		if err != nil {
			return nil, ours(first, err)
		}
		o.Base = b
	}
	c, err := card.Make(ctx, plans, o)
	if errors.Is(err, card.ErrNoMix) {
		return nil, fmt.Errorf("%w; firlot solve FILE says what stands in the way", err)
	}
	return c, err
}

// findBase finds one base for several stages, and says so when there is none.
func (h *handing) findBase(ctx context.Context, s streams, plans []*mix.Plan) (*card.Base, error) {
	if len(plans) < 2 {
		return nil, &mix.Problem{Message: "--base is for two mixes or more", Hint: "name the document of each stage"}
	}
	b, err := formulate.FindBase(ctx, plans, formulate.BaseOptions{})
	if err != nil {
		return nil, err
	}
	switch b.Status {
	case formulate.Impossible:
		fmt.Fprintln(s.err, "firlot: no one base can be turned into every stage by a topper; the card says nothing of one")
		for _, x := range b.Clash {
			fmt.Fprintln(s.err, plainText(fmt.Sprintf("  %s: %s", plans[x.Stage].Document.Title, x.What)))
		}
	case formulate.Stopped:
		fmt.Fprintln(s.err, "firlot: the time was up before a base was found; the card says nothing of one")
	}
	return card.BaseOf(b, h.title), nil
}

func (h *handing) page(ctx context.Context, s streams, c *card.Card, first string) error {
	var engine []byte
	if !h.bare {
		e, err := cardpage.Engine(ctx, func(text string) { fmt.Fprintln(s.err, "firlot: "+text) })
		if errors.Is(err, cardpage.ErrNoEngine) {
			return fmt.Errorf("%w\n--for-reading makes a page without it", err)
		}
		if err != nil {
			return err
		}
		engine = e
	}
	var page bytes.Buffer
	if err := cardpage.Render(&page, c, engine, cardpage.Options{}); err != nil {
		return fault{err}
	}
	out := h.out
	if out == "" {
		out = strings.TrimSuffix(filepath.Base(first), filepath.Ext(first)) + ".card.html"
	}
	if err := mixfiles.Save(out, page.Bytes()); err != nil {
		return err
	}
	p := &printer{s: s}
	p.para("", fmt.Sprintf("%s holds %s, with %s to choose from; %s.", out, plural(len(c.Mixes), "mix", "mixes"),
		plural(len(c.Offered), "replacement", "replacements"), kilobytes(page.Len())))
	return p.err
}

func kilobytes(n int) string { return fmt.Sprintf("%d kB", (n+999)/1000) }

// language is the language of a picture or a caption: the first that pages are
// written in.
func (h *handing) language(c *card.Card) string {
	for _, l := range c.Languages {
		if l == "en" || l == "es" {
			return l
		}
	}
	return "en"
}

func (h *handing) printCaption(ctx context.Context, s streams, c *card.Card) error {
	for i := range c.Mixes {
		text, err := cardpage.Caption(ctx, c, i, h.language(c))
		if err != nil {
			return fault{err}
		}
		if i > 0 {
			text = "\n" + text
		}
		if _, err := fmt.Fprintln(s.out, plainText(strings.TrimRight(text, "\n"))); err != nil {
			return err
		}
	}
	return nil
}

// draw writes the picture of the first mix.
func (h *handing) draw(ctx context.Context, s streams, c *card.Card) error {
	if shapes := []string{"wide", "square", "tall"}; !slices.Contains(shapes, h.shape) {
		return notOneOf("shape", h.shape, shapes)
	}
	var text []byte
	var err error
	switch strings.ToLower(filepath.Ext(h.picture)) {
	case ".svg":
		var svg string
		svg, err = cardpage.SVG(ctx, c, 0, h.language(c), h.shape)
		text = []byte(svg)
	case ".png":
		var whole bool
		if text, whole, err = cardpage.PNG(ctx, c, 0, h.language(c), h.shape); err == nil && !whole {
			fmt.Fprintln(s.err, "firlot: letters that this program cannot set stand as empty boxes; an .svg picture, or one made on the card's page, has them")
		}
	default:
		return fmt.Errorf("--picture %q names no kind of picture; end it in .png or .svg", h.picture)
	}
	if err != nil {
		return fault{err}
	}
	if err := mixfiles.Save(h.picture, text); err != nil {
		return err
	}
	p := &printer{s: s}
	what := "the mix"
	if len(c.Mixes) > 1 {
		what = fmt.Sprintf("the first of %d mixes, %s", len(c.Mixes), orTitle(c.Mixes[0].Document.Title))
	}
	p.para("", fmt.Sprintf("%s shows %s; %s.", h.picture, what, kilobytes(len(text))))
	return p.err
}
