package main

import (
	"context"
	"fmt"
	"time"

	"firlot/lp"
)

// instance is one model, as ours and as the others take it; flat is nil where
// the others cannot express it.
type instance struct {
	model *lp.Model
	flat  *flat
}

// answer is what a solver says. The time is that of the call that solves: the
// model is in memory before, and results are read after.
type answer struct {
	status    string // "optimal" (within the gap), "infeasible", "limit", or what went wrong
	objective float64
	took      time.Duration
}

// solver is one of the programs compared.
type solver interface {
	name() string
	about() string // version and how it is called
	solve(in *instance, limit time.Duration) answer
}

// others are the solvers that this build can call; a file with a build tag
// adds to them.
var others []solver

// own is Firlot's solver.
type own struct{}

func (own) name() string { return "Firlot" }
func (own) about() string {
	return "this tree: lp.Solve called in the process, with its exact checks, one goroutine"
}

func (own) solve(in *instance, limit time.Duration) answer {
	gap := 0.0
	if in.flat == nil || in.flat.isWhole {
		gap = gapSteps
	}
	ctx, cancel := context.WithTimeout(context.Background(), limit)
	defer cancel()
	start := time.Now()
	r, err := lp.Solve(ctx, in.model, lp.Options{Gap: gap})
	took := time.Since(start)
	if err != nil {
		return answer{status: err.Error(), took: took}
	}
	a := answer{status: r.Status.String(), objective: r.Objective, took: took}
	switch r.Status {
	case lp.Feasible, lp.Stopped:
		a.status = "limit"
	case lp.Trouble:
		a.status = fmt.Sprintf("trouble after %d nodes", r.Nodes)
	}
	return a
}

// draft is Firlot's solver without its proof, for linear models: what the
// proof costs. It is not in the product's answers.
type draft struct{}

func (draft) name() string { return "Firlot unproved" }
func (draft) about() string {
	return "lp.Sketch called in the process: the same simplex without exact checks, linear models only"
}

func (draft) solve(in *instance, limit time.Duration) answer {
	ctx, cancel := context.WithTimeout(context.Background(), limit)
	defer cancel()
	start := time.Now()
	d, err := lp.Sketch(ctx, in.model)
	took := time.Since(start)
	if err != nil {
		return answer{status: err.Error(), took: took}
	}
	return answer{d.Status.String(), d.Objective, took}
}

// fits says whether a solver can take a model.
func fits(s solver, in *instance) bool {
	switch s.(type) {
	case own:
		return true
	case draft:
		return in.flat != nil && !in.flat.isWhole
	}
	return in.flat != nil
}
