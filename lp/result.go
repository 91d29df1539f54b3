package lp

import "fmt"

// Status says how a solve ended.
type Status int

const (
	// Optimal: a point was found and proved best within Options.Gap.
	Optimal Status = iota
	// Infeasible: it was proved that there is no point.
	Infeasible
	// Unbounded: there are points of ever lower cost.
	Unbounded
	// Feasible: stopped early; the point keeps every rule, Bound is proved,
	// the gap is wider than asked for.
	Feasible
	// Stopped: stopped early without a point; Bound is proved.
	Stopped
	// Trouble: neither the float nor the exact arithmetic came to a verified
	// answer within the limits. No claim is made.
	Trouble
)

// String gives the name of the status in plain English.
func (s Status) String() string {
	switch s {
	case Optimal:
		return "optimal"
	case Infeasible:
		return "infeasible"
	case Unbounded:
		return "unbounded"
	case Feasible:
		return "feasible"
	case Stopped:
		return "stopped"
	case Trouble:
		return "trouble"
	}
	return fmt.Sprintf("Status(%d)", int(s))
}

// Default limits of a solve.
const (
	// DefaultNodes is the most branch-and-bound nodes when Options.Nodes is 0.
	DefaultNodes = 200000
	// DefaultPivots is the most simplex pivots when Options.Pivots is 0.
	DefaultPivots = 20000000
)

// Options steer a solve. The zero value asks for a proved optimum.
type Options struct {
	// Gap is absolute: stop when Objective − Bound ≤ Gap. 0 asks for a proof
	// of the optimum.
	Gap float64
	// Nodes is the most branch-and-bound nodes; 0 means DefaultNodes.
	Nodes int
	// Pivots is the most simplex pivots; 0 means DefaultPivots.
	Pivots int
	// Start is an optional point to try as the first incumbent. It is
	// ignored if it breaks a rule.
	Start []float64
	// Proof asks for a certificate.
	Proof bool
	// Progress, if set, is called now and then from the solving goroutine.
	Progress func(Progress)
}

// Progress is a snapshot of a running solve.
type Progress struct {
	Nodes, Pivots, Open int
	Found               bool    // whether there is a point yet
	Objective, Bound    float64 // Objective only if Found
}

// ClashKind says what kind of rule takes part in a clash.
type ClashKind int

const (
	// ClashRow is a linear row; Index is a RowID.
	ClashRow ClashKind = iota
	// ClashBound is a bound of a column; Index is a Var.
	ClashBound
	// ClashCount is a count limit; Index counts AddCount calls.
	ClashCount
	// ClashCone is a sureness row; Index counts AddCone calls.
	ClashCone
)

// String names the kind.
func (k ClashKind) String() string {
	switch k {
	case ClashRow:
		return "row"
	case ClashBound:
		return "bound"
	case ClashCount:
		return "count"
	case ClashCone:
		return "cone"
	}
	return fmt.Sprintf("ClashKind(%d)", int(k))
}

// Clash is one rule of a proof of infeasibility. Multiplying each rule by
// its Multiplier and adding gives 0 ≥ (something positive).
type Clash struct {
	Kind  ClashKind
	Index int
	// Upper is set when the upper side of the rule takes part, else the
	// lower side does.
	Upper bool
	// Multiplier is the weight, > 0. In a clash gathered over a tree the
	// weights of different leaves do not belong together; then each is the
	// largest over the leaves.
	Multiplier float64
}

// Result is what Solve found.
type Result struct {
	Status Status
	// X holds one value a column, nil if no point was found. Whole columns
	// hold exact whole numbers; others are the exact values rounded to
	// float64.
	X         []float64
	Objective float64
	// Bound is a proved lower bound on the objective, −Inf if there is none
	// and +Inf when the model is infeasible.
	Bound float64
	// Gap is Objective − Bound, never negative.
	Gap float64
	// Duals holds one multiplier a row: the change of the optimum for one
	// unit more on the binding side of the row. For models with whole or
	// switched columns it is that of the root relaxation.
	Duals []float64
	// Reduced holds the reduced cost of each column (slope at the point for
	// a column with breaks).
	Reduced []float64
	// Clash holds, on Infeasible, the rules that carry the proof.
	Clash []Clash
	// Whole says that the clash is one Farkas proof of the root relaxation,
	// whose multipliers belong together; otherwise it is gathered over the
	// leaves of the search tree.
	Whole bool

	Nodes, Pivots, Cuts int
	// Repairs counts the exact solves in which the float basis had to be
	// corrected by exact pivots.
	Repairs int
	// Proof is the certificate, nil unless asked for.
	Proof *Certificate
}
