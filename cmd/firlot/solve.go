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

func solveCommand(s streams) *cobra.Command {
	var asJSON, write, all bool
	var cert string
	var within time.Duration
	var gap float64
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
		RunE: func(cmd *cobra.Command, args []string) error {
			if math.IsNaN(gap) || gap < 0 || gap > 100 {
				return fmt.Errorf("--gap %v is out of range; it is a share of the batch in %%, 0 to 100", gap)
			}
			if within <= 0 {
				return fmt.Errorf("--within %v leaves no time; write for example --within 20s", within)
			}
			ctx, cancel := context.WithTimeout(cmd.Context(), within)
			defer cancel()
			o := formulate.Options{Gap: gap / 100}
			if gap == 0 {
				o.Gap = -1
			}
			o.Proof = cert != ""
			file, a, took, err := solve(ctx, args[0], o)
			if err != nil {
				return err
			}
			r := report.OfAnswer(a)
			ms := report.Number(float64(took.Microseconds()) / 1000)
			r.SolveMs = &ms
			if a.Status != formulate.Found {
				ways, err := formulate.FindWays(ctx, a.Plan, o)
				switch {
				case ctx.Err() != nil:
					r.Notes = append(r.Notes, "the time was up before ways out were found")
				case err != nil:
					return ours(file, err)
				default:
					r.Ways = report.WaysOf(ways)
				}
			}
			if write && a.Steps != nil {
				if err := writeAmounts(args[0], file, a); err != nil {
					return err
				}
			}
			if cert != "" {
				if a.Proof == nil {
					return fmt.Errorf("there is nothing to certify: the answer is %q", a.Status)
				}
				if err := mixfiles.Save(cert, a.Proof.JSON()); err != nil {
					return err
				}
			}
			if asJSON {
				err = s.json(r)
			} else {
				err = printReport(s, r, all)
			}
			if err != nil {
				return err
			}
			return solveStatus(a)
		},
	}
	c.Flags().BoolVar(&asJSON, "json", false, "print JSON for programs (docs/schema/report.json)")
	c.Flags().BoolVar(&write, "write", false, "write the amounts into the document, leaving everything else as it is")
	c.Flags().BoolVar(&all, "all", false, "print every figure and every published minimum")
	c.Flags().StringVar(&cert, "cert", "", "write the certificate of the answer to this file, for firlot verify")
	c.Flags().DurationVar(&within, "within", 30*time.Second, "stop after this time with the best mix found")
	c.Flags().Float64Var(&gap, "gap", 100*formulate.DefaultGap, "stop when no mix can be better by more than this share of the batch, in %; 0 proves the best")
	return c
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
