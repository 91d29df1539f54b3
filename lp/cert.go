package lp

import (
	"math"
	"math/big"
	"strconv"
)

// Format and version of the certificate documents written by this package.
const (
	CertificateFormat  = "firlot-lp-certificate"
	CertificateVersion = 1
)

// Certificate is a self-contained document that proves the claim of a result:
// the model, the claim, the point, the tangent points of the cuts and the
// search tree with multipliers at its leaves. Package verify checks it
// without any code of this package.
type Certificate struct {
	data []byte
}

// JSON returns the document. The caller must not change it.
func (c *Certificate) JSON() []byte { return c.data }

// The types below are the JSON form; docs/optimal.md describes it. All
// numbers that matter are strings: whole numbers "12", dyadic ones "5p-3"
// (5·2⁻³) or fractions "7/3". A missing bound is infinite.
type (
	certDoc struct {
		Format  string     `json:"format"`
		Version int        `json:"version"`
		Claim   certClaim  `json:"claim"`
		Model   certModel  `json:"model"`
		Grid    *certGrid  `json:"grid,omitempty"`
		Point   []string   `json:"point,omitempty"`
		Cuts    []certCut  `json:"cuts,omitempty"`
		Tree    []certNode `json:"tree"`
	}
	certClaim struct {
		Status    string `json:"status"`
		Objective string `json:"objective,omitempty"`
		Bound     string `json:"bound,omitempty"`
	}
	certModel struct {
		Columns []certColumn `json:"columns"`
		Rows    []certRow    `json:"rows,omitempty"`
		Counts  []certCount  `json:"counts,omitempty"`
		Cones   []certCone   `json:"cones,omitempty"`
	}
	certColumn struct {
		Name   string      `json:"name,omitempty"`
		Lo     string      `json:"lo,omitempty"`
		Hi     string      `json:"hi,omitempty"`
		Cost   string      `json:"cost,omitempty"`
		Breaks [][2]string `json:"breaks,omitempty"`
		Whole  bool        `json:"whole,omitempty"`
		Least  string      `json:"least,omitempty"`
	}
	certTerm struct {
		Col  int    `json:"c"`
		Coef string `json:"v"`
	}
	certRow struct {
		Name  string     `json:"name,omitempty"`
		Lo    string     `json:"lo,omitempty"`
		Hi    string     `json:"hi,omitempty"`
		Terms []certTerm `json:"terms,omitempty"`
	}
	certCount struct {
		Name  string `json:"name,omitempty"`
		Cols  []int  `json:"cols"`
		Least int    `json:"least,omitempty"`
		Most  int    `json:"most"`
	}
	certCone struct {
		Name   string     `json:"name,omitempty"`
		Lo     string     `json:"lo"`
		Z      string     `json:"z"`
		Terms  []certTerm `json:"terms,omitempty"`
		Spread []certTerm `json:"spread,omitempty"`
	}
	certGrid struct {
		Row  *int   `json:"row,omitempty"`
		Mult string `json:"mult,omitempty"`
	}
	certCut struct {
		Cone int      `json:"cone"`
		Dir  []string `json:"dir"`
	}
	certWeight struct {
		Index int    `json:"i"`
		Value string `json:"y"`
	}
	certNode struct {
		Kind   string       `json:"kind"`
		Col    *int         `json:"col,omitempty"`
		At     string       `json:"at,omitempty"`
		Rows   []certWeight `json:"rows,omitempty"`
		Counts []certWeight `json:"counts,omitempty"`
		Cuts   []certWeight `json:"cuts,omitempty"`
	}
)

// numText writes a float64 exactly, infinities and absent values as "".
func numText(v float64) string {
	if isInf(v) {
		return ""
	}
	e, ok := low(v)
	if !ok {
		return "0"
	}
	if e >= 0 && math.Abs(v) < 0x1p62 {
		return strconv.FormatInt(int64(v), 10)
	}
	return strconv.FormatInt(int64(math.Ldexp(v, -e)), 10) + "p" + strconv.Itoa(e)
}

// ratText writes a fraction.
func ratText(r *big.Rat) string { return r.RatString() }

// optText is numText with zero as "".
func optText(v float64) string {
	if v == 0 {
		return ""
	}
	return numText(v)
}

func certTerms(ts []Term) []certTerm {
	var out []certTerm
	for _, t := range ts {
		out = append(out, certTerm{int(t.Var), numText(t.Coef)})
	}
	return out
}

