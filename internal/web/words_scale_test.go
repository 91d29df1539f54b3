package web

import "firlot/internal/store"

// scaleComputed are the keys of scale.*.toml that code puts together.
func scaleComputed() []string {
	var list []string
	for _, k := range []string{"event_twice", "event_bad", "event_stale", "event_key", "event_not_open", "event_gone", "event_mass", "event_food", "event_no_note", "disk_full", "disk_read_only"} {
		list = append(list, k, k+"_hint")
	}
	for _, f := range append([]string{"batch", "step", "ceiling", "who"}, moreFields()...) {
		list = append(list, "start_"+f)
	}
	for _, k := range startHints {
		list = append(list, k)
	}
	for _, s := range []string{store.StateOpen, store.StateFinished, store.StateLeft} {
		list = append(list, "making_state_"+s)
	}
	return append(list, "disk_full_start", "disk_read_only_start", "tare_from", "part_of", "weigh_in")
}
