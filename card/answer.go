package card

import (
	"firlot/formulate"
	"firlot/nutrient"
	"firlot/report"
)

// Choices are what a reader asks of a card. The zero value asks for the first
// mix as published.
type Choices struct {
	Mix      int      // of the card's mixes
	Missing  []string // forms that cannot be had
	Use      []string // offered forms that the reader has
	Batch    nutrient.Mass
	Step     nutrient.Mass
	Ounces   float64 // the step in ounces, where the reader weighs in them
	Sureness *float64
	Stage    string
}

// Result is the answer to choices.
type Result struct {
	Report  *report.Report `json:"report"`
	Changed bool           `json:"changed"` // anything but the published mix was asked for
	Lines   []Line         `json:"lines"`
	// Proved says what the answer's certificate proves once checked.
	Proved Proof `json:"proved"`

	Answer *formulate.Answer `json:"-"` // what Report reports
	Ways   *formulate.Ways   `json:"-"` // nil when a mix was found
}

// Line is an ingredient before and after a change.
type Line struct {
	Ref     string        `json:"ref"`
	Before  nutrient.Mass `json:"before_mg"` // of the published mix, brought to the batch
	After   nutrient.Mass `json:"after_mg"`
	Missing bool          `json:"missing,omitempty"`
	Added   bool          `json:"added,omitempty"`
	// For names the missing form whose place this one takes.
	For string `json:"for,omitempty"`
}

// Verdict says what checking a certificate came to.
type Verdict string

// The verdicts.
const (
	Sound    Verdict = "sound"    // proves the answer, exactly
	Unproved Verdict = "unproved" // there is no certificate to check
	Altered  Verdict = "altered"  // does not prove this card's mix: card or certificate was changed
)

// Proof is what a certificate proves.
type Proof struct {
	Verdict Verdict `json:"verdict"`
	Why     string  `json:"why,omitempty"` // of altered and unproved, in words
	// Status is the certificate's claim: optimal, feasible or infeasible.
	Status string `json:"status,omitempty"`
	Gap    string `json:"gap,omitempty"` // exact, a fraction of the model's objective
	Leaves int    `json:"leaves,omitempty"`
	Cuts   int    `json:"cuts,omitempty"`
}