// certify writes the certificate of a finished search.
func (t *tree) certify(first *proofNode, r *Result) *Certificate {
	for _, n := range t.open {
		n.pf.leaf(leafBound, n.y, nil)
	}
	d := certDoc{Format: CertificateFormat, Version: CertificateVersion, Model: certModelOf(t.p.m)}
	d.Claim.Status = r.Status.String()
	if t.inc != nil {
		d.Claim.Objective = ratText(t.inc.obj)
		for j := range t.inc.x {
			if t.inc.r != nil {
				d.Point = append(d.Point, ratText(t.inc.r[j]))
			} else {
				d.Point = append(d.Point, numText(t.inc.x[j]))
			}
		}
	}
	if r.Status != Infeasible {
		d.Claim.Bound = numText(r.Bound)
		if t.tight {
			d.Claim.Bound = d.Claim.Objective
		}
	}
	if t.g.step != nil {
		d.Grid = &certGrid{}
		if t.g.row >= 0 {
			d.Grid.Row = &t.g.row
			d.Grid.Mult = ratText(t.g.mult)
		}
	}
	for _, c := range t.p.cuts {
		k := certCut{Cone: c.cone}
		for _, v := range c.dir {
			k.Dir = append(k.Dir, numText(v))
		}
		d.Cuts = append(d.Cuts, k)
	}
	d.Tree = t.certTree(first)
	return &Certificate{data: append(d.json(), '\n')}
}

func certModelOf(m *Model) certModel {
	var c certModel
	for i := range m.cols {
		k := &m.cols[i]
		col := certColumn{Name: k.Name, Lo: numText(k.Lo), Hi: numText(k.Hi),
			Cost: optText(k.Cost), Whole: k.Integer, Least: optText(k.NothingOr)}
		for _, b := range k.Breaks {
			col.Breaks = append(col.Breaks, [2]string{numText(b.At), numText(b.Rise)})
		}
		c.Columns = append(c.Columns, col)
	}
	for i := range m.rows {
		r := &m.rows[i]
		c.Rows = append(c.Rows, certRow{r.Name, numText(r.Lo), numText(r.Hi), certTerms(r.Terms)})
	}
	for i := range m.counts {
		k := &m.counts[i]
		cc := certCount{Name: k.Name, Cols: []int{}, Least: k.Least, Most: k.Most}
		for _, v := range k.Vars {
			cc.Cols = append(cc.Cols, int(v))
		}
		c.Counts = append(c.Counts, cc)
	}
	for i := range m.cones {
		k := &m.cones[i]
		c.Cones = append(c.Cones, certCone{k.Name, numText(k.Lo), numText(k.Z), certTerms(k.Terms), certTerms(k.Spread)})
	}
	return c
}

// certTree lists the proof tree in preorder: a split is followed by its lower
// and then its upper subtree.
func (t *tree) certTree(first *proofNode) []certNode {
	var out []certNode
	stack := []*proofNode{first}
	for len(stack) > 0 {
		n := stack[len(stack)-1]
		stack = stack[:len(stack)-1]
		if n.down != nil {
			c := certNode{Kind: "value", Col: &n.sp.col, At: numText(n.sp.at)}
			if n.sp.kind == splitOff {
				c.Kind, c.At = "off", ""
			}
			out = append(out, c)
			stack = append(stack, n.up, n.down)
			continue
		}
		out = append(out, t.certLeaf(n))
	}
	return out
}

func (t *tree) certLeaf(n *proofNode) certNode {
	kinds := [...]string{leafOpen: "open", leafBound: "bound", leafEmpty: "empty", leafLogic: "logic", leafPoint: "point"}
	c := certNode{Kind: kinds[n.kind]}
	put := func(i int, v string) {
		switch {
		case i < t.p.m0:
			c.Rows = append(c.Rows, certWeight{i, v})
		case i < t.p.firstCut:
			c.Counts = append(c.Counts, certWeight{t.p.countOf(i), v})
		default:
			c.Cuts = append(c.Cuts, certWeight{i - t.p.firstCut, v})
		}
	}
	if n.r != nil {
		for i, v := range n.r {
			if v != nil && v.Sign() != 0 {
				put(i, ratText(v))
			}
		}
		return c
	}
	for i, v := range n.y {
		if v != 0 {
			put(i, numText(v))
		}
	}
	return c
}

// countOf is the count limit to which surrogate row i belongs.
func (p *prob) countOf(i int) int {
	for k, l := range p.links {
		if l.most == i || l.least == i {
			return k
		}
	}
	return -1
}
