package web

// shareComputed are the keys of share.*.toml that code puts together.
func shareComputed() []string {
	list := []string{}
	for _, c := range cardChanges {
		list = append(list, "card_may_"+c.name)
	}
	for _, key := range clashWhole {
		list = append(list, key)
	}
	for _, x := range pictureShapes {
		list = append(list, "card_shape_"+x)
	}
	for _, x := range pictureKinds {
		list = append(list, "card_kind_"+x)
	}
	for _, s := range []string{"sound", "unproved", "altered"} {
		list = append(list, "stranger_proof_"+s)
	}
	for _, s := range []string{"inside", "outside", "unknown"} {
		list = append(list, "stranger_here_"+s)
	}
	return list
}
