// Command firlot-lp solves a linear or mixed-integer program in free-format
// MPS with Firlot's own solver and can write a certificate of the answer.
//
//	firlot-lp [-time 60s] [-gap 0] [-nodes 0] [-x] [-cert FILE] FILE.mps
//	firlot-lp -verify FILE
//
// The first form prints status, objective, bound and effort; -x adds the
// columns that are not zero; "-" reads standard input. The second form checks
// a certificate with the independent verifier.
//
// The exit code is 0 if there is an answer (also "infeasible"), 1 if the
// search stopped early or failed, 2 for wrong use or a file that cannot be
// read.
package main

import (
	"context"
	"flag"
	"fmt"
	"io"
	"os"
	"time"

	"firlot/lp"
	"firlot/lp/verify"
)

func main() { os.Exit(run(os.Args[1:], os.Stdin, os.Stdout, os.Stderr)) }

// settings are the flags of one run.
type settings struct {
	limit  time.Duration
	opt    lp.Options
	cert   string
	values bool
	check  bool
}

func run(args []string, in io.Reader, out, errs io.Writer) int {
	var s settings
	fs := flag.NewFlagSet("firlot-lp", flag.ContinueOnError)
	fs.SetOutput(errs)
	fs.DurationVar(&s.limit, "time", 60*time.Second, "stop after this long")
	fs.Float64Var(&s.opt.Gap, "gap", 0, "stop when objective and bound are this near")
	fs.IntVar(&s.opt.Nodes, "nodes", 0, "most nodes of the search (0 = the default)")
	fs.BoolVar(&s.values, "x", false, "print the columns that are not zero")
	fs.StringVar(&s.cert, "cert", "", "write a certificate to this `file`")
	fs.BoolVar(&s.check, "verify", false, "check a certificate instead of solving")
	if err := fs.Parse(args); err != nil {
		return 2
	}
	if fs.NArg() != 1 {
		fs.Usage()
		return 2
	}
	file := in
	if name := fs.Arg(0); name != "-" {
		f, err := os.Open(name)
		if err != nil {
			fmt.Fprintln(errs, "firlot-lp:", err)
			return 2
		}
		defer f.Close()
		file = f
	}
	if s.check {
		return check(file, out, errs)
	}
	return s.solve(file, out, errs)
}

// check verifies a certificate.
func check(in io.Reader, out, errs io.Writer) int {
	rep, err := verify.Check(in)
	if err != nil {
		fmt.Fprintln(errs, "firlot-lp:", err)
		return 1
	}
	fmt.Fprintln(out, "proved:   ", rep.Status)
	if rep.Objective != nil {
		fmt.Fprintln(out, "objective:", rep.Objective.RatString())
	}
	if rep.Bound != nil {
		fmt.Fprintln(out, "bound:    ", rep.Bound.RatString())
	}
	fmt.Fprintln(out, "leaves:   ", rep.Leaves)
	return 0
}

// solve reads and solves a program and prints the answer.
func (s *settings) solve(in io.Reader, out, errs io.Writer) int {
	p, err := readMPS(in)
	if err != nil {
		fmt.Fprintln(errs, "firlot-lp:", err)
		return 2
	}
	ctx, cancel := context.WithTimeout(context.Background(), s.limit)
	defer cancel()
	s.opt.Proof = s.cert != ""
	start := time.Now()
	r, err := lp.Solve(ctx, p.model, s.opt)
	if err != nil {
		fmt.Fprintln(errs, "firlot-lp:", err)
		return 2
	}
	took := time.Since(start)
	p.print(out, r, took, s.values)
	if s.cert != "" {
		if r.Proof == nil {
			fmt.Fprintf(errs, "firlot-lp: there is no certificate for %q\n", r.Status)
			return 1
		}
		if err := os.WriteFile(s.cert, r.Proof.JSON(), 0o644); err != nil {
			fmt.Fprintln(errs, "firlot-lp:", err)
			return 2
		}
	}
	switch r.Status {
	case lp.Optimal, lp.Infeasible, lp.Unbounded:
		return 0
	}
	return 1
}

// print writes the answer in the file's own sense of the objective.
func (p *program) print(out io.Writer, r *lp.Result, took time.Duration, values bool) {
	show := func(v float64) float64 { return p.sign*v + p.shift }
	fmt.Fprintln(out, "status:   ", r.Status)
	if r.X != nil && r.Status != lp.Unbounded {
		fmt.Fprintln(out, "objective:", show(r.Objective))
	}
	if r.Status != lp.Infeasible && r.Status != lp.Unbounded {
		fmt.Fprintln(out, "bound:    ", show(r.Bound))
	}
	fmt.Fprintf(out, "effort:    %d nodes, %d pivots, %d repairs, %v\n", r.Nodes, r.Pivots, r.Repairs, took.Round(time.Microsecond))
	for _, c := range r.Clash {
		name := ""
		switch {
		case c.Kind == lp.ClashRow:
			name = p.rows[c.Index]
		case c.Kind == lp.ClashBound:
			name = p.cols[c.Index]
		}
		side := "lower"
		if c.Upper {
			side = "upper"
		}
		fmt.Fprintf(out, "clash:     %s side of %s %s\n", side, c.Kind, name)
	}
	if values {
		for j, v := range r.X {
			if v != 0 {
				fmt.Fprintf(out, "%s = %v\n", p.cols[j], v)
			}
		}
	}
}
