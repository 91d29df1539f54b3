package web

import (
	"firlot/making"
)

// slips finds what went wrong: the slip to be mended, all of them in words.
func (x *weighing) slips(w *words) (*making.Slip, []string) {
	var slip *making.Slip
	var said []string
	lost := false // the slip is a food that is never fed: it goes first, whichever bowl it is in
	for _, l := range x.Now.Lines {
		name := x.name(w, l.Ref)
		for b, p := range l.Parts {
			over := p.Poured - p.Planned
			if over <= 0 {
				continue
			}
			kind, m := making.TooMuch, over
			if l.Unplanned {
				kind, m = making.WrongJar, p.Poured
			}
			said = append(said, w.T(slipKey(kind, x.Began.Bowls > 1), "Mass", w.Mass(m), "Name", name, "Bowl", b+1))
			if worse := !lost && kind == making.WrongJar && x.Cat.Never(l.Ref) != nil && x.form(l.Ref) == nil; slip == nil || worse {
				lost = worse
				slip = &making.Slip{Kind: kind, Ref: l.Ref, Bowl: b + 1}
			}
		}
		if x.Empty[l.Ref] {
			said = append(said, w.T("slip_empty", "Name", name, "Mass", w.Mass(l.Left)))
			if m := x.Uncounted[l.Ref]; m > 0 {
				said = append(said, w.T("slip_empty_count", "Mass", w.Mass(m)))
			}
			if slip == nil {
				slip = &making.Slip{Kind: making.EmptyJar, Ref: l.Ref, Bowl: firstLeft(l) + 1, Rest: l.Rest}
			}
		}
	}
	return slip, said
}

// slipKey is the message of what is in a bowl beyond its plan; of several bowls
// it says which.
func slipKey(kind making.SlipKind, several bool) string {
	switch {
	case kind == making.WrongJar && several:
		return "slip_wrong_bowl"
	case kind == making.WrongJar:
		return "slip_wrong"
	case several:
		return "slip_much_bowl"
	}
	return "slip_much"
}

// slipsBeside reports whether more than planned is in another bowl than one.
func (x *weighing) slipsBeside(bowl int) bool {
	for _, l := range x.Now.Lines {
		for b, p := range l.Parts {
			if b+1 != bowl && p.Poured > p.Planned {
				return true
			}
		}
	}
	return false
}

func firstLeft(l making.LineState) int {
	for b, p := range l.Parts {
		if p.Left() > 0 {
			return b
		}
	}
	return 0
}
