package formulate

// impossible names limits that cannot hold together: first the stages are
// left out one by one, then, where the relaxation clashes already, the limits
// of those that remain, the last first, so that the set is as small as leaving
// out one after the other makes it.
func (b *baser) impossible() (*BaseMix, error) {
	out := b.stoppedShort()
	out.Status, out.Claims, out.Notes = Impossible, b.claims, b.notes
	skip := make([]bool, len(b.stages))
	a := baseAsk{goal: baseAny, largest: b.most, total: -1, skip: func(s int) bool { return skip[s] }, without: map[[3]int]bool{}}
	for s := range b.stages {
		skip[s] = true
		_, none, _, _, err := b.run(a, nil)
		if err != nil {
			return nil, err
		}
		skip[s] = none
	}
	ok, err := b.draft(a)
	if out.Whole = ok; err == nil && !ok {
		err = b.narrow(a, skip)
	}
	if err != nil && !late(err) {
		return nil, err
	} else if err != nil { // what is proved stays so when the time is up
		out.Whole, out.Notes = true, append(out.Notes, "a limit on the work was reached before it was known which of their limits clash")
	}
	whole := "its limits together, in whole steps"
	if err != nil {
		whole = "its limits together"
	}
	for s := range b.stages {
		switch {
		case skip[s]:
		case out.Whole:
			out.Clash = append(out.Clash, StageClash{s, whole})
		default:
			out.Clash = append(out.Clash, b.clashOf(a, s)...)
		}
	}
	return out, nil
}

// clashOf are the limits of a plan that are left in a clash.
func (b *baser) clashOf(a baseAsk, s int) []StageClash {
	var list []StageClash
	m := b.stages[s]
	for k, l := range m.limits {
		if !a.without[[3]int{s, 1, k}] {
			list = append(list, StageClash{s, l.what})
		}
	}
	for i, e := range m.edges {
		if !a.without[[3]int{s, 0, i}] {
			list = append(list, StageClash{s, edgeWords(m.plan.Targets[e.target].Window, e.edge)})
		}
	}
	if len(list) == 0 {
		list = append(list, StageClash{s, "what it does not list is not in the base"})
	}
	return list
}

// narrow leaves out limits that the clash does not need, on drafts.
func (b *baser) narrow(a baseAsk, skip []bool) error {
	try := func(key [3]int) error {
		a.without[key] = true
		ok, err := b.draft(a)
		if ok || err != nil {
			delete(a.without, key)
		}
		return err
	}
	for s, m := range b.stages {
		if skip[s] {
			continue
		}
		for k := range m.limits {
			if err := try([3]int{s, 1, k}); err != nil {
				return err
			}
		}
		for i := range m.edges {
			if err := try([3]int{s, 0, i}); err != nil {
				return err
			}
		}
	}
	return nil
}
