package making

import (
	"firlot/nutrient"
)

// Version of the JSON of a [Start] and of a [Plan].
const Version = 1

// Bounds on a making. They keep a stranger's document from costing more than
// a moment; each is far above what a kitchen needs.
const (
	MaxLines    = 250    // lines, those never planned included
	MaxBowls    = 50     // bowls that one making fills
	MaxEvents   = 10_000 // entries of the log
	MaxNote     = 2_000  // characters of a note
	MaxDocument = 1 << 20
	maxName     = 200 // characters of keys, references and lots
)

// Start is what a making begins from. It is kept as JSON and never changed:
// what happens later stands in the log.
type Start struct {
	Version int `json:"version"`
	// Document is the mix document with its amounts, as it was, in TOML.
	Document string `json:"document"`
	// Batch is the mass of the lines together.
	Batch nutrient.Mass `json:"batch_mg"`
	// Lines are what to pour, in the order of pouring. A form stands once.
	Lines []Line `json:"lines"`
	Scale Scale  `json:"scale"`
	// Bowls is how many bowls are filled, each with the same mix; 1 or more.
	Bowls int `json:"bowls"`
}

// Line is one thing to pour.
type Line struct {
	Ref  string        `json:"ref"`           // ingredient/form
	Mass nutrient.Mass `json:"mass_mg"`       // into all bowls together
	Lot  string        `json:"lot,omitempty"` // the id of the lot that it is poured from
	// Empty says, in a plan, that the jar gives no more than Mass: no later
	// rescue asks for more.
	Empty bool `json:"empty,omitempty"`
}

// Scale is what the keeper weighs with.
type Scale struct {
	Step nutrient.Mass `json:"step_mg"` // the least that its display tells apart
	// Ceiling is the most that it bears; 0 when that does not matter.
	Ceiling nutrient.Mass `json:"ceiling_mg,omitempty"`
	// Vessel is the mass of the empty bowl, where it counts against the
	// ceiling; 0 when not told.
	Vessel nutrient.Mass `json:"vessel_mg,omitempty"`
	// Fine is a second scale for traces; nil when there is none.
	Fine *Fine `json:"fine,omitempty"`
}

// Fine is a second scale with smaller steps, for what the first cannot weigh
// well.
type Fine struct {
	Step    nutrient.Mass `json:"step_mg"`
	Ceiling nutrient.Mass `json:"ceiling_mg"`
}

// Kind of an event.
type Kind string

// The kinds of events.
const (
	Pour     Kind = "pour"      // Mass of Ref came into Bowl
	TakeBack Kind = "take-back" // the pour with the key Of is undone, and the replans made around it
	Replan   Kind = "replan"    // from here on Plan holds
	Empty    Kind = "empty"     // the jar of Ref gives no more than Mass
	Note     Kind = "note"      // a remark; changes nothing
)

// Event is an entry of the log. Entries are added and never changed.
type Event struct {
	Key  string        `json:"key"` // made by the device, unique within the making
	Kind Kind          `json:"kind"`
	Ref  string        `json:"ref,omitempty"`
	Mass nutrient.Mass `json:"mass_mg,omitempty"`
	// Bowl counts from 1; 0 means the first.
	Bowl int `json:"bowl,omitempty"`
	// Round is which filling of the scale's bowl it was, from 1; 0 means the
	// round that the state stood at.
	Round int    `json:"round,omitempty"`
	Lot   string `json:"lot,omitempty"`
	Of    string `json:"of,omitempty"` // the key of the pour that is taken back
	Plan  *Plan  `json:"plan,omitempty"`
	Note  string `json:"note,omitempty"`
	By    string `json:"by,omitempty"`
}

// Plan is what is to be in the bowls in the end, what is there already
// included. A replan carries it.
type Plan struct {
	Version int `json:"version"`
	// Bowl is the bowl that the plan is for, from 1; 0 when it is for all of
	// them together.
	Bowl  int           `json:"bowl,omitempty"`
	Batch nutrient.Mass `json:"batch_mg"`
	// Lines in the order of pouring. What is in a bowl and not named here is
	// planned to stay as it is.
	Lines []Line `json:"lines"`
	// Why says in a few words what led to it: a rescue, another order.
	Why string `json:"why,omitempty"`
}

// State is what the log comes to.
type State struct {
	Start Start
	// Lines in the order of pouring now, what was never planned last.
	Lines []LineState
	Bowls []BowlState
	// Batch is what is to be in all bowls in the end; Poured is what is there,
	// Left what is still to come.
	Batch, Poured, Left nutrient.Mass
	// Next is what to pour next; nil when nothing is left.
	Next *Next
	// Pours are all pours of the log, those taken back marked.
	Pours []PourState
	// Last is the key of the latest pour that is not taken back, empty when
	// there is none.
	Last    string
	Notes   []string
	Replans int // that hold
	// Log holds the events as they were, for printing.
	Log []Event
}

// Done reports whether all that is planned has been poured.
func (s *State) Done() bool { return s.Next == nil && s.Poured > 0 }

// LineState is a line with what has become of it.
type LineState struct {
	Ref      string
	Lot      string
	Planned  nutrient.Mass // into all bowls together
	Poured   nutrient.Mass
	Left     nutrient.Mass // never less than nothing
	Original nutrient.Mass // what the start planned
	// Unplanned says that the line came in by a pour or a replan only.
	Unplanned bool
	// Empty says that the jar gives no more than Rest, until more is poured
	// than that.
	Empty bool
	Rest  nutrient.Mass
	// Fine says that it is weighed on the fine scale.
	Fine  bool
	Parts []Part // one a bowl
}

// Over is by how much more was poured than planned.
func (l LineState) Over() nutrient.Mass {
	var sum nutrient.Mass
	for _, p := range l.Parts {
		sum += max(p.Poured-p.Planned, 0)
	}
	return sum
}

// Part is a line's share in one bowl.
type Part struct{ Planned, Poured nutrient.Mass }

// Left is what is still to come, never less than nothing.
func (p Part) Left() nutrient.Mass { return max(p.Planned-p.Poured, 0) }

// BowlState is what is in one bowl.
type BowlState struct {
	Planned, Poured, Left nutrient.Mass
	// Round is the filling that the scale stands at, from 1.
	Round int
	// InRound is what has been poured since the bowl was last tipped out.
	InRound nutrient.Mass
}

// PourState is a pour and whether it still counts.
type PourState struct {
	Event
	Taken bool
}

// Next is the next thing to do at the scale.
type Next struct {
	Line int // index into State.Lines
	Ref  string
	Lot  string
	Bowl int // from 1
	// Round is the filling that it belongs to. Tip says that the bowl must
	// first be tipped out into the tub, since the scale would not bear both.
	Round int
	Tip   bool
	// Mass is what to pour now; Of is what is left of the line in this bowl,
	// more than Mass when the scale bears it in several pours only.
	Mass, Of nutrient.Mass
	// Fine says that it is weighed on the fine scale, in a dish of its own.
	Fine bool
	// Before and After are what a scale shows that was zeroed with the empty
	// bowl and not since: before this pour, and when it is right. On the fine
	// scale the dish is empty before.
	Before, After nutrient.Mass
}
