package verify

import (
	"errors"
	"fmt"
	"io"
	"math/big"
	"strconv"
	"strings"
)

// Limits on documents; larger ones are refused before any work is done.
const (
	MaxBytes   = 64 << 20 // bytes of a document
	maxColumns = 1 << 16
	maxNodes   = 1 << 21 // nodes of the tree
	maxDigits  = 1 << 14 // characters of a number
	maxBits    = 1 << 18 // bits of a denominator met while computing
	maxPower   = 1 << 12 // size of a power of two in a number
	maxCells   = 1 << 24 // columns × rows, counts, cones and cuts together
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
func readDoc(r io.Reader) (*doc, error) {
	data, err := io.ReadAll(io.LimitReader(r, MaxBytes+1))
	if err != nil {
		return nil, err
	}
	if len(data) > MaxBytes {
		return nil, errors.New("the document is too large")
	}
	d, err := document(data)
	if err != nil {
		return nil, err
	}
	if d.Format != "firlot-lp-certificate" || d.Version != 1 {
		return nil, fmt.Errorf("unknown format %q version %d", d.Format, d.Version)
	}
	return d, nil
}

// number reads "12", "-5p-3" (−5·2⁻³) or "7/3".
func number(s string) (*big.Rat, error) {
	bad := fmt.Errorf("%.40q is not a number", s)
	if len(s) == 0 || len(s) > maxDigits {
		return nil, bad
	}
	if i := strings.IndexByte(s, '/'); i >= 0 {
		n, ok1 := whole(s[:i])
		d, ok2 := whole(s[i+1:])
		if !ok1 || !ok2 || d.Sign() <= 0 {
			return nil, bad
		}
		return new(big.Rat).SetFrac(n, d), nil
	}
	e := 0
	if i := strings.IndexByte(s, 'p'); i >= 0 {
		v, err := strconv.Atoi(s[i+1:])
		if err != nil || v > maxPower || v < -maxPower {
			return nil, bad
		}
		e, s = v, s[:i]
	}
	n, ok := whole(s)
	if !ok {
		return nil, bad
	}
	if e >= 0 {
		return new(big.Rat).SetInt(n.Lsh(n, uint(e))), nil
	}
	return new(big.Rat).SetFrac(n, new(big.Int).Lsh(big.NewInt(1), uint(-e))), nil
}

// whole reads an optional minus sign and decimal digits.
func whole(s string) (*big.Int, bool) {
	t := strings.TrimPrefix(s, "-")
	if t == "" {
		return nil, false
	}
	for i := 0; i < len(t); i++ {
		if t[i] < '0' || t[i] > '9' {
			return nil, false
		}
	}
	return new(big.Int).SetString(s, 10)
}

// optional reads a number that may be missing (nil).
func optional(s string) (*big.Rat, error) {
	if s == "" {
		return nil, nil
	}
	return number(s)
}

// orZero reads a number that may be missing (zero).
func orZero(s string) (*big.Rat, error) {
	if s == "" {
		return new(big.Rat), nil
	}
	return number(s)
}
