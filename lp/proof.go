package lp

import "math/big"

// leafKind says how a leaf of the proof is closed.
type leafKind int

const (
	leafOpen  leafKind = iota // not closed: only its bound is known
	leafBound                 // multipliers prove a bound on the cost
	leafEmpty                 // multipliers prove that there is no point
	leafLogic                 // plain conclusions prove that there is no point
	leafPoint                 // the box is one point, which can be checked
)

// proofNode is a node of the proof tree: a split with two children or a leaf.
// All methods accept a nil receiver, which means that no proof is wanted.
type proofNode struct {
	sp       split
	down, up *proofNode
	kind     leafKind
	y        []float64
	r        []*big.Rat
	held     []*big.Rat // exact multipliers of the best bound so far
}

// leaf closes the node.
func (n *proofNode) leaf(k leafKind, y []float64, r []*big.Rat) {
	if n == nil {
		return
	}
	n.kind = k
	if k == leafBound && y == nil && r == nil {
		r = n.held
	}
	n.y = append([]float64(nil), y...)
	n.r = r
}

// hold keeps exact multipliers for a leaf whose float ones are too weak.
func (n *proofNode) hold(r []*big.Rat) {
	if n != nil {
		n.held = r
	}
}

// split divides the node.
func (n *proofNode) split(sp split) (down, up *proofNode) {
	if n == nil {
		return nil, nil
	}
	n.sp = sp
	n.down = &proofNode{held: n.held}
	n.up = &proofNode{held: n.held}
	return n.down, n.up
}
