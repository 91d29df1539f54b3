package verify

import (
	"errors"
	"fmt"
)

// Limits on documents; larger ones are refused before any work is done.
const (
	MaxBytes   = 64 << 20 // bytes of a document
	maxRead    = 1 << 25  // words of what lists in it hold, as they are read
	perObject  = 14       // words of a node, column or row there
	maxColumns = 1 << 16
	maxNodes   = 1 << 21 // nodes of the tree
	maxDigits  = 1 << 14 // characters of a number
	maxBits    = 1 << 16 // bits of a common denominator
	maxPower   = 1 << 12 // size of a power of two in a number
	maxCells   = 1 << 24 // columns × rows, counts, cones and cuts together
	maxStored  = 1 << 25 // words of the numbers kept over common denominators
	maxWork    = 1 << 35 // products of words in all sums together,
	each       = 1 << 5  // where handling a number counts as so many
)

type (
	doc struct {
		Format  string   `json:"format"`
		Version int      `json:"version"`
		Claim   claim    `json:"claim"`
		Model   rawModel `json:"model"`
		Grid    *rawGrid `json:"grid"`
		Point   []string `json:"point"`
		Cuts    []rawCut `json:"cuts"`
		Tree    []rawNod `json:"tree"`
	}
	claim struct {
		Status    string `json:"status"`
		Objective string `json:"objective"`
		Bound     string `json:"bound"`
	}
	rawModel struct {
		Columns []rawColumn `json:"columns"`
		Rows    []rawRow    `json:"rows"`
		Counts  []rawCount  `json:"counts"`
		Cones   []rawCone   `json:"cones"`
	}
	rawColumn struct {
		Name   string      `json:"name"`
		Lo     string      `json:"lo"`
		Hi     string      `json:"hi"`
		Cost   string      `json:"cost"`
		Breaks [][2]string `json:"breaks"`
		Whole  bool        `json:"whole"`
		Least  string      `json:"least"`
	}
	rawTerm struct {
		Col  int    `json:"c"`
		Coef string `json:"v"`
	}
	rawRow struct {
		Name  string    `json:"name"`
		Lo    string    `json:"lo"`
		Hi    string    `json:"hi"`
		Terms []rawTerm `json:"terms"`
	}
	rawCount struct {
		Name  string `json:"name"`
		Cols  []int  `json:"cols"`
		Least int    `json:"least"`
		Most  int    `json:"most"`
	}
	rawCone struct {
		Name   string    `json:"name"`
		Lo     string    `json:"lo"`
		Z      string    `json:"z"`
		Terms  []rawTerm `json:"terms"`
		Spread []rawTerm `json:"spread"`
	}
	rawGrid struct {
		Row  *int   `json:"row"`
		Mult string `json:"mult"`
	}
	rawCut struct {
		Cone int      `json:"cone"`
		Dir  []string `json:"dir"`
	}
	rawWeight struct {
		Index int    `json:"i"`
		Value string `json:"y"`
	}
	rawNod struct {
		Kind   string      `json:"kind"`
		Col    *int        `json:"col"`
		At     string      `json:"at"`
		Rows   []rawWeight `json:"rows"`
		Counts []rawWeight `json:"counts"`
		Cuts   []rawWeight `json:"cuts"`
	}
)

// readDoc reads and decodes a document strictly.
func readDoc(data []byte) (*doc, error) {
	if len(data) > MaxBytes {
		return nil, errors.New("the document is too large")
	}
	d, err := document(data)
	if err != nil {
		return nil, err
	}
	if d.Format != "firlot-lp-certificate" || d.Version != 1 {
		return nil, fmt.Errorf("unknown format %.40q version %d", d.Format, d.Version)
	}
	return d, nil
}
