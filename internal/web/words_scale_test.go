package web

// scaleComputed are the keys of scale.*.toml that code puts together.
func scaleComputed() []string { return nil }
