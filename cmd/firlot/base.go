package main

import (
	"context"
	"fmt"
	"os"
	"path/filepath"
	"time"

	"github.com/spf13/cobra"

	"firlot/formulate"
	"firlot/mix"
	"firlot/nutrient"
	"firlot/report"
)

// basing are the flags of base.
type basing struct {
	json       bool
	base, most string
	limit      time.Duration
	certs      string
}

func baseCommand(s streams) *cobra.Command {
	var f basing
	c := &cobra.Command{
		Use:   "base FILE FILE...",
		Short: "One base mix for several mixes, and the smallest toppers",
		Long: `Finds one base mix, in whole steps of the scale, and for each document a topper:
base and topper together are inside that document's windows, with its limits and
those of safety. The largest topper is as small as can be, then all of them
together are; or it is proved that there is no such base.

A food that one of the documents does not list is in none of its mixes, and so
not in the base. Shares of the documents, and amounts in grams as shares of
their batch, are those of base and topper together. No document is changed.`,
		Example: `  firlot base examples/gerbil-growing.toml examples/gerbil-adult.toml examples/gerbil-senior.toml
  firlot base young.toml old.toml --base "2 kg" --most "300 g"`,
		Args: takes(1, formulate.MaxStages), ValidArgsFunction: documents,
		RunE: func(cmd *cobra.Command, args []string) error { return f.run(cmd.Context(), s, args) },
	}
	c.Flags().BoolVar(&f.json, "json", false, "print JSON for programs (docs/schema/base.json)")
	c.Flags().StringVar(&f.base, "base", "1 kg", "the mass of base that toppers are weighed for")
	c.Flags().StringVar(&f.most, "most", "", "the most of a topper to that much base; unless given, as much again")
	c.Flags().StringVar(&f.certs, "certs", "", "write the certificates of the answer into this folder, for firlot verify")
	c.Flags().DurationVar(&f.limit, "limit", time.Minute, "stop after this time")
	return c
}

func (f *basing) run(ctx context.Context, s streams, paths []string) error {
	o := formulate.BaseOptions{Options: formulate.Options{Proof: f.certs != ""}}
	for _, m := range []struct {
		flag, text string
		to         *nutrient.Mass
	}{{"--base", f.base, &o.Base}, {"--most", f.most, &o.MostTopper}} {
		if m.text == "" {
			continue
		}
		g, err := gramsOf(m.flag, m.text)
		if err != nil {
			return err
		}
		*m.to = nutrient.Mass(g * float64(nutrient.Gram))
	}
	var plans []*mix.Plan
	for _, path := range paths {
		_, plan, err := load(path)
		if err != nil {
			return err
		}
		plans = append(plans, plan)
	}
	limited, cancel := context.WithTimeout(ctx, f.limit)
	defer cancel()
	m, err := formulate.FindBase(limited, plans, o)
	if err != nil {
		return err
	}
	if err := f.write(m.Claims); err != nil {
		return err
	}
	out := report.BaseOf(m)
	if f.json {
		err = s.json(out)
	} else {
		err = printBase(s, paths, out)
	}
	if err != nil {
		return err
	}
	switch m.Status {
	case formulate.Impossible:
		return exit{exitImpossible}
	case formulate.Stopped:
		return exit{exitFault}
	}
	return nil
}

// write keeps the certificates, one a file, numbered as they are proved.
func (f *basing) write(claims []formulate.Claim) error {
	if f.certs == "" {
		return nil
	}
	if err := os.MkdirAll(f.certs, 0o755); err != nil {
		return err
	}
	for k, c := range claims {
		if err := os.WriteFile(filepath.Join(f.certs, fmt.Sprintf("base-%d.cert.json", k+1)), c.Proof.JSON(), 0o644); err != nil {
			return err
		}
	}
	return nil
}

// mixName is what a mix is called: its title, or its file.
func mixName(paths []string, k int, title string) string {
	if title != "" {
		return title
	}
	return paths[k]
}

func printBase(s streams, paths []string, o *report.Base) error {
	p := &printer{s: s}
	if o.Status == string(formulate.Impossible) {
		p.para("", s.bold("There is no such base: it is proved that these limits do not all hold together."))
		for _, c := range o.Clash {
			p.para("  - ", fmt.Sprintf("%s: %s", paths[c.Mix-1], c.What))
		}
		if len(paths) > 1 {
			p.para("", "Nor is a food in the base that one of the documents does not list: listed there too, if need be with a ceiling, it may make room.")
		}
		for _, n := range o.Notes {
			p.para("Note: ", n)
		}
		return p.err
	}
	if o.Proved == nil {
		p.para("", s.bold("Stopped before a base was found or ruled out."))
		return p.err
	}
	if len(o.Mixes) == 1 {
		p.para("", s.bold("One mix needs no topper: it is its own base."))
	} else {
		p.para("", s.bold(fmt.Sprintf("One base for %d mixes; the largest topper is %s g to %s g of base.", len(o.Mixes), grams(float64(o.Proved.LargestG)), grams(float64(o.BaseG)))))
	}
	p.say("\nBase, %s g\n", grams(float64(o.BaseG)))
	p.table(amountRows(o.Base))
	for k, m := range o.Mixes {
		name := mixName(paths, k, m.Title)
		if m.TopperG == 0 {
			p.say("\n%s: the base as it is\n", name)
		} else {
			p.say("\n%s: %s g to %s g of base\n", name, grams(float64(m.TopperG)), grams(float64(o.BaseG)))
			p.table(amountRows(m.Topper))
			p.para("  ", fmt.Sprintf("A kilogram of the mix is %s g of base and %s g of topper.", fixed(float64(m.BasePerKgG), 0), fixed(float64(m.TopperPerKgG), 0)))
		}
		p.para("  ", fmt.Sprintf("Inside its windows; %s sets of ordinary bags lie inside all of them.", ofHundred(float64(m.Sureness))))
	}
	p.say("\n")
	p.proved(o)
	for _, n := range o.Notes {
		p.para("Note: ", n)
	}
	return p.err
}

// proved says what toppers are ruled out as too small to do; where all are
// nothing there is nothing to rule out.
func (p *printer) proved(o *report.Base) {
	t := o.Proved
	if len(o.Mixes) == 1 || t.LargestG == 0 {
		return
	}
	said := fmt.Sprintf("Proved: no base has a largest topper below %s g, and none with one of %s g has toppers of less than %s g together.",
		grams(float64(t.LargestBoundG)), grams(float64(t.LargestG)), grams(float64(t.TogetherBound)))
	if t.LargestBoundG < t.LargestG || t.TogetherBound < t.TogetherG {
		said += " What lies between is not ruled out."
	}
	p.para("", said)
}

func amountRows(list []report.Amount) [][]string {
	var rows [][]string
	for _, a := range list {
		rows = append(rows, []string{"  " + a.Name, ">" + grams(float64(a.Grams)) + " g", ">" + fixed(float64(a.Percent), 1) + " %"})
	}
	return rows
}
