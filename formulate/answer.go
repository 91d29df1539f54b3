package formulate

import (
	"firlot/analysis"
	"firlot/lp"
	"firlot/mix"
	"firlot/needs"
	"firlot/nutrient"
)

// Status says how solving ended.
type Status string

// The ways of ending.
const (
	Found      Status = "found"      // a mix inside every window, verified exactly
	Impossible Status = "impossible" // proved: there is none
	Stopped    Status = "stopped"    // a limit was reached before either
)

// Answer is what solving found.
type Answer struct {
	Status Status
	Plan   *mix.Plan
	Prefer mix.Preference

	// Steps are the amounts in scale steps, one a line; nil without a mix. A
	// stopped answer may hold the best mix found so far.
	Steps []int

	// Objective is what the preference minimises, in Unit; Bound is proved: no
	// mix does better. Gap is their difference. For steady the objective is
	// the safety margin in standard deviations, which is maximised.
	Objective, Bound, Gap float64
	Unit                  string

	Checks []analysis.Check // one a target, in the plan's order
	Joint  float64          // chance of lying inside all windows together

	// Proof is the certificate of the answer, when asked for: of the program
	// that the mix was last solved with. It is nil for a stopped answer.
	Proof *lp.Certificate

	Clash []Clash // on Impossible: limits that cannot hold together
	Notes []string
	Nodes int // branch-and-bound nodes
}

// Clash is one of a set of limits that cannot hold together, of which none can
// be left out.
type Clash struct {
	Path string // of the document's field; empty for a window of the stage
	What string // the limit in words
	// Reach says how near the shelf comes to this limit while the others in
	// the set hold, in words; empty where that has no figure.
	Reach string
}

// Amounts are the masses, one a line.
func (a *Answer) Amounts() []nutrient.Mass {
	out := make([]nutrient.Mass, len(a.Steps))
	for i, n := range a.Steps {
		out[i] = nutrient.Mass(n) * a.Plan.Document.Step
	}
	return out
}

// Portions are the amounts with their forms, for analysing.
func (a *Answer) Portions() []analysis.Portion { return portions(a.Plan, a.Amounts()) }

func portions(p *mix.Plan, amounts []nutrient.Mass) []analysis.Portion {
	out := make([]analysis.Portion, len(amounts))
	for i, m := range amounts {
		out[i] = analysis.Portion{Form: p.Lines[i].Form, Mass: m}
	}
	return out
}

func windows(p *mix.Plan) []needs.Window {
	out := make([]needs.Window, len(p.Targets))
	for i, t := range p.Targets {
		out[i] = t.Window
	}
	return out
}

// judge fills in the checks and the joint chance of an answer with a mix.
func (a *Answer) judge() {
	mixed := a.Portions()
	a.Checks = nil
	for _, t := range a.Plan.Targets {
		a.Checks = append(a.Checks, analysis.CheckWindow(mixed, t.Window))
	}
	a.Joint = analysis.Joint(mixed, windows(a.Plan))
}
