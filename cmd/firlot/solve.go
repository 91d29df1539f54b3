package main

import (
	"context"
	"errors"
	"fmt"
	"math"
	"time"

	"github.com/spf13/cobra"

	"firlot/formulate"
	"firlot/mix"
	mixfiles "firlot/mix/files"
	"firlot/report"
)

// solving are the flags of solve.
type solving struct {
	json, write, all bool
	cert             string
	within           time.Duration
	gap              float64 // % of the batch
}

func solveCommand(s streams) *cobra.Command {
	var f solving
	c := &cobra.Command{
		Use:   "solve FILE",
		Short: "Find the amounts of a mix",
		Long: `Reads a mix document and finds its amounts in whole scale steps: inside every
window, under every limit, and best by the document's preference. When there is
no such mix, says which limits cannot hold together and the smallest ways out,
and exits with status 3.

The document is not changed unless --write is given.`,
		Example: `  firlot solve examples/gerbil-adult.toml
  firlot solve examples/gerbil-adult.toml --json
  firlot solve my-mix.toml --write`,
		Args: takes(1, 1), ValidArgsFunction: documents,
		RunE: func(cmd *cobra.Command, args []string) error { return f.run(cmd.Context(), s, args[0]) },
	}
	c.Flags().BoolVar(&f.json, "json", false, "print JSON for programs (docs/schema/report.json)")
	c.Flags().BoolVar(&f.write, "write", false, "write the amounts into the document, leaving everything else as it is")
	c.Flags().BoolVar(&f.all, "all", false, "print every figure and every published minimum")
	c.Flags().StringVar(&f.cert, "cert", "", "write the certificate of the answer to this file, for firlot verify")
	c.Flags().DurationVar(&f.within, "within", 30*time.Second, "stop after this time with the best mix found")
	c.Flags().Float64Var(&f.gap, "gap", 100*formulate.DefaultGap, "stop when no mix can be better by more than this share of the batch, in %; 0 proves the best")
	return c
}

func (f *solving) options() (formulate.Options, error) {
	switch {
	case math.IsNaN(f.gap) || f.gap < 0 || f.gap > 100:
		return formulate.Options{}, fmt.Errorf("--gap %v is out of range; it is a share of the batch in %%, 0 to 100", f.gap)
	case f.within <= 0:
		return formulate.Options{}, fmt.Errorf("--within %v leaves no time; write for example --within 20s", f.within)
	}
	o := formulate.Options{Gap: f.gap / 100, Proof: f.cert != ""}
	if f.gap == 0 {
		o.Gap = -1
	}
	return o, nil
}

func (f *solving) run(ctx context.Context, s streams, path string) error {
	o, err := f.options()
	if err != nil {
		return err
	}
	limited, cancel := context.WithTimeout(ctx, f.within)
	defer cancel()
	file, a, took, err := solve(limited, path, o)
	if err != nil {
		return err
	}
	r := report.OfAnswer(a)
	ms := report.Number(float64(took.Microseconds()) / 1000)
	r.SolveMs = &ms
	if a.Status != formulate.Found {
		limited, cancel := context.WithTimeout(ctx, f.within)
		defer cancel()
		ways, err := formulate.FindWays(limited, a.Plan, o)
		if err != nil {
			return ours(file, err)
		}
		r.Ways = report.WaysOf(ways)
	}
	if err := f.keep(path, file, a); err != nil {
		return err
	}
	if f.json {
		err = s.json(r)
	} else {
		err = printReport(s, r, f.all)
	}
	if err != nil {
		return err
	}
	return solveStatus(a)
}

// keep writes what was asked for: the amounts, the certificate.
func (f *solving) keep(path string, file *mixfiles.File, a *formulate.Answer) error {
	if f.write && a.Steps != nil {
		if err := writeAmounts(path, file, a); err != nil {
			return err
		}
	}
	switch {
	case f.cert == "":
		return nil
	case a.Proof == nil:
		return fmt.Errorf("there is nothing to certify: the answer is %q", a.Status)
	}
	return mixfiles.Save(f.cert, a.Proof.JSON())
}

func solveStatus(a *formulate.Answer) error {
	switch a.Status {
	case formulate.Found:
		return nil
	case formulate.Impossible:
		return exit{exitImpossible}
	}
	return exit{exitFault}
}

// load reads a document and resolves it.
func load(path string) (*mixfiles.File, *mix.Plan, error) {
	file, err := mixfiles.Read(path)
	if err != nil {
		return nil, nil, err
	}
	c, t, err := tables()
	if err != nil {
		return nil, nil, err
	}
	plan, err := mix.Resolve(file.Document, c, t)
	if err != nil {
		return nil, nil, file.Locate(err)
	}
	return file, plan, nil
}

func solve(ctx context.Context, path string, o formulate.Options) (*mixfiles.File, *formulate.Answer, time.Duration, error) {
	file, plan, err := load(path)
	if err != nil {
		return nil, nil, 0, err
	}
	start := time.Now()
	a, err := formulate.Solve(ctx, plan, o)
	took := time.Since(start)
	if err != nil {
		return nil, nil, 0, ours(file, err)
	}
	return file, a, took, nil
}

// ours sorts an error of the engine: a problem with the document gets its
// place, anything else is a fault of Firlot's.
func ours(file *mixfiles.File, err error) error {
	var p *mix.Problem
	if errors.As(err, &p) {
		return file.Locate(err)
	}
	return fault{err}
}

func writeAmounts(path string, file *mixfiles.File, a *formulate.Answer) error {
	text, err := file.WithAmounts(a.Amounts())
	if err != nil {
		return fault{err}
	}
	return mixfiles.Save(path, text)
}
